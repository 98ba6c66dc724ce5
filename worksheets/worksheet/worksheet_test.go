package worksheet_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"counterpoise/worksheets/question"
	"counterpoise/worksheets/seal"
	"counterpoise/worksheets/worksheet"
)

// packed is a worksheet of two questions, as a first cell carries it.
var packed = sync.OnceValue(func() string {
	e := worksheet.Envelope{Name: "heron", Title: "The heron"}
	for _, q := range []question.Question{
		{Name: "depth", Kind: "expression", Key: "h/2", Symbols: map[string]question.Symbol{"h": {Unit: "m"}}, Hints: []string{"Look at $h$.", "Halve it."}},
		{Name: "which", Kind: "choice", Options: []question.Option{{Text: "one", Right: true}, {Text: "two", Say: "Think of $h/2$."}}},
	} {
		a, err := question.Compile(q, nil)
		if err != nil {
			panic(err)
		}
		box, err := seal.Seal(a, seal.Options{Memory: 64})
		if err != nil {
			panic(err)
		}
		e.Questions = append(e.Questions, worksheet.Sealed{Name: q.Name, Kind: q.Kind, Hints: q.Hints, Box: box})
	}
	text, err := e.Pack()
	if err != nil {
		panic(err)
	}
	return text
})

func open(t *testing.T) *worksheet.Desk {
	t.Helper()
	d := new(worksheet.Desk)
	if _, err := d.Do("open", "", packed()); err != nil {
		t.Fatal(err)
	}
	return d
}

func do(t *testing.T, d *worksheet.Desk, verb, name, rest string) any {
	t.Helper()
	v, err := d.Do(verb, name, rest)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func TestHintsComeOneByOne(t *testing.T) {
	d := open(t)
	for _, want := range []string{"Hint 1 of 2. Look at $h$.\n\nRun this cell again for the next hint.", "Hint 1 of 2. Look at $h$.\n\nHint 2 of 2. Halve it.", "Hint 1 of 2. Look at $h$.\n\nHint 2 of 2. Halve it."} {
		if got := fmt.Sprint(do(t, d, "hint", "depth", "")); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

func TestFeedbackShowsItself(t *testing.T) {
	d := open(t)
	v := do(t, d, "answer", "depth", "h + h/3")
	for _, show := range []string{v.(interface{ HTML() string }).HTML(), v.(interface{ Markdown() string }).Markdown(), fmt.Sprint(v)} {
		if !strings.Contains(show, "Not yet right") {
			t.Errorf("%s", show)
		}
	}
	wrong := do(t, d, "answer", "which", "B").(interface{ HTML() string }).HTML()
	if !strings.Contains(wrong, "<math") || strings.Contains(wrong, "$") {
		t.Errorf("what a teacher says is not typeset: %s", wrong)
	}
	evil := do(t, d, "answer", "depth", "<script>alert(1)</script>").(interface{ HTML() string }).HTML()
	if strings.Contains(evil, "<script") {
		t.Error(evil)
	}
	unknown := do(t, d, "answer", "<img src=x onerror=alert(1)>", "h").(interface{ HTML() string }).HTML()
	if strings.Contains(unknown, "<img") {
		t.Error(unknown)
	}
}

// The same answer again is no new attempt; what cannot be read is none either.
func TestRepetitionsAreTold(t *testing.T) {
	d := open(t)
	for i, tt := range []struct {
		text  string
		times int
		told  string
	}{{"h", 1, ""}, {"h", 1, ""}, {"h +", 1, ""}, {"h/3", 2, "answer number 2"}, {"h/2", 3, "answer number 3"}} {
		v := do(t, d, "answer", "depth", tt.text).(worksheet.Answered)
		if v.Times != tt.times || strings.Contains(fmt.Sprint(v), "answer number") != (tt.told != "") || !strings.Contains(v.Markdown(), tt.told) || !strings.Contains(v.HTML(), tt.told) {
			t.Errorf("answer %d, %q: %d times, %s", i+1, tt.text, v.Times, v)
		}
	}
}

// An output holds the record of the attempts, as JSON that reads back.
func TestAnOutputKeepsItsAttempts(t *testing.T) {
	d := open(t)
	start := time.Now().UTC().Truncate(time.Second)
	if v := do(t, d, "answer", "which", "nonsense of mine").(worksheet.Answered); v.MIMEBundle() != nil {
		t.Errorf("an answer that cannot be read is in the record: %v", v.MIMEBundle())
	}
	var last worksheet.Answered
	for _, text := range []string{"B", "A", "B", "A"} {
		last = do(t, d, "answer", "which", text).(worksheet.Answered)
	}
	data, err := json.Marshal(last.MIMEBundle()[worksheet.AttemptsMIME])
	if err != nil {
		t.Fatal(err)
	}
	var content any
	if err := json.Unmarshal(data, &content); err != nil {
		t.Fatal(err)
	}
	r, err := worksheet.ReadAttempts(content)
	if err != nil {
		t.Fatalf("%s: %v", data, err)
	}
	var verdicts []string
	for _, a := range r.Attempts {
		verdicts = append(verdicts, a.Verdict)
		if a.At.Before(start) || a.At.Before(r.Opened) {
			t.Errorf("an attempt at %v, opened at %v", a.At, r.Opened)
		}
	}
	if r.Sheet != "heron" || r.Question != "which" || strings.Join(verdicts, " ") != "wrong right wrong right" || r.Wrong() != 1 {
		t.Errorf("%s: %d wrong", data, r.Wrong())
	}
	for _, bad := range []any{nil, "x", 7.0, map[string]any{}, map[string]any{"attempts": []any{map[string]any{"at": "yesterday"}}},
		map[string]any{"opened": "2026-01-02T00:00:00Z", "attempts": []any{map[string]any{"at": "2026-01-01T00:00:00Z", "verdict": "wrong"}}},
		map[string]any{"attempts": []any{map[string]any{"at": "2026-01-01T00:00:00Z", "verdict": "<b>"}}}} {
		if r, err := worksheet.ReadAttempts(bad); err == nil {
			t.Errorf("%v is a record: %+v", bad, r)
		}
	}
}

// What wrong answers cost is the teacher's choice, and the student is told.
func TestWhatAttemptsCostIsTold(t *testing.T) {
	e, err := worksheet.Unpack(packed())
	if err != nil {
		t.Fatal(err)
	}
	e.Questions[0].Attempts = question.Attempts{Free: 2, Cost: 0.5}
	text, err := e.Pack()
	if err != nil {
		t.Fatal(err)
	}
	d := new(worksheet.Desk)
	do(t, d, "open", "", text)
	for _, tt := range []struct{ answer, want string }{
		{"h", "1 wrong answer so far; 2 cost nothing."},
		{"h/3", "2 wrong answers so far. From now on each costs 0.5."},
		{"h +", "2 wrong answers so far."},
		{"h/4", "3 wrong answers so far: 0.5 off the marks."},
		{"h/2", "3 wrong answers so far: 0.5 off the marks."},
	} {
		if got := fmt.Sprint(do(t, d, "answer", "depth", tt.answer)); !strings.Contains(got, tt.want) {
			t.Errorf("%s: %q lacks %q", tt.answer, got, tt.want)
		}
	}
	if got := fmt.Sprint(do(t, d, "answer", "which", "B")); strings.Contains(got, "wrong answer") {
		t.Errorf("a question without a rule says %q", got)
	}
}

func TestCallsOfPlainGoEndInTheSameFunction(t *testing.T) {
	if got := fmt.Sprint(worksheet.Answer("depth", "h/2")); !strings.Contains(got, "No worksheet is open yet") {
		t.Error(got)
	}
	s, err := worksheet.Open("\n" + packed() + "\n")
	if err != nil || s.Title() != "The heron" || len(s.Names()) != 2 {
		t.Fatal(err)
	}
	if got := fmt.Sprint(worksheet.Answer("depth", "h/2")); !strings.Contains(got, "Right") {
		t.Error(got)
	}
	if got := fmt.Sprint(worksheet.Hint("depth")); !strings.Contains(got, "Look at") {
		t.Error(got)
	}
}

func TestManyAnswersAtOnce(t *testing.T) {
	d := open(t)
	var wg sync.WaitGroup
	for i := range 8 {
		wg.Go(func() {
			if v, err := d.Do("answer", "which", string(rune('A'+i%2))); err != nil || v == nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
}

func TestWhatIsNoEnvelope(t *testing.T) {
	newer := worksheet.Envelope{Name: "x"}
	text, err := newer.Pack()
	if err != nil {
		t.Fatal(err)
	}
	e, err := worksheet.Unpack(text)
	if err != nil || e.Version != 1 {
		t.Fatal(err)
	}
	for _, bad := range []string{"", "//", "x", "AAAA", packed()[:50], packed()[10:], strings.Repeat("A", 1000)} {
		if _, err := worksheet.Open(bad); err == nil {
			t.Errorf("%.20q opens", bad)
		}
	}
}

func FuzzUnpack(f *testing.F) {
	f.Add(packed())
	f.Add("AAAA")
	f.Fuzz(func(t *testing.T, text string) {
		e, err := worksheet.Unpack(text)
		if err != nil {
			return
		}
		again, err := e.Pack()
		if err != nil {
			t.Fatal(err)
		}
		back, err := worksheet.Unpack(again)
		if err != nil {
			t.Fatal(err)
		}
		one, _ := json.Marshal(e)
		two, _ := json.Marshal(back)
		if e.Version == back.Version && string(one) != string(two) {
			t.Fatalf("%s comes back as %s", one, two)
		}
	})
}
