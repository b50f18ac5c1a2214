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

// mostSteps is how many steps a car gets before it is handed on: a repair, or one
// visit to the engine, whatever is asked in it; judgement.
const mostSteps = 25

// action is what a way of working does next. A repair without an id is the run
// that shows that nothing is wrong.
type action struct {
	kind  solve.ActionKind
	id    string
	cause int    // the cause that a repair is done for, or -1
	along []side // repairs done along with it, and proven by the same run
}

// side is a repair that is done along with another.
type side struct {
	id    string
	cause int
	cost  float64
}

// way is a way of working on a car.
type way interface {
	next(ctx context.Context, state plan.EngineState) (action, error)
	// found hands it what a check showed.
	found(ctx context.Context, ev lineup.Event) error
	// repaired hands it what a repair and those along with it changed, when the car is
	// not cured.
	repaired(ctx context.Context, a action, changed cause.Change) error
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

// work has a car worked on in one way until it is cured or handed on.
func work(ctx context.Context, c *TrueCar, p *prices, w way) (*Worked, error) {
	v := newVisit(c)
	if k, ok := w.(interface{ see(*visit) }); ok {
		k.see(v)
	}
	b := &bay{car: c, prices: p, visit: v, state: plan.Cold, out: &Worked{}}
	if c.Hot {
		b.state = plan.Hot
	}
	for steps := 0; ; {
		a, err := w.next(ctx, b.state)
		if err != nil {
			return nil, fmt.Errorf("car %d: %w", c.Number, err)
		}
		if b.begins(a) {
			if steps++; steps > mostSteps {
				b.handOn("hand on at the end of patience")
				return b.out, nil
			}
		}
		switch a.kind {
		case solve.DoCheck:
			err = b.check(ctx, w, a)
		case solve.DoRepair:
			err = b.repair(ctx, w, a)
		default:
			b.handOn("hand on")
			return b.out, nil
		}
		if err != nil {
			return nil, fmt.Errorf("car %d: %s: %w", c.Number, cmp.Or(a.id, "run"), err)
		}
		if b.out.Proven {
			return b.out, nil
		}
	}
}

// bay is one car while it is worked on in one way.
type bay struct {
	car    *TrueCar
	prices *prices
	visit  *visit
	state  plan.EngineState
	last   int // visit to the engine that the last check belongs to; 0 for none
	out    *Worked
}

// begins is true for a step of its own: all but a check of the visit that the last one
// belongs to.
func (b *bay) begins(a action) bool {
	now := 0
	if a.kind == solve.DoCheck {
		now = b.prices.visit[a.id]
	}
	same := now > 0 && now == b.last
	b.last = now
	return !same
}

func (b *bay) pay(cost, parts float64) {
	b.out.Cost += cost
	b.out.Minutes += (cost - parts) / b.prices.rate * 60
}

func (b *bay) handOn(said string) {
	b.out.Steps = append(b.out.Steps, said)
	cost := b.prices.handing(b.car.model.Causes, b.visit)
	b.pay(cost, cost)
}

func (b *bay) check(ctx context.Context, w way, a action) error {
	price, ok := b.prices.check[a.id]
	if !ok {
		return fmt.Errorf("the check has no price")
	}
	b.pay(price.Cost[b.state], b.prices.parts[a.id])
	b.state = plan.EngineState(price.Then[b.state])
	b.out.Checks++
	ev := b.visit.check(b.car.model.Checks.Check(a.id))
	b.out.Steps = append(b.out.Steps, a.id+": "+said(ev))
	return w.found(ctx, ev)
}

// repair does a repair and those along with it, and makes the run after them.
func (b *bay) repair(ctx context.Context, w way, a action) error {
	cat, v := b.car.model.Causes, b.visit
	price, ok := b.prices.repair[a.id]
	if a.id == "" {
		price, ok = b.prices.run, true
	}
	if !ok {
		return fmt.Errorf("the repair has no price")
	}
	had, gone, first := v.wrong(), 0, b.out.Repairs == 0
	for _, x := range a.along {
		b.pay(x.cost, min(x.cost, b.prices.parts[x.id]))
		n := v.repair(cat.Repair(x.id))
		gone += n
		b.did(x.id, x.cause, n, had)
	}
	b.pay(price.Cost[b.state], b.prices.parts[a.id])
	b.state = plan.EngineState(price.Then[b.state])
	main := 0
	if a.id != "" {
		r := cat.Repair(a.id)
		if main = v.repair(r); r.Big && main == 0 {
			b.out.WrongBig++
			b.out.Cost += price.Wrong
		}
		gone += main
	} else {
		a.cause = cat.NoFault()
	}
	b.did(a.id, a.cause, main, had)
	if first {
		b.out.FirstRight = gone > 0 || a.id == "" && v.cured()
	}
	if v.cured() {
		b.out.Proven = true
		return nil
	}
	changed := cause.Nothing
	if main > 0 {
		changed = cause.Better
	}
	return w.repaired(ctx, a, changed)
}

// did notes a repair: for which cause it was done, and how many of the faults it took away.
func (b *bay) did(id string, index, gone, had int) {
	named := "?"
	if index >= 0 {
		named = b.car.model.Causes.Causes[index].ID
	}
	b.out.Repairs++
	b.out.Named = append(b.out.Named, named)
	if id != "" {
		b.out.Did = append(b.out.Did, id)
	}
	b.out.Steps = append(b.out.Steps, fmt.Sprintf("%s for %s: %d of %d gone", cmp.Or(id, "run"), named, gone, had))
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
