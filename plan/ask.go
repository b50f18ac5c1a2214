package plan

import (
	"math"
	"sort"

	"weephole/check"
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

// Questions lists what to ask the owner, most telling first: signs that he has neither
// named nor denied, where the answer is worth more than the minutes of asking. That he
// kept silent about them is in the weights already, and makes each less likely to be so:
// P(so | silent) = so (1 - said) / (so (1 - said) + (1 - so)(1 - mistaken)).
func (c *CarProblem) Questions(s *solve.Search, said check.Complaint) []Question {
	n := len(c.sample.Faults)
	var list []Question
	for i := range c.Model.Checks.Signs {
		sign := &c.Model.Checks.Signs[i]
		if sign.Detail || i < len(said.Signs) && said.Signs[i] != check.Silent {
			continue
		}
		q := Question{Sign: sign, IfYes: make([]float64, len(c.Problem.Weight)), IfNo: make([]float64, len(c.Problem.Weight))}
		mean := 0.0
		for h := range c.Problem.Weight {
			yes := mean / math.Max(float64(n), 1) // something-else answers as the engines do on average
			if h < n {
				so := sign.So(&check.Subject{Causes: c.sample.Faults[h], Record: c.sample.Records[h]})
				silent, no := so*(1-sign.Said.Value), (1-so)*(1-sign.Mistaken.Value)
				if len(said.Signs) > 0 {
					so = silent / math.Max(silent+no, tiny)
				}
				yes = so*c.Settings.AskedRight.Value + (1-so)*c.Settings.AskedWrong.Value
				mean += yes
			}
			q.IfYes[h] = c.Problem.Weight[h] * yes
			q.IfNo[h] = c.Problem.Weight[h] * (1 - yes)
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
