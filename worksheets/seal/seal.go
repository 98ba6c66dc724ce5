package seal

import (
	"crypto/hkdf"
	"crypto/rand"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"math/big"
	"slices"
	"sync"

	"golang.org/x/crypto/argon2"
	"golang.org/x/crypto/chacha20poly1305"

	"counterpoise/mechanics/quantity"
	"counterpoise/worksheets/question"
)

// version is what this package writes, and the newest that it reads.
const version = 1

// A box is a sealed question as it stands in a student's file, in JSON.
type box struct {
	Version int             `json:"version"`
	KDF     kdf             `json:"kdf"`
	Public  question.Public `json:"public"`
	Boxes   *boxes          `json:"boxes,omitempty"` // absent: nothing to open
}

// kdf is how a print becomes a secret.
type kdf struct {
	Name   string `json:"name"`   // argon2id
	Memory uint32 `json:"memory"` // KiB
	Light  uint32 `json:"light"`  // KiB, for the slips of formulas
	Passes uint32 `json:"passes"`
	Salt   []byte `json:"salt"`
	Mix    []byte `json:"mix"` // keeps the keys of files with one salt apart
}

// The cost of one guess. 2 MiB in one pass take about a millisecond, so that a
// check with its slips (some twenty prints) stays below a twentieth of a
// second on a slow computer.
//
// The slips of a formula are many, each a print of its own, and sealing a class
// set must not take hours; nobody can list formulas as one lists numbers. So
// their prints cost less.
const (
	memory     = 2048
	minMemory  = 8 // the least that Argon2 takes with one lane (RFC 9106, section 3.1)
	lightShare = 8
	passes     = 1
	lanes      = 1
)

// boxes are the sealed parts of a question.
type boxes struct {
	Keys     []byte   `json:"keys,omitempty"`     // wraps of the key of Key, one for each print
	Key      []byte   `json:"key,omitempty"`      // the whole question
	Told     []byte   `json:"told,omitempty"`     // wraps of the keys of Foreseen
	Foreseen [][]byte `json:"foreseen,omitempty"` // the teacher's slips
	Slips    []byte   `json:"slips,omitempty"`    // the other slips, each in a box of one length
	Parts    []boxes  `json:"parts,omitempty"`    // of a vector or matrix
}

// Sizes in bytes.
const (
	saltLength    = 16
	wrapLength    = chacha20poly1305.KeySize + 1 + chacha20poly1305.Overhead // a key and the number of what it opens
	slipLength    = 13 + chacha20poly1305.Overhead
	wrapRound     = 4   // wraps are filled up to a multiple of this number
	slipRound     = 32  // slips are filled up to this number times a power of two
	keyRound      = 512 // bytes to which the question is filled up
	foreseenRound = 128 // bytes to which a foreseen slip is filled up
)

// contents is what the right answer opens.
type contents struct {
	Question question.Question               `json:"question"`
	Values   map[string]question.PublicValue `json:"values,omitempty"`
}

// Options say how to seal. The zero value is what worksheets use.
type Options struct {
	// Hide names values that the sheet does not show, beside those of toys.
	Hide []string
	// Memory is the cost of a guess in KiB, from 8 to 65536; 0 means 2048.
	Memory uint32
	// Salt, of 16 bytes, may be shared by the copies of one question in a class,
	// and Memo with it, so that a print that occurs in several copies is paid for
	// once. Nil means a random salt of this copy's own.
	Salt []byte
	Memo *Memo
	// Random is where salts and fillings come from; nil means the system's.
	Random io.Reader
}

// Seal returns a question for a student's file, in JSON. A closed question, and
// prose, come without boxes.
func Seal(a *question.Asked, o Options) ([]byte, error) {
	if o.Random == nil {
		o.Random = rand.Reader
	}
	if o.Memory == 0 {
		o.Memory = memory
	}
	if o.Memory < minMemory || o.Memory > maxMemory {
		return nil, fmt.Errorf("a guess cannot cost %d KiB: choose from %d to %d", o.Memory, minMemory, maxMemory)
	}
	if o.Salt != nil && len(o.Salt) != saltLength {
		return nil, fmt.Errorf("a salt of %d bytes: give %d", len(o.Salt), saltLength)
	}
	r := &random{from: o.Random}
	b := box{Version: version, KDF: kdf{Name: "argon2id", Memory: o.Memory, Light: max(o.Memory/lightShare, minMemory), Passes: passes, Salt: o.Salt}}
	if b.KDF.Salt == nil {
		b.KDF.Salt = r.bytes(saltLength)
	}
	b.KDF.Mix = r.bytes(saltLength)
	if r.err != nil {
		return nil, r.err
	}
	if err := o.Memo.bind(b.KDF); err != nil {
		return nil, err
	}
	public, sealable, err := a.Public(o.Hide...)
	if err != nil {
		return nil, err
	}
	if b.Public, err = settled(public); err != nil {
		return nil, err
	}
	if sealable && a.Question.Open != "closed" {
		shell, err := question.Shell(b.Public, nil)
		if err != nil {
			return nil, err
		}
		secrets, _ := a.Secrets(shell)
		s := &sealer{random: r, kdf: b.KDF, aad: b.associated(), names: shell.Names(), memo: o.Memo}
		if b.Boxes, err = s.seal(a, secrets, ""); err != nil {
			return nil, err
		}
	}
	return json.Marshal(b)
}

// settled returns the public part as it reads back.
func settled(p question.Public) (out question.Public, err error) {
	b, err := json.Marshal(p)
	if err != nil {
		return out, err
	}
	return out, json.Unmarshal(b, &out)
}

// associated binds the boxes to what stands beside them in clear.
func (b *box) associated() []byte {
	clear := *b
	clear.Boxes = nil
	text, err := json.Marshal(clear)
	if err != nil {
		panic(err) // it was read from JSON or has just been checked
	}
	sum := sha256.Sum256(text)
	return sum[:]
}

// secret turns a print into a secret; part tells components apart.
func (k kdf) secret(part string, print []byte) []byte {
	return argon2.IDKey(append([]byte(part+"\x00"), print...), k.Salt, k.Passes, k.Memory, lanes, 32)
}

// slipSecret is the secret for the list of unforeseen slips.
func (k kdf) slipSecret(part string, print []byte) []byte {
	if question.FormulaPrint(print) {
		k.Memory = k.Light
		return k.secret(part+"\x00light", print)
	}
	return k.secret(part, print)
}

// key derives the key for one list of boxes of this file from a secret.
func (k kdf) key(secret []byte, list string) []byte {
	out, err := hkdf.Key(sha256.New, secret, k.Mix, "counterpoise seal 1 "+list, chacha20poly1305.KeySize)
	if err != nil {
		panic(err) // only for lengths that HKDF cannot give
	}
	return out
}

// sealBox seals text under a key as number i of its list. No key seals two
// texts under one number.
func sealBox(k []byte, i int, text, aad []byte) []byte {
	c, err := chacha20poly1305.New(k)
	if err != nil {
		panic(err) // only for keys of another length
	}
	return c.Seal(nil, nonce(i), text, aad)
}

func openBox(k []byte, i int, sealed, aad []byte) ([]byte, bool) {
	c, err := chacha20poly1305.New(k)
	if err != nil {
		panic(err)
	}
	text, err := c.Open(nil, nonce(i), sealed, aad)
	return text, err == nil
}

func nonce(i int) []byte {
	n := make([]byte, chacha20poly1305.NonceSize)
	binary.BigEndian.PutUint64(n[4:], uint64(i))
	return n
}

// random gives random bytes, and keeps the first error.
type random struct {
	from io.Reader
	err  error
}

func (r *random) bytes(n int) []byte {
	b := make([]byte, n)
	if r.err == nil {
		_, r.err = io.ReadFull(r.from, b)
	}
	return b
}

// order returns the numbers below n in random order.
func (r *random) order(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	for i := n - 1; i > 0; i-- {
		j, err := rand.Int(r.from, big.NewInt(int64(i+1)))
		if err != nil {
			r.err = err
			return out
		}
		out[i], out[int(j.Int64())] = out[int(j.Int64())], out[i]
	}
	return out
}

// A Memo remembers the secrets of prints for one salt. Its zero value is empty;
// it may be used by several goroutines at once.
type Memo struct {
	mu      sync.Mutex
	salt    string
	memory  uint32
	secrets map[string][]byte
}

// bind ties a memo to the salt and cost that it is first used with.
func (m *Memo) bind(k kdf) error {
	if m == nil {
		return nil
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.secrets == nil {
		m.secrets, m.salt, m.memory = map[string][]byte{}, string(k.Salt), k.Memory
	}
	if m.salt != string(k.Salt) || m.memory != k.Memory {
		return errors.New("a memo of secrets belongs to one salt and one cost: use one for each question")
	}
	return nil
}

// maxMemo is how many secrets a memo remembers: 32 MB of them.
const maxMemo = 1 << 18

// secret returns what compute returns for a print, from memory if it is there.
func (m *Memo) secret(print string, compute func() []byte) []byte {
	if m == nil {
		return compute()
	}
	m.mu.Lock()
	s, ok := m.secrets[print]
	m.mu.Unlock()
	if ok {
		return s
	}
	s = compute()
	m.mu.Lock()
	defer m.mu.Unlock()
	if len(m.secrets) < maxMemo {
		m.secrets[print] = s
	}
	return s
}

// A sealer seals one question.
type sealer struct {
	*random
	kdf   kdf
	aad   []byte
	names []string // the letters that the file knows
	memo  *Memo
}

// secret is the secret of a print for the list of that name.
func (s *sealer) secret(list, part string, print []byte) []byte {
	if list == "slip" && question.FormulaPrint(print) {
		return s.memo.secret("light\x00"+part+"\x00"+string(print), func() []byte { return s.kdf.slipSecret(part, print) })
	}
	return s.memo.secret(part+"\x00"+string(print), func() []byte { return s.kdf.secret(part, print) })
}

func (s *sealer) seal(a *question.Asked, secrets question.Secrets, part string) (*boxes, error) {
	b := &boxes{}
	if len(secrets.Key) > 0 {
		if err := s.sealKey(b, a, secrets.Key, part); err != nil {
			return nil, err
		}
	}
	if err := s.sealForeseen(b, secrets.Foreseen, part); err != nil {
		return nil, err
	}
	s.sealSlips(b, secrets.Slips, part)
	for i, p := range secrets.Parts {
		one, err := s.seal(secrets.PartKeys[i], p, fmt.Sprintf("%s/%d", part, i))
		if err != nil {
			return nil, err
		}
		b.Parts = append(b.Parts, *one)
	}
	return b, s.err
}

func (s *sealer) sealKey(b *boxes, a *question.Asked, prints [][]byte, part string) error {
	c := contents{Question: a.Question, Values: map[string]question.PublicValue{}}
	for name, v := range a.Values {
		c.Values[name] = question.PublicValue{Value: v.Value, Unit: v.Unit.String()}
	}
	c.Question.Params = nil // they are among the values
	text, err := json.Marshal(c)
	if err != nil {
		return err
	}
	own := s.bytes(chacha20poly1305.KeySize)
	b.Key = sealBox(own, 0, padded(text, keyRound), s.aad)
	var wraps []wrap
	for _, p := range prints {
		wraps = append(wraps, wrap{p, own, 0})
	}
	b.Keys = s.wraps(wraps, "key", part)
	return nil
}

func (s *sealer) sealForeseen(b *boxes, slips []question.ForeseenSecret, part string) error {
	if len(slips) > math.MaxUint8 {
		return errors.New("more than 255 foreseen slips: keep the commonest")
	}
	var wraps []wrap
	for i, f := range slips {
		text, err := json.Marshal(f.ForeseenSlip)
		if err != nil {
			return err
		}
		own := s.bytes(chacha20poly1305.KeySize)
		b.Foreseen = append(b.Foreseen, sealBox(own, 0, padded(text, foreseenRound), s.aad))
		for _, p := range f.Prints {
			wraps = append(wraps, wrap{p, own, byte(i)})
		}
	}
	if len(wraps) > 0 {
		b.Told = s.wraps(wraps, "told", part)
	}
	return nil
}

// A wrap is a key to be sealed under a print's secret.
type wrap struct {
	print  []byte
	key    []byte
	number byte
}

func (s *sealer) wraps(list []wrap, name, part string) []byte {
	n := (len(list) + wrapRound - 1) / wrapRound * wrapRound
	out := s.bytes(n * wrapLength)
	for k, i := range s.order(n)[:len(list)] {
		w := list[k]
		sealed := sealBox(s.kdf.key(s.secret(name, part, w.print), name), i, append(slices.Clone(w.key), w.number), s.aad)
		copy(out[i*wrapLength:], sealed)
	}
	return out
}

func (s *sealer) sealSlips(b *boxes, slips []question.SlipSecret, part string) {
	if len(slips) == 0 {
		return
	}
	n := slipRound
	for n < len(slips) {
		n *= 2
	}
	out := s.bytes(n * slipLength)
	secrets := map[string][]byte{}
	for k, i := range s.order(n)[:len(slips)] {
		secret, ok := secrets[string(slips[k].Print)]
		if !ok {
			secret = s.kdf.key(s.secret("slip", part, slips[k].Print), "slip")
			secrets[string(slips[k].Print)] = secret
		}
		copy(out[i*slipLength:], sealBox(secret, i, writeSlip(slips[k].SealedSlip, s.names), s.aad))
	}
	b.Slips = out
}

// padded fills a JSON text up with spaces.
func padded(text []byte, round int) []byte {
	for len(text)%round != 0 {
		text = append(text, ' ')
	}
	return text
}

// noName stands for no symbol.
const noName = math.MaxUint8

// The rank and a flag share a byte; ranks stay below 100.
const (
	rankBits = 0x7f
	muteBit  = 0x80
)

// writeSlip writes a slip in thirteen bytes: class, two letters of the
// question by number, rank, nothing, and a value.
func writeSlip(s question.SealedSlip, names []string) []byte {
	number := func(name string) byte {
		if i := slices.Index(names, name); i >= 0 && i < noName {
			return byte(i)
		}
		return noName
	}
	b := []byte{byte(s.Class), number(s.A), number(s.B), byte(s.Rank) & rankBits, byte(s.Also)}
	if s.Mute {
		b[3] |= muteBit
	}
	return binary.BigEndian.AppendUint64(b, math.Float64bits(s.Value))
}

func value(v question.PublicValue) (quantity.Quantity, error) {
	u, err := quantity.ParseUnit(v.Unit)
	return quantity.New(v.Value, u), err
}
