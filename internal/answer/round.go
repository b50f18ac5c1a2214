package answer

import (
	"fmt"
	"slices"

	"weephole/plan"
	"weephole/plan/solve"
)

// Round is a visit to the engine that answers several questions.
type Round struct {
	Name      string          `json:"name"`
	Minutes   float64         `json:"minutes"` // of work
	Wait      float64         `json:"wait"`    // minutes until the engine is ready
	Cost      float64         `json:"cost"`
	Cautions  []string        `json:"cautions"`  // of all of it, read before it
	Questions []RoundQuestion `json:"questions"` // in the order in which they are answered
}

// RoundQuestion is a question of a round.
type RoundQuestion struct {
	Do      string  `json:"do"` // id of the check
	Name    string  `json:"name"`
	Asks    string  `json:"asks"`
	Minutes float64 `json:"minutes"`
	Cost    float64 `json:"cost"`
}

// round tells a visit; nil where the step stands alone.
func (t stepWriter) round(list []solve.Action, state int) *Round {
	if len(list) < 2 {
		return nil
	}
	car := t.car
	r := &Round{Name: car.VisitName(list), Cautions: []string{}}
	at, engine := state, plan.EngineState(state)
	for i, a := range list {
		k := car.Checks[a.Index]
		wait := car.Wait(k, engine)
		q := RoundQuestion{k.ID, k.Name, k.Asks, car.RoundMinutes(i, a, engine), round(a.Cost)}
		r.Minutes, r.Wait, r.Cost = r.Minutes+q.Minutes, r.Wait+wait, r.Cost+q.Cost
		for _, c := range t.step(car.Problem, a, at).Cautions {
			if !slices.Contains(r.Cautions, c) {
				r.Cautions = append(r.Cautions, c)
			}
		}
		r.Questions = append(r.Questions, q)
		at = car.Problem.Checks[a.Index].Then[at]
		engine = plan.EngineState(at)
	}
	return r
}

// tell says the visit in lines.
func (r *Round) tell(n *NextFacts) (lines []Line) {
	if n.Steps[0].Kind == "question" {
		lines = append(lines, Line{Visit, fmt.Sprintf("Ask these in one call (%s, %s):", Time(r.Minutes), n.money(r.Cost))})
		for i, q := range r.Questions {
			lines = append(lines, Line{VisitItem, fmt.Sprintf("%d. %s", i+1, q.Asks)})
		}
		return lines
	}
	wait := ""
	if r.Wait > 0 {
		wait = ", " + Time(r.Wait) + " of waiting in all"
	}
	lines = append(lines, Line{Visit, fmt.Sprintf("It is part of one visit: %s (%s of work%s, %s). The visit answers %d questions:",
		r.Name, Time(r.Minutes), wait, n.money(r.Cost), len(r.Questions))})
	for i, q := range r.Questions {
		lines = append(lines, Line{VisitItem, fmt.Sprintf("%d. %s (%s): %s", i+1, q.Name, Time(q.Minutes), q.Asks)})
	}
	return append(lines, Line{Visit, "Write each result down as it comes. Stop as soon as one settles it."})
}
