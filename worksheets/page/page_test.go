package page_test

import (
	"encoding/base64"
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"

	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/page"
	"counterpoise/worksheets/page/tex"

	"golang.org/x/net/html"
)

func prose(s string) notebook.Cell { return notebook.Cell{Type: notebook.Markdown, Source: s} }
func shown(mime, s string) notebook.Cell {
	return notebook.Cell{Type: notebook.Code, Source: "x", Outputs: []notebook.Output{{Type: notebook.Display, Data: map[string]any{mime: s}}}}
}

func render(t testing.TB, cells ...notebook.Cell) string {
	t.Helper()
	out, err := page.HTML(&notebook.Notebook{Major: 4, Minor: 5, Cells: cells}, page.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

// body is what the page holds beside its own head.
func body(s string) string { return s[strings.Index(s, "<main"):] }

func TestProseIsTypeset(t *testing.T) {
	got := render(t, prose("# Where does the heron balance?\n\nThe depth is $h$:\n\n$$\nT = 2\\pi\\sqrt{\\frac{l}{g}}\n$$\n\n- a *b* `c`\n\n| a | b |\n|---|---:|\n| 1 | 2 |"))
	for _, want := range []string{
		"<title>Where does the heron balance?</title>",
		`<h1 id="section-1">Where does the heron balance?</h1>`,
		`alttext="h"><mi>h</mi></math>:`, `<div class="formula"><math xmlns="http://www.w3.org/1998/Math/MathML" display="block"`,
		`<em>b</em> <code>c</code>`, `<th align="right">b</th>`,
		`http-equiv="Content-Security-Policy" content="default-src &#39;none&#39;;`,
	} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q in\n%s", want, body(got))
		}
	}
}

func TestContentsListsSections(t *testing.T) {
	got := render(t, prose("# Title\n\n## One $x^2$\n\n## Two <b>\n\n### Three\n\n#### not four"))
	nav := got[strings.Index(got, "<nav"):strings.Index(got, "</nav>")]
	for _, want := range []string{`<li class="level-2"><a href="#section-2">One <math`, `href="#section-4">Three</a>`} {
		if !strings.Contains(nav, want) {
			t.Errorf("no %q in %s", want, nav)
		}
	}
	if strings.Contains(nav, "not four") || strings.Contains(nav, "Title") {
		t.Errorf("contents list too much: %s", nav)
	}
	if strings.Contains(render(t, prose("# T\n\n## a")), "<nav") {
		t.Error("a page of one section has a contents list")
	}
}

func TestCodeAndOutputs(t *testing.T) {
	png := base64.StdEncoding.EncodeToString([]byte("\x89PNG…"))
	got := body(render(t, notebook.Cell{Type: notebook.Code, Source: "for i := range 3 {\n\tfmt.Println(i)\n}", Outputs: []notebook.Output{
		{Type: notebook.Stream, Name: "stdout", Text: "0\n1 <b>\n10%\r20%\r30%\n\x1b[31mred\x1b[0m\n"},
		{Type: notebook.Stream, Name: "stderr", Text: "careful"},
		{Type: notebook.Error, ErrorName: "Panic", ErrorValue: "boom", Traceback: []string{"cell 1:2: <boom>"}},
		{Type: notebook.Result, Data: map[string]any{"text/plain": "3", "text/latex": "$$x^2$$"}},
		{Type: notebook.Display, Data: map[string]any{"text/plain": "a dot", "image/png": png}},
		{Type: notebook.Display, Data: map[string]any{"text/plain": "b", "text/html": "<table><tr><td>1</td></tr></table>"}},
		{Type: notebook.Display, Data: map[string]any{"text/plain": "b", "text/markdown": "*m* $y$"}},
		{Type: notebook.Display, Data: map[string]any{"application/json": map[string]any{"a": 1}}},
	}}))
	for _, want := range []string{
		`<span class="k">for</span> i := <span class="k">range</span> <span class="m">3</span> {`, "<pre class=\"stream\">0\n1 &lt;b&gt;\n30%\nred</pre>", `<pre class="stream warn">careful</pre>`,
		"cell 1:2: &lt;boom&gt;", `<msup><mi>x</mi><mn>2</mn></msup>`, `alt="a dot"`, "data:image/png;base64," + png,
		"<tr><td>1</td></tr>", "<em>m</em>", "&#34;a&#34;: 1",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q in\n%s", want, got)
		}
	}
}

func TestAnswersAreShownAsAnswers(t *testing.T) {
	got := body(render(t,
		notebook.Cell{Type: notebook.Code, Source: "//worksheet:open\nc2VjcmV0", Metadata: map[string]any{"jupyter": map[string]any{"source_hidden": true}}},
		notebook.Cell{Type: notebook.Code, Source: "//worksheet:answer cg-height\n(2m h)/M <x>"},
		notebook.Cell{Type: notebook.Code, Source: "//worksheet:derive path\n"},
	))
	if strings.Contains(got, "c2VjcmV0") {
		t.Error("the folded cell is shown")
	}
	for _, want := range []string{`Your answer <span class="name">cg-height</span>`, "(2m h)/M &lt;x&gt;", "nothing yet"} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q in\n%s", want, got)
		}
	}
}

// Formulas that come as MathML inside an HTML output stay what they are.
func TestMathMLInOutputsStays(t *testing.T) {
	formula, err := tex.MathML(`\ddot\theta = -\frac{g}{l}\begin{cases}\sqrt{x} & \text{a}\\ 1\,\mathrm{mm}\end{cases}`, true)
	if err != nil {
		t.Fatal(err)
	}
	got := body(render(t, shown("text/html", "<p>Read as: "+formula+"</p>")))
	if !strings.Contains(html.UnescapeString(got), html.UnescapeString(formula)) {
		t.Errorf("%s\nwas changed:\n%s", formula, got)
	}
}

// attacks are ways known from the OWASP "XSS Filter Evasion Cheat Sheet" and
// from SVG's own elements, each in every door that a notebook has.
var attacks = []string{
	`<script>alert(1)</script>`, `<img src=x onerror=alert(1)>`, `<svg onload=alert(1)><script>alert(1)</script></svg>`,
	`<a href="javascript:alert(1)">x</a>`, `<a href=" jAvAsCrIpT:alert(1)">x</a>`, `<iframe src="https://example.org"></iframe>`, `<form action="https://example.org"><input name=a></form>`,
	`<style>@import url(https://example.org/x.css); main{display:none}</style>`, `<link rel=stylesheet href=https://example.org/x.css>`, `<meta http-equiv=refresh content="0;url=https://example.org">`,
	`<div style="background:url(https://example.org/x)">x</div>`, `<img src="https://example.org/x.png" alt="a">`, `<base href="https://example.org/">`, `<object data="x.swf"></object>`, `<embed src=x>`,
	`<math><mtext><table><mglyph><style><img src=x onerror=alert(1)></style></mglyph></table></mtext></math>`, `<math href="javascript:alert(1)">x</math>`,
	`<svg><foreignObject><body onload="alert(1)"/></foreignObject></svg>`, `<svg><a href="javascript:alert(1)"><text>x</text></a></svg>`, `<svg><image href="https://example.org/x.png"/></svg>`,
	`<svg><use href="https://example.org/x.svg#a"/></svg>`, `<svg><animate attributeName="href" values="javascript:alert(1)"/></svg>`, `<svg><set attributeName="onmouseover" to="alert(1)"/></svg>`,
	`<svg><style>@import url(https://example.org/x.css); main{display:none} *{background:url(https://example.org/y)}</style></svg>`, `<svg><rect fill="url(https://example.org/z)"/></svg>`,
	`<svg><style>&lt;/style>&lt;script>alert(1)&lt;/script></style></svg>`, `<svg><style><![CDATA[</style><script>alert(1)</script>]]></style></svg>`, `<svg><title></title><script>alert(1)</script></title></svg>`,
	`[x](javascript:alert(1))`, `![x](https://example.org/x.png)`, `![x](javascript:alert(1))`, `<https://example.org" onmouseover="alert(1)>`, "```\"><script>alert(1)</script>\nx\n```",
	`$<script>alert(1)</script>$`, `$\text{<script>alert(1)</script>}$`, "\uE0000\uE001<script>alert(1)</script>", `<details open ontoggle=alert(1)>`, `<audio src=x onerror=alert(1)></audio>`,
	`<textarea autofocus onfocus=alert(1)>`, `<button formaction=javascript:alert(1)>`, `"><script>alert(1)</script>`, `<!--><script>alert(1)</script>-->`, `<noscript><p title="</noscript><script>alert(1)</script>">`,
	`<p id="content">x</p>`, `<svg xmlns:x="http://www.w3.org/1999/xlink"><use x:href="data:image/svg+xml;base64,PHN2Zz4=#a"/></svg>`,
}

func TestNothingActiveOrFetchingComesThrough(t *testing.T) {
	for _, attack := range attacks {
		cells := []notebook.Cell{prose(attack), prose("# " + attack), {Type: notebook.Raw, Source: attack}, {Type: notebook.Code, Source: attack},
			{Type: notebook.Code, Source: "//worksheet:answer " + attack + "\n" + attack}, {Type: notebook.Markdown, Source: "![" + attack + "](attachment:a)", Attachments: map[string]any{"a": map[string]any{"image/png": attack}}}}
		for _, mime := range []string{"text/plain", "text/html", "text/markdown", "text/latex", "image/svg+xml", "image/png", "application/json"} {
			cells = append(cells, shown(mime, attack))
		}
		cells = append(cells, notebook.Cell{Type: notebook.Code, Outputs: []notebook.Output{{Type: notebook.Stream, Name: attack, Text: attack}, {Type: notebook.Error, ErrorName: attack, ErrorValue: attack, Traceback: []string{attack}},
			{Type: notebook.Display, Data: map[string]any{"image/svg+xml": "<svg xmlns='http://www.w3.org/2000/svg'/>", "text/plain": attack}, Metadata: map[string]any{"alt": attack}}}})
		for i, c := range cells {
			if bad := active(render(t, c)); bad != "" {
				t.Errorf("%s\nas cell %d leaves %s", attack, i, bad)
			}
		}
	}
}

var (
	ownStyle = regexp.MustCompile(`(?s)<style>.*?</style>`)
	fetching = regexp.MustCompile(`(?i)(url\(\s*['"]?(https?:|//|data:text)|@import|javascript:)`)
	bannedEl = map[string]bool{"script": true, "iframe": true, "object": true, "embed": true, "link": true, "base": true, "form": true, "foreignobject": true, "audio": true, "button": true, "textarea": true, "noscript": true, "mglyph": true, "annotation-xml": true}
)

// active reads a page as a browser does (golang.org/x/net/html follows the
// parsing rules of the HTML standard) and names the first thing in it that
// could run, fetch or stand for the page's own parts.
func active(s string) string {
	s = strings.Replace(s, ownStyle.FindString(s), "", 1)
	root, err := html.Parse(strings.NewReader(s))
	if err != nil {
		return err.Error()
	}
	found, contents := "", 0
	var walk func(n *html.Node)
	walk = func(n *html.Node) {
		if n.Type == html.ElementNode {
			name := strings.ToLower(n.Data)
			if bannedEl[name] {
				found = "<" + name + ">"
			}
			for _, a := range n.Attr {
				key, v := strings.ToLower(a.Key), strings.ToLower(strings.TrimSpace(a.Val))
				switch {
				case strings.HasPrefix(key, "on"):
					found = key
				case key == "id" && v == "content":
					if contents++; contents > 1 {
						found = "a second content"
					}
				case name == "meta" && key == "http-equiv" && v == "refresh", key == "srcdoc", key == "formaction", key == "style" && name != "svg" && strings.Contains(v, "url"):
					found = key
				case (key == "src" || key == "href" && name != "a" || key == "data" || key == "poster") && !strings.HasPrefix(v, "data:image/png") && !strings.HasPrefix(v, "#"):
					found = key + "=" + v
				case key == "href" && !strings.HasPrefix(v, "#") && !strings.HasPrefix(v, "http") && !strings.HasPrefix(v, "mailto:") && strings.Contains(v, ":"):
					found = key + "=" + v
				case key != "alt" && key != "alttext" && key != "title" && key != "aria-label" && fetching.MatchString(v):
					found = key + "=" + v
				}
			}
		}
		if n.Type == html.TextNode && n.Parent != nil && n.Parent.Data == "style" && (fetching.MatchString(n.Data) || strings.Contains(n.Data, "main{") && !strings.Contains(n.Data, "#drawing-1 main{")) {
			found = "style " + n.Data
		}
		for c := n.FirstChild; c != nil; c = c.NextSibling {
			walk(c)
		}
	}
	walk(root)
	return found
}

func TestDrawingsKeepToThemselves(t *testing.T) {
	svg := `<?xml version="1.0"?><!DOCTYPE svg><svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 10 10" aria-label="a heron">
<style>@media screen and (prefers-color-scheme:dark){.a{fill:#fff!important}} .b, :root .c{stroke:red}</style>
<defs><clipPath id="k"><rect width="5" height="5"/></clipPath></defs><g clip-path="url(#k)"><circle class="a" r="3"/><use xlink:href="#k"/></g><text>a &amp; b</text></svg>`
	two := body(render(t, shown("image/svg+xml", svg), shown("image/svg+xml", svg)))
	for _, want := range []string{`id="drawing-1-k"`, `clip-path="url(#drawing-1-k)"`, `href="#drawing-1-k"`, `id="drawing-2-k"`, `aria-label="a heron"`, `role="img"`,
		`@media screen and (prefers-color-scheme:dark){#drawing-1 .a{fill:#fff!important}}`, `#drawing-2 .b,#drawing-2 .c{stroke:red}`, "a &amp; b", `viewBox="0 0 10 10"`} {
		if !strings.Contains(two, want) {
			t.Errorf("no %q in\n%s", want, two)
		}
	}
}

func TestEveryPictureHasADescription(t *testing.T) {
	png := base64.StdEncoding.EncodeToString([]byte("x"))
	got := render(t, prose("![](data:image/png;base64,"+png+")"), shown("image/png", png), shown("image/svg+xml", `<svg xmlns="http://www.w3.org/2000/svg"/>`),
		notebook.Cell{Type: notebook.Code, Outputs: []notebook.Output{{Type: notebook.Display, Data: map[string]any{"image/svg+xml": "<svg/>"}, Metadata: map[string]any{"image/svg+xml": map[string]any{"alt": "reed & pin"}}}}})
	if n := strings.Count(got, "Picture without a description"); n != 3 {
		t.Errorf("%d pictures are said to have no description, want 3", n)
	}
	if !strings.Contains(got, `aria-label="reed &amp; pin"`) {
		t.Error("a description in the metadata is not used")
	}
}

func FuzzHTML(f *testing.F) {
	for _, a := range attacks {
		f.Add(a)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, c := range []notebook.Cell{prose(s), shown("text/html", s), shown("image/svg+xml", s), shown("text/latex", s), shown("text/plain", s)} {
			if bad := active(render(t, c)); bad != "" {
				t.Fatalf("%q leaves %s", s, bad)
			}
		}
	})
}

func ExampleHTML() {
	nb := &notebook.Notebook{Major: 4, Minor: 5, Cells: []notebook.Cell{{Type: notebook.Markdown, Source: "# A reed\n\nIts period is $T$."}}}
	out, err := page.HTML(nb, page.Options{})
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
	}
	_, main, _ := strings.Cut(string(out), `<main id="content">`)
	fmt.Println(strings.Split(strings.TrimSpace(main), "\n")[2])
	// Output: <p>Its period is <math xmlns="http://www.w3.org/1998/Math/MathML" alttext="T"><mi>T</mi></math>.</p>
}
