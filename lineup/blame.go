package lineup

import (
	"math"

	"weephole/sample"
)

// A prior counts the cars that come for a cause. What their owners tell is brought about by
// it; what the owner of a sound car would have told as well is not. So only the attributable
// part of an engine's likelihood speaks for its fault as what the car came for:
//
//	P(told | engine) - P(told | sound) = P(told | engine) (1 - r),   r = P(told | sound) / P(told | engine)
//
// (Pearl 2009, ch. 9: the probability of necessity, where a fault never keeps a complaint
// away). As a fault that stands beside the point it keeps its whole likelihood, and the prior
// of such faults. A heater flap does not make an engine overheat, but one overheating car in
// so many has one.
//
// Of a set of two, one is to blame, and which of them is not known from one likelihood. Such
// sets are left as they are. On the real cases of cases/ that names the true cause more surely
// than treating them alike: mean log score -1.669 against -1.694.

// hearSoundCars keeps how likely the complaint is on cars with nothing wrong. It is nil
// where no such car was drawn.
func (l *Lineup) hearSoundCars() {
	var told []float64
	for i := range l.pop.cands {
		if l.draw.strata[l.pop.cands[i].stratum].causes == [2]int{l.model.Causes.NoFault(), -1} {
			told = append(told, l.pop.told[i])
		}
	}
	if len(told) > 0 {
		mean := sample.LogSumExp(told) - math.Log(float64(len(told)))
		l.sound = &mean
	}
}

// toldAnyway is r for a candidate of which this was told: 0 where a sound car would never be
// complained of so, just under 1 where it would be as often. It is 0 for one whose complaint
// is not divided: with nothing wrong, or with two causes.
func (l *Lineup) toldAnyway(c *candidate, told float64) float64 {
	s := &l.draw.strata[c.stratum]
	if l.sound == nil || s.causes[0] == l.model.Causes.NoFault() || s.causes[1] >= 0 {
		return 0
	}
	return (1 - l.model.Settings.LeastToBlame.Value) * math.Exp(math.Min(0, *l.sound-told))
}

// logToBlame is what the log likelihood of the complaint gains, 0 or less, because part of it
// would have been told of a sound car.
func (l *Lineup) logToBlame(c *candidate, told float64) float64 {
	r := l.toldAnyway(c, told)
	if r == 0 {
		return 0
	}
	s := &l.draw.strata[c.stratum]
	_, explains := s.blames(l.draw.severities(c), l.model.Settings.BesideMildest.Value)
	return math.Log1p(-explains[0] * r)
}

// toBlame is the probability that each cause of a candidate is what the car came for, once it
// is known what was told.
func (l *Lineup) toBlame(c *candidate, told float64) [2]float64 {
	r := l.toldAnyway(c, told)
	if r == 0 {
		return c.explains
	}
	return [2]float64{c.explains[0] * (1 - r) / (1 - c.explains[0]*r)}
}
