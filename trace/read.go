package trace

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
)

// Error is a log that cannot be used, and why. Its text says what was found and
// what to do instead.
type Error struct {
	File string
	Line int // 0 if it concerns the whole file
	Why  string
}

func (e *Error) Error() string {
	if e.Line > 0 {
		return fmt.Sprintf("%s: line %d: %s", e.File, e.Line, e.Why)
	}
	return fmt.Sprintf("%s: %s", e.File, e.Why)
}

// The defaults of ReadOptions.
const (
	defaultStep    = 1.0   // s: engine computers answer a poll about this often
	defaultMaxRows = 20000 // 5.5 hours at 1 s
	sampleLines    = 3000
)

// Read reads one log of delimited text, plain or gzip, whatever its layout. It
// never holds more than a bounded number of rows. Errors of the log are *Error;
// an error of ctx or of the reader comes back as it is.
func Read(ctx context.Context, r io.Reader, name string, o ReadOptions) (*Trace, error) {
	t, err := read(ctx, r, name, o)
	if err == nil {
		return t, nil
	}
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	var broken *readerError
	if errors.As(err, &broken) {
		return nil, fmt.Errorf("%s: %w", name, broken.error)
	}
	var at *lineError
	if errors.As(err, &at) {
		return nil, &Error{File: name, Line: at.line, Why: at.why}
	}
	return nil, &Error{File: name, Why: err.Error()}
}

func read(ctx context.Context, r io.Reader, name string, o ReadOptions) (*Trace, error) {
	if o.Step <= 0 {
		o.Step = defaultStep
	}
	if o.MaxRows <= 0 {
		o.MaxRows = defaultMaxRows
	}
	if o.Rate < 0 || math.IsNaN(o.Rate) || o.Rate > 1e5 {
		return nil, fmt.Errorf("a rate of %g rows per second was given; write a number above 0, such as 1 or 10", o.Rate)
	}
	m, err := readMapping(o.Map, o.Flags)
	if err != nil {
		return nil, err
	}
	l, err := openLines(r)
	if err != nil {
		return nil, err
	}
	sample, size := [][]byte{}, 0
	for len(sample) < sampleLines && size < sampleBytes {
		line, err := l.next()
		if err == io.EOF {
			break
		} else if err != nil {
			return nil, err
		}
		sample = append(sample, bytes.Clone(line))
		size += len(line) + 32
	}
	lay, err := detectLayout(sample, m, o.Rate, len(sample) < sampleLines && size < sampleBytes)
	if err != nil {
		return nil, err
	}
	g := newGatherer(lay, m, newTable(o.Step, max(o.MaxRows, 64)))
	for i := lay.first; i < len(sample); i++ {
		g.row(sample[i], i+1, l.whole || i+1 < len(sample))
	}
	sample = nil
	if err := g.rest(ctx, l); err != nil {
		return nil, err
	}
	if l.cut {
		g.say(Assumption{What: "the file is read up to where it breaks off", Where: fmt.Sprintf("line %d", l.n), Why: "the compressed data end too early: the copy is cut off", Doubt: true})
	}
	if l.encod != "" {
		g.say(Assumption{What: "the text is read as " + l.encod, Why: "its first bytes say so"})
	}
	t := &Trace{Name: name, Rows: g.rows, Dropped: g.dropped, Choices: lay.choices}
	if err := g.refuse(); err != nil {
		return nil, err
	}
	if err := g.recognise(t, o); err != nil {
		return nil, err
	}
	t.Began = g.timer.began(g.seq.base)
	return t.keep(o.Drive)
}

// rest reads what follows the sample. Logs of one reading per row add columns
// as they go and are read in order.
func (g *gatherer) rest(ctx context.Context, l *lines) error {
	if !g.lay.long && !g.lay.pairs {
		return g.inBlocks(ctx, l)
	}
	for {
		line, err := l.next()
		if err == io.EOF {
			return nil
		} else if err != nil {
			return err
		}
		if l.n&0xfff == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		g.row(line, l.n, l.whole)
	}
}

// gatherer puts rows into the table.
type gatherer struct {
	lay     *layout
	m       mapping
	tab     *table
	timer   timer
	seq     sequence
	assumed []Assumption
	time    []float64 // s, of the table's rows, once all are read

	names   []string       // of the table's columns
	slot    map[string]int // long layout: column by name
	cells   [][]byte
	prev    []prevCell // the row before, cell by cell
	rows    int
	dropped int
	badTime int
	badLine int    // first line without a time
	badText string // what stood there
	short   int
	cut     bool
	heads   int

	changedOne, changedMany int // rows in which one or several columns changed
	filled                  int
}

// prevCell remembers a cell, so that a value repeated a hundred times is parsed once.
type prevCell struct {
	text []byte
	x    float64
	kind cellKind
	set  bool
}

func newGatherer(l *layout, m mapping, t *table) *gatherer {
	g := &gatherer{lay: l, m: m, tab: t, slot: map[string]int{}, assumed: l.assumed}
	g.timer.set(l)
	g.seq = sequence{kind: l.clock.kind, dated: l.clock.date >= 0 || l.clock.epoch, long: l.long, tick: l.clock.tick, perTick: l.clock.perTick}
	if !l.long {
		for i := range max(l.count, len(l.header)) {
			if i >= maxColumns {
				g.say(Assumption{What: fmt.Sprintf("only the first %d columns are read", maxColumns), Why: fmt.Sprintf("there are %d", max(l.count, len(l.header))), Doubt: true})
				break
			}
			g.names = append(g.names, l.headerAt(i))
			t.column(i)
		}
	}
	return g
}

func (g *gatherer) say(a Assumption) { g.assumed = append(g.assumed, a) }

// row takes one line in. whole is false for a last line without its line end.
func (g *gatherer) row(line []byte, n int, whole bool) {
	if len(bytes.TrimSpace(line)) == 0 {
		return
	}
	g.cells = g.lay.cellsOf(line, g.cells)
	c := g.cells
	if !whole && len(c) < g.lay.count {
		g.cut = true
		return
	}
	raw, ok := g.timer.raw(c)
	if !ok {
		if g.isHeader(c) {
			g.heads++
			return
		}
		g.rows++
		g.dropped++
		if g.badTime++; g.badTime == 1 {
			g.badLine, g.badText = n, clip(decodeText(bytes.TrimSpace(line)), 40)
		}
		return
	}
	g.rows++
	g.seq.dated = g.seq.dated || g.timer.dated
	t, ok := g.seq.at(raw, n)
	if !ok {
		g.dropped++
		return
	}
	if len(c) < g.lay.count {
		g.short++
	}
	g.tab.seek(t)
	if g.lay.long {
		g.reading(c)
		return
	}
	g.wide(c)
}

// wide takes in a row of one cell per column.
func (g *gatherer) wide(c [][]byte) {
	for len(g.prev) < min(len(c), len(g.tab.cols)) {
		g.prev = append(g.prev, prevCell{})
	}
	changed, filled := 0, 0
	for i, cell := range c {
		if i == g.lay.clock.time || i == g.lay.clock.date || i >= len(g.prev) {
			continue
		}
		p := &g.prev[i]
		if !p.set || !bytes.Equal(p.text, cell) {
			x, suffix, kind := readCell(cell, g.lay.mark)
			if p.set && kind != cellMissing {
				changed++
			}
			p.text, p.x, p.kind, p.set = append(p.text[:0], cell...), x, kind, true
			if suffix != "" {
				g.tab.cols[i].unit(suffix)
			}
		}
		switch p.kind {
		case cellNumber:
			g.tab.add(g.tab.cols[i], p.x)
			filled++
		case cellText:
			g.tab.cols[i].bad++
		}
	}
	g.filled = max(g.filled, filled)
	switch {
	case changed == 1:
		g.changedOne++
	case changed > 1:
		g.changedMany++
	}
}

// reading takes in a row of one named value.
func (g *gatherer) reading(c [][]byte) {
	l := g.lay
	if l.nameCol >= len(c) || l.valueCol >= len(c) {
		return
	}
	key := bytes.TrimSpace(c[l.nameCol])
	i, ok := g.slot[string(key)]
	if !ok {
		i = len(g.names)
		if i >= maxColumns {
			return
		}
		g.slot[string(key)] = i
		g.names = append(g.names, decodeText(key))
		g.tab.column(i)
	}
	col := g.tab.cols[i]
	x, suffix, kind := readCell(c[l.valueCol], l.mark)
	switch kind {
	case cellNumber:
		g.tab.add(col, x)
	case cellText:
		col.bad++
	}
	if l.unitCol >= 0 && l.unitCol < len(c) && col.seen < 50 {
		suffix = decodeText(bytes.TrimSpace(c[l.unitCol]))
	}
	if suffix != "" {
		col.unit(suffix)
	}
}

func (c *tableColumn) unit(s string) { c.countUnit(s, 1) }

func (c *tableColumn) countUnit(s string, n int) {
	if c.units == nil {
		c.units = map[string]int{}
	}
	if len(c.units) < 8 || c.units[s] > 0 {
		c.units[s] += n
	}
}

// isHeader recognises the header, repeated where logs were strung together.
func (g *gatherer) isHeader(c [][]byte) bool {
	same := 0
	for i, cell := range c {
		if h := g.lay.headerAt(i); h != "" && h == decodeText(bytes.TrimSpace(cell)) {
			same++
		}
	}
	return same*2 > len(c) && same > 0
}

// refuse tells why a log cannot be used at all.
func (g *gatherer) refuse() error {
	if g.rows == 0 || len(g.tab.bins) == 0 {
		if g.badTime > 0 {
			return &lineError{g.badLine, fmt.Sprintf("found %q, in which no time can be read; no row of the log has one", g.badText)}
		}
		return errors.New("there is no row of data")
	}
	if g.badTime*2 > g.rows {
		return &lineError{g.badLine, fmt.Sprintf("found %q, in which no time can be read, as in %d of %d rows; %s", g.badText, g.badTime, g.rows,
			g.m.either("say which column is the time with --map 'time=NAME'", "name"+nameTime))}
	}
	if g.badTime > 0 {
		g.say(Assumption{What: fmt.Sprintf("%d row(s) without a readable time are left out", g.badTime), Where: fmt.Sprintf("line %d", g.badLine), Why: fmt.Sprintf("found %q", g.badText)})
	}
	if g.heads > 0 {
		g.say(Assumption{What: fmt.Sprintf("the header returns %d time(s) and is passed over", g.heads), Why: "logs were strung together"})
	}
	if g.cut {
		g.say(Assumption{What: "the last line is left out", Why: "it is cut off"})
	}
	if g.short > 0 {
		g.say(Assumption{What: fmt.Sprintf("%d row(s) are shorter than the others; what is missing counts as not read", g.short), Why: fmt.Sprintf("most rows have %d cells", g.lay.count)})
	}
	if one, many := g.changedOne, g.changedMany; one+many >= 200 && many*20 < one && g.filled >= 4 && !g.lay.long {
		g.say(Assumption{What: "one signal is fresh in each row, the others repeat", Why: fmt.Sprintf("in %d of %d rows no more than one column changed", one, one+many)})
	}
	if g.tab.step > 4*defaultStep {
		g.say(Assumption{What: fmt.Sprintf("the log is kept as means over %g s", g.tab.step), Why: "it is very long"})
	}
	g.assumed = append(g.assumed, g.seq.assumptions()...)
	return nil
}
