package toy

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"

	goyaml "github.com/goccy/go-yaml"
)

// Limits on a toy's text, which may come from a stranger.
const (
	maxBytes = 200_000 // a worksheet's front matter; a toy takes a few thousand
	maxDepth = 24      // of nesting; a plate's hole needs six
	maxParts = 500     // parts of one toy
	maxSpots = 1000    // corners of an outline or wire
)

// A node is a piece of the text: a scalar, a list or a map, with its line.
type node struct {
	line   int
	scalar string // text of a scalar, as written
	isList bool
	list   []*node
	isMap  bool
	keys   []string // in order
	fields map[string]*node
}

// parseTree reads YAML. Anchors, aliases, tags and merge keys are refused: they
// can make a small text large, and nobody needs them here.
func parseTree(text []byte) (*node, *Problem) {
	if len(text) > maxBytes {
		return nil, &Problem{Line: 1, Reason: fmt.Sprintf("the text is longer than %d bytes: describe the toy in fewer words", maxBytes)}
	}
	if line := tooDeep(string(text)); line > 0 {
		return nil, &Problem{Line: line, Reason: fmt.Sprintf("brackets are more than %d deep: write the toy with fewer", maxDepth)}
	}
	file, err := parser.ParseBytes(text, 0)
	if err != nil {
		var syntax *goyaml.SyntaxError
		if errors.As(err, &syntax) {
			return nil, &Problem{Line: lineOf(syntax.Token), Reason: "this is not YAML (" + syntax.Message + "): check indentation, colons and brackets"}
		}
		return nil, &Problem{Line: 1, Reason: "this is not YAML: check indentation, colons and brackets"}
	}
	if len(file.Docs) != 1 || file.Docs[0].Body == nil {
		return nil, &Problem{Line: 1, Reason: "no toy is described: write parts and a stand"}
	}
	return treeOf(file.Docs[0].Body, 0)
}

// tooDeep returns the line on which brackets open too deep, or 0. Indentation
// cannot go deep within the limit of bytes without lines growing long; it is
// checked while the tree is built.
func tooDeep(text string) int {
	depth, line := 0, 1
	for _, r := range text {
		switch r {
		case '\n':
			line++
		case '[', '{':
			depth++
		case ']', '}':
			depth = max(0, depth-1)
		}
		if depth > maxDepth {
			return line
		}
	}
	return 0
}

func lineOf(t *token.Token) int {
	if t == nil || t.Position == nil {
		return 1
	}
	return t.Position.Line
}

func treeOf(n ast.Node, depth int) (*node, *Problem) {
	line := lineOf(n.GetToken())
	if depth > maxDepth {
		return nil, &Problem{Line: line, Reason: fmt.Sprintf("the text is more than %d deep: write the toy with fewer levels", maxDepth)}
	}
	switch n := n.(type) {
	case *ast.MappingNode:
		return mapOf(line, n.Values, depth)
	case *ast.MappingValueNode:
		return mapOf(line, []*ast.MappingValueNode{n}, depth)
	case *ast.SequenceNode:
		out := &node{line: line, isList: true}
		for _, v := range n.Values {
			item, p := treeOf(v, depth+1)
			if p != nil {
				return nil, p
			}
			out.list = append(out.list, item)
		}
		return out, nil
	case *ast.StringNode:
		return &node{line: line, scalar: n.Value}, nil
	case *ast.LiteralNode:
		return &node{line: line, scalar: n.Value.Value}, nil
	case *ast.NullNode:
		return &node{line: line}, nil
	case *ast.AnchorNode, *ast.AliasNode, *ast.TagNode, *ast.MergeKeyNode:
		return nil, &Problem{Line: line, Reason: "anchors, aliases and tags are not read: write the value out"}
	case ast.ScalarNode:
		return &node{line: line, scalar: strings.TrimSpace(n.GetToken().Value)}, nil
	}
	return nil, &Problem{Line: line, Reason: "this cannot be read: write a value, a list or a map"}
}

func mapOf(line int, values []*ast.MappingValueNode, depth int) (*node, *Problem) {
	out := &node{line: line, isMap: true, fields: map[string]*node{}}
	for i, v := range values {
		key := v.Key.GetToken()
		if _, merge := v.Key.(*ast.MergeKeyNode); merge || v.Key.IsMergeKey() {
			return nil, &Problem{Line: lineOf(key), Reason: "merge keys are not read: write the values out"}
		}
		if i == 0 {
			out.line = lineOf(key)
		}
		value, p := treeOf(v.Value, depth+1)
		if p != nil {
			return nil, p
		}
		name := key.Value
		if _, twice := out.fields[name]; twice {
			return nil, &Problem{Line: lineOf(key), Reason: fmt.Sprintf("%s is given twice: keep one", name)}
		}
		out.keys = append(out.keys, name)
		out.fields[name] = value
	}
	return out, nil
}

// without returns a map without one of its fields.
func (n *node) without(field string) *node {
	m := *n
	m.keys = slices.DeleteFunc(slices.Clone(n.keys), func(k string) bool { return k == field })
	m.fields = maps.Clone(n.fields)
	delete(m.fields, field)
	return &m
}
