package figure

import (
	"fmt"
	"hash/fnv"
	"html"
	"image/color"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// An Animation shows moving pieces over and over, as an SVG that moves by
// style rules alone, without script. It stands still for people who asked
// their system for less motion, and pauses while the pointer rests on it or
// the keyboard's focus is in it. Its PNG shows the start with later positions
// behind it.
type Animation struct {
	Title       string
	Times       []float64 // of the frames, s, ascending; motion between them is drawn as straight
	Pieces      []Piece
	Description string // in place of the alternative text written from the data
}

// A Piece is a rigid part of an animation. X, Y (m) and Angle (rad,
// anticlockwise) give its position in each frame; a nil slice means zero
// throughout. Stretch scales its own y direction, for a spring; nil means 1.
type Piece struct {
	Name        string
	Shapes      []Shape
	X, Y, Angle []float64
	Stretch     []float64
}

// A Shape is an outline in the piece's own coordinates, m: a disc about
// (X[0], Y[0]) if Radius is positive, else a polygon if Closed, else a line of
// the given Width.
type Shape struct {
	X, Y   []float64
	Radius float64
	Closed bool
	Width  float64
}

// Limits of an animation: what a page moves smoothly and a notebook keeps
// small.
const (
	maxFrames  = 1000
	maxPieces  = 40
	maxCorners = 10_000 // of all shapes together
)

// Check reports what keeps the animation from being drawn: nil if nothing does.
func (a Animation) Check() error {
	n := len(a.Times)
	if n < 2 || n > maxFrames {
		return fmt.Errorf("the animation has %d frames: give 2 to %d", n, maxFrames)
	}
	for i := 1; i < n; i++ {
		if !(a.Times[i] > a.Times[i-1]) || !isFinite(a.Times[i]) {
			return fmt.Errorf("frame %d is at %g s, after %g s: times must ascend", i+1, a.Times[i], a.Times[i-1])
		}
	}
	if len(a.Pieces) == 0 || len(a.Pieces) > maxPieces {
		return fmt.Errorf("the animation has %d pieces: give 1 to %d", len(a.Pieces), maxPieces)
	}
	corners := 0
	for _, p := range a.Pieces {
		for _, course := range [][]float64{p.X, p.Y, p.Angle, p.Stretch} {
			if course != nil && len(course) != n {
				return fmt.Errorf("piece %q has %d positions for %d frames: give as many of both", p.Name, len(course), n)
			}
			for i, v := range course {
				if !(math.Abs(v) <= largestToy) {
					return fmt.Errorf("piece %q is at %g in frame %d: give positions, angles and stretches up to %g", p.Name, v, i+1, largestToy)
				}
			}
		}
		for _, s := range p.Shapes {
			if len(s.X) == 0 || len(s.X) != len(s.Y) {
				return fmt.Errorf("a shape of piece %q has %d values of X and %d of Y: give as many of both, at least one", p.Name, len(s.X), len(s.Y))
			}
			corners += len(s.X)
			if !(math.Abs(s.Radius) <= largestToy) || !(math.Abs(s.Width) <= largestToy) {
				return fmt.Errorf("a shape of piece %q has radius %g and width %g: give lengths up to %g m", p.Name, s.Radius, s.Width, largestToy)
			}
			for i := range s.X {
				if !(math.Abs(s.X[i]) <= largestToy) || !(math.Abs(s.Y[i]) <= largestToy) {
					return fmt.Errorf("a shape of piece %q has the corner (%g, %g): give lengths up to %g m", p.Name, s.X[i], s.Y[i], largestToy)
				}
			}
		}
	}
	if corners > maxCorners {
		return fmt.Errorf("the shapes of the animation have %d corners: give at most %d", corners, maxCorners)
	}
	if span := a.Times[n-1] - a.Times[0]; !(span >= 1e-3 && span <= 3600) {
		return fmt.Errorf("the animation lasts %g s: give 0.001 s to 3600 s of what is to be seen", span)
	}
	if b := a.bounds(); !(math.Max(b.w, b.h) >= smallestToy && math.Max(b.w, b.h) <= largestToy && math.Abs(b.x) <= largestToy && math.Abs(b.y) <= largestToy) {
		return fmt.Errorf("what moves sweeps %g m by %g m, from (%g, %g): an animation takes toys from %g m to %g m", b.w, b.h, b.x, b.y, smallestToy, largestToy)
	}
	return nil
}

// PNG returns the start of the motion, with later positions faint behind it.
func (a Animation) PNG() []byte {
	if err := a.Check(); err != nil {
		return problem(err).png()
	}
	return picture{title: a.Title, alt: a.Alt(), width: animationWidth, height: a.height(), paint: a.paint}.png()
}

// Alt says what moves and for how long.
func (a Animation) Alt() string {
	if a.Description != "" {
		return a.Description
	}
	var names []string
	for _, p := range a.Pieces {
		if p.Name != "" {
			names = append(names, p.Name)
		}
	}
	text := "Animation"
	if a.Title != "" {
		text += ": " + a.Title
	}
	if len(names) > 0 {
		text += ". Moving: " + strings.Join(names, ", ")
	}
	if len(a.Times) > 1 {
		text += fmt.Sprintf(". It shows %s and repeats.", reading(a.Times[len(a.Times)-1]-a.Times[0], "s"))
	}
	return text
}

// String returns the same as Alt.
func (a Animation) String() string { return a.Alt() }

const (
	animationWidth = 520.0
	animationTop   = 44.0 // room for the title
	animationRim   = 18.0
	animationFoot  = 30.0 // room for the scale
)

type box struct{ x, y, w, h float64 }

// bounds is what the pieces sweep, m.
func (a Animation) bounds() box {
	x0, x1, y0, y1 := inf, -inf, inf, -inf
	for _, p := range a.Pieces {
		for f := range a.Times {
			for _, s := range p.Shapes {
				for i := range s.X {
					x, y := p.place(f, s.X[i], s.Y[i])
					r := math.Max(s.Radius, s.Width/2)
					x0, x1 = math.Min(x0, x-r), math.Max(x1, x+r)
					y0, y1 = math.Min(y0, y-r), math.Max(y1, y+r)
				}
			}
		}
	}
	return box{x0, y0, x1 - x0, y1 - y0}
}

func at(course []float64, frame int, otherwise float64) float64 {
	if course == nil {
		return otherwise
	}
	return course[frame]
}

func (p Piece) place(frame int, x, y float64) (float64, float64) {
	y *= at(p.Stretch, frame, 1)
	sin, cos := math.Sincos(at(p.Angle, frame, 0))
	return at(p.X, frame, 0) + x*cos - y*sin, at(p.Y, frame, 0) + x*sin + y*cos
}

func (a Animation) scale() (perMetre float64, b box) {
	b = a.bounds()
	perMetre = math.Min((animationWidth-2*animationRim)/math.Max(b.w, 1e-9), 420/math.Max(b.h, 1e-9))
	return perMetre, b
}

func (a Animation) height() float64 {
	k, b := a.scale()
	return math.Ceil(b.h*k + animationTop + 2*animationRim + animationFoot)
}

// SVG returns the animation as a complete <svg> element.
func (a Animation) SVG() string {
	if err := a.Check(); err != nil {
		return problem(err).svg()
	}
	k, b := a.scale()
	height := a.height()
	left := (animationWidth - b.w*k) / 2
	tx := func(x float64) float64 { return round(left + (x-b.x)*k) }
	ty := func(y float64) float64 { return round(height - animationFoot - animationRim - (y-b.y)*k) }

	var body, rules strings.Builder
	name := a.name()
	span := a.Times[len(a.Times)-1] - a.Times[0]
	for i, p := range a.Pieces {
		id := fmt.Sprintf("%s-%d", name, i)
		pose := func(f int) string {
			t := fmt.Sprintf("translate(%gpx,%gpx) rotate(%grad)", tx(at(p.X, f, 0)), ty(at(p.Y, f, 0)), -math.Round(at(p.Angle, f, 0)*1e4)/1e4)
			if p.Stretch != nil {
				t += fmt.Sprintf(" scale(1,%g)", math.Round(p.Stretch[f]*1e4)/1e4)
			}
			return t
		}
		fmt.Fprintf(&rules, ".%s{transform:%s;animation:%s %gs linear infinite}@keyframes %s{", id, pose(0), id, round(span), id)
		for f := range a.Times {
			fmt.Fprintf(&rules, "%g%%{transform:%s}", math.Round((a.Times[f]-a.Times[0])/span*1e5)/1e3, pose(f))
		}
		rules.WriteString("}")
		fmt.Fprintf(&body, `<g class="%s">`, id)
		for _, s := range p.Shapes {
			body.WriteString(s.svg(k, lines[i%len(lines)]))
		}
		body.WriteString("</g>")
	}
	fmt.Fprintf(&rules, "@media (prefers-reduced-motion:reduce){#%s g{animation:none!important}}#%s:hover g,#%s:focus g{animation-play-state:paused!important}", name, name, name)
	title := orWord(a.Title, "Animation")
	body.WriteString(a.scaleSVG(k, height))
	raw := fmt.Sprintf(`<svg ><rect width="100%%" height="100%%" style="fill:#ffffff"/>`+
		`<text x="14" y="26" style="font-family:Liberation Sans;font-variant:normal;font-size:%gpx;font-weight:bold;fill:#1b1f24">%s</text>%s</svg>`,
		sizeTitle, html.EscapeString(title), body.String())
	svg := themed(raw, title, a.Alt(), animationWidth, height)
	svg = strings.Replace(svg, "<svg ", fmt.Sprintf(`<svg id="%s" tabindex="0" `, name), 1)
	return strings.Replace(svg, "</desc>", "</desc><style>"+rules.String()+"</style>", 1)
}

// scaleSVG is a bar of a round length at the lower right, as a [SideView] has
// one, and at the left how long the motion takes before it begins again.
func (a Animation) scaleSVG(k, height float64) string {
	const words = "font-family:Liberation Sans;font-variant:normal;font-size:%gpx;fill:#59636e"
	length := (ticks{}).step(60 / k)
	right, left, y := animationWidth-22, animationWidth-22-length*k, height-12
	bar := fmt.Sprintf(`<path d="M%g %gv8M%g %gH%gM%g %gv8" style="fill:none;stroke:#59636e;stroke-width:1.5"/>`,
		round(left), y-4, round(left), y, right, right, y-4)
	return bar + fmt.Sprintf(`<text x="%g" y="%g" text-anchor="middle" style="`+words+`">%s</text><text x="14" y="%g" style="`+words+`">%s</text>`,
		round((left+right)/2), y-8, sizeTick, lengthLabel(length), y, sizeTick, a.lasts())
}

// lasts says how much time an animation shows.
func (a Animation) lasts() string {
	return reading(a.Times[len(a.Times)-1]-a.Times[0], "s") + ", then again"
}

// name is an identifier that no other animation on a page has, and the same
// for the same animation.
func (a Animation) name() string {
	h := fnv.New64a()
	fmt.Fprintf(h, "%v%v", a.Title, a.Pieces)
	return fmt.Sprintf("cp-m%x", h.Sum64())
}

func (s Shape) svg(k float64, c color.RGBA) string {
	hex := fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B)
	if s.Radius > 0 {
		return fmt.Sprintf(`<circle cx="%g" cy="%g" r="%g" style="fill:%s"/>`, round(s.X[0]*k), round(-s.Y[0]*k), round(s.Radius*k), hex)
	}
	var points strings.Builder
	for i := range s.X {
		fmt.Fprintf(&points, "%g,%g ", round(s.X[i]*k), round(-s.Y[i]*k))
	}
	if s.Closed {
		return fmt.Sprintf(`<polygon points="%s" style="fill:%s"/>`, strings.TrimSpace(points.String()), hex)
	}
	return fmt.Sprintf(`<polyline points="%s" style="fill:none;stroke:%s;stroke-width:%g;stroke-linecap:round;stroke-linejoin:round"/>`,
		strings.TrimSpace(points.String()), hex, round(math.Max(s.Width*k, 1.6)))
}

func (a Animation) paint(c draw.Canvas) {
	fill(c, c.Rectangle, paper)
	heading(c, a.Title, nil)
	k, b := a.scale()
	sketch{scale: k}.paintScale(c, new(layout))
	c.FillText(lettering(sizeTick, faint), vg.Point{X: 14, Y: 12}, a.lasts())
	left := (animationWidth - b.w*k) / 2
	const ghosts = 5
	for g := ghosts; g >= 0; g-- {
		f := g * (len(a.Times) - 1) / (3 * ghosts)
		for i, p := range a.Pieces {
			clr := lines[i%len(lines)]
			if g > 0 {
				clr = ruled
			}
			for _, s := range p.Shapes {
				pts := make([]vg.Point, len(s.X))
				for j := range s.X {
					x, y := p.place(f, s.X[j], s.Y[j])
					pts[j] = vg.Point{X: vg.Length(left + (x-b.x)*k), Y: vg.Length(animationFoot + animationRim + (y-b.y)*k)}
				}
				s.paint(c, pts, k, clr)
			}
		}
	}
}

func (s Shape) paint(c draw.Canvas, pts []vg.Point, k float64, clr color.Color) {
	switch {
	case s.Radius > 0:
		c.DrawGlyph(draw.GlyphStyle{Color: clr, Radius: vg.Length(s.Radius * k), Shape: draw.CircleGlyph{}}, pts[0])
	case s.Closed:
		c.FillPolygon(clr, pts)
	default:
		c.StrokeLines(draw.LineStyle{Color: clr, Width: vg.Length(math.Max(s.Width*k, 1.6))}, pts)
	}
}
