package pile

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"
	"unicode"
	"unicode/utf8"
)

// label makes a name from a folder or an archive safe to print: valid UTF-8
// without control characters or marks that turn the direction of writing, of
// bounded length. Labels are shown, never opened.
func label(name string) string {
	name = strings.ToValidUTF8(name, "\uFFFD")
	name = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || unicode.Is(unicode.Cf, r) || r == '\u2028' || r == '\u2029' {
			return '\uFFFD'
		}
		return r
	}, name)
	if len(name) <= maxLabel {
		return name
	}
	cut := maxLabel - 20
	for !utf8.RuneStart(name[cut]) {
		cut--
	}
	return name[:cut] + "…" + digest(name)
}

// Base returns the name of the file that a label ends with, without folders and
// archives.
func Base(label string) string {
	if i := strings.LastIndex(label, ": "); i >= 0 {
		label = label[i+2:]
	}
	return label[strings.LastIndexAny(label, `/\`)+1:]
}

func digest(s string) string {
	sum := sha256.Sum256([]byte(s))
	return hex.EncodeToString(sum[:6])
}

// FileName turns any text, such as a student's id, into the name of a file:
// letters, digits, dots, hyphens and underscores of ASCII, not starting with a
// dot or hyphen, at most 80 bytes. Text that is not one already gets a
// fingerprint of the whole, so that two texts never share a name, also where
// capitals do not count. It never holds a separator.
func FileName(text string) string {
	var b strings.Builder
	changed := false
	for _, r := range text {
		switch {
		case 'a' <= r && r <= 'z', '0' <= r && r <= '9', r == '_',
			(r == '.' || r == '-') && b.Len() > 0:
			b.WriteRune(r)
		default:
			changed = true
			if 'A' <= r && r <= 'Z' {
				b.WriteRune(r)
			} else {
				b.WriteByte('_')
			}
		}
		if b.Len() > 60 {
			changed = true
			break
		}
	}
	name := b.String()
	if name == "" || changed || strings.HasSuffix(name, ".") || reserved(name) {
		name = strings.TrimRight(name, ".") + "-" + digest(text)
	}
	return strings.TrimLeft(name, "-")
}

// reserved tells the names that some systems keep for devices.
func reserved(name string) bool {
	stem, _, _ := strings.Cut(strings.ToLower(name), ".")
	switch stem {
	case "con", "prn", "aux", "nul":
		return true
	}
	return len(stem) == 4 && (strings.HasPrefix(stem, "com") || strings.HasPrefix(stem, "lpt")) && stem[3] >= '0' && stem[3] <= '9'
}
