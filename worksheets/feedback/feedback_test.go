package feedback_test

import (
	"fmt"
	"html"
	"regexp"
	"strings"
	"testing"

	xhtml "golang.org/x/net/html"
	"pgregory.net/rapid"

	"counterpoise/worksheets/feedback"
	"counterpoise/worksheets/question"
)

func Example() {
	v := question.Verdict{Outcome: question.Wrong, Of: 2, Slip: "sign", Say: "Check the sign.", Text: "m g (h - R)", TeX: `m g \left(h - R\right)`}
	fmt.Println(feedback.OfQuestion("stiffness", v).Text())
	// Output:
	// stiffness: Not yet right: 0 of 2 marks
	// Check the sign.
	// Read as: m g (h - R)
}

var tags = regexp.MustCompile(`<[^>]*>`)

// The plain text and the HTML say the same words, whatever is in them, and the
// HTML is nothing but the elements written here.
func TestTextAndHTMLSayTheSame(t *testing.T) {
	words := func(s string) string {
		return strings.Join(strings.FieldsFunc(s, func(r rune) bool { return strings.ContainsRune(" \n.:()—", r) }), " ")
	}
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOf(rapid.RuneFrom([]rune("ab<>&\"'/$`*_\\=θ²"))).Draw
		v := question.Verdict{
			Outcome: question.Outcome(rapid.IntRange(0, 3).Draw(t, "outcome")),
			Marks:   float64(rapid.IntRange(0, 2).Draw(t, "marks")), Of: 2,
			Say: text(t, "say"), Text: text(t, "text"),
		}
		for range rapid.IntRange(0, 2).Draw(t, "lines") {
			v.Lines = append(v.Lines, question.Line{Text: text(t, "line"), Status: "follows", Say: text(t, "line say")})
		}
		f := feedback.OfQuestion(text(t, "name"), v)
		numbered := regexp.MustCompile(`(?m)^\d\. `)
		plain := numbered.ReplaceAllString(f.Text(), "")
		fromHTML := html.UnescapeString(tags.ReplaceAllString(f.HTML(), " "))
		if words(plain) != words(fromHTML) {
			t.Fatalf("text says %q, HTML says %q", words(plain), words(fromHTML))
		}
		allowed := map[string]bool{"div": true, "p": true, "strong": true, "pre": true, "code": true, "ol": true, "li": true}
		z := xhtml.NewTokenizer(strings.NewReader(f.HTML()))
		for z.Next() != xhtml.ErrorToken {
			if name, _ := z.TagName(); len(name) > 0 && !allowed[string(name)] {
				t.Fatalf("element %s in %s", name, f.HTML())
			}
		}
	})
}

func TestOutcomeIsSaidInWords(t *testing.T) {
	for _, tt := range []struct {
		v    question.Verdict
		want string
	}{
		{question.Verdict{Outcome: question.Right, Marks: 2, Of: 2, Say: "Right."}, "Right: 2 of 2 marks"},
		{question.Verdict{Outcome: question.Wrong, Of: 1, Say: "Check the sign."}, "Not yet right: 0 of 1 mark\nCheck the sign."},
		{question.Verdict{Outcome: question.Wrong, Marks: 4, Of: 4, Say: "The result is reached, but line 2 does not hold."}, "Nearly right: 4 of 4 marks\nThe result is reached, but line 2 does not hold."},
		{question.Verdict{Outcome: question.Unreadable, Of: 1, Say: "Give the unit too."}, "Please mend and send again (this costs no attempt)\nGive the unit too."},
		{question.Verdict{Outcome: question.ForHuman, Of: 3, Say: "Kept."}, "Waits for your tutor\nKept."},
	} {
		if got := feedback.Of(tt.v).Text(); got != tt.want {
			t.Errorf("says %q, want %q", got, tt.want)
		}
	}
}
