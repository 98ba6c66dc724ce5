package wire

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"strings"
)

// greetingLength is the length of a ZMTP 3 greeting.
const greetingLength = 64

// maxReady bounds the READY command of a peer: a socket type and an identity
// of at most 255 bytes.
const maxReady = 2048

var errGreeting = errors.New("peer does not greet as ZMTP 3 with the NULL mechanism does")

// greeting returns what a ZMTP 3.0 server with the NULL mechanism says first.
// Source: ZMTP 3.0, https://rfc.zeromq.org/spec/23/, "Version Negotiation".
func greeting() []byte {
	g := make([]byte, greetingLength)
	g[0], g[9], g[10] = 0xff, 0x7f, 3
	copy(g[12:], "NULL")
	return g
}

// shakeHands takes a client's greeting and READY command from r and checks
// them, so that nothing which cannot be parsed, or is not wanted, reaches the
// socket library. It returns the bytes read, for the library to read again.
func shakeHands(r io.Reader, wanted func(socketType string) bool) ([]byte, error) {
	taken := make([]byte, greetingLength, greetingLength+128)
	if _, err := io.ReadFull(r, taken); err != nil {
		return nil, err
	}
	if taken[0] != 0xff || taken[9] != 0x7f || taken[10] < 3 || taken[32] > 1 ||
		!bytes.Equal(bytes.TrimRight(taken[12:32], "\x00"), []byte("NULL")) {
		return nil, errGreeting
	}
	body, raw, err := readCommand(r)
	if err != nil {
		return nil, err
	}
	socketType, err := readyType(body)
	if err != nil {
		return nil, err
	}
	if !wanted(socketType) {
		return nil, fmt.Errorf("peer is a %.20q socket", socketType)
	}
	return append(taken, raw...), nil
}

// readCommand reads one command frame; raw is all of it.
func readCommand(r io.Reader) (body, raw []byte, err error) {
	head := make([]byte, 2, 9)
	if _, err := io.ReadFull(r, head); err != nil {
		return nil, nil, err
	}
	size := uint64(head[1])
	switch head[0] {
	case flagCommand:
	case flagCommand | flagLong:
		head = head[:9]
		if _, err := io.ReadFull(r, head[2:]); err != nil {
			return nil, nil, err
		}
		size = binary.BigEndian.Uint64(head[1:])
	default:
		return nil, nil, errFlags
	}
	if size > maxReady {
		return nil, nil, errTooLong
	}
	raw = append(head, make([]byte, size)...)
	body = raw[len(head):]
	_, err = io.ReadFull(r, body)
	return body, raw, err
}

// readyType reads a READY command's properties and returns the socket type.
func readyType(body []byte) (string, error) {
	bad := errors.New("peer's READY command cannot be read")
	rest, ok := bytes.CutPrefix(body, []byte("\x05READY"))
	if !ok {
		return "", bad
	}
	socketType := ""
	for len(rest) > 0 {
		n := int(rest[0])
		if n == 0 || len(rest) < 1+n+4 {
			return "", bad
		}
		name := string(rest[1 : 1+n])
		size := uint64(binary.BigEndian.Uint32(rest[1+n:]))
		rest = rest[1+n+4:]
		if uint64(len(rest)) < size {
			return "", bad
		}
		value := string(rest[:size])
		rest = rest[size:]
		switch strings.ToLower(name) {
		case "socket-type":
			socketType = value
		case "identity":
			if len(value) > 255 {
				return "", bad
			}
		}
	}
	return socketType, nil
}
