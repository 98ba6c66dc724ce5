package proof

import (
	"context"
	"strings"

	"counterpoise/worksheets/build"
	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/source"
)

// cells runs the Go cells as a student does, and looks at what they show.
func (p *prover) cells(ctx context.Context) error {
	nb, ok := p.filled()
	if !ok {
		return nil
	}
	done, failures, err := p.options.Kernel.Run(ctx, nb)
	if err != nil {
		return err
	}
	p.failures(nb, failures, "cells")
	p.outputs(done)
	return nil
}

// compiled runs the Go cells as one compiled program.
func (p *prover) compiled(ctx context.Context) error {
	nb, ok := p.filled()
	if !ok {
		return nil
	}
	_, failures, err := p.options.Compiled.Run(ctx, nb)
	if err != nil {
		return err
	}
	p.failures(nb, failures, "compiled")
	for i := range nb.Cells {
		if isGo(&nb.Cells[i]) && nb.Cells[i].Type == notebook.Code {
			p.report.Compiled++
		}
	}
	return nil
}

// filled is the student's notebook with samples as answers; none where the sheet
// cannot be built, which source tells.
func (p *prover) filled() (*notebook.Notebook, bool) {
	nb, _, err := build.Build(p.sheet, build.Options{})
	if err != nil {
		return nil, false
	}
	return build.WithSamples(nb, p.sheet), true
}

func (p *prover) failures(nb *notebook.Notebook, failures []Failure, check string) {
	for _, f := range failures {
		line := p.lineOf(nb, f.Cell)
		if line > 0 && f.Line > 0 {
			line += f.Line - 1
		}
		p.found(line, "", check, Fault, "a cell fails: %s", strings.Join(strings.Fields(f.Say), " "))
	}
}

// lineOf finds the line of worksheet.md at which a cell of the notebook starts.
func (p *prover) lineOf(nb *notebook.Notebook, cell int) int {
	if cell < 0 || cell >= len(nb.Cells) {
		return 1
	}
	if id := nb.Cells[cell].ID; strings.HasPrefix(id, "answer-") {
		name := strings.TrimPrefix(id, "answer-")
		for i := range p.sheet.Cells {
			if c := &p.sheet.Cells[i]; c.Kind == source.Question && c.Question != nil && c.Question.Name == name {
				return c.Line
			}
		}
	}
	// Go cells stand in the order of the sheet.
	n := 0
	for i := range nb.Cells[:cell] {
		if isGo(&nb.Cells[i]) {
			n++
		}
	}
	for i := range p.sheet.Cells {
		c := &p.sheet.Cells[i]
		if c.Kind != source.Go {
			continue
		}
		if n == 0 {
			return c.Line
		}
		n--
	}
	return 1
}

func isGo(c *notebook.Cell) bool {
	return c.Type == notebook.Code && c.ID != "open" && !strings.HasPrefix(c.ID, "answer-")
}

// outputs looks at what cells showed: every picture is drawn and has a text.
func (p *prover) outputs(nb *notebook.Notebook) {
	for i := range nb.Cells {
		c := &nb.Cells[i]
		if c.Type != notebook.Code {
			continue
		}
		if isGo(c) {
			p.report.Cells++
		}
		for k := range c.Outputs {
			o := &c.Outputs[k]
			svg, isSVG := o.TextOf("image/svg+xml")
			_, isPNG := o.TextOf("image/png")
			if !isSVG && !isPNG {
				continue
			}
			p.report.Pictures++
			if strings.Contains(svg, "This figure cannot be drawn: ") { // as package figure writes it
				p.found(p.lineOf(nb, i), "", "pictures", Fault, "a figure has no data to draw: look at its series, sizes and units")
			}
			alt, _ := o.Metadata["alt"].(string)
			if alt == "" && !strings.Contains(svg, "<desc>") && !strings.Contains(svg, "aria-label=") && !nested(o.Metadata) {
				p.found(p.lineOf(nb, i), "", "pictures", Fault, "a picture has no alternative text: a figure of mechanics/figure writes its own")
			}
		}
	}
}

// nested reports whether the metadata of some MIME type hold a text.
func nested(metadata map[string]any) bool {
	for _, m := range metadata {
		if inner, ok := m.(map[string]any); ok {
			if alt, _ := inner["alt"].(string); alt != "" {
				return true
			}
		}
	}
	return false
}
