package trace

import (
	"math"
	"slices"
	"sort"
)

// maxColumns bounds what is kept of a wide log. Car loggers offer a few dozen.
const maxColumns = 256

// table gathers any number of readings into a bounded number of rows, each a
// mean over one step of time. When the rows run out, the step doubles and
// neighbours merge, so memory does not depend on the length of the log.
type table struct {
	step    float64
	maxRows int
	bins    []int64 // of each row, strictly increasing
	cols    []*tableColumn
	at      int // row of the last reading
}

// tableColumn is one column's sums, and what was seen of its raw values.
type tableColumn struct {
	sum   []float64
	n     []float64
	bad   int // cells that were no number
	seen  int
	raw   []float64 // the first changed readings, unrounded by the mean
	last  float64
	units map[string]int // behind the values, or in a unit column
}

const maxRaw = 4096

func newTable(step float64, maxRows int) *table { return &table{step: step, maxRows: maxRows} }

// column returns column i, made on demand; nil beyond maxColumns.
func (t *table) column(i int) *tableColumn {
	if i >= maxColumns {
		return nil
	}
	for len(t.cols) <= i {
		t.cols = append(t.cols, &tableColumn{last: nan})
	}
	return t.cols[i]
}

// seek makes the row of time s the current one.
func (t *table) seek(s float64) {
	bin := int64(math.Floor(s / t.step))
	if t.at < len(t.bins) && t.bins[t.at] == bin {
		return
	}
	if n := len(t.bins); n == 0 || bin > t.bins[n-1] {
		if n >= t.maxRows {
			for len(t.bins) > t.maxRows/2 {
				t.halve()
			}
			t.seek(s)
			return
		}
		t.bins = append(t.bins, bin)
		t.at = n
		return
	}
	i := sort.Search(len(t.bins), func(i int) bool { return t.bins[i] >= bin })
	if t.bins[i] != bin {
		t.bins = slices.Insert(t.bins, i, bin)
		for _, c := range t.cols {
			if i < len(c.sum) {
				c.sum = slices.Insert(c.sum, i, 0)
				c.n = slices.Insert(c.n, i, 0)
			}
		}
	}
	t.at = i
}

// add puts a reading of column i into the current row.
func (t *table) add(c *tableColumn, x float64) {
	if len(c.sum) <= t.at {
		grow := t.at + 1 - len(c.sum)
		c.sum = append(c.sum, make([]float64, grow)...)
		c.n = append(c.n, make([]float64, grow)...)
	}
	c.sum[t.at] += x
	c.n[t.at]++
	c.seen++
	if x != c.last {
		c.last = x
		if len(c.raw) < maxRaw {
			c.raw = append(c.raw, x)
		}
	}
}

// halve doubles the step and merges rows.
func (t *table) halve() {
	t.step *= 2
	out := -1
	for i, b := range t.bins {
		b >>= 1
		if out < 0 || t.bins[out] != b {
			out++
			t.bins[out] = b
			for _, c := range t.cols {
				if i < len(c.sum) && out != i {
					c.sum[out], c.n[out] = c.sum[i], c.n[i]
				}
			}
			continue
		}
		for _, c := range t.cols {
			if i < len(c.sum) {
				c.sum[out] += c.sum[i]
				c.n[out] += c.n[i]
			}
		}
	}
	t.bins = t.bins[:out+1]
	for _, c := range t.cols {
		c.sum, c.n = c.sum[:min(out+1, len(c.sum))], c.n[:min(out+1, len(c.n))]
	}
	t.at = out
}

// means are a column's values by row, NaN where it was not read.
func (t *table) means(c *tableColumn) []float64 {
	out := make([]float64, len(t.bins))
	for i := range out {
		if i < len(c.n) && c.n[i] > 0 {
			out[i] = c.sum[i] / c.n[i]
		} else {
			out[i] = nan
		}
	}
	return out
}
