package answer

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"weephole/circuit"
	"weephole/plan"
	"weephole/plan/solve"
)

// stepWriter puts a plan for one car into words.
type stepWriter struct {
	car *plan.CarProblem
	Style
}

// What a run after a repair may show.
const (
	healthyAfter = "the run after it shows a healthy engine"
	stillWrong   = "something is still wrong"
)

// step tells an action of a plan, with the problem as it stands where it is done.
func (t stepWriter) step(p *solve.Problem, a solve.Action, state int) Step {
	s := Step{Cost: round(a.Cost), ExpectedCost: round(a.Expected), Least: round(a.Lower), Most: round(a.Upper),
		Cautions: []string{}, Tools: []string{}, Outcomes: []OutcomeFacts{}}
	if f := a.Followed; f != nil {
		s.Followed = &FollowedFacts{f.Engines, round(f.Cost), round(f.Error), f.Cured, f.Checks, f.Repairs}
	}
	car := t.car
	switch a.Kind {
	case solve.DoCheck:
		k := car.Checks[a.Index]
		s.Do, s.Kind, s.Name, s.How = k.ID, "check", k.Name, k.How
		if plan.Asks(k.ID) != "" {
			s.Kind, s.Asks = "question", k.Asks
		}
		s.Minutes, s.Engine, s.Tools = k.Minutes.Typical, k.State, append(s.Tools, k.Tools...)
		s.Wait = car.Wait(k, plan.EngineState(state))
		s.Lacks = car.Lacking[a.Index]
		s.Again = car.Repeats(a.Index)
		s.Cautions = t.cautions(k.Hazards)
		if plan.Runs(k) {
			s.Cautions = append(s.Cautions, t.stopAt(car.Overheat[a.Index]))
		}
		for o, out := range a.Outcomes {
			if out.Probability <= 0 {
				continue
			}
			is, says := t.outcome(a.Index, o)
			s.Outcomes = append(s.Outcomes, OutcomeFacts{Is: is, Says: says, Probability: out.Probability, ExpectedCost: round(out.Expected), Leads: t.leads(p, out.Belief)})
		}
	case solve.DoRepair:
		if r := car.Repairs[a.Index]; r != nil {
			r = car.On(r)
			s.Do, s.Kind, s.Name, s.How = r.ID, "repair", r.Name, r.How
			s.Minutes, s.Engine, s.Tools = r.Minutes.Typical, r.State, append(s.Tools, r.Tools...)
			s.Cautions = t.cautions(r.Hazards, r.Cautions...)
			s.Wait = car.RepairWait(r, plan.EngineState(state))
			s.RestsOn = t.support(p, a.Index)
			t.inOneDrain(&s, a.Index)
		} else {
			s.Do, s.Kind, s.Name, s.Engine = ProveHealthy, "repair", "run the car as the owner does, and show that nothing is wrong", "any"
			s.Minutes = car.Settings.ProofRun.Value
			s.Cautions = append(s.Cautions, t.stopAt(0))
		}
		s.Outcomes = append(s.Outcomes,
			OutcomeFacts{Is: "cured", Says: healthyAfter, Probability: a.Outcomes[0].Probability, Leads: []Lead{}},
			OutcomeFacts{Is: "not-cured", Says: stillWrong, Probability: a.Outcomes[1].Probability, ExpectedCost: round(a.Outcomes[1].Expected), Leads: []Lead{}})
	default:
		s.Do, s.Kind, s.Name, s.Engine = "hand-on", "hand-on", "refer the car to a specialist", "any"
	}
	return s
}

// inOneDrain adds to a repair of the problem what is done in the same drain.
func (t stepWriter) inOneDrain(s *Step, repair int) {
	q := t.car.With[repair]
	if q == nil {
		return
	}
	q = t.car.On(q)
	s.With, s.Minutes = append(s.With, q.ID), t.car.Minutes(repair)
	s.Name += " and, in the same drain, " + q.Name
	s.How += " In the same drain: " + q.How
	for _, c := range t.cautions(q.Hazards, q.Cautions...) {
		if !slices.Contains(s.Cautions, c) {
			s.Cautions = append(s.Cautions, c)
		}
	}
	for _, tool := range q.Tools {
		if !slices.Contains(s.Tools, tool) {
			s.Tools = append(s.Tools, tool)
		}
	}
}

// stopAt is the temperature at which a running engine is switched off, and what share
// of those that still fit would pass it meanwhile.
func (t stepWriter) stopAt(pass float64) string {
	text := fmt.Sprintf("Watch the coolant temperature. Switch the engine off at %s or the maker's limit", t.Units.Temperature(circuit.LimitC))
	if pass >= t.car.Settings.SayHeat.Value {
		text += fmt.Sprintf(": %s of these engines would pass it during this check", Percent(pass))
	}
	return text + "."
}

// support says what a costly repair is recommended on; empty for a cheap one.
func (t stepWriter) support(p *solve.Problem, r int) string {
	s := &t.car.Support[r]
	switch {
	case !s.Costly:
		return ""
	case s.ShownBy != "":
		return fmt.Sprintf("shown directly by “%s”", t.car.Model.Checks.Check(s.ShownBy).NameMade())
	case p.Repairs[r].Confirmed:
		return "shown directly on the way"
	case len(s.OutOfReach) > 0 && !s.Withheld():
		return "no check with the tools at hand shows it directly; it rests on all findings together"
	}
	return "no check in the catalogue shows it directly; it rests on all findings together"
}

// outcome is a check's outcome as its word or reading, and in words.
func (t stepWriter) outcome(check, outcome int) (is, says string) {
	r := t.car.Results[check][outcome]
	if r.Reading != "" {
		return r.Reading, fmt.Sprintf("%s %s", spaced(r.Reading), Span(t.Units, r.What, [2]float64{r.From, r.To}))
	}
	return r.Word, r.Says
}

// cautions are the sentences that must be read before a step.
func (t stepWriter) cautions(hazards []string, more ...string) []string {
	out := append(append([]string{}, t.car.Model.Causes.Cautions(hazards, t.car.Fan)...), more...)
	for i := range out {
		out[i] = t.Units.InText(out[i])
	}
	return out
}

// leadsShown is how many causes are worth naming after an outcome; judgement.
const leadsShown = 3

func (t stepWriter) leads(p *solve.Problem, belief []float64) []Lead {
	by := make(map[int]float64)
	for h, w := range belief {
		seen := map[int]bool{}
		for _, k := range p.Faults[h] {
			if c := t.car.Kinds[k].Cause; !seen[c] {
				seen[c] = true
				by[c] += w
			}
		}
	}
	var ids []int
	for c := range by {
		ids = append(ids, c)
	}
	sort.Slice(ids, func(i, j int) bool {
		if by[ids[i]] != by[ids[j]] {
			return by[ids[i]] > by[ids[j]]
		}
		return ids[i] < ids[j]
	})
	out := []Lead{}
	for _, c := range ids[:min(leadsShown, len(ids))] {
		k := &t.car.Model.Causes.Causes[c]
		out = append(out, Lead{k.ID, k.Name, math.Round(by[c]*1e4) / 1e4})
	}
	return out
}

// waiting tells of the costly repairs that are likely and yet not recommended.
func (t stepWriter) waiting() []Waiting {
	car := t.car
	out := []Waiting{}
	for r, rep := range car.Repairs {
		if rep == nil || !car.Problem.Waits(r) {
			continue
		}
		s := &car.Support[r]
		w := Waiting{Repair: rep.ID, Name: rep.Name, ShowBy: append([]string{}, s.Open...)}
		for h, kinds := range car.Problem.Faults {
			if slices.ContainsFunc(kinds, func(k int) bool { return slices.Contains(s.For, k) }) {
				w.Odds += car.Problem.Weight[h]
			}
		}
		bill := t.money(car.Bill(rep))
		if len(s.Open) > 0 {
			w.Says = fmt.Sprintf("Not yet: %s. The probability of its cause is %s, but other faults show the same findings. Confirm it directly before spending %s: %s.",
				rep.Name, Percent(w.Odds), bill, t.checkNames(s.Open, " or "))
		} else {
			w.Says = fmt.Sprintf("Not recommended: %s. The probability of its cause is %s, but the direct check did not show it (%s). Repeat that check before spending %s, or refer the car.",
				rep.Name, Percent(w.Odds), t.checkNames(s.Silent, " and "), bill)
		}
		out = append(out, w)
	}
	return out
}

func (t stepWriter) checkNames(ids []string, last string) string {
	var out []string
	for _, id := range ids {
		out = append(out, t.car.Model.Checks.Check(id).Name)
	}
	return listed(out, last)
}
