package wire

import (
	"bytes"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"sync"
)

// SignatureScheme is the only scheme that is spoken.
const SignatureScheme = "hmac-sha256"

// rememberedSignatures is how many signatures are kept to recognise a repeated
// message. It is the number that Jupyter's own client library keeps.
const rememberedSignatures = 65536

var (
	delimiter = []byte("<IDS|MSG>")
	emptyDict = []byte("{}")
)

// Why a message is dropped.
var (
	ErrFrames    = errors.New("message lacks the delimiter or one of its five parts")
	ErrSignature = errors.New("signature does not fit the message")
	ErrRepeated  = errors.New("signature was seen before")
)

// A Codec turns messages into signed frames and back. It is safe for
// concurrent use.
type Codec struct {
	key []byte // nil: nothing is signed and nothing is checked

	mu   sync.Mutex
	seen map[[16]byte]struct{} // the first half of a signature is enough to know it
	ring [][16]byte            // in order of arrival, the oldest at next once full
	next int
}

// NewCodec returns a codec that signs with key, or not at all if key is empty.
func NewCodec(key string) *Codec {
	c := &Codec{seen: map[[16]byte]struct{}{}}
	if key != "" {
		c.key = []byte(key)
	}
	return c
}

// Encode returns the frames of m. They share memory with m.
func (c *Codec) Encode(m *Message) ([][]byte, error) {
	header := []byte(m.RawHeader)
	if header == nil {
		var err error
		if header, err = json.Marshal(m.Header); err != nil {
			return nil, err
		}
	}
	parts := [4][]byte{header, orEmpty(m.Parent), orEmpty(m.Metadata), orEmpty(m.Content)}
	frames := make([][]byte, 0, len(m.Identities)+6+len(m.Buffers))
	frames = append(frames, m.Identities...)
	frames = append(frames, delimiter, c.sign(parts[:]))
	frames = append(frames, parts[:]...)
	return append(frames, m.Buffers...), nil
}

// Decode reads the frames of a message. The signature is checked over the
// bytes as received, before anything in them is looked at.
func (c *Codec) Decode(frames [][]byte) (*Message, error) {
	at := -1
	for i, f := range frames {
		if bytes.Equal(f, delimiter) {
			at = i
			break
		}
	}
	if at < 0 || len(frames) < at+6 {
		return nil, ErrFrames
	}
	signature, parts := frames[at+1], frames[at+2:at+6]
	if err := c.verify(signature, parts); err != nil {
		return nil, err
	}
	header, err := parseHeader(parts[0])
	if err != nil {
		return nil, err
	}
	for i, name := range [...]string{1: "parent_header", 2: "metadata", 3: "content"} {
		if i > 0 && !isObject(parts[i]) {
			return nil, fmt.Errorf("%s is not a JSON object", name)
		}
	}
	return &Message{
		Identities: frames[:at:at],
		Header:     header,
		RawHeader:  parts[0],
		Parent:     parts[1],
		Metadata:   parts[2],
		Content:    parts[3],
		Buffers:    frames[at+6:],
	}, nil
}

func isObject(raw []byte) bool {
	raw = bytes.TrimLeft(raw, " \t\r\n")
	return len(raw) > 0 && raw[0] == '{' && json.Valid(raw)
}

func orEmpty(raw []byte) []byte {
	if len(raw) == 0 {
		return emptyDict
	}
	return raw
}

// sign returns the signature in hexadecimal, empty without a key.
func (c *Codec) sign(parts [][]byte) []byte {
	if c.key == nil {
		return []byte{}
	}
	sum := c.sum(parts)
	return hex.AppendEncode(make([]byte, 0, 2*len(sum)), sum)
}

func (c *Codec) sum(parts [][]byte) []byte {
	mac := hmac.New(sha256.New, c.key)
	for _, p := range parts {
		mac.Write(p)
	}
	return mac.Sum(nil)
}

// verify checks a signature in constant time and remembers it.
func (c *Codec) verify(signature []byte, parts [][]byte) error {
	if c.key == nil {
		return nil
	}
	got := make([]byte, hex.DecodedLen(len(signature)))
	if len(got) != sha256.Size {
		return ErrSignature
	}
	if _, err := hex.Decode(got, signature); err != nil {
		return ErrSignature
	}
	if !hmac.Equal(got, c.sum(parts)) {
		return ErrSignature
	}
	return c.remember([16]byte(got))
}

func (c *Codec) remember(signature [16]byte) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if _, ok := c.seen[signature]; ok {
		return ErrRepeated
	}
	c.seen[signature] = struct{}{}
	if len(c.ring) < rememberedSignatures {
		c.ring = append(c.ring, signature)
		return nil
	}
	delete(c.seen, c.ring[c.next])
	c.ring[c.next] = signature
	c.next = (c.next + 1) % rememberedSignatures
	return nil
}
