// Package cell declares what every cell has without importing it: showing
// values, clearing what was shown, and asking for a line.
package cell

import (
	"encoding/base64"
	"fmt"
	"regexp"
	"strings"
)

// A Host carries out what a cell asks for. The kernel sets it.
type Host interface {
	Display(v any, id string, update bool)
	ClearOutput(wait bool)
	Ask(prompt string, secret bool) string
	NewID() string
}

var host Host

// SetHost says who carries out what cells ask for.
func SetHost(h Host) { host = h }

// A Handle stands for something shown.
type Handle struct{ id string }

// Update replaces what is shown by v, in whichever cell it stands.
func (h Handle) Update(v any) {
	if host != nil {
		host.Display(v, h.id, true)
	}
}

// String returns nothing, so that a cell that ends in Display shows one thing.
func (h Handle) String() string { return "" }

// Display shows v below the cell at once, by the methods that v has: HTML,
// Markdown, LaTeX, SVG, PNG, Alt, String or MIMEBundle.
func Display(v any) Handle {
	if host == nil {
		return Handle{}
	}
	h := Handle{host.NewID()}
	host.Display(v, h.id, false)
	return h
}

// ClearOutput removes what the cell has shown so far: at once or, with wait,
// when something new is shown.
func ClearOutput(wait bool) {
	if host != nil {
		host.ClearOutput(wait)
	}
}

// Ask asks the person at the notebook for a line of text.
func Ask(prompt string) string {
	if host == nil {
		return ""
	}
	return host.Ask(prompt, false)
}

// AskSecret asks for a line that is not shown while it is typed.
func AskSecret(prompt string) string {
	if host == nil {
		return ""
	}
	return host.Ask(prompt, true)
}

// Content is something to show, in one form.
type Content struct {
	kind string
	text string
	data []byte
}

// MIMEBundle returns the content under its MIME type, and plain text beside it.
func (c Content) MIMEBundle() map[string]any {
	if c.data != nil {
		return map[string]any{c.kind: c.data, "text/plain": c.String()}
	}
	return map[string]any{c.kind: c.text, "text/plain": c.String()}
}

var (
	tag   = regexp.MustCompile(`<[^>]*>`)
	title = regexp.MustCompile(`(?s)<title[^>]*>(.*?)</title>`)
)

// String returns what can be said of the content in plain text.
func (c Content) String() string {
	switch c.kind {
	case "text/html":
		return strings.TrimSpace(tag.ReplaceAllString(c.text, ""))
	case "image/svg+xml":
		if m := title.FindStringSubmatch(c.text); m != nil {
			return strings.TrimSpace(m[1])
		}
		return "drawing"
	case "image/png":
		return fmt.Sprintf("picture of %d bytes", len(c.data))
	}
	return strings.Trim(c.text, "$")
}

// HTML is a piece of HTML to show.
func HTML(s string) Content { return Content{kind: "text/html", text: s} }

// SVG is a drawing to show.
func SVG(s string) Content { return Content{kind: "image/svg+xml", text: s} }

// PNG is a picture to show.
func PNG(b []byte) Content { return Content{kind: "image/png", data: append([]byte{}, b...)} }

// Markdown is formatted text to show.
func Markdown(s string) Content { return Content{kind: "text/markdown", text: s} }

// LaTeX is a formula to show, with or without dollar signs.
func LaTeX(s string) Content {
	return Content{kind: "text/latex", text: "$" + strings.Trim(s, "$") + "$"}
}

// Base64 decodes bytes written as base64. It panics if s is not that.
func Base64(s string) []byte {
	b, err := base64.StdEncoding.DecodeString(strings.Join(strings.Fields(s), ""))
	if err != nil {
		panic("Base64: " + err.Error())
	}
	return b
}
