package answer

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"weephole/circuit"
	"weephole/lineup"
	"weephole/plan"
	"weephole/plan/solve"
)

// step tells an action of a plan, with the problem as it stands where it is done.
func step(car *plan.Car, p *solve.Problem, a solve.Action, state int, ask Ask) Step {
	s := Step{Cost: round(a.Cost), ExpectedCost: round(a.Expected), Least: round(a.Lower), Most: round(a.Upper),
		Cautions: []string{}, Tools: []string{}, Outcomes: []Outcome{}}
	if f := a.Followed; f != nil {
		s.Followed = &Followed{f.Engines, round(f.Cost), round(f.Error), f.Cured, f.Checks, f.Repairs}
	}
	m := car.Model
	switch a.Kind {
	case solve.DoCheck:
		k := car.Checks[a.Index]
		s.Do, s.Kind, s.Name, s.How = k.ID, "check", k.Name, k.How
		s.Minutes, s.Engine, s.Tools = k.Minutes.Typical, k.State, append(s.Tools, k.Tools...)
		s.Wait = car.Wait(k, plan.EngineState(state))
		s.Lacks = car.Lacking[a.Index]
		s.Cautions = cautions(m, k.Hazards, ask)
		if hot := car.Overheat[a.Index]; hot >= car.Settings.SayHeat.Value {
			s.Cautions = append(s.Cautions, fmt.Sprintf("Watch the coolant's temperature and shut the engine off at %s or the maker's limit: %s of these engines would pass it while this is done.",
				ask.Units.Temperature(circuit.LimitC), Per100(hot)))
		}
		for o, out := range a.Outcomes {
			if out.Probability <= 0 {
				continue
			}
			is, says := outcomeSays(car, a.Index, o, ask)
			s.Outcomes = append(s.Outcomes, Outcome{Is: is, Says: says, Probability: out.Probability, ExpectedCost: round(out.Expected), Leads: leads(car, p, out.Belief)})
		}
	case solve.DoRepair:
		if r := car.Repairs[a.Index]; r != nil {
			s.Do, s.Kind, s.Name, s.How = r.ID, "repair", r.Name, r.How
			s.Minutes, s.Engine, s.Tools = r.Minutes.Typical, r.State, append(s.Tools, r.Tools...)
			s.Cautions = cautions(m, r.Hazards, ask, r.Cautions...)
			s.Wait = car.RepairWait(r, plan.EngineState(state))
			s.RestsOn = restsOn(car, p, a.Index)
		} else {
			s.Do, s.Kind, s.Name, s.Engine = "prove-healthy", "repair", "run it as the owner does, and show that nothing is wrong", "any"
			s.Minutes = car.Settings.ProofRun.Value
		}
		s.Outcomes = append(s.Outcomes,
			Outcome{Is: "cured", Says: "the run after it shows a healthy engine", Probability: a.Outcomes[0].Probability, Leads: []Lead{}},
			Outcome{Is: "not-cured", Says: "something is still wrong", Probability: a.Outcomes[1].Probability, ExpectedCost: round(a.Outcomes[1].Expected), Leads: []Lead{}})
	default:
		s.Do, s.Kind, s.Name, s.Engine = "hand-on", "hand-on", "hand the car on to a specialist", "any"
	}
	return s
}

// restsOn says what a costly repair is recommended on; empty for a cheap one.
func restsOn(car *plan.Car, p *solve.Problem, r int) string {
	s := &car.Support[r]
	switch {
	case !s.Costly:
		return ""
	case s.ShownBy != "":
		return "shown directly by: " + car.Model.Checks.Check(s.ShownBy).Name
	case p.Repairs[r].Confirmed:
		return "shown directly on the way"
	case len(s.OutOfReach) > 0 && !s.Withheld():
		return "no check that shows it directly can be made with the tools at hand: it rests on all findings together"
	}
	return "the catalogue has no check that shows it directly: it rests on all findings together"
}

// outcomeSays is a check's outcome as its word or reading, and in words.
func outcomeSays(car *plan.Car, check, outcome int, ask Ask) (is, says string) {
	r := car.Results[check][outcome]
	if r.Reading != "" {
		return r.Reading, fmt.Sprintf("%s %s", spaced(r.Reading), Span(ask.Units, r.What, [2]float64{r.From, r.To}))
	}
	return r.Word, r.Says
}

// cautions are the sentences that must be read before a step.
func cautions(m *lineup.Model, hazards []string, ask Ask, more ...string) []string {
	out := append(append([]string{}, m.Causes.Cautions(hazards)...), more...)
	for i := range out {
		out[i] = ask.Units.InText(out[i])
	}
	return out
}

// leadsShown is how many causes are worth naming after an outcome; judgement.
const leadsShown = 3

func leads(car *plan.Car, p *solve.Problem, belief []float64) []Lead {
	by := make(map[int]float64)
	for h, w := range belief {
		seen := map[int]bool{}
		for _, k := range p.Faults[h] {
			if c := car.Kinds[k].Cause; !seen[c] {
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
		k := &car.Model.Causes.Causes[c]
		out = append(out, Lead{k.ID, k.Name, math.Round(by[c]*1e4) / 1e4})
	}
	return out
}

// waiting tells of the costly repairs that are likely and yet not recommended.
func waiting(car *plan.Car, ask Ask) []Waiting {
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
		bill := Money(car.Bill(rep), ask.Currency)
		if len(s.Open) > 0 {
			w.Says = fmt.Sprintf("Not yet: %s. What it is done for is there in %s, but only by findings that other faults share; %s is not spent on that. It must be shown directly first: %s.",
				rep.Name, Per100(w.Odds), bill, names(car, s.Open, " or "))
		} else {
			w.Says = fmt.Sprintf("Not recommended: %s. What it is done for stands at %s by the other findings, but what would have shown it directly did not (%s). Make that again before %s is spent, or hand the car on.",
				rep.Name, Per100(w.Odds), names(car, s.Silent, ", "), bill)
		}
		out = append(out, w)
	}
	return out
}

func names(car *plan.Car, checks []string, between string) string {
	s := ""
	for i, id := range checks {
		if i > 0 {
			s += between
		}
		s += car.Model.Checks.Check(id).Name
	}
	return s
}
