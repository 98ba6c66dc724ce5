// Package symbols holds what a cell may import: for each package its functions,
// variables and types as compiled into this program, its description for the
// type checker (export data) and its doc comments.
//
// Nothing happens when the program starts: a package's table is filled, and its
// description unpacked, when it is first asked for. The tables are generated:
//
//	go generate ./kernel/symbols
package symbols

import (
	"archive/zip"
	"bytes"
	"embed"
	"encoding/json"
	"fmt"
	"io"
	"reflect"
	"sort"
	"strings"
	"sync"
)

//go:generate go run ./internal/generate

// A table is what a package exports.
type table struct {
	values map[string]reflect.Value
	types  map[string]reflect.Type
}

type group struct {
	name   string
	tables map[string]func() table
	pack   *embed.FS
}

var (
	groups []group
	mu     sync.Mutex
	loaded = map[string]table{}
	packs  = map[string]*zip.Reader{}
	docs   = map[string]map[string]string{}
)

// OS is the path of the package that cells get when they import os.
const OS = "counterpoise/kernel/symbols/os"

func load(path string) (table, bool) {
	mu.Lock()
	defer mu.Unlock()
	if t, ok := loaded[path]; ok {
		return t, true
	}
	found := false
	t := table{}
	for _, g := range groups {
		f, ok := g.tables[path]
		if !ok {
			continue
		}
		more := f()
		if !found {
			t = more
		} else {
			for n, v := range more.types {
				t.types[n] = v
			}
		}
		found = true
	}
	if found {
		loaded[path] = t
	}
	return t, found
}

// Tables gives access to the compiled packages.
type Tables struct{}

// Value returns a function, or a variable that can be set, of a package.
func (Tables) Value(path, name string) (reflect.Value, bool) {
	t, _ := load(path)
	v, ok := t.values[name]
	return v, ok
}

// Type returns a type of a package.
func (Tables) Type(path, name string) (reflect.Type, bool) {
	t, _ := load(path)
	r, ok := t.types[name]
	return r, ok
}

func read(kind, path string) ([]byte, error) {
	mu.Lock()
	defer mu.Unlock()
	for _, g := range groups {
		z := packs[g.name]
		if z == nil {
			data, err := g.pack.ReadFile(g.name + ".zip")
			if err != nil {
				return nil, err
			}
			if z, err = zip.NewReader(bytes.NewReader(data), int64(len(data))); err != nil {
				return nil, err
			}
			packs[g.name] = z
		}
		f, err := z.Open(kind + "/" + path)
		if err != nil {
			continue
		}
		defer f.Close()
		return io.ReadAll(f)
	}
	return nil, fmt.Errorf("package %s is not compiled in", path)
}

// Export returns the export data of a package.
func Export(path string) ([]byte, error) { return read("export", path) }

// Doc returns the doc comment of a name of a package: "" for the package's own,
// "Type.Name" for a method or field.
func Doc(path, name string) string {
	mu.Lock()
	m, ok := docs[path]
	mu.Unlock()
	if !ok {
		if data, err := read("doc", path); err == nil {
			_ = json.Unmarshal(data, &m) // written by the generator
		}
		mu.Lock()
		docs[path] = m
		mu.Unlock()
	}
	return m[name]
}

// Paths returns the packages that a cell may import, sorted.
func Paths() []string {
	mu.Lock()
	defer mu.Unlock()
	var list []string
	for _, g := range groups {
		for path := range g.tables {
			if path != OS && allowed(path) {
				list = append(list, path)
			}
		}
	}
	list = append(list, "os")
	list = append(list, sourcePaths()...)
	sort.Strings(list)
	return list
}

// Importable tells whether a cell may import path.
func Importable(path string) bool {
	if path == "os" || isSource(path) {
		return true
	}
	if path == OS || !allowed(path) {
		return false
	}
	for _, g := range groups {
		if _, ok := g.tables[path]; ok {
			return true
		}
	}
	return false
}

// Named returns the packages whose path ends in name, shortest path first.
func Named(name string) []string {
	var list []string
	for _, p := range Paths() {
		if p == name || strings.HasSuffix(p, "/"+name) {
			list = append(list, p)
		}
	}
	sort.SliceStable(list, func(i, j int) bool { return len(list[i]) < len(list[j]) })
	return list
}
