package server

import (
	"context"
	"encoding/base64"
	"fmt"
	"testing"

	"counterpoise/kernel/wire"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// Offsets count code points, whatever the characters take in bytes or UTF-16.
func TestComplete(t *testing.T) {
	b := newBench(t, &script{})
	for _, tt := range []struct {
		code string
		pos  any
		want string
	}{
		{"fmt.Print", 9, `{"status":"ok","matches":["Println"],"cursor_start":4,"cursor_end":9,"metadata":{"_jupyter_types_experimental":[{"start":4,"end":9,"text":"Println","type":"function","signature":"(a ...any)"}]}}`},
		{"θ := 𝐚; Print", 13, `{"status":"ok","matches":["Println"],"cursor_start":8,"cursor_end":13,"metadata":{"_jupyter_types_experimental":[{"start":8,"end":13,"text":"Println","type":"function","signature":"(a ...any)"}]}}`},
		{"none", 4, `{"status":"ok","matches":[],"cursor_start":4,"cursor_end":4,"metadata":{"_jupyter_types_experimental":[]}}`},
		{"ab", 99, `{"status":"ok","matches":["abln"],"cursor_start":0,"cursor_end":2,"metadata":{"_jupyter_types_experimental":[{"start":0,"end":2,"text":"abln","type":"function","signature":"(a ...any)"}]}}`},
		{"ab", -1, `{"status":"ok","matches":["ln"],"cursor_start":0,"cursor_end":0,"metadata":{"_jupyter_types_experimental":[{"start":0,"end":0,"text":"ln","type":"function","signature":"(a ...any)"}]}}`},
		{"ab", nil, `{"status":"ok","matches":["abln"],"cursor_start":0,"cursor_end":2,"metadata":{"_jupyter_types_experimental":[{"start":0,"end":2,"text":"abln","type":"function","signature":"(a ...any)"}]}}`},
	} {
		o := b.of(b.ask(wire.Shell, "complete_request", map[string]any{"code": tt.code, "cursor_pos": tt.pos}), true)
		if diff := cmp.Diff(tt.want, o.reply.rawContent); diff != "" {
			t.Errorf("%q at %v: %s", tt.code, tt.pos, diff)
		}
	}
}

func TestOffsetsThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String().Draw(t, "text")
		points := []rune(text)
		n := rapid.IntRange(0, len(points)).Draw(t, "n")
		at := byteOffset(text, n)
		if text[:at] != string(points[:n]) {
			t.Fatalf("code point %d is at byte %d", n, at)
		}
		if back := codePoints(text, at); back != n {
			t.Fatalf("code point %d is at byte %d, which is code point %d", n, at, back)
		}
	})
}

func TestInspect(t *testing.T) {
	b := newBench(t, &script{})
	for _, tt := range []struct {
		code   string
		detail int
		want   string
	}{
		{"heron", 0, `{"status":"ok","found":true,"data":{"text/plain":"a bird"},"metadata":{}}`},
		{"heron", 1, `{"status":"ok","found":true,"data":{"text/plain":"a bird on a pin"},"metadata":{}}`},
		{"egret", 0, `{"status":"ok","found":false,"data":{},"metadata":{}}`},
	} {
		o := b.of(b.ask(wire.Shell, "inspect_request", map[string]any{"code": tt.code, "cursor_pos": 5, "detail_level": tt.detail}), true)
		if o.reply.rawContent != tt.want {
			t.Errorf("%s at %d: %s", tt.code, tt.detail, o.reply.rawContent)
		}
	}
}

func TestIsComplete(t *testing.T) {
	b := newBench(t, &script{})
	for code, want := range map[string]string{
		"1":      `{"status":"complete"}`,
		"if x {": `{"status":"incomplete","indent":"\t"}`,
		"?":      `{"status":"unknown"}`,
	} {
		o := b.of(b.ask(wire.Shell, "is_complete_request", map[string]any{"code": code}), true)
		if o.reply.rawContent != want {
			t.Errorf("%q: %s", code, o.reply.rawContent)
		}
	}
}

func TestHistory(t *testing.T) {
	b := newBench(t, &script{cells: cells{"1+2": gives("3"), "bad": fails}})
	for _, code := range []string{"1+2", "bad", "a/b\nc", "1+2"} {
		b.run(code, nil)
	}
	b.run("unstored", map[string]any{"store_history": false})
	for _, tt := range []struct{ request, want string }{
		{`{"hist_access_type":"tail","n":2,"output":false}`, `[[1,3,"a/b\nc"],[1,4,"1+2"]]`},
		{`{"hist_access_type":"tail","n":2,"output":true}`, `[[1,3,["a/b\nc",null]],[1,4,["1+2","3"]]]`},
		{`{"hist_access_type":"tail","n":99}`, `[[1,1,"1+2"],[1,2,"bad"],[1,3,"a/b\nc"],[1,4,"1+2"]]`},
		{`{"hist_access_type":"tail","n":-1}`, `[]`},
		{`{"hist_access_type":"range","session":1,"start":2,"stop":4}`, `[[1,2,"bad"],[1,3,"a/b\nc"]]`},
		{`{"hist_access_type":"range","session":0,"start":4}`, `[[1,4,"1+2"]]`},
		{`{"hist_access_type":"range","session":7,"start":1,"stop":9}`, `[]`},
		{`{"hist_access_type":"search","pattern":"1?2*"}`, `[[1,1,"1+2"],[1,4,"1+2"]]`},
		{`{"hist_access_type":"search","pattern":"1?2*","unique":true}`, `[[1,4,"1+2"]]`},
		{`{"hist_access_type":"search","pattern":"*","n":1}`, `[[1,4,"1+2"]]`},
		{`{"hist_access_type":"search","pattern":"a*c"}`, `[[1,3,"a/b\nc"]]`},
		{`{"hist_access_type":"search","pattern":"["}`, `[]`},
	} {
		id := b.ask(wire.Shell, "history_request", rawJSON(tt.request))
		if o := b.of(id, true); o.reply.rawContent != `{"status":"ok","history":`+tt.want+`}` {
			t.Errorf("%s: %s", tt.request, o.reply.rawContent)
		}
	}
}

type rawJSON string

func (r rawJSON) MarshalJSON() ([]byte, error) { return []byte(r), nil }

func TestHistoryIsBounded(t *testing.T) {
	var h history
	for i := range maxHistory + 5 {
		h.add(entry{line: i + 1, input: fmt.Sprint(i)})
	}
	if len(h.entries) != maxHistory || h.entries[0].line != 6 {
		t.Errorf("%d entries from line %d", len(h.entries), h.entries[0].line)
	}
}

func TestBundles(t *testing.T) {
	png := []byte("\x89PNG\r\n")
	for _, tt := range []struct {
		data map[string]any
		want map[string]any
	}{
		{map[string]any{"image/png": png, "text/plain": "a dot"}, map[string]any{"image/png": base64.StdEncoding.EncodeToString(png), "text/plain": "a dot"}},
		{map[string]any{"image/svg+xml": []byte("<svg/>")}, map[string]any{"image/svg+xml": "<svg/>", "text/plain": "(image/svg+xml)"}},
		{map[string]any{"application/json": map[string]any{"a": 1}, "text/plain": ""}, map[string]any{"application/json": map[string]any{"a": 1.0}, "text/plain": ""}},
		{map[string]any{"application/json": func() {}}, map[string]any{"text/plain": "()"}},
	} {
		b := newBench(t, &script{cells: cells{"x": func(context.Context, Cell, Output) Result { return Result{Value: &Bundle{Data: tt.data}} }}})
		o := b.run("x", nil)
		if diff := cmp.Diff(tt.want, o.iopub[2].content["data"]); diff != "" {
			t.Error(diff)
		}
	}
}

func TestComms(t *testing.T) {
	var got []CommMessage
	e := &script{comm: func(_ context.Context, m CommMessage, out Output) bool {
		got = append(got, m)
		if m.Kind == "open" && m.Target != "toy" {
			return false
		}
		if m.Kind == "msg" {
			out.Comm(CommMessage{Kind: "msg", ID: m.ID, Data: map[string]any{"echo": m.Data}, Buffers: m.Buffers})
			out.Display(*plain("moved"), "plot", true)
		}
		return true
	}, cells: cells{"open": func(_ context.Context, _ Cell, out Output) Result {
		out.Comm(CommMessage{Kind: "open", ID: "ours", Target: "slider", Data: map[string]any{"v": 1}, Metadata: map[string]any{"version": "2"}})
		return Result{}
	}}}
	b := newBench(t, e)
	info := func(content string) string {
		return b.of(b.ask(wire.Shell, "comm_info_request", rawJSON(content)), true).reply.rawContent
	}
	if text := info(`{}`); text != `{"comms":{},"status":"ok"}` {
		t.Errorf("at first: %s", text)
	}
	o := b.of(b.ask(wire.Shell, "comm_open", rawJSON(`{"comm_id":"c1","target_name":"no.such","data":{}}`)), false)
	if diff := cmp.Diff([]string{"busy", "comm_close", "idle"}, o.kinds()); diff != "" || o.iopub[1].content["comm_id"] != "c1" {
		t.Error("unknown target: ", diff)
	}
	o = b.of(b.ask(wire.Shell, "comm_open", rawJSON(`{"comm_id":"c2","target_name":"toy","data":{"a":1}}`)), false)
	if diff := cmp.Diff([]string{"busy", "idle"}, o.kinds()); diff != "" {
		t.Error(diff)
	}
	o = b.run("open", nil)
	if o.iopub[2].kind != "comm_open" || o.iopub[2].rawContent != `{"comm_id":"ours","target_name":"slider","data":{"v":1}}` || o.iopub[2].metadata["version"] != "2" {
		t.Errorf("opened by a cell: %+v", o.iopub[2])
	}
	if text := info(`{}`); text != `{"comms":{"c2":{"target_name":"toy"},"ours":{"target_name":"slider"}},"status":"ok"}` {
		t.Errorf("open comms: %s", text)
	}
	if text := info(`{"target_name":"toy"}`); text != `{"comms":{"c2":{"target_name":"toy"}},"status":"ok"}` {
		t.Errorf("open toys: %s", text)
	}
	o = b.of(b.ask(wire.Shell, "comm_msg", rawJSON(`{"comm_id":"c2","data":{"x":2}}`)), false)
	if diff := cmp.Diff([]string{"busy", "comm_msg", "update_display_data", "idle"}, o.kinds()); diff != "" || o.iopub[1].rawContent != `{"comm_id":"c2","data":{"echo":{"x":2}}}` {
		t.Error("a message: ", diff, describe(o.iopub))
	}
	before := len(got)
	b.of(b.ask(wire.Shell, "comm_msg", rawJSON(`{"comm_id":"nobody","data":{}}`)), false)
	b.of(b.ask(wire.Shell, "comm_close", rawJSON(`{"comm_id":"c2","data":{}}`)), false)
	b.of(b.ask(wire.Shell, "comm_msg", rawJSON(`{"comm_id":"c2","data":{}}`)), false)
	if len(got) != before+1 || got[before].Kind != "close" {
		t.Errorf("after the end: %v", got[before:])
	}
	if text := info(`{"target_name":"toy"}`); text != `{"comms":{},"status":"ok"}` {
		t.Errorf("after the end: %s", text)
	}
}
