package trace

import (
	"bytes"
	"fmt"
	"strings"
)

// layout is what the beginning of a log told of its form.
type layout struct {
	delim byte
	mark  byte // decimal mark
	head  int  // index of the header among the sample's lines, -1 without one
	first int  // index of the first row of data
	count int  // cells in most rows
	pairs bool // unquoted decimal commas: two cells make one number

	header []string
	units  []string // from a second row; may be shorter than header

	long                       bool // one reading per row
	nameCol, valueCol, unitCol int

	clock   clockColumn
	assumed []Assumption
	choices []Choice
}

// row is one line of the sample, split.
type row struct {
	line  int
	cells [][]byte
}

// text is one cell in plain words, "" where the row is too short.
func (r row) text(i int) string {
	if i < len(r.cells) {
		return decodeText(r.cells[i])
	}
	return ""
}

var delimiters = []byte{',', ';', '\t', '|', ' '}

// detectLayout finds out the layout from the first lines. cols overrides by --map.
func detectLayout(sample [][]byte, m mapping, rate float64, whole bool) (*layout, error) {
	l := &layout{head: -1, nameCol: -1, valueCol: -1, unitCol: -1}
	if err := l.findDelimiter(sample); err != nil {
		return nil, err
	}
	l.findHeader(sample)
	l.joinPairs(sample)
	rows := l.dataRows(sample)
	if len(rows) == 0 {
		return nil, fmt.Errorf("no row of numbers follows the header in line %d; was the log cut off?", l.head+1)
	}
	l.findLong(rows, m)
	if err := l.findClock(rows, m, rate, whole); err != nil {
		return nil, err
	}
	return l, nil
}

// looksLike counts the cells that are numbers or clocks, and those that hold
// anything at all. Empty cells count for neither.
func looksLike(cells [][]byte, mark byte) (num, filled int) {
	for _, c := range cells {
		c = bytes.TrimSpace(c)
		_, _, kind := readCell(c, mark)
		switch kind {
		case cellMissing:
			continue
		case cellNumber:
			num++
		default:
			if _, ok := readClock(c, false); ok || dotClock(c) {
				num++
			}
		}
		filled++
	}
	return num, filled
}

// dataLike tells a row of data from a header or prose: two cells in five are
// numbers or times. (One reading per row has time, name, value, unit.)
func dataLike(cells [][]byte, mark byte) bool {
	num, filled := looksLike(cells, mark)
	return num > 0 && num*5 >= filled*2
}

func (l *layout) findDelimiter(sample [][]byte) error {
	best := -1.0
	step := max(1, len(sample)/400)
	for _, d := range delimiters {
		score, mark, count := delimiterFit(sample, d, step)
		if count > 0 && score > best+1e-9 {
			best, l.delim, l.mark, l.count = score, d, mark, count
		}
	}
	if l.count >= 2 {
		return nil
	}
	if l.bareColumn(sample) {
		return nil
	}
	return noRows(sample)
}

// delimiterFit says how well rows split at a delimiter: how many cells are
// numbers in rows of the commonest width. count is that width, 0 for none.
func delimiterFit(sample [][]byte, d byte, step int) (score float64, mark byte, count int) {
	var split [][][]byte
	for i := 0; i < len(sample); i += step {
		if f := fields(sample[i], d, nil); len(f) >= 2 {
			split = append(split, f)
		}
	}
	mark = decimalMark(split)
	if d == ',' && mark == ',' && !anyQuote(sample) {
		mark = '.'
	}
	counts := map[int]int{}
	var good []int
	var share []float64
	for _, f := range split {
		num, filled := looksLike(f, mark)
		if num == 0 || num*5 < filled*2 {
			continue
		}
		counts[len(f)]++
		good = append(good, len(f))
		share = append(share, float64(num)/float64(filled))
	}
	top := 0
	for n, c := range counts {
		if c > top || (c == top && n > count) {
			count, top = n, c
		}
	}
	for i, n := range good {
		if n == count || n == count-1 || n == count+1 {
			score += share[i]
		}
	}
	score /= float64((len(sample) + step - 1) / step)
	if d == ' ' {
		score *= 0.9 // blanks also separate words and date from clock
	}
	return score, mark, count
}

// bareColumn recognises a file that is one column of numbers.
func (l *layout) bareColumn(sample [][]byte) bool {
	n := 0
	for _, s := range sample {
		if num, _ := looksLike([][]byte{s}, '.'); num == 1 {
			n++
		}
	}
	if n*2 <= len(sample) || n < 2 {
		return false
	}
	l.delim, l.mark, l.count = '\t', decimalMark([][][]byte{sample}), 1
	return true
}

// noRows is the reason for refusing a file without rows of numbers.
func noRows(sample [][]byte) error {
	if len(sample) == 1 {
		names := 0
		for _, d := range delimiters {
			for _, c := range fields(sample[0], d, nil) {
				name, _ := splitUnit(decodeText(c))
				if w, _ := meaning(name); w != "" {
					names++
				}
			}
		}
		if names >= 2 {
			return &lineError{1, "found a header and not one row after it; was the log cut off, or nothing recorded?"}
		}
	}
	line, text := 1, ""
	for i, s := range sample {
		if len(bytes.TrimSpace(s)) > 0 {
			line, text = i+1, clip(decodeText(s), 60)
			break
		}
	}
	return &lineError{line, fmt.Sprintf("found %q and no rows of numbers set apart by comma, semicolon, tab or bar; a log has one row for each moment, with at least a time and a coolant temperature", text)}
}

// lineError is a reason for refusal with its line.
type lineError struct {
	line int
	why  string
}

func (e *lineError) Error() string { return fmt.Sprintf("line %d: %s", e.line, e.why) }

func anyQuote(sample [][]byte) bool {
	for _, s := range sample {
		if bytes.IndexByte(s, '"') >= 0 {
			return true
		}
	}
	return false
}

// findHeader looks for the first row of data and, above it, for names and units.
func (l *layout) findHeader(sample [][]byte) {
	isData := func(i int) bool {
		if i >= len(sample) {
			return false
		}
		f := fields(sample[i], l.delim, nil)
		return len(f)*2 > l.count && len(f) <= l.count+1 && dataLike(f, l.mark)
	}
	for l.first = 0; l.first < len(sample); l.first++ {
		if isData(l.first) && (isData(l.first+1) || isData(l.first+2) || l.first+1 >= len(sample)) {
			break
		}
	}
	above := func(i int) ([]string, int) {
		for i--; i >= 0; i-- {
			if len(bytes.TrimSpace(sample[i])) == 0 {
				continue
			}
			f := fields(sample[i], l.delim, nil)
			names := make([]string, len(f))
			filled := 0
			for k, c := range f {
				names[k] = strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(decodeText(c)), "#"))
				if names[k] != "" {
					filled++
				}
			}
			if filled == 0 || (len(f)*5 < l.count*3 && len(f)*2 != l.count) {
				return nil, -1
			}
			return names, i
		}
		return nil, -1
	}
	names, at := above(l.first)
	if at < 0 {
		return
	}
	isUnit, filled := 0, 0
	for _, n := range names {
		if n == "" {
			continue
		}
		filled++
		if _, ok := unitOf(n); ok || strings.HasPrefix(strings.ToLower(n), "hh:mm") {
			isUnit++
		}
	}
	if isUnit*2 > filled {
		if top, topAt := above(at); topAt >= 0 {
			l.units = names
			names, at = top, topAt
		}
	}
	l.header, l.head = names, at
}

// joinPairs notices decimal commas in a comma-separated file without quotes:
// every row then has exactly twice the header's cells.
func (l *layout) joinPairs(sample [][]byte) {
	n := len(l.header)
	if l.delim != ',' || n < 2 || l.count != 2*n {
		return
	}
	l.pairs, l.mark, l.count = true, '.', n
	l.assumed = append(l.assumed, Assumption{
		What: "each number is taken as two cells joined at a decimal comma", Where: fmt.Sprintf("line %d", l.first+1),
		Why: fmt.Sprintf("the header has %d names and every row %d cells", n, 2*n), Doubt: true,
	})
}

// cellsOf splits one line by the layout. buf is reused.
func (l *layout) cellsOf(line []byte, buf [][]byte) [][]byte {
	buf = fields(line, l.delim, buf)
	if !l.pairs || len(buf) < 2*l.count {
		return buf
	}
	joined := make([][]byte, 0, l.count)
	for i := 0; i+1 < len(buf); i += 2 {
		c := append(append(append([]byte{}, buf[i]...), '.'), buf[i+1]...)
		joined = append(joined, c)
	}
	return joined
}

// dataRows are the sample's rows of data.
func (l *layout) dataRows(sample [][]byte) []row {
	var rows []row
	for i := l.first; i < len(sample); i++ {
		f := l.cellsOf(sample[i], nil)
		if len(f)*2 > l.count && dataLike(f, l.mark) {
			rows = append(rows, row{i, f})
		}
	}
	return rows
}

func (l *layout) headerAt(i int) string {
	if i >= 0 && i < len(l.header) {
		return l.header[i]
	}
	return ""
}

func (l *layout) unitAt(i int) string {
	if i >= 0 && i < len(l.units) {
		return l.units[i]
	}
	return ""
}

func isSignalWord(w string) bool {
	_, err := SignalOf(w)
	return w != "" && err == nil
}

// nameOf names a column for people.
func (l *layout) nameOf(i int) string {
	if h := l.headerAt(i); h != "" {
		return fmt.Sprintf("column %d (%s)", i+1, clip(h, 40))
	}
	return fmt.Sprintf("column %d", i+1)
}

// list names all columns.
func (l *layout) list() string {
	if l.header == nil {
		return fmt.Sprintf("%d without names (#1 to #%d)", l.count, l.count)
	}
	var s []string
	for i, h := range l.header {
		if h == "" {
			continue
		}
		s = append(s, fmt.Sprintf("#%d %q", i+1, clip(h, 40)))
		if len(s) == 12 && len(l.header) > 12 {
			s = append(s, fmt.Sprintf("and %d more", len(l.header)-12))
			break
		}
	}
	return strings.Join(s, ", ")
}

func clip(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return string(r[:n-1]) + "…"
}
