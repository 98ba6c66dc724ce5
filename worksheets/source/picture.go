package source

import (
	"bytes"
	"fmt"
	"io"
	"io/fs"
	"strings"

	"github.com/yuin/goldmark/ast"
)

// MaxPicture is the size of a picture file: every student's notebook carries it.
const MaxPicture = 4 << 20

// picture reads a picture that the prose shows.
func (r *reader) picture(n *ast.Image, source string, first int) {
	name := string(n.Destination)
	line := first
	for p := n.Parent(); p != nil; p = p.Parent() {
		if p.Type() == ast.TypeBlock {
			if p.Lines().Len() > 0 {
				line = first + strings.Count(source[:p.Lines().At(0).Start], "\n")
			}
			break
		}
	}
	if n.FirstChild() == nil {
		r.fail(line, fmt.Sprintf("the picture %s has no description", name), "write what it shows between the brackets, for those who cannot see it: ![…]("+name+")")
	}
	switch {
	case strings.Contains(name, "://") || strings.HasPrefix(name, "//"):
		r.fail(line, fmt.Sprintf("the picture %s would be fetched from the net", name), "copy it into the sheet's folder, with its source and licence beside it")
		return
	case strings.HasPrefix(name, "data:"):
		return
	case r.folder == nil || !fs.ValidPath(name):
		r.fail(line, fmt.Sprintf("the picture %s is not in the sheet's folder", name), "copy it there")
		return
	}
	if _, known := r.sheet.Pictures[name]; known {
		return
	}
	f, err := r.folder.Open(name)
	if err != nil {
		r.fail(line, fmt.Sprintf("the picture %s cannot be read", name), "check its name: it must be in the sheet's folder")
		return
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, MaxPicture+1))
	kind := pictureType(data)
	switch {
	case err != nil:
		r.fail(line, fmt.Sprintf("the picture %s: %v", name, err), "")
	case len(data) > MaxPicture:
		r.fail(line, fmt.Sprintf("the picture %s is larger than %d MiB", name, MaxPicture>>20), "make it smaller")
	case kind == "":
		r.fail(line, fmt.Sprintf("the picture %s is no PNG, JPEG or GIF", name), "save it as one of these")
	default:
		r.sheet.Pictures[name] = Picture{kind, bytes.Clone(data)}
	}
}

// pictureType tells a picture's type by the bytes that its format begins with;
// "" for none that notebooks show.
func pictureType(data []byte) string {
	for start, kind := range map[string]string{"\x89PNG\r\n\x1a\n": "image/png", "\xff\xd8\xff": "image/jpeg", "GIF87a": "image/gif", "GIF89a": "image/gif"} {
		if bytes.HasPrefix(data, []byte(start)) {
			return kind
		}
	}
	return ""
}
