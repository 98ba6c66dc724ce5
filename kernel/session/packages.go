package session

import (
	"bytes"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"reflect"
	"runtime"
	"sort"
	"strings"

	"golang.org/x/tools/go/gcexportdata"

	"counterpoise/kernel/symbols"
)

// goVersion is the language that cells are written in.
const goVersion = "go1.26"

// A sourcePackage is a package that is kept as source.
type sourcePackage struct {
	pkg   *types.Package
	files []*ast.File
	info  *types.Info
}

// packages knows the packages that cells may import. It implements
// types.Importer.
type packages struct {
	fset    *token.FileSet
	all     map[string]*types.Package // from export data, complete or not
	whole   map[string]bool           // read completely
	grown   map[*types.Package]bool   // read completely after a part of it was known
	facades map[string]*types.Package // what cells import
	sources map[string]*sourcePackage
	behind  map[*types.Package][]*types.Package // of a facade
}

func newPackages(fset *token.FileSet) *packages {
	return &packages{
		fset: fset,
		all:  map[string]*types.Package{}, whole: map[string]bool{}, grown: map[*types.Package]bool{},
		facades: map[string]*types.Package{}, sources: map[string]*sourcePackage{},
		behind: map[*types.Package][]*types.Package{},
	}
}

// Import returns the package that a cell gets for path.
func (p *packages) Import(path string) (*types.Package, error) {
	if f := p.facades[path]; f != nil {
		return f, nil
	}
	if path == "unsafe" {
		return nil, p.refusal(path)
	}
	if !symbols.Importable(path) {
		return nil, p.refusal(path)
	}
	f, err := p.facade(path)
	if err != nil {
		return nil, err
	}
	p.facades[path] = f
	return f, nil
}

// original returns the compiled package with the given path.
func (p *packages) original(path string) (*types.Package, error) {
	if p.whole[path] {
		return p.all[path], nil
	}
	data, err := symbols.Export(path)
	if err != nil {
		return nil, err
	}
	part := p.all[path]
	pkg, err := gcexportdata.Read(bytes.NewReader(data), p.fset, p.all, path)
	if err != nil {
		return nil, err
	}
	p.whole[path] = true
	if part == pkg {
		p.grown[pkg] = true
	}
	return pkg, nil
}

// facade puts together what cells see of a package: the compiled part, the
// generic part from source, less what is kept from cells.
func (p *packages) facade(path string) (*types.Package, error) {
	real := path
	if path == "os" {
		real = symbols.OS
	}
	var compiled *types.Package
	if text, ok := symbols.Source(path); ok {
		src, err := p.source(path, text)
		if err != nil {
			return nil, err
		}
		if compiled, err = p.original(real); err != nil {
			p.behind[src.pkg] = []*types.Package{src.pkg}
			return src.pkg, nil
		}
		f := types.NewPackage(path, compiled.Name())
		for _, name := range src.pkg.Scope().Names() {
			if token.IsExported(name) {
				f.Scope().Insert(src.pkg.Scope().Lookup(name))
			}
		}
		p.fill(f, compiled, path)
		p.behind[f] = []*types.Package{compiled, src.pkg}
		return f, nil
	}
	compiled, err := p.original(real)
	if err != nil {
		return nil, err
	}
	if len(withheld[path]) == 0 {
		p.behind[compiled] = []*types.Package{compiled}
		return compiled, nil
	}
	f := types.NewPackage(path, compiled.Name())
	p.fill(f, compiled, path)
	p.behind[f] = []*types.Package{compiled}
	return f, nil
}

func (p *packages) fill(f, from *types.Package, path string) {
	for _, name := range from.Scope().Names() {
		if _, no := withheld[path][name]; no {
			continue
		}
		if f.Scope().Lookup(name) == nil && token.IsExported(name) {
			f.Scope().Insert(from.Scope().Lookup(name))
		}
	}
	f.MarkComplete()
}

// withheld are names of allowed packages that cells do without, and why.
var withheld = map[string]map[string]string{
	"fmt": {
		"Scan": "use Ask to read a line", "Scanf": "use Ask and fmt.Sscanf", "Scanln": "use Ask to read a line",
	},
	"os":      {"Write": "hook", "Quit": "hook"},
	"runtime": {"Breakpoint": "there is no debugger", "LockOSThread": "", "UnlockOSThread": "", "SetFinalizer": "", "SetCPUProfileRate": "", "StartTrace": "", "StopTrace": "", "ReadTrace": ""},
}

// source checks a package that is kept as source.
func (p *packages) source(path, text string) (*sourcePackage, error) {
	if s := p.sources[path]; s != nil {
		return s, nil
	}
	file, err := parser.ParseFile(p.fset, path+".go", text, parser.SkipObjectResolution)
	if err != nil {
		return nil, err
	}
	info := newInfo()
	conf := types.Config{Importer: beneath{p, path}, GoVersion: goVersion, Sizes: types.SizesFor("gc", runtime.GOARCH)}
	pkg, err := conf.Check(path, p.fset, []*ast.File{file}, info)
	if err != nil {
		return nil, fmt.Errorf("package %s: %w", path, err)
	}
	s := &sourcePackage{pkg, []*ast.File{file}, info}
	p.sources[path] = s
	return s, nil
}

// beneath imports for a package kept as source: the compiled part of the same
// package under its own path.
type beneath struct {
	p    *packages
	path string
}

func (b beneath) Import(path string) (*types.Package, error) {
	if path == b.path {
		return b.p.original(path)
	}
	if path == "unsafe" {
		return types.Unsafe, nil
	}
	return b.p.Import(path)
}

func newInfo() *types.Info {
	return &types.Info{
		Types:        map[ast.Expr]types.TypeAndValue{},
		Instances:    map[*ast.Ident]types.Instance{},
		Defs:         map[*ast.Ident]types.Object{},
		Uses:         map[*ast.Ident]types.Object{},
		Implicits:    map[ast.Node]types.Object{},
		Selections:   map[*ast.SelectorExpr]*types.Selection{},
		Scopes:       map[ast.Node]*types.Scope{},
		FileVersions: map[*ast.File]string{},
	}
}

// refusal says why path cannot be imported, and which path comes nearest.
func (p *packages) refusal(path string) error {
	why := "cells cannot import it"
	switch {
	case path == "unsafe" || path == "syscall" || path == "plugin" || strings.HasPrefix(path, "runtime/") || path == "C":
		why = "cells cannot reach the memory of the process"
	case path == "net" || strings.HasPrefix(path, "net/"):
		why = "cells cannot reach the network"
	case strings.HasPrefix(path, "os/"):
		why = "cells cannot start programs"
	}
	near := nearest(path, symbols.Paths())
	if len(near) > 0 {
		return fmt.Errorf("%s; did you mean %s?", why, quoteList(near))
	}
	return fmt.Errorf("%s", why)
}

func quoteList(list []string) string {
	q := make([]string, len(list))
	for i, s := range list {
		q[i] = fmt.Sprintf("%q", s)
	}
	if len(q) == 1 {
		return q[0]
	}
	return strings.Join(q[:len(q)-1], ", ") + " or " + q[len(q)-1]
}

// nearest returns up to three of list that look like word.
func nearest(word string, list []string) []string {
	type scored struct {
		text string
		cost int
	}
	last := word[strings.LastIndex(word, "/")+1:]
	var found []scored
	for _, s := range list {
		l := s[strings.LastIndex(s, "/")+1:]
		cost := distance(strings.ToLower(word), strings.ToLower(s))
		if l == last {
			cost = min(cost, 1)
		} else if d := distance(strings.ToLower(last), strings.ToLower(l)); d <= 2 && len(l) > 3 && len(last) > 3 {
			cost = min(cost, d+1)
		}
		if cost <= max(2, len(word)/4) {
			found = append(found, scored{s, cost})
		}
	}
	sort.SliceStable(found, func(i, j int) bool { return found[i].cost < found[j].cost })
	var out []string
	for _, f := range found {
		if len(out) < 3 && f.cost <= found[0].cost+1 {
			out = append(out, f.text)
		}
	}
	return out
}

// distance counts the letters to insert, drop, replace or swap between a and b.
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	prev2, prev, cur := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := 1; i <= len(x); i++ {
		cur[0] = i
		for j := 1; j <= len(y); j++ {
			c := 1
			if x[i-1] == y[j-1] {
				c = 0
			}
			cur[j] = min(prev[j]+1, cur[j-1]+1, prev[j-1]+c)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				cur[j] = min(cur[j], prev2[j-2]+1)
			}
		}
		prev2, prev, cur = prev, cur, prev2
	}
	return prev[len(y)]
}

// natives gives the machine the compiled packages, some functions replaced by
// ones that know of cells.
type natives struct{ symbols.Tables }

func (n natives) Value(path, name string) (reflect.Value, bool) {
	if v, ok := replaced[path+"."+name]; ok {
		return v, true
	}
	return n.Tables.Value(path, name)
}
