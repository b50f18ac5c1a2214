package lineup

import (
	"context"
	"fmt"
	"math"
	"slices"

	"weephole/cause"
	"weephole/circuit"
)

// Extend weighs one more event and returns the new lineup; the old one stays
// as it was. The candidates and what they have been run through are kept: a
// finding runs only what it needs and was not run before, a repair only the
// candidates that it changed, a log every candidate along itself. A finding
// made in conditions of its own, or a repair of the last one's visit, starts over
// from the same seed.
func (l *Lineup) Extend(ctx context.Context, ev Event) (*Lineup, error) {
	cs := l.cs
	cs.Events = append(append([]Event(nil), cs.Events...), ev)
	list, conditions, repairs, err := prepare(l.model, &cs)
	if err != nil {
		return nil, fmt.Errorf("lineup: %w", err)
	}
	if ev.Joint || len(conditions) != len(l.conditions) || list[len(list)-1].cond != 0 {
		return New(ctx, l.model, cs, l.opts)
	}
	n := l.copied(cs, list, conditions)
	n.draw = l.draw.extended(list, repairs)
	n.grow(len(l.draw.blocks()))
	switch {
	case ev.Repair != "":
		err = n.repaired(ctx, len(repairs)-1, len(list) > len(l.evidence))
	default:
		err = n.found(ctx, &list[len(list)-1])
	}
	if err == nil {
		err = n.sampleRounds(ctx)
	}
	if err != nil {
		return nil, fmt.Errorf("lineup: %w", err)
	}
	return n, nil
}

// Closer is a rough lineup settled: drawn closer in adapted rounds until its
// probabilities are as sure as they should be. The old one stays as it was.
func (l *Lineup) Closer(ctx context.Context) (*Lineup, error) {
	n := l.copied(l.cs, l.evidence, l.conditions)
	n.opts.KeepStill = false
	if err := n.sampleRounds(ctx); err != nil {
		return nil, fmt.Errorf("lineup: %w", err)
	}
	return n, nil
}

// copied is a lineup that can be changed without changing this one.
func (l *Lineup) copied(cs Case, list []evidence, conditions []circuit.Conditions) *Lineup {
	n := *l
	n.cs, n.evidence, n.conditions = cs, list, conditions
	n.pop, n.rounds = l.pop.copied(), slices.Clone(l.rounds)
	return &n
}

// copied is a population that can be changed without changing this one. What
// the slices point to is shared and never changed.
func (p *population) copied() *population {
	q := *p
	q.cands = slices.Clone(p.cands)
	q.drawn, q.logBase, q.dead = slices.Clone(p.drawn), slices.Clone(p.logBase), slices.Clone(p.dead)
	q.misfit, q.any, q.told = slices.Clone(p.misfit), slices.Clone(p.any), slices.Clone(p.told)
	q.columns = slices.Clone(p.columns)
	q.now = slices.Clone(p.now)
	q.records = slices.Clone(p.records)
	q.have = slices.Clone(p.have)
	q.weights = make([]float64, p.size())
	return &q
}

// grow gives every candidate the latents of what has happened since there were
// so many blocks.
func (l *Lineup) grow(blocks int) {
	all := l.draw.blocks()
	if len(all) == blocks {
		return
	}
	p := l.pop
	flat := make([]float64, p.size()*l.draw.size)
	for i := range p.cands {
		z := flat[i*l.draw.size : (i+1)*l.draw.size : (i+1)*l.draw.size]
		at := copy(z, p.cands[i].z)
		for b := blocks; b < len(all); b++ {
			l.drawBlock(z[at:at+all[b]], p.cands[i].drawn, b)
			at += all[b]
		}
		p.cands[i].z = z
	}
}

// found adds the column of a finding.
func (l *Lineup) found(ctx context.Context, e *evidence) error {
	p := l.pop
	if err := l.run(ctx, p, e.needs); err != nil {
		return err
	}
	column := make([]float64, p.size())
	err := l.each(ctx, p.size(), func(k *kit, i int) {
		if p.dead[i] {
			return
		}
		s := l.subject(&p.now[i], p.records[i])
		gun := p.cands[i].z[l.draw.gunAt()]
		column[i] = e.logLikelihood(l.model, k, &s, gun)
		miss := slices.Clone(p.misfit[i])
		miss = e.misfit(l.model.Settings, &s, gun, miss)
		if e.log != nil {
			circ := l.draw.circuit(&p.cands[i], &p.now[i])
			column[i] += l.alongLog(k, e, &p.cands[i], &p.now[i], &circ)
			miss = e.log.misfit(k, miss)
		}
		p.misfit[i] = miss
	})
	p.columns = append(p.columns, column)
	return err
}

// repaired lives through a repair with every candidate, and adds the column of
// what it changed if that was said.
func (l *Lineup) repaired(ctx context.Context, r int, said bool) error {
	p := l.pop
	logw := make([]float64, p.size())
	top := math.Inf(-1)
	for i := range logw {
		logw[i] = p.logBase[i] + p.logLikelihood(i)
		top = math.Max(top, logw[i])
	}
	column := make([]float64, p.size())
	err := l.each(ctx, p.size(), func(k *kit, i int) {
		if logw[i] < top-l.model.Settings.Hopeless.Value {
			p.dead[i], p.logBase[i] = true, math.Inf(-1)
			return
		}
		was := p.now[i]
		f := was
		gone, back := l.draw.after(&p.cands[i], r, &f)
		done := visit{gone: gone, back: back, filled: l.draw.repairs[r].repair.Fills()}
		if said {
			column[i] = l.model.Settings.TriedPower.Value * math.Log(l.says(r, &p.cands[i], &was, &f, done))
		}
		if f != was {
			circ := l.draw.circuit(&p.cands[i], &f)
			record := new(circuit.Record)
			k.drill.Run(&circ, l.conditions[0], p.have[i], record)
			p.now[i], p.records[i] = f, record
		}
	})
	if said {
		p.columns = append(p.columns, column)
	}
	return err
}

// run makes every record of the population hold the situations asked for, in
// the shop's conditions and with the causes present now.
func (l *Lineup) run(ctx context.Context, p *population, need circuit.Set) error {
	return l.each(ctx, p.size(), func(k *kit, i int) {
		if need&^p.have[i] == 0 || math.IsInf(p.logBase[i], -1) {
			return
		}
		circ := l.draw.circuit(&p.cands[i], &p.now[i])
		record := new(circuit.Record)
		k.drill.Run(&circ, l.conditions[0], p.have[i].Union(need), record)
		p.have[i] = p.have[i].Union(need)
		p.records[i] = record
	})
}

// Warm runs every candidate through the whole drill, so that later findings
// and plans need no more runs.
func (l *Lineup) Warm(ctx context.Context) error {
	return l.run(ctx, l.pop, circuit.AllSituations())
}

// Sample is a small equally weighted lineup for planning: what each of its
// engines has, and how it behaves in every situation.
type Sample struct {
	Faults  [][]cause.Present // causes present now; a healthy engine has "no-fault"
	Records []*circuit.Record // in the shop's conditions
	Other   float64           // probability of something-else, which no engine of the sample has
}

// Sample draws n engines in proportion to their weights and runs them through
// the whole drill.
func (l *Lineup) Sample(ctx context.Context, n int) (*Sample, error) {
	picks := systematic(l.pop.weights, n, l.rng(streamSample, 0, len(l.evidence)).Float64())
	records := make([]*circuit.Record, n)
	// The same engine picked twice is run once.
	first := make(map[int]int, n)
	var todo []int
	for i, from := range picks {
		if _, ok := first[from]; !ok {
			first[from] = i
			todo = append(todo, i)
		}
	}
	p, all := l.pop, circuit.AllSituations()
	err := l.each(ctx, len(todo), func(k *kit, t int) {
		i := todo[t]
		from := picks[i]
		records[i] = p.records[from]
		if all&^p.have[from] != 0 {
			circ := l.draw.circuit(&p.cands[from], &p.now[from])
			records[i] = new(circuit.Record)
			k.drill.Run(&circ, l.conditions[0], all, records[i])
		}
	})
	if err != nil {
		return nil, fmt.Errorf("lineup: sample: %w", err)
	}
	s := &Sample{Records: records, Faults: make([][]cause.Present, n), Other: l.other}
	for i, from := range picks {
		s.Records[i] = records[first[from]]
		if s.Faults[i] = l.blamed(from, l.rng(streamSample, i, 1).Float64()); len(s.Faults[i]) == 0 {
			s.Faults[i] = []cause.Present{noFault(l.model)}
		}
	}
	return s, nil
}

// blamed lists the faults of candidate i that explain the complaint; where that
// is uncertain, the number u in [0,1) decides. What is bad and explains nothing
// shows in the engine's records all the same.
func (l *Lineup) blamed(i int, u float64) (list []cause.Present) {
	f := &l.pop.now[i]
	total, shares := 0.0, [maxFaults]float64{}
	for k := range f.n {
		shares[k] = l.explains(l.pop, i, f.list[k].Cause)
		total += shares[k]
	}
	for k := range f.n {
		switch {
		case total > 1+1e-9: // both may be to blame
			if u < shares[k] {
				list = append(list, f.list[k])
			}
		case u >= 0 && u < shares[k]:
			return append(list, f.list[k])
		default:
			u -= shares[k]
		}
	}
	return list
}

// Model is the knowledge that the lineup was drawn from.
func (l *Lineup) Model() *Model { return l.model }

// Case is what the lineup was weighed against.
func (l *Lineup) Case() Case { return l.cs }

// Probabilities is the probability of each cause of the catalogue now, by its
// index: Odds without the reasons.
// They tell what the car came for; Bad tells what is bad on it.
func (l *Lineup) Probabilities() []float64 {
	p := l.marginals(l.pop, l.pop.weights)
	for i := range p {
		p[i] *= 1 - l.other
	}
	p[l.model.Causes.Unnamed()] = l.other
	return p
}

// Bad is the probability of each cause by its index that it is present now,
// whatever it explains; of no-fault and of what the catalogue does not name it is 0.
func (l *Lineup) Bad() []float64 {
	p := l.present(l.pop, l.pop.weights)
	for i := range p {
		p[i] *= 1 - l.other
	}
	return p
}
