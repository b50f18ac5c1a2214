package job

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// row is one key of a table in the job file. The rows (rows.go) are the only
// description of the format: reading, writing, the JSON Schema and the tables
// in docs/job-file.md all come from them.
type row[T any] struct {
	key  string
	says string // one line for a person
	form form[T]
}

// form is how a value is read from a file into a field of T, written back, and
// described.
type form[T any] struct {
	read   func(r *reader, n *node, path string, into *T)
	write  func(from *T) *node // nil: not said
	schema func(v *Vocabulary) schema
	shows  string // an example or the words, for the docs
	rows   []described
}

// described is a row without its type, for the docs.
type described struct {
	key, says, shows string
	rows             []described
}

// reader collects problems and positions while a tree is read.
type reader struct {
	file     string
	words    *Vocabulary
	money    string // the shop's currency, "" when not known
	problems Problems
	places   map[string]Position
}

func (r *reader) problem(at Position, path, format string, args ...any) *Problem {
	p := &Problem{File: r.file, Line: at.Line, Column: at.Column, Path: path, Message: fmt.Sprintf(format, args...)}
	r.problems = append(r.problems, p)
	return p
}

// text takes a scalar, or says what should stand there.
func (r *reader) text(n *node, path, want string) (string, bool) {
	switch n.kind {
	case nothing:
		return "", false
	case scalar:
		return strings.TrimSpace(n.text), strings.TrimSpace(n.text) != ""
	}
	r.problem(n.at, path, "expected %s, found %s", want, n.describe())
	return "", false
}

// word holds a word against a list; an empty list wants only the look of an id.
func (r *reader) word(n *node, path, what string, words []string) string {
	s, ok := r.text(n, path, what)
	if !ok {
		return ""
	}
	r.known(n.at, path, s, what, words)
	return s
}

func (r *reader) known(at Position, path, s, what string, words []string) bool {
	switch {
	case s == Unknown || slices.Contains(words, s):
		return true
	case len(words) == 0:
		if isID(s) {
			return true
		}
		r.problem(at, path, "%q is not %s; write small letters, digits and hyphens, such as %q", shorten(s), what, "hot-idle")
	case what == "a repair" && slices.Contains(r.words.Tried, s): // in a quote
		r.problem(at, path, "%q can be told as work tried, but not be quoted: no cause is known that it is for; write \"presumes:\" and the cause that the quote is for (\"weephole words\" lists them)", s)
	default:
		p := r.problem(at, path, "%q is not %s", shorten(s), what)
		r.nearest(p, what, s, words)
	}
	return false
}

// nearest adds the word that was meant to a problem, or else the words there are.
func (r *reader) nearest(p *Problem, what, s string, words []string) {
	if p.Nearest = r.words.nearest(what, s, words); p.Nearest == "" {
		p.Message += "; write one of: " + listed(words)
		return
	}
	if says := r.words.Says[KeyOf(what, p.Nearest)]; says != "" {
		p.Means = says
	}
}

// listed prints a list of words, cut where it gets long.
func listed(words []string) string {
	const most = 20 // words in one message; judgement
	if len(words) <= most {
		return strings.Join(words, ", ")
	}
	return fmt.Sprintf("%s and %d more (\"weephole words\" lists them all, with what they mean)", strings.Join(words[:most], ", "), len(words)-most)
}

func isID(s string) bool {
	for i, c := range s {
		letter := c >= 'a' && c <= 'z' || c >= '0' && c <= '9'
		if !letter && (c != '-' || i == 0 || i == len(s)-1) {
			return false
		}
	}
	return s != ""
}

// free is text that only people read.
func free[T any](shows string, at func(*T) *string) form[T] {
	return form[T]{
		read: func(r *reader, n *node, path string, into *T) {
			if n.kind == scalar { // a free text keeps its line breaks
				*at(into) = n.text
				return
			}
			r.text(n, path, "text")
		},
		write:  func(from *T) *node { return scalarNode(*at(from)) },
		schema: func(*Vocabulary) schema { return textSchema() },
		shows:  "text, such as `" + shows + "`",
	}
}

// wordOf is one word of a list.
func wordOf[T any](what string, words func(*Vocabulary) []string, at func(*T) *string) form[T] {
	return form[T]{
		read: func(r *reader, n *node, path string, into *T) {
			*at(into) = r.word(n, path, what, words(r.words))
		},
		write:  func(from *T) *node { return scalarNode(*at(from)) },
		schema: func(v *Vocabulary) schema { return wordSchema(v, what, words(v)) },
		shows:  "word: " + what,
	}
}

// wordsOf is a list of words; a single word may stand without brackets.
func wordsOf[T any](what string, words func(*Vocabulary) []string, at func(*T) *[]string) form[T] {
	return form[T]{
		read: func(r *reader, n *node, path string, into *T) {
			items := n.items
			if n.kind == scalar {
				items = []*node{n}
			} else if n.kind == table {
				r.problem(n.at, path, "expected a list such as [a, b], each %s, found %s", what, n.describe())
				return
			}
			for i, item := range items {
				itemPath := indexed(path, i)
				r.places[itemPath] = item.at
				if w := r.word(item, itemPath, what, words(r.words)); w != "" {
					*at(into) = append(*at(into), w)
				}
			}
		},
		write: func(from *T) *node {
			if len(*at(from)) == 0 {
				return nil
			}
			n := &node{kind: list}
			for _, w := range *at(from) {
				n.items = append(n.items, &node{kind: scalar, text: w})
			}
			return n
		},
		schema: func(v *Vocabulary) schema { return oneOrMany(wordSchema(v, what, words(v))) },
		shows:  "list of words, each " + what,
	}
}

// count is a whole number between two bounds; 0 stands for "unknown".
func count[T any](low, high int, at func(*T) *int) form[T] {
	return form[T]{
		read: func(r *reader, n *node, path string, into *T) {
			s, ok := r.text(n, path, "a whole number")
			if !ok || s == Unknown {
				return
			}
			v, err := strconv.Atoi(s)
			if err != nil || v < low || v > high {
				r.problem(n.at, path, "expected a whole number from %d to %d, found %q", low, high, shorten(s))
				return
			}
			*at(into) = v
		},
		write: func(from *T) *node {
			if *at(from) == 0 {
				return nil
			}
			return numberNode(*at(from))
		},
		schema: func(*Vocabulary) schema { return countSchema(low, high) },
		shows:  fmt.Sprintf("whole number, %d to %d", low, high),
	}
}

// tableOf is a table within T.
func tableOf[T, U any](rows []row[U], at func(*T) *U) form[T] {
	return form[T]{
		read: func(r *reader, n *node, path string, into *T) { readTable(r, n, path, rows, at(into)) },
		write: func(from *T) *node {
			if n := writeTable(rows, at(from)); len(n.entries) > 0 {
				return n
			}
			return nil
		},
		schema: func(v *Vocabulary) schema { return tableSchema(v, rows) },
		shows:  "table",
		rows:   describeRows(rows),
	}
}

// tablesOf is a list of tables within T.
func tablesOf[T, U any](rows []row[U], at func(*T) *[]U) form[T] {
	return form[T]{
		read: func(r *reader, n *node, path string, into *T) {
			if n.kind == nothing {
				return
			}
			if n.kind != list {
				r.problem(n.at, path, "expected a list, each item beginning with -, found %s", n.describe())
				return
			}
			for i, item := range n.items {
				var u U
				itemPath := indexed(path, i)
				r.places[itemPath] = item.at
				readTable(r, item, itemPath, rows, &u)
				*at(into) = append(*at(into), u)
			}
		},
		write: func(from *T) *node {
			if len(*at(from)) == 0 {
				return nil
			}
			n := &node{kind: list}
			for i := range *at(from) {
				n.items = append(n.items, writeTable(rows, &(*at(from))[i]))
			}
			return n
		},
		schema: func(v *Vocabulary) schema {
			return schema{"type": []string{"array", "null"}, "items": tableSchema(v, rows)}
		},
		shows: "list of tables",
		rows:  describeRows(rows),
	}
}

// readTable reads the keys of a table, each by its row.
func readTable[T any](r *reader, n *node, path string, rows []row[T], into *T) {
	switch n.kind {
	case nothing:
		return
	case scalar, list:
		r.problem(n.at, path, "expected keys with values (%s), found %s", strings.Join(keysOf(rows), ", "), n.describe())
		return
	}
	seen := map[string]bool{}
	for k, e := range n.entries {
		here := joined(path, e.key)
		i := slices.IndexFunc(rows, func(f row[T]) bool { return f.key == e.key })
		switch {
		case i < 0:
			p := r.problem(e.at, path, "unknown key %q", shorten(e.key))
			if k > 0 && e.value.kind == nothing && strings.ContainsAny(e.key, " ()") { // the rest of a text that a comma has cut
				p.Message += "; put a text with a comma in quotes, as in note: \"clean, no smell\""
				continue
			}
			if p.Nearest = r.words.nearest("a key", e.key, keysOf(rows)); p.Nearest == "" {
				p.Message += "; write one of: " + strings.Join(keysOf(rows), ", ")
			}
		case seen[e.key]:
			r.problem(e.at, here, "stands twice; keep one")
		default:
			seen[e.key] = true
			r.places[here] = e.value.at
			rows[i].form.read(r, e.value, here, into)
		}
	}
}

func writeTable[T any](rows []row[T], from *T) *node {
	n := &node{kind: table}
	for _, f := range rows {
		if v := f.form.write(from); v != nil {
			n.entries = append(n.entries, entry{key: f.key, value: v})
		}
	}
	return n
}

func keysOf[T any](rows []row[T]) []string {
	keys := make([]string, len(rows))
	for i, f := range rows {
		keys[i] = f.key
	}
	return keys
}

func scalarNode(s string) *node {
	if s == "" {
		return nil
	}
	return &node{kind: scalar, text: s}
}

func numberNode(v int) *node { return &node{kind: scalar, text: strconv.Itoa(v), number: true} }

func joined(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

func indexed(path string, i int) string { return fmt.Sprintf("%s[%d]", path, i) }
