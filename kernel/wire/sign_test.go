package wire

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Test cases of HMAC-SHA-256. Source: RFC 4231, "Identifiers and Test Vectors
// for HMAC-SHA-224, HMAC-SHA-256, HMAC-SHA-384, and HMAC-SHA-512", sections
// 4.2 and 4.3. The data is cut into the four parts of a message.
func TestSignatureIsHMACSHA256(t *testing.T) {
	for _, tt := range []struct {
		key   string
		parts [4]string
		want  string
	}{
		{"\x0b\x0b\x0b\x0b\x0b\x0b\x0b\x0b\x0b\x0b\x0b\x0b\x0b\x0b\x0b\x0b\x0b\x0b\x0b\x0b", [4]string{"Hi", " ", "The", "re"},
			"b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7"},
		{"Jefe", [4]string{"what do ya ", "want ", "for ", "nothing?"},
			"5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"},
	} {
		parts := make([][]byte, 4)
		for i, p := range tt.parts {
			parts[i] = []byte(p)
		}
		if got := string(NewCodec(tt.key).sign(parts)); got != tt.want {
			t.Errorf("key %q: signature %s, RFC 4231 has %s", tt.key, got, tt.want)
		}
	}
}

// signed returns the frames of a message, signed without the code under test.
func signed(key string, parts ...string) [][]byte {
	mac := hmac.New(sha256.New, []byte(key))
	for _, p := range parts {
		mac.Write([]byte(p))
	}
	frames := [][]byte{[]byte("client"), []byte("<IDS|MSG>"), []byte(hex.EncodeToString(mac.Sum(nil)))}
	for _, p := range parts {
		frames = append(frames, []byte(p))
	}
	return frames
}

const someHeader = `{"msg_id":"a1","msg_type":"execute_request","subshell_id":null, "odd" : 1}`

func TestDecodeKeepsBytes(t *testing.T) {
	frames := append(signed("k", someHeader, `{ "p":1}`, `{}`, `{"code": "1"}`), []byte("buffer"), []byte{})
	m, err := NewCodec("k").Decode(frames)
	if err != nil {
		t.Fatal(err)
	}
	got := []string{string(m.Identities[0]), m.Header.ID, m.Header.Type, string(m.RawHeader), string(m.Parent), string(m.Content), fmt.Sprint(len(m.Buffers))}
	want := []string{"client", "a1", "execute_request", someHeader, `{ "p":1}`, `{"code": "1"}`, "2"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestDecodeRefuses(t *testing.T) {
	good := signed("k", someHeader, "{}", "{}", "{}")
	with := func(at int, frame string) [][]byte {
		f := append([][]byte{}, good...)
		f[at] = []byte(frame)
		return f
	}
	flipped := []byte(good[2])
	flipped[0] ^= 1
	for name, frames := range map[string][][]byte{
		"no frames":             nil,
		"no delimiter":          {[]byte("a"), []byte("b")},
		"delimiter alone":       {[]byte("<IDS|MSG>")},
		"content missing":       good[:6],
		"wrong signature":       with(2, string(flipped)),
		"empty signature":       with(2, ""),
		"odd signature":         with(2, string(good[2][:63])),
		"long signature":        with(2, string(good[2])+"00"),
		"signature not hex":     with(2, "zz"+string(good[2][2:])),
		"changed content":       with(6, `{"a":1}`),
		"signed by another key": signed("other", someHeader, "{}", "{}", "{}"),
		"header cut":            signed("k", `{"msg_id":"a`, "{}", "{}", "{}"),
		"header without type":   signed("k", `{"msg_id":"a"}`, "{}", "{}", "{}"),
		"header of numbers":     signed("k", `{"msg_id":1,"msg_type":2}`, "{}", "{}", "{}"),
		"content not an object": signed("k", someHeader, "{}", "{}", "[1]"),
		"content not JSON":      signed("k", someHeader, "{}", "{}", "{1"),
		"metadata not JSON":     signed("k", someHeader, "{}", "", "{}"),
	} {
		if m, err := NewCodec("k").Decode(frames); err == nil {
			t.Errorf("%s: read as %+v", name, m.Header)
		}
	}
}

func TestRepeatedMessageIsRefused(t *testing.T) {
	c := NewCodec("k")
	first := signed("k", someHeader, "{}", "{}", "{}")
	if _, err := c.Decode(first); err != nil {
		t.Fatal(err)
	}
	if _, err := c.Decode(first); !errors.Is(err, ErrRepeated) {
		t.Fatalf("repeated at once: %v", err)
	}
	send := func(i int) {
		t.Helper()
		if _, err := c.Decode(signed("k", fmt.Sprintf(`{"msg_id":"n%d","msg_type":"x"}`, i), "{}", "{}", "{}")); err != nil {
			t.Fatal(err)
		}
	}
	for i := range rememberedSignatures - 1 {
		send(i)
	}
	if _, err := c.Decode(first); !errors.Is(err, ErrRepeated) {
		t.Fatalf("repeated after %d others: %v", rememberedSignatures-1, err)
	}
	send(-1)
	if _, err := c.Decode(first); err != nil {
		t.Fatalf("the memory is larger than it says: %v", err)
	}
	if len(c.seen) != rememberedSignatures {
		t.Fatalf("%d signatures kept", len(c.seen))
	}
}

func TestNoKeyNoSignature(t *testing.T) {
	frames, err := NewCodec("").Encode(&Message{Header: NewSender().Header("status"), Content: []byte(`{}`)})
	if err != nil {
		t.Fatal(err)
	}
	if len(frames[1]) != 0 {
		t.Errorf("signature %q", frames[1])
	}
	for range 2 {
		if _, err := NewCodec("").Decode(frames); err != nil {
			t.Error(err)
		}
	}
}

func FuzzDecode(f *testing.F) {
	f.Add([]byte(someHeader), []byte(`{}`), []byte(`{}`), []byte(`{"code":"1"}`), []byte("id"), []byte("buffer"))
	f.Add([]byte(`{"msg_id":"\ud800","msg_type":"x"}`), []byte(``), []byte(`null`), []byte(`[]`), []byte("<IDS|MSG>"), []byte(""))
	f.Fuzz(func(t *testing.T, header, parent, metadata, content, id, buffer []byte) {
		c := NewCodec("k")
		sent := &Message{Identities: [][]byte{id}, RawHeader: header, Parent: parent, Metadata: metadata, Content: content, Buffers: [][]byte{buffer}}
		frames, err := c.Encode(sent)
		if err != nil {
			t.Fatal(err)
		}
		got, err := NewCodec("k").Decode(frames)
		if err != nil || string(id) == "<IDS|MSG>" {
			return
		}
		again, err := c.Encode(got)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(frames, again); diff != "" {
			t.Errorf("a message that was read is written otherwise: %s", diff)
		}
	})
}
