package script

import (
	"fmt"
	"go/parser"
	"go/token"
	"slices"
	"strings"

	"counterpoise/worksheets/build"
	"counterpoise/worksheets/marking/pile"
	"counterpoise/worksheets/notebook"
)

// maxText bounds the text of a script in which printed numbers are looked for,
// in bytes: a hundred times what a worksheet has.
const maxText = 2 << 20

// maxNamed is how many cells, questions or lines a flag names.
const maxNamed = 5

// Against flags what became of the cells that every copy was built with: moved,
// deleted, retyped. Scripts saved in a format without ids are held against the
// questions only.
func (p *Paper) Against(cells []build.KeyCell, questions []string) {
	at := map[string]int{}
	for i := range p.cells {
		if _, again := at[p.cells[i].ID]; !again && p.cells[i].ID != "" {
			at[p.cells[i].ID] = i
		}
	}
	known := slices.ContainsFunc(cells, func(c build.KeyCell) bool { _, ok := at[c.ID]; return ok })
	if !known {
		p.againstQuestions(questions)
		return
	}
	p.loose(cells)
	var gone []string
	var places []int
	for _, c := range cells {
		i, ok := at[c.ID]
		switch {
		case !ok && !p.answered(c.ID):
			gone = append(gone, c.ID)
		case !ok:
		default:
			places = append(places, i)
			if now := p.cells[i].Type; now != c.Type && !strings.HasPrefix(c.ID, "answer-") { // those of answers are told by the reader
				p.flag("cell retyped", fmt.Sprintf("cell %d was a %s cell and is a %s cell", i+1, c.Type, now))
			}
		}
	}
	if len(gone) > 0 {
		p.flag("cells deleted", fmt.Sprintf("%s gone: %s", cellsAre(len(gone)), named(gone)))
	}
	if !slices.IsSorted(places) {
		p.flag("cells moved", "cells stand in another order than in the sheet")
	}
}

// answered tells whether the question of a built answer cell is answered in
// another cell: then the cell was split or typed again.
func (p *Paper) answered(id string) bool {
	question, ok := strings.CutPrefix(id, "answer-")
	return ok && slices.ContainsFunc(p.Answers, func(a Answer) bool { return a.Question == question })
}

// loose flags what stands right behind an answer, was not built and is neither
// Go nor an answer: the answer's cell may have been split.
func (p *Paper) loose(cells []build.KeyCell) {
	for _, a := range p.Answers {
		if a.Cell >= len(p.cells) {
			continue
		}
		next := &p.cells[a.Cell]
		built := slices.ContainsFunc(cells, func(c build.KeyCell) bool { return c.ID == next.ID })
		if !built && next.Type == notebook.Code && preparedFor(next) == "" && len(answersIn(next.Source)) == 0 && !isGo(next.Source) {
			p.flag("cell split?", fmt.Sprintf("cell %d is neither Go nor an answer: look whether it goes on with the answer to %s", a.Cell+1, printable(a.Question)))
		}
	}
}

func (p *Paper) againstQuestions(questions []string) {
	var gone []string
	var places []int
	for _, q := range questions {
		i := slices.IndexFunc(p.Answers, func(a Answer) bool { return a.Question == q })
		if i < 0 {
			gone = append(gone, "answer-"+q)
			continue
		}
		places = append(places, p.Answers[i].Cell)
	}
	if len(gone) > 0 {
		p.flag("cells deleted", fmt.Sprintf("%s gone: %s", cellsAre(len(gone)), named(gone)))
	}
	if !slices.IsSorted(places) {
		p.flag("cells moved", "answers stand in another order than in the sheet")
	}
}

// Printed flags lines in which the copy's own numbers were printed and now are
// others. A line that is gone altogether is no matter.
func (p *Paper) Printed(prints []build.Print) {
	if len(prints) == 0 {
		return
	}
	var text strings.Builder
	for i := range p.cells {
		if _, open := openCell(p.cells[i].Source); open {
			continue // long, and without any such line
		}
		if text.Len()+len(p.cells[i].Source) > maxText {
			break
		}
		for line := range strings.Lines(p.cells[i].Source) {
			text.WriteString(plainLine(line))
			text.WriteByte('\n')
		}
	}
	all := text.String()
	var changed []string
	var lines []string // of the text, split when first needed
	for _, print := range prints {
		if strings.Contains(all, plainLine(print.Line)) {
			continue
		}
		pieces := make([]string, len(print.Pieces))
		for i, piece := range print.Pieces {
			pieces[i] = plainLine("|" + piece + "|")
			pieces[i] = pieces[i][1 : len(pieces[i])-1] // blanks at its ends stay
		}
		if lines == nil {
			lines = strings.SplitN(all, "\n", MaxCells)
		}
		if i := slices.IndexFunc(lines, func(line string) bool { return holds(line, pieces) }); i >= 0 {
			changed = append(changed, fmt.Sprintf("%q for %q", printable(lines[i]), printable(plainLine(print.Line))))
		}
	}
	if len(changed) > 0 {
		p.flag("parameters edited", "numbers that were printed have been changed; those of the key file count: "+named(changed))
	}
}

// fewest is how many letters between its numbers tell a line from others.
const fewest = 4

// holds reports whether a line is made of these pieces in order, with anything
// between them.
func holds(line string, pieces []string) bool {
	if len(strings.Join(strings.Fields(strings.Join(pieces, "")), "")) < fewest {
		return false
	}
	rest, ok := strings.CutPrefix(line, strings.TrimLeft(pieces[0], " "))
	for _, piece := range pieces[1 : len(pieces)-1] {
		if !ok {
			return false
		}
		_, rest, ok = strings.Cut(rest, piece)
	}
	return ok && strings.HasSuffix(rest, strings.TrimRight(pieces[len(pieces)-1], " "))
}

func plainLine(line string) string { return strings.Join(strings.Fields(line), " ") }

// isGo reports whether a text can be read as statements or declarations of Go.
func isGo(text string) bool {
	const most = 10_000 // bytes; the rest of an answer is short
	if len(text) > most || strings.Contains(text, "import") || strings.Contains(text, "//worksheet:") {
		return true // imports among statements, a hint
	}
	for _, whole := range []string{"package p\nfunc _() {\n" + text + "\n}", "package p\n" + text} {
		if _, err := parser.ParseFile(token.NewFileSet(), "", whole, parser.SkipObjectResolution); err == nil {
			return true
		}
	}
	return false
}

// named lists the first of some names.
func named(names []string) string {
	if len(names) > maxNamed {
		return strings.Join(names[:maxNamed], ", ") + " and others"
	}
	return strings.Join(names, ", ")
}

func cellsAre(n int) string {
	if n == 1 {
		return "1 cell of the sheet is"
	}
	return fmt.Sprintf("%d cells of the sheet are", n)
}

// Renamed flags a script whose file is not called as it was handed out, but for
// the folder and for capitals.
func (p *Paper) Renamed(label, file string) {
	if file != "" && !strings.EqualFold(pile.Base(label), file) {
		p.flag("renamed", "handed out as "+printable(file))
	}
}

func (p *Paper) flag(code, say string) {
	if len(p.Flags) < maxFlags {
		p.Flags = append(p.Flags, Flag{code, say})
	}
}
