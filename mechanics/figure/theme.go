package figure

import (
	"fmt"
	"image/color"
	"sort"
	"strings"

	xfont "golang.org/x/image/font"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// The colours of a light page. Pure black is not among them: the plotting
// library leaves it out of its output, and what has no colour cannot follow
// the page.
var (
	paper = rgb(0xffffff)
	ink   = rgb(0x1b1f24)
	faint = rgb(0x59636e) // secondary text and thin lines: 6 to 1 on paper
	ruled = rgb(0xd8dee4) // grid
	warm  = rgb(0xf3e3c0) // fill of a body of unnamed material
)

// lines are the colours of series in order: after Okabe and Ito, "Color
// Universal Design" (2008), the light ones darkened until they stand 3 to 1
// against white (WCAG 2.1, 1.4.11). Dashes and markers tell series apart too.
var lines = []color.RGBA{rgb(0x0072b2), rgb(0xd55e00), rgb(0x008560), rgb(0xa6548a), rgb(0x8a6000), rgb(0x1b1f24)}

var dashes = [][]vg.Length{nil, {7, 3}, {2, 2.5}, {9, 3, 2, 3}, {4, 2}, {12, 4}}

// dark gives the colour on a dark page for each colour on a light one.
var dark = map[string]string{
	"ffffff": "16191d", "1b1f24": "e8eaed", "59636e": "aab3bd", "d8dee4": "39414a", "f3e3c0": "5b4d2e",
	"0072b2": "56b4e9", "d55e00": "ff9b57", "008560": "3dcfa5", "a6548a": "e6a0c8", "8a6000": "f0c050",
	"d9b45b": "b08d3c", "b9c3cc": "7d8893", "d9a27e": "b07a55", "d8dde2": "9aa4ae", "c8a878": "8f7549", "a9b4c2": "6d7987",
}

func rgb(hex uint32) color.RGBA {
	return color.RGBA{R: uint8(hex >> 16), G: uint8(hex >> 8), B: uint8(hex), A: 255}
}

// darkRules is the style sheet that recolours the classes used, on dark
// screens only: paper stays light.
func darkRules(used map[string]bool) string {
	if len(used) == 0 {
		return ""
	}
	classes := make([]string, 0, len(used))
	for class := range used {
		classes = append(classes, class)
	}
	sort.Strings(classes)
	var b strings.Builder
	b.WriteString("<style>@media screen and (prefers-color-scheme:dark){")
	for _, class := range classes {
		property := "fill"
		if strings.HasPrefix(class, "cp-s") {
			property = "stroke"
		}
		fmt.Fprintf(&b, ".%s{%s:#%s!important}", class, property, dark[class[4:]])
	}
	b.WriteString("}</style>")
	return b.String()
}

// Sizes of text in CSS pixels: legible when a page on a phone shows a figure
// at two thirds of its size.
const (
	sizeText  = 13.5
	sizeTitle = 15.5
	sizeTick  = 12.5
)

func face(size vg.Length, bold bool) font.Font {
	f := font.Font{Typeface: "Liberation", Variant: "Sans", Size: size}
	if bold {
		f.Weight = xfont.WeightBold
	}
	return f
}

func lettering(size vg.Length, c color.Color) text.Style {
	return text.Style{Color: c, Font: face(size, false), Handler: text.Plain{Fonts: font.DefaultCache}}
}

func fill(c draw.Canvas, r vg.Rectangle, clr color.Color) {
	c.FillPolygon(clr, []vg.Point{r.Min, {X: r.Max.X, Y: r.Min.Y}, r.Max, {X: r.Min.X, Y: r.Max.Y}})
}

// wrap breaks text into lines of at most n characters where a single word is
// not longer.
func wrap(s string, n int) []string {
	var out []string
	line := ""
	for _, word := range strings.Fields(s) {
		switch {
		case line == "":
			line = word
		case len([]rune(line))+1+len([]rune(word)) > n:
			out = append(out, line)
			line = word
		default:
			line += " " + word
		}
	}
	return append(out, line)
}

func writeWrapped(c draw.Canvas, s string, at vg.Point, n int, clr color.Color) {
	for i, line := range wrap(s, n) {
		c.FillText(lettering(sizeText, clr), vg.Point{X: at.X, Y: at.Y - vg.Length(i)*sizeText*1.3}, line)
	}
}
