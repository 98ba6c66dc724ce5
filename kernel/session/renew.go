package session

import (
	"go/ast"
	"go/types"

	"golang.org/x/tools/go/ssa"
)

// cellsPerProgram is after how many cells a new program is begun, so that a
// long session does not keep every cell that it ever ran: often enough to keep
// little, seldom enough not to be felt.
const cellsPerProgram = 128

// syntax is the checked text of a cell whose generic declarations later cells
// may instantiate.
type syntax struct {
	file *ast.File
	info *types.Info
}

// hasGenerics tells whether a cell declares generic functions or types.
func (c *checked) hasGenerics() bool {
	for _, t := range c.types {
		if t.TypeParams != nil {
			return true
		}
	}
	for _, f := range c.funcs {
		if f.Type.TypeParams != nil {
			return true
		}
	}
	return false
}

// renew begins a new program and lets go of what cells can no longer reach.
func (s *Session) renew() {
	s.built = 0
	named := map[*types.Named]bool{}
	packages := map[*types.Package]bool{}
	seen := map[types.Type]bool{}
	for _, obj := range s.scope {
		packages[obj.Pkg()] = true
		reach(obj.Type(), named, seen)
	}
	for n := range named {
		packages[n.Obj().Pkg()] = true
	}
	inScope := func(obj types.Object) bool { return s.scope[obj.Name()] == obj }
	s.world.Compact(
		func(f *types.Func) bool {
			if r := f.Signature().Recv(); r != nil {
				t := r.Type()
				if p, ok := t.(*types.Pointer); ok {
					t = p.Elem()
				}
				n, ok := types.Unalias(t).(*types.Named)
				return !ok || f.Pkg() == nil || f.Pkg().Path() != "main" || named[n.Origin()]
			}
			return f.Pkg() == nil || f.Pkg().Path() != "main" || inScope(f)
		},
		func(v *types.Var) bool { return v.Pkg() == nil || v.Pkg().Path() != "main" || inScope(v) },
		func(n *types.Named) bool { return named[n.Origin()] },
	)
	for p := range s.generic {
		if !packages[p] {
			delete(s.generic, p)
		}
	}
	for p := range s.origin {
		if !packages[p] {
			delete(s.origin, p)
		}
	}
	for p, files := range s.opened {
		if _, ok := s.generic[p]; ok {
			continue
		}
		for _, f := range files {
			s.dropFile(f)
		}
		delete(s.opened, p)
	}
	s.begin()
}

// begin begins a program.
func (s *Session) begin() {
	s.prog = ssa.NewProgram(s.fset, ssa.InstantiateGenerics|ssa.BareInits|ssa.BuildSerially)
	s.created = map[*types.Package]bool{}
	s.world.Use(s.prog)
}

// reach collects the types of cells that values of type t lead to.
func reach(t types.Type, named map[*types.Named]bool, seen map[types.Type]bool) {
	if t == nil || seen[t] {
		return
	}
	seen[t] = true
	each := func(vars *types.Tuple) {
		for v := range vars.Variables() {
			reach(v.Type(), named, seen)
		}
	}
	switch t := t.(type) {
	case *types.Alias:
		reach(types.Unalias(t), named, seen)
	case *types.Named:
		for a := range t.TypeArgs().Types() {
			reach(a, named, seen)
		}
		if p := t.Obj().Pkg(); p == nil || p.Path() != "main" {
			return
		}
		named[t.Origin()] = true
		reach(t.Underlying(), named, seen)
		for m := range t.Methods() {
			reach(m.Type(), named, seen)
		}
	case *types.Pointer:
		reach(t.Elem(), named, seen)
	case *types.Slice:
		reach(t.Elem(), named, seen)
	case *types.Array:
		reach(t.Elem(), named, seen)
	case *types.Chan:
		reach(t.Elem(), named, seen)
	case *types.Map:
		reach(t.Key(), named, seen)
		reach(t.Elem(), named, seen)
	case *types.Struct:
		for f := range t.Fields() {
			reach(f.Type(), named, seen)
		}
	case *types.Signature:
		each(t.Params())
		each(t.Results())
	case *types.Interface:
		for m := range t.Methods() {
			reach(m.Type(), named, seen)
		}
	}
}
