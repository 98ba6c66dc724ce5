// Package feedback puts a verdict into words: the same meaning as plain text,
// as Markdown and as HTML, for the student's cell and the tutor's page alike.
//
// The outcome is always said in words first, never by colour alone; formulas
// stand as TeX and as text, so that a screen reader has something to read.
// Whatever came from a student is escaped. The package knows verdicts, not
// cells or pages.
package feedback

import (
	"fmt"
	"html"
	"strconv"
	"strings"

	"counterpoise/worksheets/question"
)

// A Feedback is a verdict in words. It shows itself in a notebook.
type Feedback struct {
	Verdict question.Verdict
	Name    string // of the question, may be empty
	// HandedIn says that the answer was handed in and marked: there is nothing
	// to send again.
	HandedIn bool
	// Math turns TeX into HTML, such as MathML. Where it is nil the formula
	// stands in HTML as plain text.
	Math func(tex string) string
	// Prose turns Markdown with $maths$ into HTML, for what a teacher wrote.
	// Where it is nil the Markdown stands as it was written.
	Prose func(markdown string) string
}

// Of returns a verdict in words.
func Of(v question.Verdict) Feedback { return Feedback{Verdict: v} }

// OfQuestion returns a verdict in words that begin with the question's name.
func OfQuestion(name string, v question.Verdict) Feedback { return Feedback{Verdict: v, Name: name} }

// heading is the outcome in a word or two.
func (f Feedback) heading() string {
	v := f.Verdict
	word := ""
	switch v.Outcome {
	case question.Right:
		word = "Right"
		if v.Slip == "figures" {
			word = "Right, but look at the figures"
		}
	case question.Wrong:
		word = "Not yet right"
		if f.HandedIn {
			word = "Not right"
		}
		if v.Marks > 0 {
			word = "Partly right"
		}
		if v.Of > 0 && v.Marks >= v.Of { // a derivation with a line that does not hold
			word = "Nearly right"
		}
	case question.Unreadable:
		word = "Please mend and send again (this costs no attempt)"
		if f.HandedIn {
			word = "Could not be read"
		}
	case question.ForHuman:
		word = "Waits for your tutor"
	}
	if f.Name != "" {
		word = f.Name + ": " + word
	}
	return word
}

// marks says the marks where there are some to say.
func (f Feedback) marks() string {
	v := f.Verdict
	if v.Outcome != question.Right && v.Outcome != question.Wrong || v.Of == 0 {
		return ""
	}
	unit := " marks"
	if v.Of == 1 {
		unit = " mark"
	}
	return number(v.Marks) + " of " + number(v.Of) + unit
}

func number(x float64) string { return strconv.FormatFloat(x, 'g', 4, 64) }

// say is what the verdict says, without what the heading says already.
func (f Feedback) say() string {
	if f.Verdict.Say == "Right." {
		return ""
	}
	return f.Verdict.Say
}

// Text returns the feedback as plain text, a few lines.
func (f Feedback) Text() string {
	v := f.Verdict
	lines := []string{join(f.heading(), f.marks())}
	if s := f.say(); s != "" {
		lines = append(lines, s)
	}
	if v.Caret != "" {
		lines = append(lines, indent(v.Caret))
	}
	if v.Text != "" {
		lines = append(lines, "Read as: "+v.Text)
	}
	for i, l := range v.Lines {
		lines = append(lines, fmt.Sprintf("%d. %s — %s", i+1, oneLine(l.Text), join(l.Status, l.Say)))
	}
	return strings.Join(lines, "\n")
}

// String is Text.
func (f Feedback) String() string { return f.Text() }

// Alt returns the feedback for a screen reader: the same as Text.
func (f Feedback) Alt() string { return f.Text() }

func join(a, b string) string {
	switch {
	case a == "":
		return b
	case b == "":
		return a
	case strings.HasSuffix(a, ".") || strings.HasSuffix(a, "?"):
		return a + " " + b
	}
	return a + ": " + b
}

func indent(text string) string { return "    " + strings.ReplaceAll(text, "\n", "\n    ") }

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// Markdown returns the feedback as Markdown with TeX between dollar signs.
func (f Feedback) Markdown() string {
	v := f.Verdict
	var b strings.Builder
	b.WriteString("**" + escapeMarkdown(f.heading()) + "**")
	if m := f.marks(); m != "" {
		b.WriteString(" (" + m + ")")
	}
	b.WriteString("\n")
	if s := f.say(); s != "" {
		if !v.Prose {
			s = escapeMarkdown(s)
		}
		b.WriteString("\n" + s + "\n")
	}
	if v.Caret != "" {
		b.WriteString("\n" + indent(v.Caret) + "\n")
	}
	if v.TeX != "" {
		b.WriteString("\nRead as: $" + safeTeX(v.TeX) + "$\n")
	}
	for i, l := range v.Lines {
		shown := "`" + strings.ReplaceAll(oneLine(l.Text), "`", "'") + "`"
		if l.TeX != "" {
			shown = "$" + safeTeX(l.TeX) + "$"
		}
		fmt.Fprintf(&b, "\n%d. %s — **%s**", i+1, shown, escapeMarkdown(l.Status))
		if l.Say != "" {
			b.WriteString(": " + escapeMarkdown(l.Say))
		}
	}
	if len(v.Lines) > 0 {
		b.WriteString("\n")
	}
	return b.String()
}

// safeTeX keeps a formula from ending its own dollar signs.
func safeTeX(tex string) string { return strings.ReplaceAll(tex, "$", `\$`) }

// escapeMarkdown keeps a text from being taken for markup.
func escapeMarkdown(s string) string {
	return strings.NewReplacer(`\`, `\\`, "*", `\*`, "_", `\_`, "`", "\\`", "<", "&lt;", ">", "&gt;",
		"[", `\[`, "]", `\]`, "#", `\#`, "$", `\$`, "|", `\|`, "\n", " ").Replace(s)
}

// HTML returns the feedback as an HTML fragment that stands on its own: a
// status region that a screen reader announces, with the outcome as its first
// words.
func (f Feedback) HTML() string {
	v := f.Verdict
	var b strings.Builder
	label := html.EscapeString(f.heading())
	b.WriteString(`<div class="cp-feedback cp-` + v.Outcome.String() + `" role="status">`)
	b.WriteString(`<p><strong>` + label + `</strong>`)
	if m := f.marks(); m != "" {
		b.WriteString(" (" + m + ")")
	}
	b.WriteString("</p>")
	if s := f.say(); s != "" {
		if v.Prose && f.Prose != nil {
			b.WriteString(f.Prose(s))
		} else {
			b.WriteString("<p>" + html.EscapeString(s) + "</p>")
		}
	}
	if v.Caret != "" {
		b.WriteString("<pre>" + html.EscapeString(v.Caret) + "</pre>")
	}
	if v.Text != "" || v.TeX != "" {
		b.WriteString("<p>Read as: " + f.math(v.TeX, v.Text) + "</p>")
	}
	if len(v.Lines) > 0 {
		b.WriteString("<ol>")
		for _, l := range v.Lines {
			b.WriteString("<li>" + f.math(l.TeX, oneLine(l.Text)) + " — <strong>" + html.EscapeString(l.Status) + "</strong>")
			if l.Say != "" {
				b.WriteString(": " + html.EscapeString(l.Say))
			}
			b.WriteString("</li>")
		}
		b.WriteString("</ol>")
	}
	b.WriteString("</div>")
	return b.String()
}

// math shows a formula: by Math if there is one, otherwise its plain text.
func (f Feedback) math(tex, text string) string {
	if f.Math != nil && tex != "" {
		if out := f.Math(tex); out != "" {
			return out
		}
	}
	if text == "" {
		text = tex
	}
	return "<code>" + html.EscapeString(text) + "</code>"
}
