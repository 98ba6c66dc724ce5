package session

import (
	"context"
	"strings"
	"sync"
	"testing"

	"counterpoise/kernel/server"
)

// A recorder is an Output that keeps what it gets.
type recorder struct {
	mu       sync.Mutex
	text     strings.Builder
	errText  strings.Builder
	bundles  []server.Bundle
	ids      []string
	updates  []bool
	cleared  int
	answer   string
	prompted []string
}

func (r *recorder) Stream(name, text string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if name == "stderr" {
		r.errText.WriteString(text)
		return
	}
	r.text.WriteString(text)
}

func (r *recorder) Display(b server.Bundle, id string, update bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.bundles = append(r.bundles, b)
	r.ids = append(r.ids, id)
	r.updates = append(r.updates, update)
}

func (r *recorder) ClearOutput(bool) { r.mu.Lock(); r.cleared++; r.mu.Unlock() }

func (r *recorder) Input(_ context.Context, prompt string, _ bool) (string, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.prompted = append(r.prompted, prompt)
	return r.answer, nil
}

func (r *recorder) Comm(server.CommMessage) {}

func (r *recorder) String() string {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.text.String()
}

// notebook runs cells one after another.
type notebook struct {
	*Session
	t testing.TB
	n int
}

func open(t testing.TB) *notebook {
	s, err := New(Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return &notebook{Session: s, t: t}
}

func (nb *notebook) run(code string) (server.Result, *recorder) {
	nb.n++
	out := new(recorder)
	return nb.Execute(context.Background(), server.Cell{Code: code, Number: nb.n}, out), out
}

// plain returns what a cell printed and, behind it, its value as text.
func (nb *notebook) plain(code string) string {
	nb.t.Helper()
	r, out := nb.run(code)
	text := out.String()
	if r.Fault != nil {
		return text + "fault: " + r.Fault.Name + ": " + r.Fault.Value
	}
	if r.Value != nil {
		text += "= " + r.Value.Data["text/plain"].(string)
	}
	return text
}

func TestCells(t *testing.T) {
	nb := open(t)
	for _, tt := range []struct{ cell, want string }{
		{"1+2+3", "= 6"},
		{"[]int{1, 4, 9}", "= []int{1, 4, 9}"},
		{`"text"`, `= "text"`},
		{"import \"fmt\"\nfmt.Println(\"hello, world\")", "hello, world\n"},
		{"x := 3", ""},
		{"x", "= 3"},
		{"x := x + 1\nx", "= 4"},
		{"func f(n int) int { return n * x }\nfor i := range 3 {\n\tfmt.Println(f(i))\n}", "0\n4\n8\n"},
		{"fmt.Println(\"first\")\nx", "first\n= 4"},
		{"type P struct{ X, Y float64 }\nfunc (p P) Norm() float64 { return p.X*p.X + p.Y*p.Y }\np := P{3, 4}\np.Norm()", "= 25"},
		{"func (p P) String() string { return fmt.Sprintf(\"<%v %v>\", p.X, p.Y) }", ""},
		{"fmt.Printf(\"%v %T\\n\", p, p)", "<3 4> main.P\n"},
		{"type Q struct{ P; Name string }\nfunc (q *Q) Rename(s string) { q.Name = s }\nfunc (q Q) String() string { return \"Q:\" + q.Name }\nq := &Q{P{1,2}, \"a\"}\nq.Rename(\"b\")\nfmt.Println(q, *q, q.Norm(), []Q{*q})", "Q:b Q:b 5 [Q:b]\n"},
		{"noSuch + 1", "fault: TypeError: undefined: noSuch"},
		{"defer fmt.Println(\"deferred\")\nfmt.Println(\"body\")", "body\ndeferred\n"},
		{"m := map[string]int{\"a\": 1}\nm[\"b\"]++\nfmt.Println(m, len(m))", "map[a:1 b:1] 2\n"},
		{"z := 0\nw := 1\nfmt.Println(w / z)", "fault: RuntimeError: runtime error: integer divide by zero"},
		{"func safe() (err error) {\n\tdefer func() {\n\t\tif r := recover(); r != nil {\n\t\t\terr = fmt.Errorf(\"caught: %v\", r)\n\t\t}\n\t}()\n\tvar a []int\n\t_ = a[3]\n\treturn nil\n}\nfmt.Println(safe())", "caught: runtime error: index out of range [3] with length 0\n"},
		{"func Map[T, U any](s []T, f func(T) U) []U {\n\tvar r []U\n\tfor _, x := range s {\n\t\tr = append(r, f(x))\n\t}\n\treturn r\n}\nMap([]int{1, 2}, func(i int) string { return fmt.Sprint(i * 2) })", "= []string{\"2\", \"4\"}"},
		{"import \"sort\"\ns := []int{3, 1, 2}\nsort.Slice(s, func(i, j int) bool { return s[i] < s[j] })\ns", "= []int{1, 2, 3}"},
		{"ch := make(chan int)\ngo func() { defer close(ch); for i := range 3 { ch <- i } }()\nfor v := range ch { fmt.Print(v, \" \") }", "0 1 2 "},
	} {
		if got := nb.plain(tt.cell); got != tt.want {
			t.Errorf("%s\n got %q\nwant %q", tt.cell, got, tt.want)
		}
	}
}

func TestGenericPackages(t *testing.T) {
	nb := open(t)
	for _, tt := range []struct{ cell, want string }{
		{"import (\"slices\"; \"maps\"; \"fmt\"; \"cmp\"; \"iter\")\ns := []int{3, 1, 2}\nslices.Sort(s)\ns", "= []int{1, 2, 3}"},
		{"m := map[string]int{\"b\": 2, \"a\": 1}\nslices.Sorted(maps.Keys(m))", "= []string{\"a\", \"b\"}"},
		{"next, stop := iter.Pull(slices.Values(s))\nfor { v, ok := next(); if !ok { break }; fmt.Print(v, \" \") }\nstop()", "1 2 3 "},
		{"type P struct{ N string; A int }\nps := []P{{\"x\", 3}, {\"y\", 1}}\nslices.SortFunc(ps, func(a, b P) int { return cmp.Compare(a.A, b.A) })\nps", "= []P{{N: \"y\", A: 1}, {N: \"x\", A: 3}}"},
		{"import \"sync\"\nonce := sync.OnceValue(func() int { fmt.Print(\"once \"); return 7 })\nfmt.Println(once(), once())", "once 7 7\n"},
		{"import \"sync/atomic\"\nvar ap atomic.Pointer[P]\nap.Store(&ps[0])\nfmt.Println(ap.Load().N, ap.CompareAndSwap(&ps[0], nil), ap.Load())", "y true <nil>\n"},
		{"import \"errors\"\ntype E struct{ Code int }\nfunc (e *E) Error() string { return fmt.Sprint(\"code \", e.Code) }\nerr := fmt.Errorf(\"wrapped: %w\", &E{4})\ne, ok := errors.AsType[*E](err)\nfmt.Println(err, e.Code, ok)", "wrapped: code 4 4 true\n"},
		{"slices.Insert(s, 1, 9, 8)", "= []int{1, 9, 8, 2, 3}"},
	} {
		if got := nb.plain(tt.cell); got != tt.want {
			t.Errorf("%s\n got %q\nwant %q", tt.cell, got, tt.want)
		}
	}
}
