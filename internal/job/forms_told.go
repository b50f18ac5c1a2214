package job

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// wordAndMore is one word, or several in brackets of which the first is the
// main one.
func wordAndMore[T any](what string, words func(*Vocabulary) []string, at func(*T) *string, more func(*T) *[]string) form[T] {
	one := wordOf(what, words, at)
	return form[T]{
		read: func(r *reader, n *node, path string, into *T) {
			if n.kind != list {
				one.read(r, n, path, into)
				return
			}
			for i, item := range n.items {
				here := indexed(path, i)
				r.places[here] = item.at
				w := r.word(item, here, what, words(r.words))
				switch {
				case w == "":
				case *at(into) == "":
					*at(into) = w
				case *at(into) == w || slices.Contains(*more(into), w):
					r.problem(item.at, here, "%q stands twice; once is enough", w)
				default:
					*more(into) = append(*more(into), w)
				}
			}
		},
		write: func(from *T) *node {
			if len(*more(from)) == 0 {
				return scalarNode(*at(from))
			}
			n := &node{kind: list}
			for _, w := range append([]string{*at(from)}, *more(from)...) {
				n.items = append(n.items, &node{kind: scalar, text: w})
			}
			return n
		},
		schema: func(v *Vocabulary) schema { return oneOrMany(wordSchema(v, what, words(v))) },
		shows:  "word: " + what + "; or a list of them",
	}
}

// yearForm is a model year, or a decade, or about a year.
func yearForm() form[Vehicle] {
	exact := count(1886, 2100, func(v *Vehicle) *int { return &v.Year })
	return form[Vehicle]{
		read: func(r *reader, n *node, path string, into *Vehicle) {
			if n.kind == scalar {
				text := strings.TrimSpace(n.text)
				if year, ok := aboutYear(text); ok {
					into.Year, into.YearAbout = year, text
					return
				}
			}
			exact.read(r, n, path, into)
		},
		write: func(from *Vehicle) *node {
			if from.YearAbout != "" {
				return scalarNode(from.YearAbout)
			}
			return exact.write(from)
		},
		schema: func(*Vocabulary) schema {
			return schema{"anyOf": []schema{countSchema(1886, 2100), {"type": "string"}}}
		},
		shows: "whole number, 1886 to 2100, or such as `1990s` or `about 1990`",
	}
}

// aboutYear reads "1990s" (its middle) and "about 1990".
func aboutYear(text string) (int, bool) {
	decade, isDecade := strings.CutSuffix(strings.ToLower(text), "s")
	bound, number := splitBound(decade)
	if !isDecade && bound != "about" {
		return 0, false
	}
	year, err := strconv.Atoi(strings.TrimSpace(number))
	if err != nil {
		return 0, false
	}
	if isDecade {
		year += 5
	}
	return year, year >= 1886 && year <= 2100
}

// codePattern is a trouble code as a scan tool shows it (SAE J2012), and whether
// it is pending or stored.
var codePattern = regexp.MustCompile(`^([PBCUpbcu][0-9A-Fa-f]{4})(?: +\(?(pending|stored|confirmed|permanent)\)?)?$`)

// code gives a code in one way of writing: "P0128", "P0128 pending".
func code(text string) (string, bool) {
	m := codePattern.FindStringSubmatch(strings.TrimSpace(text))
	if m == nil {
		return "", false
	}
	out := strings.ToUpper(m[1])
	if m[2] == "pending" {
		out += " pending"
	}
	return out, true
}

// Code parts a code of Finding.Codes into the code and whether it is pending.
func Code(text string) (number string, pending bool) {
	return strings.CutSuffix(text, " pending")
}

// texts reads a text or a list of them, one by one.
func (r *reader) texts(n *node, path, what string, take func(s, here string, item *node)) {
	items := n.items
	if n.kind != list {
		items = []*node{n}
	}
	for i, item := range items {
		here := path
		if n.kind == list {
			here = indexed(path, i)
		}
		if s, ok := r.text(item, here, what); ok {
			take(s, here, item)
		}
	}
}

// foundForm is the check's word. Which words it may be stands in the rules,
// because the check may stand below. Trouble codes go to Finding.Codes.
func foundForm() form[Finding] {
	return form[Finding]{
		read: func(r *reader, n *node, path string, into *Finding) {
			r.texts(n, path, "text", func(s, here string, item *node) {
				switch c, isCode := code(s); {
				case isCode:
					into.Codes = append(into.Codes, c)
				case into.Found != "":
					r.problem(item.at, here, "a second word, %q, beside %q; make two findings of it, in the order made", shorten(s), shorten(into.Found))
				default:
					into.Found = s
				}
			})
		},
		write:  func(from *Finding) *node { return scalarNode(from.Found) },
		schema: func(*Vocabulary) schema { return oneOrMany(textSchema()) },
		shows:  "text, such as `low`",
	}
}

// codesForm is one code or a list of them.
func codesForm() form[Finding] {
	return form[Finding]{
		read: func(r *reader, n *node, path string, into *Finding) {
			r.texts(n, path, "a trouble code", func(s, here string, item *node) {
				c, isCode := code(s)
				switch {
				case !isCode:
					r.problem(item.at, here, "%q is no trouble code; write it as the scan tool shows it, such as %q or %q", shorten(s), "P0128", "P0480 pending")
				case slices.Contains(into.Codes, c):
					r.problem(item.at, here, "%q stands twice; once is enough", c)
				default:
					into.Codes = append(into.Codes, c)
				}
			})
		},
		write: func(from *Finding) *node {
			if len(from.Codes) == 0 {
				return nil
			}
			n := &node{kind: list}
			for _, c := range from.Codes {
				n.items = append(n.items, &node{kind: scalar, text: c})
			}
			return n
		},
		schema: func(*Vocabulary) schema { return oneOrMany(textSchema()) },
		shows:  "list of codes, such as `[P0128, P0480 pending]`",
	}
}

// currency is the shop's, for a price that stands without one.
func (r *reader) currency(n *node, path string) string {
	if r.money != "" {
		return r.money
	}
	r.problem(n.at, path, "%q has no currency, and the shop's is not known; write it as in %q or give the shop's rate", shorten(n.text), "$640")
	return "USD"
}

// shopsMoney looks for the shop's currency before the tree is read: in the rate,
// or else by the units. "" where neither tells.
func shopsMoney(root *node) string {
	shop := root.child("shop")
	if shop == nil {
		return ""
	}
	if rate := shop.child("rate"); rate != nil && rate.kind == scalar {
		if v, err := rateMeasure.parse(strings.TrimSpace(rate.text)); err == nil && v.Currency != "" {
			return v.Currency
		}
	}
	if units := shop.child("units"); units != nil && strings.TrimSpace(units.text) == "us" {
		return "USD"
	}
	return ""
}

// child is the value of a table's key, or nil.
func (n *node) child(key string) *node {
	if n.kind != table {
		return nil
	}
	for i := range n.entries {
		if n.entries[i].key == key {
			return n.entries[i].value
		}
	}
	return nil
}
