package compiled

import (
	"fmt"
	"slices"
	"strings"
)

// What every cell has without importing it.
var (
	predeclaredFuncs = []string{"Display", "ClearOutput", "Ask", "AskSecret", "HTML", "SVG", "PNG", "Markdown", "LaTeX", "Base64"}
	predeclaredTypes = []string{"Handle", "Content"}
)

// cellFile is the name under which the compiler knows a cell.
func cellFile(index int) string { return fmt.Sprintf("cell%d.go", index) }

// program writes the cells as one Go program. It notes in the file step the
// cell that it runs, and ended when all are done. The last expressions of the
// cells in values are assigned to nothing; other calls are statements.
func program(cells []*cell, step string, values map[int]bool) string {
	lift(cells)
	var b strings.Builder
	b.WriteString("package main\n\nimport (\n\tꞏos \"os\"\n\tꞏcell \"counterpoise/kernel/display/cell\"\n")
	writeImports(&b, cells)
	b.WriteString(")\n\n")
	lifted := map[string]bool{}
	for _, c := range cells {
		for _, d := range c.outside() {
			if d.lifted {
				for _, n := range d.names {
					lifted[n] = true
				}
				fmt.Fprintf(&b, "//line %s:%d\n%s\n", cellFile(c.index), d.line, d.text)
			}
		}
	}
	b.WriteString("//line program.go:1\n")
	for _, n := range predeclaredFuncs {
		if !lifted[n] {
			fmt.Fprintf(&b, "var %s = ꞏcell.%s\n", n, n)
		}
	}
	for _, n := range predeclaredTypes {
		if !lifted[n] {
			fmt.Fprintf(&b, "type %s = ꞏcell.%s\n", n, n)
		}
	}
	fmt.Fprintf(&b, "func ꞏstep(s string) { _ = ꞏos.WriteFile(%q, []byte(s), 0o600) }\n\nfunc main() {\n", step)
	for _, c := range cells {
		c.write(&b, values[c.index])
	}
	fmt.Fprintf(&b, "//line program.go:100\nꞏstep(%q)\n%s}\n", ended, strings.Repeat("}()\n", len(cells)))
	return b.String()
}

// writeImports writes each import once, and without a name where no cell
// mentions it.
func writeImports(b *strings.Builder, cells []*cell) {
	used := map[string]bool{"_": true, ".": true}
	for _, c := range cells {
		for n := range c.mentions {
			used[n] = true
		}
		for _, d := range c.decls {
			for n := range d.mentions {
				used[n] = true
			}
		}
	}
	var done []string
	for _, c := range cells {
		for _, s := range c.imports {
			if slices.Contains(done, s.text) {
				continue
			}
			done = append(done, s.text)
			text := s.text
			if !used[s.name] {
				fields := strings.Fields(text)
				text = "_ " + fields[len(fields)-1]
			}
			fmt.Fprintf(b, "//line %s:%d\n\t%s\n", cellFile(c.index), s.line, text)
		}
	}
}

// write writes a cell as the beginning of a function literal, in which the
// cells after it are nested: what they declare anew shadows. A function literal
// has labels of its own, as a cell has.
func (c *cell) write(b *strings.Builder, value bool) {
	fmt.Fprintf(b, "//line program.go:%d\nfunc() {\nꞏstep(\"%d\")\n", 200+c.index, c.index)
	at := func(line int, format string, args ...any) {
		fmt.Fprintf(b, "//line %s:%d\n", cellFile(c.index), line)
		fmt.Fprintf(b, format+"\n", args...)
	}
	for _, d := range c.decls {
		if !d.lifted && d.fn == nil {
			at(d.line, "%s", d.text)
		}
	}
	for _, d := range c.decls {
		if d.local() {
			at(d.line, "var %s func%s", d.names[0], d.fn.signature)
			at(d.line, "_ = %s", d.names[0])
		}
	}
	closures := func(after int) {
		for _, d := range c.decls {
			if !d.lifted && d.fn != nil && c.after(d) == after {
				c.closure(at, d)
			}
		}
	}
	closures(-1)
	for i, st := range c.statements {
		if st.variable != nil && st.variable.lifted {
			continue
		}
		if i == len(c.statements)-1 && c.shown && (!st.call || value) {
			at(st.line, "_ = %s", st.text)
		} else {
			at(st.line, "%s", st.text)
		}
		for _, n := range st.declares {
			at(st.line, "_ = %s", n)
		}
		closures(i)
	}
	if c.whole {
		for _, d := range c.decls {
			if d.fn != nil && d.names[0] == "main" {
				at(d.line, "main()")
			}
		}
	}
}

// local tells functions that become closures with a name.
func (d *decl) local() bool {
	return !d.lifted && d.fn != nil && d.names[0] != "init" && d.names[0] != "_"
}

func (c *cell) closure(at func(line int, format string, args ...any), d *decl) {
	switch d.names[0] {
	case "init":
		at(d.line, "func%s()", d.fn.body)
	default:
		at(d.line, "%s = func%s", d.names[0], d.fn.body)
	}
}

// after is the statement after which a function can be assigned: the last that
// declares a variable of this cell which the function mentions; -1 if none.
func (c *cell) after(d *decl) int {
	for i := len(c.statements) - 1; i >= 0; i-- {
		if v := c.statements[i].variable; v != nil && v.lifted {
			continue
		}
		for _, n := range c.statements[i].declares {
			if d.mentions[n] {
				return i
			}
		}
	}
	return -1
}

// lift marks the declarations that Go does not take inside a function: methods
// and their types, what has type parameters, types and constants that mention a
// later one, all of a whole program but its main; and what those mention in
// turn, variables that var declares included.
func lift(cells []*cell) {
	wanted := map[string]bool{}
	mark := func(d *decl) {
		d.lifted = true
		for n := range d.mentions {
			wanted[n] = true
		}
	}
	for _, c := range cells {
		if c.whole {
			for _, d := range c.outside() {
				if d.fn == nil || d.names[0] != "main" && d.names[0] != "init" {
					mark(d)
				}
			}
		}
		for i, d := range c.decls {
			if d.of != "" || d.generic {
				mark(d)
			}
			for _, later := range c.decls[i+1:] {
				if d.fn != nil || d.of != "" || later.fn != nil {
					continue
				}
				for _, n := range later.names {
					if d.mentions[n] {
						mark(d)
					}
				}
			}
		}
	}
	for again := true; again; {
		again = false
		for _, c := range cells {
			for _, d := range c.outside() {
				if !d.lifted && slices.ContainsFunc(d.names, func(n string) bool { return wanted[n] }) {
					mark(d)
					again = true
				}
			}
		}
	}
}
