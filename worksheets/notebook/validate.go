package notebook

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// Validate tells everything in which a notebook is not valid nbformat 4.5: the
// rules of the published schema, and that cell ids are unique, which a schema
// cannot say. It returns nil or several [*ReadError] joined.
func Validate(n *Notebook) error {
	var all []error
	bad := func(path, format string, a ...any) {
		all = append(all, &ReadError{Path: path, Reason: fmt.Sprintf(format, a...)})
	}
	if n.Major != Major || n.Minor < Minor {
		bad("nbformat", "version %d.%d is not 4.5", n.Major, n.Minor)
	}
	if len(n.Extra) > 0 {
		bad("", "unknown fields: %s", names(n.Extra))
	}
	validateMetadata(n.Metadata, bad)
	first := make(map[string]int, len(n.Cells))
	for i := range n.Cells {
		c := &n.Cells[i]
		path := fmt.Sprintf("cells[%d]", i)
		if !validID(c.ID) {
			bad(path+".id", "%q is not 1 to 64 of A–Z a–z 0–9 - _", c.ID)
		} else if j, ok := first[c.ID]; ok {
			bad(path+".id", "%q is also the id of cells[%d]", c.ID, j)
		} else {
			first[c.ID] = i
		}
		validateCell(c, path, bad)
	}
	return errors.Join(all...)
}

func validateMetadata(m map[string]any, bad func(path, format string, a ...any)) {
	if v, ok := m["kernelspec"]; ok {
		k, ok := v.(map[string]any)
		for _, field := range []string{"name", "display_name"} {
			if s, _ := k[field].(string); !ok || s == "" && k[field] != "" {
				bad("metadata.kernelspec", "needs %s as text", field)
			}
		}
	}
	if v, ok := m["language_info"]; ok {
		l, _ := v.(map[string]any)
		if _, ok := l["name"].(string); !ok {
			bad("metadata.language_info", "needs name as text")
		}
	}
	if v, ok := m["title"]; ok {
		if _, ok := v.(string); !ok {
			bad("metadata.title", "must be text")
		}
	}
	if v, ok := m["authors"]; ok {
		if _, ok := v.([]any); !ok {
			bad("metadata.authors", "must be a list")
		}
	}
}

func validateCell(c *Cell, path string, bad func(path, format string, a ...any)) {
	switch c.Type {
	case Code:
		if c.Attachments != nil {
			bad(path, "a code cell has no attachments")
		}
	case Markdown, Raw:
		if c.Outputs != nil {
			bad(path, "only code cells have outputs")
		}
	default:
		bad(path+".cell_type", "%q is none of code, markdown, raw", c.Type)
	}
	if len(c.Extra) > 0 {
		bad(path, "unknown fields: %s", names(c.Extra))
	}
	if v, ok := c.Metadata["tags"]; ok {
		validateTags(v, path+".metadata.tags", bad)
	}
	if v, ok := c.Metadata["name"]; ok {
		if s, isText := v.(string); !isText || s == "" {
			bad(path+".metadata.name", "must be text, not empty")
		}
	}
	for i := range c.Outputs {
		o := &c.Outputs[i]
		place := fmt.Sprintf("%s.outputs[%d]", path, i)
		switch o.Type {
		case Stream, Display, Result, Error:
		default:
			bad(place+".output_type", "%q is unknown", o.Type)
		}
		if len(o.Extra) > 0 {
			bad(place, "unknown fields: %s", names(o.Extra))
		}
	}
}

// validateTags checks that tags are a list of different texts without commas.
func validateTags(v any, path string, bad func(path, format string, a ...any)) {
	list, ok := v.([]any)
	if !ok {
		bad(path, "must be a list")
		return
	}
	seen := map[string]bool{}
	for i, v := range list {
		s, ok := v.(string)
		switch {
		case !ok:
			bad(fmt.Sprintf("%s[%d]", path, i), "must be text")
		case s == "" || containsComma(s):
			bad(fmt.Sprintf("%s[%d]", path, i), "a tag is not empty and has no comma")
		case seen[s]:
			bad(fmt.Sprintf("%s[%d]", path, i), "%q comes twice", s)
		}
		seen[s] = true
	}
}

func containsComma(s string) bool { return strings.ContainsRune(s, ',') }

// names lists the keys of m in order.
func names(m map[string]any) string {
	return strings.Join(slices.Sorted(maps.Keys(m)), ", ")
}
