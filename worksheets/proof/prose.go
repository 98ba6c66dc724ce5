package proof

import (
	"net/url"
	"regexp"
	"strings"

	"counterpoise/worksheets/page/tex"
	"counterpoise/worksheets/source"
)

// wordsAMinute is how fast a worksheet's prose is read.
// Common practice, no source: 200 words a minute for prose that explains.
const wordsAMinute = 200

var (
	displayed = regexp.MustCompile(`(?s)\$\$(.+?)\$\$`)
	inline    = regexp.MustCompile(`\$([^$\n][^$]*)\$`)
	link      = regexp.MustCompile(`\]\(([^)\s]*)\)`)
	heading   = regexp.MustCompile(`(?m)^#{1,6}\s+(.+)$`)
)

// prose checks the mathematics and links of every text, and counts its words.
func (p *prover) prose() {
	words := 0
	headings := map[string]bool{}
	for _, t := range p.texts() {
		for _, m := range heading.FindAllStringSubmatch(t.text, -1) {
			headings[slug(m[1])] = true
		}
	}
	for _, t := range p.texts() {
		words += len(strings.Fields(t.text))
		p.maths(t)
		p.links(t, headings)
	}
	p.report.Reading = float64(words) / wordsAMinute
	if p.sheet.Minutes > 0 && p.report.Reading > 0.6*float64(p.sheet.Minutes) {
		p.found(1, "", "time", Remark, "reading alone takes %.0f of the %d minutes", p.report.Reading, p.sheet.Minutes)
	}
	if p.sheet.Minutes == 0 {
		p.found(1, "", "time", Remark, "the front matter does not say how many minutes the sheet takes")
	}
	if len(p.sheet.Aims) == 0 {
		p.found(1, "", "aims", Remark, "the front matter names no aims")
	}
}

// A passage is a text of the sheet with the line it starts on.
type passage struct {
	text     string
	line     int
	question string
}

func (p *prover) texts() []passage {
	var all []passage
	for i := range p.sheet.Cells {
		c := &p.sheet.Cells[i]
		switch c.Kind {
		case source.Prose, source.Safety:
			all = append(all, passage{c.Text, c.Line, ""})
		case source.Question:
			if c.Broken || c.Question == nil {
				continue
			}
			q := c.Question
			all = append(all, passage{q.Ask, c.LineOf("ask"), q.Name}, passage{q.Working, c.LineOf("working"), q.Name})
			for _, h := range q.Hints {
				all = append(all, passage{h, c.LineOf("hints"), q.Name})
			}
			for _, o := range q.Options {
				all = append(all, passage{o.Text, c.LineOf("options"), q.Name}, passage{o.Say, c.LineOf("options"), q.Name})
			}
			for _, s := range q.Slips {
				all = append(all, passage{s.Say, c.LineOf("slips"), q.Name})
			}
		}
	}
	return all
}

// maths typesets every formula of a text.
func (p *prover) maths(t passage) {
	rest := t.text
	try := func(formula string, display bool, at int) {
		formula = source.ReplacePlaceholders(formula, func(source.Placeholder) (string, bool) { return "1", true })
		if _, err := tex.MathML(formula, display); err != nil {
			p.found(t.line+strings.Count(t.text[:at], "\n"), t.question, "mathematics", Fault, "$%s$ cannot be typeset: %s", strings.TrimSpace(formula), oneLine(err))
		}
	}
	for _, m := range displayed.FindAllStringSubmatchIndex(rest, -1) {
		try(rest[m[2]:m[3]], true, m[0])
	}
	rest = displayed.ReplaceAllStringFunc(rest, func(s string) string { return strings.Repeat(" ", len(s)) })
	for _, m := range inline.FindAllStringSubmatchIndex(rest, -1) {
		try(rest[m[2]:m[3]], false, m[0])
	}
}

// links checks that links lead somewhere: to a heading of the sheet, or to an
// address that is one.
func (p *prover) links(t passage, headings map[string]bool) {
	for _, m := range link.FindAllStringSubmatchIndex(t.text, -1) {
		to := t.text[m[2]:m[3]]
		line := t.line + strings.Count(t.text[:m[0]], "\n")
		u, err := url.Parse(to)
		switch {
		case to == "" || err != nil:
			p.found(line, t.question, "links", Fault, "the link to %q is no address", to)
		case u.Scheme == "" && u.Host == "" && u.Path == "":
			if !headings[u.Fragment] {
				p.found(line, t.question, "links", Fault, "the link to #%s leads to no heading of the sheet", u.Fragment)
			}
		case u.Scheme == "http" || u.Scheme == "https" || u.Scheme == "mailto":
		default:
			p.found(line, t.question, "links", Fault, "the link to %q does not work in a notebook that travels alone: link to a heading or to a full address", to)
		}
	}
}

// slug is the fragment that leads to a heading.
func slug(heading string) string {
	return strings.Trim(regexp.MustCompile(`[^\pL\pN]+`).ReplaceAllString(strings.ToLower(heading), "-"), "-")
}
