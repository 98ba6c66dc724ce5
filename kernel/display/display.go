// Package display turns a value into what a notebook can show: a bundle of MIME
// types, by the methods that the value has.
//
// A value shows itself by any of these methods, none of which needs an import:
// HTML, Markdown, LaTeX (without dollar signs) and SVG return a string, PNG
// returns bytes, Alt a text for those who cannot see the picture, String plain
// text; MIMEBundle returns a map from MIME type to content, all at once.
// Everything else is written as Go would write it.
package display

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"io"
	"maps"
	"strings"

	"gonum.org/v1/plot/vg"

	"counterpoise/kernel/display/cell"
	"counterpoise/kernel/server"
	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/typeset"
)

// The size of a gonum plot that says nothing of its size.
const (
	plotWidth  = 15 * vg.Centimeter
	plotHeight = 10 * vg.Centimeter
)

// Of returns the bundle of a value. It never panics: what a value's own method
// does wrong is told in its place.
func Of(v any) (b server.Bundle) {
	defer func() {
		if r := recover(); r != nil {
			b = server.Bundle{Data: map[string]any{"text/plain": fmt.Sprintf("(this value cannot be shown: %v)", r)}, Metadata: map[string]any{}}
		}
	}()
	b = server.Bundle{Data: map[string]any{}, Metadata: map[string]any{}}
	if m, ok := v.(interface{ MIMEBundle() map[string]any }); ok {
		maps.Copy(b.Data, m.MIMEBundle())
	}
	shown(b.Data, v)
	text, hasText := b.Data["text/plain"].(string)
	if !hasText {
		text = plain(v, b.Data)
	}
	b.Data["text/plain"] = cut(text)
	if a, ok := v.(interface{ Alt() string }); ok {
		describe(b, a.Alt())
	}
	return b
}

// Nothing tells whether an expression of this value shows nothing: the handle
// of something shown already.
func Nothing(list []any) bool {
	if len(list) != 1 {
		return false
	}
	_, ok := list[0].(cell.Handle)
	return ok
}

// Values returns the bundle of the values of an expression.
func Values(list []any) server.Bundle {
	if len(list) == 1 {
		return Of(list[0])
	}
	parts := make([]string, len(list))
	for i, v := range list {
		parts[i], _ = Of(v).Data["text/plain"].(string)
	}
	return server.Bundle{Data: map[string]any{"text/plain": cut(strings.Join(parts, ", "))}, Metadata: map[string]any{}}
}

// shown fills in what a value's methods and kind give.
func shown(data map[string]any, v any) {
	put := func(kind string, content any) {
		if _, ok := data[kind]; !ok {
			data[kind] = content
		}
	}
	if x, ok := v.(interface{ HTML() string }); ok {
		put("text/html", x.HTML())
	}
	if x, ok := v.(interface{ Markdown() string }); ok {
		put("text/markdown", x.Markdown())
	}
	if x, ok := v.(interface{ LaTeX() string }); ok {
		put("text/latex", "$"+x.LaTeX()+"$")
	}
	if x, ok := v.(interface{ SVG() string }); ok {
		put("image/svg+xml", x.SVG())
	}
	if x, ok := v.(interface{ PNG() []byte }); ok {
		if p := x.PNG(); len(p) > 0 {
			put("image/png", p)
		}
	}
	switch x := v.(type) {
	case expr.Expr:
		put("text/latex", "$"+typeset.TeX(x)+"$")
		put("text/plain", typeset.Text(x))
	case []expr.Expr:
		var tex, text []string
		for _, e := range x {
			tex = append(tex, "$$"+typeset.TeX(e)+"$$")
			text = append(text, typeset.Text(e))
		}
		put("text/latex", strings.Join(tex, "\n"))
		put("text/plain", strings.Join(text, "\n"))
	case interface {
		WriterTo(w, h vg.Length, format string) (io.WriterTo, error)
	}:
		drawn(put, x)
	case image.Image:
		var b bytes.Buffer
		if png.Encode(&b, x) == nil {
			put("image/png", b.Bytes())
		}
		put("text/plain", fmt.Sprintf("image, %d×%d", x.Bounds().Dx(), x.Bounds().Dy()))
	}
	table(put, v)
}

// drawn draws a gonum plot as SVG and PNG.
func drawn(put func(string, any), p interface {
	WriterTo(w, h vg.Length, format string) (io.WriterTo, error)
}) {
	for kind, format := range map[string]string{"image/svg+xml": "svg", "image/png": "png"} {
		w, err := p.WriterTo(plotWidth, plotHeight, format)
		if err != nil {
			put("text/plain", "plot that cannot be drawn: "+err.Error())
			return
		}
		var b bytes.Buffer
		if _, err := w.WriteTo(&b); err != nil {
			put("text/plain", "plot that cannot be drawn: "+err.Error())
			return
		}
		if format == "svg" {
			put(kind, b.String())
		} else {
			put(kind, b.Bytes())
		}
	}
	put("text/plain", "plot")
}

// plain returns the text of a value that gives none itself.
func plain(v any, data map[string]any) string {
	if err, ok := v.(error); ok && !isNilPointer(v) {
		return err.Error()
	}
	if s, ok := v.(fmt.Stringer); ok && !isNilPointer(v) {
		return s.String()
	}
	for _, kind := range []string{"text/markdown", "text/latex"} {
		if s, ok := data[kind].(string); ok {
			return strings.Trim(s, "$")
		}
	}
	if a, ok := v.(interface{ Alt() string }); ok {
		return a.Alt()
	}
	if len(data) > 0 {
		if _, ok := data["text/html"]; !ok {
			return "picture"
		}
	}
	return Text(v)
}

// describe adds a picture's description where pages and readers look for it.
func describe(b server.Bundle, alt string) {
	if alt == "" {
		return
	}
	for _, kind := range []string{"image/svg+xml", "image/png"} {
		if _, ok := b.Data[kind]; ok {
			b.Metadata[kind] = map[string]any{"alt": alt}
		}
	}
	if svg, ok := b.Data["image/svg+xml"].(string); ok {
		b.Data["image/svg+xml"] = titled(svg, alt)
	}
}

// titled gives an SVG without a title one.
func titled(svg, alt string) string {
	if strings.Contains(svg, "<title") {
		return svg
	}
	start := strings.Index(svg, "<svg")
	if start < 0 {
		return svg
	}
	end := strings.Index(svg[start:], ">")
	if end < 0 || svg[start+end-1] == '/' {
		return svg
	}
	at := start + end + 1
	return svg[:at] + "<title>" + escape(alt) + "</title>" + svg[at:]
}

func escape(s string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;").Replace(s)
}
