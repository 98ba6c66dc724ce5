package build_test

import (
	"bytes"
	"context"
	"fmt"
	"strings"
	"sync"
	"testing"

	"counterpoise/worksheets/build"
	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/source"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestRosterIsRead(t *testing.T) {
	want := []build.Student{{ID: "a1", Name: "Ada, Countess", Email: "ada@example.org", Line: 2}, {ID: "b2", Name: "Bo \"B\"", Line: 3}}
	for _, text := range []string{
		"id,name,email\na1,\"Ada, Countess\",ada@example.org\nb2,\"Bo \"\"B\"\"\",\n",
		"\ufeffid,name,email\r\na1,\"Ada, Countess\",ada@example.org\r\nb2,\"Bo \"\"B\"\"\",\r\n",
		"Name;ID;Group;E-Mail\n\"Ada, Countess\";a1;x;ada@example.org\n\"Bo \"\"B\"\"\"; b2 \n",
	} {
		got, err := build.ReadRoster([]byte(text), "class.csv")
		if err != nil {
			t.Error(err)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%q\n%s", text, diff)
		}
	}
	got, err := build.ReadRoster([]byte("s1,Ada\n\n,,\n\"two\nlines\",Bo\ns3,Cy\n"), "class.csv")
	if err == nil || len(got) != 2 {
		t.Errorf("an id of two lines passes: %v", got)
	}
}

func TestRosterMistakesAreToldWithTheirLine(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		{"id,name\na,Ada\n ,Bo\n", "class.csv:3: the id is blank: every student needs an id of their own"},
		{"id,name\na,Ada\nb,Bo\na,Cy\n", "class.csv:4: the id a is that of line 2 too"},
		{"id,name\n\"a\nx\",Ada\nb,Bo\nb,Cy\n", "class.csv:5: the id b is that of line 4 too"},
		{"id,name\ne\u0301,Ada\n\u00e9,Bo\n", "class.csv:3: the id \u00e9 is that of line 2 too"},
		{"id,name\na,\"Ada\nb,Bo\n", "class.csv:2: not CSV"},
		{"id,name\na,A\"da\n", "class.csv:2: not CSV"},
		{"id,name\na,Ada\nb,B\xf6\n", "class.csv:3: not UTF-8 text: save the list as CSV UTF-8"},
		{"\xff\xfei\x00", "class.csv: this is UTF-16 text"},
		{"id,name\n", "class.csv: the class list names nobody"},
		{"", "class.csv: the class list names nobody"},
		{"name,email\nAda,ada@example.org\n", "class.csv:1: the first row names columns, but none is called id"},
		{"id\n" + strings.Repeat("x", 101) + "\n", "class.csv:2: the id is longer than 100 characters"},
	} {
		_, err := build.ReadRoster([]byte(tt.text), "class.csv")
		if err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%q: got %v, want %s", tt.text, err, tt.want)
		}
	}
}

func class(n int) []build.Student {
	students := make([]build.Student, n)
	for i := range students {
		students[i] = build.Student{ID: fmt.Sprintf("s%03d", i), Line: i + 1}
	}
	return students
}

var secret = []byte("a secret of sixteen bytes or more")

func TestClassSetIsDrawnFromTheRanges(t *testing.T) {
	s := read(t)
	one, err := build.Plan(s, class(200), secret, nil)
	if err != nil {
		t.Fatal(err)
	}
	two, err := build.Plan(s, class(200), secret, nil)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(one.Values, two.Values); diff != "" {
		t.Error("the same secret gives other numbers")
	}
	other, err := build.Plan(s, class(200), []byte("another secret of enough bytes"), nil)
	if err != nil {
		t.Fatal(err)
	}
	if cmp.Equal(one.Values, other.Values) {
		t.Error("another secret gives the same numbers")
	}
	seen := map[string]int{}
	for i, v := range one.Values {
		seen[v["m"]]++
		seen[v["h"]]++
		if i > 0 && cmp.Equal(v, one.Values[i-1]) {
			t.Errorf("neighbours %d and %d are alike", i-1, i)
		}
	}
	// All 11 masses and 16 drops come, evenly: of 200 students 18 and 12.5 on
	// average; less than 3 of one would be 4 standard deviations off.
	for m := 14; m <= 24; m++ {
		if n := seen[fmt.Sprintf("%d.0 g", m)]; n < 3 {
			t.Errorf("m = %d g comes %d times in %v", m, n, seen)
		}
	}
	for h := 50; h <= 80; h += 2 {
		if n := seen[fmt.Sprintf("%d.0 mm", h)]; n < 1 {
			t.Errorf("h = %d mm comes %d times", h, n)
		}
	}
	if len(seen) != 27 {
		t.Errorf("values outside the ranges: %v", seen)
	}
	if one.Spread.Alike != 0 || one.Spread.NearCount != 0 || one.Spread.Neighbours != 199 {
		t.Errorf("%+v", one.Spread)
	}
}

func TestNarrowRangesAreTold(t *testing.T) {
	narrow := strings.Replace(heron, "h: {value: 62.0 mm, from: 50 mm, to: 80 mm, step: 2 mm}", "h: 62.0 mm", 1)
	narrow = strings.Replace(narrow, "from: 14 g, to: 24 g, step: 1 g", "from: 18.0 g, to: 18.1 g, step: 0.1 g", 1)
	s, err := source.Read([]byte(narrow), "worksheet.md")
	if err != nil {
		t.Fatal(err)
	}
	set, err := build.Plan(s, class(10), secret, nil)
	if err != nil {
		t.Fatal(err)
	}
	if set.Spread.Alike != 0 || set.Spread.Sets != 2 || set.Spread.NearCount == 0 {
		t.Errorf("%+v", set.Spread)
	}
	for i := 1; i < 10; i++ {
		if set.Values[i]["m"] == set.Values[i-1]["m"] {
			t.Error("two values in turn would keep neighbours apart")
		}
	}
	if _, err := build.Plan(s, class(2), []byte("short"), nil); err == nil {
		t.Error("a short secret passes")
	}
}

func TestStudentsNotebooksAndKeysAgree(t *testing.T) {
	students := []build.Student{{ID: "a/b"}, {ID: "a b"}, {ID: "../../etc"}, {ID: "CON."}}
	set, err := build.Plan(read(t), students, secret, nil)
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"heron-a-b.ipynb", "heron-a-b-2.ipynb", "heron-etc.ipynb", "heron-CON.ipynb"}
	if diff := cmp.Diff(want, set.Files); diff != "" {
		t.Error(diff)
	}
	var mu sync.Mutex
	written := map[int][]byte{}
	err = set.Notebooks(context.Background(), func(i int, nb *notebook.Notebook) error {
		data, err := notebook.Write(nb)
		mu.Lock()
		defer mu.Unlock()
		written[i] = data
		return err
	}, nil)
	if err != nil {
		t.Fatal(err)
	}
	key := set.Key()
	for i, s := range students {
		entry, ok := key.Student(set.Tokens[i])
		if _, byID := key.Student(s.ID); byID || !bytes.Contains(written[i], []byte(set.Tokens[i])) || bytes.Contains(written[i], []byte(s.ID+`"`)) {
			t.Errorf("%s can be asked for by id, or the notebook lacks its token", s.ID)
		}
		if !ok || entry.ID != s.ID || entry.File != want[i] {
			t.Errorf("%s: %+v", s.ID, entry)
		}
		if !bytes.Contains(written[i], []byte("The drop is "+entry.Values["h"])) {
			t.Errorf("the notebook of %s has other numbers than %v", s.ID, entry.Values)
		}
		asked, err := key.Asked(entry.Values)
		if err != nil {
			t.Fatal(err)
		}
		if v := asked[1].Values["h"]; v.String() != entry.Values["h"] {
			t.Errorf("the key of %s has h = %v, not %s", s.ID, v, entry.Values["h"])
		}
	}
}

// Whatever the ranges, drawn values lie in them and on their steps.
func TestDrawnValuesLieOnTheirSteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := rapid.IntRange(1, 500).Draw(t, "from")
		step := rapid.IntRange(1, 50).Draw(t, "step")
		n := rapid.IntRange(1, 40).Draw(t, "n")
		sheet := fmt.Sprintf("---\ntitle: x\nparams:\n  m: {value: %.1f g, from: %.1f g, to: %.1f g, step: %.1f g}\n---\n",
			float64(from)/10, float64(from)/10, float64(from+n*step)/10, float64(step)/10)
		s, err := source.Read([]byte(sheet), "worksheet.md")
		if err != nil {
			t.Fatal(err)
		}
		set, err := build.Plan(s, class(5), secret, nil)
		if err != nil {
			t.Fatal(err)
		}
		allowed := map[string]bool{}
		for k := range n + 1 {
			allowed[fmt.Sprintf("%.1f g", float64(from+k*step)/10)] = true
		}
		for _, v := range set.Values {
			if !allowed[v["m"]] {
				t.Fatalf("%s is not among %v", v["m"], allowed)
			}
		}
	})
}

func BenchmarkAsked(b *testing.B) {
	key, err := build.Key(read(b))
	if err != nil {
		b.Fatal(err)
	}
	own := map[string]string{"m": "20 g", "h": "70 mm"}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := key.Asked(own); err != nil {
			b.Fatal(err)
		}
	}
}
