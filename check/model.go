package check

import (
	"math"

	"weephole/cause"
	"weephole/circuit"
)

// maxWords is the largest number of results that a check may have, so that
// the hot path needs no allocation.
const maxWords = 16

// trait is what a present cause does to checks beyond acting on the circuit.
type trait uint8

const (
	spoilsFlow trait = 1 << iota // leaves little coolant or much air
	anything                     // nothing is known of it
)

// traitsOf joins the traits of what is present.
func traitsOf(s *Subject, traits []trait) trait {
	var all trait
	for i := range s.Causes {
		if k := s.Causes[i].Cause; k < len(traits) {
			all |= traits[k]
		}
	}
	return all
}

// observed is an observable that may be absent.
type observed struct {
	is circuit.Observable
	ok bool
}

func (o observed) at(s *Subject) float64 {
	if !o.ok {
		return 0
	}
	if s.Record == nil {
		return math.NaN()
	}
	return s.Record.At(o.is)
}

// condition is a When, resolved.
type condition struct {
	of, minus observed
	threshold float64
	sign      float64 // 1 above, -1 below
	inverse   float64 // 1/(Soft*sqrt 2)
}

// holds is the probability that the condition holds. An observable that was
// not run, or that the run did not give, tells nothing: one half.
func (c *condition) holds(s *Subject) float64 {
	x := c.of.at(s) - c.minus.at(s)
	z := c.sign * (x - c.threshold) * c.inverse
	switch {
	case z != z:
		return 0.5
	case z > 3.2: // beyond 4.5 spreads: 1 - 3e-6
		return 1
	case z < -3.2:
		return 0
	}
	// Phi(z*sqrt 2) = (1 + erf z)/2 (Abramowitz and Stegun 1964, 26.2.29).
	return 0.5 * (1 + math.Erf(z))
}

// fit is what a row of a table asks of a present cause.
type fit struct {
	sites  uint64               // bit set; all ones when any
	states [cause.MaxHidden]int // index of the state, -1 when any
}

func (f *fit) suits(p *cause.Present) bool {
	if p.Site >= 0 && f.sites&(1<<uint(p.Site)) == 0 {
		return false
	}
	if p.Site < 0 && f.sites != math.MaxUint64 {
		return false
	}
	for h, state := range f.states {
		if state >= 0 && p.Hidden[h] != state {
			return false
		}
	}
	return true
}

// table is a table of results, resolved.
type table struct {
	otherwise [maxWords]float64
	quiet     float64 // share of otherwise that is no alarm
	rows      []tableRow
	rowsOf    [][]int16 // by cause index: rows in order
}

type tableRow struct {
	fit
	mild, slope [maxWords]float64 // by word: probability at s = 0, and its rise to s = 1
}

// row is the first row that suits what is present, or nil.
func (t *table) row(p *cause.Present) *tableRow {
	if p.Cause >= len(t.rowsOf) {
		return nil
	}
	for _, i := range t.rowsOf[p.Cause] {
		if t.rows[i].suits(p) {
			return &t.rows[i]
		}
	}
	return nil
}

// Shows fills p, which has a place for each of the check's words, with their
// probabilities for the subject. They sum to 1, blunders included.
func (c *Check) Shows(s *Subject, p []float64) {
	n := len(c.Words)
	p = p[:n]
	var rows [2]*tableRow
	var severity [2]float64
	traits := traitsOf(s, c.traits)
	if traits&anything != 0 {
		c.unnamed(s, p)
		return
	}
	k, without := 0, false
	for i := range s.Causes {
		present := &s.Causes[i]
		r := c.table.row(present)
		switch {
		case r == nil:
			without = true
		case k < len(rows):
			rows[k], severity[k] = r, present.Severity
			k++
		}
	}
	switch {
	case k == 0 && c.physical:
		c.predicted(s, p)
	case k == 0:
		copy(p, c.table.otherwise[:n])
	case k == 1 && !(c.physical && without):
		rows[0].at(severity[0], p)
	default:
		c.combine(s, rows[:k], severity[:k], without, p)
	}
	share := c.Blunder.Share
	if traits&spoilsFlow != 0 && c.NeedsFull && !c.physical && c.lowShare > share {
		share = c.lowShare
		for w := range p {
			p[w] = (1-share)*p[w] + share/float64(n)
		}
		return
	}
	for w := range p {
		p[w] = (1-share)*p[w] + share*c.blunder[w]
	}
}

// unnamed fills p for a cause of which nothing is known: by the row that the check
// has for it. Without one it may do anything to the circuit; a look at a part finds
// what it finds on other cars.
func (c *Check) unnamed(s *Subject, p []float64) {
	for i := range s.Causes {
		present := &s.Causes[i]
		if c.traits[present.Cause]&anything == 0 {
			continue
		}
		if r := c.table.row(present); r != nil {
			r.at(present.Severity, p)
			for w := range p {
				p[w] = (1-c.Blunder.Share)*p[w] + c.Blunder.Share*c.blunder[w]
			}
			return
		}
	}
	for w := range p {
		p[w] = 1 / float64(len(p))
	}
	if !c.physical {
		for w := range p {
			p[w] = (1-c.Blunder.Share)*c.table.otherwise[w] + c.Blunder.Share*c.blunder[w]
		}
	}
}

func (r *tableRow) at(severity float64, p []float64) {
	for w := range p {
		p[w] = r.mild[w] + severity*r.slope[w]
	}
}

// predicted fills p with what the circuit's run predicts: the words are tried
// in order, and the last takes what is left.
func (c *Check) predicted(s *Subject, p []float64) {
	left := 1.0
	from := int16(0)
	last := len(p) - 1
	for w := range p {
		if w == last {
			p[w] = left
			return
		}
		holds := 1.0
		for _, cond := range c.words[from:c.wordEnds[w]] {
			holds *= cond.holds(s)
		}
		from = c.wordEnds[w]
		p[w] = left * holds
		left -= p[w]
	}
}

// combine joins what two causes would show, by noisy-or on the alarms.
func (c *Check) combine(s *Subject, rows []*tableRow, severity []float64, base bool, p []float64) {
	var one [maxWords]float64
	var sum [maxWords]float64
	part := one[:len(p)]
	quiet := 1.0
	add := func(leak float64) {
		still := 0.0
		for w := range part {
			sum[w] += part[w]
			if !c.alarm[w] {
				still += part[w]
			}
		}
		quiet *= math.Min(1, still/leak)
	}
	leak := 1.0
	if !c.physical {
		leak = c.table.quiet
		quiet = leak
	}
	for i, r := range rows {
		r.at(severity[i], part)
		add(leak)
	}
	if c.physical && base {
		c.predicted(s, part)
		add(1)
	}
	still, loud := 0.0, 0.0
	for w := range p {
		if c.alarm[w] {
			loud += sum[w]
		} else {
			still += sum[w]
		}
	}
	if still <= 0 {
		quiet = 0
	}
	if loud <= 0 {
		quiet = 1
	}
	for w := range p {
		switch {
		case c.alarm[w] && loud > 0:
			p[w] = sum[w] / loud * (1 - quiet)
		case !c.alarm[w] && still > 0:
			p[w] = sum[w] / still * quiet
		default:
			p[w] = 0
		}
	}
}
