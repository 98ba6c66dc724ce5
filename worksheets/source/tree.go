package source

import (
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"sync"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// places tells the line of each value of a YAML text, by its JSON pointer.
type places map[string]int

// line returns the line of a pointer, or of the nearest value around it.
func (p places) line(pointer string) int {
	for {
		if line, ok := p[pointer]; ok {
			return line
		}
		i := strings.LastIndexByte(pointer, '/')
		if i < 0 {
			return 0
		}
		pointer = pointer[:i]
	}
}

// A tree is a YAML text as JSON-like values with their lines. Numbers are
// [json.Number] as written, so that 1.50 stays 1.50.
type tree struct {
	root   any
	places places
	order  map[string][]string // pointer of a mapping to its keys in order
	fail   func(line int, reason, remedy string)
	offset int // added to lines
	nodes  int
}

// Limits on a YAML block.
const (
	maxYAML  = 256 << 10 // bytes: the longest question of the library has 6 KB
	maxNodes = 20_000
	maxDepth = 40
)

// readTree reads one YAML text whose first line is line first of the file. It
// reports false if the text cannot be read at all.
func readTree(text string, first int, fail func(line int, reason, remedy string)) (*tree, bool) {
	t := &tree{places: places{"": first}, order: map[string][]string{}, fail: fail, offset: first - 1}
	if len(text) > maxYAML {
		fail(first, fmt.Sprintf("this block is longer than %d KiB", maxYAML>>10), "")
		return t, false
	}
	if i := strings.IndexByte(text, '\t'); i >= 0 && strings.TrimSpace(text[strings.LastIndexByte(text[:i], '\n')+1:i]) == "" {
		fail(first+strings.Count(text[:i], "\n"), "a line is indented with a tab", "indent with blanks")
		return t, false
	}
	if nesting(text) > maxDepth {
		fail(first, fmt.Sprintf("values lie more than %d deep inside each other", maxDepth), "")
		return t, false
	}
	file, err := parser.ParseBytes([]byte(text), 0)
	if err != nil {
		t.syntax(err, first)
		return t, false
	}
	if len(file.Docs) == 0 || file.Docs[0].Body == nil {
		t.root = map[string]any{}
		return t, true
	}
	if len(file.Docs) > 1 {
		fail(first, "this block holds several YAML documents", "remove the line of ---")
	}
	t.root = t.value(file.Docs[0].Body, "", 0)
	return t, true
}

// nesting is how many brackets are open at once, at most.
func nesting(text string) int {
	depth, most := 0, 0
	for i := 0; i < len(text); i++ {
		switch text[i] {
		case '[', '{':
			depth++
			most = max(most, depth)
		case ']', '}':
			depth = max(depth-1, 0)
		}
	}
	return most
}

// syntax reports an error of the YAML reader.
func (t *tree) syntax(err error, first int) {
	var e yaml.Error
	if !errors.As(err, &e) {
		t.fail(first, "not YAML: "+err.Error(), "")
		return
	}
	line := first
	if tok := e.GetToken(); tok != nil && tok.Position != nil {
		line = tok.Position.Line + t.offset
	}
	reason, remedy := e.GetMessage(), ""
	switch {
	case strings.Contains(reason, "already defined"):
		reason = strings.Split(reason, " at [")[0] + " before"
		remedy = "remove one of the two"
	case strings.Contains(reason, "mapping value is not allowed"), strings.Contains(reason, "could not find"), strings.Contains(reason, "non-map value"), strings.Contains(reason, "unexpected key"):
		remedy = "text with a colon, a bracket or a # in it needs quotation marks round it"
	}
	t.fail(line, "not YAML: "+reason, remedy)
}

// value turns a node into a value.
func (t *tree) value(n ast.Node, pointer string, depth int) any {
	t.nodes++
	if _, ok := t.places[pointer]; !ok {
		t.places[pointer] = t.lineOf(n)
	}
	if depth > maxDepth || t.nodes > maxNodes {
		if t.nodes <= maxNodes+1 {
			t.fail(t.lineOf(n), "too many values, or too deep inside each other", "")
			t.nodes = maxNodes + 1
		}
		return nil
	}
	switch n := n.(type) {
	case *ast.MappingNode:
		return t.mapping(n.Values, pointer, depth)
	case *ast.MappingValueNode:
		return t.mapping([]*ast.MappingValueNode{n}, pointer, depth)
	case *ast.SequenceNode:
		list := make([]any, len(n.Values))
		for i, v := range n.Values {
			list[i] = t.value(v, fmt.Sprintf("%s/%d", pointer, i), depth+1)
		}
		return list
	case *ast.StringNode:
		// The YAML reader takes 1e-13 without a point for text; in YAML's core
		// schema (YAML 1.2.2, 10.3.2) it is a number.
		if tok := n.GetToken(); tok != nil && tok.Type == token.StringType && jsonNumber().MatchString(n.Value) {
			return json.Number(n.Value)
		}
		return n.Value
	case *ast.LiteralNode:
		return n.Value.Value
	case *ast.IntegerNode, *ast.FloatNode:
		s := strings.ReplaceAll(n.GetToken().Value, "_", "")
		if jsonNumber().MatchString(s) {
			return json.Number(s)
		}
		return s
	case *ast.BoolNode:
		return n.Value
	case *ast.NullNode, nil:
		return nil
	case *ast.AnchorNode, *ast.AliasNode, *ast.MergeKeyNode:
		t.fail(t.lineOf(n), "& and * (anchors) are not read here", "write the value out, in quotation marks if it starts with & or *")
		return nil
	case *ast.TagNode:
		t.fail(t.lineOf(n), "! (a tag) is not read here", "put text that starts with ! into quotation marks")
		return nil
	}
	return n.String()
}

var jsonNumber = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^-?(0|[1-9][0-9]*)(\.[0-9]+)?([eE][-+]?[0-9]+)?$`) })

func (t *tree) mapping(values []*ast.MappingValueNode, pointer string, depth int) any {
	m := make(map[string]any, len(values))
	for _, v := range values {
		if _, merge := v.Key.(*ast.MergeKeyNode); merge {
			t.fail(t.lineOf(v.Key), "<< (merging) is not read here", "write the values out")
			continue
		}
		key := v.Key.GetToken().Value
		p := pointer + "/" + escapePointer(key)
		t.places[p] = t.lineOf(v.Key)
		if _, twice := m[key]; twice {
			t.fail(t.lineOf(v.Key), fmt.Sprintf("%s stands here twice", key), "remove one of the two")
			continue
		}
		t.order[pointer] = append(t.order[pointer], key)
		m[key] = t.value(v.Value, p, depth+1)
	}
	return m
}

func (t *tree) lineOf(n ast.Node) int {
	if n == nil || n.GetToken() == nil || n.GetToken().Position == nil {
		return t.places[""]
	}
	return n.GetToken().Position.Line + t.offset
}

func escapePointer(s string) string {
	return strings.NewReplacer("~", "~0", "/", "~1").Replace(s)
}
