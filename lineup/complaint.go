package lineup

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"

	"weephole/check"
	"weephole/circuit"
)

// complaintWeigher weighs one complaint against any candidate. Owners differ: one tells
// everything, another only the worst. So what is told of each sign is not taken
// as independent, but as independent given how talkative the owner is, a
// standard normal t that shifts the log odds of mentioning anything:
//
//	p_i(t) = so_i σ(logit said_i + s t) + (1 - so_i) σ(logit mistaken_i + s t)
//	P(complaint) = ∫ Π_said p_i(t) Π_silent (1 - p_i(t)) φ(t) dt / P(says anything)
//
// The integral is Gauss and Hermite's sum (Abramowitz & Stegun 25.4.46) over a few
// degrees of talkativeness. A job without a complaint is no job, so it is divided by the
// probability that such a car's owner names any sign at all. Else a cause that shows in
// many ways would be held up: every silence of a quiet one's owner would count twice. A
// sign that is a detail counts only where it is said or denied: silence about it says
// nothing, and no car comes in for it. Where details of a kind of trouble were said and none
// of its signs, silence about those says nothing either.
type complaintWeigher struct {
	complaint check.Complaint
	says      bool // anything at all
	asked     bool // about conditions: some condition was said
	unsaid    float64
	elsewhere []bool      // by sign: its trouble was told in another word, so silence about it says nothing
	weights   []float64   // of the degrees of talkativeness, summing to one
	signs     [][]hearing // by sign, by talkativeness
	when      [][]hearing // by condition, by talkativeness
}

// hearing is the probability that something is mentioned when it is so and
// when it is not.
type hearing struct{ said, mistaken float64 }

// talkPoints is how many degrees of talkativeness stand for all owners: five
// integrate the polynomials up to degree nine exactly.
const talkPoints = 5

func newComplaintWeigher(m *Model, said *check.Complaint) *complaintWeigher {
	e := &complaintWeigher{complaint: *said, says: complains(said), unsaid: m.Settings.UnsaidWeight.Value}
	x, w := make([]float64, talkPoints), make([]float64, talkPoints)
	quad.Hermite{}.FixedLocations(x, w, math.Inf(-1), math.Inf(1))
	for k := range w {
		e.weights = append(e.weights, w[k]/math.SqrtPi)
	}
	hear := func(said, mistaken float64) []hearing {
		list := make([]hearing, talkPoints)
		for k := range list {
			shift := m.Settings.TalkMean.Value + m.Settings.TalkSD.Value*math.Sqrt2*x[k]
			list[k] = hearing{shifted(said, shift), shifted(mistaken, shift)}
		}
		return list
	}
	for i := range m.Checks.Signs {
		e.signs = append(e.signs, hear(m.Checks.Signs[i].Said.Value, m.Checks.Signs[i].Mistaken.Value))
	}
	for i := range m.Checks.Conditions {
		e.when = append(e.when, hear(m.Checks.Conditions[i].Said.Value, m.Checks.Conditions[i].Mistaken.Value))
	}
	e.elsewhere = toldOtherwise(m, said)
	for i, h := range said.Conditions {
		e.asked = e.asked || h == check.Said && !m.Checks.Conditions[i].Detail
	}
	return e
}

// toldOtherwise says by sign whether the owner told its kind of trouble in another word.
// One who says that the needle stands high does not say as well that it runs hot. So where
// only details of a kind of trouble were said, silence about its signs says nothing.
func toldOtherwise(m *Model, said *check.Complaint) []bool {
	details, signs := make(map[string]bool), make(map[string]bool)
	for i, h := range said.Signs {
		sign := &m.Checks.Signs[i]
		switch {
		case h != check.Said:
		case sign.Detail:
			details[sign.Trouble] = true
		default:
			signs[sign.Trouble] = true
		}
	}
	out := make([]bool, len(m.Checks.Signs))
	for i := range out {
		kind := m.Checks.Signs[i].Trouble
		out[i] = kind != check.Other.String() && details[kind] && !signs[kind]
	}
	return out
}

// shifted is the probability with its log odds shifted.
func shifted(p, by float64) float64 {
	o := p / (1 - p) * math.Exp(by)
	return o / (1 + o)
}

// logLikelihood weighs the complaint against a candidate, and gives the
// probability that such a car comes in at all.
func (e *complaintWeigher) logLikelihood(m *Model, s *check.Subject) (log, comes float64) {
	if !e.says {
		return 0, comesIn(m, s)
	}
	var told, quiet [talkPoints]float64
	for k := range told {
		told[k], quiet[k] = 1, 1
	}
	unnoticed := 1.0
	heard := func(h check.Heard, so float64, by []hearing) {
		for k := range told {
			p := h.Probability(so, by[k].said, by[k].mistaken)
			if h == check.Silent {
				p = math.Pow(p, e.unsaid)
			}
			told[k] *= p
		}
	}
	for i := range m.Checks.Signs {
		sign := &m.Checks.Signs[i]
		if sign.Detail {
			if h := e.complaint.Signs[i]; h != check.Silent {
				so := sign.So(s)
				heard(h, so, e.signs[i])
				for k, p := range e.signs[i] {
					quiet[k] *= check.Silent.Probability(so, p.said, p.mistaken)
				}
			}
			continue
		}
		so := sign.So(s)
		unnoticed *= 1 - sign.Said.Value*so
		if h := e.complaint.Signs[i]; h != check.Silent || !e.elsewhere[i] {
			heard(h, so, e.signs[i])
		}
		for k, p := range e.signs[i] {
			quiet[k] *= check.Silent.Probability(so, p.said, p.mistaken)
		}
	}
	for i, h := range e.complaint.Conditions {
		if h == check.Silent && (!e.asked || m.Checks.Conditions[i].Detail) {
			continue
		}
		heard(h, m.Checks.Conditions[i].So(s, e.complaint.Trouble), e.when[i])
	}
	sum, any := 0.0, 0.0
	for k, w := range e.weights {
		sum += w * told[k]
		any += w * (1 - quiet[k])
	}
	comes = comesUnless(m, unnoticed)
	return m.Settings.ComplaintPower.Value * (math.Log(comes) + math.Log(sum) - e.unsaid*math.Log(any)), comes
}

// comesIn is the probability that such a car is brought in for its cooling:
// some sign shows and is noticed, or the owner is mistaken.
func comesIn(m *Model, s *check.Subject) float64 {
	unnoticed := 1.0
	for i := range m.Checks.Signs {
		sign := &m.Checks.Signs[i]
		if sign.Detail {
			continue
		}
		unnoticed *= 1 - sign.Said.Value*sign.So(s)
	}
	return comesUnless(m, unnoticed)
}

func comesUnless(m *Model, unnoticed float64) float64 {
	e := m.Settings.ComesForNothing.Value
	return e + (1-e)*(1-unnoticed)
}

// complains is true for a complaint that says anything at all.
func complains(said *check.Complaint) bool {
	for _, list := range [][]check.Heard{said.Signs, said.Conditions} {
		for _, h := range list {
			if h != check.Silent {
				return true
			}
		}
	}
	return false
}

// complaintNeeds is what must be run to weigh a complaint: nothing for a car
// that came without one.
func complaintNeeds(m *Model, said *check.Complaint) circuit.Set {
	if complains(said) {
		return m.Checks.ComplaintSituations()
	}
	return 0
}
