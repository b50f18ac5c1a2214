package answer

import (
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"
)

// Page writes an account to a terminal or a file.
type Page struct {
	W     io.Writer
	Width int
	Color bool
	err   error
}

// Err is the first error of writing.
func (p *Page) Err() error { return p.err }

func (p *Page) printf(format string, args ...any) {
	if p.err == nil {
		_, p.err = fmt.Fprintf(p.W, format, args...)
	}
}

// Line writes one line.
func (p *Page) Line(format string, args ...any) { p.printf(format+"\n", args...) }

// Head writes a heading, underlined.
func (p *Page) Head(text string) {
	p.printf("\n%s\n%s\n", p.bold(text), strings.Repeat("─", min(utf8.RuneCountInString(text), p.Width)))
}

// Para writes a paragraph broken at the page's width, indented.
func (p *Page) Para(indent, text string) {
	for _, line := range Wrap(text, max(20, p.Width-utf8.RuneCountInString(indent))) {
		p.printf("%s%s\n", indent, line)
	}
}

// Wrap breaks text between words into lines of at most width letters. A longer
// word stands on a line of its own. Empty text has no lines. A number keeps its
// per cent or degrees.
func Wrap(text string, width int) []string {
	var lines []string
	for _, word := range keepUnits(strings.Fields(text)) {
		last := len(lines) - 1
		if last < 0 || utf8.RuneCountInString(lines[last])+1+utf8.RuneCountInString(word) > width {
			lines = append(lines, word)
			continue
		}
		lines[last] += " " + word
	}
	return lines
}

// keepUnits makes one word of a number and the per cent or degrees behind it.
func keepUnits(words []string) []string {
	var out []string
	for _, w := range words {
		last := len(out) - 1
		if last >= 0 && (strings.HasPrefix(w, "%") || strings.HasPrefix(w, "°")) && strings.ContainsAny(out[last][len(out[last])-1:], "0123456789") {
			out[last] += " " + w
			continue
		}
		out = append(out, w)
	}
	return out
}

// Item writes a paragraph behind a mark.
func (p *Page) Item(mark, text string) {
	pad := strings.Repeat(" ", utf8.RuneCountInString(mark)+1)
	var b strings.Builder
	inner := Page{W: &b, Width: p.Width}
	inner.Para(pad, text)
	s := b.String()
	if len(s) >= len(pad) {
		s = mark + " " + s[len(pad):]
	}
	p.printf("%s", s)
}

func (p *Page) bold(s string) string {
	if p.Color {
		return "\x1b[1m" + s + "\x1b[0m"
	}
	return s
}

func (p *Page) accent(s string) string {
	if p.Color {
		return "\x1b[36m" + s + "\x1b[0m"
	}
	return s
}

// bar is a length in eighths of a character cell: length and number tell the
// odds, never colour alone.
func bar(share float64, width int) string {
	eighths := int(math.Round(share * float64(width) * 8))
	full, part := eighths/8, eighths%8
	s := strings.Repeat("█", full)
	if part > 0 {
		s += string([]rune(" ▏▎▍▌▋▊▉")[part])
	} else if full == 0 && share > 0 {
		s = "▏"
	}
	return s + strings.Repeat(" ", max(0, width-utf8.RuneCountInString(s)))
}
