package finish

import (
	"context"
	"fmt"

	"weephole/internal/answer"
	"weephole/internal/job"
	"weephole/lineup"
	"weephole/quantity"
)

// Depth is how many steps deep the plan is drawn.
const Depth = 3

// Plan is what to do from here, as a tree; with a what-if also what it was before.
type Plan struct {
	*answer.Next
	If     []string     `json:"if,omitempty"` // what was changed, in words
	Before *answer.Next `json:"before,omitempty"`
}

// Plan waits for the plan of a job.
func (f *Finisher) Plan(ctx context.Context, s Subject, what answer.WhatIf) (*Plan, error) {
	return f.plan(s, what).wait(ctx)
}

// PlanNow gives the plan that is at hand, or begins it and says false.
func (f *Finisher) PlanNow(s Subject, what answer.WhatIf) (*Plan, bool, error) {
	r := f.plan(s, what)
	if !r.ready() {
		return nil, false, nil
	}
	return r.out, true, r.err
}

func (f *Finisher) plan(s Subject, what answer.WhatIf) *run[*Plan] {
	return f.plans.begin(&f.wg, fmt.Sprint(s.key(), what), func(ctx context.Context) (*Plan, error) {
		b, err := f.read(ctx, s)
		if err != nil {
			return nil, err
		}
		change, err := what.Read(f.cfg.Model, s.Units, b.job.Quote != nil)
		if err != nil {
			return nil, err
		}
		l, err := f.lineups.begin(&f.wg, s.key(), func(ctx context.Context) (*lineup.Lineup, error) { return f.weigh(ctx, b.work.Case) }).wait(ctx)
		if err != nil {
			return nil, err
		}
		ask := answer.Ask{Shop: b.work.Shop, Settings: f.cfg.Plan, Units: s.Units, Currency: Currency(b.job), Depth: Depth}
		if q := b.job.Quote; q != nil && q.Presumes != job.Unknown {
			ask.QuotePresumes, ask.QuoteRepair, ask.QuotePrice = q.Presumes, q.Repair, q.Price.Or(quantity.Money{}).Amount
		}
		out := &Plan{If: change.Says}
		if out.Next, err = answer.ForNext(ctx, l, ask); err != nil || len(change.Says) == 0 {
			return out, err
		}
		out.Before = out.Next
		out.Next, err = change.Next(ctx, l, ask)
		return out, err
	})
}
