package job

import (
	"bytes"
	"fmt"
	"io"
	"unicode/utf8"
)

// Limits on a job file. They are judgement: a long job of a hundred findings
// is some 20 kB, four deep.
const (
	maxBytes = 1 << 20 // what is read at all
	maxDepth = 12      // of lists and tables in one another
	maxItems = 500     // of one list, or keys of one table
	maxMarks = 20000   // commas and colons in all: about twice the values
)

// parse reads the whole source, at most maxBytes, into a tree.
func parse(r io.Reader, name string) (*node, error) {
	src, err := io.ReadAll(io.LimitReader(r, maxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", name, err)
	}
	fail := func(at Position, format string, args ...any) error {
		return Problems{{File: name, Line: at.Line, Column: at.Column, Message: fmt.Sprintf(format, args...)}}
	}
	if len(src) > maxBytes {
		return nil, fail(Position{}, "larger than %d MB, and not read; a job file holds words and readings: leave logs in files of their own and name them with trace:", maxBytes>>20)
	}
	if at, what := notText(src); what != "" {
		return nil, fail(at, "%s; write the job file as plain text, UTF-8", what)
	}
	src = bytes.TrimPrefix(src, []byte("\ufeff"))
	src = bytes.ReplaceAll(src, []byte("\r\n"), []byte("\n"))
	trimmed := bytes.TrimSpace(src)
	if len(trimmed) == 0 {
		return nil, fail(Position{1, 1}, "the file is empty; begin with the line \"weephole: %d\"", Version)
	}
	var root *node
	if trimmed[0] == '{' {
		root, err = parseJSON(src, fail)
		// YAML's own braces look like JSON's; only where both fail does JSON's word count.
		if err != nil {
			if y, yerr := parseYAML(src, fail); yerr == nil {
				return y, nil
			}
		}
	} else {
		root, err = parseYAML(src, fail)
	}
	return root, err
}

// failure makes the error for a position.
type failure func(at Position, format string, args ...any) error

// notText finds the first sign that the bytes are not UTF-8 text.
func notText(src []byte) (Position, string) {
	switch {
	case bytes.HasPrefix(src, []byte{0x1f, 0x8b}):
		return Position{1, 1}, "this is a gzip file"
	case bytes.HasPrefix(src, []byte{0xff, 0xfe}), bytes.HasPrefix(src, []byte{0xfe, 0xff}):
		return Position{1, 1}, "the text is UTF-16"
	}
	for i := 0; i < len(src); {
		r, size := utf8.DecodeRune(src[i:])
		switch {
		case r == utf8.RuneError && size == 1:
			return positionOf(src, i), fmt.Sprintf("byte 0x%02x is not UTF-8", src[i])
		case r < ' ' && r != '\n' && r != '\r' && r != '\t', r == 0x7f:
			return positionOf(src, i), fmt.Sprintf("control character 0x%02x", r)
		}
		i += size
	}
	return Position{}, ""
}

// positionOf gives the line and column of a byte.
func positionOf(src []byte, offset int) Position {
	before := src[:max(0, min(offset, len(src)))]
	line := bytes.Count(before, []byte("\n")) + 1
	column := utf8.RuneCount(before[bytes.LastIndexByte(before, '\n')+1:]) + 1
	return Position{line, column}
}

// tooMany finds where a YAML source holds more than any job does. It is looked at before
// the source is parsed, because the YAML library takes a time that grows with the
// square of the keys of one table.
func tooMany(src []byte) (Position, string) {
	marks, at := 0, 0    // at is the line
	var same [1 << 8]int // lines so far at each indent, since one further out
	for line := range bytes.Lines(src) {
		at++
		marks += bytes.Count(line, []byte{','}) + bytes.Count(line, []byte{':'})
		if marks > maxMarks {
			return Position{at, 1}, fmt.Sprintf("more than %d values; a job file holds words and readings: leave logs in files of their own and name them with trace:", maxMarks/2)
		}
		text := bytes.TrimLeft(line, " ")
		indent := min(len(line)-len(text), len(same)-1)
		if text = bytes.TrimSpace(text); len(text) == 0 || text[0] == '#' || text[0] == '-' {
			continue
		}
		if same[indent]++; same[indent] > maxItems {
			return Position{at, indent + 1}, fmt.Sprintf("more than %d keys of one table; put less into one job", maxItems)
		}
		clear(same[indent+1:])
	}
	return Position{}, ""
}
