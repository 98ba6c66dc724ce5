package source

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"unicode/utf8"

	"counterpoise/worksheets/question"
)

// MaxBytes is the size of a worksheet; the longest of the library has 40 KB.
const MaxBytes = 2 << 20

// FileName is what a worksheet is called in its folder.
const FileName = "worksheet.md"

// ReadFile reads a worksheet from a file, or from worksheet.md in a folder. The
// error is [Problems], or that of the file system.
func ReadFile(path string) (*Sheet, error) {
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		path = filepath.Join(path, FileName)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, MaxBytes+1))
	if err != nil {
		return nil, err
	}
	return ReadIn(os.DirFS(filepath.Dir(path)), data, path)
}

// Read reads a worksheet that shows no picture files. File is how errors name
// it; the sheet's short name comes from it. If the error is not nil it is
// [Problems], all that were found, sorted; the sheet is then what could be read,
// for further checks.
func Read(data []byte, file string) (*Sheet, error) { return ReadIn(nil, data, file) }

// ReadIn is Read for a sheet in a folder with picture files.
func ReadIn(folder fs.FS, data []byte, file string) (*Sheet, error) {
	r := &reader{folder: folder, sheet: &Sheet{File: file, Name: shortName(file), Language: "en", Pictures: map[string]Picture{}}}
	r.read(data)
	return r.sheet, r.problems.Err()
}

// shortName is the folder's name for worksheet.md, else the file's without .md.
func shortName(file string) string {
	base := filepath.Base(file)
	if base == FileName {
		if abs, err := filepath.Abs(file); err == nil {
			return filepath.Base(filepath.Dir(abs))
		}
	}
	return strings.TrimSuffix(base, filepath.Ext(base))
}

// A reader collects the sheet and its mistakes.
type reader struct {
	folder   fs.FS // nil: there is none
	sheet    *Sheet
	problems Problems

	frontLost bool     // the front matter could not be read: what it declares is not known
	declared  []string // names of the parameters, also of those that could not be read
}

func (r *reader) fail(line int, reason, remedy string) {
	r.problems = append(r.problems, Problem{r.sheet.File, line, reason, remedy})
}

func (r *reader) read(data []byte) {
	switch {
	case len(data) > MaxBytes:
		r.fail(0, fmt.Sprintf("larger than %d MiB", MaxBytes>>20), "this is no worksheet")
		return
	case bytes.HasPrefix(data, []byte{0xff, 0xfe}), bytes.HasPrefix(data, []byte{0xfe, 0xff}):
		r.fail(0, "this is UTF-16 text", "save it as UTF-8")
		return
	case !utf8.Valid(data):
		for i, line := range bytes.Split(data, []byte("\n")) {
			if !utf8.Valid(line) {
				r.fail(i+1, "not UTF-8 text", "save the file as UTF-8")
				return
			}
		}
	case bytes.IndexByte(data, 0) >= 0:
		r.fail(1+bytes.Count(data[:bytes.IndexByte(data, 0)], []byte("\n")), "a zero byte", "this is no text file")
		return
	}
	text := strings.TrimPrefix(string(data), "\ufeff")
	text = strings.ReplaceAll(text, "\r\n", "\n")
	front, body, bodyLine, ok := splitFront(text)
	if !ok {
		r.fail(1, "no front matter", "start the file with a line of ---, title: …, and another line of ---")
		return
	}
	r.front(front)
	r.body(body, bodyLine)
	r.names()
}

// splitFront takes the front matter off a text. The body's first line is
// line bodyLine of the file.
func splitFront(text string) (front, body string, bodyLine int, ok bool) {
	rest, ok := strings.CutPrefix(text, "---\n")
	if !ok {
		return "", text, 1, false
	}
	line := 2
	at := 0
	for at < len(rest) {
		end := strings.IndexByte(rest[at:], '\n')
		if end < 0 {
			end = len(rest) - at
		}
		if strings.TrimRight(rest[at:at+end], " \t") == "---" {
			return rest[:at], rest[min(at+end+1, len(rest)):], line + 1, true
		}
		at += end + 1
		line++
	}
	return "", text, 1, false
}

// front reads the front matter, which starts on line 2.
func (r *reader) front(text string) {
	t, ok := readTree(text, 2, r.fail)
	if !ok {
		r.sheet.Unread, r.frontLost = true, true
		return
	}
	t.conform(frontMatter(), "the front matter")
	m, ok := t.root.(map[string]any)
	if !ok {
		return
	}
	s := r.sheet
	s.Title, _ = m["title"].(string)
	s.Level, _ = m["level"].(string)
	if lang, ok := m["language"].(string); ok {
		s.Language = lang
	}
	if n, ok := m["minutes"].(json.Number); ok {
		minutes, _ := n.Int64()
		s.Minutes = int(minutes)
	}
	aims, _ := m["aims"].([]any)
	for _, a := range aims {
		if text, ok := a.(string); ok {
			s.Aims = append(s.Aims, text)
		}
	}
	r.params(t, m["params"])
	r.toys(t, m["toys"], text)
}

// toys cuts out the lines of each toy, with blank lines before them.
func (r *reader) toys(t *tree, v any, front string) {
	all, ok := v.(map[string]any)
	if !ok {
		return
	}
	lines := strings.Split(front, "\n")
	for _, name := range t.order["/toys"] {
		if _, ok := all[name].(map[string]any); !ok {
			continue
		}
		first := t.places["/toys/"+escapePointer(name)] // its key, in lines of the file; the front matter starts on line 2
		last := first
		indent := indentOf(lines[first-2])
		for last-1 < len(lines) && (strings.TrimSpace(lines[last-1]) == "" || indentOf(lines[last-1]) > indent) {
			last++
		}
		text := strings.Repeat("\n", first) + strings.Join(lines[first-1:last-1], "\n") + "\n"
		if key, rest, _ := strings.Cut(lines[first-2], ":"); strings.TrimSpace(stripComment(rest)) != "" { // on one line, or begun on it
			text = strings.Repeat("\n", first-1) + strings.Repeat(" ", len(key)+1) + rest + "\n" + strings.Join(lines[first-1:last-1], "\n") + "\n"
		}
		r.sheet.Toys = append(r.sheet.Toys, Toy{Name: name, YAML: []byte(text), Line: first})
	}
}

func indentOf(line string) int { return len(line) - len(strings.TrimLeft(line, " ")) }

func stripComment(s string) string {
	if strings.HasPrefix(strings.TrimSpace(s), "#") {
		return ""
	}
	return s
}

// question reads one question block, whose first line is line first of the file.
func (r *reader) question(text string, first int) *Cell {
	c := &Cell{Kind: Question, Line: first - 1, places: places{}}
	t, ok := readTree(text, first, r.fail)
	if !ok {
		c.Broken = true
		return c
	}
	c.places = maps.Clone(t.places)
	delete(c.places, "")
	if line, ok := c.places["/name"]; ok { // what is wrong with the whole is told there
		t.places[""] = line
	}
	m, _ := t.root.(map[string]any)
	name := "the question"
	if s, ok := m["name"].(string); ok && s != "" {
		name = s
	}
	c.Broken = !t.conform(questionForm(), name)
	for _, field := range t.order[""] { // one by one, so that a mistake in one hides no other
		data, err := json.Marshal(map[string]any{field: m[field]})
		if err == nil {
			err = json.Unmarshal(data, new(question.Question))
		}
		if err != nil && !c.Broken { // else the schema has told
			r.fail(c.LineOf(field), fmt.Sprintf("%s of %s: %v", field, name, err), "")
			c.Broken = true
		}
	}
	c.Question = r.merged(m)
	for _, name := range slices.Sorted(maps.Keys(c.Question.Symbols)) {
		r.symbolName(name, c.LineOf("symbols/"+escapePointer(name)))
	}
	for i, name := range c.Question.Time {
		r.symbolName(name, c.LineOf(fmt.Sprintf("time/%d", i)))
	}
	if c.Question.Name == "" {
		c.Broken = true
	}
	r.questionProse(c)
	return c
}

// merged decodes those fields of a question that can be.
func (r *reader) merged(m map[string]any) *question.Question {
	sound := map[string]any{}
	for field, v := range m {
		data, err := json.Marshal(map[string]any{field: v})
		if err == nil && json.Unmarshal(data, new(question.Question)) == nil {
			sound[field] = v
		}
	}
	q := new(question.Question)
	if data, err := json.Marshal(sound); err == nil {
		_ = json.Unmarshal(data, q) // each field was read before
	}
	return q
}
