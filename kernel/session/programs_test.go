package session

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"os/exec"
	"path/filepath"
	"sort"
	"strings"
	"testing"
)

// A program is a Go program cut into cells. Its file lists programs as
//
//	=== name
//	cell
//	---
//	cell
//	+++
//	program
//
// The program after +++ is what the cells mean as one Go file without its
// package clause; where it is missing, it is made of the cells: imports and
// declarations at the top, statements in order in one function.
type program struct {
	name  string
	cells []string
	text  string
}

func readPrograms(t testing.TB) (list []program) {
	t.Helper()
	files, err := filepath.Glob("testdata/programs/*.txt")
	if err != nil || len(files) == 0 {
		t.Fatal("no programs", err)
	}
	sort.Strings(files)
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, part := range strings.Split("\n"+string(data), "\n=== ")[1:] {
			name, body, _ := strings.Cut(part, "\n")
			body, text, _ := strings.Cut(body, "\n+++\n")
			list = append(list, program{filepath.Base(file) + "/" + name, strings.Split(body, "\n---\n"), text})
		}
	}
	return list
}

// source writes the program as package pkg with a function Main.
func (p program) source(t testing.TB, pkg string) string {
	if p.text != "" {
		return "package " + pkg + "\n" + strings.Replace(p.text, "func main()", "func Main()", 1)
	}
	imports := map[string]bool{}
	var decls, stmts strings.Builder
	for _, cell := range p.cells {
		for _, pc := range split(cell) {
			text := cell[pc.start:pc.end]
			switch pc.kind {
			case importing:
				f, err := parser.ParseFile(token.NewFileSet(), "", "package p\n"+text, parser.ImportsOnly)
				if err != nil {
					t.Fatal(p.name, err)
				}
				for _, s := range f.Imports {
					line := s.Path.Value
					if s.Name != nil {
						line = s.Name.Name + " " + line
					}
					imports[line] = true
				}
			case declaration:
				decls.WriteString(text + "\n")
			case statement:
				if strings.HasPrefix(text, "var ") && p.usedByFunctions(text) {
					decls.WriteString(text + "\n")
					continue
				}
				stmts.WriteString(text + "\n")
				if f, err := parser.ParseFile(token.NewFileSet(), "", "package p\nfunc _() {\n"+text+"\n}", 0); err == nil {
					for _, st := range f.Decls[0].(*ast.FuncDecl).Body.List {
						if d, ok := st.(*ast.DeclStmt); ok {
							for _, spec := range d.Decl.(*ast.GenDecl).Specs {
								if v, ok := spec.(*ast.ValueSpec); ok {
									for _, id := range v.Names {
										if id.Name != "_" {
											stmts.WriteString("_ = " + id.Name + "\n")
										}
									}
								}
							}
						}
						if as, ok := st.(*ast.AssignStmt); ok && as.Tok == token.DEFINE {
							for _, l := range as.Lhs {
								if id, ok := l.(*ast.Ident); ok && id.Name != "_" {
									stmts.WriteString("_ = " + id.Name + "\n")
								}
							}
						}
					}
				}
			}
		}
	}
	var b strings.Builder
	fmt.Fprintf(&b, "package %s\n\n", pkg)
	for _, i := range sortedNames(imports) {
		fmt.Fprintf(&b, "import %s\n", i)
	}
	fmt.Fprintf(&b, "\n%s\nfunc Main() {\n%s}\n", decls.String(), stmts.String())
	return b.String()
}

// usedByFunctions tells whether a declared function mentions the variable that
// a var declaration declares.
func (p program) usedByFunctions(text string) bool {
	name := strings.TrimLeft(strings.Fields(text)[1], "(")
	for _, cell := range p.cells {
		for _, pc := range split(cell) {
			if pc.kind != declaration {
				continue
			}
			for _, w := range strings.FieldsFunc(cell[pc.start:pc.end], func(r rune) bool {
				return !(r == '_' || r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z')
			}) {
				if w == name && strings.Contains(cell[pc.start:pc.end], "func ") {
					return true
				}
			}
		}
	}
	return false
}

// outputs runs all programs with the Go toolchain, as one binary.
func outputs(t *testing.T, list []program) []string {
	t.Helper()
	dir := t.TempDir()
	write := func(name, text string) {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	write("go.mod", "module programs\n\ngo 1.26\n")
	var main strings.Builder
	main.WriteString("package main\n\nimport (\n\t\"fmt\"\n")
	for i := range list {
		fmt.Fprintf(&main, "\t\"programs/p%03d\"\n", i)
	}
	main.WriteString(")\n\nfunc main() {\n")
	for i, p := range list {
		pkg := fmt.Sprintf("p%03d", i)
		write(pkg+"/p.go", p.source(t, pkg))
		fmt.Fprintf(&main, "\tfmt.Print(\"\\x00\")\n\tp%03d.Main()\n", i)
	}
	main.WriteString("}\n")
	write("main.go", main.String())
	cmd := exec.Command("go", "run", ".")
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "GOFLAGS=-mod=mod", "GOWORK=off")
	var stderr strings.Builder
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go run: %v\n%s", err, stderr.String())
	}
	parts := strings.Split(string(out), "\x00")[1:]
	if len(parts) != len(list) {
		t.Fatalf("%d outputs of %d programs", len(parts), len(list))
	}
	for i := range parts {
		parts[i] = strings.ReplaceAll(parts[i], fmt.Sprintf("p%03d.", i), "main.")
	}
	return parts
}

// TestPrograms compares what cells print with what the Go toolchain makes of the
// same program when the test runs.
func TestPrograms(t *testing.T) {
	list := readPrograms(t)
	want := outputs(t, list)
	agree := 0
	for i, p := range list {
		t.Run(p.name, func(t *testing.T) {
			nb := open(t)
			var got strings.Builder
			for _, cell := range p.cells {
				r, out := nb.run(cell)
				got.WriteString(out.String())
				if r.Fault != nil {
					t.Errorf("fault %s: %s\n%s\nin\n%s", r.Fault.Name, r.Fault.Value, strings.Join(r.Fault.Traceback, "\n"), cell)
				}
			}
			if got.String() != want[i] {
				t.Errorf("got\n%s\nwant\n%s", got.String(), want[i])
				return
			}
			agree++
		})
	}
	t.Logf("%d of %d programs agree with the Go toolchain", agree, len(list))
}
