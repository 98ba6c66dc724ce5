package page

import (
	"bytes"
	_ "embed"
	"encoding/base64"
	"html/template"
	"strings"
	"sync"
)

// A Heading is one line of the contents list.
type Heading struct {
	Level int // 1 to 6
	ID    string
	Text  template.HTML // safe: words and MathML
}

// A Document is a page of the project's own making around a body that is
// already safe. Feedback pages and proof sheets use it too.
type Document struct {
	Title    string
	Language string // default "en"
	Contents []Heading
	Body     template.HTML
	Footer   string
	// Small leaves the font for formulas out: the reader's own is used. For
	// pages that are made by the thousand.
	Small bool
}

//go:embed style.css
var style string

//go:embed document.html
var documentSource string

var document = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("document").Parse(documentSource))
})

// mathematics is a font for formulas, so that brackets and roots grow on
// machines that have none of their own: a part of STIX Two Math 2.13, made by
// font/subset.py, under the SIL Open Font License in font/OFL.txt.
//
//go:embed font/mathematics.woff2
var mathematics []byte

var fontFace = sync.OnceValue(func() string {
	return "@font-face { font-family: 'Sheet Mathematics'; src: url(data:font/woff2;base64," + base64.StdEncoding.EncodeToString(mathematics) + ") format('woff2'); }\n"
})

// liftedDots keeps the dots of a derivative off their letter where formulas are
// set in a font without a table for mathematics.
const liftedDots = "mover[accent=\"true\"] > mo { padding-bottom: .18em; }\n"

// policy forbids everything but the page's own styles and the pictures in it.
const policy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:; base-uri 'none'; form-action 'none'"

// HTML returns the page.
func (d Document) HTML() ([]byte, error) {
	if d.Language == "" {
		d.Language = "en"
	}
	var contents []Heading
	for _, h := range d.Contents {
		if h.Level == 2 || h.Level == 3 {
			contents = append(contents, h)
		}
	}
	if len(contents) < 3 { // too short to need a list
		contents = nil
	}
	face := ""
	if d.Small {
		face = liftedDots
	} else if strings.Contains(string(d.Body), "<math") {
		face = fontFace()
	}
	var b bytes.Buffer
	err := document().Execute(&b, struct {
		Document
		Policy string
		Style  template.CSS
		Lines  []Heading
	}{d, policy, template.CSS(face + style), contents})
	return b.Bytes(), err
}
