package compiled

import (
	"errors"
	"go/ast"
	"go/parser"
	"go/scanner"
	"go/token"
	"slices"
	"strings"

	"counterpoise/kernel/session"
	"counterpoise/worksheets/proof"
)

// A cell is the Go of one notebook cell, cut into what a program needs.
type cell struct {
	index      int // in the notebook
	code       string
	imports    []spec
	decls      []*decl
	statements []statement
	shown      bool            // the last statement is an expression to be shown
	whole      bool            // it has a package clause: its main is to be called
	mentions   map[string]bool // names that the statements use and do not declare
}

// A spec is one import.
type spec struct {
	name string // as written, or what the path lets expect
	text string // as it stands in an import declaration, with its name
	line int
}

// A decl is one func, type or const declaration.
type decl struct {
	names    []string // that it declares; a method declares none
	of       string   // a method: the name of its receiver's type
	text     string
	line     int
	fn       *fn // nil: a type or const
	generic  bool
	mentions map[string]bool
	lifted   bool // it stands outside main
}

// A fn is what makes a function declaration a closure.
type fn struct {
	signature string // parameters and results
	body      string // all from the parameters on
}

// A statement is one statement of a cell.
type statement struct {
	text     string
	line     int
	declares []string
	call     bool  // it is a call of a function, or looks like one
	variable *decl // a var declaration, which may have to stand outside main; else nil
}

const (
	declPrefix = "package p;"
	runPrefix  = "package p;func _(){"
)

// read cuts a cell. The failure tells what cannot be read as Go.
func read(index int, code string) (*cell, *proof.Failure) {
	c := &cell{index: index, code: code, mentions: map[string]bool{}}
	statements := blank(code)
	for _, p := range session.Pieces(code) {
		text := code[p.Start:p.End]
		switch p.Kind {
		case session.Package:
			c.whole = true
		case session.Statement:
			copy(statements[p.Start:], text)
		default:
			f, err := parser.ParseFile(token.NewFileSet(), "", declPrefix+text, 0)
			if err != nil {
				return nil, c.unreadable(err, p.Start-len(declPrefix))
			}
			if p.Kind == session.Import {
				c.importing(f, p.Start)
			} else {
				c.declare(f, p.Start)
			}
		}
	}
	f, err := parser.ParseFile(token.NewFileSet(), "", runPrefix+string(statements)+"\n}", 0)
	if err != nil {
		return nil, c.unreadable(err, -len(runPrefix))
	}
	if len(f.Decls) != 1 {
		return nil, &proof.Failure{Cell: index, Line: 1, Say: "unexpected }"}
	}
	c.run(f)
	return c, nil
}

// blank returns text of the same lines with nothing on them.
func blank(code string) []byte {
	b := []byte(code)
	for i := range b {
		if b[i] != '\n' {
			b[i] = ' '
		}
	}
	return b
}

// unreadable tells the first mistake; moved is where the parser's text begins
// in the cell.
func (c *cell) unreadable(err error, moved int) *proof.Failure {
	f := &proof.Failure{Cell: c.index, Say: err.Error()}
	var list scanner.ErrorList
	if errors.As(err, &list) && len(list) > 0 {
		f.Line, f.Say = c.line(list[0].Pos.Offset+moved), list[0].Msg
	}
	return f
}

// line returns the line of a byte of the cell, from 1.
func (c *cell) line(offset int) int {
	return 1 + strings.Count(c.code[:min(max(offset, 0), len(c.code))], "\n")
}

func (c *cell) importing(f *ast.File, start int) {
	for _, s := range f.Imports {
		at := start + int(s.Path.Pos()) - 1 - len(declPrefix)
		one := spec{name: expected(strings.Trim(s.Path.Value, "\"`")), line: c.line(at)}
		if s.Name != nil {
			one.name = s.Name.Name
		}
		one.text = s.Path.Value
		if s.Name != nil {
			one.text = s.Name.Name + " " + s.Path.Value
		}
		c.imports = append(c.imports, one)
	}
}

// expected is the name that a package of this path most likely has: the last
// part that is not a major version.
func expected(path string) string {
	parts := strings.Split(path, "/")
	last := parts[len(parts)-1]
	if len(parts) > 1 && len(last) > 1 && last[0] == 'v' && strings.Trim(last[1:], "0123456789") == "" {
		last = parts[len(parts)-2]
	}
	name, _, _ := strings.Cut(last, ".")
	return name
}

func (c *cell) declare(f *ast.File, start int) {
	text := func(from, to token.Pos) string {
		shift := start - 1 - len(declPrefix)
		return c.code[shift+int(from) : min(shift+int(to), len(c.code))]
	}
	mentions := map[string]bool{}
	for _, id := range f.Unresolved {
		mentions[id.Name] = true
	}
	for _, d := range f.Decls {
		one := &decl{text: text(d.Pos(), d.End()), line: c.line(start - 1 - len(declPrefix) + int(d.Pos())), mentions: mentions}
		switch d := d.(type) {
		case *ast.FuncDecl:
			one.function(d, text)
		case *ast.GenDecl:
			for _, s := range d.Specs {
				switch s := s.(type) {
				case *ast.TypeSpec:
					one.names = append(one.names, s.Name.Name)
					one.generic = one.generic || s.TypeParams != nil
				case *ast.ValueSpec:
					for _, id := range s.Names {
						one.names = append(one.names, id.Name)
					}
				}
			}
		}
		c.decls = append(c.decls, one)
	}
}

func (o *decl) function(d *ast.FuncDecl, text func(from, to token.Pos) string) {
	o.generic = d.Type.TypeParams != nil
	if d.Recv != nil && len(d.Recv.List) > 0 {
		o.of = receiver(d.Recv.List[0].Type)
		o.mentions[o.of] = true
		return
	}
	o.names = []string{d.Name.Name}
	end := d.End()
	if d.Body != nil {
		end = d.Body.Lbrace
	}
	o.fn = &fn{signature: strings.TrimSpace(text(d.Type.Params.Pos(), end)), body: text(d.Type.Params.Pos(), d.End())}
}

// receiver is the name of a receiver's type.
func receiver(e ast.Expr) string {
	for {
		switch x := e.(type) {
		case *ast.StarExpr:
			e = x.X
		case *ast.ParenExpr:
			e = x.X
		case *ast.IndexExpr:
			e = x.X
		case *ast.IndexListExpr:
			e = x.X
		case *ast.Ident:
			return x.Name
		default:
			return ""
		}
	}
}

// run takes the statements from the function that holds them.
func (c *cell) run(f *ast.File) {
	for _, id := range f.Unresolved {
		c.mentions[id.Name] = true
	}
	for _, st := range f.Decls[0].(*ast.FuncDecl).Body.List {
		from := int(st.Pos()) - 1 - len(runPrefix)
		to := min(int(st.End())-1-len(runPrefix), len(c.code))
		if _, empty := st.(*ast.EmptyStmt); empty || from >= to {
			continue
		}
		one := statement{text: c.code[from:to], line: c.line(from), declares: declared(st)}
		if _, ok := st.(*ast.DeclStmt); ok && len(one.declares) > 0 {
			one.variable = variable(&one)
		}
		e, expression := st.(*ast.ExprStmt)
		if expression {
			_, one.call = ast.Unparen(e.X).(*ast.CallExpr)
		}
		c.shown = expression
		c.statements = append(c.statements, one)
	}
}

// variable reads a var declaration as one outside functions.
func variable(st *statement) *decl {
	f, err := parser.ParseFile(token.NewFileSet(), "", declPrefix+st.text, 0)
	if err != nil {
		return nil
	}
	d := &decl{names: st.declares, text: st.text, line: st.line, mentions: map[string]bool{}}
	for _, id := range f.Unresolved {
		d.mentions[id.Name] = true
	}
	return d
}

// outside lists what may stand outside main, in the order of the cell's kinds.
func (c *cell) outside() []*decl {
	list := slices.Clone(c.decls)
	for _, st := range c.statements {
		if st.variable != nil {
			list = append(list, st.variable)
		}
	}
	return list
}

// declared lists the variables that a statement declares for those after it.
func declared(st ast.Stmt) []string {
	var names []string
	add := func(id *ast.Ident) {
		if id.Name != "_" && !slices.Contains(names, id.Name) {
			names = append(names, id.Name)
		}
	}
	switch st := st.(type) {
	case *ast.AssignStmt:
		if st.Tok == token.DEFINE {
			for _, l := range st.Lhs {
				if id, ok := l.(*ast.Ident); ok {
					add(id)
				}
			}
		}
	case *ast.DeclStmt:
		if g, ok := st.Decl.(*ast.GenDecl); ok && g.Tok == token.VAR {
			for _, s := range g.Specs {
				for _, id := range s.(*ast.ValueSpec).Names {
					add(id)
				}
			}
		}
	}
	return names
}
