package page

import (
	"bytes"
	"html"
	"strings"

	"github.com/alecthomas/chroma/v2"
	chromahtml "github.com/alecthomas/chroma/v2/formatters/html"
	"github.com/alecthomas/chroma/v2/lexers"
	"github.com/alecthomas/chroma/v2/styles"
)

var codeFormat = chromahtml.New(chromahtml.WithClasses(true), chromahtml.PreventSurroundingPre(true))

// codeStyle is the style sheet of coloured code, light and dark.
var codeStyle = makeCodeStyle()

func makeCodeStyle() string {
	var light, dark bytes.Buffer
	// Writing a built-in style into memory cannot fail.
	_ = codeFormat.WriteCSS(&light, styles.Get("github"))
	_ = codeFormat.WriteCSS(&dark, styles.Get("github-dark"))
	return "@media print, (prefers-color-scheme: light) {\n" + plainGround(light.String()) + "}\n@media screen and (prefers-color-scheme: dark) {\n" + plainGround(dark.String()) + "}\n"
}

// plainGround drops the rules that would give code a ground of its own.
func plainGround(css string) string {
	var b strings.Builder
	for line := range strings.Lines(css) {
		if !strings.Contains(line, ".bg {") && !strings.Contains(line, ".chroma {") && !strings.Contains(line, ".err {") {
			b.WriteString(line)
		}
	}
	return b.String()
}

// MaxHighlight is the length of code that is coloured; longer code is shown
// plain, since the lexers' patterns can be slow on text made to be slow.
const MaxHighlight = 100 << 10

// highlight returns code as a pre element, coloured if the language is known.
func highlight(code, language string) string {
	code = strings.TrimRight(code, "\n")
	lexer := lexers.Get(language)
	if lexer == nil || len(code) > MaxHighlight {
		return `<pre class="code"><code>` + html.EscapeString(code) + "</code></pre>\n"
	}
	tokens, err := chroma.Coalesce(lexer).Tokenise(nil, code)
	if err != nil {
		return `<pre class="code"><code>` + html.EscapeString(code) + "</code></pre>\n"
	}
	var b bytes.Buffer
	if err := codeFormat.Format(&b, styles.Fallback, tokens); err != nil {
		return `<pre class="code"><code>` + html.EscapeString(code) + "</code></pre>\n"
	}
	return `<pre class="code chroma"><code>` + strings.TrimRight(b.String(), "\n") + "</code></pre>\n"
}
