package server

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"counterpoise/kernel/wire"

	"github.com/google/go-cmp/cmp"
)

// The expectations in this file are rules of Jupyter's messaging protocol 5.5:
// https://jupyter-client.readthedocs.io/en/stable/messaging.html, sections
// "Messages on the shell (ROUTER/DEALER) channel", "Kernel status" and
// "Messages on the control channel".

type cells = map[string]func(context.Context, Cell, Output) Result

func TestOrderOfACell(t *testing.T) {
	b := newBench(t, &script{cells: cells{"all": func(_ context.Context, _ Cell, out Output) Result {
		out.Stream("stdout", "a")
		out.Stream("stdout", "b")
		out.Stream("stderr", "c")
		out.Display(*plain("shown"), "d1", false)
		out.Display(*plain("again"), "d1", true)
		out.Stream("stdout", "d")
		out.ClearOutput(true)
		out.Stream("stdout", "e")
		return Result{Value: plain("7")}
	}}})
	o := b.run("all", nil)
	want := []string{"busy", "execute_input", "stream", "stream", "display_data", "update_display_data", "stream", "clear_output", "stream", "execute_result", "idle"}
	if diff := cmp.Diff(want, o.kinds()); diff != "" {
		t.Error(diff)
	}
	var contents []string
	for _, s := range o.iopub {
		contents = append(contents, s.rawContent)
	}
	wantContents := []string{
		`{"execution_state":"busy"}`,
		`{"code":"all","execution_count":1}`,
		`{"name":"stdout","text":"ab"}`,
		`{"name":"stderr","text":"c"}`,
		`{"data":{"text/plain":"shown"},"metadata":{},"transient":{"display_id":"d1"}}`,
		`{"data":{"text/plain":"again"},"metadata":{},"transient":{"display_id":"d1"}}`,
		`{"name":"stdout","text":"d"}`,
		`{"wait":true}`,
		`{"name":"stdout","text":"e"}`,
		`{"data":{"text/plain":"7"},"metadata":{},"transient":{},"execution_count":1}`,
		`{"execution_state":"idle"}`,
	}
	if diff := cmp.Diff(wantContents, contents); diff != "" {
		t.Error(diff)
	}
	wantReply := `{"status":"ok","execution_count":1,"payload":[],"user_expressions":{}}`
	if o.reply.rawContent != wantReply || o.reply.kind != "execute_reply" || o.reply.to != "client" || o.reply.channel != wire.Shell {
		t.Errorf("reply %+v", *o.reply)
	}
}

func TestHeaders(t *testing.T) {
	b := newBench(t, &script{})
	b.server.Start()
	o := b.run("1", nil)
	all := b.await("messages", func([]sent) bool { return true })
	seen := map[string]bool{}
	for _, s := range all {
		if seen[s.id] {
			t.Errorf("message id %s comes twice", s.id)
		}
		seen[s.id] = true
		if s.session != b.server.options.Sender.Session() {
			t.Errorf("session %s", s.session)
		}
	}
	// The request's header comes back byte for byte, with fields unknown here.
	if want := `{ "msg_id":"q1","msg_type":"execute_request","subshell_id":null}`; o.reply.parentRaw != want {
		t.Errorf("parent %s", o.reply.parentRaw)
	}
	if all[0].rawContent != `{"execution_state":"starting"}` || all[0].parentRaw != "{}" {
		t.Errorf("first message %+v", all[0])
	}
	for _, s := range o.iopub {
		if !strings.HasSuffix(s.to, "."+s.kind) {
			t.Errorf("topic %s of %s", s.to, s.kind)
		}
	}
}

func TestEveryRequestIsBusyThenIdle(t *testing.T) {
	b := newBench(t, &script{})
	code := map[string]any{"code": "x", "cursor_pos": 1}
	for _, tt := range []struct {
		channel wire.Channel
		kind    string
		content any
		reply   string // "" for none
	}{
		{wire.Shell, "kernel_info_request", map[string]any{}, "kernel_info_reply"},
		{wire.Control, "kernel_info_request", map[string]any{}, "kernel_info_reply"},
		{wire.Shell, "execute_request", code, "execute_reply"},
		{wire.Shell, "complete_request", code, "complete_reply"},
		{wire.Shell, "inspect_request", code, "inspect_reply"},
		{wire.Shell, "is_complete_request", code, "is_complete_reply"},
		{wire.Shell, "comm_info_request", map[string]any{}, "comm_info_reply"},
		{wire.Shell, "history_request", map[string]any{"hist_access_type": "tail", "n": 1}, "history_reply"},
		{wire.Control, "interrupt_request", map[string]any{}, "interrupt_reply"},
		{wire.Shell, "no_such_request", map[string]any{}, ""},
		{wire.Control, "debug_request", map[string]any{}, ""},
		{wire.Control, "create_subshell_request", map[string]any{}, ""},
		{wire.Shell, "comm_msg", map[string]any{"comm_id": "none", "data": map[string]any{}}, ""},
	} {
		id := b.ask(tt.channel, tt.kind, tt.content)
		o := b.of(id, tt.reply != "")
		if diff := cmp.Diff([]string{"busy", "idle"}, without(o.kinds(), "execute_input")); diff != "" {
			t.Errorf("%s on %v: %s", tt.kind, tt.channel, diff)
		}
		switch {
		case tt.reply == "" && o.reply != nil:
			t.Errorf("%s is answered: %s", tt.kind, o.reply.rawContent)
		case tt.reply != "" && (o.reply.kind != tt.reply || o.reply.channel != tt.channel):
			t.Errorf("%s on %v: %s on %v", tt.kind, tt.channel, o.reply.kind, o.reply.channel)
		}
	}
}

func without(all []string, word string) []string {
	var rest []string
	for _, w := range all {
		if w != word {
			rest = append(rest, w)
		}
	}
	return rest
}

func TestUnreadableRequests(t *testing.T) {
	b := newBench(t, &script{})
	for kind, contents := range map[string][]any{
		"execute_request":  {map[string]any{}, map[string]any{"code": 3}, map[string]any{"code": "x", "user_expressions": []int{1}}},
		"complete_request": {map[string]any{}, map[string]any{"code": 3, "cursor_pos": "x"}},
		"inspect_request":  {map[string]any{"code": "x", "cursor_pos": 1e300}},
		"history_request":  {map[string]any{"hist_access_type": "all"}},
		"shutdown_request": {map[string]any{"restart": "yes"}},
	} {
		for _, content := range contents {
			o := b.of(b.ask(wire.Shell, kind, content), true)
			if o.status() != "error" || o.reply.content["ename"] == "" || o.reply.content["traceback"] == nil {
				t.Errorf("%s %v: %s", kind, content, o.reply.rawContent)
			}
		}
	}
	if o := b.run("1", nil); o.status() != "ok" {
		t.Errorf("afterwards: %s", o.reply.rawContent)
	}
}

func TestCounting(t *testing.T) {
	e := &script{cells: cells{"bad": fails, "7": gives("7")}}
	b := newBench(t, e)
	for _, tt := range []struct {
		code  string
		flags map[string]any
		count int
	}{
		{"7", nil, 1},
		{"7", map[string]any{"store_history": false}, 1},
		{"bad", nil, 2},
		{"7", map[string]any{"silent": true}, 2},
		{"7", map[string]any{"silent": true, "store_history": true}, 2},
		{"7", nil, 3},
	} {
		if o := b.run(tt.code, tt.flags); o.count() != tt.count {
			t.Errorf("%s %v: count %d, want %d", tt.code, tt.flags, o.count(), tt.count)
		}
	}
}

func TestSilent(t *testing.T) {
	b := newBench(t, &script{cells: cells{"loud": func(_ context.Context, c Cell, out Output) Result {
		if !c.Silent {
			t.Error("the evaluator is not told")
		}
		out.Stream("stdout", "x")
		out.Display(*plain("x"), "", false)
		return Result{Value: plain("x")}
	}, "bad": fails}})
	for code, want := range map[string]string{"loud": "ok", "bad": "error"} {
		o := b.run(code, map[string]any{"silent": true})
		if diff := cmp.Diff([]string{"busy", "idle"}, o.kinds()); diff != "" || o.status() != want {
			t.Errorf("%s: %s %s", code, o.status(), diff)
		}
	}
}

func TestError(t *testing.T) {
	b := newBench(t, &script{cells: cells{"bad": fails, "worse": func(context.Context, Cell, Output) Result { panic("inside the kernel") },
		"bare": func(context.Context, Cell, Output) Result { return Result{Fault: &Fault{Value: "nothing known"}} }}})
	o := b.run("bad", nil)
	if diff := cmp.Diff([]string{"busy", "execute_input", "error", "idle"}, o.kinds()); diff != "" {
		t.Error(diff)
	}
	wantError := `{"ename":"Panic","evalue":"stop","traceback":["cell 1:2:3","Panic: stop"]}`
	if got := o.iopub[2].rawContent; got != wantError {
		t.Errorf("error %s", got)
	}
	wantReply := `{"status":"error","ename":"Panic","evalue":"stop","traceback":["cell 1:2:3","Panic: stop"],"execution_count":1,"payload":[],"user_expressions":{}}`
	if o.reply.rawContent != wantReply {
		t.Errorf("reply %s", o.reply.rawContent)
	}
	for _, code := range []string{"worse", "bare"} {
		o := b.run(code, nil)
		if o.status() != "error" || o.reply.content["ename"] == "" || len(o.reply.content["traceback"].([]any)) == 0 {
			t.Errorf("%s: %s", code, o.reply.rawContent)
		}
	}
	if o := b.run("1", nil); o.status() != "ok" {
		t.Errorf("afterwards: %s", o.reply.rawContent)
	}
}

// gate is a cell that says when it runs and ends when it is let go.
func gate(then Result) (cell func(context.Context, Cell, Output) Result, running, open chan struct{}) {
	running, open = make(chan struct{}), make(chan struct{})
	return func(ctx context.Context, _ Cell, _ Output) Result {
		close(running)
		select {
		case <-open:
			return then
		case <-ctx.Done():
			return Result{Fault: &Fault{Name: "Interrupted", Value: "interrupted"}}
		}
	}, running, open
}

func TestStopOnError(t *testing.T) {
	for _, stop := range []bool{true, false} {
		cell, running, open := gate(Result{Fault: &Fault{Name: "Panic", Value: "stop"}})
		b := newBench(t, &script{cells: cells{"slow": cell}})
		first := b.ask(wire.Shell, "execute_request", map[string]any{"code": "slow", "stop_on_error": stop})
		<-running
		var waiting []string
		for range 3 {
			waiting = append(waiting, b.ask(wire.Shell, "execute_request", map[string]any{"code": "1"}))
		}
		other := b.ask(wire.Shell, "is_complete_request", map[string]any{"code": "1"})
		close(open)
		want := "ok"
		if stop {
			want = "aborted"
		}
		for _, id := range waiting {
			o := b.of(id, true)
			if o.status() != want {
				t.Errorf("stop_on_error %v: a waiting cell is %s", stop, o.status())
			}
			if diff := cmp.Diff([]string{"busy", "idle"}, without(o.kinds(), "execute_input")); diff != "" {
				t.Error(diff)
			}
		}
		if o := b.of(other, true); o.status() != "complete" {
			t.Errorf("another request is %s", o.status())
		}
		if o := b.of(first, true); o.status() != "error" {
			t.Errorf("the cell itself is %s", o.status())
		}
		if o := b.run("1", nil); o.status() != "ok" {
			t.Errorf("a cell sent after the reply is %s", o.status())
		}
	}
}

func TestInterruptAndControlWhileBusy(t *testing.T) {
	cell, running, _ := gate(Result{})
	b := newBench(t, &script{cells: cells{"loop": cell}})
	loop := b.ask(wire.Shell, "execute_request", map[string]any{"code": "loop"})
	<-running
	queued := b.ask(wire.Shell, "execute_request", map[string]any{"code": "1"})
	if o := b.of(b.ask(wire.Control, "kernel_info_request", map[string]any{}), true); o.status() != "ok" {
		t.Errorf("kernel_info on control: %s", o.reply.rawContent)
	}
	if o := b.of(b.ask(wire.Control, "interrupt_request", map[string]any{}), true); o.reply.rawContent != `{"status":"ok"}` {
		t.Errorf("interrupt: %s", o.reply.rawContent)
	}
	if o := b.of(loop, true); o.status() != "error" || o.reply.content["ename"] != "Interrupted" {
		t.Errorf("the loop: %s", o.reply.rawContent)
	}
	if o := b.of(queued, true); o.status() != "aborted" {
		t.Errorf("the cell behind it: %s", o.reply.rawContent)
	}
	b.of(b.ask(wire.Control, "interrupt_request", map[string]any{}), true) // with nothing to interrupt
	if o := b.run("1", nil); o.status() != "ok" {
		t.Errorf("afterwards: %s", o.reply.rawContent)
	}
}

func TestShutdown(t *testing.T) {
	for _, channel := range []wire.Channel{wire.Control, wire.Shell} {
		for _, restart := range []bool{true, false} {
			cell, running, _ := gate(Result{})
			b := newBench(t, &script{cells: cells{"loop": cell}})
			b.ask(wire.Shell, "execute_request", map[string]any{"code": "loop"})
			<-running
			o := b.of(b.ask(channel, "shutdown_request", map[string]any{"restart": restart}), true)
			want := fmt.Sprintf(`{"restart":%v,"status":"ok"}`, restart)
			if o.reply.kind != "shutdown_reply" || o.reply.rawContent != want {
				t.Errorf("reply %s", o.reply.rawContent)
			}
			if diff := cmp.Diff([]string{"busy", "shutdown_reply", "idle"}, o.kinds()); diff != "" {
				t.Error(diff)
			}
			select {
			case <-b.server.Done():
			case <-time.After(20 * time.Second):
				t.Error("the server does not end")
			}
		}
	}
}

func TestUserExpressions(t *testing.T) {
	b := newBench(t, &script{cells: cells{"x": func(_ context.Context, c Cell, _ Output) Result {
		if diff := cmp.Diff(map[string]string{"good": "a", "bad": "b"}, c.Evaluate); diff != "" {
			t.Error(diff)
		}
		return Result{Values: map[string]UserValue{"good": {Bundle: *plain("1")}, "bad": {Fault: &Fault{Name: "TypeError", Value: "undefined: b"}}}}
	}}})
	o := b.run("x", map[string]any{"user_expressions": map[string]string{"good": "a", "bad": "b"}})
	want := map[string]any{
		"good": map[string]any{"status": "ok", "data": map[string]any{"text/plain": "1"}, "metadata": map[string]any{}},
		"bad":  map[string]any{"status": "error", "ename": "TypeError", "evalue": "undefined: b", "traceback": []any{"TypeError: undefined: b"}},
	}
	if diff := cmp.Diff(want, o.reply.content["user_expressions"]); diff != "" || o.status() != "ok" {
		t.Error(o.status(), diff)
	}
}

func TestLateOutputKeepsItsCell(t *testing.T) {
	later := make(chan Output, 1)
	b := newBench(t, &script{cells: cells{"start": func(_ context.Context, _ Cell, out Output) Result {
		later <- out
		return Result{}
	}}})
	first := b.ask(wire.Shell, "execute_request", map[string]any{"code": "start"})
	b.of(first, true)
	b.run("1", nil)
	out := <-later
	out.Stream("stdout", "late\n")
	out.Display(*plain("late too"), "", false)
	b.await("late output", func(all []sent) bool {
		n := 0
		for _, s := range all {
			if (s.kind == "stream" || s.kind == "display_data") && s.parent == first {
				n++
			}
		}
		return n == 2
	})
	if _, err := out.Input(context.Background(), "?", false); err == nil {
		t.Error("a cell that has ended may ask")
	}
}

// Ten thousand lines arrive whole and in order, in few messages, and no
// character is cut in two.
func TestManyLines(t *testing.T) {
	var want strings.Builder
	for i := range 10_000 {
		fmt.Fprintf(&want, "line %d is θ\n", i)
	}
	b := newBench(t, &script{cells: cells{"print": func(_ context.Context, _ Cell, out Output) Result {
		for text := want.String(); text != ""; { // in pieces of 7 bytes
			n := min(7, len(text))
			out.Stream("stdout", text[:n])
			text = text[n:]
		}
		return Result{}
	}}})
	o := b.run("print", nil)
	var got strings.Builder
	messages := 0
	for _, s := range o.iopub {
		if s.kind == "stream" {
			messages++
			got.WriteString(s.content["text"].(string))
		}
	}
	if got.String() != want.String() {
		t.Errorf("%d bytes of %d, or in another order", got.Len(), want.Len())
	}
	if messages > 100 {
		t.Errorf("%d messages", messages)
	}
}

func TestStdin(t *testing.T) {
	b := newBench(t, &script{cells: cells{"ask": func(ctx context.Context, _ Cell, out Output) Result {
		text, err := out.Input(ctx, "which bird? ", true)
		if err != nil {
			return Result{Fault: &Fault{Name: "Input", Value: err.Error()}}
		}
		return Result{Value: plain(text)}
	}}})
	question := func(cell string) sent {
		var q sent
		b.await("input_request", func(all []sent) bool {
			for _, s := range all {
				if s.kind == "input_request" && s.parent == cell {
					q = s
				}
			}
			return q.id != ""
		})
		return q
	}
	reply := func(parent, value string) {
		b.server.Handle(wire.Stdin, &wire.Message{
			Header:  wire.Header{ID: "r" + parent + value, Type: "input_reply"},
			Parent:  []byte(parent),
			Content: fmt.Appendf(nil, `{"value":%q,"status":"ok"}`, value),
		})
	}
	for _, named := range []bool{true, false} { // some clients name no parent
		cell := b.ask(wire.Shell, "execute_request", map[string]any{"code": "ask", "allow_stdin": true})
		q := question(cell)
		if q.rawContent != `{"password":true,"prompt":"which bird? "}` || q.to != "client" || q.channel != wire.Stdin {
			t.Errorf("question %+v", q)
		}
		reply(`{"msg_id":"an older question"}`, "egret")
		if named {
			reply(fmt.Sprintf(`{"msg_id":%q}`, q.id), "heron")
		} else {
			reply("{}", "heron")
		}
		reply("{}", "a second answer")
		o := b.of(cell, true)
		if o.status() != "ok" || o.iopub[2].content["data"].(map[string]any)["text/plain"] != "heron" {
			t.Errorf("%s: %s", o.reply.rawContent, describe(o.iopub))
		}
	}
	if o := b.run("ask", nil); o.status() != "error" {
		t.Errorf("without leave: %s", o.reply.rawContent)
	}
	cell := b.ask(wire.Shell, "execute_request", map[string]any{"code": "ask", "allow_stdin": true})
	question(cell)
	b.ask(wire.Control, "interrupt_request", map[string]any{})
	if o := b.of(cell, true); o.status() != "error" || !strings.Contains(o.reply.rawContent, context.Canceled.Error()) {
		t.Errorf("interrupted while it asks: %s", o.reply.rawContent)
	}
}

func TestLostState(t *testing.T) {
	b := newBench(t, &script{cells: cells{"x": func(context.Context, Cell, Output) Result { return Result{Value: plain("1"), Lost: true} }}})
	o := b.run("x", nil)
	if diff := cmp.Diff([]string{"busy", "execute_input", "stream", "execute_result", "idle"}, o.kinds()); diff != "" {
		t.Fatal(diff)
	}
	if o.iopub[2].content["name"] != "stderr" || !strings.Contains(o.iopub[2].rawContent, "are gone") {
		t.Errorf("told as %s", o.iopub[2].rawContent)
	}
}

// A client that has gone costs nothing but its messages.
func TestSendFails(t *testing.T) {
	e := &script{}
	s := New(e, Options{Sender: wire.NewSender(), Send: func(wire.Channel, *wire.Message) error { return errors.New("nobody there") }})
	defer s.Close()
	s.Handle(wire.Shell, &wire.Message{Header: wire.Header{ID: "1", Type: "execute_request"}, RawHeader: []byte(`{"msg_id":"1"}`), Content: []byte(`{"code":"1"}`)})
	s.Handle(wire.Control, &wire.Message{Header: wire.Header{ID: "2", Type: "shutdown_request"}, RawHeader: []byte(`{"msg_id":"2"}`), Content: []byte(`{}`)})
	<-s.Done()
}
