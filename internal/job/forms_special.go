package job

import (
	"maps"
	"slices"
	"strconv"
)

// versionForm is the format version; a newer one gets a sentence of its own.
func versionForm() form[Job] {
	return form[Job]{
		read: func(r *reader, n *node, path string, into *Job) {
			s, ok := r.text(n, path, "the format version, 1")
			if !ok {
				return
			}
			v, err := strconv.Atoi(s)
			switch {
			case err != nil || v < 1:
				r.problem(n.at, path, "expected the format version, %d, found %q", Version, shorten(s))
			case v > Version:
				r.problem(n.at, path, "format version %d is newer than this program, which reads version %d; get a newer weephole", v, Version)
			}
			into.Version = v
		},
		write:  func(*Job) *node { return numberNode(Version) },
		schema: func(*Vocabulary) schema { return schema{"enum": []any{Version, strconv.Itoa(Version)}} },
		shows:  strconv.Itoa(Version),
	}
}

// quoteForm is a table that stays nil when it is not there.
func quoteForm() form[Job] {
	return form[Job]{
		read: func(r *reader, n *node, path string, into *Job) {
			if n.kind == nothing {
				return
			}
			into.Quote = new(Quote)
			readTable(r, n, path, quoteRows, into.Quote)
		},
		write: func(from *Job) *node {
			if from.Quote == nil {
				return nil
			}
			return writeTable(quoteRows, from.Quote)
		},
		schema: func(v *Vocabulary) schema { return tableSchema(v, quoteRows) },
		shows:  "table",
		rows:   describeRows(quoteRows),
	}
}

// timesForm is a number that may be zero, so "not said" needs its own sign.
func timesForm() form[Overheated] {
	const most = 1000 // more is a slip of the finger; judgement
	return form[Overheated]{
		read: func(r *reader, n *node, path string, into *Overheated) {
			s, ok := r.text(n, path, "a whole number")
			if !ok {
				return
			}
			into.Times = Said[int]{Text: s}
			if s == Unknown {
				return
			}
			if n, ok := timesWords[s]; ok {
				into.Times.Value = n
				return
			}
			v, err := strconv.Atoi(s)
			if err != nil || v < 0 || v > most {
				r.problem(n.at, path, "expected a whole number from 0 to %d, found %q", most, shorten(s))
			}
			into.Times.Value = v
		},
		write: func(from *Overheated) *node {
			if _, word := timesWords[from.Times.Text]; from.Times.Known() && !word {
				return numberNode(from.Times.Value)
			}
			return scalarNode(from.Times.Text)
		},
		schema: func(*Vocabulary) schema {
			return schema{"anyOf": []schema{countSchema(0, most), {"enum": []any{"once", "twice", "several"}}}}
		},
		shows: "whole number, or once, twice, several",
	}
}

// timesWords are words for how often, and the numbers that stand for them:
// several is three at least. Judgement.
var timesWords = map[string]int{"once": 1, "twice": 2, "several": 3}

// yesNo is yes, no or unknown; YAML's and JSON's true and false are understood.
func yesNo[T any](at func(*T) *string) form[T] {
	return form[T]{
		read: func(r *reader, n *node, path string, into *T) {
			s, ok := r.text(n, path, "yes or no")
			if !ok {
				return
			}
			switch s {
			case "true":
				s = "yes"
			case "false":
				s = "no"
			}
			if r.known(n.at, path, s, "yes or no", []string{"yes", "no"}) {
				*at(into) = s
			}
		},
		write: func(from *T) *node { return scalarNode(*at(from)) },
		schema: func(*Vocabulary) schema {
			return schema{"enum": []any{"yes", "no", true, false, "true", "false", Unknown, "", nil}}
		},
		shows: "yes or no",
	}
}

// readingsForm keeps the readings as typed; which units they may have depends
// on the check, which may stand below them (rules.go).
func readingsForm() form[Finding] {
	return form[Finding]{
		read: func(r *reader, n *node, path string, into *Finding) {
			if n.kind == nothing {
				return
			}
			if n.kind != table {
				r.problem(n.at, path, "expected places with readings, such as {upper-hose: 190 °F}, found %s", n.describe())
				return
			}
			for _, e := range n.entries {
				here := joined(path, e.key)
				if slices.ContainsFunc(into.Read, func(x Reading) bool { return x.ID == e.key }) {
					r.problem(e.at, here, "stands twice; keep one, or make it a finding of its own")
					continue
				}
				r.places[here] = e.value.at
				if s, ok := r.text(e.value, here, "a reading with its unit"); ok {
					into.Read = append(into.Read, Reading{ID: e.key, Text: s})
				}
			}
		},
		write: func(from *Finding) *node {
			if len(from.Read) == 0 {
				return nil
			}
			n := &node{kind: table}
			for _, x := range from.Read {
				n.entries = append(n.entries, entry{key: x.ID, value: scalarNode(x.Text)})
			}
			return n
		},
		schema: func(v *Vocabulary) schema {
			s := schema{"type": []string{"object", "null"}}
			one := quantitySchema("190 °F")
			if len(v.Checks) == 0 {
				s["additionalProperties"] = one
				return s
			}
			all := schema{}
			for _, c := range v.Checks {
				for _, x := range c.Readings {
					all[x.ID] = one
				}
			}
			s["properties"], s["additionalProperties"] = all, false
			return s
		},
		shows: "table of readings, such as `{upper-hose: 190 °F}`",
	}
}

// mapForm is text by text.
func mapForm() form[Finding] {
	return form[Finding]{
		read: func(r *reader, n *node, path string, into *Finding) {
			if n.kind == nothing {
				return
			}
			if n.kind != table {
				r.problem(n.at, path, "expected signals with columns, such as {coolant: \"Temp 2\"}, found %s", n.describe())
				return
			}
			for _, e := range n.entries {
				here := joined(path, e.key)
				r.places[here] = e.value.at
				if words := r.words.Signals; len(words) > 0 && !slices.Contains(words, e.key) {
					r.nearest(r.problem(e.at, path, "%q is not a signal of a log", shorten(e.key)), "a signal", e.key, words)
				}
				if _, twice := into.Map[e.key]; twice {
					r.problem(e.at, here, "stands twice; keep one")
					continue
				}
				if s, ok := r.text(e.value, here, "a column's name"); ok {
					if into.Map == nil {
						into.Map = map[string]string{}
					}
					into.Map[e.key] = s
				}
			}
		},
		write: func(from *Finding) *node {
			if len(from.Map) == 0 {
				return nil
			}
			n := &node{kind: table}
			for _, key := range slices.Sorted(maps.Keys(from.Map)) {
				n.entries = append(n.entries, entry{key: key, value: scalarNode(from.Map[key])})
			}
			return n
		},
		schema: func(v *Vocabulary) schema {
			s := schema{"type": []string{"object", "null"}, "additionalProperties": textSchema()}
			if len(v.Signals) > 0 {
				s["propertyNames"] = schema{"enum": v.Signals}
			}
			return s
		},
		shows: "table, such as `{coolant: Temp 2}`",
	}
}
