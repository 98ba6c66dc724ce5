package session

import (
	"context"
	"go/build"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"counterpoise/kernel/server"
)

var importPath = regexp.MustCompile(`(?m)^(?:import )?\s*(?:[\w.]+ )?"([a-z0-9/]+)"`)

// apart are programs that a cell runs otherwise than a program, and why.
var apart = map[string]string{
	"typeparam/chans.go":      "runtime.SetFinalizer is kept from cells",
	"typeparam/orderedmap.go": "runtime.SetFinalizer is kept from cells",
	"typeparam/nested.go":     "a type declared in a generic function is named without the function's type arguments",
	"ken/chan.go":             "os.Exit(0) is told as the end of the cell",
}

// TestGoDistribution runs the test programs of the Go distribution itself
// (GOROOT/test, those marked "run", of four folders) as cells: they panic or print
// something else if a rule of the language is broken.
func TestGoDistribution(t *testing.T) {
	if raceDetector {
		t.Skip("some of these programs race on purpose: this test runs without the race detector")
	}
	root := filepath.Join(build.Default.GOROOT, "test")
	if _, err := os.Stat(root); err != nil {
		t.Skip("this Go distribution comes without its tests")
	}
	ran, failed := 0, 0
	for _, dir := range []string{"typeparam", "ken", "chan", "interface"} {
		files, _ := filepath.Glob(filepath.Join(root, dir, "*.go"))
		for _, file := range files {
			name := dir + "/" + filepath.Base(file)
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			code := string(data)
			if !strings.HasPrefix(code, "// run\n") && !strings.Contains(code[:min(len(code), 300)], "\n// run\n") {
				continue
			}
			nb := open(t)
			usable := true
			for _, m := range importPath.FindAllStringSubmatch(code, -1) {
				if _, err := nb.packages.Import(m[1]); err != nil {
					usable = false
				}
			}
			if !usable || strings.Contains(code, "import \"C\"") || strings.Contains(code, "go:build") {
				continue
			}
			ran++
			ctx, cancel := context.WithTimeout(context.Background(), time.Minute) // ends a hang only, on a busy machine too
			out := new(recorder)
			r := nb.Execute(ctx, server.Cell{Code: code, Number: 1}, out)
			cancel()
			nb.Close() // and with it the goroutines that the program leaves
			want := ""
			if data, err := os.ReadFile(strings.TrimSuffix(file, ".go") + ".out"); err == nil {
				want = string(data)
			}
			got := out.String()
			if r.Fault != nil {
				failed++
				if apart[name] != "" {
					continue
				}
				t.Errorf("%s: %s: %.300s\n%.600s", name, r.Fault.Name, r.Fault.Value, strings.Join(r.Fault.Traceback, "\n"))
			} else if want != "" && got != want && out.errText.String() != want {
				failed++
				if apart[name] != "" {
					continue
				}
				t.Errorf("%s: printed %.300q and %.300q, want %.300q", name, got, out.errText.String(), want)
			}
		}
	}
	t.Logf("%d of %d programs of the Go distribution run", ran-failed, ran)
}
