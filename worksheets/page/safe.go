package page

import (
	"regexp"
	"sync"

	"github.com/microcosm-cc/bluemonday"
)

// filter is made when the first page is: most runs of the program make none.
var filter = sync.OnceValue(newFilter)

// newFilter lets through what explains: text, lists, tables, links, pictures
// that are part of the file, MathML. Everything else loses its tags; scripts,
// styles, frames, forms and handlers go altogether.
func newFilter() *bluemonday.Policy {
	p := bluemonday.NewPolicy()
	// Class names that strangers' HTML may carry: the page's own and those of
	// coloured code. None of them hides or moves anything.
	classNames := regexp.MustCompile(`^[a-zA-Z0-9_ -]{0,100}$`)
	p.AllowAttrs("dir").Matching(bluemonday.Direction).Globally()
	p.AllowAttrs("lang").Matching(regexp.MustCompile(`^[a-zA-Z-]{2,20}$`)).Globally()
	p.AllowAttrs("title").Matching(bluemonday.Paragraph).Globally()
	p.AllowAttrs("id").Matching(regexp.MustCompile(`^section-\d+$`)).OnElements("h1", "h2", "h3", "h4", "h5", "h6")
	p.AllowElements("p", "br", "hr", "div", "span", "section", "article", "header", "footer", "figure", "figcaption",
		"h1", "h2", "h3", "h4", "h5", "h6", "b", "strong", "i", "em", "u", "s", "del", "ins", "small", "sub", "sup", "mark", "abbr", "cite", "q",
		"code", "pre", "kbd", "samp", "var", "blockquote", "ul", "ol", "li", "dl", "dt", "dd", "details", "summary")
	p.AllowTables()
	p.AllowAttrs("class").Matching(classNames).OnElements("div", "span", "p", "code", "pre", "section", "article", "table", "td", "th", "tr", "ul", "ol", "li",
		"dl", "dt", "dd", "figure", "details", "summary", "strong", "em", "mtd", "mtable", "mrow", "mtext", "math", "h1", "h2", "h3", "h4")
	p.AllowAttrs("open").OnElements("details")
	p.AllowAttrs("role", "aria-label").Matching(bluemonday.Paragraph).OnElements("div", "span", "section", "p")
	p.AllowAttrs("start").Matching(bluemonday.Integer).OnElements("ol")
	p.AllowAttrs("href").OnElements("a")
	p.AllowURLSchemes("http", "https", "mailto")
	p.AllowRelativeURLs(true) // for links to a heading
	p.RequireNoFollowOnLinks(false)
	p.AllowAttrs("alt").OnElements("img")
	p.AllowAttrs("width", "height").Matching(bluemonday.Number).OnElements("img")
	p.AllowAttrs("src").Matching(dataPicture()).OnElements("img")
	p.AllowDataURIImages()
	p.AllowAttrs("type", "checked", "disabled").OnElements("input") // the boxes of task lists
	p.AllowNoAttrs().OnElements("span", "div", "details", "summary", "section", "article", "figure")
	allowMathML(p)
	return p
}

// allowMathML lets the elements of MathML Core through that package tex and the
// typesetter of expressions write. Source: MathML Core, W3C, section 3.
func allowMathML(p *bluemonday.Policy) {
	elements := []string{"math", "mrow", "mi", "mn", "mo", "mtext", "mspace", "ms", "mfrac", "msqrt", "mroot", "mstyle", "merror", "mpadded", "mphantom",
		"msub", "msup", "msubsup", "munder", "mover", "munderover", "mmultiscripts", "mprescripts", "mtable", "mtr", "mtd", "semantics"}
	p.AllowElements(elements...)
	word := regexp.MustCompile(`^[a-zA-Z0-9.+\- ]{0,40}$`)
	p.AllowAttrs("mathvariant", "displaystyle", "scriptlevel", "stretchy", "fence", "form", "separator", "largeop", "movablelimits", "symmetric", "minsize", "maxsize",
		"lspace", "rspace", "width", "height", "depth", "voffset", "linethickness", "accent", "accentunder", "columnalign", "columnspacing", "rowspacing", "display").
		Matching(word).OnElements("math", "mrow", "mi", "mn", "mo", "mtext", "mspace", "mfrac", "mstyle", "mpadded", "munder", "mover", "munderover", "mtable", "mtr", "mtd")
	p.AllowAttrs("alttext").OnElements("math")
	p.AllowAttrs("xmlns").Matching(regexp.MustCompile(`^http://www\.w3\.org/1998/Math/MathML$`)).OnElements("math")
	p.AllowNoAttrs().OnElements(elements...)
}
