package page

import (
	"encoding/xml"
	"errors"
	"fmt"
	"html"
	"io"
	"regexp"
	"strings"
	"sync"
)

// Limits on one drawing.
const (
	// MaxSVG is the size of one drawing; a plot of 10,000 points is about 300 KB.
	MaxSVG = 8 << 20
	// MaxSVGDepth is how deep elements lie in each other; drawings need about 10.
	MaxSVGDepth = 60
)

// errDrawing is returned for text that is not a drawing.
var errDrawing = errors.New("not an SVG drawing")

// svgElements are those that draw or describe; none of them runs or fetches.
// Source: Scalable Vector Graphics 2, W3C, element index.
var svgElements = lazyWords(`svg g defs title desc symbol use path rect circle ellipse line polyline polygon text tspan textPath
	linearGradient radialGradient stop pattern clipPath mask marker style image
	animate animateTransform animateMotion set mpath`)

// svgAttributes are those that such elements need: geometry, presentation,
// animation, description.
var svgAttributes = lazyWords(`id class style transform viewBox preserveAspectRatio width height x y x1 x2 y1 y2 cx cy r rx ry d points dx dy rotate
	textLength lengthAdjust startOffset text-anchor dominant-baseline alignment-baseline baseline-shift font-family font-size font-style font-weight font-variant letter-spacing
	fill fill-opacity fill-rule stroke stroke-width stroke-opacity stroke-dasharray stroke-dashoffset stroke-linecap stroke-linejoin stroke-miterlimit
	opacity color display visibility vector-effect paint-order clip-path clip-rule mask marker-start marker-mid marker-end shape-rendering text-rendering
	offset stop-color stop-opacity gradientUnits gradientTransform spreadMethod fx fy patternUnits patternContentUnits patternTransform
	clipPathUnits maskUnits maskContentUnits markerWidth markerHeight markerUnits refX refY orient pathLength href
	attributeName attributeType from to by values keyTimes keySplines keyPoints calcMode begin dur end repeatCount repeatDur additive accumulate type path
	role aria-label aria-hidden lang tabindex`)

// animated are the attributes that an animation may change.
var animated = lazyWords(`transform x y x1 x2 y1 y2 cx cy r rx ry d points width height opacity fill stroke stroke-width stroke-dashoffset visibility display offset rotate`)

// lazyWords makes a set of words when it is first asked for.
func lazyWords(words string) func() map[string]bool {
	return sync.OnceValue(func() map[string]bool {
		set := map[string]bool{}
		for _, w := range strings.Fields(words) {
			set[w] = true
		}
		return set
	})
}

// drawing returns an SVG as an inline figure from which everything is gone that
// could run, fetch, link or reach outside it: ids and style rules are kept to
// this drawing. It has a description in any case.
func (w *writer) drawing(svg, alt string) (string, error) {
	if len(svg) > MaxSVG {
		return "", errDrawing
	}
	w.drawings++
	c := &svgCleaner{name: fmt.Sprintf("drawing-%d", w.drawings), alt: strings.TrimSpace(alt)}
	if err := c.clean(svg); err != nil {
		return "", err
	}
	ground := ""
	if !strings.Contains(svg, "prefers-color-scheme") && !strings.Contains(svg, "currentColor") {
		ground = " paper" // made for white paper only
	}
	return fmt.Sprintf("<figure class=\"drawing%s\" id=\"%s\">%s</figure>\n", ground, c.name, c.b.String()), nil
}

// A svgCleaner copies one drawing, leaving out what is not known to be harmless.
type svgCleaner struct {
	name  string // of this drawing, put before its ids
	alt   string
	b     strings.Builder
	open  []string // elements open now; "" for one that is left out
	style bool     // inside a style element
}

func (c *svgCleaner) clean(svg string) error {
	d := xml.NewDecoder(strings.NewReader(svg))
	d.Strict = true
	d.Entity = nil
	skip, begun := 0, false
	for {
		token, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			return errDrawing
		}
		switch t := token.(type) {
		case xml.StartElement:
			switch {
			case skip > 0:
				skip++
			case !begun && t.Name.Local != "svg":
				return errDrawing
			case !svgElements()[t.Name.Local] || len(c.open) >= MaxSVGDepth || forbidden(t):
				skip = 1
			case begun && len(c.open) == 0:
				return errDrawing // a second root
			default:
				c.start(t, !begun)
				begun = true
			}
		case xml.EndElement:
			if skip > 0 {
				skip--
				continue
			}
			name := c.open[len(c.open)-1]
			c.open = c.open[:len(c.open)-1]
			c.b.WriteString("</" + name + ">")
			c.style = false
		case xml.CharData:
			switch {
			case skip > 0 || len(c.open) == 0:
			case c.style:
				c.b.WriteString(scopedCSS(string(t), "#"+c.name))
			default:
				c.b.WriteString(html.EscapeString(string(t)))
			}
		}
	}
	if !begun {
		return errDrawing
	}
	return nil
}

// forbidden tells of elements that would change links or fetch.
func forbidden(t xml.StartElement) bool {
	for _, a := range t.Attr {
		switch {
		case a.Name.Local == "attributeName" && !animated()[a.Value]:
			return true
		case t.Name.Local == "image" && a.Name.Local == "href" && !dataPicture().MatchString(strings.Join(strings.Fields(a.Value), "")):
			return true
		}
	}
	return false
}

func (c *svgCleaner) start(t xml.StartElement, root bool) {
	name := t.Name.Local
	c.open = append(c.open, name)
	c.style = name == "style"
	c.b.WriteString("<" + name)
	label := ""
	for _, a := range t.Attr {
		key := a.Name.Local
		if a.Name.Space != "" && !(key == "href" && strings.HasSuffix(a.Name.Space, "xlink")) || !svgAttributes()[key] {
			continue
		}
		value, ok := c.value(name, key, a.Value)
		if !ok {
			continue
		}
		if root && (key == "role" || key == "aria-label" || key == "tabindex") {
			if key == "aria-label" {
				label = a.Value
			}
			continue
		}
		fmt.Fprintf(&c.b, ` %s="%s"`, key, html.EscapeString(value))
	}
	if root {
		if c.alt == "" {
			c.alt = strings.TrimSpace(label)
		}
		fmt.Fprintf(&c.b, ` xmlns="http://www.w3.org/2000/svg" role="img" aria-label="%s"`, html.EscapeString(describe(c.alt)))
	}
	c.b.WriteString(">")
}

var cssURL = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`(?i)url\(\s*['"]?#([A-Za-z0-9_.:-]+)['"]?\s*\)`) })

// value returns an attribute's value made safe, and false if it has to go.
func (c *svgCleaner) value(element, key, v string) (string, bool) {
	switch key {
	case "id":
		return c.name + "-" + v, true
	case "href":
		if ref, ok := strings.CutPrefix(v, "#"); ok && element != "image" {
			return "#" + c.name + "-" + ref, true
		}
		joined := strings.Join(strings.Fields(v), "")
		return joined, element == "image" && dataPicture().MatchString(joined)
	case "begin", "end":
		if strings.ContainsAny(v, "#(") {
			return "", false
		}
	case "type":
		if element == "style" {
			return "text/css", true
		}
	}
	kept := cssURL().ReplaceAllString(v, "url(#"+c.name+"-$1)")
	if !safeCSS(cssURL().ReplaceAllString(v, "")) {
		return "", false
	}
	return kept, true
}

// safeCSS tells whether declarations fetch nothing and hide nothing behind
// escapes. References inside the drawing have to be taken out before.
func safeCSS(s string) bool {
	s = strings.ToLower(s)
	for _, bad := range []string{"url(", "@import", "expression(", "javascript:", "image(", "image-set(", "src(", "\\", "</", "behavior:", "-moz-binding", "position:fixed", "position:absolute", "position: fixed", "position: absolute"} {
		if strings.Contains(s, bad) {
			return false
		}
	}
	return true
}

var cssComment = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`(?s)/\*.*?\*/`) })

// scopedCSS returns a style sheet whose rules apply inside one element only.
// At-rules other than @media and @keyframes go, and so do rules that fetch.
func scopedCSS(css, scope string) string {
	css = cssComment().ReplaceAllString(css, "")
	var b strings.Builder
	scopeRules(&b, css, scope, 0)
	return strings.NewReplacer("<", "", "&", "").Replace(b.String())
}

func scopeRules(b *strings.Builder, css, scope string, depth int) {
	for depth < 4 {
		open := strings.IndexByte(css, '{')
		if open < 0 {
			return
		}
		end := matching(css, open)
		if end < 0 {
			return
		}
		head, body := strings.TrimSpace(css[:open]), css[open+1:end]
		if i := strings.LastIndexByte(head, ';'); i >= 0 { // an at-rule without a block before it
			head = strings.TrimSpace(head[i+1:])
		}
		css = css[end+1:]
		switch {
		case strings.HasPrefix(head, "@media"):
			b.WriteString(head + "{")
			scopeRules(b, body, scope, depth+1)
			b.WriteString("}")
		case strings.HasPrefix(head, "@keyframes"):
			if safeCSS(body) {
				b.WriteString(head + "{" + body + "}")
			}
		case strings.HasPrefix(head, "@") || strings.ContainsAny(body, "{}") || head == "":
		default:
			if safeCSS(cssURL().ReplaceAllString(body, "")) && safeCSS(head) {
				body = cssURL().ReplaceAllString(body, "url("+scope+"-$1)")
				selectors := strings.Split(head, ",")
				for i, s := range selectors {
					s = strings.TrimSpace(s)
					s = strings.TrimSpace(strings.TrimPrefix(s, ":root"))
					selectors[i] = strings.TrimSpace(scope + " " + strings.ReplaceAll(s, "#", scope+"-"))
				}
				b.WriteString(strings.Join(selectors, ",") + "{" + body + "}")
			}
		}
	}
}

// matching returns the index of the brace that closes the one at open, or -1.
func matching(s string, open int) int {
	depth := 0
	for i := open; i < len(s); i++ {
		switch s[i] {
		case '{':
			depth++
		case '}':
			if depth--; depth == 0 {
				return i
			}
		}
	}
	return -1
}
