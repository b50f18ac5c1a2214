package trial

import (
	"context"
	"math"
	"slices"

	"weephole/cause"
	"weephole/lineup"
	"weephole/plan"
	"weephole/plan/solve"
)

// program is the program itself at work: lineup and plan. With byInformation
// it takes the check that tells most per cost until one cause is nearly sure,
// which is how (c) of the comparison works.
type program struct {
	model         *lineup.Model
	settings      *plan.Assumptions
	prices        *prices
	l             *lineup.Lineup
	rounds        int
	byInformation bool
	random        []string // checks still to be made in random order; nil for none

	ran     bool // a run has shown that something is still wrong
	checks  int
	named   bool
	beliefs []Belief
}

// Belief is what the program held at one moment of a car's work.
type Belief struct {
	At   string    // "complaint", "three", "six", "naming", "end"
	Odds []float64 // by cause of the catalogue
}

// randomChecks is how many checks are made in random order, to see the beliefs
// apart from the plan.
const randomChecks = 8

// surely is the probability at which information gathering ends.
const surely = 0.9

// leastInformation is the information, in nats, below which a check is not
// worth making for itself; judgement.
const leastInformation = 0.01

func (w *program) note(at string) {
	w.beliefs = append(w.beliefs, Belief{At: at, Odds: w.l.Probabilities()})
}

func (w *program) next(ctx context.Context, state plan.EngineState) (action, error) {
	if w.random != nil {
		if w.checks == randomChecks {
			return action{kind: solve.HandOn}, nil
		}
		return action{kind: solve.DoCheck, id: w.random[w.checks]}, nil
	}
	car, err := plan.ForLineup(ctx, w.l, w.settings, plan.Workshop{State: state})
	if err != nil {
		return action{}, err
	}
	var a action
	if w.byInformation {
		a = w.mostTelling(car, state)
	} else if a, err = w.cheapest(ctx, car, state); err != nil {
		return a, err
	}
	if a.kind != solve.DoCheck && !w.named {
		w.named = true
		if !w.byInformation {
			w.note("naming")
		}
	}
	return a, nil
}

// cheapest is what the plan puts first, as the mechanic is told it: of a visit to the engine what
// is done first in it, and with a repair what is put right along with it.
func (w *program) cheapest(ctx context.Context, car *plan.CarProblem, state plan.EngineState) (action, error) {
	search := car.Search(w.rounds)
	list, err := search.Rank(ctx, int(state))
	if err != nil {
		return action{}, err
	}
	if w.ran { // the run that shows that nothing is wrong has been made
		list = slices.DeleteFunc(list, func(a solve.Action) bool { return a.Kind == solve.DoRepair && car.Repairs[a.Index] == nil })
	}
	bad := w.bad(car)
	switch {
	case len(list) > 0 && list[0].Kind == solve.DoCheck:
		first := car.Round(search, list, int(state))[0]
		return action{kind: solve.DoCheck, id: car.Checks[first.Index].ID}, nil
	case len(list) > 0 && list[0].Kind == solve.DoRepair:
		return w.repairWith(car, search, list[0].Index, bad), nil
	case len(bad) > 0: // before the car is handed on, what was found bad is put right
		return action{kind: solve.DoRepair, id: bad[0].id, cause: bad[0].cause, along: bad[1:]}, nil
	}
	return action{kind: solve.HandOn}, nil
}

// bad is what was found bad and is cheap.
func (w *program) bad(car *plan.CarProblem) (list []side) {
	for _, x := range car.FoundBad(w.l.Case()) {
		list = append(list, side{x.Repair.ID, x.Cause, x.Cost})
	}
	return list
}

// repairWith is repair r of the plan, with what was found bad and what is worth doing at the
// same time.
func (w *program) repairWith(car *plan.CarProblem, search *solve.Search, r int, bad []side) action {
	a := action{kind: solve.DoRepair, cause: w.model.Causes.NoFault()}
	if rep := car.Repairs[r]; rep != nil {
		a.id, a.cause = rep.ID, likeliest(car, car.Problem.Repairs[r].Cures)
	}
	has := func(id string) bool {
		return a.id == id || slices.ContainsFunc(a.along, func(x side) bool { return x.id == id })
	}
	if q := car.With[r]; q != nil {
		a.along = append(a.along, side{q.ID, likeliest(car, car.Cures(q)), car.More(car.Repairs[r], q)})
	}
	for _, x := range bad {
		if !has(x.id) {
			a.along = append(a.along, x)
		}
	}
	for _, x := range car.Together(search, r) {
		if id := car.Repairs[x.Repair].ID; !has(id) {
			a.along = append(a.along, side{id, likeliest(car, car.Problem.Repairs[x.Repair].Cures), x.Now})
		}
	}
	return a
}

// likeliest is the cause with the most weight among those that a repair cures.
func likeliest(car *plan.CarProblem, cures []float64) int {
	weight := make(map[int]float64)
	best := -1
	for h, kinds := range car.Problem.Faults {
		for _, k := range kinds {
			if cures == nil || cures[k] > 0 {
				c := car.Kinds[k].Cause
				share := 1.0
				if cures != nil {
					share = cures[k]
				}
				weight[c] += car.Problem.Weight[h] * share
				if best < 0 || weight[c] > weight[best] || weight[c] == weight[best] && c < best {
					best = c
				}
			}
		}
	}
	return best
}

// mostTelling is the check with the most information per cost, or the repair
// of a cause that is nearly sure.
func (w *program) mostTelling(car *plan.CarProblem, state plan.EngineState) action {
	cat := w.model.Causes
	odds := make([]float64, len(cat.Causes))
	for h, kinds := range car.Problem.Faults {
		for _, k := range kinds {
			odds[car.Kinds[k].Cause] += car.Problem.Weight[h]
		}
	}
	top := 0
	for c := range odds {
		if odds[c] > odds[top] {
			top = c
		}
	}
	best, most := -1, 0.0
	if odds[top] < surely {
		for c := range car.Problem.Checks {
			info := information(car, c)
			if info < leastInformation {
				continue
			}
			if score := info / math.Max(1, car.Problem.Checks[c].Cost[state]); score > most {
				best, most = c, score
			}
		}
	}
	if best >= 0 {
		return action{kind: solve.DoCheck, id: car.Checks[best].ID}
	}
	if top == cat.NoFault() && !w.ran {
		return action{kind: solve.DoRepair, cause: top}
	}
	kind := w.usual(car, top)
	r := cat.UsualRepair(kind)
	if r < 0 {
		return action{kind: solve.HandOn}
	}
	if _, ok := w.prices.repair[cat.Repairs[r].ID]; !ok {
		return action{kind: solve.HandOn} // a specialist's work
	}
	return action{kind: solve.DoRepair, id: cat.Repairs[r].ID, cause: top}
}

// usual is the likeliest form of a cause.
func (w *program) usual(car *plan.CarProblem, index int) cause.Present {
	weight := make([]float64, len(car.Kinds))
	best := 0
	for h, kinds := range car.Problem.Faults {
		for _, k := range kinds {
			if car.Kinds[k].Cause == index {
				weight[k] += car.Problem.Weight[h]
				if weight[k] > weight[best] {
					best = k
				}
			}
		}
	}
	return car.Kinds[best]
}

// information is the mutual information, in nats, of a check's outcome and the
// set of causes (sites and hidden states apart).
func information(car *plan.CarProblem, c int) float64 {
	p := car.Problem
	group := make(map[[solve.MaxFaults]int]int)
	of := make([]int, len(p.Weight))
	for h, kinds := range p.Faults {
		key := [solve.MaxFaults]int{-1, -1, -1}
		for i, k := range kinds {
			key[i] = car.Kinds[k].Cause*64 + max(0, car.Kinds[k].Site)
		}
		if _, ok := group[key]; !ok {
			group[key] = len(group)
		}
		of[h] = group[key]
	}
	prior := make([]float64, len(group))
	for h, w := range p.Weight {
		prior[of[h]] += w
	}
	info := 0.0
	joint := make([]float64, len(group))
	for _, row := range p.Checks[c].P {
		clear(joint)
		total := 0.0
		for h, w := range p.Weight {
			joint[of[h]] += w * row[h]
			total += w * row[h]
		}
		for g, v := range joint {
			if v > 0 {
				info += v * math.Log(v/(total*prior[g]))
			}
		}
	}
	return info
}

func (w *program) found(ctx context.Context, ev lineup.Event) error {
	l, err := w.l.Extend(ctx, ev)
	if err != nil {
		return err
	}
	w.l = l
	w.checks++
	if !w.named && !w.byInformation {
		switch w.checks {
		case 3:
			w.note("three")
		case 6:
			w.note("six")
		}
	}
	return nil
}

// repaired weighs what a repair changed, and what the run after it showed: something is still
// wrong. What those along with it did is not known apart.
func (w *program) repaired(ctx context.Context, a action, changed cause.Change) error {
	w.ran = true
	var events []lineup.Event
	for _, x := range a.along {
		events = append(events, lineup.Event{Repair: x.id, Unknown: true})
	}
	if a.id != "" {
		events = append(events, lineup.Event{Repair: a.id, Changed: changed})
	}
	events = append(events, lineup.Event{Check: "repair-and-run", Word: "still-wrong"})
	for _, ev := range events {
		l, err := w.l.Extend(ctx, ev)
		if err != nil {
			return err
		}
		w.l = l
	}
	return nil
}
