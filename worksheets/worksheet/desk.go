package worksheet

import (
	"fmt"
	"strings"
	"sync"
)

// A Desk is where one worksheet lies open at a time, for one kernel. Its zero
// value is an empty desk.
type Desk struct {
	mu    sync.Mutex
	sheet *Sheet
}

// Sheet returns the open worksheet, nil if there is none.
func (d *Desk) Sheet() *Sheet {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.sheet
}

// Open opens what stands in a notebook's first cell; an open worksheet makes
// place for it.
func (d *Desk) Open(text string) (*Sheet, error) {
	s, err := open(text)
	if err != nil {
		return nil, err
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	d.sheet = s
	return s, nil
}

// notOpen is told where no worksheet is open.
const notOpen = "No worksheet is open yet. Run the first cell of the notebook (it is folded, and starts with //worksheet:open), then run this cell again."

// Do carries out a directive: the verb and name of its first line and the text
// below it. The value shows itself. Only a first cell that cannot be read and
// an unknown verb are errors; everything else is told kindly.
func (d *Desk) Do(verb, name, rest string) (any, error) {
	if verb == "open" {
		text := rest
		if name != "" {
			text = name + "\n" + rest
		}
		s, err := d.Open(text)
		if err != nil {
			return nil, err
		}
		return s, nil
	}
	s := d.Sheet()
	switch verb {
	case "answer", "derive", "hint":
		if s == nil {
			return Note{Text: notOpen}, nil
		}
	default:
		return nil, fmt.Errorf("unknown directive //worksheet:%s: known are open, answer, derive and hint", verb)
	}
	name = strings.TrimSpace(name)
	switch verb {
	case "derive":
		return s.Derive(name, rest), nil
	case "hint":
		return s.Hint(name), nil
	}
	return s.Answer(name, rest), nil
}

// desk is the process's own, for calls in plain Go.
var desk Desk

// Open opens what stands in a notebook's first cell, for this process: the
// calls below are about it.
func Open(text string) (*Sheet, error) { return desk.Open(text) }

// Answer judges an answer to a question of the worksheet that is open in this
// process.
func Answer(name, text string) any { return show("answer", name, text) }

// Derive judges a derivation.
func Derive(name, text string) any { return show("derive", name, text) }

// Hint returns the next hint.
func Hint(name string) any { return show("hint", name, "") }

func show(verb, name, text string) any {
	v, err := desk.Do(verb, name, text)
	if err != nil {
		return Note{Text: err.Error()}
	}
	return v
}
