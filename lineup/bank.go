package lineup

import (
	"context"
	"fmt"
	"slices"

	"weephole/circuit"
)

// Bank is a lineup drawn for a vehicle before anything is known of its trouble,
// every candidate run through the whole drill. Any number of cases of that
// vehicle can be weighed against it at the cost of their findings alone.
type Bank struct {
	base *Lineup
}

// NewBank draws and runs a bank in the given surroundings.
func NewBank(ctx context.Context, m *Model, v circuit.Vehicle, cond circuit.Conditions, o DrawOptions) (*Bank, error) {
	o = o.completed()
	cs := Case{Vehicle: v, Shop: cond, OnTheRoad: cond}
	list, conditions, _, err := prepare(m, &cs)
	if err != nil {
		return nil, fmt.Errorf("bank: %w", err)
	}
	l := &Lineup{model: m, cs: cs, opts: o, evidence: list, conditions: conditions}
	// As if the engine had run hot and dry, so that consequences have candidates.
	sets := strata(m.Causes, suspicion{secondFault: m.Settings.SecondFault.Value, beside: true, ranHot: true, lostCoolant: true})
	l.draw = newDrawer(m, v, sets).extended(list, nil)
	if err := l.firstRound(ctx); err != nil {
		return nil, fmt.Errorf("bank: %w", err)
	}
	if err := l.Warm(ctx); err != nil {
		return nil, fmt.Errorf("bank: %w", err)
	}
	p := l.pop
	err = l.each(ctx, p.size(), func(_ *kit, i int) {
		s := l.subject(&p.now[i], p.records[i])
		p.any[i] = comesIn(m, &s)
	})
	if err != nil {
		return nil, fmt.Errorf("bank: %w", err)
	}
	return &Bank{base: l}, nil
}

// Lineup weighs a case of the bank's vehicle. A case in other surroundings, or
// with findings made in others, is drawn from its own beginning.
func (b *Bank) Lineup(ctx context.Context, cs Case) (*Lineup, error) {
	cond := b.base.cs.Shop
	set := b.base.model.Settings
	if !set.alike(cs.Shop, cond, set.FindingAir.Value) || !set.alike(cs.OnTheRoad, cond, set.ComplaintAir.Value) {
		return New(ctx, b.base.model, cs, b.base.opts)
	}
	events := cs.Events
	cs.Vehicle, cs.Shop, cs.OnTheRoad, cs.Events = b.base.cs.Vehicle, cond, cond, nil
	list, conditions, _, err := prepare(b.base.model, &cs)
	if err != nil {
		return nil, fmt.Errorf("lineup: %w", err)
	}
	l := b.base.copied(cs, list, conditions)
	own := make(map[[2]int]stratum)
	for _, s := range l.strata() {
		own[s.causes] = s
	}
	draw := *l.draw
	draw.strata = slices.Clone(draw.strata)
	for k := range draw.strata {
		causes := draw.strata[k].causes
		draw.strata[k] = own[causes]
		draw.strata[k].causes = causes
	}
	l.draw = draw.extended(list, nil)
	l.pop.columns = nil
	l.rebase()
	for j := range list {
		if err := l.found(ctx, &list[j]); err != nil {
			return nil, fmt.Errorf("lineup: %w", err)
		}
	}
	l.complaining()
	still := l.opts.KeepStill
	l.opts.KeepStill = still || len(events) > 0
	if err := l.sampleRounds(ctx); err != nil {
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
