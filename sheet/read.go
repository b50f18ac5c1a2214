package sheet

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// maxBytes is the largest sheet that is read; the built-in ones are below 200 kB.
const maxBytes = 2 << 20

// maxDepth bounds the nesting of a sheet; the catalogue's needs eight.
const maxDepth = 24

// Pair is one entry of a mapping whose keys are data, in the order written.
type Pair struct {
	At    At
	Key   string
	Value Numbers
}

// Pairs is a mapping whose keys are data: "{turned: 0.9, stayed: 0.1}".
type Pairs []Pair

// Numbers is one number or a list of numbers: "0.9" or "[0.55, 0.9]".
type Numbers []float64

// Words is one word or a list of words.
type Words []string

// RestWords collects the keys of a mapping that its struct does not name, each with
// a word as value.
type RestWords []RestWord

// RestWord is one entry of a RestWords.
type RestWord struct {
	At   At
	Key  string
	Word string
}

var (
	typeAt      = reflect.TypeFor[At]()
	typePairs   = reflect.TypeFor[Pairs]()
	typeNumbers = reflect.TypeFor[Numbers]()
	typeWords   = reflect.TypeFor[Words]()
	typeRest    = reflect.TypeFor[RestWords]()
)

// Keys are the keys of a struct with `sheet` tags, in its order.
func Keys(v any) (keys []string) {
	for t, i := reflect.TypeOf(v), 0; i < t.NumField(); i++ {
		if key, _, _ := strings.Cut(t.Field(i).Tag.Get("sheet"), ","); key != "" {
			keys = append(keys, key)
		}
	}
	return keys
}

// Embedded reads a sheet that came with the program. The embedded text stays as it is.
func Embedded(name string, data []byte, v any) error {
	return Read(Source{Name: name, Data: bytes.Clone(data)}, v).Err()
}

// Read walks the sheet into v, a pointer to a struct with `sheet` tags, and
// returns every mistake it finds. Keys in ignore are skipped at the top level.
//
// A tag is "key", "key,required", ",at" (an At: where the mapping stands) or
// ",rest" (a RestWords). Fields without a tag are left alone.
func Read(src Source, v any, ignore ...string) Mistakes {
	r := reader{file: src.Name}
	if len(src.Data) > maxBytes {
		r.problems.Add(At{File: src.Name}, "", "the file has %d bytes; a sheet may have %d at most", len(src.Data), maxBytes)
		return r.problems
	}
	file := src.parsed
	if file == nil {
		var err error
		if file, err = parser.ParseBytes(src.Data, 0); err != nil {
			r.syntax(err)
			return r.problems
		}
	}
	var docs []ast.Node
	for _, d := range file.Docs {
		if d.Body != nil && d.Body.Type() != ast.NullType {
			docs = append(docs, d.Body)
		}
	}
	switch {
	case len(docs) == 0:
		r.problems.Add(At{File: src.Name}, "", "the file is empty")
	case len(docs) > 1:
		r.add(docs[1], "", "a second document begins here; put everything in one")
	default:
		r.ignore = ignore
		r.value(docs[0], reflect.ValueOf(v).Elem(), "", 0)
	}
	return r.problems
}

type reader struct {
	file     string
	ignore   []string
	problems Mistakes
}

func (r *reader) syntax(err error) {
	at := At{File: r.file}
	msg := err.Error()
	var tokenErr interface{ GetToken() *token.Token }
	var syntaxErr *yaml.SyntaxError
	switch {
	case errors.As(err, &tokenErr) && tokenErr.GetToken() != nil && tokenErr.GetToken().Position != nil:
		at.Line = tokenErr.GetToken().Position.Line
		var messageErr interface{ GetMessage() string }
		if errors.As(err, &messageErr) {
			msg = messageErr.GetMessage()
		}
	case errors.As(err, &syntaxErr):
		msg = syntaxErr.Message
	}
	if i := strings.IndexByte(msg, '\n'); i >= 0 {
		msg = msg[:i]
	}
	r.problems.Add(at, "", "this is not YAML: %s", msg)
}

func (r *reader) at(n ast.Node, path string) At {
	at := At{File: r.file, Path: path}
	if m, ok := n.(*ast.MappingNode); ok && len(m.Values) > 0 {
		n = m.Values[0].Key
	}
	if t := n.GetToken(); t != nil && t.Position != nil {
		at.Line = t.Position.Line
	}
	return at
}

func (r *reader) add(n ast.Node, path, format string, args ...any) {
	r.problems.Add(r.at(n, path), "", format, args...)
}

func (r *reader) value(n ast.Node, v reflect.Value, path string, depth int) {
	if depth > maxDepth {
		r.add(n, path, "nested too deeply")
		return
	}
	switch n.(type) {
	case *ast.AnchorNode, *ast.AliasNode, *ast.TagNode, *ast.MergeKeyNode:
		r.add(n, path, "anchors, aliases and tags are not read here; write it out")
		return
	}
	switch v.Type() {
	case typePairs:
		r.pairs(n, v, path)
		return
	case typeNumbers:
		r.numbers(n, v, path)
		return
	case typeWords:
		r.words(n, v, path)
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		r.mapping(n, v, path, depth)
	case reflect.Pointer:
		if v.IsNil() {
			v.Set(reflect.New(v.Type().Elem()))
		}
		r.value(n, v.Elem(), path, depth+1)
	case reflect.Slice:
		r.sequence(n, v, path, depth)
	case reflect.Array:
		r.array(n, v, path, depth)
	case reflect.Float64:
		if f, ok := r.number(n, path); ok {
			v.SetFloat(f)
		}
	case reflect.Bool:
		b, ok := n.(*ast.BoolNode)
		if !ok {
			r.add(n, path, "found %s; write true or false", show(n))
			return
		}
		v.SetBool(b.Value)
	case reflect.String:
		if s, ok := r.word(n, path); ok {
			v.SetString(s)
		}
	default:
		panic("sheet: cannot read into a " + v.Type().String())
	}
}

// mapping fills a struct, key by key.
func (r *reader) mapping(n ast.Node, v reflect.Value, path string, depth int) {
	entries, ok := entriesOf(n)
	if !ok {
		r.add(n, path, "found %s; write a list of \"key: value\"", show(n))
		return
	}
	fields, rest := fieldsOf(v, r.at(n, path))
	seen := map[string]bool{}
	for _, e := range entries {
		key := e.Key.String()
		if s, ok := e.Key.(ast.ScalarNode); ok {
			key = fmt.Sprint(s.GetValue())
		}
		if depth == 0 && slices.Contains(r.ignore, key) {
			continue
		}
		if seen[key] {
			r.add(e.Key, join(path, key), "this key is written twice")
			continue
		}
		seen[key] = true
		f, known := fields[key]
		switch {
		case known:
			r.value(e.Value, f.value, join(path, key), depth+1)
		case rest.IsValid():
			if s, ok := r.word(e.Value, join(path, key)); ok {
				rest.Set(reflect.Append(rest, reflect.ValueOf(RestWord{At: r.at(e.Key, path), Key: key, Word: s})))
			}
		default:
			r.add(e.Key, join(path, key), "unknown key%s", Instead(key, slices.Collect(maps.Keys(fields))))
		}
	}
	r.missing(n, fields, seen, path)
}

// missing notes the required keys that are not there. Over an older sheet a key
// may be left out, but never the source: a changed number has one of its own.
func (r *reader) missing(n ast.Node, fields map[string]field, seen map[string]bool, path string) {
	for _, key := range slices.Sorted(maps.Keys(fields)) {
		f := fields[key]
		if f.required && !seen[key] && (f.value.IsZero() || key == sourceKey) {
			r.add(n, path, "\"%s\" is missing", key)
		}
	}
}

// sourceKey is the key beside a number that says where the number is from.
const sourceKey = "source"

type field struct {
	value    reflect.Value
	required bool
}

// fieldsOf finds a struct's fields by key, and notes where it was written.
func fieldsOf(v reflect.Value, at At) (fields map[string]field, rest reflect.Value) {
	fields = map[string]field{}
	t := v.Type()
	for i := range t.NumField() {
		tag, ok := t.Field(i).Tag.Lookup("sheet")
		if !ok {
			continue
		}
		key, option, _ := strings.Cut(tag, ",")
		switch {
		case option == "at" && t.Field(i).Type == typeAt:
			v.Field(i).Set(reflect.ValueOf(at))
		case option == "rest" && t.Field(i).Type == typeRest:
			rest = v.Field(i)
		default:
			fields[key] = field{v.Field(i), option == "required"}
		}
	}
	return fields, rest
}

// sequence fills a slice: merging by id where its structs have one, else
// replacing what was there.
func (r *reader) sequence(n ast.Node, v reflect.Value, path string, depth int) {
	s, ok := n.(*ast.SequenceNode)
	if !ok {
		r.add(n, path, "found %s; write a list", show(n))
		return
	}
	elem := v.Type().Elem()
	id := idField(elem)
	if id < 0 {
		out := reflect.MakeSlice(v.Type(), len(s.Values), len(s.Values))
		for i, item := range s.Values {
			r.value(item, out.Index(i), fmt.Sprintf("%s[%d]", path, i), depth+1)
		}
		v.Set(out)
		return
	}
	out := reflect.MakeSlice(v.Type(), v.Len(), v.Len()+len(s.Values))
	reflect.Copy(out, v)
	here := map[string]bool{}
	for i, item := range s.Values {
		p := fmt.Sprintf("%s[%d]", path, i)
		name := idOf(item)
		if name != "" && here[name] {
			r.add(item, p, "\"%s\" is listed twice", name)
			continue
		}
		here[name] = true
		slot := -1
		for k := range out.Len() {
			if name != "" && out.Index(k).Field(id).String() == name {
				slot = k
			}
		}
		if slot < 0 {
			out = reflect.Append(out, reflect.Zero(elem))
			slot = out.Len() - 1
		}
		r.value(item, out.Index(slot), p, depth+1)
	}
	v.Set(out)
}

func (r *reader) array(n ast.Node, v reflect.Value, path string, depth int) {
	s, ok := n.(*ast.SequenceNode)
	if !ok || len(s.Values) != v.Len() {
		r.add(n, path, "found %s; write a list of %d numbers", show(n), v.Len())
		return
	}
	for i, item := range s.Values {
		r.value(item, v.Index(i), fmt.Sprintf("%s[%d]", path, i), depth+1)
	}
}
