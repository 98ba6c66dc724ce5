package marking_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"counterpoise/mechanics/quantity"
	"counterpoise/worksheets/build"
	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/source"
)

// A maker writes classes of scripts of which the truth is known.
type maker struct {
	key *build.KeyFile
	nb  *notebook.Notebook
	rng *rand.Rand
}

// printed builds the sheet once for all tests: sealing its keys takes time.
var printed = sync.OnceValues(func() (*notebook.Notebook, *build.KeyFile) {
	sheet, err := source.ReadFile("testdata/worksheet.md")
	if err != nil {
		panic(err)
	}
	nb, key, err := build.Build(sheet, build.Options{})
	if err != nil {
		panic(err)
	}
	return nb, key
})

// newMaker makes a class list of n students, each with their own numbers, and
// their key file.
func newMaker(t testing.TB, n int) *maker {
	t.Helper()
	nb, key := printed()
	own := *key
	own.Cells = nil // as in key files of before; all copies are the printed one, whatever the numbers
	rng := rand.New(rand.NewPCG(1, 2))
	for i := range n {
		own.Students = append(own.Students, build.KeyStudent{
			ID: fmt.Sprintf("s%05d", i+1), Name: fmt.Sprintf("Student %d", i+1),
			Values: map[string]string{
				"m": fmt.Sprintf("%d.0 g", 14+rng.IntN(11)), "M": fmt.Sprintf("%d.0 g", 17+rng.IntN(9)), "h": fmt.Sprintf("%d.0 mm", 50+2*rng.IntN(16)),
			},
		})
	}
	return &maker{key: &own, nb: nb, rng: rng}
}

// A truth is what a script must get.
type truth struct {
	student string
	marks   map[string]float64
	verdict map[string]string
	total   float64
}

// script writes one script: answers drawn at random among right, slipped,
// carried-forward, unreadable and missing ones.
func (m *maker) script(i int) (*notebook.Notebook, truth) {
	s := m.key.Students[i]
	nb := m.nb.Copy()
	nb.Metadata["counterpoise"] = map[string]any{"sheet": m.key.Sheet, "student": studentToken(s)}
	w := &writer{maker: m, values: m.values(s), truth: truth{student: s.ID, marks: map[string]float64{}, verdict: map[string]string{}}}
	w.all()
	for c := range nb.Cells {
		about, _ := nb.Cells[c].Metadata["counterpoise"].(map[string]any)
		name, _ := about["question"].(string)
		if text, ok := w.answers[name]; ok && nb.Cells[c].Type == notebook.Code {
			nb.Cells[c].Source = strings.TrimRight(nb.Cells[c].Source, "\n") + "\n" + text
		}
	}
	for _, x := range w.truth.marks {
		w.truth.total += x
	}
	return nb, w.truth
}

// values are the student's own numbers in SI, straight from the key file.
func (m *maker) values(s build.KeyStudent) map[string]float64 {
	v := map[string]float64{}
	for _, p := range m.key.Params {
		text := p.Value
		if own, ok := s.Values[p.Name]; ok {
			text = own
		}
		q, err := quantity.Parse(text)
		if err != nil {
			panic(err)
		}
		v[p.Name] = q.Value
	}
	return v
}

type writer struct {
	*maker
	values   map[string]float64
	answers  map[string]string
	truth    truth
	tookUnit bool
	tookFigs bool
}

func (w *writer) put(name, text, verdict string, marks float64) {
	w.answers[name] = text
	w.truth.verdict[name], w.truth.marks[name] = verdict, marks
}

func (w *writer) pick(n int) int { return w.rng.IntN(n) }

func (w *writer) all() {
	w.answers = map[string]string{}
	v := w.values
	depth := (2*v["m"]*v["h"] + v["M"]*v["h"]/2) / (2*v["m"] + v["M"])
	mass := 2*v["m"] + v["M"]

	switch w.pick(5) {
	case 0:
		w.put("place", "a", "wrong", 0)
	case 1:
		w.put("place", "", "blank", 0)
	default:
		w.put("place", []string{"B", "b", "below the pin", "(b)"}[w.pick(4)], "right", 1)
	}

	ownDepth, ownMass := depth, mass
	switch w.pick(7) {
	case 0: // deeper than the weights
		ownDepth = 1.21 * v["h"]
		w.put("depth", fmt.Sprintf("%.4g mm", ownDepth*1000), "wrong", 0)
	case 1:
		w.put("depth", "", "blank", 0)
	case 2:
		w.put("depth", fmt.Sprintf("%.5f m", depth), "right", 2) // five decimals of some 0.05 m: four figures
	case 3:
		w.put("depth", fmt.Sprintf("%.7f m", depth), "right", 2-w.figures())
	case 4:
		w.put("depth", fmt.Sprintf("%.4g", depth*1000), "right", 2-w.units())
	case 5:
		w.put("depth", "about two thirds (of h", "unreadable", 0)
	default:
		w.put("depth", fmt.Sprintf("%.2f cm", depth*100), "right", 2)
	}
	if w.truth.verdict["depth"] == "wrong" {
		ownDepth = round4(ownDepth)
	} else {
		ownDepth = depth
	}

	switch w.pick(4) {
	case 0: // one weight forgotten
		ownMass = round4((v["m"] + v["M"]))
		w.put("mass", fmt.Sprintf("%.4g g", ownMass*1000), "wrong", 0)
	default:
		w.put("mass", fmt.Sprintf("%.4g g", mass*1000), "right", 1)
	}

	switch w.pick(4) {
	case 0:
		w.put("moment", fmt.Sprintf("%.4g N m", 1.37*mass*9.81*depth), "wrong", 0)
	case 1:
		w.put("moment", "", "blank", 0)
	default: // right for the student's own values, whether they are right or not
		w.put("moment", fmt.Sprintf("%.4g mN m", 1000*ownMass*9.81*ownDepth), "right", 2)
	}

	switch w.pick(5) {
	case 0:
		w.put("formula", "h", "wrong", 0)
	case 1:
		w.put("formula", "(2mh + Mh)/(2m + M)", "wrong", 0)
	case 2:
		w.put("formula", "((2mh", "unreadable", 0)
	default:
		w.put("formula", []string{"h(2m + M/2)/(2m + M)", `\frac{h (4m + M)}{2 (2m + M)}`, "h - M h/(2(2m+M))"}[w.pick(3)], "right", 3)
	}
	switch w.pick(3) {
	case 0:
		w.put("energy", "W d (1 + cos θ)", "wrong", 0)
	default:
		w.put("energy", []string{"2 W d sin^2(θ/2)", `Wd(1-\cos\theta)`, "W d - W d cos θ"}[w.pick(3)], "right", 2)
	}
	switch w.pick(3) {
	case 0:
		w.put("law", "J θ'' = W d θ", "wrong", 0)
	default:
		w.put("law", []string{"J θ'' + W d θ = 0", "θ'' = -W d θ/J", `\ddot\theta = -\frac{Wd}{J}\theta`}[w.pick(3)], "right", 2)
	}
	period := 2 * pi * sqrt(v["I"]/(ownMass*9.81*ownDepth))
	switch w.pick(3) {
	case 0:
		w.put("period", fmt.Sprintf("%.4g s", 3.3*2*pi*sqrt(v["I"]/(mass*9.81*depth))), "wrong", 0)
	default:
		w.put("period", fmt.Sprintf("%.3g s", period), "right", 2)
	}
	switch w.pick(3) {
	case 0:
		w.put("which", "A, B", "wrong", 0)
	default:
		w.put("which", []string{"A, C", "c a", "AC"}[w.pick(3)], "right", 1)
	}
	w.put("why", []string{"Its centre of gravity is below the pin.", "A tilt  raises it."}[w.pick(2)], "human", 0)
}

func (w *writer) units() float64 {
	if w.tookUnit {
		return 0
	}
	w.tookUnit = true
	return 0.5
}

func (w *writer) figures() float64 {
	if w.tookFigs {
		return 0
	}
	w.tookFigs = true
	return 0.5
}

// class writes n scripts into a folder and returns what each must get.
func (m *maker) class(t testing.TB, folder string, n int) map[string]truth {
	t.Helper()
	all := map[string]truth{}
	for i := range n {
		nb, tr := m.script(i)
		data, err := notebook.Write(nb)
		if err != nil {
			t.Fatal(err)
		}
		name := fmt.Sprintf("%d/%s.ipynb", i%7, tr.student)
		path := filepath.Join(folder, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, data, 0o644); err != nil {
			t.Fatal(err)
		}
		all[tr.student] = tr
	}
	return all
}
