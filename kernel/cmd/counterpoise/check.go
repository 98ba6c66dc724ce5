package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime"
	"sync"

	"counterpoise/worksheets/question"

	"github.com/spf13/cobra"
)

func newCheckCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "check [FILE]",
		Short: "Check answers: one JSON question-and-answer a line in, one JSON verdict a line out",
		Long: `Check answers. Each input line is an object
  {"id": "any", "question": {"kind": "expression", "key": "m g h", …}, "answer": "mgh"}
with the question as in a worksheet's question block, and each output line, in
the order of the input, is its verdict
  {"id": "any", "verdict": "right", "marks": 1, "of": 1, "slip": "", "say": "Right.", "tex": "m g h"}
A line that cannot be used gives {"id": …, "line": 3, "error": …} in its place,
the others go on, and the exit status is 2. Without FILE, standard input is read.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			in, name := cmd.InOrStdin(), "standard input"
			if len(args) > 0 && args[0] != "-" {
				f, err := os.Open(args[0])
				if err != nil {
					return err
				}
				defer f.Close()
				in, name = f, args[0]
			}
			return checkLines(cmd.OutOrStdout(), in, name)
		},
	}
}

// maxCheckLine is the longest line that is read: a question with a worked
// solution of pages, and the longest answer, both written with escapes.
const maxCheckLine = 4 << 20

// A checkLine is one line of input.
type checkLine struct {
	ID       json.RawMessage  `json:"id"`
	Question json.RawMessage  `json:"question"`
	Answer   *question.Answer `json:"answer"`
}

// A checkFault stands in the place of a verdict.
type checkFault struct {
	ID    json.RawMessage `json:"id,omitempty"`
	Line  int             `json:"line"`
	Error string          `json:"error"`
}

// checkLines checks every line on all cores and writes the verdicts in order.
func checkLines(out io.Writer, in io.Reader, name string) error {
	type job struct {
		number int
		text   []byte
		done   chan checked
	}
	workers := runtime.GOMAXPROCS(0)
	jobs, order := make(chan job, workers), make(chan job, 64*workers)
	known := &compiled{of: map[string]*question.Asked{}}
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			for j := range jobs {
				j.done <- known.check(j.number, j.text)
			}
		})
	}
	var readErr error
	go func() {
		defer close(order)
		defer close(jobs)
		readErr = eachLine(in, func(number int, text []byte) {
			j := job{number, text, make(chan checked, 1)}
			order <- j
			jobs <- j
		})
	}()
	w := bufio.NewWriter(out)
	var faults, lines int
	var first *checkFault
	for j := range order {
		c := <-j.done
		lines++
		if c.fault != nil {
			faults++
			if first == nil {
				first = c.fault
			}
		}
		w.Write(c.line) // an error stays in w until Flush
		if len(order) == 0 {
			if err := w.Flush(); err != nil {
				go func() { // let the readers come to their end
					for range order {
					}
				}()
				return err
			}
		}
	}
	wg.Wait()
	if err := w.Flush(); err != nil {
		return err
	}
	switch {
	case readErr != nil:
		return fmt.Errorf("%s: %w", name, readErr)
	case first != nil:
		return fmt.Errorf("%s:%d: %s (%d of %d lines could not be used)", name, first.Line, first.Error, faults, lines)
	}
	return nil
}

// eachLine calls use for each line that is not blank. A line longer than
// maxCheckLine is passed on cut short, with a byte too many.
func eachLine(in io.Reader, use func(number int, text []byte)) error {
	r := bufio.NewReaderSize(in, 64<<10)
	for number := 1; ; number++ {
		var text []byte
		for {
			part, err := r.ReadSlice('\n')
			if room := maxCheckLine + 1 - len(text); room > 0 {
				text = append(text, part[:min(len(part), room)]...)
			}
			if err == nil {
				break
			}
			if errors.Is(err, bufio.ErrBufferFull) {
				continue
			}
			if len(bytes.TrimSpace(text)) > 0 {
				use(number, text)
			}
			if errors.Is(err, io.EOF) {
				return nil
			}
			return err
		}
		if len(bytes.TrimSpace(text)) > 0 {
			use(number, text)
		}
	}
}

// checked is one line of output.
type checked struct {
	line  []byte
	fault *checkFault
}

// compiled keeps the questions that were made ready, by their text: many
// answers to one question are the rule.
type compiled struct {
	mu sync.Mutex
	of map[string]*question.Asked
}

// maxCompiled is how many questions are kept; beyond it they are forgotten
// together, so that memory stays bounded on any input.
const maxCompiled = 2000

func (c *compiled) question(text json.RawMessage) (*question.Asked, error) {
	c.mu.Lock()
	a := c.of[string(text)]
	c.mu.Unlock()
	if a != nil {
		return a, nil
	}
	var q question.Question
	if err := json.Unmarshal(text, &q); err != nil {
		return nil, err
	}
	a, err := question.Compile(q, nil)
	if err != nil {
		return nil, err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if len(c.of) >= maxCompiled {
		clear(c.of)
	}
	c.of[string(text)] = a
	return a, nil
}

// check judges one line.
func (c *compiled) check(number int, text []byte) checked {
	var l checkLine
	v, err := func() (question.Verdict, error) {
		if len(text) > maxCheckLine {
			return question.Verdict{}, fmt.Errorf("the line is longer than %d MiB: split it", maxCheckLine>>20)
		}
		if err := json.Unmarshal(text, &l); err != nil {
			return question.Verdict{}, fmt.Errorf("not a JSON object with question and answer: %w", err)
		}
		if len(l.Question) == 0 {
			return question.Verdict{}, errors.New(`no question: write {"question": {…}, "answer": "…"}`)
		}
		if l.Answer == nil {
			return question.Verdict{}, errors.New(`no answer: write "answer": "…"`)
		}
		a, err := c.question(l.Question)
		if err != nil {
			return question.Verdict{}, err
		}
		return a.Check(string(*l.Answer)), nil
	}()
	if err != nil {
		fault := &checkFault{ID: l.ID, Line: number, Error: err.Error()}
		return checked{jsonLine(fault), fault}
	}
	if len(l.ID) == 0 {
		l.ID = json.RawMessage("null")
	}
	return checked{jsonLine(struct {
		ID json.RawMessage `json:"id"`
		question.Verdict
	}{l.ID, v}), nil}
}

// jsonLine writes v as one line, with < and & as they are.
func jsonLine(v any) []byte {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		// Only an id that is no JSON could fail, and it was read from JSON.
		panic(err)
	}
	return b.Bytes()
}
