package question

import (
	"fmt"
	"strings"

	"golang.org/x/text/unicode/norm"
)

// MaxOptions is the number of options of a choice: they are lettered A to Z.
const MaxOptions = 26

// choice is one option to take, or several.
type choice struct {
	texts []string // folded, for comparing
	right uint32   // bit i: option i

	locked bool // the key is sealed: lock opens it, or nothing if nil
	lock   Lock
}

// Letter returns the letter under which option i is shown, A for 0.
func Letter(i int) string { return string(rune('A' + i)) }

func compileChoice(a *Asked) (judge, error) {
	q := a.Question
	if len(q.Options) < 2 {
		return nil, a.fault("options", "a choice has at least two options", "list them as {text, right}")
	}
	if len(q.Options) > MaxOptions {
		return nil, a.fault("options", fmt.Sprintf("%d options, more than letters", len(q.Options)), "keep to 26")
	}
	c := &choice{}
	seen := map[string]int{}
	for i, o := range q.Options {
		t := foldText(o.Text)
		if t == "" {
			return nil, a.fault("options", fmt.Sprintf("option %s has no text", Letter(i)), "write what it says")
		}
		if j, twice := seen[t]; twice {
			return nil, a.fault("options", fmt.Sprintf("options %s and %s say the same", Letter(j), Letter(i)), "change one of them")
		}
		seen[t] = i
		c.texts = append(c.texts, t)
		if o.Right {
			c.right |= 1 << i
		}
	}
	switch n := count(c.right); {
	case n == 0:
		return nil, a.fault("options", "none is right", "mark one with right: true")
	case n > 1 && !q.Many:
		return nil, a.fault("options", fmt.Sprintf("%d are right but only one may be taken", n), "set many: true, or leave one")
	}
	for i, s := range q.Slips {
		if _, problem := c.read(q, s.Gives); problem != "" {
			return nil, a.fault(fmt.Sprintf("slips/%d/gives", i), problem, "")
		}
	}
	return c, nil
}

func (c *choice) check(a *Asked, answer string) Verdict {
	q := a.Question
	taken, problem := c.read(q, answer)
	if problem != "" {
		return a.unreadable(problem)
	}
	read := lettersOf(taken)
	v := a.verdict(Wrong)
	v.Text, v.TeX = read, `\text{`+read+`}`
	if c.locked {
		return c.checkLocked(a, v, answer, taken)
	}
	if taken == c.right {
		return a.right(v)
	}
	for _, s := range q.Slips {
		if set, _ := c.read(q, s.Gives); set == taken {
			v.Slip, v.Say, v.Prose = slipName(s), s.Say, true
			return v
		}
	}
	for i, o := range q.Options {
		if bit := uint32(1) << i; taken&bit != 0 && c.right&bit == 0 && o.Say != "" {
			v.Slip, v.Say, v.Prose = "option "+Letter(i), o.Say, true
			return v
		}
	}
	v.Slip, v.Say = sayChoice(c.compare(taken))
	return v
}

// checkLocked judges by the boxes that a choice opens.
func (c *choice) checkLocked(a *Asked, v Verdict, answer string, taken uint32) Verdict {
	if c.lock == nil {
		return a.kept(v)
	}
	if full, ok := c.lock.Key([][]byte{choicePrint(taken)}); ok {
		return full.Check(answer)
	}
	for _, s := range c.lock.Foreseen([][]byte{choicePrint(taken)}) {
		v.Slip, v.Say, v.Prose = slipName(s.Slip), s.Slip.Say, true
		return v
	}
	for i := range c.texts {
		if taken&(1<<i) == 0 {
			continue
		}
		for _, s := range c.lock.Foreseen([][]byte{optionPrint(i)}) {
			v.Slip, v.Say, v.Prose = "option "+Letter(i), s.Slip.Say, true
			return v
		}
	}
	how := notThisOne
	for _, s := range c.lock.Slips([][]byte{choicePrint(taken)}) {
		how = int(s.Value)
	}
	v.Slip, v.Say = sayChoice(how)
	return v
}

// How a wrong choice compares with the right one.
const (
	notThisOne = iota
	oneMissing
	oneTooMany
	partFits
	noneFits
)

// compared is the number of options up to which a wrong choice of several is
// compared with the right one; beyond it a sealed key would need too many boxes.
const compared = 8

func (c *choice) compare(taken uint32) int {
	switch {
	case count(c.right) == 1 || len(c.texts) > compared:
		return notThisOne
	case taken&^c.right == 0:
		return oneMissing
	case c.right&^taken == 0:
		return oneTooMany
	case taken&c.right != 0:
		return partFits
	}
	return noneFits
}

// sayChoice words a wrong choice without telling which options are right.
func sayChoice(how int) (slip, say string) {
	switch how {
	case oneMissing:
		return "option missing", "What you chose fits, but something is still missing."
	case oneTooMany:
		return "option too many", "Something that you chose does not fit."
	case partFits:
		return "", "Part of your choice fits, part of it does not."
	case noneFits:
		return "", "None of what you chose fits. Think again about what the question asks."
	}
	return "", "Not this one. Think again about what the question asks."
}

func choicePrint(set uint32) []byte { return cellPrint("choice", int64(set)) }
func optionPrint(i int) []byte      { return cellPrint("option", int64(i)) }

func (c *choice) publish(*Asked, *Public) error { return nil }

func shellChoice(a *Asked, p Public, l Lock) (judge, error) {
	if n := len(p.Question.Options); n < 2 || n > MaxOptions {
		return nil, a.fault("options", "too few or too many", "")
	}
	c := &choice{locked: true, lock: l}
	for _, o := range p.Question.Options {
		c.texts = append(c.texts, foldText(o.Text))
	}
	return c, nil
}

func (c *choice) secrets(a, _ *Asked) Secrets {
	q := a.Question
	out := Secrets{Key: [][]byte{choicePrint(c.right)}}
	for _, s := range q.Slips {
		set, _ := c.read(q, s.Gives)
		out.Foreseen = append(out.Foreseen, ForeseenSecret{ForeseenSlip{Slip: s}, [][]byte{choicePrint(set)}})
	}
	for i, o := range q.Options {
		if !o.Right && o.Say != "" {
			out.Foreseen = append(out.Foreseen, ForeseenSecret{ForeseenSlip{Slip: Slip{Say: o.Say}}, [][]byte{optionPrint(i)}})
		}
	}
	if count(c.right) > 1 && len(c.texts) <= compared {
		for set := uint32(1); set < 1<<len(c.texts); set++ {
			if set != c.right {
				out.Slips = append(out.Slips, SlipSecret{SealedSlip{Value: float64(c.compare(set))}, choicePrint(set)})
			}
		}
	}
	return out
}

// read turns an answer into a set of options: letters ("b", "A, C", "ac",
// "(b) and (d)"), or the options' own texts, one or several.
func (c *choice) read(q Question, answer string) (taken uint32, problem string) {
	if len(answer) > MaxAnswer {
		return 0, tooLong
	}
	whole := foldText(answer)
	if whole == "" {
		return 0, c.expected()
	}
	if i := c.byText(whole); i >= 0 {
		return 1 << i, ""
	}
	if letter, rest, ok := strings.Cut(strings.TrimLeft(whole, "("), " "); ok && len(strings.TrimRight(letter, ").:")) == 1 {
		if i := c.byText(foldText(rest)); i >= 0 && strings.EqualFold(letter[:1], Letter(i)) {
			return 1 << i, "" // a) stable
		}
	}
	taken, ok := c.letters(whole)
	if !ok {
		taken, ok = c.textList(answer)
	}
	if !ok {
		return 0, fmt.Sprintf("%q is neither a letter nor the text of an option. %s", short(answer), c.expected())
	}
	if !q.Many && count(taken) > 1 {
		return 0, "Only one option can be taken: give one letter."
	}
	return taken, ""
}

func (c *choice) expected() string {
	last := Letter(len(c.texts) - 1)
	return fmt.Sprintf("Answer with a letter from A to %s, or with the words of an option.", last)
}

func (c *choice) byText(folded string) int {
	for i, t := range c.texts {
		if t == folded {
			return i
		}
	}
	return -1
}

// letters reads "a", "a c", "ac", "a) and c)".
func (c *choice) letters(folded string) (taken uint32, ok bool) {
	fields := strings.FieldsFunc(folded, func(r rune) bool {
		return strings.ContainsRune(" ,;/&+()[].:\"'", r)
	})
	for _, f := range fields {
		if f == "and" || f == "option" || f == "options" || f == "answer" {
			continue
		}
		for _, r := range f {
			i := int(r - 'a')
			if i < 0 || i >= len(c.texts) {
				return 0, false
			}
			taken |= 1 << i
		}
	}
	return taken, taken != 0
}

// textList reads several options' texts, separated by line ends, semicolons,
// commas or "and".
func (c *choice) textList(answer string) (taken uint32, ok bool) {
	for _, sep := range []string{"\n", ";", ",", " and ", "&"} {
		taken, ok = 0, true
		for _, part := range strings.Split(answer, sep) {
			folded := foldText(part)
			if folded == "" {
				continue
			}
			i := c.byText(folded)
			if i < 0 {
				one, isLetter := c.letters(folded)
				if !isLetter {
					ok = false
					break
				}
				taken |= one
				continue
			}
			taken |= 1 << i
		}
		if ok && taken != 0 {
			return taken, true
		}
	}
	return 0, false
}

func lettersOf(set uint32) string {
	var letters []string
	for i := range MaxOptions {
		if set&(1<<i) != 0 {
			letters = append(letters, Letter(i))
		}
	}
	return strings.Join(letters, ", ")
}

func count(set uint32) int {
	n := 0
	for ; set != 0; set &= set - 1 {
		n++
	}
	return n
}

// foldText brings a text to one form: compatibility forms resolved, lower
// case, single spaces, without a full stop at the end or quotes around it.
func foldText(s string) string {
	s = strings.ToLower(norm.NFKC.String(s))
	s = strings.Join(strings.Fields(s), " ")
	return strings.TrimSpace(strings.Trim(s, ".\"“”'‘’ "))
}

// short cuts a text that is quoted back.
func short(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	const most = 40 // letters: enough to recognise one's own answer
	if r := []rune(s); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return s
}
