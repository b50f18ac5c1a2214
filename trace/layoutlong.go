package trace

import (
	"bytes"
	"fmt"
)

// cellCounts are what the cells of one column look like, over the sample.
type cellCounts struct {
	text, num, clock, filled, unit int
	known                          int // distinct texts that name a signal
	distinct                       map[string]bool
}

// findLong recognises one reading per row: a column of text in which the same
// few names return, one of them known, beside a column of values.
func (l *layout) findLong(rows []row, m mapping) {
	if l.count > 10 || len(rows) < 4 {
		return
	}
	cols := l.countCells(rows)
	name := nameColumn(cols, m)
	if name < 0 {
		return
	}
	value := l.valueColumn(cols, name, len(rows))
	if value < 0 {
		return
	}
	l.long, l.nameCol, l.valueCol = true, name, value
	for i, c := range cols {
		if i != name && i != value && c.unit*2 > c.filled && c.filled > 0 {
			l.unitCol = i
		}
	}
	l.assumed = append(l.assumed, Assumption{
		What:  fmt.Sprintf("each row is one reading: its name in column %d, its value in column %d", name+1, value+1),
		Where: fmt.Sprintf("line %d", l.first+1), Why: fmt.Sprintf("column %d repeats %d names, %d of them known", name+1, len(cols[name].distinct), cols[name].known),
	})
}

func (l *layout) countCells(rows []row) []cellCounts {
	cols := make([]cellCounts, l.count)
	for i := range cols {
		cols[i].distinct = map[string]bool{}
	}
	for _, r := range rows {
		for i, c := range r.cells {
			if i >= l.count {
				break
			}
			if c = bytes.TrimSpace(c); len(c) > 0 {
				cols[i].count(c, l.mark)
			}
		}
	}
	return cols
}

func (col *cellCounts) count(c []byte, mark byte) {
	col.filled++
	if _, _, kind := readCell(c, mark); kind != cellText {
		col.num++
		return
	}
	if _, ok := readClock(c, false); ok || dotClock(c) {
		col.clock++
		return
	}
	s := decodeText(c)
	if _, ok := unitOf(s); ok {
		if w, _ := meaning(s); !isSignalWord(w) { // "rpm" is a name too
			col.unit++
		}
	}
	col.text++
	if len(col.distinct) < 300 {
		col.distinct[s] = true
	}
}

// nameColumn is the column of names that return, -1 if there is none.
func nameColumn(cols []cellCounts, m mapping) int {
	best := -1
	for i := range cols {
		c := &cols[i]
		if c.text*10 < c.filled*9 || c.filled == 0 || len(c.distinct)*2 > c.filled {
			continue
		}
		for n := range c.distinct {
			if w, _ := meaning(n); isSignalWord(w) || m.names(n) {
				c.known++
			}
		}
		if c.known > 0 && c.unit*2 < c.text && (best < 0 || c.known > cols[best].known) {
			best = i
		}
	}
	return best
}

// valueColumn is the column of values beside the names, -1 if there is none.
func (l *layout) valueColumn(cols []cellCounts, name, rows int) int {
	value := -1
	for i, c := range cols {
		if i == name || c.num*10 < c.filled*5 || c.filled*2 < rows {
			continue
		}
		w, _ := meaning(l.headerAt(i))
		switch {
		case w == "value":
			return i
		case w == "time" || w == "date" || w == "row":
		case i > name && (value < 0 || value < name):
			value = i // behind the name, as people write it
		case value < 0 && i > 0:
			value = i
		}
	}
	return value
}
