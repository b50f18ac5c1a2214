package trial

import (
	"cmp"
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
	Did      []string `json:"did,omitempty"` // ids of the repairs done, in order
	WrongBig int      `json:"wrong_big"`     // costly repairs that took nothing away
	// FirstRight is true when the first repair took something away.
	FirstRight bool     `json:"first_right"`
	Steps      []string `json:"steps,omitempty"`
}

// hands is the work on one car in one way, as it goes on.
type hands struct {
	Worked
	c     *TrueCar
	v     *visit
	p     *prices
	w     way
	state plan.EngineState
}

// work has a car worked on in one way until it is cured or handed on.
func work(ctx context.Context, c *TrueCar, p *prices, w way) (*Worked, error) {
	h := &hands{c: c, v: newVisit(c), p: p, w: w, state: plan.Cold}
	if k, ok := w.(interface{ see(*visit) }); ok {
		k.see(h.v)
	}
	if c.Hot {
		h.state = plan.Hot
	}
	for range mostActions {
		a, err := w.next(ctx, h.state)
		switch {
		case err != nil:
		case a.kind == solve.HandOn:
			return h.handOn("hand on"), nil
		case a.kind == solve.DoCheck:
			err = h.check(ctx, a.id)
		default:
			err = h.repair(ctx, a)
		}
		if err != nil {
			return nil, fmt.Errorf("car %d: %w", c.Number, err)
		}
		if h.Proven {
			return &h.Worked, nil
		}
	}
	return h.handOn("hand on at the end of patience"), nil
}

// pay counts what an action costs, of which parts are not paid by the hour.
func (h *hands) pay(cost, parts float64) {
	h.Cost += cost
	h.Minutes += (cost - parts) / h.p.rate * 60
}

func (h *hands) handOn(step string) *Worked {
	h.Steps = append(h.Steps, step)
	fee := h.p.handing(h.c.model.Causes, h.v)
	h.pay(fee, fee)
	return &h.Worked
}

func (h *hands) check(ctx context.Context, id string) error {
	price, ok := h.p.check[id]
	if !ok {
		return fmt.Errorf("check %q has no price", id)
	}
	h.pay(price.Cost[h.state], h.p.parts[id])
	h.state = plan.EngineState(price.Then[h.state])
	h.Checks++
	ev := h.v.check(h.c.model.Checks.Check(id))
	h.Steps = append(h.Steps, id+": "+said(ev))
	if err := h.w.found(ctx, ev); err != nil {
		return fmt.Errorf("%s: %w", id, err)
	}
	return nil
}

// repair does a repair and runs the engine to see whether the car is cured.
func (h *hands) repair(ctx context.Context, a action) error {
	price, ok := h.p.repair[a.id]
	if a.id == "" {
		price, ok = h.p.run, true
	}
	if !ok {
		return fmt.Errorf("repair %q has no price", a.id)
	}
	h.pay(price.Cost[h.state], h.p.parts[a.id])
	h.state = plan.EngineState(price.Then[h.state])
	cat := h.c.model.Causes
	named := cat.Causes[cat.NoFault()].ID
	had, gone := len(h.v.faults), 0
	if h.v.beyond {
		had++
	}
	if a.id != "" {
		r := cat.Repair(a.id)
		gone = h.v.repair(r)
		named = "?"
		if a.cause >= 0 {
			named = cat.Causes[a.cause].ID
		}
		if r.Big && gone == 0 {
			h.WrongBig++
			h.Cost += price.Wrong
		}
		h.Did = append(h.Did, a.id)
	}
	h.Repairs++
	h.Proven = h.v.cured()
	if h.Repairs == 1 {
		h.FirstRight = gone > 0 || a.id == "" && h.Proven
	}
	h.Named = append(h.Named, named)
	h.Steps = append(h.Steps, fmt.Sprintf("%s for %s: %d of %d gone", cmp.Or(a.id, "run"), named, gone, had))
	if h.Proven {
		return nil
	}
	changed := cause.Nothing
	if gone > 0 {
		changed = cause.Better
	}
	if err := h.w.repaired(ctx, a.id, changed); err != nil {
		return fmt.Errorf("%s: %w", a.id, err)
	}
	return nil
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
