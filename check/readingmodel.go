package check

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// GunSD is the standard deviation, in SI, of what all readings with one infrared
// gun err by together. LogLikelihood leaves it to its caller, who knows the other
// readings.
func (r *ReadingModel) GunSD() float64 { return r.Error.Gun * r.scale }

// Expect is the mean and standard deviation (SI, temperatures in degrees
// Celsius) of the reading on the subject, the gun's error included, blunders aside. The mean is NaN when
// the subject's run does not give it.
func (r *ReadingModel) Expect(s *Subject) (mean, sd float64) {
	mean, sd = r.expect(s)
	return mean * r.scale, math.Hypot(sd, r.Error.Gun) * r.scale
}

// expect is Expect in the unit of Error.
func (r *ReadingModel) expect(s *Subject) (mean, sd float64) {
	if r.of.ok {
		mean = (r.of.at(s) - r.minus.at(s)) * r.fromOf / r.scale
		if r.Most != nil && mean > *r.Most {
			mean = *r.Most
		}
		sd = math.Hypot(r.Error.SD, r.Error.Relative*mean)
		return mean, sd
	}
	mean, spread := r.healthy.at(0)
	farthest := 0.0
	for i := range s.Causes {
		p := &s.Causes[i]
		if p.Cause >= len(r.rowsOf) {
			continue
		}
		for _, k := range r.rowsOf[p.Cause] {
			row := &r.rows[k]
			if !row.suits(p) {
				continue
			}
			m, d := row.at(p.Severity)
			if away := math.Abs(m - r.healthy.mean); away > farthest {
				farthest, mean, spread = away, m, d
			}
			break
		}
	}
	return mean, math.Hypot(spread, math.Hypot(r.Error.SD, r.Error.Relative*mean))
}

// meanRow is a ReadingRow, resolved, in the unit of Error.
type meanRow struct {
	fit
	mean, meanSlope     float64
	spread, spreadSlope float64
}

func (m *meanRow) at(severity float64) (mean, spread float64) {
	return m.mean + severity*m.meanSlope, m.spread + severity*m.spreadSlope
}

// logRootTwoPi is log(sqrt(2 pi)), of the normal density.
const logRootTwoPi = 0.91893853320467274178

// LogLikelihood is the natural logarithm of the density of the reading (value
// in SI, temperatures in degrees Celsius) on the subject, per unit of its Error:
// normal about what is expected, mixed with an even density over the plausible
// range for blunders. Where the subject's run does not give the reading (no
// opening was to be seen), whoever read one has blundered.
func (r *ReadingModel) LogLikelihood(s *Subject, value float64) float64 {
	x := value / r.scale
	mean, sd := r.expect(s)
	switch {
	case r.unnamed(s):
		return math.Log(r.evenly)
	case mean != mean:
		return math.Log(r.Blunder.Share * r.evenly)
	}
	z := (x - mean) / sd
	good := math.Exp(-0.5*z*z-logRootTwoPi) / sd
	return math.Log((1-r.Blunder.Share)*good + r.Blunder.Share*r.evenly)
}

// unnamed is true where the subject has a cause of which nothing is known, and the
// reading is of what it may have done to the circuit.
func (r *ReadingModel) unnamed(s *Subject) bool {
	return r.of.ok && traitsOf(s, r.traits)&anything != 0
}

// Physical is true for a reading of what the circuit shows; another is of the part
// itself.
func (r *ReadingModel) Physical() bool { return r.of.ok }

// Bound says what a number told of a reading is.
type Bound uint8

// The bounds: the reading itself, about the reading, or more or less than it.
const (
	Exact Bound = iota
	About
	Below // the reading was below the number
	Above // the reading was above it
)

// LogBounded is LogLikelihood of a number that may be a bound of the reading:
// the logarithm of the probability of a reading below or above it. About widens
// the spread of one that is told only roughly.
func (r *ReadingModel) LogBounded(s *Subject, value float64, bound Bound, about float64) float64 {
	if bound == Exact {
		return r.LogLikelihood(s, value)
	}
	x := value / r.scale
	below := math.Min(1, math.Max(0, (x-r.Plausible[0])*r.evenly)) // of a blunder
	mean, sd := r.expect(s)
	unknown := r.unnamed(s)
	switch {
	case bound == About && unknown:
		return math.Log(r.evenly)
	case bound == About && mean != mean:
		return math.Log(r.Blunder.Share * r.evenly)
	case bound == About:
		sd *= math.Max(1, about)
		z := (x - mean) / sd
		good := math.Exp(-0.5*z*z-logRootTwoPi) / sd
		return math.Log((1-r.Blunder.Share)*good + r.Blunder.Share*r.evenly)
	}
	good, share := distuv.Normal{Mu: mean, Sigma: sd}.CDF(x), r.Blunder.Share
	if bound == Above {
		good, below = 1-good, 1-below
	}
	if unknown || mean != mean {
		share = 1 // nothing is predicted
	}
	if share == 1 {
		good = 0
	}
	return math.Log(math.Max(tiniest, (1-share)*good+share*below))
}

// tiniest keeps a logarithm finite where a number lies at the end of what is plausible.
const tiniest = 1e-6
