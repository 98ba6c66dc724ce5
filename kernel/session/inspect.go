package session

import (
	"bytes"
	"context"
	"fmt"
	"go/ast"
	"go/doc/comment"
	"go/types"
	"strings"

	"counterpoise/kernel/display"
	"counterpoise/kernel/server"
	"counterpoise/kernel/session/machine"
	"counterpoise/kernel/symbols"
)

// Inspect describes the name at the byte offset pos of code.
func (s *Session) Inspect(_ context.Context, code string, pos, detail int) (out server.Inspection) {
	s.mu.Lock()
	defer s.mu.Unlock()
	none := server.Inspection{Bundle: server.Bundle{Data: map[string]any{}, Metadata: map[string]any{}}}
	out = none
	defer func() {
		if recover() != nil {
			out = none
		}
	}()
	pos = min(max(pos, 0), len(code))
	if _, _, _, ok := directive(code); ok {
		return none
	}
	start, end := wordStart(code, pos), wordEnd(code, pos)
	if start == end && start > 0 && (code[start-1] == '(' || code[start-1] == '.') {
		// Just behind an opening bracket: the function.
		start, end = wordStart(code, start-1), start-1
	}
	if start == end {
		return none
	}
	obj, owner := s.resolve(code, start, end)
	if obj == nil {
		return none
	}
	head, doc := s.describe(obj, owner, detail)
	plain := head
	if doc != "" {
		plain += "\n\n" + plainDoc(doc)
	}
	markdown := "```go\n" + head + "\n```\n"
	if doc != "" {
		markdown += "\n" + markdownDoc(doc)
	}
	return server.Inspection{Found: true, Bundle: server.Bundle{
		Data:     map[string]any{"text/plain": plain, "text/markdown": markdown},
		Metadata: map[string]any{},
	}}
}

func wordEnd(code string, pos int) int {
	for pos < len(code) && wordStart(code, pos+runeLen(code[pos:])) < pos+runeLen(code[pos:]) {
		pos += runeLen(code[pos:])
	}
	return pos
}

func runeLen(s string) int {
	for i := range s {
		if i > 0 {
			return i
		}
	}
	return len(s)
}

// resolve finds the object that code[start:end] names, and the type whose field
// or method it is.
func (s *Session) resolve(code string, start, end int) (obj types.Object, owner string) {
	name := code[start:end]
	for _, text := range []string{code, code[:end] + closers(code[:end])} {
		obj, owner = s.resolveIn(text, start, name)
		if obj != nil {
			return obj, owner
		}
	}
	if start > 0 && code[start-1] == '.' {
		pkgName := wordBefore(code[:start])
		for _, path := range append([]string{s.imports[pkgName]}, symbols.Named(pkgName)...) {
			if path == "" {
				continue
			}
			if pkg, err := s.packages.Import(path); err == nil {
				if o := pkg.Scope().Lookup(name); o != nil && o.Exported() {
					return o, ""
				}
			}
		}
		return nil, ""
	}
	if o := s.scope[name]; o != nil {
		return o, ""
	}
	if o := s.predeclared(name); o != nil {
		return o, ""
	}
	if o := types.Universe.Lookup(name); o != nil {
		return o, ""
	}
	for _, path := range append([]string{s.imports[name]}, symbols.Named(name)...) {
		if path == "" {
			continue
		}
		if pkg, err := s.packages.Import(path); err == nil {
			return types.NewPkgName(0, nil, name, pkg), ""
		}
	}
	return nil, ""
}

func (s *Session) resolveIn(code string, start int, name string) (types.Object, string) {
	p, _ := s.parse(code, 0)
	c := &checked{parsed: p, names: map[string]string{}, uses: map[*types.Package]bool{}}
	defer s.forget(c)
	s.addImports(c)
	s.lateMethods(c)
	s.types(c)
	var found types.Object
	owner := ""
	ast.Inspect(c.file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.SelectorExpr:
			if n.Sel.Name == name && s.offset(n.Sel.Pos()) == start {
				if sel := c.info.Selections[n]; sel != nil {
					found, owner = sel.Obj(), ownerName(sel.Recv(), sel)
				}
			}
		case *ast.Ident:
			if found == nil && strings.TrimSuffix(n.Name, oldMark) == name && s.offset(n.Pos()) == start {
				if o := c.info.Uses[n]; o != nil {
					found = o
				} else if o := c.info.Defs[n]; o != nil {
					found = o
				}
			}
		}
		return true
	})
	return found, owner
}

// ownerName returns the name of the type that declares a selected field or method.
func ownerName(t types.Type, sel *types.Selection) string {
	if f, ok := sel.Obj().(*types.Func); ok {
		if r := f.Signature().Recv(); r != nil {
			t = r.Type()
		}
	} else {
		// Walk to the embedded struct that holds the field.
		for _, i := range sel.Index()[:len(sel.Index())-1] {
			if p, ok := t.Underlying().(*types.Pointer); ok {
				t = p.Elem()
			}
			if st, ok := t.Underlying().(*types.Struct); ok {
				t = st.Field(i).Type()
			}
		}
	}
	if p, ok := t.(*types.Pointer); ok {
		t = p.Elem()
	}
	if n, ok := types.Unalias(t).(*types.Named); ok {
		return n.Obj().Name()
	}
	return ""
}

// describe returns the declaration of an object and its comment.
func (s *Session) describe(obj types.Object, owner string, detail int) (head, doc string) {
	head = types.ObjectString(obj, shortQualifier)
	path := ""
	if obj.Pkg() != nil {
		path = obj.Pkg().Path()
		if path == symbols.OS {
			path = "os"
		}
	}
	key := obj.Name()
	if owner != "" {
		key = owner + "." + key
	}
	switch o := obj.(type) {
	case *types.PkgName:
		return fmt.Sprintf("package %s // import %q", o.Imported().Name(), o.Imported().Path()), symbols.Doc(o.Imported().Path(), "")
	case *types.Builtin:
		return "func " + builtins[o.Name()], ""
	case *types.Nil:
		return "nil // the zero value of a pointer, function, slice, map, channel or interface", ""
	case *types.Var:
		if n, ok := s.origin[o.Pkg()]; ok && !o.IsField() {
			if v := s.valueText(o); v != "" {
				head += " = " + v
			}
			head += " // " + cellName(n)
		}
	case *types.TypeName:
		head = typeHead(o, detail)
	}
	if path == "main" {
		d := s.docs[key]
		if d.text != "" && detail > 0 {
			head = d.text
		}
		return head, d.comment
	}
	real := path
	if path == "os" {
		real = symbols.OS
	}
	doc = symbols.Doc(real, key)
	if detail == 0 {
		doc = shorten(doc)
	}
	return head, doc
}

// shorten keeps the first paragraphs of a comment.
func shorten(doc string) string {
	const most = 600 // bytes, as many as a tooltip holds
	if len(doc) <= most {
		return doc
	}
	if i := strings.LastIndex(doc[:most], "\n\n"); i > 0 {
		return doc[:i]
	}
	if i := strings.LastIndexByte(doc[:most], ' '); i > 0 {
		return doc[:i] + " …"
	}
	return doc[:most]
}

// typeHead writes a type's declaration; with detail, its methods too.
func typeHead(o *types.TypeName, detail int) string {
	var b strings.Builder
	fmt.Fprintf(&b, "type %s ", o.Name())
	if st, ok := o.Type().Underlying().(*types.Struct); ok {
		b.WriteString("struct {\n")
		hidden := false
		for f := range st.Fields() {
			if !f.Exported() && o.Pkg() != nil && o.Pkg().Path() != "main" {
				hidden = true
				continue
			}
			if f.Embedded() {
				fmt.Fprintf(&b, "\t%s\n", types.TypeString(f.Type(), shortQualifier))
			} else {
				fmt.Fprintf(&b, "\t%s %s\n", f.Name(), types.TypeString(f.Type(), shortQualifier))
			}
		}
		if hidden {
			b.WriteString("\t// and fields that are not exported\n")
		}
		b.WriteString("}")
	} else {
		b.WriteString(types.TypeString(o.Type().Underlying(), shortQualifier))
	}
	if detail > 0 && !types.IsInterface(o.Type()) {
		ms := types.NewMethodSet(types.NewPointer(o.Type()))
		for i := range ms.Len() {
			if m := ms.At(i).Obj(); m.Exported() || m.Pkg() != nil && m.Pkg().Path() == "main" {
				b.WriteString("\n" + types.ObjectString(m, shortQualifier))
			}
		}
	}
	return b.String()
}

// valueText returns a variable's value, shortly.
func (s *Session) valueText(v *types.Var) string {
	if _, ok := s.world.Global(v); !ok {
		return ""
	}
	if _, ok := types.Unalias(v.Type()).(*types.Named); ok {
		return "" // its methods might do anything
	}
	switch v.Type().Underlying().(type) {
	case *types.Basic, *types.Slice, *types.Map:
	default:
		return ""
	}
	text := ""
	if s.last != nil {
		machine.Within(s.last.run, func() { text = display.Text(s.world.Value(v).Interface()) })
	}
	if len(text) > 80 {
		return ""
	}
	return text
}

var builtins = map[string]string{
	"append": "append(slice []T, elems ...T) []T", "cap": "cap(v T) int", "clear": "clear(t map or slice)", "close": "close(c chan T)",
	"complex": "complex(r, i float64) complex128", "copy": "copy(dst, src []T) int", "delete": "delete(m map[K]V, key K)",
	"imag": "imag(c complex128) float64", "len": "len(v T) int", "make": "make(t T, size ...int) T", "max": "max(x T, y ...T) T",
	"min": "min(x T, y ...T) T", "new": "new(T) *T", "panic": "panic(v any)", "print": "print(args ...T)", "println": "println(args ...T)",
	"real": "real(c complex128) float64", "recover": "recover() any",
}

func markdownDoc(text string) string {
	var p comment.Parser
	pr := &comment.Printer{HeadingLevel: 3, DocLinkURL: func(*comment.DocLink) string { return "" }, HeadingID: func(*comment.Heading) string { return "" }}
	return string(bytes.TrimSpace(pr.Markdown(p.Parse(text))))
}

func plainDoc(text string) string {
	var p comment.Parser
	pr := &comment.Printer{TextWidth: 80}
	return string(bytes.TrimSpace(pr.Text(p.Parse(text))))
}

// A cellDoc is the comment and the text of something that a cell declares.
type cellDoc struct{ comment, text string }

// remember keeps comments and texts of a cell's declarations.
func (s *Session) remember(c *checked) {
	text := func(n ast.Node) string {
		a, b := s.offset(n.Pos()), s.offset(n.End())
		if a >= b {
			return ""
		}
		return c.code[a:b]
	}
	for _, d := range c.file.Decls {
		switch d := d.(type) {
		case *ast.FuncDecl:
			name := d.Name.Name
			if base, method, ok := strings.Cut(name, methodMark); ok {
				name = base + "." + method
			} else if base, _ := receiverBase(d); base != nil {
				name = base.Name + "." + name
			}
			if name != runName {
				s.docs[name] = cellDoc{d.Doc.Text(), text(d)}
			}
		case *ast.GenDecl:
			for _, spec := range d.Specs {
				if t, ok := spec.(*ast.TypeSpec); ok {
					comment := t.Doc.Text()
					if comment == "" {
						comment = d.Doc.Text()
					}
					s.docs[t.Name.Name] = cellDoc{comment, "type " + text(t)}
					if st, ok := t.Type.(*ast.StructType); ok {
						for _, f := range st.Fields.List {
							fc := f.Doc.Text()
							if fc == "" {
								fc = f.Comment.Text()
							}
							for _, n := range f.Names {
								s.docs[t.Name.Name+"."+n.Name] = cellDoc{fc, ""}
							}
						}
					}
				}
			}
		}
	}
}
