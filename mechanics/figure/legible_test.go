package figure

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"
	"pgregory.net/rapid"

	"counterpoise/mechanics/body"
)

// A drawn text or line as it stands in an SVG, in CSS pixels from the upper left.
type (
	drawnText struct {
		text string
		box  vg.Rectangle
	}
	drawnLine struct {
		width    float64
		from, to vg.Point
	}
)

// An affine map: x' = a x + c y + e, y' = b x + d y + f.
type affine [6]float64

func (m affine) times(n affine) affine {
	return affine{m[0]*n[0] + m[2]*n[1], m[1]*n[0] + m[3]*n[1], m[0]*n[2] + m[2]*n[3], m[1]*n[2] + m[3]*n[3],
		m[0]*n[4] + m[2]*n[5] + m[4], m[1]*n[4] + m[3]*n[5] + m[5]}
}

func (m affine) at(x, y float64) vg.Point {
	return vg.Point{X: vg.Length(m[0]*x + m[2]*y + m[4]), Y: vg.Length(m[1]*x + m[3]*y + m[5])}
}

var (
	transformCall = regexp.MustCompile(`(\w+)\(([^)]*)\)`)
	styleEntry    = regexp.MustCompile(`([a-z-]+):([^;]+)`)
	pathStep      = regexp.MustCompile(`([A-Za-z])([^A-Za-z]*)`)
)

// W3C, Scalable Vector Graphics (SVG) 1.1, 7.6: transform lists.
func transformOf(list string) affine {
	m := affine{1, 0, 0, 1, 0, 0}
	for _, call := range transformCall.FindAllStringSubmatch(list, -1) {
		v := floats(call[2])
		for len(v) < 2 {
			v = append(v, 0)
		}
		switch call[1] {
		case "translate":
			m = m.times(affine{1, 0, 0, 1, v[0], v[1]})
		case "scale":
			m = m.times(affine{v[0], 0, 0, v[1], 0, 0})
		case "rotate":
			sin, cos := math.Sincos(v[0] * math.Pi / 180)
			m = m.times(affine{cos, sin, -sin, cos, 0, 0})
		}
	}
	return m
}

func floats(s string) []float64 {
	var all []float64
	for _, f := range strings.FieldsFunc(s, func(r rune) bool { return r == ',' || r == ' ' || r == '\n' }) {
		if v, err := strconv.ParseFloat(strings.TrimSuffix(f, "px"), 64); err == nil {
			all = append(all, v)
		}
	}
	return all
}

type fataler interface {
	Fatal(...any)
	Fatalf(string, ...any)
}

// read lists what an SVG of this package writes and strokes, and its frame.
func read(t fataler, svg string) (texts []drawnText, strokes []drawnLine, frame vg.Rectangle) {
	dec := xml.NewDecoder(strings.NewReader(svg))
	stack := []affine{{1, 0, 0, 1, 0, 0}}
	for {
		token, err := dec.Token()
		if errors.Is(err, io.EOF) {
			return texts, strokes, frame
		}
		if err != nil {
			t.Fatal(err)
		}
		switch e := token.(type) {
		case xml.EndElement:
			stack = stack[:len(stack)-1]
		case xml.StartElement:
			attr, style := map[string]string{}, map[string]string{}
			for _, a := range e.Attr {
				attr[a.Name.Local] = a.Value
			}
			for _, m := range styleEntry.FindAllStringSubmatch(attr["style"], -1) {
				style[m[1]] = m[2]
			}
			m := stack[len(stack)-1].times(transformOf(attr["transform"]))
			stack = append(stack, m)
			switch e.Name.Local {
			case "svg":
				v := floats(attr["viewBox"])
				frame.Max = vg.Point{X: vg.Length(v[2]), Y: vg.Length(v[3])}
			case "text":
				words, err := dec.Token()
				text, ok := words.(xml.CharData)
				if err != nil || !ok {
					t.Fatalf("a text without letters: %v", err)
				}
				size, bold := floats(style["font-size"])[0], style["font-weight"] == "bold"
				x, y := floats(attr["x"])[0], floats(attr["y"])[0]
				if attr["text-anchor"] == "middle" {
					x -= float64(lettering(vg.Length(size), ink).Width(string(text))) / 2
				}
				texts = append(texts, drawnText{string(text), inkOf(m, string(text), size, bold, x, y)})
			case "path":
				if width := floats(style["stroke-width"]); width != nil && style["fill"] == "none" {
					strokes = append(strokes, stretches(m, width[0], attr["d"])...)
				}
			}
		}
	}
}

// inkOf is where the letters of a text are: from a fifth of its size below the
// line to the height of capitals above it.
func inkOf(m affine, text string, size float64, bold bool, x, y float64) vg.Rectangle {
	style := lettering(vg.Length(size), ink)
	style.Font = face(vg.Length(size), bold)
	wide := float64(style.Width(text))
	a, b := m.at(x, y+0.21*size), m.at(x+wide, y-0.73*size)
	return vg.Rectangle{Min: vg.Point{X: min(a.X, b.X), Y: min(a.Y, b.Y)}, Max: vg.Point{X: max(a.X, b.X), Y: max(a.Y, b.Y)}}
}

// stretches are the straight lines of a path; an arc is taken as its chord.
func stretches(m affine, width float64, path string) []drawnLine {
	var all []drawnLine
	var now vg.Point
	for _, step := range pathStep.FindAllStringSubmatch(path, -1) {
		v := floats(step[2])
		if len(v) < 2 {
			continue
		}
		next := m.at(v[len(v)-2], v[len(v)-1])
		if step[1] != "M" {
			all = append(all, drawnLine{width, now, next})
		}
		now = next
	}
	return all
}

// illegible lists what is wrong with the texts of a figure: one over another, out
// of the frame, or, inside a plot, over a line of the data.
func illegible(t fataler, svg string) []string {
	texts, strokes, frame := read(t, svg)
	var faults []string
	for i, a := range texts {
		if out := area(a.box) - common(a.box, frame); out > 0.5 {
			faults = append(faults, fmt.Sprintf("%q at %.0f leaves the frame", a.text, a.box))
		}
		for _, b := range texts[:i] {
			if common(a.box, b.box) > 0 {
				faults = append(faults, fmt.Sprintf("%q at %.0f and %q at %.0f overlap", a.text, a.box, b.text, b.box))
			}
		}
		for _, s := range strokes {
			const data = 1.9 // CSS pixels: what is thinner is a grid, an axis or a leader
			if s.width >= data && inside(a.box, s.from, s.to) > 0 {
				faults = append(faults, fmt.Sprintf("%q lies over a line of the data", a.text))
				break
			}
		}
	}
	return faults
}

// hard are figures whose labels have little room.
func hard() map[string]Figure {
	t, near, far, rate := swing()
	long := "a name of a quantity that goes on and on, as those of careful people do, with all that belongs to it"
	pairs := Plot{Title: long, X: Axis{Label: long, Unit: "kg m^2/s^2"}, Y: Axis{Label: long, Unit: "mJ"},
		Series: []Series{{Label: long, X: t, Y: near}, {Label: "far", X: t, Y: far}}, Width: 240, Height: 300}
	logs := Plot{X: Axis{Label: "swings", Log: true}, Y: Axis{Label: "time until it is strongest", Unit: "s", Log: true},
		Series: []Series{{Label: "law", X: []float64{1.01, 99}, Y: []float64{900, 1.1}}}, Marks: []Mark{{"here", 10, 31.5}}, Guides: []Guide{{"wanted", 30, false}, {"swings wanted", 10.5, true}}}
	narrow := Plot{X: Axis{Label: "time", Unit: "s", From: 347.8123, To: 347.8129}, Y: Axis{Label: "angle", Unit: "deg"}, Width: 200, Height: 160,
		Series: []Series{{X: []float64{347.8123, 347.8129}, Y: []float64{-3, 3}}}}
	peak := Plot{X: Axis{Label: "x"}, Y: Axis{Label: "y"}, Series: []Series{{X: []float64{-1, 0, 1}, Y: []float64{0, 1, 0}}},
		Guides: []Guide{{"the greatest value", 0, true}, {"half", 0.5, false}}, Marks: []Mark{{"top of the hill", 0, 1}, {"left foot", -1, 0}, {"right foot", 1, 0}}}
	wings := heron()
	wings.Trail = []body.Vec{{X: -0.04, Y: -0.03}, {X: 0.05, Y: -0.04}}
	wings.Dimensions = append(wings.Dimensions, Dimension{body.V(0, 0, 0), body.V(0.04, -0.025, 0), "along the wing"}, Dimension{body.V(0, -0.05, 0), body.V(0.08, -0.05, 0), "b"}, Dimension{body.V(0.02, -0.02, 0), body.V(0.022, -0.02, 0), "t = 2 mm"})
	slim := wings
	slim.Width = 440
	return map[string]Figure{"long": pairs, "logs": logs, "narrow": narrow, "peak": peak, "wings": wings, "slim": slim,
		"rounds": PhasePortrait(Axis{Label: "angle", Unit: "deg"}, Axis{Label: "rate", Unit: "rad/s"}, Series{Label: "once", X: far, Y: near}, Series{Label: "round", X: near, Y: rate})}
}

// No label of a figure covers another, none leaves the picture, and none lies
// over the data. Common practice, no source.
func TestLabelsStandApart(t *testing.T) {
	all := figures()
	for name, f := range hard() {
		all["hard "+name] = f
	}
	for name, f := range all {
		for _, fault := range illegible(t, f.SVG()) {
			t.Errorf("%s: %s", name, fault)
		}
	}
}

// The same for plots of any curve, with a mark on it and guides, on plain axes and
// logarithmic ones, of any range.
func TestLabelsOfAnyPlotStandApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.StringMatching(`[a-zé]{1,8}( [a-z]{1,9}){0,9}`)
		log := rapid.Bool()
		p := Plot{
			Title: name.Draw(t, "title"), Width: rapid.SampledFrom([]float64{0, 320, 680}).Draw(t, "width"),
			X: Axis{Label: name.Draw(t, "x"), Unit: rapid.SampledFrom([]string{"", "deg", "mm", "kg m^2"}).Draw(t, "unit of x"), Log: log.Draw(t, "log x")},
			Y: Axis{Label: name.Draw(t, "y"), Unit: rapid.SampledFrom([]string{"", "s", "mJ"}).Draw(t, "unit of y"), Log: log.Draw(t, "log y")},
		}
		value := func(a Axis, what string, scale float64) float64 {
			v := rapid.Float64Range(-1, 1).Draw(t, what)
			if a.Log {
				return scale * math.Exp(6*v)
			}
			return scale * v
		}
		width, height := math.Pow(10, rapid.Float64Range(-9, 9).Draw(t, "range of x")), math.Pow(10, rapid.Float64Range(-9, 9).Draw(t, "range of y"))
		for k := range rapid.IntRange(1, 4).Draw(t, "series") {
			s := Series{Label: name.Draw(t, "series"), Points: k > 1}
			for range rapid.IntRange(2, 6).Draw(t, "points") {
				s.X, s.Y = append(s.X, value(p.X, "x", width)), append(s.Y, value(p.Y, "y", height))
			}
			p.Series = append(p.Series, s)
		}
		p.Marks = []Mark{{name.Draw(t, "mark"), p.Series[0].X[0], p.Series[0].Y[0]}}
		p.Guides = []Guide{{name.Draw(t, "guide"), value(p.X, "guide", width), true}}
		if err := p.Check(); err != nil {
			t.Fatal(err)
		}
		for _, fault := range illegible(t, p.SVG()) {
			if !strings.Contains(fault, "over a line") { // lines at random leave no room at times
				t.Error(fault)
			}
		}
	})
}

var noNumber = regexp.MustCompile(`NaN|[Ii]nf\b`)

// Whatever numbers come in, a figure is drawn or says what is wrong with them; it
// neither panics nor hangs.
func TestAnyNumbersAreDrawnOrRefused(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.OneOf(rapid.Float64(), rapid.Float64Range(-2, 2), rapid.SampledFrom([]float64{0, 1, -1, math.NaN(), math.Inf(1), math.Inf(-1), math.MaxFloat64, -math.MaxFloat64, 5e-324, 1e-300}))
		some := func(n int) []float64 { return rapid.SliceOfN(number, n, n).Draw(t, "numbers") }
		axis := func() Axis {
			v := some(2)
			return Axis{Label: "a", Unit: rapid.SampledFrom([]string{"", "mm", "deg"}).Draw(t, "unit"), From: v[0], To: v[1],
				Log: rapid.Bool().Draw(t, "log"), Whole: rapid.Bool().Draw(t, "whole")}
		}
		free := axis()
		free.From, free.To = 0, 0
		plain := free
		plain.Log = false
		v := some(24)
		at := func(i int) body.Vec { return body.V(v[i], v[i+1], v[i+2]) }
		steel, err := body.MaterialNamed("steel")
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range []Figure{
			Plot{X: axis(), Y: free, Series: []Series{{X: v[:4], Y: v[4:8], Uncertainty: v[8:12]}, {X: v[12:14], Y: v[14:16], Points: true}},
				Guides: []Guide{{"g", v[16], true}, {"h", v[17], false}}, Marks: []Mark{{"m", v[18], v[19]}}, SameScale: rapid.Bool().Draw(t, "same"), Width: v[20], Height: v[21]},
			Plot{X: free, Y: plain, Series: []Series{{X: v[:4], Y: v[4:8]}}},
			Bars{X: plain, Y: plain, Edges: []float64{v[0], v[1], v[2]}, Heights: v[3:5]},
			Map{X: plain, Y: plain, Z: free, XS: v[:2], YS: v[2:4], Values: [][]float64{v[4:6], v[6:8]}},
			SideView{Parts: body.Assembly{{Name: "rod", Shape: body.Rod{From: at(0), To: at(3), Diameter: v[6]}, Material: steel, At: at(7)}},
				Free: rapid.Bool().Draw(t, "free"), Tilt: v[10], Trail: []body.Vec{at(11), at(14)}, Dimensions: []Dimension{{at(17), at(20), "d"}}, Width: v[23]},
			Animation{Times: v[:2], Pieces: []Piece{{X: v[2:4], Y: v[4:6], Angle: v[6:8], Stretch: v[8:10], Shapes: []Shape{{X: v[10:12], Y: v[12:14], Width: v[14]}, {X: v[15:16], Y: v[16:17], Radius: v[17]}}}}},
		} {
			svg := f.SVG()
			if at := noNumber.FindStringIndex(svg); at != nil && !strings.Contains(svg, "cannot be drawn") {
				t.Fatalf("%T has a place that is no number: %s", f, svg[max(0, at[0]-100):min(len(svg), at[1]+100)])
			}
			f.Alt()
		}
	})
}
