package paper

import (
	"io"
	"math"
	"unicode/utf8"

	"weephole/internal/answer"
)

// A printed page holds so many lines of so many letters; measured on printed pages
// of A4 in the sheet's own sizes, with room to spare. At most mostSteps are told:
// further ones are guesses.
const (
	pageLines   = 58
	lineLetters = 104
	mostSteps   = 4
	logoLines   = 4 // that a logo beside the heading takes more than the heading
)

// lines is how many lines a text takes.
func lines(text string) float64 {
	return math.Ceil(float64(utf8.RuneCountInString(text)) / lineLetters)
}

// room is how many lines a step takes with its cautions.
func (s *benchStep) room() float64 {
	n := 4.5 + lines(s.How) + lines(s.RestsOn)
	for _, c := range s.New {
		n += 1.1*lines(c) + 0.2
	}
	for _, t := range s.Tick {
		n += 1.2 * lines(t.Says+t.Odds+t.Then+"xxxxxxxxxxxx")
	}
	return n
}

// benchStep is a step on the bench sheet, the likeliest outcome followed by the next.
type benchStep struct {
	*answer.PlanFacts
	Number int
	New    []string // cautions that no step before it had
	Tick   []box
	Costs  string
}

type box struct {
	Says, Odds, Then string
}

// BenchSheet writes the bench sheet of a plan: the steps along the likeliest outcomes, each
// with its cautions before it, boxes to tick, and what the other outcomes lead to.
func BenchSheet(w io.Writer, n *answer.NextFacts, h Heading) error {
	d := struct {
		Heading
		Money string
		Least string
		Tools []string
		Steps []benchStep
		Waits []string
	}{Heading: h}
	for _, x := range n.Waiting {
		d.Waits = append(d.Waits, x.Says)
	}
	p := n.Tree
	if p != nil {
		d.Money = answer.Money(p.ExpectedCost, n.Currency)
		if p.Do != answer.ProveHealthy { // which looks for no cause
			d.Least = answer.Money(n.LeastPossible, n.Currency)
		}
	}
	left := pageLines - 6.0
	if h.Logo != nil {
		left -= logoLines
	}
	for _, w := range d.Waits {
		left -= lines(w)
	}
	said, have := make(map[string]bool), make(map[string]bool)
	for p != nil && len(d.Steps) < mostSteps {
		s := benchStep{PlanFacts: p, Number: len(d.Steps) + 1, Costs: answer.Money(p.Cost, n.Currency)}
		for _, c := range p.Cautions {
			if !said[c] {
				said[c] = true
				s.New = append(s.New, c)
			}
		}
		for _, t := range p.Tools {
			if !have[t] {
				have[t] = true
				d.Tools = append(d.Tools, t)
			}
		}
		var on *answer.WayFacts
		for i := range p.Ways {
			x := &p.Ways[i]
			t := box{Says: x.Says, Odds: answer.Percent(x.Probability)}
			if x.Then != nil {
				t.Then = x.Then.Name
				if on == nil || x.Probability > on.Probability {
					on = x
				}
			}
			s.Tick = append(s.Tick, t)
		}
		p = nil
		if on != nil {
			p = on.Then
		}
		if left -= s.room(); left < 0 && len(d.Steps) > 0 {
			break // one page: what comes later is planned later
		}
		d.Steps = append(d.Steps, s)
	}
	return set(w, benchPage, d)
}
