package job

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"
)

// parseJSON builds the tree from JSON, token by token, because the decoder's
// own trees forget where a value stood and swallow a key that stands twice.
func parseJSON(src []byte, fail failure) (*node, error) {
	dec := json.NewDecoder(bytes.NewReader(src))
	dec.UseNumber()
	b := &jsonBuilder{src: src, dec: dec, fail: fail, at: Position{1, 1}}
	root, err := b.value(0)
	if err != nil {
		return nil, err
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return nil, fail(b.here(), "more text after the end of the job; a file holds one job")
	}
	return root, nil
}

type jsonBuilder struct {
	src  []byte
	dec  *json.Decoder
	fail failure

	// The position of the byte `counted`, carried along because a JSON file may
	// be one long line.
	counted int
	at      Position
}

// here is the position of the next token.
func (b *jsonBuilder) here() Position {
	i := int(b.dec.InputOffset())
	for i < len(b.src) && bytes.IndexByte([]byte(" \t\n\r,:"), b.src[i]) >= 0 {
		i++
	}
	for ; b.counted < i; b.counted++ {
		switch c := b.src[b.counted]; {
		case c == '\n':
			b.at = Position{b.at.Line + 1, 1}
		case utf8.RuneStart(c):
			b.at.Column++
		}
	}
	return b.at
}

func (b *jsonBuilder) token() (json.Token, Position, error) {
	at := b.here()
	t, err := b.dec.Token()
	if err != nil {
		var syntax *json.SyntaxError
		if errors.As(err, &syntax) {
			at = positionOf(b.src, int(syntax.Offset)-1)
		}
		if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
			return nil, at, b.fail(at, "broken JSON: the file ends before the job does; close every { and [")
		}
		return nil, at, b.fail(at, "broken JSON: %v", err)
	}
	return t, at, nil
}

func (b *jsonBuilder) value(depth int) (*node, error) {
	t, at, err := b.token()
	if err != nil {
		return nil, err
	}
	switch t := t.(type) {
	case json.Delim:
		if depth >= maxDepth {
			return nil, b.fail(at, "lists and tables stand more than %d deep in one another", maxDepth)
		}
		if t == '{' {
			return b.table(at, depth)
		}
		return b.list(at, depth)
	case nil:
		return &node{kind: nothing, at: at}, nil
	}
	return &node{kind: scalar, text: fmt.Sprint(t), at: at}, nil
}

func (b *jsonBuilder) table(at Position, depth int) (*node, error) {
	n := &node{kind: table, at: at}
	for b.dec.More() {
		if len(n.entries) == maxItems {
			return nil, b.fail(b.here(), "more than %d keys in one table", maxItems)
		}
		t, keyAt, err := b.token()
		if err != nil {
			return nil, err
		}
		v, err := b.value(depth + 1)
		if err != nil {
			return nil, err
		}
		n.entries = append(n.entries, entry{key: fmt.Sprint(t), at: keyAt, value: v})
	}
	_, _, err := b.token()
	return n, err
}

func (b *jsonBuilder) list(at Position, depth int) (*node, error) {
	n := &node{kind: list, at: at}
	for b.dec.More() {
		if len(n.items) == maxItems {
			return nil, b.fail(b.here(), "more than %d items in one list", maxItems)
		}
		v, err := b.value(depth + 1)
		if err != nil {
			return nil, err
		}
		n.items = append(n.items, v)
	}
	_, _, err := b.token()
	return n, err
}
