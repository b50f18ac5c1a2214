package job

import "fmt"

// node is a piece of a job file, whichever language it was written in. Every
// scalar is kept as its text: "2011" is a year only where a year is wanted.
type node struct {
	kind    kind
	text    string // of a scalar
	number  bool   // a scalar to be written without quotes
	entries []entry
	items   []*node
	at      Position
}

// entry is one key of a table with its value.
type entry struct {
	key   string
	at    Position
	value *node
}

type kind uint8

const (
	nothing kind = iota // null, or a key with no value
	scalar
	table
	list
)

// describe says what a node is, as the person who typed it would.
func (n *node) describe() string {
	switch n.kind {
	case scalar:
		return fmt.Sprintf("%q", shorten(n.text))
	case table:
		return "keys and values"
	case list:
		return "a list"
	}
	return "nothing"
}

func shorten(s string) string {
	const most = 60 // characters of a value that an error repeats; judgement
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "..."
	}
	return s
}
