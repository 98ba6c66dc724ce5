package markpage

import (
	"context"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"counterpoise/worksheets/build"
	"counterpoise/worksheets/marking"
	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/source"
)

const sheet = "---\ntitle: Why it comes back\n---\n\nInvented, for a test.\n\n```question\nname: why\nkind: prose\nask: Why does the heron come back?\npoints:\n  - {text: a tilt raises its centre of gravity, marks: 2}\nmarks: 2\n```\n"

// marked makes a folder of results with one answer that holds markup.
func marked(t *testing.T) (string, *build.KeyFile) {
	t.Helper()
	s, err := source.Read([]byte(sheet), "heron/worksheet.md")
	if err != nil {
		t.Fatal(err)
	}
	nb, key, err := build.Build(s, build.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i := range nb.Cells {
		if strings.HasPrefix(nb.Cells[i].Source, "//worksheet:answer why") {
			nb.Cells[i].Source += "<script>alert(1)</script> because"
		}
	}
	scripts, to := t.TempDir(), filepath.Join(t.TempDir(), "marked")
	if err := notebook.WriteFile(filepath.Join(scripts, "one.ipynb"), nb); err != nil {
		t.Fatal(err)
	}
	if err := marking.Run(context.Background(), marking.Job{Folder: scripts, Key: key, Policy: marking.DefaultPolicy(), To: to}); err != nil {
		t.Fatal(err)
	}
	return to, key
}

func TestOnlyTheRightAddressIsAnswered(t *testing.T) {
	to, key := marked(t)
	board, err := marking.OpenBoard(to, key)
	if err != nil {
		t.Fatal(err)
	}
	s, err := Listen(board, "Why it comes back")
	if err != nil {
		t.Fatal(err)
	}
	s.By = "A\"B"
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx) }()
	defer func() {
		stop()
		if err := <-ended; err != nil {
			t.Error(err)
		}
	}()
	ask := func(method, url, body, origin, host string) (int, string, http.Header) {
		t.Helper()
		r, err := http.NewRequest(method, url, strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		if origin != "" {
			r.Header.Set("Origin", origin)
		}
		if host != "" {
			r.Host = host
		}
		answer, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer answer.Body.Close()
		text, err := io.ReadAll(answer.Body)
		if err != nil {
			t.Fatal(err)
		}
		return answer.StatusCode, string(text), answer.Header
	}
	root := "http://" + s.listener.Addr().String() + "/"
	status, text, head := ask("GET", s.Address(), "", "", "")
	if status != 200 || strings.Contains(text, "<script>alert") || !strings.Contains(text, "&lt;script&gt;alert(1)&lt;/script&gt; because") {
		t.Errorf("status %d, page %.200s", status, text)
	}
	if !strings.Contains(text, `value="A&#34;B"`) {
		t.Error("the page does not begin with the marker's initials")
	}
	if !strings.HasPrefix(head.Get("Content-Security-Policy"), "default-src 'none'") {
		t.Errorf("policy %q", head.Get("Content-Security-Policy"))
	}
	row := board.Questions()[0].Groups[0].Row
	one := `{"row":"` + row + `","marks":1.5,"by":"AB"}`
	for _, tt := range []struct {
		what, method, url, body, origin, host string
		want                                  int
	}{
		{"no secret", "GET", root, "", "", "", 404},
		{"a wrong secret", "GET", root + "guess/", "", "", "", 404},
		{"another name", "GET", s.Address(), "", "", "evil.example", 404},
		{"another page", "POST", s.Address() + "decide", one, "http://evil.example", "", 404},
		{"no decision", "POST", s.Address() + "decide", "marks", "", "", 400},
		{"too many marks", "POST", s.Address() + "decide", strings.Replace(one, "1.5", "7", 1), "", "", 422},
		{"a flood", "POST", s.Address() + "decide", `{"comment":"` + strings.Repeat("x", 1<<20) + `"}`, "", "", 400},
		{"a decision", "POST", s.Address() + "decide", one, "", "", 200},
		{"a change without a reason", "POST", s.Address() + "decide", strings.Replace(one, "1.5", "2", 1), "", "", 409},
	} {
		if status, text, _ := ask(tt.method, tt.url, tt.body, tt.origin, tt.host); status != tt.want {
			t.Errorf("%s: %d %s, want %d", tt.what, status, text, tt.want)
		}
	}
	log, err := os.ReadFile(filepath.Join(to, "decisions.jsonl"))
	if err != nil || strings.Count(string(log), "\n") != 1 || !strings.Contains(string(log), `"marks":1.5`) {
		t.Errorf("log %s, %v: want the one decision", log, err)
	}
}
