package trial

import (
	"context"

	"weephole/cause"
	"weephole/check"
	"weephole/lineup"
	"weephole/plan"
	"weephole/plan/solve"
)

// byOdds does repairs in the order of probability over cost, with no check at
// all: what the complaint alone supports.
type byOdds struct {
	car    *plan.CarProblem
	weight []float64 // of the hypotheses that are left
}

func newByOdds(car *plan.CarProblem) *byOdds {
	return &byOdds{car: car, weight: append([]float64(nil), car.Problem.Weight...)}
}

// leastLeft is the share of the cars below which it is no use going on.
const leastLeft = 0.02

func (w *byOdds) next(_ context.Context, state plan.EngineState) (action, error) {
	p := w.car.Problem
	best, most := -1, 0.0
	for r := range p.Repairs {
		gain := 0.0
		for h, v := range w.weight {
			share := 0.0
			for _, k := range p.Faults[h] {
				share = max(share, p.Repairs[r].Cures[k])
			}
			gain += v * share
		}
		if gain < leastLeft {
			continue
		}
		if score := gain / max(1, p.Repairs[r].Cost[state]); score > most {
			best, most = r, score
		}
	}
	if best < 0 {
		return action{kind: solve.HandOn}, nil
	}
	cures := p.Repairs[best].Cures
	for h := range w.weight {
		share := 0.0
		for _, k := range p.Faults[h] {
			share = max(share, cures[k])
		}
		w.weight[h] *= 1 - share
	}
	a := action{kind: solve.DoRepair, cause: likeliest(w.car, cures)}
	if r := w.car.Repairs[best]; r != nil {
		a.id = r.ID
	}
	return a, nil
}

func (w *byOdds) found(context.Context, lineup.Event) error            { return nil }
func (w *byOdds) repaired(context.Context, action, cause.Change) error { return nil }

// byBook works through the textbook's order for the kind of complaint.
type byBook struct {
	model *lineup.Model
	book  *Textbook
	order *Order
	car   *TrueCar
	step  int
	then  int
	alarm string // repair that the last check calls for
}

func newByBook(book *Textbook, c *TrueCar) *byBook {
	w := &byBook{model: c.model, book: book, car: c}
	for i := range book.Orders {
		if book.Orders[i].Complaint == c.Case.Complaint.Trouble.String() {
			w.order = &book.Orders[i]
		}
	}
	return w
}

func (w *byBook) next(context.Context, plan.EngineState) (action, error) {
	if w.alarm != "" {
		id := w.alarm
		w.alarm = ""
		return action{kind: solve.DoRepair, id: id, cause: w.causeOf(id)}, nil
	}
	if w.step < len(w.order.Steps) {
		w.step++
		return action{kind: solve.DoCheck, id: w.order.Steps[w.step-1].Check}, nil
	}
	if w.then < len(w.order.Then) {
		w.then++
		id := w.order.Then[w.then-1]
		return action{kind: solve.DoRepair, id: id, cause: w.causeOf(id)}, nil
	}
	return action{kind: solve.HandOn}, nil
}

// causeOf is the first cause that a repair is for.
func (w *byBook) causeOf(id string) int {
	if r := w.model.Causes.Repair(id); r != nil && len(r.Cures) > 0 {
		return w.model.Causes.Index(r.Cures[0].Cause)
	}
	return -1
}

func (w *byBook) found(_ context.Context, ev lineup.Event) error {
	word := ev.Word
	if word == "" {
		word = wordOf(w.model.Checks.Check(ev.Check), ev)
	}
	w.alarm = w.order.Steps[w.step-1].repairFor(word)
	if w.alarm == "leak" {
		w.alarm = w.seen()
	}
	return nil
}

// seen is the repair of the leak that is seen: where it really is, if it is.
func (w *byBook) seen() string {
	cat := w.model.Causes
	for _, f := range w.car.Faults {
		if cat.Causes[f.Cause].ID == w.book.Leak {
			if r := cat.UsualRepair(f); r >= 0 {
				return cat.Repairs[r].ID
			}
		}
	}
	return w.book.Unseen
}

func (w *byBook) repaired(context.Context, action, cause.Change) error { return nil }

// wordOf puts readings into the word that a mechanic would use for them: the
// one whose thresholds they pass, as far as the check has any; else no alarm.
func wordOf(k *check.Check, ev lineup.Event) string {
	value := make(map[string]float64)
	for _, r := range ev.Readings {
		i := k.ReadingIndex(r.ID)
		if i < 0 || k.Readings[i].Of == "" {
			continue
		}
		x := r.Value
		if k.Readings[i].What == "duration" {
			x /= 60 // observables are in minutes
		}
		of := k.Readings[i].Of
		if k.Readings[i].Minus != "" {
			of += " minus " + k.Readings[i].Minus
		}
		value[of] = x
	}
	for i := range k.Words {
		wd := &k.Words[i]
		if len(wd.When) == 0 {
			continue
		}
		holds := true
		for _, when := range wd.When {
			x, ok := value[when.Of]
			if when.Minus != "" {
				if x, ok = value[when.Of+" minus "+when.Minus]; !ok {
					a, okA := value[when.Of]
					b, okB := value[when.Minus]
					x, ok = a-b, okA && okB
				}
			}
			if !ok {
				holds = false
				break
			}
			holds = holds && (when.Above == nil || x > *when.Above) && (when.Below == nil || x < *when.Below)
		}
		if holds {
			return wd.Is
		}
	}
	for i := range k.Words {
		if !k.Words[i].Alarm {
			return k.Words[i].Is
		}
	}
	return ""
}

// knowing knows what is wrong and does the cheapest repair of it, again if it
// was botched: the bound that no way of working can beat but by luck.
type knowing struct {
	prices *prices
	visit  *visit
	tried  map[string]int
}

func newKnowing(p *prices) *knowing {
	return &knowing{prices: p, tried: make(map[string]int)}
}

func (w *knowing) see(v *visit) { w.visit = v }

func (w *knowing) next(_ context.Context, state plan.EngineState) (action, error) {
	cat := w.visit.car.model.Causes
	if w.visit.cured() {
		return action{kind: solve.DoRepair, cause: cat.NoFault()}, nil
	}
	best, most := -1, 0.0
	for i := range cat.Repairs {
		r := &cat.Repairs[i]
		price, ok := w.prices.repair[r.ID]
		if !ok || w.tried[r.ID] >= mostTimes {
			continue
		}
		gain := 0.0
		for _, f := range w.visit.faults {
			gain += r.Succeeds(cat, f)
		}
		if score := gain / price.Cost[state]; score > most {
			best, most = i, score
		}
	}
	if best < 0 {
		return action{kind: solve.HandOn}, nil
	}
	id := cat.Repairs[best].ID
	w.tried[id]++
	return action{kind: solve.DoRepair, id: id, cause: w.visit.faults[0].Cause}, nil
}

// mostTimes is how often somebody who knows does a repair that fails; judgement.
const mostTimes = 3

func (w *knowing) found(context.Context, lineup.Event) error            { return nil }
func (w *knowing) repaired(context.Context, action, cause.Change) error { return nil }
