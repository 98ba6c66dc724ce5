package server

import (
	"encoding/json"
	"maps"
	"strings"

	"counterpoise/kernel/wire"
)

// displayContent is a bundle as messages carry it: text as it is, other bytes
// in base64, JSON as JSON, and always something in plain text.
func displayContent(b Bundle, id string) wire.Display {
	d := wire.Display{Data: map[string]any{}, Metadata: map[string]any{}, Transient: map[string]any{}}
	maps.Copy(d.Metadata, b.Metadata)
	for kind, v := range b.Data {
		switch v := v.(type) {
		case string:
			d.Data[kind] = v
		case []byte:
			if isText(kind) {
				d.Data[kind] = string(v)
			} else {
				d.Data[kind] = v // encoding/json writes base64
			}
		default:
			if raw, err := json.Marshal(v); err == nil {
				d.Data[kind] = json.RawMessage(raw)
			}
		}
	}
	if _, ok := d.Data["text/plain"]; !ok {
		d.Data["text/plain"] = "(" + strings.Join(kinds(d.Data), ", ") + ")"
	}
	if raw, err := json.Marshal(d.Metadata); err != nil || len(raw) == 0 {
		d.Metadata = map[string]any{}
	}
	if id != "" {
		d.Transient["display_id"] = id
	}
	return d
}

func isText(kind string) bool {
	return strings.HasPrefix(kind, "text/") || kind == "image/svg+xml" || strings.HasSuffix(kind, "+xml") || kind == "application/javascript"
}
