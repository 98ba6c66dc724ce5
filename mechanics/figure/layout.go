package figure

import (
	"math"
	"sort"
	"strings"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// A layout knows what stands on a canvas already, so that labels find the place
// where they cover least. Text is measured in the font it is drawn in.
type layout struct {
	frame  vg.Rectangle
	traces []trace
	taken  []vg.Rectangle // labels and signs: nothing may cover them
}

// A trace is a straight stretch of a line that is half as wide to either side.
type trace struct {
	from, to vg.Point
	half     vg.Length
}

// line notes a line through points that labels had better not cover.
func (l *layout) line(width vg.Length, at ...vg.Point) {
	for i := 1; i < len(at); i++ {
		l.traces = append(l.traces, trace{at[i-1], at[i], width / 2})
	}
}

// take notes a rectangle that labels must not cover.
func (l *layout) take(r vg.Rectangle) { l.taken = append(l.taken, r) }

// labelGap is the room kept free around a label in CSS pixels.
const labelGap = 3

// cost says how much a label in r would hide: pixels of line beneath it, and
// far more for what leaves the frame or meets another label.
func (l *layout) cost(r vg.Rectangle) float64 {
	wide := grow(r, labelGap)
	hidden := 0.0
	if out := area(r) - common(r, l.frame); out > 1e-6 {
		hidden += 1e5 + 100*out
	}
	for _, t := range l.taken {
		if c := common(wide, t); c > 0 {
			hidden += 1e4 + 10*c
		}
	}
	for _, t := range l.traces {
		hidden += inside(grow(wide, t.half), t.from, t.to)
	}
	return hidden
}

// place chooses among rectangles of one size, the preferred first, the one that
// costs least, and takes it. A place further down the list must save a tenth of
// a pixel for each step down.
func (l *layout) place(choices []vg.Rectangle, cost func(vg.Rectangle) float64) vg.Rectangle {
	const step = 0.1
	best, least := vg.Rectangle{}, math.Inf(1)
	for i, r := range choices {
		if step*float64(i) >= least {
			break
		}
		r = within(r, l.frame)
		if c := cost(r) + step*float64(i); c < least {
			best, least = r, c
		}
	}
	l.take(best)
	return best
}

// around lists places for a label of the given size about a point: beside it,
// above and below it, then further away.
func around(p vg.Point, clear vg.Length, size vg.Point) []vg.Rectangle {
	var all []vg.Rectangle
	for _, more := range []vg.Length{0, 8, 18, 30, 45, 65, 90, 120} {
		d := clear + more
		s := d * math.Sqrt2 / 2
		for _, c := range []vg.Point{
			{X: p.X + d + size.X/2, Y: p.Y}, {X: p.X - d - size.X/2, Y: p.Y},
			{X: p.X + s + size.X/2, Y: p.Y + s + size.Y/2}, {X: p.X + s + size.X/2, Y: p.Y - s - size.Y/2},
			{X: p.X - s - size.X/2, Y: p.Y + s + size.Y/2}, {X: p.X - s - size.X/2, Y: p.Y - s - size.Y/2},
			{X: p.X, Y: p.Y + d + size.Y/2}, {X: p.X, Y: p.Y - d - size.Y/2},
			{X: p.X + clear + size.X/2, Y: p.Y - d - size.Y/2}, {X: p.X - clear - size.X/2, Y: p.Y - d - size.Y/2},
			{X: p.X + clear + size.X/2, Y: p.Y + d + size.Y/2}, {X: p.X - clear - size.X/2, Y: p.Y + d + size.Y/2},
		} {
			all = append(all, about(c, size))
		}
	}
	return all
}

// extent is the size of a line of text as it is drawn, letters below the line
// included.
func extent(style text.Style, s string) vg.Point {
	e := style.FontExtents()
	return vg.Point{X: style.Width(s), Y: e.Ascent + e.Descent}
}

// write draws a line of text into the rectangle that was measured for it.
func write(c draw.Canvas, style text.Style, r vg.Rectangle, s string) {
	style.XAlign, style.YAlign = draw.XLeft, draw.YBottom
	c.FillText(style, vg.Point{X: r.Min.X, Y: r.Min.Y + style.FontExtents().Descent}, s)
}

// label writes text where it covers least and backs it with paper, so that what
// it cannot avoid does not cross the letters; a thin line leads to it from the
// point it belongs to if that is not beside it.
func (l *layout) label(c draw.Canvas, style text.Style, s string, point vg.Point, clear vg.Length) {
	if strings.TrimSpace(s) == "" {
		return
	}
	r := l.place(around(point, clear, extent(style, s)), func(r vg.Rectangle) float64 {
		const over = 40 // a leader over a line confuses as much as so many pixels of it hidden
		hidden := l.cost(r)
		if from, to, needed := leader(point, clear, r); needed {
			for _, t := range l.traces {
				if crossing(from, to, t.from, t.to) {
					hidden += over
				}
			}
		}
		return hidden
	})
	if from, to, needed := leader(point, clear, r); needed {
		c.StrokeLine2(draw.LineStyle{Color: faint, Width: 0.9}, from.X, from.Y, to.X, to.Y)
	}
	fill(c, grow(r, 1), paper)
	write(c, style, r, s)
}

// leader is the line from beside a point to the label in r, needed if the label
// is not beside the point itself.
func leader(point vg.Point, clear vg.Length, r vg.Rectangle) (from, to vg.Point, needed bool) {
	to = vg.Point{X: clamp(point.X, r.Min.X-2, r.Max.X+2), Y: clamp(point.Y, r.Min.Y, r.Max.Y)}
	d := to.Sub(point)
	far := vg.Length(math.Hypot(float64(d.X), float64(d.Y)))
	if far <= clear+10 {
		return point, to, false
	}
	return point.Add(d.Scale(clear / far)), to, true
}

// crossing says whether two straight lines cross between their ends.
func crossing(a, b, c, d vg.Point) bool {
	side := func(p, q, r vg.Point) vg.Length { return (q.X-p.X)*(r.Y-p.Y) - (q.Y-p.Y)*(r.X-p.X) }
	return side(a, b, c)*side(a, b, d) < 0 && side(c, d, a)*side(c, d, b) < 0
}

// fold breaks text into lines no wider than room; a single word may be wider.
// Spaces that must not break a line are no-break spaces.
func fold(style text.Style, s string, room vg.Length) []string {
	var lines []string
	for _, word := range strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == '\n' || r == '\t' }) {
		last := len(lines) - 1
		if last >= 0 && style.Width(lines[last]+" "+word) <= room {
			lines[last] += " " + word
		} else {
			lines = append(lines, word)
		}
	}
	return lines
}

// shorten cuts a text that does not fit into room, with an ellipsis.
func shorten(style text.Style, s string, room vg.Length) string {
	if style.Width(s) <= room {
		return s
	}
	letters := []rune(s)
	n := sort.Search(len(letters), func(n int) bool { return style.Width(string(letters[:n])+"…") > room })
	return strings.TrimSpace(string(letters[:max(n-1, 0)])) + "…"
}

func about(centre, size vg.Point) vg.Rectangle {
	half := size.Scale(0.5)
	return vg.Rectangle{Min: centre.Sub(half), Max: centre.Add(half)}
}

func grow(r vg.Rectangle, by vg.Length) vg.Rectangle {
	return vg.Rectangle{Min: vg.Point{X: r.Min.X - by, Y: r.Min.Y - by}, Max: vg.Point{X: r.Max.X + by, Y: r.Max.Y + by}}
}

// within moves a rectangle into a frame, to its lower left if it is too large.
func within(r, frame vg.Rectangle) vg.Rectangle {
	by := vg.Point{
		X: max(min(0, frame.Max.X-r.Max.X), frame.Min.X-r.Min.X),
		Y: max(min(0, frame.Max.Y-r.Max.Y), frame.Min.Y-r.Min.Y),
	}
	return r.Add(by)
}

func area(r vg.Rectangle) float64 { return float64((r.Max.X - r.Min.X) * (r.Max.Y - r.Min.Y)) }

// common is the area that two rectangles share.
func common(a, b vg.Rectangle) float64 {
	w := min(a.Max.X, b.Max.X) - max(a.Min.X, b.Min.X)
	h := min(a.Max.Y, b.Max.Y) - max(a.Min.Y, b.Min.Y)
	return float64(max(w, 0) * max(h, 0))
}

// inside is the length of the part of a straight line that lies in a rectangle,
// by the method of Liang and Barsky, ACM Transactions on Graphics 3 (1984) 1; a
// single point counts as a pixel.
func inside(r vg.Rectangle, from, to vg.Point) float64 {
	d := to.Sub(from)
	start, end := 0.0, 1.0
	for _, edge := range [][2]vg.Length{{-d.X, from.X - r.Min.X}, {d.X, r.Max.X - from.X}, {-d.Y, from.Y - r.Min.Y}, {d.Y, r.Max.Y - from.Y}} {
		p, q := float64(edge[0]), float64(edge[1])
		switch {
		case p == 0 && q < 0:
			return 0
		case p < 0:
			start = math.Max(start, q/p)
		case p > 0:
			end = math.Min(end, q/p)
		}
	}
	if start >= end && (start > end || from != to) {
		return 0
	}
	return math.Max((end-start)*math.Hypot(float64(d.X), float64(d.Y)), 1)
}

func clamp(v, low, high vg.Length) vg.Length { return min(max(v, low), high) }
