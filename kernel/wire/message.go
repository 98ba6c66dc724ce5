package wire

import (
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"sync/atomic"
	"time"

	"github.com/google/uuid"
)

// A Header says which message this is and who sent it.
type Header struct {
	ID       string `json:"msg_id"`
	Session  string `json:"session"`
	Username string `json:"username"`
	Date     string `json:"date"` // ISO 8601 with a zone
	Type     string `json:"msg_type"`
	Version  string `json:"version"`
}

// A Message is one message of any channel.
type Message struct {
	// Identities are the frames before the delimiter: the routing prefix of a
	// client, or the one topic frame of iopub.
	Identities [][]byte
	Header     Header
	// RawHeader is the header's bytes as received; a reply repeats them
	// verbatim as its parent, so that fields unknown here survive.
	RawHeader json.RawMessage
	Parent    json.RawMessage // parent_header; nil stands for {}
	Metadata  json.RawMessage // nil stands for {}
	Content   json.RawMessage
	Buffers   [][]byte
}

// ParentID returns the msg_id of the message that this one answers, or "".
func (m *Message) ParentID() string {
	var parent struct {
		ID string `json:"msg_id"`
	}
	if json.Unmarshal(m.Parent, &parent) != nil {
		return ""
	}
	return parent.ID
}

// A Sender makes the headers of one process: one session, each message id once.
type Sender struct {
	session string
	sent    atomic.Uint64
}

// NewSender returns a Sender with a session of its own.
func NewSender() *Sender { return &Sender{session: uuid.NewString()} }

// Session returns the session id.
func (s *Sender) Session() string { return s.session }

// Header returns a new header for a message of the given type.
func (s *Sender) Header(kind string) Header {
	return Header{
		ID:       s.session + "_" + strconv.FormatUint(s.sent.Add(1), 10),
		Session:  s.session,
		Username: "kernel",
		Date:     time.Now().UTC().Format("2006-01-02T15:04:05.000000Z07:00"),
		Type:     kind,
		Version:  ProtocolVersion,
	}
}

// parseHeader reads a received header. Only what a kernel needs must be there.
func parseHeader(raw []byte) (Header, error) {
	var h struct {
		ID      string `json:"msg_id"`
		Session string `json:"session"`
		Type    string `json:"msg_type"`
	}
	if err := json.Unmarshal(raw, &h); err != nil {
		return Header{}, fmt.Errorf("header: %w", err)
	}
	if h.ID == "" || h.Type == "" {
		return Header{}, errors.New("header lacks msg_id or msg_type")
	}
	return Header{ID: h.ID, Session: h.Session, Type: h.Type}, nil
}
