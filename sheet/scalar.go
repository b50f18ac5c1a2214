package sheet

import (
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml/ast"
)

func (r *reader) pairs(n ast.Node, v reflect.Value, path string) {
	entries, ok := entriesOf(n)
	if !ok {
		r.add(n, path, "found %s; write a list of \"word: number\"", show(n))
		return
	}
	var out Pairs
	for _, e := range entries {
		key := e.Key.String()
		if s, ok := e.Key.(ast.ScalarNode); ok {
			key = fmt.Sprint(s.GetValue())
		}
		for _, p := range out {
			if p.Key == key {
				r.add(e.Key, join(path, key), "this key is written twice")
			}
		}
		pair := Pair{At: r.at(e.Key, path), Key: key}
		r.numbers(e.Value, reflect.ValueOf(&pair.Value).Elem(), join(path, key))
		out = append(out, pair)
	}
	v.Set(reflect.ValueOf(out))
}

func (r *reader) numbers(n ast.Node, v reflect.Value, path string) {
	if list, ok := several(n, path, r.number); ok {
		v.Set(reflect.ValueOf(Numbers(list)))
	}
}

func (r *reader) words(n ast.Node, v reflect.Value, path string) {
	if list, ok := several(n, path, r.word); ok {
		v.Set(reflect.ValueOf(Words(list)))
	}
}

// several reads a list, or one value for a list of one. False where the one cannot be read;
// what cannot be read in a list is left out of it.
func several[T any](n ast.Node, path string, one func(ast.Node, string) (T, bool)) ([]T, bool) {
	s, ok := n.(*ast.SequenceNode)
	if !ok {
		x, ok := one(n, path)
		return []T{x}, ok
	}
	out := make([]T, 0, len(s.Values))
	for i, item := range s.Values {
		if x, ok := one(item, fmt.Sprintf("%s[%d]", path, i)); ok {
			out = append(out, x)
		}
	}
	return out, true
}

func (r *reader) number(n ast.Node, path string) (float64, bool) {
	switch n := n.(type) {
	case *ast.FloatNode:
		if !math.IsNaN(n.Value) && !math.IsInf(n.Value, 0) {
			return n.Value, true
		}
	case *ast.IntegerNode:
		if f, err := strconv.ParseFloat(fmt.Sprint(n.Value), 64); err == nil {
			return f, true
		}
	}
	r.add(n, path, "found %s; write a number", show(n))
	return 0, false
}

func (r *reader) word(n ast.Node, path string) (string, bool) {
	switch n := n.(type) {
	case *ast.StringNode:
		return strings.TrimSpace(n.Value), true
	case *ast.LiteralNode:
		return strings.Join(strings.Fields(n.Value.Value), " "), true
	}
	r.add(n, path, "found %s; write words (in quotes if they look like a number)", show(n))
	return "", false
}

func entriesOf(n ast.Node) ([]*ast.MappingValueNode, bool) {
	switch n := n.(type) {
	case *ast.MappingNode:
		return n.Values, true
	case *ast.MappingValueNode:
		return []*ast.MappingValueNode{n}, true
	}
	return nil, false
}

func idField(t reflect.Type) int {
	if t.Kind() != reflect.Struct {
		return -1
	}
	for i := range t.NumField() {
		if key, _, _ := strings.Cut(t.Field(i).Tag.Get("sheet"), ","); key == "id" {
			return i
		}
	}
	return -1
}

func idOf(n ast.Node) string {
	entries, _ := entriesOf(n)
	for _, e := range entries {
		if s, ok := e.Value.(*ast.StringNode); ok && e.Key.String() == "id" {
			return strings.TrimSpace(s.Value)
		}
	}
	return ""
}

// show describes a node briefly for an error.
func show(n ast.Node) string {
	switch n := n.(type) {
	case *ast.MappingNode, *ast.MappingValueNode:
		return "\"key: value\""
	case *ast.SequenceNode:
		return fmt.Sprintf("a list of %d", len(n.Values))
	case *ast.NullNode:
		return "nothing"
	}
	text := n.String()
	if i := strings.IndexByte(text, '\n'); i >= 0 {
		text = text[:i]
	}
	if len(text) > 40 {
		text = text[:40] + "..."
	}
	return "\"" + strings.Trim(text, "\"") + "\""
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}
