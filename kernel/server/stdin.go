package server

import (
	"context"
	"encoding/json"
	"sync"

	"counterpoise/kernel/wire"
)

// stdin keeps the questions that wait for an answer, by the msg_id of the
// input_request.
type stdin struct {
	mu      sync.Mutex
	waiting map[string]chan string
}

// askInput sends a question to the client whose request runs and waits.
func (s *Server) askInput(ctx context.Context, r *request, prompt string, password bool) (string, error) {
	answer := make(chan string, 1)
	s.stdin.mu.Lock()
	id := s.sendMessage(wire.Stdin, &wire.Message{Identities: r.Identities}, r.Message, "input_request",
		map[string]any{"prompt": prompt, "password": password})
	s.stdin.waiting[id] = answer
	s.stdin.mu.Unlock()
	defer func() {
		s.stdin.mu.Lock()
		delete(s.stdin.waiting, id)
		s.stdin.mu.Unlock()
	}()
	select {
	case text := <-answer:
		return text, nil
	case <-ctx.Done():
		return "", ctx.Err()
	case <-s.quit.Done():
		return "", errNoAnswer
	}
}

// answerInput takes an input_reply. Some clients name no parent in it: then it
// answers the only question there is.
func (s *Server) answerInput(m *wire.Message) {
	var c struct {
		Value *string `json:"value"`
	}
	if m.Header.Type != "input_reply" || json.Unmarshal(m.Content, &c) != nil || c.Value == nil {
		return
	}
	s.stdin.mu.Lock()
	defer s.stdin.mu.Unlock()
	id := m.ParentID()
	if id == "" && len(s.stdin.waiting) == 1 {
		for id = range s.stdin.waiting {
		}
	}
	if waiting, ok := s.stdin.waiting[id]; ok {
		select {
		case waiting <- *c.Value:
		default: // answered already
		}
	}
}
