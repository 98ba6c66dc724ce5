package source

import "fmt"

// questionTexts are the fields of a question that hold Markdown, by their names.
func questionTexts(c *Cell) map[string]string {
	q := c.Question
	texts := map[string]string{"ask": q.Ask, "working": q.Working}
	for i, h := range q.Hints {
		texts[fmt.Sprintf("hints/%d", i)] = h
	}
	for i, o := range q.Options {
		texts[fmt.Sprintf("options/%d/text", i)] = o.Text
		texts[fmt.Sprintf("options/%d/say", i)] = o.Say
	}
	for i, s := range q.Slips {
		texts[fmt.Sprintf("slips/%d/say", i)] = s.Say
	}
	for i, p := range q.Points {
		texts[fmt.Sprintf("points/%d/text", i)] = p.Text
	}
	return texts
}

// questionProse reads the formulas in a question's texts.
func (r *reader) questionProse(c *Cell) {
	for field, text := range questionTexts(c) {
		r.proseMaths(text, c.LineOf(field), field)
	}
}
