package job

import (
	"bytes"
	"errors"
	"fmt"
	"strings"

	yaml "github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// parseYAML builds the tree from YAML. Only the plain part of the language is
// taken: anchors, aliases, tags, merge keys and several documents are refused,
// since a job never needs them and they are how a small file becomes a huge one.
func parseYAML(src []byte, fail failure) (root *node, err error) {
	if at, what := tooNested(src); what != "" {
		return nil, fail(at, "%s", what)
	}
	if at, what := tooMany(src); what != "" {
		return nil, fail(at, "%s", what)
	}
	// The YAML library is fed whatever a person saved; a panic of it is a
	// broken file, not a broken program.
	defer func() {
		if p := recover(); p != nil {
			root, err = nil, fail(Position{1, 1}, "broken YAML: it cannot be made sense of (%v)", p)
		}
	}()
	file, perr := parser.ParseBytes(src, 0, parser.AllowDuplicateMapKey())
	if perr != nil {
		return nil, yamlFailure(perr, fail)
	}
	b := yamlBuilder{fail: fail}
	for _, doc := range file.Docs {
		if doc.Body == nil || doc.Body.Type() == ast.CommentType {
			continue
		}
		if root != nil {
			return nil, fail(place(doc.Body.GetToken()), "a second document begins here; a file holds one job")
		}
		if root, err = b.build(doc.Body, 0); err != nil {
			return nil, err
		}
	}
	if root == nil {
		return nil, fail(Position{1, 1}, "the file holds only comments; begin with the line \"weephole: %d\"", Version)
	}
	return root, nil
}

// yamlFailure turns the library's error, which draws the source, into one line
// that begins with what to do.
func yamlFailure(err error, fail failure) error {
	var at Position
	message, _, _ := strings.Cut(err.Error(), "\n")
	var e yaml.Error
	if errors.As(err, &e) {
		at, message = place(e.GetToken()), e.GetMessage()
	}
	message = strings.ReplaceAll(message, "\t", `\t`)
	for _, h := range yamlHints {
		if strings.Contains(message, h.says) {
			return fail(at, "broken YAML: %s (%s)", h.instead, message)
		}
	}
	return fail(at, "broken YAML: %s", message)
}

// yamlHints say what to do about the library's commonest sentences.
var yamlHints = []struct{ says, instead string }{
	{"cannot start any token", "indent with blanks, not tabs, and put a text that begins with a sign in quotes"},
	{"could not find end character", "close the quote that is opened here"},
	{"flow mapping end token", "close the { that is opened here, and put a text with a comma or a # in quotes"},
	{"flow sequence end token", "close the [ that is opened here, and put a text with a comma or a # in quotes"},
	{"must be specified", "close the bracket that is opened here"},
	{"not allowed in this context", "line up the keys of one table, and put a text with a colon in quotes"},
	{"unexpected key name", "write a blank after the colon of a key"},
}

func place(t *token.Token) Position {
	if t == nil || t.Position == nil {
		return Position{}
	}
	return Position{t.Position.Line, t.Position.Column}
}

type yamlBuilder struct{ fail failure }

func (b yamlBuilder) build(n ast.Node, depth int) (*node, error) {
	if n == nil {
		return &node{kind: nothing}, nil
	}
	at := place(n.GetToken())
	if depth > maxDepth {
		return nil, b.fail(at, "lists and tables stand more than %d deep in one another", maxDepth)
	}
	switch n := n.(type) {
	case *ast.NullNode:
		return &node{kind: nothing, at: at}, nil
	case *ast.StringNode:
		return &node{kind: scalar, text: n.Value, at: at}, nil
	case *ast.LiteralNode:
		return &node{kind: scalar, text: n.Value.Value, at: at}, nil
	case *ast.BoolNode, *ast.IntegerNode, *ast.FloatNode, *ast.InfinityNode, *ast.NanNode:
		return &node{kind: scalar, text: n.GetToken().Value, at: at}, nil
	case *ast.MappingNode:
		if !n.IsFlowStyle && len(n.Values) > 0 { // a block's own token is its first colon
			at = place(n.Values[0].Key.GetToken())
		}
		return b.table(n.Values, at, depth)
	case *ast.MappingValueNode:
		return b.table([]*ast.MappingValueNode{n}, place(n.Key.GetToken()), depth)
	case *ast.SequenceNode:
		if len(n.Values) > maxItems {
			return nil, b.fail(place(n.Values[maxItems].GetToken()), "more than %d items in one list", maxItems)
		}
		out := &node{kind: list, at: at}
		for _, v := range n.Values {
			item, err := b.build(v, depth+1)
			if err != nil {
				return nil, err
			}
			if item.at == (Position{}) {
				item.at = at
			}
			out.items = append(out.items, item)
		}
		return out, nil
	case *ast.AnchorNode, *ast.AliasNode:
		return nil, b.fail(at, "a value that begins with & or * means a reference in YAML; write the value out, or put it in quotes")
	case *ast.TagNode:
		return nil, b.fail(at, "a value that begins with ! means a tag in YAML; put it in quotes")
	}
	return nil, b.fail(at, "YAML's %s has no use in a job file", strings.ToLower(n.Type().String()))
}

func (b yamlBuilder) table(values []*ast.MappingValueNode, at Position, depth int) (*node, error) {
	if len(values) > maxItems {
		return nil, b.fail(place(values[maxItems].Key.GetToken()), "more than %d keys in one table", maxItems)
	}
	out := &node{kind: table, at: at}
	for _, v := range values {
		keyAt := place(v.Key.GetToken())
		if v.Key.IsMergeKey() {
			return nil, b.fail(keyAt, "the key << merges tables in YAML; write the keys out")
		}
		key, err := b.build(v.Key, depth+1)
		if err != nil {
			return nil, err
		}
		if key.kind != scalar {
			return nil, b.fail(keyAt, "a key must be a word, but this one is %s", key.describe())
		}
		value, err := b.build(v.Value, depth+1)
		if err != nil {
			return nil, err
		}
		if value.at == (Position{}) || value.kind != scalar {
			value.at = keyAt
		}
		out.entries = append(out.entries, entry{key: key.text, at: keyAt, value: value})
	}
	return out, nil
}

// tooNested looks for what no job has, before the parser meets it and runs out
// of stack or time: brackets in one another, "- - - -" on one line, and list
// items by the thousand. It does not know
// quotes; a quoted text with this many open brackets is refused too.
func tooNested(src []byte) (Position, string) {
	const most = 50 // far above maxDepth, to leave brackets in prose alone; judgement
	depth := 0
	for i, c := range src {
		switch c {
		case '[', '{':
			if depth++; depth > most {
				return positionOf(src, i), fmt.Sprintf("more than %d brackets stand open here; close every [ and {", most)
			}
		case ']', '}':
			depth = max(0, depth-1)
		}
	}
	const manyItems = 2000 // in all; the parser's time grows with their square; judgement
	line, items := 0, 0
	for text := range bytes.Lines(src) {
		line++
		if bytes.HasPrefix(bytes.TrimSpace(text), []byte("-")) {
			if items++; items > manyItems {
				return Position{line, 1}, fmt.Sprintf("more than %d list items", manyItems)
			}
		}
		marks := 0
		for _, word := range bytes.Fields(text) {
			if len(word) != 1 || bytes.IndexByte([]byte("-?:"), word[0]) < 0 {
				break
			}
			if marks++; marks > maxDepth {
				return Position{line, 1}, "more than a dozen list marks stand on this line; one - begins an item"
			}
		}
	}
	return Position{}, ""
}
