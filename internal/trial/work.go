package trial

import (
	"context"
	"fmt"

	"weephole/cause"
	"weephole/lineup"
	"weephole/plan"
	"weephole/plan/solve"
)

// mostActions is how many checks and repairs a car gets before it is handed on;
// judgement.
const mostActions = 25

// action is what a way of working does next. A repair without an id is the run
// that shows that nothing is wrong.
type action struct {
	kind  solve.ActionKind
	id    string
	cause int // the cause that a repair is done for, or -1
}

// way is a way of working on a car.
type way interface {
	next(ctx context.Context, state plan.EngineState) (action, error)
	// found hands it what a check showed.
	found(ctx context.Context, ev lineup.Event) error
	// repaired hands it what a repair changed, when the car is not cured.
	repaired(ctx context.Context, id string, changed cause.Change) error
}

// Worked is how the work on one car went.
type Worked struct {
	Cost    float64 `json:"cost"`    // US$, to the proven repair, handing on included
	Minutes float64 `json:"minutes"` // of paid time, waiting at its share
	Checks  int     `json:"checks"`
	Repairs int     `json:"repairs"`
	Proven  bool    `json:"proven"` // cured here and shown to be
	// Named are the causes for which repairs were done, in order.
	Named    []string `json:"named"`
	WrongBig int      `json:"wrong_big"` // costly repairs that took nothing away
	// FirstRight is true when the first repair took something away.
	FirstRight bool     `json:"first_right"`
	Steps      []string `json:"steps,omitempty"`
}

// work has a car worked on in one way until it is cured or handed on.
func work(ctx context.Context, c *TrueCar, p *prices, w way) (*Worked, error) {
	v := newVisit(c)
	cat := c.model.Causes
	if k, ok := w.(interface{ see(*visit) }); ok {
		k.see(v)
	}
	state := plan.Cold
	if c.Hot {
		state = plan.Hot
	}
	out := &Worked{}
	pay := func(cost, parts float64) {
		out.Cost += cost
		out.Minutes += (cost - parts) / p.rate * 60
	}
	for range mostActions {
		a, err := w.next(ctx, state)
		if err != nil {
			return nil, fmt.Errorf("car %d: %w", c.Number, err)
		}
		switch {
		case a.kind == solve.DoCheck:
			price, ok := p.check[a.id]
			if !ok {
				return nil, fmt.Errorf("car %d: check %q has no price", c.Number, a.id)
			}
			pay(price.Cost[state], p.parts[a.id])
			state = plan.EngineState(price.Then[state])
			out.Checks++
			ev := v.check(c.model.Checks.Check(a.id))
			out.Steps = append(out.Steps, a.id+": "+said(ev))
			if err := w.found(ctx, ev); err != nil {
				return nil, fmt.Errorf("car %d: %s: %w", c.Number, a.id, err)
			}
			continue
		case a.kind == solve.HandOn:
			out.Steps = append(out.Steps, "hand on")
			pay(p.handing(cat, v), p.handing(cat, v))
			return out, nil
		}

		price, ok := p.repair[a.id]
		if a.id == "" {
			price, ok = p.run, true
		}
		if !ok {
			return nil, fmt.Errorf("car %d: repair %q has no price", c.Number, a.id)
		}
		pay(price.Cost[state], p.parts[a.id])
		state = plan.EngineState(price.Then[state])
		named := cat.Causes[cat.NoFault()].ID
		had, gone := len(v.faults), 0
		if v.beyond {
			had++
		}
		if a.id != "" {
			r := cat.Repair(a.id)
			gone = v.repair(r)
			named = "?"
			if a.cause >= 0 {
				named = cat.Causes[a.cause].ID
			}
			if r.Big && gone == 0 {
				out.WrongBig++
				out.Cost += price.Wrong
			}
		}
		out.Repairs++
		if out.Repairs == 1 {
			out.FirstRight = gone > 0 || a.id == "" && v.cured()
		}
		out.Named = append(out.Named, named)
		out.Steps = append(out.Steps, fmt.Sprintf("%s for %s: %d of %d gone", orRun(a.id), named, gone, had))
		if v.cured() {
			out.Proven = true
			return out, nil
		}
		changed := cause.Nothing
		if gone > 0 {
			changed = cause.Better
		}
		if err := w.repaired(ctx, a.id, changed); err != nil {
			return nil, fmt.Errorf("car %d: %s: %w", c.Number, a.id, err)
		}
	}
	out.Steps = append(out.Steps, "hand on at the end of patience")
	pay(p.handing(cat, v), p.handing(cat, v))
	return out, nil
}

func orRun(id string) string {
	if id == "" {
		return "run"
	}
	return id
}

func said(ev lineup.Event) string {
	if ev.Word != "" {
		return ev.Word
	}
	text := ""
	for i, r := range ev.Readings {
		if i > 0 {
			text += ", "
		}
		text += fmt.Sprintf("%s %.4g", r.ID, r.Value)
	}
	return text
}
