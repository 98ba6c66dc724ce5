package seal

import (
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"sync"

	"counterpoise/worksheets/question"
	"counterpoise/worksheets/question/slip"
)

// Limits on what a file may ask for.
const (
	// MaxBox is the size of a sealed question: a long working, hundreds of
	// slips and 64 components stay below it.
	MaxBox = 4 << 20
	// maxMemory and maxPasses bound the cost of one guess, so that a file
	// cannot make the check take all memory.
	maxMemory = 64 << 10 // KiB
	maxPasses = 10
)

// A Sealed is a sealed question that can check answers. It may be used by
// several goroutines at once.
type Sealed struct {
	asked *question.Asked
}

// Open reads a sealed question from a student's file.
func Open(text []byte) (*Sealed, error) {
	if len(text) > MaxBox {
		return nil, fmt.Errorf("the sealed question is larger than %d MiB: get a new copy of the worksheet", MaxBox>>20)
	}
	var b box
	if err := json.Unmarshal(text, &b); err != nil {
		return nil, fmt.Errorf("the sealed question cannot be read (%w): get a new copy of the worksheet", err)
	}
	switch {
	case b.Version != version:
		return nil, fmt.Errorf("the question is sealed in version %d, this program reads %d: use the program that came with the worksheet", b.Version, version)
	case b.KDF.Name != "argon2id":
		return nil, fmt.Errorf("the question is sealed with %q: this program reads argon2id", b.KDF.Name)
	case b.KDF.Memory < minMemory || b.KDF.Memory > maxMemory || b.KDF.Light < minMemory || b.KDF.Light > maxMemory || b.KDF.Passes < 1 || b.KDF.Passes > maxPasses || len(b.KDF.Salt) < 8:
		return nil, errors.New("the sealed question asks for an unreasonable effort: get a new copy of the worksheet")
	}
	var l question.Lock
	if b.Boxes != nil {
		l = newLock(b.KDF, b.associated(), b.Boxes, "")
	}
	a, err := question.Shell(b.Public, l)
	if err != nil {
		return nil, err
	}
	if root, ok := l.(*lock); ok {
		root.useNames(a.Names())
	}
	return &Sealed{a}, nil
}

// Check judges an answer as the open question would.
func (s *Sealed) Check(answer string) question.Verdict { return s.asked.Check(answer) }

// Question returns what of the question stands in clear.
func (s *Sealed) Question() question.Question { return s.asked.Question }

// A lock tries prints on boxes.
type lock struct {
	kdf   kdf
	aad   []byte
	boxes *boxes
	path  string
	parts []*lock
	names []string

	mu      sync.Mutex
	secrets map[string][]byte // of the prints tried last
	full    *question.Asked   // once it was opened
}

// maxSecrets is how many secrets are kept: those of one answer, which is tried
// on several lists in turn.
const maxSecrets = 64

func newLock(k kdf, aad []byte, b *boxes, path string) *lock {
	l := &lock{kdf: k, aad: aad, boxes: b, path: path, secrets: map[string][]byte{}}
	for i := range b.Parts {
		l.parts = append(l.parts, newLock(k, aad, &b.Parts[i], fmt.Sprintf("%s/%d", path, i)))
	}
	return l
}

func (l *lock) useNames(names []string) {
	l.names = names
	for _, p := range l.parts {
		p.useNames(names)
	}
}

// secret returns the secret of a print.
func (l *lock) secret(print []byte) []byte {
	l.mu.Lock()
	s, ok := l.secrets[string(print)]
	l.mu.Unlock()
	if ok {
		return s
	}
	s = l.kdf.secret(l.path, print)
	l.mu.Lock()
	defer l.mu.Unlock()
	if len(l.secrets) >= maxSecrets {
		clear(l.secrets)
	}
	l.secrets[string(print)] = s
	return s
}

// unwrap tries the prints on a list of wraps and calls use for each key found,
// until use returns true.
func (l *lock) unwrap(list []byte, name string, prints [][]byte, use func(key []byte, number int) bool) {
	if len(list) == 0 {
		return
	}
	for _, p := range prints {
		k := l.kdf.key(l.secret(p), name)
		for i := 0; (i+1)*wrapLength <= len(list); i++ {
			text, ok := openBox(k, i, list[i*wrapLength:(i+1)*wrapLength], l.aad)
			if ok && use(text[:len(text)-1], int(text[len(text)-1])) {
				return
			}
		}
	}
}

// Key opens the whole question.
func (l *lock) Key(prints [][]byte) (full *question.Asked, ok bool) {
	l.unwrap(l.boxes.Keys, "key", prints, func(k []byte, _ int) bool {
		full, ok = l.open(k)
		return ok
	})
	return full, ok
}

func (l *lock) open(k []byte) (*question.Asked, bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.full != nil {
		return l.full, true
	}
	text, ok := openBox(k, 0, l.boxes.Key, l.aad)
	if !ok {
		return nil, false
	}
	var c contents
	if json.Unmarshal(text, &c) != nil {
		return nil, false
	}
	values := question.Values{}
	for name, v := range c.Values {
		q, err := value(v)
		if err != nil {
			return nil, false
		}
		values[name] = q
	}
	full, err := question.Compile(c.Question, values)
	if err != nil {
		return nil, false
	}
	l.full = full
	return full, true
}

// Foreseen opens the teacher's slips.
func (l *lock) Foreseen(prints [][]byte) []question.ForeseenSlip {
	var out []question.ForeseenSlip
	seen := map[int]bool{}
	l.unwrap(l.boxes.Told, "told", prints, func(k []byte, number int) bool {
		if number >= len(l.boxes.Foreseen) || seen[number] {
			return false
		}
		seen[number] = true
		var s question.ForeseenSlip
		if text, ok := openBox(k, 0, l.boxes.Foreseen[number], l.aad); ok && json.Unmarshal(text, &s) == nil {
			out = append(out, s)
		}
		return false
	})
	return out
}

// Slips opens the other slips.
func (l *lock) Slips(prints [][]byte) []question.SealedSlip {
	var out []question.SealedSlip
	list := l.boxes.Slips
	if len(list) == 0 {
		return nil
	}
	for _, p := range prints {
		secret := l.secret
		if question.FormulaPrint(p) { // the light ones are not worth keeping
			secret = func(p []byte) []byte { return l.kdf.slipSecret(l.path, p) }
		}
		k := l.kdf.key(secret(p), "slip")
		for i := 0; (i+1)*slipLength <= len(list); i++ {
			if text, ok := openBox(k, i, list[i*slipLength:(i+1)*slipLength], l.aad); ok {
				out = append(out, l.readSlip(text))
			}
		}
	}
	return out
}

// Part returns the lock of a component.
func (l *lock) Part(i int) question.Lock {
	if i >= len(l.parts) {
		return nil
	}
	return l.parts[i]
}

func (l *lock) readSlip(b []byte) question.SealedSlip {
	name := func(i byte) string {
		if int(i) < len(l.names) {
			return l.names[i]
		}
		return ""
	}
	s := question.SealedSlip{Value: math.Float64frombits(binary.BigEndian.Uint64(b[5:]))}
	s.Entry = slip.Entry{Found: slip.Found{Class: slip.Class(b[0]), A: name(b[1]), B: name(b[2]), Also: slip.Class(b[4])}, Rank: int(b[3] & rankBits), Mute: b[3]&muteBit != 0}
	return s
}
