package lineup

import (
	"context"
	"fmt"
	"math"
	"runtime"

	"weephole/circuit"
)

// Bank is a lineup drawn for a vehicle before anything is known of its trouble,
// every candidate run through the whole drill. Any number of cases of that
// vehicle can be weighed against it at the cost of their findings alone: a
// weighing machine that is always warm.
type Bank struct {
	base *Lineup
	fits []float64 // by stratum: share of its draws that its fan could have
	n    []float64 // by stratum: candidates
}

// NewBank draws and runs a bank in the given surroundings.
func NewBank(ctx context.Context, m *Model, v circuit.Vehicle, cond circuit.Conditions, o Options) (*Bank, error) {
	if o.Candidates == 0 {
		o.Candidates = DefaultCandidates
	}
	if o.Workers <= 0 {
		o.Workers = runtime.GOMAXPROCS(0)
	}
	cs := Case{Vehicle: v, Shop: cond, OnTheRoad: cond}
	list, conditions, _, err := prepare(m, &cs)
	if err != nil {
		return nil, fmt.Errorf("bank: %w", err)
	}
	l := &Lineup{model: m, cs: cs, opts: o, evidence: list, conditions: conditions}
	// As if the engine had run hot and dry, so that consequences have candidates.
	sets := strata(m.Causes, m.Settings.SecondFault.Value, 0, nil, true, true)
	l.draw = newDrawer(m, v, sets).extended(list, nil)
	l.populate()
	b := &Bank{base: l, fits: make([]float64, len(sets)), n: make([]float64, len(sets))}
	for i := range l.prior.cands {
		k := l.prior.cands[i].stratum
		b.n[k]++
		b.fits[k] = math.Exp(l.prior.logBase[i]) / sets[k].prior
	}
	for k := range b.fits {
		b.fits[k] *= b.n[k] // logBase is prior*fits/n, up to a common factor
	}
	if err := l.weighAll(ctx); err != nil {
		return nil, fmt.Errorf("bank: %w", err)
	}
	if err := l.run(ctx, l.prior, circuit.AllSituations()); err != nil {
		return nil, fmt.Errorf("bank: %w", err)
	}
	p := l.prior
	err = l.each(ctx, p.size(), func(_ *kit, i int) {
		s := l.subject(&p.now[i], p.records[i])
		p.any[i] = comesIn(m, &s)
	})
	if err != nil {
		return nil, fmt.Errorf("bank: %w", err)
	}
	return b, nil
}

// Lineup weighs a case of the bank's vehicle. A case in other surroundings, or
// with findings made in others, is drawn afresh.
func (b *Bank) Lineup(ctx context.Context, cs Case) (*Lineup, error) {
	cond := b.base.cs.Shop
	if !sameConditions(cs.Shop, cond, findingAir) || !sameConditions(cs.OnTheRoad, cond, complaintAir) {
		return New(ctx, b.base.model, cs, b.base.opts)
	}
	events := cs.Events
	cs.Vehicle, cs.Shop, cs.OnTheRoad, cs.Events = b.base.cs.Vehicle, cond, cond, nil
	list, conditions, _, err := prepare(b.base.model, &cs)
	if err != nil {
		return nil, fmt.Errorf("lineup: %w", err)
	}
	l := &Lineup{model: b.base.model, cs: cs, opts: b.base.opts, evidence: list, conditions: conditions}
	prior := make(map[[2]int]float64)
	for _, s := range l.strata() {
		prior[s.causes] = s.prior
	}
	draw := *b.base.draw
	draw.strata = make([]stratum, len(b.base.draw.strata))
	for k, s := range b.base.draw.strata {
		draw.strata[k] = stratum{s.causes, prior[s.causes]}
	}
	l.draw = draw.extended(list, nil)
	l.prior = b.base.prior.copied()
	p := l.prior
	p.columns = nil
	for i := range p.logBase {
		k := p.cands[i].stratum
		p.logBase[i] = math.Log(draw.strata[k].prior * b.fits[k] / b.n[k])
	}
	total := logSumExp(p.logBase)
	for i := range p.logBase {
		p.logBase[i] -= total
	}
	for j := range list {
		if err := l.found(ctx, &list[j]); err != nil {
			return nil, fmt.Errorf("lineup: %w", err)
		}
	}
	l.complaining()
	still := l.opts.KeepStill
	l.opts.KeepStill = still || len(events) > 0
	if err := l.settle(ctx); err != nil {
		return nil, fmt.Errorf("lineup: %w", err)
	}
	for i, ev := range events {
		l.opts.KeepStill = still || i < len(events)-1
		if l, err = l.Extend(ctx, ev); err != nil {
			return nil, err
		}
	}
	return l, nil
}
