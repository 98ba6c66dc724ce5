package figure

import (
	"errors"
	"fmt"
	"image/color"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"counterpoise/mechanics/balance"
	"counterpoise/mechanics/body"
)

// A SideView draws a toy as seen from the front, x to the right and y up, with
// its support, its centre of gravity, axes and a scale.
type SideView struct {
	Title       string
	Parts       body.Assembly
	Stand       balance.Stand // the zero value is a pin at the origin
	Free        bool          // nothing holds the toy up
	Tilt        float64       // the toy is turned about its pivot by this angle, rad, anticlockwise
	NoCentre    bool          // leave the centre of gravity out: the student predicts it first
	Trail       []body.Vec    // a path to show, such as that of the centre of gravity as a weight grows, m
	Dimensions  []Dimension   // lengths written beside the toy
	Description string        // in place of the alternative text written from the data
	Width       float64       // CSS pixels, 520 if zero
}

// A Dimension is a length to show: a line from one point to another with
// arrowheads and a label, such as "h = 62 mm".
type Dimension struct {
	From, To body.Vec // m
	Label    string
}

// Check reports what keeps the view from being drawn: nil if nothing does.
func (v SideView) Check() error {
	if len(v.Parts) == 0 {
		return errors.New("the toy has no parts: give it at least one")
	}
	if err := v.Parts.Check(); err != nil {
		return err
	}
	if !v.Free {
		if err := v.Stand.Check(); err != nil {
			return err
		}
	}
	if !isFinite(v.Tilt) {
		return fmt.Errorf("the tilt is %g: give a finite angle in rad", v.Tilt)
	}
	if err := checkSize(v.Width); err != nil {
		return err
	}
	if len(v.Trail) > maxPoints || len(v.Dimensions) > mostNotes {
		return fmt.Errorf("%d points of the trail and %d lengths: at most %d and %d can be drawn", len(v.Trail), len(v.Dimensions), maxPoints, mostNotes)
	}
	if b := v.sketch().bounds(); !(math.Max(b.w, b.h) >= smallestToy && b.w <= largestToy && b.h <= largestToy && math.Abs(b.x) <= largestToy && math.Abs(b.y) <= largestToy) {
		return fmt.Errorf("what is to be seen is %g m wide and %g m high, from (%g, %g): a drawing takes toys from %g m to %g m", b.w, b.h, b.x, b.y, smallestToy, largestToy)
	}
	return nil
}

// The sizes of a drawing in m: smaller is no body that mechanics without
// molecules knows, larger is no toy.
const (
	smallestToy = 1e-9
	largestToy  = 1e6
)

// SVG returns the view as a complete <svg> element.
func (v SideView) SVG() string { return v.picture().svg() }

// PNG returns the view in pixels.
func (v SideView) PNG() []byte { return v.picture().png() }

// Alt says what the drawing shows.
func (v SideView) Alt() string { return v.picture().alt }

// String returns the same as Alt.
func (v SideView) String() string { return v.Alt() }

func (v SideView) picture() picture {
	if err := v.Check(); err != nil {
		return problem(err)
	}
	s := v.sketch()
	alt := v.Description
	if alt == "" {
		alt = v.describe()
	}
	return picture{title: orWord(v.Title, "Side view"), alt: alt, width: s.width, height: s.height, paint: s.paint}
}

// A sketch is a side view in its place on the paper.
type sketch struct {
	SideView
	lines         []body.Line // of the tilted toy
	colors        []color.RGBA
	centre        body.Vec
	scale         float64 // pixels per metre
	x0, y0        float64 // m, at the lower left of the drawing
	left          float64 // pixels
	width, height float64
}

// Room around the drawn toy in pixels.
const (
	rim       = 30.0
	roomTitle = 40.0
	roomBelow = 48.0 // for the axes and the scale
	tallest   = 460.0
)

func (v SideView) sketch() sketch {
	s := sketch{SideView: v, width: orDefault(v.Width, 520)}
	whole := v.Parts
	if v.Tilt != 0 {
		whole = whole.Turned(v.Tilt, v.Stand.Pivot(), body.V(0, 0, 1))
	}
	s.centre = whole.CentreOfGravity()
	for _, p := range whole {
		for _, l := range p.Drawing() {
			s.lines = append(s.lines, l)
			s.colors = append(s.colors, stuff(p.Material.Name))
		}
	}
	b := s.bounds()
	s.scale = math.Min((s.width-2*rim-90)/math.Max(b.w, 1e-6), tallest/math.Max(b.h, 1e-6))
	s.x0, s.y0 = b.x, b.y
	s.left = (s.width - b.w*s.scale) / 2
	s.height = math.Ceil(b.h*s.scale + roomTitle + roomBelow + 2*rim)
	return s
}

// bounds is what must be seen, m: the parts, the support, the centre of
// gravity, dimensions and trail.
func (s sketch) bounds() box {
	x0, x1, y0, y1 := inf, -inf, inf, -inf
	see := func(p body.Vec, r float64) {
		x0, x1 = math.Min(x0, p.X-r), math.Max(x1, p.X+r)
		y0, y1 = math.Min(y0, p.Y-r), math.Max(y1, p.Y+r)
	}
	for _, l := range s.lines {
		for _, p := range l.Points {
			see(p, l.Width/2)
		}
	}
	if !s.NoCentre {
		see(s.centre, 0)
	}
	for _, p := range s.Trail {
		see(p, 0)
	}
	for _, d := range s.Dimensions {
		see(d.From, 0)
		see(d.To, 0)
	}
	if !s.Free {
		size := math.Max(x1-x0, y1-y0)
		at := s.Stand.Pivot()
		see(at, 0)
		switch s.Stand.Kind {
		case balance.Pin, balance.Edge:
			see(body.V(at.X, at.Y-0.25*size, 0), 0.06*size)
		case balance.Base:
			see(s.Stand.To, 0)
		case balance.String:
			see(body.V(at.X, at.Y+math.Min(s.Stand.Length, size), 0), 0)
		case balance.Board:
			see(body.V(at.X, at.Y-s.Stand.Dome, 0), s.Stand.Dome)
		}
	}
	return box{x0, y0, x1 - x0, y1 - y0}
}

func (s sketch) at(p body.Vec) vg.Point {
	return vg.Point{X: vg.Length(s.left + (p.X-s.x0)*s.scale), Y: vg.Length(rim + roomBelow + (p.Y-s.y0)*s.scale)}
}

func (s sketch) paint(c draw.Canvas) {
	fill(c, c.Rectangle, paper)
	rest := heading(c, s.Title, nil)
	free := &layout{frame: grow(rest.Rectangle, -4)}
	s.paintSupport(c, free)
	for i, l := range s.lines {
		s.paintLine(c, l, s.colors[i], free)
	}
	if len(s.Trail) > 1 {
		pts := make([]vg.Point, len(s.Trail))
		for i, p := range s.Trail {
			pts[i] = s.at(p)
		}
		c.StrokeLines(draw.LineStyle{Color: lines[1], Width: 2, Dashes: dashes[1]}, pts)
		free.line(2, pts...)
	}
	s.paintAxes(c, free)
	s.paintScale(c, free)
	for _, d := range s.Dimensions {
		s.paintDimension(c, d, free)
	}
	if !s.NoCentre {
		s.paintCentre(c, free)
	}
	for _, d := range s.Dimensions { // the labels when all lines stand
		s.labelDimension(c, d, free)
	}
	if !s.NoCentre {
		free.label(c, lettering(sizeText, ink), "centre of gravity", s.at(s.centre), centreRadius+6)
	}
}

func (s sketch) paintLine(c draw.Canvas, l body.Line, fillColor color.RGBA, free *layout) {
	pts := make([]vg.Point, len(l.Points))
	for i, p := range l.Points {
		pts[i] = s.at(p)
	}
	edge := draw.LineStyle{Color: ink, Width: 1.1}
	outline := pts
	if len(pts) > 0 && (l.Closed || l.Kind != body.Stroke) {
		outline = append(outline[:len(pts):len(pts)], pts[0])
	}
	free.line(vg.Length(l.Width*s.scale), outline...)
	switch {
	case len(pts) == 0:
	case l.Kind == body.Stroke && len(pts) == 1:
		c.DrawGlyph(draw.GlyphStyle{Color: ink, Radius: 3, Shape: draw.CircleGlyph{}}, pts[0])
	case l.Kind == body.Stroke:
		w := vg.Length(math.Max(l.Width*s.scale, 2))
		c.StrokeLines(draw.LineStyle{Color: ink, Width: w + 2}, outline)
		c.StrokeLines(draw.LineStyle{Color: fillColor, Width: w}, outline)
	default:
		if l.Hole {
			fillColor = paper
			edge.Dashes = []vg.Length{4, 3}
		}
		c.FillPolygon(fillColor, pts)
		c.StrokeLines(edge, outline)
	}
}

const centreRadius = 7.0 // of the sign for the centre of gravity, CSS pixels

// paintCentre draws the centre of gravity as a quartered disc, and the vertical
// through it.
func (s sketch) paintCentre(c draw.Canvas, free *layout) {
	p := s.at(s.centre)
	const r = centreRadius
	if !s.Free {
		q := s.at(s.Stand.Pivot())
		top := math.Max(float64(p.Y), float64(q.Y))
		low := math.Min(float64(p.Y), float64(q.Y))
		c.StrokeLine2(draw.LineStyle{Color: faint, Width: 1.1, Dashes: []vg.Length{3, 3}}, p.X, vg.Length(low)-18, p.X, vg.Length(top)+18)
		free.line(1.1, vg.Point{X: p.X, Y: vg.Length(low) - 18}, vg.Point{X: p.X, Y: vg.Length(top) + 18})
	}
	quarter := func(from float64, clr color.Color) {
		pts := []vg.Point{p}
		for k := range 13 {
			sin, cos := math.Sincos(from + math.Pi/2*float64(k)/12)
			pts = append(pts, vg.Point{X: p.X + vg.Length(r*cos), Y: p.Y + vg.Length(r*sin)})
		}
		c.FillPolygon(clr, pts)
	}
	for k := range 4 {
		quarter(math.Pi/2*float64(k), []color.Color{ink, paper}[k%2])
	}
	c.DrawGlyph(draw.GlyphStyle{Color: ink, Radius: r, Shape: stroked{ring}}, p)
	free.take(about(p, vg.Point{X: 2 * r, Y: 2 * r}))
}

// paintAxes draws the directions of x and y at the lower left.
func (s sketch) paintAxes(c draw.Canvas, free *layout) {
	o := vg.Point{X: 22, Y: 18}
	line := draw.LineStyle{Color: faint, Width: 1.3}
	words := lettering(sizeTick, faint)
	arrow(c, line, o, vg.Point{X: o.X + 30, Y: o.Y})
	arrow(c, line, o, vg.Point{X: o.X, Y: o.Y + 30})
	c.FillText(words, vg.Point{X: o.X + 34, Y: o.Y - 4}, "x")
	c.FillText(words, vg.Point{X: o.X - 3, Y: o.Y + 34}, "y")
	free.take(vg.Rectangle{Min: vg.Point{X: o.X - 6, Y: o.Y - 6}, Max: vg.Point{X: o.X + 46, Y: o.Y + 46}})
}

// paintScale draws a bar of a round length at the lower right.
func (s sketch) paintScale(c draw.Canvas, free *layout) {
	length := (ticks{}).step(60 / s.scale)
	px := vg.Length(length * s.scale)
	right, y := c.Max.X-22, vg.Length(18)
	line := draw.LineStyle{Color: faint, Width: 1.5}
	c.StrokeLine2(line, right-px, y, right, y)
	c.StrokeLine2(line, right-px, y-4, right-px, y+4)
	c.StrokeLine2(line, right, y-4, right, y+4)
	words := lettering(sizeTick, faint)
	label := lengthLabel(length)
	c.FillText(words, vg.Point{X: min(right-px/2-words.Width(label)/2, c.Max.X-6-words.Width(label)), Y: y + 8}, label)
	free.take(vg.Rectangle{Min: vg.Point{X: right - max(px, words.Width(label)), Y: y - 6}, Max: vg.Point{X: c.Max.X, Y: y + 24}})
}

func lengthLabel(m float64) string {
	switch {
	case m >= 1:
		return fmt.Sprintf("%g m", m)
	case m >= 1e-3:
		return fmt.Sprintf("%.4g mm", m*1000)
	}
	return fmt.Sprintf("%.4g µm", m*1e6)
}

// paintDimension draws a length between two arrowheads; where it is too short
// for both, they point at it from outside.
func (s sketch) paintDimension(c draw.Canvas, d Dimension, free *layout) {
	a, b := s.at(d.From), s.at(d.To)
	mid := a.Add(b).Scale(0.5)
	line := draw.LineStyle{Color: lines[0], Width: 1.3}
	length := math.Hypot(float64(a.X-b.X), float64(a.Y-b.Y))
	if length > 0 && length < 20 {
		out := b.Sub(a).Scale(vg.Length(16 / length))
		arrow(c, line, a.Sub(out), a)
		arrow(c, line, b.Add(out), b)
		free.line(6, a.Sub(out), b.Add(out))
		return
	}
	arrow(c, line, mid, a)
	arrow(c, line, mid, b)
	free.line(6, a, b)
}

// labelDimension writes the label of a length beside its line, in the middle if
// it covers nothing there.
func (s sketch) labelDimension(c draw.Canvas, d Dimension, free *layout) {
	if strings.TrimSpace(d.Label) == "" {
		return
	}
	a, b := s.at(d.From), s.at(d.To)
	along := b.Sub(a)
	length := vg.Length(math.Hypot(float64(along.X), float64(along.Y)))
	if length == 0 {
		along, length = vg.Point{Y: 1}, 1
	}
	normal := vg.Point{X: abs(along.Y) / length, Y: abs(along.X) / length} // to the right, or up
	if along.X*along.Y > 0 {
		normal.X = -normal.X
	}
	words := lettering(sizeText, lines[0])
	text := shorten(words, d.Label, c.Max.X-c.Min.X-20)
	size := extent(words, text)
	var choices []vg.Rectangle
	for _, more := range []vg.Length{0, 10, 24, 45, 70} {
		for _, place := range []vg.Length{0.5, 0.35, 0.65, 0.2, 0.8, 0, 1} {
			for _, side := range []vg.Length{1, -1} {
				off := side * (abs(normal.X)*(size.X/2+labelGap+3.2) + abs(normal.Y)*(size.Y/2+labelGap+3.2) + more)
				choices = append(choices, about(a.Add(along.Scale(place)).Add(normal.Scale(off)), size))
			}
		}
	}
	r := free.place(choices, free.cost)
	fill(c, grow(r, 1), paper)
	write(c, words, r, text)
}

func abs(v vg.Length) vg.Length { return max(v, -v) }

func arrow(c draw.Canvas, line draw.LineStyle, from, to vg.Point) {
	c.StrokeLine2(line, from.X, from.Y, to.X, to.Y)
	d := math.Hypot(float64(to.X-from.X), float64(to.Y-from.Y))
	if d == 0 {
		return
	}
	ux, uy := vg.Length(float64(to.X-from.X)/d), vg.Length(float64(to.Y-from.Y)/d)
	c.FillPolygon(line.Color, []vg.Point{to,
		{X: to.X - 7*ux + 3*uy, Y: to.Y - 7*uy - 3*ux},
		{X: to.X - 7*ux - 3*uy, Y: to.Y - 7*uy + 3*ux}})
}

// stuff is the fill of a material, by its name.
func stuff(name string) color.RGBA {
	for _, m := range []struct {
		word string
		hex  uint32
	}{{"brass", 0xd9b45b}, {"steel", 0xb9c3cc}, {"wire", 0xb9c3cc}, {"copper", 0xd9a27e}, {"bronze", 0xd9a27e}, {"alumin", 0xd8dde2}, {"wood", 0xc8a878}, {"lead", 0xa9b4c2}, {"tin", 0xa9b4c2}, {"tungsten", 0xa9b4c2}} {
		if strings.Contains(strings.ToLower(name), m.word) {
			return rgb(m.hex)
		}
	}
	return warm
}

func (v SideView) describe() string {
	var b strings.Builder
	b.WriteString("Side view")
	if v.Title != "" {
		b.WriteString(": " + strings.TrimSuffix(sentence(v.Title), "."))
	}
	b.WriteString(".")
	names := map[string]int{}
	var order []string
	for _, p := range v.Parts {
		name := p.Name
		if name == "" {
			continue
		}
		if names[name] == 0 {
			order = append(order, name)
		}
		names[name]++
	}
	fmt.Fprintf(&b, " A toy of %s", counted(len(v.Parts), "part"))
	for i, name := range order {
		b.WriteString([]string{", ", ": "}[b2i(i == 0)])
		b.WriteString(name)
		if names[name] > 1 {
			fmt.Fprintf(&b, " (%d)", names[name])
		}
	}
	how := map[balance.Kind]string{
		balance.Pin: " on a pin", balance.Edge: " on an edge", balance.Foot: " on a rounded foot",
		balance.Base: " on two feet", balance.String: " on a string", balance.Board: " on a round log",
	}
	if !v.Free {
		b.WriteString(how[v.Stand.Kind])
	}
	if v.Tilt != 0 {
		fmt.Fprintf(&b, ", tilted by %.3g degrees", math.Abs(v.Tilt)*180/math.Pi)
	}
	b.WriteString(".")
	if !v.NoCentre {
		where := "level with"
		whole := v.Parts
		if v.Tilt != 0 {
			whole = whole.Turned(v.Tilt, v.Stand.Pivot(), body.V(0, 0, 1))
		}
		switch d := whole.CentreOfGravity().Y - v.Stand.Pivot().Y; {
		case d > 1e-9:
			where = "above"
		case d < -1e-9:
			where = "below"
		}
		if !v.Free {
			fmt.Fprintf(&b, " Its centre of gravity is marked, %s the point of support.", where)
		} else {
			b.WriteString(" Its centre of gravity is marked.")
		}
	}
	var labels []string
	for _, d := range v.Dimensions {
		if d.Label != "" {
			labels = append(labels, d.Label)
		}
	}
	switch len(labels) {
	case 0:
	case 1:
		fmt.Fprintf(&b, " A length is written beside it: %s.", labels[0])
	default:
		fmt.Fprintf(&b, " Lengths are written beside it: %s.", strings.Join(labels, ", "))
	}
	if n := len(v.Trail); n > 1 {
		from, to := v.Trail[0], v.Trail[n-1]
		size := math.Max(math.Max(math.Abs(from.X), math.Abs(from.Y)), math.Max(math.Abs(to.X), math.Abs(to.Y)))
		mm := Axis{Unit: "mm"}.reader([]float64{-size, size})
		fmt.Fprintf(&b, " A dashed path leads from (%s, %s) to (%s, %s), to the right and up from the origin.", mm(from.X), mm(from.Y), mm(to.X), mm(to.Y))
	}
	return b.String()
}

func counted(n int, thing string) string {
	if n == 1 {
		return "one " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}
