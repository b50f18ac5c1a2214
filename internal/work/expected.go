package work

import (
	"math"
	"math/rand/v2"

	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
	"weephole/lineup"
)

// Expected is what a check would show now: on a healthy engine like this one, and
// on engines that still fit and have one of the leading causes.
type Expected struct {
	Check   string
	Reading *check.ReadingModel // a reading, or
	Word    string              // a word
	Healthy *Shows
	Leading []Shows
}

// Shows is what engines of one kind would show.
type Shows struct {
	Cause, Name string  // "" for the healthy ones
	Low, High   float64 // of a reading, SI, temperatures in degC: mean less and plus one standard deviation
	Probability float64 // of a word
}

const (
	healthySample   = 24   // healthy engines: judgement
	leadingCauses   = 3    // how many causes a place answers for
	leadingAtLeast  = 0.02 // probability below which a cause is not worth a line
	enoughToPredict = 4    // engines below which nothing is predicted
)

// ExpectedSample is how many engines that still fit are asked for what a check
// would show: judgement.
const ExpectedSample = 240

// group is engines of one kind.
type group struct {
	cause, name string
	subjects    []check.Subject
}

// Expected predicts every reading and word. Healthy are engines from
// w.Healthy, sample is of those that still fit, with their odds.
func (w *Work) Expected(healthy []check.Subject, sample *lineup.Sample, odds []lineup.CauseOdds) []Expected {
	well := group{subjects: healthy}
	var leading []group
	for i := range odds {
		c := &odds[i]
		if len(leading) == leadingCauses || c.Probability < leadingAtLeast {
			break
		}
		if i := w.Model.Causes.Index(c.Cause); i != w.Model.Causes.NoFault() {
			if g := having(w.Model, sample, i); len(g.subjects) >= enoughToPredict {
				leading = append(leading, g)
			}
		}
	}
	var out []Expected
	for i := range w.Model.Checks.Checks {
		k := &w.Model.Checks.Checks[i]
		for r := range k.Readings {
			e := Expected{Check: k.ID, Reading: &k.Readings[r]}
			if s, ok := well.read(e.Reading); ok {
				e.Healthy = &s
			}
			for g := range leading {
				if s, ok := leading[g].read(e.Reading); ok {
					e.Leading = append(e.Leading, s)
				}
			}
			out = append(out, e)
		}
		words := make([]Expected, len(k.Words))
		for w := range words {
			words[w] = Expected{Check: k.ID, Word: k.Words[w].Is}
		}
		for w, p := range well.show(k) {
			words[w].Healthy = &Shows{Probability: p}
		}
		for g := range leading {
			for w, p := range leading[g].show(k) {
				words[w].Leading = append(words[w].Leading, Shows{Cause: leading[g].cause, Name: leading[g].name, Probability: p})
			}
		}
		out = append(out, words...)
	}
	return out
}

// having picks the sample's engines with the cause.
func having(m *lineup.Model, sample *lineup.Sample, index int) group {
	g := group{cause: m.Causes.Causes[index].ID, name: m.Causes.Causes[index].Name}
	for i, faults := range sample.Faults {
		for _, f := range faults {
			if f.Cause == index {
				g.subjects = append(g.subjects, check.Subject{Causes: faults, Record: sample.Records[i]})
				break
			}
		}
	}
	return g
}

// Healthy draws engines like this one with nothing wrong and runs them.
func (w *Work) Healthy() []check.Subject {
	drill := circuit.NewDrill(circuit.Coarse)
	none := []cause.Present{{Cause: w.Model.Causes.NoFault(), Site: cause.NoSite}}
	out := make([]check.Subject, healthySample)
	z := make([]float64, w.Model.Table.Dim())
	for i := range out {
		rng := rand.New(rand.NewPCG(w.options.Lineup.Seed, uint64(i)))
		for d := range z {
			z[d] = rng.NormFloat64()
		}
		circ, rec := w.Model.Table.Draw(w.Case.Vehicle, z), new(circuit.Record)
		drill.Run(&circ, w.Case.Shop, circuit.AllSituations(), rec)
		out[i] = check.Subject{Causes: none, Record: rec}
	}
	return out
}

// read is the reading's range on the group: the mean of the engines' means, less
// and plus one standard deviation of all together.
func (g *group) read(r *check.ReadingModel) (Shows, bool) {
	var n, sum, squares, own float64
	for i := range g.subjects {
		mean, sd := r.Expect(&g.subjects[i])
		if math.IsNaN(mean) {
			continue
		}
		n, sum, squares, own = n+1, sum+mean, squares+mean*mean, own+sd*sd
	}
	if n < enoughToPredict {
		return Shows{}, false
	}
	mean := sum / n
	sd := math.Sqrt(max(0, squares/n-mean*mean) + own/n)
	low, high := r.PlausibleSI()
	return Shows{Cause: g.cause, Name: g.name, Low: max(low, mean-sd), High: min(high, mean+sd)}, true
}

// show is the mean probability of each of the check's words on the group.
func (g *group) show(k *check.Check) []float64 {
	if len(g.subjects) < enoughToPredict || len(k.Words) == 0 {
		return nil
	}
	out, p := make([]float64, len(k.Words)), make([]float64, len(k.Words))
	for i := range g.subjects {
		k.Shows(&g.subjects[i], p)
		for w := range p {
			out[w] += p[w] / float64(len(g.subjects))
		}
	}
	return out
}
