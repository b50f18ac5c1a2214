package plan

import (
	"math"
	"slices"
	"sort"

	"weephole/check"
	"weephole/lineup"
	"weephole/plan/solve"
)

// Question is something that the owner has not said, and what his answer would do.
type Question struct {
	Sign *check.Sign
	// Yes is the probability that he says yes when asked.
	Yes float64
	// Bits is what the answer is expected to tell about which repair is needed, and
	// Worth what finding that out by checks would cost.
	Bits, Worth float64
	// IfYes and IfNo are the weights of the hypotheses after the answer, summing to one.
	IfYes, IfNo []float64
}

// unsaid is a sign that the owner has neither named nor denied, nor said that he cannot tell.
type unsaid struct {
	sign *check.Sign
	yes  []float64 // by hypothesis: the probability that he says yes, if he can tell
}

// unsaid lists what the owner may still be asked. That he kept silent about a sign is in the weights
// already where the complaint was told, and makes it less likely to be so:
// P(so | silent) = so (1 - said) / (so (1 - said) + (1 - so)(1 - mistaken)).
// Silence about a detail says nothing.
func (c *CarProblem) unsaid(cs lineup.Case, notKnown []string) []unsaid {
	said := cs.Complaint.Signs
	n := len(c.sample.Faults)
	var list []unsaid
	for i := range c.Model.Checks.Signs {
		sign := &c.Model.Checks.Signs[i]
		if sign.Detail && !c.Settings.asks[sign.ID] {
			continue
		}
		told := func(ev lineup.Event) bool { return ev.Sign == sign.ID }
		if i < len(said) && said[i] != check.Silent || slices.Contains(notKnown, sign.ID) || slices.ContainsFunc(cs.Events, told) {
			continue
		}
		u := unsaid{sign: sign, yes: make([]float64, len(c.Problem.Weight))}
		mean := 0.0
		for h := range u.yes {
			if h >= n { // something-else answers as the engines do on average
				u.yes[h] = mean / math.Max(float64(n), 1)
				continue
			}
			so := sign.So(&check.Subject{Causes: c.sample.Faults[h], Record: c.sample.Records[h]})
			if len(said) > 0 && !sign.Detail {
				silent, no := so*(1-sign.Said.Value), (1-so)*(1-sign.Mistaken.Value)
				so = silent / math.Max(silent+no, tiny)
			}
			u.yes[h] = so*c.Settings.AskedRight.Value + (1-so)*c.Settings.AskedWrong.Value
			mean += u.yes[h]
		}
		list = append(list, u)
	}
	return list
}

// Questions lists what to ask the owner, most telling first: signs of which the answer is worth more
// than the minutes of asking. Details are not among them: they are asked as a step where they tell most.
func (c *CarProblem) Questions(s *solve.Search) []Question {
	var list []Question
	for _, u := range c.unasked {
		if u.sign.Detail {
			continue
		}
		q := Question{Sign: u.sign, IfYes: make([]float64, len(c.Problem.Weight)), IfNo: make([]float64, len(c.Problem.Weight))}
		for h, w := range c.Problem.Weight {
			q.IfYes[h] = w * u.yes[h]
			q.IfNo[h] = w * (1 - u.yes[h])
			q.Yes += q.IfYes[h]
		}
		if q.Yes <= tiny || q.Yes >= 1-tiny {
			continue
		}
		q.Bits = s.Entropy(c.Problem.Weight) - s.Entropy(q.IfYes) - s.Entropy(q.IfNo)
		q.Worth = q.Bits * s.BitPrice(int(c.Shop.State))
		for h := range q.IfYes {
			q.IfYes[h] /= q.Yes
			q.IfNo[h] /= 1 - q.Yes
		}
		if q.Worth > c.Settings.Asking.Value/60*c.Rate {
			list = append(list, q)
		}
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].Bits > list[j].Bits })
	return list
}
