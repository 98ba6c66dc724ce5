package wire

import (
	"encoding/binary"
	"errors"
)

// Limits on what a peer may send before anything of it is believed.
const (
	// maxFrame bounds one frame. A notebook cell or a pasted image has some
	// megabytes at most; a browser's upload widget sends more, in pieces.
	maxFrame = 64 << 20
	// maxMessage bounds the frames of one message together.
	maxMessage = 128 << 20
	// maxFrames bounds their number: six, the identities, and some buffers.
	maxFrames = 1024
)

var (
	errTooLong = errors.New("frame or message is longer than a message may be")
	errFlags   = errors.New("not a ZMTP frame")
)

// Flags of a ZMTP frame. Source: ZMTP 3.0, https://rfc.zeromq.org/spec/23/,
// "Framing".
const (
	flagMore    = 1
	flagLong    = 2
	flagCommand = 4
)

// A framing follows the frames of one direction of a connection as their bytes
// go by, in pieces of any size.
type framing struct {
	header [9]byte
	have   int    // bytes of the header so far
	left   uint64 // bytes of the body to come
	inBody bool
	more   bool // the frame says that another follows

	frames int    // of this message so far
	total  uint64 // bytes of this message so far

	limited bool // enforce the limits above
	// start is the beginning of the first frame's body, kept up to its
	// capacity, for whoever wants to look at short messages.
	start []byte
}

// atBoundary reports whether the bytes so far are whole messages.
func (f *framing) atBoundary() bool { return !f.inBody && f.have == 0 && f.frames == 0 }

// feed follows p. whole is called after each complete message with the number
// of its frames, while start still holds the beginning of it.
func (f *framing) feed(p []byte, whole func(frames int)) error {
	for len(p) > 0 {
		if !f.inBody {
			f.header[f.have] = p[0]
			f.have++
			p = p[1:]
			if err := f.headerByte(); err != nil {
				return err
			}
		} else {
			n := min(uint64(len(p)), f.left)
			if f.frames == 0 {
				room := cap(f.start) - len(f.start)
				f.start = append(f.start, p[:min(int(n), room)]...)
			}
			p = p[n:]
			f.left -= n
		}
		if f.inBody && f.left == 0 {
			f.inBody, f.have = false, 0
			f.frames++
			if !f.more {
				if whole != nil {
					whole(f.frames)
				}
				f.frames, f.total, f.start = 0, 0, f.start[:0]
			}
		}
	}
	return nil
}

// headerByte looks at the header when a byte has been added to it.
func (f *framing) headerByte() error {
	flags := f.header[0]
	if flags&^(flagMore|flagLong|flagCommand) != 0 {
		return errFlags
	}
	var size uint64
	switch {
	case flags&flagLong == 0 && f.have == 2:
		size = uint64(f.header[1])
	case flags&flagLong != 0 && f.have == 9:
		size = binary.BigEndian.Uint64(f.header[1:])
	default:
		return nil
	}
	if f.limited && (size > maxFrame || f.total+size > maxMessage || f.frames >= maxFrames) {
		return errTooLong
	}
	f.total += size
	f.left, f.inBody, f.more = size, true, flags&flagMore != 0
	return nil
}

// appendFrames appends a whole message as ZMTP frames.
func appendFrames(dst []byte, frames [][]byte) []byte {
	for i, body := range frames {
		var flags byte
		if i < len(frames)-1 {
			flags = flagMore
		}
		if len(body) > 255 {
			dst = append(dst, flags|flagLong)
			dst = binary.BigEndian.AppendUint64(dst, uint64(len(body)))
		} else {
			dst = append(dst, flags, byte(len(body)))
		}
		dst = append(dst, body...)
	}
	return dst
}
