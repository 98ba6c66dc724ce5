package build

import (
	"encoding/base64"
	"strings"
)

// attach puts the sheet's pictures that the last cell shows into that cell, so
// that the notebook needs no file beside it.
func (l *layout) attach() {
	c := &l.cells[len(l.cells)-1]
	for name, p := range l.sheet.Pictures {
		shown := strings.ReplaceAll(c.Source, "]("+name, "](attachment:"+name)
		if shown == c.Source {
			continue
		}
		c.Source = shown
		if c.Attachments == nil {
			c.Attachments = map[string]any{}
		}
		c.Attachments[name] = map[string]any{p.Type: base64.StdEncoding.EncodeToString(p.Data)}
	}
}
