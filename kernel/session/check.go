package session

import (
	"go/ast"
	"go/constant"
	"go/token"
	"go/types"
	"runtime"
	"sort"
	"strconv"
	"strings"
)

// A checked cell is ready to be built and run.
type checked struct {
	*parsed
	pkg   *types.Package
	info  *types.Info
	shown bool              // the last expression is shown
	names map[string]string // imports, name to path
	dots  []string
	uses  map[*types.Package]bool // packages of earlier cells
	late  []*lateMethod
	// positional: literals list unexported fields of earlier cells' types
	positional bool
}

// A complaint is one thing wrong with a cell.
type complaint struct {
	name   string // SyntaxError, ImportError or TypeError
	offset int
	msg    string
}

// check reads and checks a cell. It changes nothing but the set of files.
func (s *Session) check(code string, number int) (*checked, []complaint) {
	p, syntax := s.parse(code, number)
	if len(syntax) > 0 {
		var list []complaint
		for _, e := range syntax {
			list = append(list, complaint{"SyntaxError", e.offset, e.msg})
		}
		return &checked{parsed: p}, sorted(list)
	}
	c := &checked{parsed: p, names: map[string]string{}, uses: map[*types.Package]bool{}}
	var list []complaint
	for _, st := range p.repeated {
		list = append(list, complaint{"TypeError", s.offset(st.TokPos), "no new variables on left side of :="})
	}
	if wrong := s.addImports(c); len(wrong) > 0 {
		list = append(list, wrong...)
		return c, sorted(list)
	}
	late, wrong := s.lateMethods(c)
	if len(wrong) > 0 {
		return c, sorted(append(list, wrong...))
	}
	if len(late) > 0 {
		c.late = late
		if wrong := s.signatures(c, late); len(wrong) > 0 {
			return c, sorted(append(list, wrong...))
		}
	}
	show := p.last != nil && !printing(p.last.X)
	if show {
		undo := p.showing()
		errs := s.types(c)
		if len(errs) > 0 && noValue(errs, s.offset(p.last.X.Pos())) {
			undo()
			show = false
		} else {
			c.shown = true
			list = append(list, errs...)
		}
	}
	if !show {
		list = append(list, s.types(c)...)
	}
	return c, sorted(list)
}

// noValue tells whether all that is wrong is that the last expression has no value.
func noValue(errs []complaint, at int) bool {
	for _, e := range errs {
		if e.offset >= at && strings.Contains(e.msg, "(no value) used as value") {
			return true
		}
	}
	return false
}

// offset returns where in the cell pos is.
func (s *Session) offset(pos token.Pos) int {
	f := s.fset.File(pos)
	if f == nil {
		return 0
	}
	src, _ := s.file(f)
	return min(max(f.Offset(pos)-src.prefix, 0), len(src.code))
}

func sorted(list []complaint) []complaint {
	// What does not keep a cell from meaning something comes last.
	minor := func(c complaint) bool { return strings.HasPrefix(c.msg, "declared and not used") }
	sort.SliceStable(list, func(i, j int) bool {
		if minor(list[i]) != minor(list[j]) {
			return minor(list[j])
		}
		if list[i].offset != list[j].offset {
			return list[i].offset < list[j].offset
		}
		return strings.HasPrefix(list[i].msg, "assignment mismatch") && !strings.HasPrefix(list[j].msg, "assignment mismatch")
	})
	var out []complaint
	for _, c := range list {
		same := false
		for _, o := range out {
			if o.offset == c.offset && (o.msg == c.msg || o.name == c.name) {
				same = true
			}
		}
		if !same {
			out = append(out, c)
		}
	}
	return out
}

// addImports reads the cell's imports, and adds those of earlier cells that it
// mentions.
func (s *Session) addImports(c *checked) []complaint {
	var wrong []complaint
	for _, spec := range c.imports {
		path, err := strconv.Unquote(spec.Path.Value)
		if err != nil {
			wrong = append(wrong, complaint{"SyntaxError", s.offset(spec.Path.Pos()), "invalid import path"})
			continue
		}
		pkg, err := s.packages.Import(path)
		if err != nil {
			wrong = append(wrong, complaint{"ImportError", s.offset(spec.Path.Pos()), "could not import " + path + ": " + err.Error()})
			continue
		}
		switch {
		case spec.Name == nil:
			c.names[pkg.Name()] = path
		case spec.Name.Name == ".":
			c.dots = append(c.dots, path)
		case spec.Name.Name != "_":
			c.names[spec.Name.Name] = path
		}
	}
	if len(wrong) > 0 {
		return wrong
	}
	var decls []ast.Decl
	add := func(name, path string) {
		decls = append(decls, &ast.GenDecl{Tok: token.IMPORT, TokPos: c.file.Package, Specs: []ast.Spec{
			&ast.ImportSpec{Name: &ast.Ident{Name: name, NamePos: c.file.Package}, Path: &ast.BasicLit{Kind: token.STRING, Value: strconv.Quote(path), ValuePos: c.file.Package}}}})
	}
	for name, path := range s.imports {
		if c.mentions[name] && c.names[name] == "" && !c.declared[name] && s.scope[name] == nil {
			add(name, path)
		}
	}
	for _, path := range s.dots {
		add(".", path)
	}
	// Imports come first.
	c.file.Decls = append(decls, c.file.Decls...)
	return nil
}

// types checks a parsed cell.
func (s *Session) types(c *checked) []complaint {
	c.info = newInfo()
	c.pkg = types.NewPackage("main", "main")
	scope := c.pkg.Scope()
	insert := func(name string, obj types.Object) {
		if c.names[name] == "" && !c.declared[name] {
			scope.Insert(obj)
			if p := obj.Pkg(); p != nil {
				c.uses[p] = true
			}
		}
	}
	for name := range c.mentions {
		if obj := s.scope[name]; obj != nil {
			insert(name, obj)
		} else if obj := s.predeclared(name); obj != nil {
			insert(name, obj)
		}
	}
	for name := range c.old {
		if obj := s.renamed(name); obj != nil {
			scope.Insert(obj)
			c.uses[obj.Pkg()] = true
		}
	}
	scope.Insert(showFunc)
	c.uses[kernelPackage] = true
	var list []complaint
	conf := types.Config{
		Importer:  s.packages,
		GoVersion: goVersion,
		Sizes:     types.SizesFor("gc", runtime.GOARCH),
		Error: func(err error) {
			e, ok := err.(types.Error)
			if !ok {
				return
			}
			if strings.HasSuffix(e.Msg, "imported and not used") || strings.Contains(e.Msg, "imported as") && strings.HasSuffix(e.Msg, "and not used") {
				return
			}
			if strings.HasPrefix(e.Msg, "\t") {
				return // continues the one before
			}
			if strings.HasPrefix(e.Msg, "implicit assignment to unexported field") && strings.Contains(e.Msg, "main.") {
				c.positional = true // of an earlier cell's type: the same package to the student
				return
			}
			list = append(list, complaint{"TypeError", s.offset(s.placed(c, e)), s.reword(e.Msg)})
		},
	}
	ck := types.NewChecker(&conf, s.fset, c.pkg, c.info)
	_ = ck.Files([]*ast.File{c.file}) // what is wrong went to conf.Error
	// What statements initialise is initialised when their turn comes.
	order := c.info.InitOrder
	c.info.InitOrder = nil
	for _, i := range order {
		if c.declFile != nil && s.fset.File(i.Rhs.Pos()) == c.declFile {
			c.info.InitOrder = append(c.info.InitOrder, i)
		}
	}
	if c.positional {
		list = append(list, s.positionalLiterals(c)...)
	}
	return list
}

// renamed returns another object for the earlier cell's name, under the name
// that this cell's early uses were given.
func (s *Session) renamed(name string) types.Object {
	pkg := types.NewPackage("main", "main")
	switch old := s.scope[name].(type) {
	case *types.Var:
		v := types.NewVar(old.Pos(), pkg, name+oldMark, old.Type())
		s.world.Alias(v, old)
		pkg.Scope().Insert(v)
		return v
	case *types.Func:
		f := types.NewFunc(old.Pos(), pkg, name+oldMark, old.Signature())
		s.world.AliasFunc(f, old)
		pkg.Scope().Insert(f)
		return f
	case *types.Const:
		return types.NewConst(old.Pos(), pkg, name+oldMark, old.Type(), old.Val())
	case *types.TypeName:
		return types.NewTypeName(old.Pos(), pkg, name+oldMark, old.Type())
	}
	return nil
}

// reword puts a message of the checker into the words of cells.
func (s *Session) reword(msg string) string {
	msg = strings.ReplaceAll(msg, oldMark, "")
	if name, ok := strings.CutPrefix(msg, "undefined: "); ok {
		if path := s.importFor(name); path != "" {
			return msg + " (import " + strconv.Quote(path) + " first)"
		}
	}
	return msg
}

// positionalLiterals does what go/types leaves undone for unexported fields of
// earlier cells' types in literals without field names.
func (s *Session) positionalLiterals(c *checked) (list []complaint) {
	ast.Inspect(c.file, func(n ast.Node) bool {
		lit, ok := n.(*ast.CompositeLit)
		if !ok || len(lit.Elts) == 0 {
			return true
		}
		t := c.info.Types[lit].Type
		if t == nil {
			return true
		}
		if p, ok := t.Underlying().(*types.Pointer); ok {
			t = p.Elem()
		}
		st, ok := t.Underlying().(*types.Struct)
		if !ok {
			return true
		}
		for i, e := range lit.Elts {
			if _, ok := e.(*ast.KeyValueExpr); ok || i >= st.NumFields() {
				break
			}
			f := st.Field(i)
			tv := c.info.Types[e]
			if f.Exported() || f.Pkg() == c.pkg || tv.Type == nil {
				continue
			}
			if msg := settle(c.info, e, tv, f.Type()); msg != "" {
				list = append(list, complaint{"TypeError", s.offset(e.Pos()), "cannot use " + types.ExprString(e) + msg + " in struct literal"})
			}
		}
		return true
	})
	return list
}

// settle makes e, whose type may not be settled, a value of type t.
func settle(info *types.Info, e ast.Expr, tv types.TypeAndValue, t types.Type) string {
	if !types.AssignableTo(tv.Type, t) {
		return " (value of type " + types.TypeString(tv.Type, shortQualifier) + ") as " + types.TypeString(t, shortQualifier) + " value"
	}
	if b, ok := tv.Type.(*types.Basic); !ok || b.Info()&types.IsUntyped == 0 {
		return ""
	}
	if tv.Value != nil {
		if b, ok := t.Underlying().(*types.Basic); ok && b.Info()&types.IsConstType != 0 {
			if !representable(tv.Value, b) {
				return " (constant " + tv.Value.String() + ") as " + types.TypeString(t, shortQualifier) + " value"
			}
		}
	}
	if types.IsInterface(t) && !tv.IsNil() {
		t = types.Default(tv.Type)
	}
	tv.Type = t
	info.Types[e] = tv
	for p, ok := e.(*ast.ParenExpr); ok; p, ok = p.X.(*ast.ParenExpr) {
		info.Types[p.X] = tv
	}
	return ""
}

// representable tells whether a constant is a value of a basic type.
func representable(v constant.Value, b *types.Basic) bool {
	switch {
	case b.Info()&types.IsInteger != 0:
		v = constant.ToInt(v)
		if v.Kind() != constant.Int {
			return false
		}
		size := types.SizesFor("gc", runtime.GOARCH).Sizeof(b) * 8
		if b.Info()&types.IsUnsigned != 0 {
			return constant.Sign(v) >= 0 && constant.BitLen(v) <= int(size)
		}
		return constant.BitLen(v) < int(size) || constant.Sign(v) < 0 && constant.BitLen(constant.BinaryOp(v, token.ADD, constant.MakeInt64(1))) < int(size)
	case b.Info()&types.IsFloat != 0:
		return constant.ToFloat(v).Kind() == constant.Float
	}
	return true
}

// placed returns where the Go compiler sees an error, in the few cases in which
// package go/types sees it elsewhere in the same statement.
func (s *Session) placed(c *checked, e types.Error) token.Pos {
	pos := e.Pos
	switch {
	case strings.Contains(e.Msg, "cannot send to"):
		ast.Inspect(c.file, func(n ast.Node) bool {
			if st, ok := n.(*ast.SendStmt); ok && st.Arrow == e.Pos {
				pos = st.Pos()
			}
			return true
		})
	}
	return pos
}
