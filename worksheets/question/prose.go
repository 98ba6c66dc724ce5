package question

import "strings"

// prose waits for a human; the program only says whether there is something
// to read.
type prose struct{}

func compileProse(*Asked) (judge, error) { return prose{}, nil }

func (prose) check(a *Asked, answer string) Verdict {
	if strings.TrimSpace(answer) == "" {
		return a.unreadable("There is no answer yet: write a sentence or two.")
	}
	v := a.verdict(ForHuman)
	v.Say = "Your answer is kept for your tutor to read."
	v.Points = a.Question.Points
	return v
}
