package server

import (
	"encoding/json"
	"maps"
	"sync"

	"counterpoise/kernel/wire"
)

// comms keeps the open comms: id to target.
type comms struct {
	mu   sync.Mutex
	open map[string]string
}

func (c *comms) set(id, target string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.open[id] = target
}

func (c *comms) remove(id string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	delete(c.open, id)
}

func (c *comms) has(id string) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	_, ok := c.open[id]
	return ok
}

func (c *comms) all() map[string]string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return maps.Clone(c.open)
}

func (s *Server) commInfo(r *request) error {
	var c struct {
		Target *string `json:"target_name"`
	}
	if err := decode(r, &c); err != nil {
		return err
	}
	found := map[string]any{}
	for id, target := range s.comms.all() {
		if c.Target == nil || *c.Target == "" || *c.Target == target {
			found[id] = map[string]string{"target_name": target}
		}
	}
	s.reply(r, "comm_info_reply", map[string]any{"status": "ok", "comms": found})
	return nil
}

// commMessage takes comm_open, comm_msg and comm_close from a front end.
func (s *Server) commMessage(r *request) error {
	var c wire.Comm
	if err := decode(r, &c); err != nil {
		return err
	}
	kind := r.Header.Type[len("comm_"):]
	if kind != "open" && !s.comms.has(c.ID) {
		return nil // an unknown id is ignored
	}
	m := CommMessage{Kind: kind, ID: c.ID, Target: c.Target, Data: c.Data, Buffers: r.Buffers}
	if json.Unmarshal(r.Metadata, &m.Metadata) != nil {
		m.Metadata = nil
	}
	if !s.handleComm(r, m) && kind == "open" {
		s.sendComm(r, CommMessage{Kind: "close", ID: c.ID})
	}
	return nil
}

// handleComm gives a message to the evaluator, if it takes any. A handler can
// be interrupted like a cell.
func (s *Server) handleComm(r *request, m CommMessage) bool {
	h, ok := s.evaluator.(CommHandler)
	if !ok {
		return false
	}
	switch m.Kind {
	case "open":
		s.comms.set(m.ID, m.Target)
	case "close":
		s.comms.remove(m.ID)
	}
	ctx, done := s.interruptible()
	defer done()
	out := &output{server: s, request: r}
	known := h.HandleComm(ctx, m, out)
	out.ended()
	out.flush(true)
	if !known && m.Kind == "open" {
		s.comms.remove(m.ID)
	}
	return known
}

// sendComm publishes a comm message of the kernel's own.
func (s *Server) sendComm(r *request, m CommMessage) {
	content := wire.Comm{ID: m.ID, Data: m.Data}
	if content.Data == nil {
		content.Data = map[string]any{}
	}
	switch m.Kind {
	case "open":
		content.Target = m.Target
		s.comms.set(m.ID, m.Target)
	case "close":
		s.comms.remove(m.ID)
	}
	kind := "comm_" + m.Kind
	message := &wire.Message{
		Identities: [][]byte{[]byte("kernel." + s.options.Sender.Session() + "." + kind)},
		Buffers:    m.Buffers,
	}
	if raw, err := json.Marshal(m.Metadata); err == nil && m.Metadata != nil {
		message.Metadata = raw
	}
	s.sendMessage(wire.IOPub, message, r.Message, kind, content)
}
