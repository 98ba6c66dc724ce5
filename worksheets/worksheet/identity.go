package worksheet

import (
	"compress/flate"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"strings"
)

// Identity reads from what Pack wrote only which sheet it is and whose copy: a
// few hundred bytes of it are unpacked. Marking asks this of every script.
func Identity(text string) (sheet, student string, err error) {
	var lines []io.Reader
	for line := range strings.Lines(text) {
		if line = strings.TrimSpace(line); !strings.HasPrefix(line, "//") {
			lines = append(lines, strings.NewReader(line))
		}
	}
	packed := base64.NewDecoder(base64.RawURLEncoding, io.MultiReader(lines...))
	dec := json.NewDecoder(io.LimitReader(flate.NewReader(packed), maxEnvelope))
	if t, err := dec.Token(); err != nil || t != json.Delim('{') {
		return "", "", errEnvelope
	}
	for dec.More() {
		field, err := dec.Token()
		if err != nil {
			return "", "", errEnvelope
		}
		if field == "questions" { // the last field, and the large one
			break
		}
		value, err := dec.Token()
		if err != nil {
			return "", "", errEnvelope
		}
		switch field {
		case "version":
			if v, ok := value.(float64); !ok || v < 1 || v > version {
				return "", "", fmt.Errorf("this notebook was built by another version of Counterpoise")
			}
		case "name":
			sheet, _ = value.(string)
		case "student":
			student, _ = value.(string)
		}
	}
	if sheet == "" {
		return "", "", errEnvelope
	}
	return sheet, student, nil
}
