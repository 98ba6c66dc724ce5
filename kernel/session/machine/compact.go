package machine

import (
	"go/types"

	"golang.org/x/tools/go/ssa"
)

// Compact lets go of what later cells cannot reach any more: functions and
// variables that the callbacks do not want to keep, and the program that the
// cells so far were built in. Whatever is still to be compiled from it is
// compiled now. The types of go/types that are live are those that live says.
func (w *World) Compact(keepFunc func(*types.Func) bool, keepVar func(*types.Var) bool, live func(*types.Named) bool) {
	w.compileAll()
	w.mu.Lock()
	for obj := range w.decls {
		if !keepFunc(obj) {
			delete(w.decls, obj)
		}
	}
	for v := range w.globals {
		if !keepVar(v) {
			delete(w.globals, v)
		}
	}
	w.ssaFns = map[*ssa.Function]*Func{}
	w.mu.Unlock()

	tt := &w.types
	tt.mu.Lock()
	defer tt.mu.Unlock()
	var stale []types.Type
	tt.known.Iterate(func(t types.Type, _ any) {
		n, ok := t.(*types.Named)
		if !ok || n.Obj().Pkg() != nil && n.Obj().Pkg().Path() == "main" && !live(n) {
			stale = append(stale, t)
		}
	})
	for _, t := range stale {
		tt.known.Delete(t)
	}
}

// compileAll compiles every function that is known but has not been called.
func (w *World) compileAll() {
	for {
		var todo []*Func
		w.mu.Lock()
		for _, f := range w.ssaFns {
			if f.src != nil && f.code.Load() == nil {
				todo = append(todo, f)
			}
		}
		w.mu.Unlock()
		w.types.mu.Lock()
		var lazy []*Func
		for _, f := range w.types.forged {
			for _, m := range f.byName {
				if m != nil && m.size == lazySize && m.newer.Load() == nil {
					lazy = append(lazy, m)
				}
			}
		}
		w.types.mu.Unlock()
		for _, m := range lazy {
			m.resolve()
		}
		if len(todo)+len(lazy) == 0 {
			return
		}
		for _, f := range todo {
			f.compileOrGiveUp()
		}
	}
}

// compileOrGiveUp compiles f; if that is impossible, a call of f says so.
func (f *Func) compileOrGiveUp() {
	defer func() {
		if recover() != nil {
			f.src = nil
		}
	}()
	f.compiled()
}
