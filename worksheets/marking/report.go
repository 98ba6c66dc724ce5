package marking

import (
	"embed"
	"errors"
	"fmt"
	"html/template"
	"io"
	"math"
	"runtime"
	"slices"
	"strings"

	"golang.org/x/sync/errgroup"

	"counterpoise/mechanics/figure"
	"counterpoise/worksheets/build"
	"counterpoise/worksheets/feedback"
	"counterpoise/worksheets/page"
	"counterpoise/worksheets/page/tex"
	"counterpoise/worksheets/question"
)

//go:embed report.html feedback.html
var templates embed.FS

var pages = template.Must(template.New("").Funcs(template.FuncMap{
	"num": num, "percent": percent, "hundredths": hundredths,
}).ParseFS(templates, "*.html"))

// num prints marks: as few decimals as they need.
func num(x float64) string {
	if math.IsNaN(x) {
		return "–"
	}
	return strings.ReplaceAll(fmt.Sprintf("%.4g", x), "-", "−")
}

func hundredths(x float64) string {
	if math.IsNaN(x) {
		return "–"
	}
	return strings.ReplaceAll(fmt.Sprintf("%.2f", x), "-", "−")
}

func percent(x float64) string {
	if math.IsNaN(x) {
		return "–"
	}
	return fmt.Sprintf("%.0f %%", 100*x)
}

// classPage is what the report page shows.
type classPage struct {
	Title       string
	Summary     Summary
	Items       []Item
	Doubts      []remark
	Picture     template.HTML
	Curve       template.HTML
	Records     int     // scripts with a record of attempts
	Kinds       []Count // of flags
	Mean, Worst float64
	Of          float64
	Commonest   []Count
	Flagged     []row
	More        int // flagged scripts that are not listed
	Remarks     []remark
	Missing     []string
	Policy      string
}

type remark struct{ Label, Reason string }

// Fields of a row that the report shows.
func (r row) Script() string  { return r.script }
func (r row) Student() string { return r.student }
func (r row) Flags() string   { return r.flags }

const listed = 200 // flagged scripts, remarks and missing students on the report

func (f *finisher) report() error {
	items, err := f.itemFigures()
	if err != nil {
		return err
	}
	policy, err := f.policy.YAML()
	if err != nil {
		return err
	}
	p := classPage{Title: f.marker.key.Title, Summary: f.summary(), Items: items, Policy: string(policy)}
	p.Picture, p.Mean, p.Of = f.distribution()
	p.Curve, p.Records = f.class.curve.picture(), f.class.curve.scripts
	p.Kinds = f.kinds()
	all := map[string]int{}
	for _, it := range items {
		if d := it.Doubt(); d != "" {
			p.Doubts = append(p.Doubts, remark{it.Question, d})
		}
		for _, s := range it.Slips {
			all[it.Question+": "+s.What] += s.Times
		}
	}
	p.Commonest = sorted(all)
	p.Commonest = p.Commonest[:min(3, len(p.Commonest))]
	for _, r := range f.rows {
		if !r.odd {
			continue
		}
		if len(p.Flagged) < listed {
			p.Flagged = append(p.Flagged, r)
		} else {
			p.More++
		}
	}
	for _, r := range f.description.Remarks[:min(listed, len(f.description.Remarks))] {
		p.Remarks = append(p.Remarks, remark{r.Label, r.Reason})
	}
	for _, s := range f.marker.key.Students {
		if f.came(s.ID) == nothing && len(p.Missing) < listed {
			p.Missing = append(p.Missing, s.ID)
		}
	}
	return f.page(Report, "report.html", "Class report: "+p.Title, p)
}

// kinds counts how often each flag was set.
func (f *finisher) kinds() []Count {
	all := map[string]int{}
	for i := range f.rows {
		if f.rows[i].flags == "" {
			continue
		}
		for _, code := range strings.Split(f.rows[i].flags, "; ") {
			all[code]++
		}
	}
	return sorted(all)
}

// page writes a page from a template; everything in data is escaped.
func (f *finisher) page(name, from, title string, data any) error {
	var body strings.Builder
	if err := pages.ExecuteTemplate(&body, from, data); err != nil {
		return err
	}
	html, err := page.Document{Title: title, Body: template.HTML(body.String()), Small: name != Report}.HTML()
	if err != nil {
		return err
	}
	return f.file(name, func(w io.Writer) error { _, err := w.Write(html); return err })
}

// distribution draws how the totals fall, in tenths of the marks.
func (f *finisher) distribution() (picture template.HTML, mean, of float64) {
	var totals []float64
	for i := range f.rows {
		if f.rows[i].counts {
			totals = append(totals, f.rows[i].total)
			of = max(of, f.rows[i].of)
			mean += f.rows[i].total
		}
	}
	if len(totals) == 0 || of == 0 {
		return "", math.NaN(), of
	}
	mean /= float64(len(totals))
	const tenths = 10
	b := figure.Bars{
		Title: "How the totals fall", X: figure.Axis{Label: "marks"}, Y: figure.Axis{Label: "scripts", Whole: true},
		Heights: make([]float64, tenths), Edges: make([]float64, tenths+1),
	}
	for i := range b.Edges {
		b.Edges[i] = of * float64(i) / tenths
	}
	for _, t := range totals {
		b.Heights[min(tenths-1, int(t/of*tenths))]++
	}
	return template.HTML(b.SVG()), mean, of
}

// studentPage is what a feedback page shows.
type studentPage struct {
	Title   string
	Name    string
	Student string
	Script  string
	Total   float64
	Of      float64
	Late    bool
	Marked  bool
	Well    []string // questions with full marks
	Next    string   // the one next step
	Waiting int
	Flags   []string
	Marks   []markOnPage
}

type markOnPage struct {
	Mark
	Number int
	Waits  bool // for a human
	Ask    template.HTML
	Words  template.HTML
}

// feedback writes a page for every script that was marked or that somebody must
// be told about.
func (f *finisher) feedback() error {
	asks := make([]template.HTML, len(f.marker.key.Questions))
	for i := range asks {
		if text := f.marker.key.Questions[i].Ask; !strings.Contains(text, "{{") {
			asks[i] = page.Prose(text) // the same for everybody
		}
	}
	students := map[string]*build.KeyStudent{}
	for i := range f.marker.key.Students {
		students[f.marker.key.Students[i].ID] = &f.marker.key.Students[i]
	}
	group := new(errgroup.Group)
	group.SetLimit(runtime.GOMAXPROCS(0))
	err := f.each(func(r *Result) error {
		group.Go(func() error { return f.studentPage(r, asks, students[r.Student]) })
		return nil
	})
	return errors.Join(err, group.Wait())
}

// studentPage writes one feedback page.
func (f *finisher) studentPage(r *Result, asks []template.HTML, student *build.KeyStudent) error {
	p := studentPage{Title: f.marker.key.Title, Student: r.Student, Script: r.Script, Total: r.Total, Of: r.Of, Late: r.Late, Marked: r.Marked()}
	var own map[string]string
	if student != nil {
		own = student.Values
		if f.policy.Names == "show" {
			p.Name = student.Name
		}
	}
	for _, flag := range r.Flags {
		if !flag.Quiet() {
			p.Flags = append(p.Flags, flag.Say)
		}
	}
	for i := range r.Marks {
		m := r.Marks[i]
		switch {
		case m.Verdict == human && m.By == "":
			p.Waiting++
		case m.Marks >= m.Of:
			p.Well = append(p.Well, m.Question)
		}
		on := markOnPage{Mark: m, Number: i + 1, Waits: m.Verdict == human && m.By == "", Words: words(m)}
		if i < len(asks) {
			if on.Ask = asks[i]; on.Ask == "" {
				on.Ask = page.Prose(f.marker.key.Ask(i, own))
			}
		}
		p.Marks = append(p.Marks, on)
	}
	p.Next = nextStep(r.Marks)
	return f.page(Feedback+"/"+f.pageName(r), "feedback.html", "Feedback: "+p.Title, p)
}

// nextStep names the question that is worth going back to: the first with a
// named slip, else the first that earned least.
func nextStep(marks []Mark) string {
	at := slices.IndexFunc(marks, func(m Mark) bool { return m.Slip != "" && m.Marks < m.Of })
	if at < 0 {
		least := 1.0
		for i, m := range marks {
			if share := m.Marks / max(m.Of, 1e-9); m.Verdict != human && share < least {
				least, at = share, i
			}
		}
	}
	if at < 0 {
		return ""
	}
	return fmt.Sprintf("go back to question %d (%s).", at+1, marks[at].Question)
}

// words puts a mark into the words that the student's own cell uses.
func words(m Mark) template.HTML {
	v, ok := verdict(m)
	if !ok {
		return "<p>No answer was handed in.</p>"
	}
	f := feedback.Of(v)
	f.HandedIn = true
	f.Math = func(s string) string {
		html, err := tex.MathML(s, false)
		if err != nil {
			return template.HTMLEscapeString(s)
		}
		return html
	}
	return template.HTML(f.HTML())
}

// verdict is the verdict that a mark was made from, or a human's; ok is false
// where nothing was handed in.
func verdict(m Mark) (v question.Verdict, ok bool) {
	v = question.Verdict{Marks: m.Marks, Of: m.Of, Slip: m.Slip, Say: m.Say, TeX: m.TeX}
	if m.Verdict == blank || v.Outcome.UnmarshalText([]byte(m.Verdict)) != nil {
		return v, false
	}
	if m.By != "" {
		v.Outcome = question.Wrong
		if m.Marks >= m.Of {
			v.Outcome = question.Right
		}
	}
	for _, l := range m.Lines {
		v.Lines = append(v.Lines, question.Line{Text: l.Text, Status: l.Status, Say: l.Say})
	}
	return v, true
}
