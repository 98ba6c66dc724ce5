package proof

import (
	_ "embed"
	"fmt"
	"html/template"
	"strings"

	"counterpoise/worksheets/page"
)

//go:embed page.html
var pageSource string

var pageTemplate = template.Must(template.New("proof").Funcs(template.FuncMap{
	"minutes": func(x float64) string { return fmt.Sprintf("%.0f", x) },
	"prose":   page.Prose,
	"readAs":  func(tex string) template.HTML { return page.Prose("Read as $" + tex + "$") },
	"letter":  func(i int) string { return string(rune('A' + i)) },
}).Parse(pageSource))

// HTML returns the proof sheet: a page on which a colleague reads what was
// tried and what was found, and every question with its key, its slips and
// samples and what they are told, hints and working.
func (r Report) HTML() ([]byte, error) {
	var body strings.Builder
	if err := pageTemplate.Execute(&body, r); err != nil {
		return nil, err
	}
	return page.Document{Title: "Proof of " + r.Title, Body: template.HTML(body.String())}.HTML()
}
