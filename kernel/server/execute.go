package server

import (
	"context"
	"errors"

	"counterpoise/kernel/wire"
)

// stateLost is what a person is told when the evaluator had to be started anew
// and the cell itself has no error that says so.
const stateLost = "The process that runs the cells was started anew: variables, functions and types of earlier cells are gone. Run the cells above again.\n"

func (s *Server) execute(r *request) error {
	var c wire.ExecuteRequest
	if err := decode(r, &c); err != nil {
		return err
	}
	if c.Code == nil {
		return errors.New("execute_request lacks code")
	}
	ctx, ok := s.begin(r)
	if !ok {
		s.replyAborted(r)
		return nil
	}
	defer s.rest()

	store := !c.Silent && (c.StoreHistory == nil || *c.StoreHistory)
	number := s.count + 1
	if store {
		s.count = number
	}
	if !c.Silent {
		s.publish(r.Message, "execute_input", map[string]any{"code": *c.Code, "execution_count": number})
	}
	out := &output{server: s, request: r, silent: c.Silent, input: c.AllowStdin}
	result := s.evaluator.Execute(ctx, Cell{
		Code:       *c.Code,
		Number:     number,
		Silent:     c.Silent,
		AllowInput: c.AllowStdin,
		Evaluate:   c.UserExpressions,
	}, out)
	out.ended()
	if result.Lost && result.Fault == nil {
		out.Stream("stderr", stateLost)
	}
	s.conclude(r, c, out, result, number, store)
	return nil
}

// conclude shows the result or the error of a cell, and replies.
func (s *Server) conclude(r *request, c wire.ExecuteRequest, out *output, result Result, number int, store bool) {
	out.flush(true)
	text := ""
	if result.Fault == nil && result.Value != nil && !c.Silent {
		d := displayContent(*result.Value, "")
		d.ExecutionCount = number
		text, _ = d.Data["text/plain"].(string)
		s.publish(r.Message, "execute_result", d)
	}
	if store {
		s.history.add(entry{number, *c.Code, text})
	}
	if result.Fault == nil {
		s.reply(r, "execute_reply", wire.ExecuteReply{
			Status:          "ok",
			ExecutionCount:  s.count,
			Payload:         []any{},
			UserExpressions: userExpressions(result.Values),
		})
		return
	}
	fault := errorContent(*result.Fault)
	if !c.Silent {
		s.publish(r.Message, "error", fault)
	}
	fault.Status = "error"
	if c.StopOnError == nil || *c.StopOnError {
		s.abortWaiting()
	}
	s.reply(r, "execute_reply", wire.ErrorReply{
		Error:           fault,
		ExecutionCount:  s.count,
		Payload:         []any{},
		UserExpressions: map[string]any{},
	})
}

// begin makes the context of the next cell, unless it has been aborted.
func (s *Server) begin(r *request) (context.Context, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if r.number <= s.abort {
		return nil, false
	}
	ctx, stop := context.WithCancel(s.quit)
	s.stop = stop
	return ctx, true
}

// rest is said when nothing can be interrupted any more.
func (s *Server) rest() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.stop()
	s.stop = nil
}

// abortWaiting marks the cells received so far, and no later ones.
func (s *Server) abortWaiting() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.abort = s.received
}

func (s *Server) replyAborted(r *request) {
	s.reply(r, "execute_reply", wire.ExecuteReply{
		Status:          "aborted",
		ExecutionCount:  s.count,
		Payload:         []any{},
		UserExpressions: map[string]any{},
	})
}

func errorContent(f Fault) wire.Error {
	traceback := f.Traceback
	if len(traceback) == 0 {
		traceback = []string{f.Name + ": " + f.Value}
	}
	name := f.Name
	if name == "" {
		name = "Error"
	}
	return wire.Error{Name: name, Value: f.Value, Traceback: traceback}
}

func userExpressions(values map[string]UserValue) map[string]any {
	all := map[string]any{}
	for name, v := range values {
		if v.Fault != nil {
			e := errorContent(*v.Fault)
			e.Status = "error"
			all[name] = e
			continue
		}
		d := displayContent(v.Bundle, "")
		all[name] = map[string]any{"status": "ok", "data": d.Data, "metadata": d.Metadata}
	}
	return all
}
