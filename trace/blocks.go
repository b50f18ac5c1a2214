package trace

import (
	"bytes"
	"context"
	"io"
	"math"
	"sync"
)

// Reading in blocks: one goroutine cuts the file into blocks of whole lines,
// some others turn their cells into numbers, and the caller's own puts those in
// order into the table. What depends on the rows before (the run of time, the
// table) stays in order, so the outcome does not depend on the schedule.

const (
	blockBytes  = 256 << 10
	blockAhead  = 6 // blocks under way; bounds the memory
	blockWorker = 2 // goroutines that parse; more do not help, for cutting and gathering take as long
)

// rowState is what became of one line.
type rowState uint8

const (
	rowBlank  rowState = iota
	rowGood            // with a time
	rowCut             // a last line that breaks off
	rowHeader          // the header again
	rowBad             // no time can be read in it
)

// block is some lines on their way.
type block struct {
	text  []byte
	ends  []int // of each line in text
	first int   // number of the first line, from 1
	whole bool  // the last line has its end
	err   error // of the reader, behind these lines
	done  chan struct{}

	state   []rowState
	raw     []float64 // s, of each line
	short   []bool
	x       []float64 // lines times columns, NaN where no number stands
	width   int
	text0   []int // cells that were no number, by column
	units   []map[string]int
	one     int // rows in which one column changed
	many    int
	filled  int
	dated   bool
	badLine int
	badText string
}

// inBlocks reads the rest of the lines, in parallel.
func (g *gatherer) inBlocks(ctx context.Context, l *lines) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	free := make(chan *block, blockAhead)
	for range blockAhead {
		free <- &block{}
	}
	work, order := make(chan *block, blockAhead), make(chan *block, blockAhead)
	var running sync.WaitGroup
	defer running.Wait()
	defer cancel()
	running.Go(func() { cutBlocks(ctx, l, free, work, order) })
	for range blockWorker {
		p := newParser(g)
		running.Go(func() {
			for b := range work {
				p.parse(b)
				close(b.done)
			}
		})
	}
	for b := range order {
		<-b.done
		if err := ctx.Err(); err != nil {
			return err
		}
		g.take(b)
		if b.err == io.EOF {
			return nil
		} else if b.err != nil {
			return b.err
		}
		free <- b
	}
	return ctx.Err()
}

// cutBlocks fills blocks with lines until the file ends or ctx does.
func cutBlocks(ctx context.Context, l *lines, free <-chan *block, work, order chan<- *block) {
	defer close(work)
	defer close(order)
	for {
		var b *block
		select {
		case <-ctx.Done():
			return
		case b = <-free:
		}
		b.text, b.ends, b.err, b.first, b.done = b.text[:0], b.ends[:0], nil, l.n+1, make(chan struct{})
		for len(b.text) < blockBytes && b.err == nil {
			var line []byte
			if line, b.err = l.next(); b.err == nil {
				b.text = append(b.text, line...)
				b.ends = append(b.ends, len(b.text))
			}
		}
		b.whole = l.whole
		work <- b // never blocks: no more blocks exist than it holds
		order <- b
		if b.err != nil {
			return
		}
	}
}

// parser turns lines into numbers. Each goroutine has its own.
type parser struct {
	lay   *layout
	timer timer
	g     *gatherer // for what does not change while rows are read
	width int
	cells [][]byte
	prev  []prevCell
	same  []bool // cells that repeat the row before
}

func newParser(g *gatherer) *parser {
	p := &parser{lay: g.lay, timer: g.timer, g: g, width: len(g.tab.cols)}
	p.timer.dateText = nil
	return p
}

func (p *parser) parse(b *block) {
	n := len(b.ends)
	b.width = p.width
	b.state, b.raw, b.short = resized(b.state, n), resized(b.raw, n), resized(b.short, n)
	b.x = resized(b.x, n*p.width)
	b.text0 = resized(b.text0, p.width)
	clear(b.text0)
	b.units, b.one, b.many, b.filled, b.badLine = nil, 0, 0, 0, 0
	p.prev, p.same = resized(p.prev, p.width), resized(p.same, p.width)
	for i := range p.prev {
		p.prev[i].set = false
	}
	from := 0
	for i, end := range b.ends {
		p.line(b, i, b.text[from:end])
		from = end
	}
	b.dated = p.timer.dated
}

// split cuts a line at the delimiter. Most cells repeat the row before, so each
// is first compared with that one: a match needs no search for its end.
func (p *parser) split(line []byte) {
	delim := p.lay.delim
	if delim == ' ' || bytes.IndexByte(line, '"') >= 0 {
		p.cells = fields(line, delim, p.cells)
		clear(p.same)
		return
	}
	cells, at := p.cells[:0], 0
	for i := 0; ; i++ {
		if i < len(p.prev) && p.prev[i].set {
			was := p.prev[i].text
			if end := at + len(was); end < len(line) && line[end] == delim && string(line[at:end]) == string(was) {
				p.same[i] = true
				cells = append(cells, was)
				at = end + 1
				continue
			}
		}
		if i < len(p.same) {
			p.same[i] = false
		}
		end := at
		for end < len(line) && line[end] != delim {
			end++
		}
		cells = append(cells, line[at:end])
		if end >= len(line) {
			break
		}
		at = end + 1
	}
	p.cells = cells
}

// resized is s with n elements, whatever they hold.
func resized[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}

func (p *parser) line(b *block, i int, line []byte) {
	if len(line) == 0 || line[0] <= ' ' && len(bytes.TrimSpace(line)) == 0 {
		b.state[i] = rowBlank
		return
	}
	p.split(line)
	c := p.cells
	if i == len(b.ends)-1 && !b.whole && len(c) < p.lay.count {
		b.state[i] = rowCut
		return
	}
	raw, ok := p.timer.raw(c)
	if !ok {
		b.state[i] = rowBad
		if p.g.isHeader(c) {
			b.state[i] = rowHeader
		} else if b.badLine == 0 {
			b.badLine, b.badText = b.first+i, clip(decodeText(bytes.TrimSpace(line)), 40)
		}
		return
	}
	b.state[i], b.raw[i], b.short[i] = rowGood, raw, len(c) < p.lay.count
	p.numbers(b, b.x[i*p.width:(i+1)*p.width], c)
}

// numbers parses the cells that differ from the row before.
func (p *parser) numbers(b *block, x []float64, c [][]byte) {
	changed, filled := 0, 0
	for i := range x {
		x[i] = nan
		if i >= len(c) || i == p.lay.clock.time || i == p.lay.clock.date {
			continue
		}
		at := &p.prev[i]
		if !p.same[i] && (!at.set || !bytes.Equal(at.text, c[i])) {
			v, suffix, kind := readCell(c[i], p.lay.mark)
			if at.set && kind != cellMissing {
				changed++
			}
			at.text, at.x, at.kind, at.set = c[i], v, kind, true
			if suffix != "" {
				b.unit(i, suffix)
			}
		}
		switch at.kind {
		case cellNumber:
			x[i] = at.x
			filled++
		case cellText:
			b.text0[i]++
		}
	}
	b.filled = max(b.filled, filled)
	switch {
	case changed == 1:
		b.one++
	case changed > 1:
		b.many++
	}
}

func (b *block) unit(i int, suffix string) {
	if b.units == nil {
		b.units = make([]map[string]int, b.width)
	}
	if b.units[i] == nil {
		b.units[i] = map[string]int{}
	}
	if len(b.units[i]) < 8 || b.units[i][suffix] > 0 {
		b.units[i][suffix]++
	}
}

// take puts a block's rows into the table, in order.
func (g *gatherer) take(b *block) {
	g.timer.dated = g.timer.dated || b.dated
	g.seq.dated = g.seq.dated || b.dated
	g.changedOne += b.one
	g.changedMany += b.many
	g.filled = max(g.filled, b.filled)
	for i, n := range b.text0 {
		g.tab.cols[i].bad += n
	}
	for i, units := range b.units {
		for s, n := range units {
			g.tab.cols[i].countUnit(s, n)
		}
	}
	for i := range b.ends {
		switch b.state[i] {
		case rowCut:
			g.cut = true
		case rowHeader:
			g.heads++
		case rowBad:
			g.rows++
			g.dropped++
			if g.badTime++; g.badTime == 1 {
				g.badLine, g.badText = b.badLine, b.badText
			}
		case rowGood:
			g.takeRow(b, i)
		}
	}
}

func (g *gatherer) takeRow(b *block, i int) {
	g.rows++
	raw := b.raw[i]
	if g.lay.clock.rate > 0 {
		raw = g.timer.count()
	}
	t, ok := g.seq.at(raw, b.first+i)
	if !ok {
		g.dropped++
		return
	}
	if b.short[i] {
		g.short++
	}
	g.tab.seek(t)
	for k, x := range b.x[i*b.width : (i+1)*b.width] {
		if !math.IsNaN(x) {
			g.tab.add(g.tab.cols[k], x)
		}
	}
}
