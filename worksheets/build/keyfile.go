package build

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"strings"
	"sync"

	"counterpoise/mechanics/quantity"
	"counterpoise/worksheets/question"
	"counterpoise/worksheets/source"
)

// A KeyFile is what a tutor marks with: the questions with their keys, the
// parameters, the toys, and who has which values. It must not reach students.
type KeyFile struct {
	Format    int           `json:"format"` // 1
	Notice    string        `json:"notice"` // says who may read it
	Sheet     string        `json:"sheet"`
	Title     string        `json:"title"`
	Params    []KeyParam    `json:"params,omitempty"`
	Toys      []KeyToy      `json:"toys,omitempty"`
	Questions []KeyQuestion `json:"questions"`
	Cells     []KeyCell     `json:"cells,omitempty"` // of every copy, in order
	Students  []KeyStudent  `json:"students,omitempty"`
	Source    string        `json:"source"` // SHA-256 of what the keys depend on

	kept *kept
}

// A KeyParam is a parameter with the value of the printed copy.
type KeyParam struct {
	Name  string `json:"name"`
	Value string `json:"value"`
	Means string `json:"means,omitempty"`
}

// A KeyToy is a toy's description.
type KeyToy struct {
	Name string `json:"name"`
	YAML string `json:"yaml"`
}

// A KeyQuestion is a question with its key, and what that comes to for the
// printed copy.
type KeyQuestion struct {
	question.Question
	Value string `json:"value,omitempty"` // of a number question, as printed
}

// MarshalJSON writes the question's own fields with the value beside them.
func (k KeyQuestion) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Question question.Question `json:"question"`
		Value    string            `json:"value,omitempty"`
	}{k.Question, k.Value})
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (k *KeyQuestion) UnmarshalJSON(data []byte) error {
	var both struct {
		Question question.Question `json:"question"`
		Value    string            `json:"value"`
	}
	if err := json.Unmarshal(data, &both); err != nil {
		return err
	}
	k.Question, k.Value = both.Question, both.Value
	return nil
}

// A KeyStudent is one copy of a class set.
type KeyStudent struct {
	ID     string            `json:"id"`
	Token  string            `json:"token,omitempty"` // what the copy carries in place of the id
	Name   string            `json:"name,omitempty"`
	Email  string            `json:"email,omitempty"`
	File   string            `json:"file,omitempty"`
	Values map[string]string `json:"values,omitempty"` // of the parameters that vary
}

const (
	keyFormat = 1
	keyNotice = "For tutors only: this file holds the keys."
	// maxKeyFile bounds the size of a key file; that of a class of 1,000 has
	// about 300 KB.
	maxKeyFile = 64 << 20
)

// keyFile makes the key file of the printed copy.
func keyFile(s *source.Sheet, asked []*question.Asked) *KeyFile {
	k := &KeyFile{kept: new(kept), Format: keyFormat, Notice: keyNotice, Sheet: s.Name, Title: s.Title, Questions: []KeyQuestion{}}
	for _, p := range s.Params {
		k.Params = append(k.Params, KeyParam{p.Name, p.Value.String(), p.Means})
	}
	for _, t := range s.Toys {
		k.Toys = append(k.Toys, KeyToy{t.Name, string(t.YAML)})
	}
	k.Cells = keyCells(s)
	for i, q := range s.Questions() {
		a := asked[i]
		kq := KeyQuestion{Question: *q}
		if v, ok := a.Value(); ok {
			kq.Value = v.Format(4, v.Unit)
		}
		k.Questions = append(k.Questions, kq)
	}
	k.Source = k.digest()
	return k
}

// digest is the SHA-256 of everything that keys depend on.
func (k *KeyFile) digest() string {
	data, err := json.Marshal(k.secretParts())
	if err != nil {
		return ""
	}
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// secretParts is what keys depend on.
func (k *KeyFile) secretParts() any {
	return struct {
		Sheet     string
		Params    []KeyParam
		Toys      []KeyToy
		Questions []KeyQuestion
	}{k.Sheet, k.Params, k.Toys, k.Questions}
}

// Write returns the key file as text: the same file, the same bytes.
func (k *KeyFile) Write() ([]byte, error) {
	data, err := json.MarshalIndent(k, "", " ")
	return append(data, '\n'), err
}

// ReadKeyFile reads a key file. The error names the file.
func ReadKeyFile(path string) (*KeyFile, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxKeyFile+1))
	if err != nil {
		return nil, err
	}
	if len(data) > maxKeyFile {
		return nil, fmt.Errorf("%s: larger than %d MiB", path, maxKeyFile>>20)
	}
	k := KeyFile{kept: new(kept)}
	if err := json.Unmarshal(data, &k); err != nil {
		return nil, fmt.Errorf("%s: not a key file: %w", path, err)
	}
	switch {
	case k.Format == 0 || k.Sheet == "":
		return nil, fmt.Errorf("%s: not a key file: build or hand-out writes one", path)
	case k.Format > keyFormat:
		return nil, fmt.Errorf("%s: written by a newer version of Counterpoise: update the program", path)
	case k.Source != k.digest():
		return nil, fmt.Errorf("%s: changed by hand since it was built: build it again from the worksheet", path)
	}
	return &k, nil
}

// Student returns the copy that carries a token. A key file without tokens is
// asked by id.
func (k *KeyFile) Student(token string) (KeyStudent, bool) {
	for _, s := range k.Students {
		if token != "" && (s.Token == token || s.Token == "" && s.ID == token) {
			return s, true
		}
	}
	return KeyStudent{}, false
}

// Asked makes the questions ready for one copy: own are the copy's values, as
// in [KeyStudent.Values]; nil for the printed ones. The n-th is Questions[n].
// It may be called from several goroutines at once.
func (k *KeyFile) Asked(own map[string]string) ([]*question.Asked, error) {
	return k.AskedWith(own, nil)
}

// AskedWith is Asked with some earlier answers replaced: answers holds, by
// question name, the student's own value to be carried forward.
func (k *KeyFile) AskedWith(own map[string]string, answers question.Values) ([]*question.Asked, error) {
	p, err := k.kept.prepared(k)
	if err != nil {
		return nil, err
	}
	values, problems := p.values(own)
	if len(problems) > 0 {
		return nil, problems.Err()
	}
	asked, problems := compileWith(p.sheet, values, answers, p.shared)
	return asked, problems.Err()
}

// Ask returns what the i-th question asks, with the values of one copy printed
// in it: own are the copy's values, nil for the printed ones.
func (k *KeyFile) Ask(i int, own map[string]string) string {
	text := k.Questions[i].Ask
	if !strings.Contains(text, "{{") {
		return text
	}
	p, err := k.kept.prepared(k)
	if err != nil {
		return text
	}
	values, problems := p.values(own)
	if len(problems) > 0 {
		return text
	}
	return fillText(text, values)
}

// kept is what a key file keeps ready once it was used.
type kept struct {
	once sync.Once
	p    *prepared
	err  error
}

func (c *kept) prepared(k *KeyFile) (*prepared, error) {
	make := func() (*prepared, error) {
		s, err := k.sheet()
		if err != nil {
			return nil, err
		}
		return prepare(s)
	}
	if c == nil { // a key file that was put together by hand
		return make()
	}
	c.once.Do(func() { c.p, c.err = make() })
	return c.p, c.err
}

// sheet is the part of the sheet that keys depend on.
func (k *KeyFile) sheet() (*source.Sheet, error) {
	s := &source.Sheet{File: k.Sheet, Name: k.Sheet, Title: k.Title}
	for _, p := range k.Params {
		v, err := quantity.Parse(p.Value)
		if err != nil {
			return nil, fmt.Errorf("%s of %s: %w", p.Name, k.Sheet, err)
		}
		s.Params = append(s.Params, source.Param{Name: p.Name, Value: v, Means: p.Means})
	}
	for _, t := range k.Toys {
		s.Toys = append(s.Toys, source.Toy{Name: t.Name, YAML: []byte(t.YAML)})
	}
	for i := range k.Questions {
		s.Cells = append(s.Cells, source.Cell{Kind: source.Question, Question: &k.Questions[i].Question})
	}
	return s, nil
}
