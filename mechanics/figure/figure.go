// Package figure draws what the mechanics packages compute: toys seen from the
// side, plots with units on their axes, phase portraits, sections, spectra,
// maps and animations, as SVG and PNG.
//
// Numbers go in as SI values; an axis names the unit in which it is read. A
// figure carries its own background and follows the page between light and
// dark, never tells anything by colour alone, and describes itself in words
// for those who cannot see it ([Figure.Alt]).
//
// The package may import any physics; nothing in physics imports it, and it
// knows nothing of notebooks or questions.
package figure

import (
	"bytes"
	"fmt"
	"html"
	"math"
	"regexp"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"
)

// A Figure is something to look at. Every figure of this package is one, and
// shows itself in a notebook by these methods.
type Figure interface {
	SVG() string    // a complete <svg> element
	PNG() []byte    // the same picture in pixels, twice as dense as the SVG's units
	Alt() string    // what the figure shows, in words
	String() string // same as Alt
}

// A picture is what a figure comes to once its data is known to be good.
type picture struct {
	title, alt    string
	width, height float64 // CSS pixels
	paint         func(draw.Canvas)
}

// pixelsPerUnit is the density of PNG pictures: sharp on screens that show two
// pixels for one and in print at the size of a textbook's column.
const pixelsPerUnit = 2

func (p picture) svg() string {
	c := vgsvg.New(vg.Length(p.width), vg.Length(p.height))
	p.paint(draw.New(c))
	var b bytes.Buffer
	if _, err := c.WriteTo(&b); err != nil {
		return problem(err).svg()
	}
	return themed(b.String(), p.title, p.alt, p.width, p.height)
}

func (p picture) png() []byte {
	c := vgimg.NewWith(vgimg.UseWH(vg.Length(p.width), vg.Length(p.height)), vgimg.UseDPI(72*pixelsPerUnit))
	p.paint(draw.New(c))
	var b bytes.Buffer
	if _, err := (vgimg.PngCanvas{Canvas: c}).WriteTo(&b); err != nil {
		return nil
	}
	return b.Bytes()
}

// problem is the picture shown in place of one whose data cannot be drawn.
func problem(err error) picture {
	text := "This figure cannot be drawn: " + err.Error()
	return picture{title: "Figure", alt: text, width: 520, height: 90, paint: func(c draw.Canvas) {
		fill(c, c.Rectangle, paper)
		writeWrapped(c, text, vg.Point{X: 16, Y: c.Max.Y - 28}, 70, ink)
	}}
}

var (
	svgHead   = regexp.MustCompile(`(?s)^.*?<svg [^>]*>`)
	svgStyle  = regexp.MustCompile(`style="([^"]*)"`)
	svgColour = regexp.MustCompile(`(fill|stroke):#([0-9A-Fa-f]{6})`)
	svgFamily = regexp.MustCompile(`font-family:Liberation (Sans|Mono)[^;]*;font-variant:[a-z]+;`)
)

// themed turns the SVG of the plotting library into one that names itself to
// screen readers, fits the width of its page and has a dark version.
func themed(svg, title, alt string, width, height float64) string {
	head := fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" `+
		`width="%g" height="%g" viewBox="0 0 %g %g" role="img" aria-label="%s" style="max-width:100%%;height:auto">`+
		`<title>%s</title><desc>%s</desc>`,
		width, height, width, height, html.EscapeString(alt), html.EscapeString(title), html.EscapeString(alt))
	used := map[string]bool{}
	body := svgHead.ReplaceAllString(svg, "")
	body = strings.ReplaceAll(body, "<image ", `<image preserveAspectRatio="none" style="image-rendering:pixelated" `)
	body = strings.ReplaceAll(body, "data:image/jpg;base64,", "data:image/png;base64,") // what it is
	body = svgStyle.ReplaceAllStringFunc(body, func(attr string) string {
		attr = svgFamily.ReplaceAllStringFunc(attr, func(f string) string {
			if strings.Contains(f, "Mono") {
				return "font-family:'Liberation Mono',monospace;"
			}
			return "font-family:'Liberation Sans',Arial,Helvetica,sans-serif;"
		})
		var classes []string
		for _, m := range svgColour.FindAllStringSubmatch(attr, -1) {
			if _, ok := dark[strings.ToLower(m[2])]; ok {
				class := "cp-" + m[1][:1] + strings.ToLower(m[2])
				classes = append(classes, class)
				used[class] = true
			}
		}
		if classes == nil {
			return attr
		}
		return `class="` + strings.Join(classes, " ") + `" ` + attr
	})
	return head + darkRules(used) + body
}

// round keeps coordinates short and the same on all processors.
func round(x float64) float64 { return math.Round(x*100) / 100 }
