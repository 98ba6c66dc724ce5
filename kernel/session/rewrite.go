package session

import (
	"go/ast"
	"go/parser"
	"go/scanner"
	"go/token"
	"strings"
)

// Names that no cell will write: ꞏ is a letter, U+A78F, since go/types says
// nothing of names that are none.
const (
	runName  = "cellꞏrun"  // the function that holds a cell's statements
	showName = "cellꞏshow" // takes the last expression's values
	oldMark  = "ꞏold"      // ends the name of an earlier cell's variable that this cell declares anew
)

// A syntaxError is a place in a cell's text that cannot be read.
type syntaxError struct {
	offset int
	msg    string
}

// A parsed cell is one Go file: its imports, its declarations, and a function
// that runs its statements in order. Variables that the statements declare are
// variables of the package, so that other cells see them; the statement assigns
// them when its turn comes.
type parsed struct {
	code     string
	file     *ast.File
	run      *ast.FuncDecl
	imports  []*ast.ImportSpec
	last     *ast.ExprStmt // the last statement, if it is an expression
	program  bool          // the cell has a package clause
	declared map[string]bool
	funcs    map[string]*ast.FuncDecl
	types    map[string]*ast.TypeSpec
	methods  []*ast.FuncDecl
	mentions map[string]bool // names that neither the cell nor a block declares
	old      map[string]bool // names used before this cell declares them anew
	repeated []*ast.AssignStmt
	files    []*token.File
	declFile *token.File // of the declarations
}

const (
	declPrefix = "package p;"
	runPrefix  = "package p;func __(){"
)

// parse reads a cell. Variables that var declares are declared when their turn
// comes, like those of :=, so that cells run from top to bottom. Where that
// cannot be meant, in a whole program or in a cell that consists of
// declarations and uses a variable above its own, they are Go's variables of a
// package, initialised in the order that they need each other.
func (s *Session) parse(code string, number int) (*parsed, []syntaxError) {
	pieces := split(code)
	program, onlyVars := false, true
	var vars []int
	for i, pc := range pieces {
		switch {
		case pc.kind == packaging:
			program = true
		case pc.kind == statement && startsWith(code[pc.start:pc.end], "var"):
			vars = append(vars, i)
		case pc.kind == statement:
			onlyVars = false
		}
	}
	if program {
		return s.parsePieces(code, number, ofPackage(code, pieces, vars))
	}
	p, errs := s.parsePieces(code, number, pieces)
	if onlyVars && len(vars) > 0 && len(errs) == 0 {
		for name := range p.old {
			if s.scope[name] == nil {
				s.forget(&checked{parsed: p})
				return s.parsePieces(code, number, ofPackage(code, pieces, vars))
			}
		}
	}
	return p, errs
}

func startsWith(text, word string) bool {
	rest, ok := strings.CutPrefix(text, word)
	return ok && (rest == "" || strings.ContainsAny(rest[:1], " \t(\n"))
}

// ofPackage makes the var pieces declarations of the package.
func ofPackage(code string, pieces []piece, vars []int) []piece {
	pieces = append([]piece(nil), pieces...)
	for _, i := range vars {
		pieces[i].kind = declaration
		pieces[i].start = withComment(code, pieces[:i], pieces[i].start)
	}
	return pieces
}

// parsePieces reads a cell that is cut into pieces.
func (s *Session) parsePieces(code string, number int, pieces []piece) (*parsed, []syntaxError) {
	p := &parsed{
		code: code, declared: map[string]bool{}, funcs: map[string]*ast.FuncDecl{}, types: map[string]*ast.TypeSpec{},
		mentions: map[string]bool{}, old: map[string]bool{},
	}
	has := map[kind]bool{}
	lastIsStatement := false
	for _, pc := range pieces {
		has[pc.kind] = true
		lastIsStatement = pc.kind == statement
	}
	p.program = has[packaging]
	var errs []syntaxError
	read := func(prefix, suffix string, want func(kind) bool, mode parser.Mode) *ast.File {
		text := prefix + only(code, pieces, want) + suffix
		before := s.fset.Base()
		f, err := parser.ParseFile(s.fset, cellName(number), text, mode|parser.AllErrors|parser.ParseComments)
		if tf := s.fset.File(token.Pos(before)); tf != nil {
			s.setFile(tf, source{number, len(prefix), code})
			p.files = append(p.files, tf)
		}
		if list, ok := err.(scanner.ErrorList); ok {
			for _, e := range list {
				errs = append(errs, syntaxError{min(max(e.Pos.Offset-len(prefix), 0), len(code)), e.Msg})
			}
		}
		return f
	}

	out := &ast.File{Name: ast.NewIdent("main"), Scope: ast.NewScope(nil)}
	p.file = out
	if has[importing] {
		f := read(declPrefix, "", func(k kind) bool { return k == importing }, 0)
		if f != nil {
			out.Package, out.FileStart, out.FileEnd = f.Package, f.FileStart, f.FileEnd
			out.Decls = append(out.Decls, f.Decls...)
			p.imports = f.Imports
		}
	}
	if has[declaration] {
		f := read(declPrefix, "", func(k kind) bool { return k == declaration }, 0)
		if f != nil {
			out.Package, out.FileStart, out.FileEnd = f.Package, f.FileStart, f.FileEnd
			out.Comments = append(out.Comments, f.Comments...)
			p.declFile = s.fset.File(f.FileStart)
			for _, d := range f.Decls {
				p.declare(d)
			}
			out.Decls = append(out.Decls, f.Decls...)
			for _, id := range f.Unresolved {
				p.mentions[id.Name] = true
			}
		}
	}
	f := read(runPrefix, "\n}", func(k kind) bool { return k == statement }, 0)
	if f != nil && len(f.Decls) > 0 {
		out.Package, out.FileStart, out.FileEnd = f.Package, f.FileStart, f.FileEnd
		if run, ok := f.Decls[0].(*ast.FuncDecl); ok && run.Body != nil && len(f.Decls) == 1 {
			p.run = run
			run.Name.Name = runName
			p.hoist(f)
			out.Decls = append(out.Decls, run)
			if lastIsStatement {
				p.last = lastExpression(run.Body)
			}
		} else if len(errs) == 0 {
			errs = append(errs, syntaxError{extra(code), "unexpected }"})
		}
	}
	if p.run == nil && len(errs) == 0 {
		errs = append(errs, syntaxError{0, "cannot read this cell"})
	}
	return p, errs
}

// extra finds the closing brace that has no opening one.
func extra(code string) int {
	var sc scanner.Scanner
	fset := token.NewFileSet()
	file := fset.AddFile("", fset.Base(), len(code))
	sc.Init(file, []byte(code), func(token.Position, string) {}, 0)
	depth := 0
	for {
		pos, tok, _ := sc.Scan()
		switch tok {
		case token.EOF:
			return 0
		case token.LBRACE:
			depth++
		case token.RBRACE:
			if depth--; depth < 0 {
				return file.Offset(pos)
			}
		}
	}
}

// declare notes what a declaration outside the statements declares.
func (p *parsed) declare(d ast.Decl) {
	switch d := d.(type) {
	case *ast.FuncDecl:
		if d.Recv != nil {
			p.methods = append(p.methods, d)
		} else if d.Name.Name != "_" && d.Name.Name != "init" {
			p.declared[d.Name.Name] = true
			p.funcs[d.Name.Name] = d
		}
	case *ast.GenDecl:
		for _, spec := range d.Specs {
			switch spec := spec.(type) {
			case *ast.TypeSpec:
				p.declared[spec.Name.Name] = true
				p.types[spec.Name.Name] = spec
			case *ast.ValueSpec:
				for _, n := range spec.Names {
					p.declared[n.Name] = true
				}
			}
		}
	}
}

// hoist turns the variables that the statements declare into variables of the
// package. The expressions that initialise them stand in both places: in the
// declaration to give the variable its type, in the statement to be run.
func (p *parsed) hoist(f *ast.File) {
	vars := map[string]bool{}
	var list []ast.Stmt
	for _, st := range p.run.Body.List {
		switch st := st.(type) {
		case *ast.AssignStmt:
			if st.Tok == token.DEFINE {
				if as := p.define(st, vars); as != nil {
					list = append(list, as)
					continue
				}
			}
		case *ast.DeclStmt:
			if g, ok := st.Decl.(*ast.GenDecl); ok && g.Tok == token.VAR {
				list = append(list, p.hoistVar(g, vars)...)
				continue
			}
		}
		list = append(list, st)
	}
	p.run.Body.List = list
	for _, id := range f.Unresolved {
		if vars[id.Name] {
			// Used before it is declared: an earlier cell's, if there is one.
			p.old[id.Name] = true
			id.Name += oldMark
			continue
		}
		p.mentions[id.Name] = true
	}
	for v := range vars {
		p.declared[v] = true
	}
}

func copyIdents(list []*ast.Ident) []ast.Expr {
	out := make([]ast.Expr, len(list))
	for i, id := range list {
		out[i] = &ast.Ident{NamePos: id.NamePos, Name: id.Name}
	}
	return out
}

// define hoists x := e, and returns x = e; nil if it declares nothing new.
func (p *parsed) define(st *ast.AssignStmt, vars map[string]bool) ast.Stmt {
	spec := &ast.ValueSpec{Values: st.Rhs}
	fresh := false
	var names []*ast.Ident
	for _, l := range st.Lhs {
		id, ok := l.(*ast.Ident)
		if !ok {
			return nil // go/types says what is wrong
		}
		names = append(names, id)
	}
	seen := map[string]bool{}
	for _, id := range names {
		n := &ast.Ident{NamePos: id.NamePos, Name: id.Name}
		if id.Name == "_" || vars[id.Name] || seen[id.Name] {
			n.Name = "_"
		} else {
			fresh = true
		}
		seen[id.Name] = true
		spec.Names = append(spec.Names, n)
	}
	if !fresh {
		p.repeated = append(p.repeated, st)
		return &ast.AssignStmt{Lhs: copyIdents(names), TokPos: st.TokPos, Tok: token.ASSIGN, Rhs: st.Rhs}
	}
	for n := range seen {
		if n != "_" {
			vars[n] = true
		}
	}
	p.file.Decls = append(p.file.Decls, &ast.GenDecl{TokPos: st.Pos(), Tok: token.VAR, Specs: []ast.Spec{spec}})
	return &ast.AssignStmt{Lhs: copyIdents(names), TokPos: st.TokPos, Tok: token.ASSIGN, Rhs: st.Rhs}
}

// hoistVar hoists a var declaration and returns its assignments.
func (p *parsed) hoistVar(g *ast.GenDecl, vars map[string]bool) []ast.Stmt {
	p.file.Decls = append(p.file.Decls, g)
	var list []ast.Stmt
	for _, spec := range g.Specs {
		v, ok := spec.(*ast.ValueSpec)
		if !ok {
			continue
		}
		for _, n := range v.Names {
			if n.Name != "_" {
				vars[n.Name] = true
			}
		}
		if len(v.Values) > 0 {
			blank := true
			for _, n := range v.Names {
				blank = blank && n.Name == "_"
			}
			if blank && v.Type != nil {
				continue // only a check of types
			}
			list = append(list, &ast.AssignStmt{Lhs: copyIdents(v.Names), TokPos: v.Names[0].End(), Tok: token.ASSIGN, Rhs: v.Values})
		}
	}
	return list
}

func lastExpression(b *ast.BlockStmt) *ast.ExprStmt {
	for i := len(b.List) - 1; i >= 0; i-- {
		switch st := b.List[i].(type) {
		case *ast.EmptyStmt:
			continue
		case *ast.ExprStmt:
			return st
		}
		return nil
	}
	return nil
}

// printing tells whether an expression is a call made for what it writes,
// whose count of bytes nobody wants to see.
func printing(e ast.Expr) bool {
	call, ok := ast.Unparen(e).(*ast.CallExpr)
	if !ok {
		return false
	}
	sel, ok := call.Fun.(*ast.SelectorExpr)
	if !ok {
		return false
	}
	name := sel.Sel.Name
	if id, ok := sel.X.(*ast.Ident); ok && id.Name == "fmt" {
		return strings.HasPrefix(name, "Print") || strings.HasPrefix(name, "Fprint") || strings.HasPrefix(name, "Sscan")
	}
	switch name {
	case "Write", "WriteString", "WriteByte", "WriteRune", "WriteTo":
		return true
	}
	return false
}

// showing makes the last expression an argument of the function that shows it,
// and returns how to undo that.
func (p *parsed) showing() (undo func()) {
	e := p.last.X
	p.last.X = &ast.CallExpr{Fun: &ast.Ident{NamePos: e.Pos(), Name: showName}, Lparen: e.Pos(), Args: []ast.Expr{e}, Rparen: e.End()}
	return func() { p.last.X = e }
}
