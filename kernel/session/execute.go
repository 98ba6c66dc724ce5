package session

import (
	"context"
	"fmt"
	"go/ast"
	"go/types"
	"slices"
	"strings"
	"sync"
	"time"

	"golang.org/x/tools/go/ssa"

	"counterpoise/kernel/display"
	"counterpoise/kernel/server"
	"counterpoise/kernel/session/machine"
	"counterpoise/mechanics/halt"
)

// An execution is one run of a cell. Goroutines that it started may outlive it.
type execution struct {
	session *Session
	cell    server.Cell
	ctx     context.Context
	out     server.Output
	run     *machine.Run

	mu     sync.Mutex
	values []any // of the last expression
	shown  bool
	ended  bool
	crash  *machine.Panic // of a goroutine, while the cell ran
	hog    bool           // stopped for the memory it took
}

// patience is how long an interrupted computation may take to notice before it
// is left to itself: compiled code cannot be stopped from outside.
const patience = 15 * time.Millisecond

// Execute runs one cell.
func (s *Session) Execute(ctx context.Context, cell server.Cell, out server.Output) (res server.Result) {
	if verb, name, rest, ok := directive(cell.Code); ok {
		return s.direct(ctx, verb, name, rest, out)
	}
	fns, fault := s.prepare(cell)
	if fault != nil {
		return server.Result{Fault: fault}
	}
	e := &execution{session: s, cell: cell, ctx: ctx, out: out}
	e.run = machine.NewRun(cell.Number, e)
	e.run.Report = e.report
	s.mu.Lock()
	s.last = e
	s.mu.Unlock()
	if f := e.perform(fns); f != nil {
		return server.Result{Fault: f}
	}
	if e.shown && !cell.Silent && !display.Nothing(e.values) {
		res.Value = e.bundle()
	}
	if len(cell.Evaluate) > 0 {
		res.Values = map[string]server.UserValue{}
		for name, expr := range cell.Evaluate {
			res.Values[name] = s.evaluate(ctx, expr, cell, out)
		}
	}
	return res
}

// prepare checks and builds a cell.
func (s *Session) prepare(cell server.Cell) (fns []*machine.Func, fault *server.Fault) {
	s.mu.Lock()
	defer s.mu.Unlock()
	defer func() {
		if r := recover(); r != nil {
			msg := fmt.Sprintf("this cell cannot be checked: %v", r)
			fns, fault = nil, &server.Fault{Name: "KernelError", Value: msg, Traceback: []string{msg}}
		}
	}()
	if s.built++; s.built > cellsPerProgram {
		s.renew()
	}
	c, wrong := s.check(cell.Code, cell.Number)
	if len(wrong) > 0 {
		s.forget(c)
		return nil, s.fault(cell, wrong)
	}
	fns, err := s.build(c, cell.Number)
	if err != nil {
		return nil, &server.Fault{Name: "KernelError", Value: err.Error(), Traceback: []string{err.Error()}}
	}
	return fns, nil
}

// evaluate runs a user expression.
func (s *Session) evaluate(ctx context.Context, expr string, cell server.Cell, out server.Output) server.UserValue {
	r := s.Execute(ctx, server.Cell{Code: expr, Number: cell.Number}, out)
	if r.Fault != nil {
		return server.UserValue{Fault: r.Fault}
	}
	if r.Value == nil {
		return server.UserValue{Bundle: server.Bundle{Data: map[string]any{"text/plain": ""}, Metadata: map[string]any{}}}
	}
	return server.UserValue{Bundle: *r.Value}
}

// perform runs functions one after another and waits for them, or for an
// interrupt.
func (e *execution) perform(fns []*machine.Func) *server.Fault {
	halt.Clear()
	done := make(chan *machine.Panic, 1)
	go func() {
		p := &machine.Panic{Value: "runtime.Goexit ended the cell"}
		defer func() { done <- p }()
		for _, f := range fns {
			if q := e.session.world.Call(f, e.run); q != nil {
				p = q
				return
			}
		}
		p = nil
	}()
	stopWatch := e.watch()
	defer stopWatch()
	var p *machine.Panic
	select {
	case p = <-done:
	case <-e.ctx.Done():
		e.run.Stop()
		halt.Request() // for what runs in the compiled library
		select {
		case p = <-done:
		case <-time.After(patience):
			p = &machine.Panic{Interrupted: true}
		}
		if p == nil {
			p = &machine.Panic{Interrupted: true}
		}
	case <-e.run.Done(): // by a goroutine's panic, or for memory
		halt.Request()
		select {
		case p = <-done:
		case <-time.After(patience):
		}
	}
	e.mu.Lock()
	defer e.mu.Unlock()
	e.ended = true
	if e.crash != nil {
		return e.panicFault(e.crash, "goroutine")
	}
	if e.hog {
		return e.memoryFault(p)
	}
	if o := e.run.Overflow(); o != nil {
		p = o
	}
	if p != nil && p.Exit {
		e.run.Stop() // a program's goroutines end with it
	}
	if p == nil {
		return nil
	}
	if e.ctx.Err() != nil {
		p.Interrupted = true
	}
	return e.panicFault(p, "")
}

// report takes the panic of a goroutine. In a program it would end everything:
// here it ends the cell, if that still runs, and is told in any case.
func (e *execution) report(p *machine.Panic) {
	e.mu.Lock()
	running := !e.ended
	if running && e.crash == nil {
		e.crash = p
	}
	e.mu.Unlock()
	if p.Interrupted {
		return
	}
	if running {
		e.run.Stop()
		return
	}
	f := e.panicFault(p, "goroutine")
	e.out.Stream("stderr", strings.Join(f.Traceback, "\n")+"\n")
}

// build makes runnable functions of a checked cell and adds what it declares to
// the session.
func (s *Session) build(c *checked, number int) (fns []*machine.Func, err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("this cell cannot be run: %v", r)
		}
	}()
	for p := range c.uses {
		s.create(p)
	}
	for _, imp := range c.pkg.Imports() {
		s.create(imp)
	}
	// Values may have generic types that the cell does not mention.
	for p := range s.generic {
		s.create(p)
	}
	for _, src := range s.packages.sources {
		s.create(src.pkg)
	}
	s.created[c.pkg] = true
	s.origin[c.pkg] = number
	if c.hasGenerics() {
		s.generic[c.pkg] = syntax{c.file, c.info}
	}
	s.opened[c.pkg] = c.parsed.files
	sp := s.prog.CreatePackage(c.pkg, []*ast.File{c.file}, c.info, false)
	sp.Build()
	if len(c.info.InitOrder) > 0 || sp.Func("init#1") != nil {
		fns = append(fns, s.world.Func(sp.Func("init")))
	}
	fns = append(fns, s.world.Func(sp.Func(runName)))
	if c.program {
		if m := sp.Func("main"); m != nil && len(c.run.Body.List) == 0 {
			fns = append(fns, s.world.Func(m))
		}
	}
	s.commit(c, sp)
	s.remember(c)
	var changed []*types.Named
	for _, m := range c.late {
		f := sp.Func(m.decl.Name.Name)
		s.world.Func(f)
		s.world.Bind(m.obj, f.Object().(*types.Func))
		if s.phantoms[m.obj] {
			changed = append(changed, m.base)
		}
		delete(s.phantoms, m.obj)
	}
	if len(changed) > 0 {
		s.world.MethodsBound(changed)
	}
	return fns, nil
}

// grow makes a package known anew of which only a part was known when the program
// first met it: as something that another package imports.
func (s *Session) grow(p *types.Package) {
	for _, b := range slices.Concat(s.packages.behind[p], []*types.Package{p}) {
		if s.packages.grown[b] && s.created[b] {
			delete(s.packages.grown, b)
			s.prog.CreatePackage(b, nil, nil, false)
		}
	}
}

// create makes a package known to the program that cells are built in.
func (s *Session) create(p *types.Package) {
	if p == types.Unsafe {
		return
	}
	if s.created[p] {
		s.grow(p)
		return
	}
	s.created[p] = true
	delete(s.packages.grown, p)
	for _, b := range s.packages.behind[p] {
		if b != p {
			s.create(b)
		}
	}
	for _, imp := range p.Imports() {
		s.create(imp)
	}
	if g, ok := s.generic[p]; ok {
		sp := s.prog.CreatePackage(p, []*ast.File{g.file}, g.info, false)
		sp.Build()
		return
	}
	for _, src := range s.packages.sources {
		if src.pkg == p {
			sp := s.prog.CreatePackage(p, src.files, src.info, false)
			sp.Build()
			return
		}
	}
	s.prog.CreatePackage(p, nil, nil, false)
}

// commit adds the cell's declarations and imports to the session.
func (s *Session) commit(c *checked, sp *ssa.Package) {
	for name, path := range c.names {
		s.imports[name] = path
		delete(s.scope, name)
	}
	for _, path := range c.dots {
		known := false
		for _, d := range s.dots {
			known = known || d == path
		}
		if !known {
			s.dots = append(s.dots, path)
		}
	}
	scope := c.pkg.Scope()
	for name := range c.declared {
		obj := scope.Lookup(name)
		if obj == nil || obj.Pkg() != c.pkg {
			continue
		}
		old := s.scope[name]
		s.scope[name] = obj
		delete(s.imports, name)
		if tn, ok := obj.(*types.TypeName); ok && !tn.IsAlias() {
			if n, ok := tn.Type().(*types.Named); ok && n.TypeParams().Len() == 0 {
				for m := range n.Methods() {
					if fn := s.prog.FuncValue(m); fn != nil {
						s.world.Func(fn)
					}
				}
			}
		}
		if f, ok := obj.(*types.Func); ok && f.Signature().TypeParams().Len() == 0 {
			s.world.Func(sp.Func(name))
			if o, ok := old.(*types.Func); ok && types.Identical(o.Type(), f.Type()) {
				s.world.Redefine(o, f)
			}
		}
	}
}

// forget drops the files of a cell that is not run.
func (s *Session) forget(c *checked) {
	for _, f := range c.files {
		s.dropFile(f)
	}
}

// bundle shows the last expression's values.
func (e *execution) bundle() *server.Bundle {
	var b server.Bundle
	machine.Within(e.run, func() { b = display.Values(e.values) })
	return &b
}
