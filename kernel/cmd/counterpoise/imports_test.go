package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"strings"
	"testing"
)

// The rules of the import graph. A rule binds every package whose path starts
// with one of from: it may not reach, through any chain of imports, a package
// that starts with one of never.
var importRules = []struct {
	from, never []string
	because     string
}{
	{
		from:    []string{"counterpoise/mechanics"},
		never:   []string{"counterpoise/worksheets", "counterpoise/kernel"},
		because: "imports run one way: kernel, worksheets, mechanics",
	},
	{
		from:    []string{"counterpoise/worksheets"},
		never:   []string{"counterpoise/kernel"},
		because: "imports run one way: kernel, worksheets, mechanics",
	},
	{
		from:    []string{"counterpoise/mechanics", "counterpoise/worksheets"},
		never:   []string{"golang.org/x/tools/go/ssa", "github.com/go-zeromq", "os/exec", "net"},
		because: "checking and marking must be unable to run what strangers wrote, or to send it anywhere",
	},
	{
		from: []string{
			"counterpoise/mechanics/quantity", "counterpoise/mechanics/expr", "counterpoise/mechanics/body",
			"counterpoise/mechanics/balance", "counterpoise/mechanics/elastic", "counterpoise/mechanics/lagrange",
			"counterpoise/mechanics/motion", "counterpoise/mechanics/modes", "counterpoise/mechanics/chaos",
			"counterpoise/mechanics/measure", "counterpoise/mechanics/design", "counterpoise/mechanics/problems",
			"counterpoise/mechanics/toy",
		},
		never:   []string{"counterpoise/mechanics/figure", "gonum.org/v1/plot"},
		because: "physics knows nothing of drawings",
	},
	{
		from:    []string{"counterpoise/kernel/wire", "counterpoise/kernel/server", "counterpoise/kernel/display", "counterpoise/kernel/worker", "counterpoise/kernel/headless"},
		never:   []string{"golang.org/x/tools/go/ssa", "counterpoise/kernel/session"},
		because: "session alone knows the engine that runs cells",
	},
}

// netLeaves are packages below net that only read and write addresses as text.
var netLeaves = map[string]bool{"net/url": true, "net/netip": true}

func TestImportsRunOneWay(t *testing.T) {
	graph := importGraph(t)
	for path := range graph {
		for _, rule := range importRules {
			if !under(path, rule.from) {
				continue
			}
			for _, dep := range graph[path] {
				if under(dep, rule.never) && !netLeaves[dep] {
					t.Errorf("%s reaches %s: %s", path, dep, rule.because)
				}
			}
		}
	}
}

// importGraph gives for each package of the project all that it reaches.
func importGraph(t *testing.T) map[string][]string {
	t.Helper()
	cmd := exec.Command("go", "list", "-json=ImportPath,Deps", "counterpoise/...")
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list: %v\n%s", err, stderr.Bytes())
	}
	graph := map[string][]string{}
	for dec := json.NewDecoder(bytes.NewReader(out)); ; {
		var p struct {
			ImportPath string
			Deps       []string
		}
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		graph[p.ImportPath] = p.Deps
	}
	if len(graph) < 10 {
		t.Fatalf("go list names %d packages of this project: is this its root?", len(graph))
	}
	return graph
}

func under(path string, roots []string) bool {
	for _, root := range roots {
		if path == root || strings.HasPrefix(path, root+"/") {
			return true
		}
	}
	return false
}
