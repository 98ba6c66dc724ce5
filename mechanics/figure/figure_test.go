package figure

import (
	"bytes"
	"encoding/base64"
	"encoding/xml"
	"errors"
	"flag"
	"image/color"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot/cmpimg"

	"counterpoise/mechanics/balance"
	"counterpoise/mechanics/body"
)

var update = flag.Bool("update", false, "write the golden pictures again")

func swing() (t, near, far, rate []float64) {
	for i := range 200 {
		s := float64(i) * 0.05
		t = append(t, s)
		near = append(near, 0.02*math.Cos(2*s)*math.Exp(-s/8))
		far = append(far, 0.015*math.Cos(2.1*s))
		rate = append(rate, -0.04*math.Sin(2*s)*math.Exp(-s/8))
	}
	return t, near, far, rate
}

func timeSeries() Plot {
	t, near, far, _ := swing()
	p := TimeSeries(t, Axis{Label: "displacement", Unit: "mm"}, Series{Label: "left lantern", Y: near}, Series{Label: "right lantern", Y: far})
	p.Title = "Two lanterns on one line"
	p.Guides = []Guide{{Label: "rest", Level: 0}, {Label: "one beat", Level: 6.1, Upright: true}}
	p.Marks = []Mark{{"furthest", 0, 0.02}}
	return p
}

func turnOver() Map {
	m := Map{
		Title: "How long until it turns over?", Blank: "never turns over",
		X: Axis{Label: "upper angle", Unit: "deg"}, Y: Axis{Label: "lower angle", Unit: "deg"}, Z: Axis{Label: "time to turn over", Unit: "s"},
	}
	for i := range 40 {
		m.XS = append(m.XS, float64(i)*0.05)
		m.YS = append(m.YS, float64(i)*0.05)
	}
	for _, y := range m.YS {
		row := make([]float64, len(m.XS))
		for i, x := range m.XS {
			if row[i] = 3 - math.Hypot(x-1, y-1)*2; row[i] < 1 {
				row[i] = math.NaN()
			}
		}
		m.Values = append(m.Values, row)
	}
	return m
}

func lantern() Animation {
	a := Animation{Title: "A lantern swings"}
	var angle []float64
	for i := range 61 {
		a.Times = append(a.Times, float64(i)/30)
		angle = append(angle, 0.5*math.Cos(math.Pi*float64(i)/30))
	}
	a.Pieces = []Piece{{Name: "lantern", Angle: angle, Shapes: []Shape{
		{X: []float64{0, 0}, Y: []float64{0, -0.2}, Width: 0.004},
		{X: []float64{0}, Y: []float64{-0.2}, Radius: 0.03},
	}}}
	return a
}

// heron is a figure on a pin: invented, for looking at.
func heron() SideView {
	brass, err := body.MaterialNamed("brass")
	if err != nil {
		panic(err)
	}
	steel, err := body.MaterialNamed("steel")
	if err != nil {
		panic(err)
	}
	v := SideView{Title: "The heron on its pin"}
	for _, side := range []float64{-1, 1} {
		end := body.V(side*0.08, -0.05, 0)
		v.Parts = append(v.Parts,
			body.Part{Name: "wing", Shape: body.Rod{To: end, Diameter: 0.0025}, Material: brass},
			body.Part{Name: "weight", Shape: body.Sphere{Radius: 0.006}, Material: steel, At: end})
	}
	v.Parts = append(v.Parts, body.Part{Name: "head", Shape: body.Sphere{Radius: 0.005}, Material: brass, At: body.V(0, 0.008, 0)})
	v.Dimensions = []Dimension{{From: body.V(0.095, 0, 0), To: body.V(0.095, -0.05, 0), Label: "h = 50 mm"}}
	return v
}

func tilted() SideView {
	v := heron()
	v.Title, v.Tilt = "The heron pushed aside", 0.4
	v.Dimensions = nil
	return v
}

// egg rests on its rounded foot.
func egg() SideView {
	wood, err := body.MaterialNamed("wood")
	if err != nil {
		panic(err)
	}
	return SideView{
		Title: "A half ball with a mast",
		Parts: body.Assembly{
			{Name: "half ball", Shape: body.Hemisphere(0.04), Material: wood, At: body.V(0, 0.04, 0), Turn: r3.NewRotation(math.Pi, body.V(0, 0, 1))},
			{Name: "mast", Shape: body.Rod{From: body.V(0, 0.04, 0), To: body.V(0, 0.1, 0), Diameter: 0.003}, Material: wood},
		},
		Stand: balance.Stand{Kind: balance.Foot, Radius: 0.04},
		Tilt:  0,
	}
}

// swing hangs on a string.
func swingToy() SideView {
	v := heron()
	v.Title, v.Dimensions = "The heron on a thread", nil
	v.Stand = balance.Stand{Kind: balance.String, At: body.V(0, 0.013, 0), Length: 0.06}
	return v
}

func figures() map[string]Figure {
	t, near, _, rate := swing()
	return map[string]Figure{
		"time-series": timeSeries(),
		"phase":       PhasePortrait(Axis{Label: "displacement", Unit: "mm"}, Axis{Label: "velocity", Unit: "mm/s"}, Series{X: near, Y: rate}),
		"section":     Section(Axis{Label: "angle", Unit: "deg"}, Axis{Label: "rate", Unit: "rad/s"}, Series{Label: "calm", X: near, Y: rate}),
		"energies":    Energies(t, "mJ", Series{Label: "left", Y: squares(near)}, Series{Label: "right", Y: squares(rate)}),
		"modes":       ModeShapes([][]float64{{1, 1.41, 1}, {1, 0, -1}}, []float64{0.7, 1.3}),
		"spectrum":    Spectrum([]float64{0, 0.1, 0.2, 0.3, 0.4}, []float64{0, 0.01, 0.03, 0.01, 0}, Axis{Label: "amplitude", Unit: "mm"}, Mark{"beat", 0.2, 0.03}),
		"readings": Plot{
			X: Axis{Label: "squared distance", Unit: "cm^2"}, Y: Axis{Label: "period", Unit: "s"},
			Series: []Series{{Label: "ten readings", X: []float64{1e-3, 2e-3, 3e-3}, Y: []float64{1.1, 1.2, 1.28}, Uncertainty: []float64{0.02, 0.03, 0.02}, Points: true}},
		},
		"heron":  heron(),
		"tilted": tilted(),
		"foot":   egg(),
		"thread": swingToy(),
		"bars": Bars{Title: "Periods of a hundred herons", X: Axis{Label: "period", Unit: "ms"}, Y: Axis{Label: "herons", Whole: true},
			Edges: []float64{0.78, 0.79, 0.80, 0.81, 0.82, 0.83, 0.84}, Heights: []float64{4, 17, 31, 28, 14, 6}},
		"map":       turnOver(),
		"animation": lantern(),
		"problem":   Plot{},
	}
}

func squares(x []float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = v * v
	}
	return out
}

// Pictures are compared with those that somebody looked at and found good.
// Rasterisers differ in the last bits of edges from processor to processor, so
// a twentieth of full scale is let pass.
func TestPicturesAreAsLookedAt(t *testing.T) {
	for name, f := range figures() {
		golden := filepath.Join("testdata", name+".png")
		got := f.PNG()
		if *update {
			if err := os.WriteFile(golden, got, 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		want, err := os.ReadFile(golden)
		if err != nil {
			t.Fatal(err)
		}
		if ok, err := cmpimg.EqualApprox("png", got, want, 0.05); err != nil || !ok {
			t.Errorf("%s differs from %s (%v): look at it, then run with -update", name, golden, err)
		}
	}
}

func TestEveryFigureIsWholeXMLWithTitleAndDescription(t *testing.T) {
	for name, f := range figures() {
		dec := xml.NewDecoder(strings.NewReader(f.SVG()))
		seen := map[string]string{}
		for {
			token, err := dec.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if start, ok := token.(xml.StartElement); ok {
				if start.Name.Local == "script" {
					t.Errorf("%s has a script", name)
				}
				if start.Name.Local == "desc" || start.Name.Local == "title" {
					text, err := dec.Token()
					if words, ok := text.(xml.CharData); ok && err == nil {
						seen[start.Name.Local] = string(words)
					}
				}
			}
		}
		if seen["title"] == "" || seen["desc"] != f.Alt() {
			t.Errorf("%s: title %q, description %q; want a title, and %q", name, seen["title"], seen["desc"], f.Alt())
		}
		if _, err := png.Decode(bytes.NewReader(f.PNG())); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// W3C, Web Content Accessibility Guidelines 2.1, success criteria 1.4.3 (text
// 4.5 to 1) and 1.4.11 (lines and marks 3 to 1), with its definition of
// relative luminance; on the light page and on the dark one.
func TestColoursStandOut(t *testing.T) {
	for _, tt := range []struct {
		what  string
		color color.RGBA
		least float64
	}{{"ink", ink, 4.5}, {"faint", faint, 4.5}, {"line 1", lines[0], 3}, {"line 2", lines[1], 3}, {"line 3", lines[2], 3},
		{"line 4", lines[3], 3}, {"line 5", lines[4], 3}, {"line 6", lines[5], 3}} {
		if got := contrast(tt.color, paper); got < tt.least {
			t.Errorf("%s on light paper: contrast %.2f, want at least %g", tt.what, got, tt.least)
		}
		if got := contrast(onDark(t, tt.color), onDark(t, paper)); got < tt.least {
			t.Errorf("%s on dark paper: contrast %.2f, want at least %g", tt.what, got, tt.least)
		}
	}
}

func onDark(t *testing.T, c color.RGBA) color.RGBA {
	hex, ok := dark[strings.ToLower(strconv.FormatInt(int64(c.R)<<16|int64(c.G)<<8|int64(c.B), 16))]
	if !ok {
		hex, ok = dark["0"+strconv.FormatInt(int64(c.R)<<16|int64(c.G)<<8|int64(c.B), 16)]
	}
	if !ok {
		hex, ok = dark["00"+strconv.FormatInt(int64(c.R)<<16|int64(c.G)<<8|int64(c.B), 16)]
	}
	v, err := strconv.ParseUint(hex, 16, 32)
	if !ok || err != nil {
		t.Fatalf("%v has no dark version", c)
	}
	return rgb(uint32(v))
}

func contrast(a, b color.RGBA) float64 {
	la, lb := luminance(a), luminance(b)
	return (math.Max(la, lb) + 0.05) / (math.Min(la, lb) + 0.05)
}

func luminance(c color.RGBA) float64 {
	part := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.03928 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*part(c.R) + 0.7152*part(c.G) + 0.0722*part(c.B)
}

// The cells of a map stand in its SVG as a PNG that says it is one.
func TestMapsHoldAPicture(t *testing.T) {
	svg := turnOver().SVG()
	_, after, ok := strings.Cut(svg, "data:image/png;base64,")
	if !ok || strings.Contains(svg, "image/jpg") {
		t.Fatal("no PNG in the map")
	}
	text, _, _ := strings.Cut(after, `"`)
	data, err := base64.StdEncoding.DecodeString(text)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := png.Decode(bytes.NewReader(data)); err != nil {
		t.Error(err)
	}
}

func TestAltTextTellsTheCourse(t *testing.T) {
	got := timeSeries().Alt()
	for _, want := range []string{
		"Plot of displacement against time: Two lanterns on one line.",
		"left lantern: from 20 mm at 0 s to 2.87 mm at 9.95 s, least −16.5 mm at 1.55 s.",
		"A guide line marks one beat at time 6.1 s.",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("%q lacks %q", got, want)
		}
	}
	many := Series{}
	for i := range 400 {
		many.X = append(many.X, float64(i)*0.05)
		many.Y = append(many.Y, math.Cos(2*math.Pi*float64(i)*0.05))
	}
	if got := (Plot{Series: []Series{many}}).Alt(); !strings.Contains(got, "swinging 20 times between −1 and 1") && !strings.Contains(got, "swinging 19 times between −1 and 1") {
		t.Errorf("twenty swings are told as %q", got)
	}
}

func TestMistakesSayWhatToDo(t *testing.T) {
	one := []Series{{X: []float64{1, 2}, Y: []float64{1, 2}}}
	for _, tt := range []struct {
		want string
		f    interface{ Check() error }
	}{
		{"no series", Plot{}},
		{"2 values of X and 1 of Y", Plot{Series: []Series{{X: []float64{1, 2}, Y: []float64{1}}}}},
		{"no point of the plot is a finite number", Plot{Series: []Series{{X: []float64{1}, Y: []float64{math.NaN()}}}}},
		{"axis X: unit", Plot{X: Axis{Unit: "gr"}, Series: one}},
		{"positive values only", Plot{Y: Axis{Log: true}, Series: []Series{{X: []float64{1}, Y: []float64{-1}}}}},
		{"From must be less than To", Plot{X: Axis{From: 2, To: 1}, Series: one}},
		{"2 values of Y and 1 uncertainties", Plot{Series: []Series{{X: []float64{1, 2}, Y: []float64{1, 2}, Uncertainty: []float64{1}}}}},
		{"positive values only", Plot{Y: Axis{Log: true}, Series: one, Guides: []Guide{{Label: "rest"}}}},
		{"positive values only", Plot{X: Axis{Log: true}, Series: one, Marks: []Mark{{Label: "start", Y: 1}}}},
		{"positive values only", Plot{Y: Axis{Log: true, From: -1, To: 1}, Series: one}},
		{"no axis reaches 1e+300", Plot{Series: []Series{{X: []float64{1, 2}, Y: []float64{1, 1e300}}}}},
		{"that the axis can show", Plot{Y: Axis{Log: true}, Series: []Series{{X: []float64{1}, Y: []float64{1}, Uncertainty: []float64{2}}}}},
		{"120 to 4000", Plot{Width: 1e9, Series: one}},
		{"leave one of the two out", Plot{SameScale: true, Y: Axis{Log: true}, Series: one}},
		{"a drawing takes toys from", SideView{Free: true, Parts: heron().Parts, Trail: []body.Vec{{X: 1e9}}}},
		{"space the values evenly", Map{XS: []float64{0, 1, 3}, YS: []float64{0, 1}, Values: [][]float64{{1, 1, 1}, {1, 1, 1}}}},
		{"leave Log, From and To out", Map{X: Axis{Log: true}, XS: []float64{1, 2}, YS: []float64{0, 1}, Values: [][]float64{{1, 1}, {1, 1}}}},
		{"one edge more", Bars{Edges: []float64{1}, Heights: []float64{1}}},
		{"must be finite and ascend", Bars{Edges: []float64{1, 1}, Heights: []float64{1}}},
		{"give 2 to", Map{}},
		{"give 2 to", Animation{}},
		{"times must ascend", Animation{Times: []float64{0, 0}}},
		{"2 positions for 3 frames", Animation{Times: []float64{0, 1, 2}, Pieces: []Piece{{X: []float64{0, 1}}}}},
	} {
		if err := tt.f.Check(); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("Check() = %v, want %q", err, tt.want)
		}
	}
}

func TestTicksAreRoundNumbers(t *testing.T) {
	for _, tt := range []struct {
		min, max float64
		degrees  bool
		want     string
	}{
		{0, 10, false, "0 2 4 6 8 10"},
		{-0.3, 0.31, false, "−0.3 −0.2 −0.1 0 0.1 0.2 0.3"},
		{0, 0.05, false, "0 0.01 0.02 0.03 0.04 0.05"},
		{-180, 180, true, "−180 −120 −60 0 60 120 180"},
		{0, 100, true, "0 15 30 45 60 75 90"},
		{0.87, 1.26, true, "0.90 0.95 1.00 1.05 1.10 1.15 1.20 1.25"},
		{1e7, 2e7, false, "1e+07 1.2e+07 1.4e+07 1.6e+07 1.8e+07 2e+07"},
	} {
		var got []string
		for _, tick := range (ticks{degrees: tt.degrees}).Ticks(tt.min, tt.max) {
			got = append(got, tick.Label)
		}
		if s := strings.Join(got, " "); s != tt.want {
			t.Errorf("from %g to %g: %s, want %s", tt.min, tt.max, s, tt.want)
		}
	}
}

// A logarithmic axis carries no numbers from outside itself, for which a margin
// would stay empty, and has at least two wherever it runs. Common practice, no
// source.
func TestLogarithmicTicksStayOnTheirAxis(t *testing.T) {
	for _, tt := range []struct {
		min, max float64
		numbers  string
	}{
		{1, 100, "1 2 5 10 20 50 100"},
		{0.02, 300, "0.1 1 10 100"},
		{2, 8, "2 3 4 5 6 7 8"},
		{6, 30, "6 7 8 9 10 20 30"},
		{0.1 * math.Pi / 180 / (math.Pi / 180), 3, "0.1 0.2 0.5 1 2"},
		{1e-5, 0.02, "0.00001 0.0001 0.001 0.01"},
		{1e-12, 1e12, "1e−10 0.00001 1 100000 1e+10"},
		{1.2, 1.9, "1.2 1.3 1.4 1.5 1.6 1.7 1.8 1.9"},
	} {
		var numbers []string
		for _, tick := range (logTicks{}).Ticks(tt.min, tt.max) {
			if tick.Value < tt.min*(1-1e-9) || tick.Value > tt.max*(1+1e-9) {
				t.Errorf("%g to %g: a tick at %g", tt.min, tt.max, tick.Value)
			}
			if tick.Label != "" {
				numbers = append(numbers, tick.Label)
			}
		}
		if got := strings.Join(numbers, " "); got != tt.numbers {
			t.Errorf("%g to %g: numbers %q, want %q", tt.min, tt.max, got, tt.numbers)
		}
	}
}

// The curve of a logarithmic plot fills its height as that of a plain one does:
// no margin stays empty for the name of an axis. Common practice, no source.
func TestLogarithmicPlotsFillTheirHeight(t *testing.T) {
	heightOf := func(log bool) float64 {
		p := Plot{Title: "Decay", X: Axis{Label: "time", Unit: "s"}, Y: Axis{Label: "amplitude of the swing", Unit: "deg", Log: log},
			Series: []Series{{X: []float64{0, 1}, Y: []float64{0.001, 1}}}}
		top, bottom := math.Inf(1), math.Inf(-1)
		img, err := png.Decode(bytes.NewReader(p.PNG()))
		if err != nil {
			t.Fatal(err)
		}
		for y := img.Bounds().Min.Y; y < img.Bounds().Max.Y; y++ {
			for x := img.Bounds().Min.X; x < img.Bounds().Max.X; x++ {
				if r, _, b, _ := img.At(x, y).RGBA(); b > r+0x6000 { // the blue of the first series
					top, bottom = math.Min(top, float64(y)), math.Max(bottom, float64(y))
				}
			}
		}
		return bottom - top
	}
	plain, log := heightOf(false), heightOf(true)
	if !(plain > 0) || log < 0.95*plain {
		t.Errorf("the curve is %g pixels high, on a plain axis %g", log, plain)
	}
}
