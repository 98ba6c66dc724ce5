package wire

import (
	"bytes"
	"encoding/binary"
	"errors"
	"testing"

	"pgregory.net/rapid"
)

// Whatever the pieces in which bytes arrive, the same messages are seen, with
// the same number of frames.
func TestFramingDoesNotDependOnPieces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		messages := rapid.SliceOfN(rapid.SliceOfN(rapid.SliceOfN(rapid.Byte(), 0, 300), 1, 5), 1, 6).Draw(t, "messages")
		var stream []byte
		for _, m := range messages {
			stream = appendFrames(stream, m)
		}
		f := framing{limited: true, start: make([]byte, 0, 8)}
		var seen []int
		for len(stream) > 0 {
			n := rapid.IntRange(1, len(stream)).Draw(t, "piece")
			err := f.feed(stream[:n], func(frames int) {
				first := messages[len(seen)][0]
				if !bytes.Equal(f.start, first[:min(len(first), 8)]) {
					t.Fatalf("message %d begins %q, want %q", len(seen), f.start, first)
				}
				seen = append(seen, frames)
			})
			if err != nil {
				t.Fatal(err)
			}
			stream = stream[n:]
		}
		if len(seen) != len(messages) || !f.atBoundary() {
			t.Fatalf("saw %d messages of %d", len(seen), len(messages))
		}
		for i, m := range messages {
			if seen[i] != len(m) {
				t.Fatalf("message %d has %d frames, seen %d", i, len(m), seen[i])
			}
		}
	})
}

func TestFramingLimits(t *testing.T) {
	long := func(flags byte, size uint64) []byte {
		return binary.BigEndian.AppendUint64([]byte{flags | flagLong}, size)
	}
	var many []byte
	for range maxFrames {
		many = append(many, flagMore, 0)
	}
	for name, tt := range map[string]struct {
		bytes []byte
		want  error
	}{
		"the longest frame":     {long(0, maxFrame), nil},
		"a byte more":           {long(0, maxFrame+1), errTooLong},
		"a tebibyte":            {long(0, 1<<40), errTooLong},
		"the largest number":    {long(0, 1<<64-1), errTooLong},
		"as many frames as may": {many, nil},
		"a frame more":          {append(append([]byte{}, many...), 0, 0), errTooLong},
		"unknown flags":         {[]byte{8}, errFlags},
	} {
		f := framing{limited: true}
		if err := f.feed(tt.bytes, nil); !errors.Is(err, tt.want) {
			t.Errorf("%s: %v, want %v", name, err, tt.want)
		}
	}
}

func FuzzFraming(f *testing.F) {
	f.Add([]byte("\x00\x03abc"), 2)
	f.Add([]byte("\x01\x00\x02\x00\x00\x00\x00\x00\x00\x00\x01z"), 1)
	f.Fuzz(func(t *testing.T, stream []byte, cut int) {
		cut = max(0, min(cut, len(stream)))
		whole, pieces := framing{limited: true}, framing{limited: true}
		var a, b []int
		errA := whole.feed(stream, func(n int) { a = append(a, n) })
		errB := pieces.feed(stream[:cut], func(n int) { b = append(b, n) })
		if errB == nil {
			errB = pieces.feed(stream[cut:], func(n int) { b = append(b, n) })
		}
		if !errors.Is(errA, errB) || len(a) != len(b) {
			t.Fatalf("in one piece %v %v, in two %v %v", a, errA, b, errB)
		}
		if whole.left > maxFrame {
			t.Fatalf("%d bytes would be allocated", whole.left)
		}
	})
}

func FuzzHandshake(f *testing.F) {
	ready := []byte("\x04\x1a\x05READY\x0bSocket-Type\x00\x00\x00\x03SUB")
	f.Add(append(greeting(), ready...))
	f.Add(append(greeting(), 6, 255, 255))
	f.Fuzz(func(t *testing.T, peer []byte) {
		taken, err := shakeHands(bytes.NewReader(peer), fromSubscriber)
		if err == nil && !bytes.HasPrefix(peer, taken) {
			t.Fatalf("took %q of %q", taken, peer)
		}
	})
}
