package session

import (
	"go/ast"
	"go/token"
	"go/types"
	"runtime"
	"strings"
)

// methodMark stands in the name of the function that a method of an earlier
// cell's type becomes: go/types lets a package declare methods of its own types
// only.
const methodMark = "ꞏmethodꞏ"

// A late method is one that a cell gives to a type of an earlier cell.
type lateMethod struct {
	decl *ast.FuncDecl
	name string // of the method
	base *types.Named
	obj  *types.Func // the method, when it is known
}

// receiverBase returns the name in a receiver's type, and whether it has type
// parameters.
func receiverBase(d *ast.FuncDecl) (id *ast.Ident, generic bool) {
	if d.Recv == nil || len(d.Recv.List) != 1 {
		return nil, false
	}
	e := ast.Unparen(d.Recv.List[0].Type)
	if s, ok := e.(*ast.StarExpr); ok {
		e = ast.Unparen(s.X)
	}
	switch x := e.(type) {
	case *ast.IndexExpr:
		e, generic = x.X, true
	case *ast.IndexListExpr:
		e, generic = x.X, true
	}
	id, _ = e.(*ast.Ident)
	return id, generic
}

// lateMethods turns methods of earlier cells' types into functions.
func (s *Session) lateMethods(c *checked) (list []*lateMethod, wrong []complaint) {
	for _, d := range c.methods {
		base, generic := receiverBase(d)
		if base == nil || c.declared[base.Name] {
			continue
		}
		tn, ok := s.scope[base.Name].(*types.TypeName)
		if !ok {
			continue
		}
		named, ok := tn.Type().(*types.Named)
		if !ok || tn.Pkg().Path() != "main" {
			continue
		}
		if generic || named.TypeParams().Len() > 0 {
			wrong = append(wrong, complaint{"TypeError", s.offset(base.Pos()),
				"a method of the generic type " + base.Name + " must stand in the cell that declares " + base.Name})
			continue
		}
		m := &lateMethod{decl: d, name: d.Name.Name, base: named}
		field := d.Recv.List[0]
		if len(field.Names) == 0 {
			field = &ast.Field{Names: []*ast.Ident{{NamePos: field.Pos(), Name: "_"}}, Type: field.Type}
		}
		params := &ast.FieldList{Opening: d.Type.Params.Opening, Closing: d.Type.Params.Closing, List: []*ast.Field{field}}
		for _, f := range d.Type.Params.List {
			if len(f.Names) == 0 {
				f = &ast.Field{Names: []*ast.Ident{{NamePos: f.Pos(), Name: "_"}}, Type: f.Type}
			}
			params.List = append(params.List, f)
		}
		d.Recv = nil
		d.Type = &ast.FuncType{Func: d.Type.Func, Params: params, Results: d.Type.Results}
		d.Name = &ast.Ident{NamePos: d.Name.NamePos, Name: base.Name + methodMark + m.name}
		list = append(list, m)
	}
	return list, wrong
}

// signatures finds out the signatures of late methods and makes the methods
// known to their types, so that the cell can call them.
func (s *Session) signatures(c *checked, list []*lateMethod) (wrong []complaint) {
	info := newInfo()
	pkg := types.NewPackage("main", "main")
	for name := range c.mentions {
		if obj := s.scope[name]; obj != nil && c.names[name] == "" && !c.declared[name] {
			pkg.Scope().Insert(obj)
		}
	}
	file := &ast.File{Name: c.file.Name, Package: c.file.Package, FileStart: c.file.FileStart, FileEnd: c.file.FileEnd}
	for _, d := range c.file.Decls {
		if g, ok := d.(*ast.GenDecl); ok && g.Tok == token.IMPORT {
			file.Decls = append(file.Decls, d)
		}
	}
	for _, m := range list {
		file.Decls = append(file.Decls, m.decl)
	}
	conf := types.Config{Importer: s.packages, GoVersion: goVersion, IgnoreFuncBodies: true, Sizes: types.SizesFor("gc", runtime.GOARCH), Error: func(error) {}}
	_ = types.NewChecker(&conf, s.fset, pkg, info).Files([]*ast.File{file}) // errors come again with the whole cell
	for _, m := range list {
		f, ok := info.Defs[m.decl.Name].(*types.Func)
		if !ok {
			continue
		}
		sig := f.Signature()
		valid := true
		for v := range sig.Params().Variables() {
			valid = valid && v.Type() != types.Typ[types.Invalid]
		}
		for v := range sig.Results().Variables() {
			valid = valid && v.Type() != types.Typ[types.Invalid]
		}
		if !valid {
			for name := range c.types {
				if strings.Contains(types.ExprString(m.decl.Type), name) {
					wrong = append(wrong, complaint{"TypeError", s.offset(m.decl.Name.Pos()),
						"method " + m.base.Obj().Name() + "." + m.name + " mentions " + name + ", which this cell declares: declare " + name + " in a cell before"})
					break
				}
			}
			continue
		}
		var params []*types.Var
		for i := 1; i < sig.Params().Len(); i++ {
			params = append(params, sig.Params().At(i))
		}
		recv := sig.Params().At(0)
		method := types.NewSignatureType(types.NewVar(recv.Pos(), m.base.Obj().Pkg(), recv.Name(), recv.Type()), nil, nil, types.NewTuple(params...), sig.Results(), sig.Variadic())
		old := existing(m.base, m.name)
		switch {
		case old == nil:
			if obj, _, _ := types.LookupFieldOrMethod(m.base, true, m.base.Obj().Pkg(), m.name); obj != nil {
				if v, ok := obj.(*types.Var); ok && v.IsField() && !v.Embedded() && directField(m.base, m.name) {
					wrong = append(wrong, complaint{"TypeError", s.offset(m.decl.Name.Pos()), "field and method with the same name " + m.name})
					continue
				}
			}
			m.obj = types.NewFunc(m.decl.Name.Pos(), m.base.Obj().Pkg(), m.name, method)
			m.base.AddMethod(m.obj)
			s.phantoms[m.obj] = true
			s.world.MethodsChanged()
		case s.phantoms[old]:
			*old.Signature() = *method // never called: its cell did not pass the check
			m.obj = old
		case types.Identical(old.Type(), method) && types.Identical(old.Signature().Recv().Type(), method.Recv().Type()):
			m.obj = old
		default:
			wrong = append(wrong, complaint{"TypeError", s.offset(m.decl.Name.Pos()),
				"method " + m.base.Obj().Name() + "." + m.name + " has another signature in " + s.whence(old) + ": declare type " + m.base.Obj().Name() + " again, with all its methods"})
		}
	}
	return wrong
}

func directField(n *types.Named, name string) bool {
	st, ok := n.Underlying().(*types.Struct)
	if !ok {
		return false
	}
	for f := range st.Fields() {
		if f.Name() == name {
			return true
		}
	}
	return false
}

func existing(n *types.Named, name string) *types.Func {
	for m := range n.Methods() {
		if m.Name() == name {
			return m
		}
	}
	return nil
}

// whence names the cell that declares obj.
func (s *Session) whence(obj types.Object) string {
	if n, ok := s.origin[obj.Pkg()]; ok {
		return cellName(n)
	}
	return "an earlier cell"
}
