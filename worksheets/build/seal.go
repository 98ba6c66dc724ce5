package build

import (
	"crypto/hkdf"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io"
	"sync"

	"golang.org/x/crypto/argon2"
	"golang.org/x/crypto/chacha20"

	"counterpoise/worksheets/question"
	"counterpoise/worksheets/seal"
)

// A seed is where the salts and fillings of sealed keys come from, so that the
// same sheet gives the same bytes. It is made of everything in the key file:
// whoever could make it has the keys already. Since somebody may know all of a
// sheet but one short key, making it costs more (64 MiB of Argon2id) than one
// guess at the sealed key does.
//
// A question that is the same in two copies is sealed once.
type seed struct {
	key   []byte
	class bool     // of a class set
	guess int      // KiB that one guess costs; 0: as usual
	memos sync.Map // where guess is set: question's name to *seal.Memo
	boxes sync.Map // [sha256.Size]byte to json.RawMessage
}

// classMemory is the cost in KiB of one guess at a question with a student's
// own numbers, the least there is. A class has thousands of them with some twenty
// slips each, and sealing each slip at the usual cost would take a second a
// student. A number falls to whoever writes a program in either case: see
// package seal.
const classMemory = 8

const (
	seedMemory = 64 << 10 // KiB
	seedPasses = 1
)

// seedOf makes the seed of a sheet. A class adds its secret.
func seedOf(k *KeyFile, secret []byte) (*seed, error) {
	data, err := json.Marshal(k.secretParts())
	if err != nil {
		return nil, err
	}
	salt := sha256.Sum256(append([]byte("counterpoise build 1\x00"), secret...))
	return &seed{key: argon2.IDKey(data, salt[:], seedPasses, seedMemory, 1, 32)}, nil
}

// sealed seals one question of one copy.
func (s *seed) sealed(a *question.Asked) (json.RawMessage, error) {
	what, err := json.Marshal(struct {
		Question question.Question
		Values   question.Values
	}{a.Question, a.Values})
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(what)
	if box, ok := s.boxes.Load(sum); ok {
		return box.(json.RawMessage), nil
	}
	random, err := s.stream(sum[:])
	if err != nil {
		return nil, err
	}
	options := seal.Options{Random: random}
	if s.class && !lettersStay[a.Question.Kind] {
		options.Memory = classMemory
	}
	if s.guess > 0 { // for practice: what copies have in common is paid for once
		options.Memory = uint32(s.guess)
		salt := sha256.Sum256([]byte(a.Question.Name))
		options.Salt = salt[:16]
		memo, _ := s.memos.LoadOrStore(a.Question.Name, new(seal.Memo))
		options.Memo = memo.(*seal.Memo)
	}
	box, err := seal.Seal(a, options)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", a.Question.Name, err)
	}
	s.boxes.Store(sum, json.RawMessage(box))
	return box, nil
}

// stream returns the random bytes for one question.
func (s *seed) stream(what []byte) (io.Reader, error) {
	key, err := hkdf.Key(sha256.New, s.key, nil, string(what), chacha20.KeySize)
	if err != nil {
		return nil, err
	}
	c, err := chacha20.NewUnauthenticatedCipher(key, make([]byte, chacha20.NonceSize))
	return keystream{c}, err
}

// A keystream reads the bytes of a stream cipher.
type keystream struct{ c *chacha20.Cipher }

func (k keystream) Read(p []byte) (int, error) {
	clear(p)
	k.c.XORKeyStream(p, p)
	return len(p), nil
}
