package answer

import "weephole/plan/solve"

// PlanFacts is what to do at one point of the plan, and after each outcome.
type PlanFacts struct {
	Do           string     `json:"do"`
	Kind         string     `json:"kind"` // check | question | repair | hand-on
	Name         string     `json:"name"`
	How          string     `json:"how,omitempty"`
	Minutes      float64    `json:"minutes"`
	Wait         float64    `json:"wait"`
	Cost         float64    `json:"cost"`
	ExpectedCost float64    `json:"expected_cost"` // from there to a cured car
	Cautions     []string   `json:"cautions"`
	Tools        []string   `json:"tools"` // by name
	RestsOn      string     `json:"rests_on,omitempty"`
	Ways         []WayFacts `json:"ways"`
}

// WayFacts is an outcome and what follows it.
type WayFacts struct {
	OutcomeFacts
	Then *PlanFacts `json:"then,omitempty"`
}

func (t stepWriter) tree(b *solve.Branch) *PlanFacts {
	if b == nil {
		return nil
	}
	s := t.step(b.Problem, b.Action, b.State)
	p := &PlanFacts{Do: s.Do, Kind: s.Kind, Name: s.Name, How: s.How, Minutes: s.Minutes, Wait: s.Wait, Cost: s.Cost,
		ExpectedCost: s.ExpectedCost, Cautions: s.Cautions, Tools: t.car.Model.Causes.ToolNames(s.Tools), RestsOn: s.RestsOn, Ways: []WayFacts{}}
	at := 0
	for o, out := range b.Action.Outcomes {
		if b.Action.Kind == solve.DoCheck && out.Probability <= 0 {
			continue
		}
		w := WayFacts{OutcomeFacts: s.Outcomes[at]}
		at++
		if o < len(b.Then) && b.Then[o] != nil {
			w.Then = t.tree(b.Then[o])
		}
		p.Ways = append(p.Ways, w)
	}
	return p
}

// after is the branch after an outcome; nil where there is none.
func (p *PlanFacts) after(is, says string) *PlanFacts {
	if p == nil {
		return nil
	}
	for i := range p.Ways {
		if w := &p.Ways[i]; w.Is == is && w.Says == says {
			return w.Then
		}
	}
	return nil
}
