package build_test

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	"counterpoise/mechanics/quantity"
	"counterpoise/mechanics/toy"
	"counterpoise/worksheets/build"
	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/question"
	"counterpoise/worksheets/source"
	"counterpoise/worksheets/worksheet"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

const heron = `---
title: The heron
params:
  m: {value: 18.0 g, from: 14 g, to: 24 g, step: 1 g, means: mass of a weight}
  M: {value: 21.0 g, means: mass of the arms}
  h: {value: 62.0 mm, from: 50 mm, to: 80 mm, step: 2 mm}
toys:
  wings:
    parts:
      - {shape: sphere, at: [90 mm, -h, 0 mm], mass: m, diameter: 16 mm}
      - {shape: sphere, at: [-90 mm, -h, 0 mm], mass: m, diameter: 16 mm}
    stand: {kind: point, at: [0 mm, 0 mm, 0 mm]}
---
The drop is {{h}}, in metres {{h number in m}}, in cm {{h in cm}}; the weights alone are {{wings.mass}}.

` + "```go\nh := {{h number in m}}\nvectors := [][]int{{1, 2}}\n```" + `

` + "```question" + `
name: depth
kind: expression
ask: Where is the centre of gravity?
key: (2 m h + M h/2)/(2 m + M)
marks: 2
hints: ["hint-in-clear {{h}}"]
slips:
  - {gives: h, say: slip-in-clear}
working: working-in-clear {{h}}
samples: {right: ["h (4 m + M)/(4 m + 2 M)"], wrong: [h]}
` + "```" + `

` + "```question" + `
name: depth-number
kind: number
ask: And in mm?
key: (2 m h + M h/2)/(2 m + M)
unit: mm
slips:
  - {gives: h/2, say: slip-in-clear}
samples: {right: ["50.6 mm"], wrong: ["62 mm"]}
` + "```" + `

` + "```question" + `
name: twice
kind: number
ask: Twice that?
key: 2 depth_number
carry: [depth-number]
` + "```" + `

` + "```question" + `
name: toy
kind: number
ask: What do the weights weigh together?
key: wings.mass
unit: g
` + "```" + `

` + "```question" + `
name: which
kind: choice
ask: Which?
options:
  - {text: one, right: true}
  - {text: two, say: say-in-clear}
` + "```" + `

` + "```question" + `
name: why
kind: prose
ask: Why?
points: [point-in-clear]
` + "```\n"

func read(t testing.TB) *source.Sheet {
	t.Helper()
	s, err := source.Read([]byte(heron), "heron/worksheet.md")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// built is the sheet's notebook and key file, made once for the tests that only
// look at them.
var built = sync.OnceValues(func() (*notebook.Notebook, *build.KeyFile) {
	s, err := source.Read([]byte(heron), "heron/worksheet.md")
	if err != nil {
		panic(err)
	}
	nb, key, err := build.Build(s, build.Options{})
	if err != nil {
		panic(err)
	}
	return nb, key
})

func TestStudentNotebookIsValidAndTheSameEachTime(t *testing.T) {
	var first []byte
	one, _ := built()
	two, _, err := build.Build(read(t), build.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, nb := range []*notebook.Notebook{one, two} {
		if err := notebook.Validate(nb); err != nil {
			t.Error(err)
		}
		data, err := notebook.Write(nb)
		if err != nil {
			t.Fatal(err)
		}
		if first != nil && !bytes.Equal(first, data) {
			t.Error("the same sheet gives other bytes")
		}
		first = data
	}
	// nbformat 4.5, published with the Python package nbformat 5.11.1.
	schema, err := jsonschema.NewCompiler().Compile("../../testdata/published/nbformat/nbformat.v4.5.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(first))
	if err != nil {
		t.Fatal(err)
	}
	if err := schema.Validate(v); err != nil {
		t.Error(err)
	}
}

// plainGo is a copy with own values for other Go kernels, made once.
var plainGo = sync.OnceValue(func() *notebook.Notebook {
	s, err := source.Read([]byte(heron), "heron/worksheet.md")
	if err != nil {
		panic(err)
	}
	nb, _, err := build.Build(s, build.Options{Values: map[string]string{"h": "70.0 mm"}, PlainGo: true, Student: "s1"})
	if err != nil {
		panic(err)
	}
	return nb
})

func TestValuesArePrinted(t *testing.T) {
	nb, _ := built()
	for _, tt := range []struct {
		nb   *notebook.Notebook
		want []string
	}{
		{nb, []string{"The drop is 62.0 mm, in metres 0.062, in cm 6.20 cm; the weights alone are 36.0 g.", "//worksheet:answer depth\n", "### Question 1 · 2 marks", "| $h$ |  | 62.0 mm |"}},
		{plainGo(), []string{"The drop is 70.0 mm, in metres 0.07, in cm 7.00 cm; the weights alone are 36.0 g.", "h := 0.07\nvectors := [][]int{{1, 2}}", "| $h$ |  | 70.0 mm |", "worksheet.Answer(\"depth\", `\n`)"}},
	} {
		text := ""
		for _, c := range tt.nb.Cells[1:] {
			text += c.Source + "\n"
		}
		for _, want := range tt.want {
			if !strings.Contains(text, want) {
				t.Errorf("no %q in\n%s", want, text)
			}
		}
	}
}

// Nothing of the key file's secrets stands in a student's file, as it is or
// under base64, nor in the packed first cell.
func TestNothingSecretStandsInClear(t *testing.T) {
	nb, _ := built()
	for i, nb := range []*notebook.Notebook{nb, plainGo()} {
		data, err := notebook.Write(nb)
		if err != nil {
			t.Fatal(err)
		}
		open, hint := nb.Cells[0].Source, "hint-in-clear 62.0 mm"
		open = strings.TrimSuffix(open[strings.Index(open, "\n")+1:], "`)")
		if i == 1 {
			open, hint = open[strings.Index(open, "`")+1:], "hint-in-clear 70.0 mm"
		}
		e, err := worksheet.Unpack(open)
		if err != nil {
			t.Fatal(err)
		}
		unpacked, err := json.Marshal(e)
		if err != nil {
			t.Fatal(err)
		}
		for _, secret := range []string{"M h/2", "4 m + M", "slip-in-clear", "working-in-clear", "say-in-clear", "point-in-clear", "50.6", "right\":true", "gives"} {
			for _, form := range []string{secret, base64.StdEncoding.EncodeToString([]byte(secret))[:len(secret)]} {
				if bytes.Contains(data, []byte(form)) || bytes.Contains(unpacked, []byte(form)) {
					t.Errorf("%q stands in student's file %d", form, i)
				}
			}
		}
		if !bytes.Contains(unpacked, []byte(hint)) {
			t.Error("the hints are not in the envelope")
		}
	}
}

func TestKeyFileComesBackAndJudges(t *testing.T) {
	_, key := built()
	data, err := key.Write()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "heron.key.json")
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	k, err := build.ReadKeyFile(path)
	if err != nil {
		t.Fatal(err)
	}
	// By hand: (2·18·62 + 21·31)/(36 + 21) = 2883/57 = 50.58 mm, twice that
	// 101.2 mm; with h = 70 mm (2·18·70 + 21·35)/57 = 57.11 mm.
	for _, tt := range []struct {
		own  map[string]string
		want []string
	}{
		{nil, []string{"", "50.58 mm", "0.1012 m", "36.00 g", "", ""}},
		{map[string]string{"h": "70 mm"}, []string{"", "57.11 mm", "0.1142 m", "36.00 g", "", ""}},
	} {
		asked, err := k.Asked(tt.own)
		if err != nil {
			t.Fatal(err)
		}
		for i, a := range asked {
			got := ""
			if v, ok := a.Value(); ok {
				got = v.Format(4, v.Unit)
			}
			if got != tt.want[i] {
				t.Errorf("%s with %v: %s, want %s", k.Questions[i].Name, tt.own, got, tt.want[i])
			}
		}
	}
	// A student's own wrong 60 mm carried forward: 120 mm is right then.
	own, err := k.Asked(nil)
	if err != nil {
		t.Fatal(err)
	}
	if v := own[2].Check("120 mm"); v.Outcome != question.Wrong {
		t.Errorf("120 mm is %v without follow-through", v.Outcome)
	}
	carried, err := k.AskedWith(nil, question.Values{"depth-number": quantity.MustParse("60 mm")})
	if err != nil {
		t.Fatal(err)
	}
	if v := carried[2].Check("120 mm"); v.Outcome != question.Right {
		t.Errorf("120 mm is %v with follow-through: %s", v.Outcome, v.Say)
	}
	changed := bytes.Replace(data, []byte(`"2 depth_number"`), []byte(`"3 depth_number"`), 1)
	if err := os.WriteFile(path, changed, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := build.ReadKeyFile(path); err == nil || !strings.Contains(err.Error(), "changed by hand") {
		t.Errorf("a changed key file: %v", err)
	}
}

func TestAnswersAreCheckedThroughTheFile(t *testing.T) {
	nb, _ := built()
	var desk worksheet.Desk
	do := func(source string) string {
		first, rest, _ := strings.Cut(source, "\n")
		verb, name, _ := strings.Cut(strings.TrimPrefix(first, "//worksheet:"), " ")
		v, err := desk.Do(verb, name, rest)
		if err != nil {
			t.Fatal(err)
		}
		return fmt.Sprint(v)
	}
	if got := do("//worksheet:answer depth\nh"); !strings.Contains(got, "No worksheet is open yet") {
		t.Error(got)
	}
	for _, tt := range []struct{ cell, want string }{
		{nb.Cells[0].Source, "The heron: open, with 6 questions"},
		{"//worksheet:answer depth", "There is no answer to depth here yet"},
		{"//worksheet:answer depth\n(2 m h + M h/2)/(2 m + M)", "Right"},
		{"//worksheet:answer depth\nh", "slip-in-clear"},
		{"//worksheet:answer depth\nh", "Not yet right"},
		{"//worksheet:answer depht\nh", "no question called depht. Did you mean depth?"},
		{"//worksheet:answer\nh", "Which question is this the answer to?"},
		{"//worksheet:answer xylophone\nh", "Its questions are depth, depth-number"},
		{"//worksheet:answer depth-number\n5.06 cm", "Right"},
		{"//worksheet:answer which\nA", "Right"},
		{"//worksheet:answer why\nBecause.", "tutor"},
		{"//worksheet:hint depth", "Hint 1 of 1. hint-in-clear 62.0 mm"},
		{"//worksheet:hint why", "There is no hint for why"},
	} {
		if got := do(tt.cell); !strings.Contains(got, tt.want) {
			t.Errorf("%.40s\nsays %s\nwant %s", tt.cell, got, tt.want)
		}
	}
	if got := do("//worksheet:answer depth\n2h"); !strings.Contains(got, "This is answer number 3 to this question") {
		t.Error(got)
	}
	if _, err := desk.Do("burn", "", ""); err == nil {
		t.Error("an unknown directive passes")
	}
	if _, err := desk.Do("open", "", "AAAA"); err == nil || !strings.Contains(err.Error(), "fresh copy") {
		t.Error(err)
	}
}

// Where a Go cell names a toy of the front matter, it gets that toy with the
// copy's own numbers, as text that package toy reads.
func TestToysReachGoCells(t *testing.T) {
	in := strings.Replace(heron, "h := {{h number in m}}", "wings, err := toy.Read({{toy wings}}, nil)\nh := {{h number in m}}", 1)
	s, err := source.Read([]byte(in), "worksheet.md")
	if err != nil {
		t.Fatal(err)
	}
	nb, _, err := build.Build(s, build.Options{Values: map[string]string{"h": "70 mm"}})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range nb.Cells {
		_, rest, ok := strings.Cut(c.Source, "toy.Read([]byte(`")
		if !ok {
			continue
		}
		text, _, _ := strings.Cut(rest, "`), nil)")
		wings, err := toy.Read([]byte(text), nil)
		if err != nil {
			t.Fatalf("%v in %q", err, text)
		}
		// Two equal weights, 70 mm below the pin: so is what they balance on.
		if y := wings.Assembly.CentreOfGravity().Y; y != -0.07 {
			t.Errorf("centre of gravity at y = %v m in %q", y, text)
		}
		return
	}
	t.Error("no Go cell has the toy")
}

func TestMistakesOfKeysAreToldWithTheirLine(t *testing.T) {
	broken := strings.Replace(heron, "key: wings.mass", "key: wing.mass", 1)
	broken = strings.Replace(broken, "{gives: h/2, say", "{gives: H/2, say", 1)
	broken = strings.Replace(broken, "mass: m, diameter: 16 mm}\n    stand", "mas: m, diameter: 16 mm}\n    stand", 1)
	s, err := source.Read([]byte(broken), "worksheet.md")
	if err != nil {
		t.Fatal(err)
	}
	_, _, err = build.Build(s, build.Options{})
	if err == nil {
		t.Fatal("the broken sheet builds")
	}
	for _, want := range []struct{ line, say string }{{"mas: m", "toy wings:"}, {"H/2", "gives of slip 1 of depth-number"}, {"key: wing.mass", "key of toy"}} {
		line := 1 + strings.Count(broken[:strings.Index(broken, want.line)], "\n")
		if !strings.Contains(err.Error(), fmt.Sprintf("worksheet.md:%d: %s", line, want.say)) {
			t.Errorf("nothing tells %q on line %d in\n%v", want.say, line, err)
		}
	}
	// A key that needs the broken toy is not blamed as well.
	if n := strings.Count(err.Error(), "key of toy"); n != 1 {
		t.Errorf("key of toy is named %d times in\n%v", n, err)
	}
	// A value that the toy does not have is answered with those it has.
	if s, err = source.Read([]byte(strings.Replace(heron, "key: wings.mass", "key: wings.mas", 1)), "worksheet.md"); err != nil {
		t.Fatal(err)
	}
	if _, _, err := build.Build(s, build.Options{}); err == nil || !strings.Contains(err.Error(), "uses wings.mas, which does not exist with these numbers: wings has ") {
		t.Errorf("a value of no toy: %v", err)
	}
	if s, err = source.Read([]byte(strings.Replace(heron, "mass: m, diameter: 16 mm}\n    stand", "mas: m, diameter: 16 mm}\n    stand", 1)), "worksheet.md"); err != nil {
		t.Fatal(err)
	}
	if _, _, err := build.Build(s, build.Options{}); err == nil || strings.Contains(err.Error(), "key of toy") {
		t.Errorf("blames a key for its toy:\n%v", err)
	}
	if strings.Contains(fmt.Sprint(err), "twice") {
		t.Errorf("blames a question for what it carries:\n%v", err)
	}
}

// What to type is said before an answer is given: a unit or none, and how many
// figures.
func TestNumbersSayWhatToType(t *testing.T) {
	for fields, want := range map[string]string{
		"unit: mm":                        "*Type a number with its unit under ",
		"unit: mm\nfigures: 3..4":         "*Type a number with its unit, of 3 to 4 figures, under ",
		"unit: mm\nfigures: 3..3":         "*Type a number with its unit, of 3 figures, under ",
		"unit: mm\nuncertainty: asked":    "*Type a number with its uncertainty and its unit under ",
		"unit: \"1\"\nfigures: 2..4":      "*Type the number alone, of 2 to 4 figures, under ",
		"unit: \"1\"\nuncertainty: asked": "*Type a number with its uncertainty under ",
	} {
		key := "5 mm"
		if strings.Contains(fields, `"1"`) {
			key = "2.5"
		}
		s, err := source.Read([]byte("---\ntitle: T\n---\n```question\nname: far\nkind: number\nask: How far?\nkey: "+key+"\n"+fields+"\n```\n"), "worksheet.md")
		if err != nil {
			t.Fatal(err)
		}
		nb, _, err := build.Build(s, build.Options{})
		if err != nil {
			t.Errorf("%s: %v", fields, err)
			continue
		}
		found := slices.ContainsFunc(nb.Cells, func(c notebook.Cell) bool { return strings.Contains(c.Source, want) })
		if !found {
			t.Errorf("%s: %q is not said", fields, want)
		}
	}
}

func TestTemplateBuilds(t *testing.T) {
	s, err := source.Read(build.Template, "worksheet.md")
	if err != nil {
		t.Fatal(err)
	}
	key, err := build.Key(s)
	if err != nil {
		t.Fatal(err)
	}
	asked, err := key.Asked(nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, a := range asked {
		for _, right := range key.Questions[i].Samples.Right {
			if v := a.Check(right); v.Outcome != question.Right {
				t.Errorf("%s: %q is %v: %s", key.Questions[i].Name, right, v.Outcome, v.Say)
			}
		}
		for _, wrong := range key.Questions[i].Samples.Wrong {
			if v := a.Check(wrong); v.Outcome != question.Wrong {
				t.Errorf("%s: %q is %v: %s", key.Questions[i].Name, wrong, v.Outcome, v.Say)
			}
		}
	}
}

func TestSamplesFillTheAnswerCells(t *testing.T) {
	nb, _ := built()
	filled := build.WithSamples(nb, read(t))
	want := map[string]string{"answer-depth": "//worksheet:answer depth\nh (4 m + M)/(4 m + 2 M)", "answer-which": "//worksheet:answer which\nA", "answer-why": "//worksheet:answer why\n"}
	for i, c := range filled.Cells {
		if w, ok := want[c.ID]; ok && c.Source != w {
			t.Errorf("%s: %q", c.ID, c.Source)
		}
		if nb.Cells[i].ID == "answer-depth" && nb.Cells[i].Source != "//worksheet:answer depth\n" {
			t.Error("the notebook itself was changed")
		}
	}
}

func BenchmarkBuild(b *testing.B) {
	s := read(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := build.Build(s, build.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

func TestPicturesTravelWithTheNotebook(t *testing.T) {
	png := []byte("\x89PNG\r\n\x1a\n…")
	folder := fstest.MapFS{"photo.png": {Data: png}, "text.png": {Data: []byte("no picture")}}
	s, err := source.ReadIn(folder, []byte("---\ntitle: x\n---\n![a heron](photo.png)\n"), "x/worksheet.md")
	if err != nil {
		t.Fatal(err)
	}
	nb, _, err := build.Build(s, build.Options{})
	if err != nil {
		t.Fatal(err)
	}
	c := nb.Cells[len(nb.Cells)-1]
	bundle, _ := c.Attachments["photo.png"].(map[string]any)
	if c.Source != "![a heron](attachment:photo.png)" || bundle["image/png"] != base64.StdEncoding.EncodeToString(png) {
		t.Errorf("%+v", c)
	}
	if err := notebook.Validate(nb); err != nil {
		t.Error(err)
	}
	_, err = source.ReadIn(folder, []byte("---\ntitle: x\n---\n\n![](photo.png) and\n![a](https://example.org/a.png)\n\n![b](none.png) ![c](text.png) ![d](../up.png)\n"), "worksheet.md")
	for _, want := range []string{"worksheet.md:5: the picture photo.png has no description", "worksheet.md:5: the picture https://example.org/a.png would be fetched from the net",
		"worksheet.md:8: the picture none.png cannot be read", "worksheet.md:8: the picture text.png is no PNG, JPEG or GIF", "worksheet.md:8: the picture ../up.png is not in the sheet's folder"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("nothing tells %q in\n%v", want, err)
		}
	}
}
