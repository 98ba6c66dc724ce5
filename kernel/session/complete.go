package session

import (
	"context"
	"go/ast"
	"go/scanner"
	"go/token"
	"go/types"
	"sort"
	"strings"
	"unicode"
	"unicode/utf8"

	"counterpoise/kernel/server"
	"counterpoise/kernel/symbols"
)

// maxItems bounds a list of completions: nobody reads more.
const maxItems = 400

// Complete returns what could stand at the byte offset pos of code.
func (s *Session) Complete(_ context.Context, code string, pos int) (out server.Completion) {
	s.mu.Lock()
	defer s.mu.Unlock()
	pos = min(max(pos, 0), len(code))
	start := wordStart(code, pos)
	out = server.Completion{Start: start, End: pos}
	defer func() { _ = recover() }() // half-written code may be anything
	if _, _, _, ok := directive(code); ok {
		return out
	}
	if lead, ok := importString(code[:pos]); ok {
		out.Start = pos - len(lead)
		for _, p := range symbols.Paths() {
			if strings.HasPrefix(p, lead) {
				out.Items = append(out.Items, server.CompletionItem{Text: p, Kind: "package", Signature: firstSentence(symbols.Doc(p, ""))})
			}
		}
		return out
	}
	if inComment(code[:start]) {
		return out
	}
	prefix := code[start:pos]
	var items []server.CompletionItem
	if start > 0 && code[start-1] == '.' && !(start > 1 && code[start-2] == '.') {
		items = s.members(code[:start], code[pos:], prefix)
	} else {
		items = s.names(code[:start], code[pos:], prefix)
	}
	exact := items[:0:0]
	for _, it := range items {
		if strings.HasPrefix(it.Text, prefix) {
			exact = append(exact, it)
		}
	}
	if len(exact) == 0 {
		for _, it := range items {
			if strings.HasPrefix(strings.ToLower(it.Text), strings.ToLower(prefix)) {
				exact = append(exact, it)
			}
		}
	}
	if len(exact) > maxItems {
		exact = exact[:maxItems]
	}
	out.Items = exact
	return out
}

func wordStart(code string, pos int) int {
	for pos > 0 {
		r, n := utf8.DecodeLastRuneInString(code[:pos])
		if r != '_' && !unicode.IsLetter(r) && !unicode.IsDigit(r) {
			break
		}
		pos -= n
	}
	return pos
}

// importString tells whether code ends inside an import path, and what of it is there.
func importString(code string) (lead string, ok bool) {
	q := strings.LastIndexByte(code, '"')
	if q < 0 || strings.ContainsAny(code[q:], "\n") {
		return "", false
	}
	before := code[:q]
	pieces := split(before + "\"\"")
	if len(pieces) == 0 || pieces[len(pieces)-1].kind != importing {
		return "", false
	}
	line := before[strings.LastIndexByte(before, '\n')+1:]
	if strings.Count(line, "\"")%2 != 0 {
		return "", false
	}
	return code[q+1:], true
}

// inComment tells whether code ends inside a comment or a string.
func inComment(code string) bool {
	var sc scanner.Scanner
	fset := token.NewFileSet()
	file := fset.AddFile("", fset.Base(), len(code))
	bad := false
	sc.Init(file, []byte(code), func(_ token.Position, msg string) {
		bad = bad || strings.Contains(msg, "not terminated")
	}, scanner.ScanComments)
	end, comment := 0, false
	for {
		pos, tok, lit := sc.Scan()
		if tok == token.EOF {
			break
		}
		if tok == token.SEMICOLON && lit == "\n" {
			continue
		}
		end = file.Offset(pos) + len(lit)
		comment = tok == token.COMMENT && strings.HasPrefix(lit, "//")
	}
	return bad || comment && end == len(code)
}

// placeholder stands where the name will stand that is being written.
const placeholder = "cell_here"

// partial checks a cell that is being written, with a placeholder at the cursor
// and the brackets closed that are open there.
func (s *Session) partial(before, after string) (*checked, token.Pos) {
	// What follows on later lines may declare what the line uses.
	code := before + placeholder + closers(before)
	c := s.tolerant(code)
	_ = after
	at := token.NoPos
	ast.Inspect(c.file, func(n ast.Node) bool {
		if id, ok := n.(*ast.Ident); ok && (id.Name == placeholder || id.Name == placeholder+oldMark) {
			at = id.Pos()
		}
		return at == token.NoPos
	})
	return c, at
}

// tolerant checks a cell whatever is wrong with it.
func (s *Session) tolerant(code string) *checked {
	p, _ := s.parse(code, 0)
	c := &checked{parsed: p, names: map[string]string{}, uses: map[*types.Package]bool{}}
	defer s.forget(c)
	s.addImports(c)
	late, _ := s.lateMethods(c)
	_ = late
	if p.file != nil {
		s.types(c)
	}
	return c
}

// closers returns what closes the brackets open at the end of code.
func closers(code string) string {
	var sc scanner.Scanner
	fset := token.NewFileSet()
	file := fset.AddFile("", fset.Base(), len(code))
	sc.Init(file, []byte(code), func(token.Position, string) {}, 0)
	var open []byte
	for {
		_, tok, _ := sc.Scan()
		switch tok {
		case token.EOF:
			var b strings.Builder
			for i := len(open) - 1; i >= 0; i-- {
				if open[i] == '}' {
					b.WriteByte('\n')
				}
				b.WriteByte(open[i])
			}
			return b.String()
		case token.LPAREN:
			open = append(open, ')')
		case token.LBRACK:
			open = append(open, ']')
		case token.LBRACE:
			open = append(open, '}')
		case token.RPAREN, token.RBRACK, token.RBRACE:
			if len(open) > 0 {
				open = open[:len(open)-1]
			}
		}
	}
}

// members lists what may follow a dot.
func (s *Session) members(before, after, prefix string) []server.CompletionItem {
	c, at := s.partial(before, after)
	var sel *ast.SelectorExpr
	if at.IsValid() {
		ast.Inspect(c.file, func(n ast.Node) bool {
			if x, ok := n.(*ast.SelectorExpr); ok && x.Sel.Pos() == at {
				sel = x
			}
			return sel == nil
		})
	}
	if sel == nil {
		return s.packageMembers(wordBefore(before))
	}
	if id, ok := sel.X.(*ast.Ident); ok {
		if pn, ok := c.info.Uses[id].(*types.PkgName); ok {
			return packageItems(pn.Imported())
		}
	}
	tv, ok := c.info.Types[sel.X]
	if !ok || tv.Type == nil || tv.Type == types.Typ[types.Invalid] {
		if id, ok := sel.X.(*ast.Ident); ok {
			return s.packageMembers(id.Name)
		}
		return nil
	}
	return typeItems(tv.Type, c.pkg)
}

func wordBefore(code string) string {
	code = strings.TrimSuffix(code, ".")
	return code[wordStart(code, len(code)):]
}

// packageMembers lists the names of a package that is not imported yet.
func (s *Session) packageMembers(name string) []server.CompletionItem {
	if path := s.imports[name]; path != "" {
		if pkg, err := s.packages.Import(path); err == nil {
			return packageItems(pkg)
		}
	}
	for _, path := range symbols.Named(name) {
		if pkg, err := s.packages.Import(path); err == nil && pkg.Name() == name {
			return packageItems(pkg)
		}
	}
	return nil
}

func packageItems(pkg *types.Package) []server.CompletionItem {
	var items []server.CompletionItem
	for _, name := range pkg.Scope().Names() {
		if obj := pkg.Scope().Lookup(name); obj.Exported() {
			items = append(items, item(obj))
		}
	}
	return items
}

// item describes an object.
func item(obj types.Object) server.CompletionItem {
	it := server.CompletionItem{Text: obj.Name(), Kind: kindOf(obj)}
	switch obj := obj.(type) {
	case *types.Func:
		it.Signature = strings.TrimPrefix(types.TypeString(obj.Type(), shortQualifier), "func")
	case *types.Var:
		it.Signature = types.TypeString(obj.Type(), shortQualifier)
	case *types.Const:
		it.Signature = "= " + obj.Val().String()
	case *types.TypeName:
		it.Signature = underlyingWord(obj.Type())
	case *types.PkgName:
		it.Signature = obj.Imported().Path()
	}
	return it
}

func underlyingWord(t types.Type) string {
	switch u := t.Underlying().(type) {
	case *types.Struct:
		return "struct"
	case *types.Interface:
		return "interface"
	default:
		return types.TypeString(u, shortQualifier)
	}
}

func kindOf(obj types.Object) string {
	switch obj := obj.(type) {
	case *types.Func:
		if obj.Signature().Recv() != nil {
			return "method"
		}
		return "function"
	case *types.Builtin:
		return "function"
	case *types.Var:
		if obj.IsField() {
			return "field"
		}
		return "variable"
	case *types.Const, *types.Nil:
		return "constant"
	case *types.TypeName:
		return "type"
	case *types.PkgName:
		return "package"
	}
	return "variable"
}

// shortQualifier writes package names as cells do: none for what cells declare.
func shortQualifier(p *types.Package) string {
	if p.Path() == "main" || p.Path() == cellPackage {
		return ""
	}
	return p.Name()
}

// typeItems lists the fields and methods of values of type t.
func typeItems(t types.Type, from *types.Package) []server.CompletionItem {
	var items []server.CompletionItem
	seen := map[string]bool{}
	visible := func(obj types.Object) bool {
		return obj.Exported() || obj.Pkg() != nil && obj.Pkg().Path() == from.Path()
	}
	add := func(obj types.Object) {
		if visible(obj) && !seen[obj.Name()] {
			seen[obj.Name()] = true
			items = append(items, item(obj))
		}
	}
	// Fields, those of embedded structs after the nearer ones.
	type level struct{ t types.Type }
	queue, done := []level{{t}}, map[types.Type]bool{}
	for len(queue) > 0 {
		l := queue[0]
		queue = queue[1:]
		u := l.t
		if p, ok := u.Underlying().(*types.Pointer); ok {
			u = p.Elem()
		}
		if done[u] {
			continue
		}
		done[u] = true
		if st, ok := u.Underlying().(*types.Struct); ok {
			for f := range st.Fields() {
				add(f)
				if f.Embedded() {
					queue = append(queue, level{f.Type()})
				}
			}
		}
	}
	mt := t
	if _, isPtr := t.Underlying().(*types.Pointer); !isPtr && !types.IsInterface(t) {
		mt = types.NewPointer(t)
	}
	ms := types.NewMethodSet(mt)
	for i := range ms.Len() {
		add(ms.At(i).Obj())
	}
	sort.SliceStable(items, func(i, j int) bool { return items[i].Text < items[j].Text })
	return items
}

// names lists what a word may become.
func (s *Session) names(before, after, prefix string) []server.CompletionItem {
	c, at := s.partial(before, after)
	var items []server.CompletionItem
	seen := map[string]bool{}
	add := func(it server.CompletionItem) {
		if !seen[it.Text] && !strings.Contains(it.Text, "ꞏ") && it.Text != placeholder && it.Text != "_" {
			seen[it.Text] = true
			items = append(items, it)
		}
	}
	if at.IsValid() && c.info != nil {
		var inner *types.Scope
		for _, sc := range c.info.Scopes {
			if sc.Contains(at) && (inner == nil || sc.Pos() >= inner.Pos() && sc.End() <= inner.End()) {
				inner = sc
			}
		}
		for sc := inner; sc != nil && sc != types.Universe; sc = sc.Parent() {
			for _, name := range sc.Names() {
				obj := sc.Lookup(name)
				if sc != c.pkg.Scope() && obj.Pos() > at {
					continue
				}
				add(item(obj))
			}
		}
	}
	if c.pkg != nil {
		for _, name := range c.pkg.Scope().Names() {
			add(item(c.pkg.Scope().Lookup(name)))
		}
	}
	for _, name := range sortedNames(s.scope) {
		add(item(s.scope[name]))
	}
	for _, name := range sortedNames(s.imports) {
		add(server.CompletionItem{Text: name, Kind: "package", Signature: s.imports[name]})
	}
	for name, path := range c.names {
		add(server.CompletionItem{Text: name, Kind: "package", Signature: path})
	}
	if pkg, err := s.packages.original(cellPackage); err == nil {
		for _, it := range packageItems(pkg) {
			if it.Text != "SetHost" && it.Text != "Host" {
				add(it)
			}
		}
	}
	for _, name := range types.Universe.Names() {
		add(item(types.Universe.Lookup(name)))
	}
	for t := token.BREAK; t <= token.VAR; t++ {
		if t == token.FALLTHROUGH && !strings.Contains(before, "case ") {
			continue // it stands in a case only
		}
		if t.IsKeyword() {
			add(server.CompletionItem{Text: t.String(), Kind: "keyword"})
		}
	}
	if prefix != "" {
		for _, path := range symbols.Paths() {
			name := path[strings.LastIndexByte(path, '/')+1:]
			add(server.CompletionItem{Text: name, Kind: "package", Signature: path})
		}
	}
	return items
}

func sortedNames[V any](m map[string]V) []string {
	list := make([]string, 0, len(m))
	for n := range m {
		list = append(list, n)
	}
	sort.Strings(list)
	return list
}

func firstSentence(doc string) string {
	if i := strings.Index(doc, ". "); i >= 0 {
		doc = doc[:i+1]
	}
	return strings.ReplaceAll(doc, "\n", " ")
}
