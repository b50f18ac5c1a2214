package answer

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"weephole/plan"
	"weephole/plan/solve"
)

// Plan is what to do at one point of the plan, and after each outcome.
type Plan struct {
	Do           string   `json:"do"`
	Kind         string   `json:"kind"` // check | repair | hand-on
	Name         string   `json:"name"`
	How          string   `json:"how,omitempty"`
	Minutes      float64  `json:"minutes"`
	Wait         float64  `json:"wait"`
	Cost         float64  `json:"cost"`
	ExpectedCost float64  `json:"expected_cost"` // from there to a cured car
	Cautions     []string `json:"cautions"`
	Tools        []string `json:"tools"` // by name
	RestsOn      string   `json:"rests_on,omitempty"`
	Ways         []Way    `json:"ways"`
}

// Way is an outcome and what follows it.
type Way struct {
	Outcome
	Then *Plan `json:"then,omitempty"`
}

func tree(car *plan.Car, b *solve.Branch, ask Ask) *Plan {
	if b == nil {
		return nil
	}
	s := step(car, b.Problem, b.Action, b.State, ask)
	p := &Plan{Do: s.Do, Kind: s.Kind, Name: s.Name, How: s.How, Minutes: s.Minutes, Wait: s.Wait, Cost: s.Cost,
		ExpectedCost: s.ExpectedCost, Cautions: s.Cautions, Tools: car.Model.Causes.ToolNames(s.Tools), RestsOn: s.RestsOn, Ways: []Way{}}
	at := 0
	for o, out := range b.Action.Outcomes {
		if b.Action.Kind == solve.DoCheck && out.Probability <= 0 {
			continue
		}
		w := Way{Outcome: s.Outcomes[at]}
		at++
		if o < len(b.Then) && b.Then[o] != nil {
			w.Then = tree(car, b.Then[o], ask)
		}
		p.Ways = append(p.Ways, w)
	}
	return p
}

// after is the branch after an outcome; nil where there is none.
func (p *Plan) after(is, says string) *Plan {
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

// Tree writes a plan as an indented tree.
func (p *Page) Tree(t *Plan, currency string) {
	if t != nil {
		p.branch("", t, currency)
	}
}

func (p *Page) branch(indent string, t *Plan, currency string) {
	line := t.Name
	switch t.Kind {
	case "check":
		line += fmt.Sprintf(" (%.0f min, %s)", t.Minutes, Money(t.Cost, currency))
	case "repair":
		line = "→ " + line + fmt.Sprintf(" (%s)", Money(t.Cost, currency))
	}
	p.hang(indent, indent, line)
	for i, w := range t.Ways {
		mark, on := "├─ ", "│  "
		if i == len(t.Ways)-1 {
			mark, on = "└─ ", "   "
		}
		text := fmt.Sprintf("%s, %s", w.Says, Per100(w.Probability))
		if len(w.Leads) > 0 {
			text += fmt.Sprintf(": %s %s", w.Leads[0].Name, Per100(w.Leads[0].Probability))
		}
		if w.ExpectedCost > 0 {
			text += fmt.Sprintf("; %s to come", Money(w.ExpectedCost, currency))
		}
		p.hang(indent+mark, indent+on, text)
		if w.Then != nil {
			p.branch(indent+on, w.Then, currency)
		}
	}
}

// hang writes a paragraph behind one indent and goes on behind another.
func (p *Page) hang(first, on, text string) {
	room := max(20, p.Width-utf8.RuneCountInString(on))
	line, lead := "", first
	for _, word := range strings.Fields(text) {
		if line != "" && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > room {
			p.Line("%s%s", lead, line)
			line, lead = "", on
		}
		if line != "" {
			line += " "
		}
		line += word
	}
	p.Line("%s%s", lead, line)
}
