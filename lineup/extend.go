package lineup

import (
	"context"
	"fmt"

	"weephole/cause"
	"weephole/circuit"
)

// Extend weighs one more event and returns the new lineup; the old one stays
// as it was. A finding made in the shop's own conditions costs no new draw:
// the candidates and what they have been run through are kept, and only what
// the finding needs and was not run before is run. Other events (a repair, a
// log, other conditions) start afresh from the same seed.
func (l *Lineup) Extend(ctx context.Context, ev Event) (*Lineup, error) {
	cs := l.cs
	cs.Events = append(append([]Event(nil), cs.Events...), ev)
	list, conditions, _, err := prepare(l.model, &cs)
	if err != nil {
		return nil, fmt.Errorf("lineup: %w", err)
	}
	last := list[len(list)-1]
	if ev.Repair != "" || ev.Log != nil || last.cond != 0 {
		return New(ctx, l.model, cs, l.opts)
	}
	n := &Lineup{
		model: l.model, cs: cs, opts: l.opts, evidence: list, conditions: conditions, draw: l.draw,
	}
	if err := l.run(ctx, l.prior, last.needs); err != nil {
		return nil, fmt.Errorf("lineup: %w", err)
	}
	n.prior = l.prior.with(n, &last)
	if err := n.settle(ctx); err != nil {
		return nil, fmt.Errorf("lineup: %w", err)
	}
	return n, nil
}

// with is the population with one more column, sharing all that stays the same.
func (p *population) with(l *Lineup, e *evidence) *population {
	q := *p
	q.weights = make([]float64, p.size())
	column := make([]float64, p.size())
	k := l.newKit()
	for i := range column {
		s := l.subject(&p.now[i], &p.records[i])
		column[i] = e.logLikelihood(l.model, k, &s)
	}
	q.columns = append(append([][]float64(nil), p.columns...), column)
	return &q
}

// run makes every record of the population hold the situations asked for, in
// the shop's conditions and with the causes present now.
func (l *Lineup) run(ctx context.Context, p *population, need circuit.Set) error {
	return l.each(ctx, p.size(), func(k *kit, i int) {
		if need&^p.have[i] == 0 {
			return
		}
		p.have[i] = p.have[i].Union(need)
		circ := l.draw.circuit(&p.cands[i], &p.now[i])
		k.drill.Run(&circ, l.conditions[0], p.have[i], &p.records[i])
	})
}

// Warm runs every candidate through the whole drill, so that later findings
// and plans need no more runs.
func (l *Lineup) Warm(ctx context.Context) error {
	if err := l.run(ctx, l.prior, circuit.AllSituations()); err != nil {
		return err
	}
	if l.post != l.prior {
		return l.run(ctx, l.post, circuit.AllSituations())
	}
	return nil
}

// Sample is a small equally weighted lineup for planning: what each of its
// engines has, and how it behaves in every situation.
type Sample struct {
	Faults  [][]cause.Present // causes present now; a healthy engine has "no-fault"
	Records []circuit.Record  // in the shop's conditions
	Other   float64           // probability of something-else, which no engine of the sample has
}

// Sample draws n engines in proportion to their weights and runs them through
// the whole drill.
func (l *Lineup) Sample(ctx context.Context, n int) (*Sample, error) {
	picks := systematic(l.post.weights, n, l.rng(streamSample, 0, len(l.evidence)).Float64())
	p := l.post.pick(picks)
	// The same engine picked twice is run once.
	first := make(map[int]int, n)
	var todo []int
	for i, from := range picks {
		if _, ok := first[from]; !ok {
			first[from] = i
			todo = append(todo, i)
		}
	}
	all := circuit.AllSituations()
	err := l.each(ctx, len(todo), func(k *kit, t int) {
		i := todo[t]
		if all&^p.have[i] == 0 {
			return
		}
		p.have[i] = all
		circ := l.draw.circuit(&p.cands[i], &p.now[i])
		k.drill.Run(&circ, l.conditions[0], all, &p.records[i])
	})
	if err != nil {
		return nil, fmt.Errorf("lineup: sample: %w", err)
	}
	s := &Sample{Records: p.records, Faults: make([][]cause.Present, n), Other: l.other}
	for i, from := range picks {
		s.Records[i] = p.records[first[from]]
		f := p.now[i]
		if f.n == 0 {
			s.Faults[i] = []cause.Present{noFault(l.model)}
			continue
		}
		s.Faults[i] = append([]cause.Present(nil), f.present()...)
	}
	return s, nil
}

// Model is the knowledge that the lineup was drawn from.
func (l *Lineup) Model() *Model { return l.model }

// Case is what the lineup was weighed against.
func (l *Lineup) Case() Case { return l.cs }
