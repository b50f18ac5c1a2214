package work

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mathext"

	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
	"weephole/lineup"
)

// Expected is what a check would show: on a healthy engine like this one, and on
// engines like it that have one of the leading causes and no other fault. What was
// found on the car selects none of them: the answer is what the fault shows, and not
// what is left of the engines after the finding.
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
	kindSample      = 24   // engines drawn of each kind: judgement
	leadingCauses   = 3    // how many causes a place answers for
	leadingAtLeast  = 0.02 // probability below which a cause is not worth a line
	enoughToPredict = 4    // engines below which nothing is predicted
)

// group is engines of one kind.
type group struct {
	cause, name string
	subjects    []check.Subject
}

// Kinds are engines drawn for what checks would show on them, kept because they
// depend on the car and not on what was found.
type Kinds struct {
	healthy []check.Subject
	faulty  map[int][]check.Subject // by cause
}

// Expected predicts every reading and word for the leading causes of the odds. What
// it draws it keeps in kinds, which must be of the same car and shop.
func (w *Work) Expected(kinds *Kinds, odds []lineup.CauseOdds) []Expected {
	none := w.Model.Causes.NoFault()
	if kinds.healthy == nil {
		kinds.healthy, kinds.faulty = w.engines(none), map[int][]check.Subject{}
	}
	well := group{subjects: kinds.healthy}
	var leading []group
	for i := range odds {
		c := &odds[i]
		if len(leading) == leadingCauses || c.Probability < leadingAtLeast {
			break
		}
		index := w.Model.Causes.Index(c.Cause)
		if index < 0 || index == none || index == w.Model.Causes.Unnamed() {
			continue // nobody can say what an unknown cause shows
		}
		if kinds.faulty[index] == nil {
			kinds.faulty[index] = w.engines(index)
		}
		leading = append(leading, group{cause: c.Cause, name: w.Model.Causes.Causes[index].Name, subjects: kinds.faulty[index]})
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

// engines draws engines like this one with a fault, or with none, and runs them.
func (w *Work) engines(index int) []check.Subject {
	drill := circuit.NewDrill(circuit.Coarse)
	out := make([]check.Subject, kindSample)
	z := make([]float64, w.Model.Table.Dim())
	for i := range out {
		rng := rand.New(rand.NewPCG(w.options.Lineup.Seed, uint64(i)))
		for d := range z {
			z[d] = rng.NormFloat64()
		}
		circ, rec := w.Model.Table.Draw(w.Case.Vehicle, z), new(circuit.Record)
		p := w.fault(index, (float64(i)+0.5)/kindSample, rng)
		if index != w.Model.Causes.NoFault() {
			w.Model.Causes.Causes[index].Apply(p.Severity, p.Hidden[:], &circ)
		}
		drill.Run(&circ, w.Case.Shop, circuit.AllSituations(), rec)
		out[i] = check.Subject{Causes: []cause.Present{p}, Record: rec}
	}
	return out
}

// fault draws a cause at a quantile of its severity, with its site and hidden states.
func (w *Work) fault(index int, quantile float64, rng *rand.Rand) cause.Present {
	c := &w.Model.Causes.Causes[index]
	p := cause.Present{Cause: index, Site: cause.NoSite}
	if shape := c.Severity.Shape; shape[0] > 0 && shape[1] > 0 {
		p.Severity = mathext.InvRegIncBeta(shape[0], shape[1], quantile)
	}
	pick := func(n int, share func(int) float64) int {
		u := rng.Float64()
		for i := range n - 1 {
			if u -= share(i); u < 0 {
				return i
			}
		}
		return n - 1
	}
	if n := len(c.Sites); n > 0 {
		p.Site = pick(n, func(i int) float64 { return c.Sites[i].Share })
	}
	for h := range c.Hidden {
		p.Hidden[h] = pick(len(c.Hidden[h].States), func(i int) float64 { return c.Hidden[h].States[i].Share })
	}
	return p
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
