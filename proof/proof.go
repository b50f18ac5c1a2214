package proof

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sync"

	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
	"weephole/lineup"
	"weephole/parallel"
	"weephole/sample"
)

// Proof holds the engines of a lineup in all the ways in which a repair may
// have come out. It is not changed by Plan and Judge.
type Proof struct {
	model   *lineup.Model
	st      *Criteria
	repairs []*cause.Repair
	before  lineup.Case // as the lineup knew it
	engines *maker
	batches int // of engines picked
	list    []hypothesis
	prior   [classes]float64
	sceptic [classes]float64
	shop    circuit.Conditions
	petrol  bool
	fan     *circuit.FanKind // nil unknown
	// complaint is which signs the owner complained of.
	complaint []check.Heard
	seed      uint64
	mu        sync.Mutex // of the hypotheses' records and of judged
	judged    []RunPower // what each run can tell, best first; nil until it is asked
}

// ErrCannotCure says that no engine that fits the findings is good after the repair.
var ErrCannotCure = errors.New("leaves a fault in every engine that fits the findings, so that no run can prove it")

// New prepares the proof of repairs, given by id, on a car whose lineup was
// weighed on what was known before them. today is the air in which the run is
// made. Equal seeds give equal answers.
func New(ctx context.Context, l *lineup.Lineup, st *Criteria, repairs []string, today circuit.Conditions, seed uint64) (*Proof, error) {
	if len(repairs) == 0 {
		return nil, errors.New("proof: no repair was named; name what was done, or is to be done")
	}
	m := l.Model()
	p := &Proof{
		model: m, st: st, before: l.Case(), shop: today, petrol: l.Case().Vehicle.Fuel != circuit.Diesel, fan: l.Case().Vehicle.FanKind,
		complaint: l.Case().Complaint.Signs,
		seed:      seed,
	}
	for _, id := range repairs {
		r := m.Causes.Repair(id)
		if r == nil {
			return nil, fmt.Errorf("proof: no repair %q in the catalogue", id)
		}
		p.repairs = append(p.repairs, r)
	}
	p.engines = newMaker(l, st, p.repairs)
	if err := p.pick(ctx, p.engines.pickShares()); err != nil {
		return nil, fmt.Errorf("proof: %w", err)
	}
	if !slices.ContainsFunc(p.list, func(h hypothesis) bool { return h.class == Good }) {
		return nil, fmt.Errorf("proof: %s: %w", p.repairs[0].Name, ErrCannotCure)
	}
	return p, nil
}

// pick picks one batch of engines more, as many as there are, and takes them through the repair.
func (p *Proof) pick(ctx context.Context, share []float64) error {
	n := max(int(p.st.Engines.Value), len(p.engines.picked))
	p.engines.add(n, share, rand.New(rand.NewPCG(p.seed, streamHypotheses+uint64(p.batches)*streams)))
	p.batches++
	p.list, p.prior = p.engines.list, p.engines.priors()
	if err := p.drill(ctx, circuit.AllSituations(), nil); err != nil {
		return err
	}
	p.dropUnnoticeable()
	if err := p.partBeside(ctx, &p.before); err != nil {
		return err
	}
	p.sceptic = p.asSceptic()
	return nil
}

// streams of random numbers, so that no two uses share one.
const (
	streamHypotheses uint64 = iota + 1
	streamTrials
	streams
)

// asSceptic is the prior of somebody who has to be convinced: half of all
// repairs botched. The ways of being botched share that half as the square roots
// of their probabilities, between what is likely and what is merely possible.
func (p *Proof) asSceptic() (s [classes]float64) {
	sum := 0.0
	for c, v := range p.prior {
		if !Class(c).well() {
			s[c] = math.Sqrt(v)
			sum += s[c]
		}
	}
	good := p.st.ScepticGood.Value
	for _, c := range []Class{Good, Beside} {
		s[c] = good * p.prior[c] / (p.prior[Good] + p.prior[Beside])
	}
	for c := range s {
		if !Class(c).well() && sum > 0 {
			s[c] *= (1 - good) / sum
		}
	}
	return s
}

// each calls f for every hypothesis on all cores; tools gives each worker its own.
func each[T any](ctx context.Context, p *Proof, tools func() T, f func(T, int)) error {
	return parallel.Each(ctx, 0, len(p.list), 16, tools, f)
}

// marginals is the log likelihood of each class from that of each hypothesis;
// skip is an engine to leave out, -1 for none.
func (p *Proof) marginals(ll []float64, skip int) (out [classes]float64) {
	var top, sum, mass [classes]float64
	for c := range top {
		top[c] = math.Inf(-1)
	}
	for i := range p.list {
		h := &p.list[i]
		if h.engine != skip {
			top[h.class] = math.Max(top[h.class], ll[i])
		}
	}
	for i := range p.list {
		h := &p.list[i]
		if h.engine == skip || math.IsInf(top[h.class], -1) {
			continue
		}
		sum[h.class] += h.weight * math.Exp(ll[i]-top[h.class])
		mass[h.class] += h.weight
	}
	for c := range out {
		out[c] = math.Inf(-1)
		if mass[c] > 0 {
			out[c] = top[c] + math.Log(sum[c]/mass[c])
		}
	}
	return out
}

// bayes gives the two log likelihood ratios on which a verdict rests: of a good
// repair against everything that a sceptic holds possible, and of the repaired cause gone
// against that cause still there.
func (p *Proof) bayes(class [classes]float64) (whole, gone float64) {
	whole = p.well(class) - p.mix(class, Still, Left, Another, Unnamed)
	return whole, p.without(class) - p.mix(class, Still)
}

// without is the log likelihood that the repaired cause is gone.
func (p *Proof) without(class [classes]float64) float64 {
	return p.mix(class, Good, Beside, Left, Another)
}

// well is the log likelihood that the repair is good.
func (p *Proof) well(class [classes]float64) float64 { return p.mix(class, Good, Beside) }

// mix is the log likelihood of some classes together, as a sceptic shares them.
func (p *Proof) mix(class [classes]float64, of ...Class) float64 {
	var terms []float64
	sum := 0.0
	for _, c := range of {
		if p.sceptic[c] > 0 {
			terms = append(terms, math.Log(p.sceptic[c])+class[c])
			sum += p.sceptic[c]
		}
	}
	if sum == 0 {
		return math.Inf(-1)
	}
	return sample.LogSumExp(terms) - math.Log(sum)
}

// posterior weighs the classes by a prior.
func posterior(prior, class [classes]float64) (post [classes]float64) {
	var terms []float64
	for c := range prior {
		if prior[c] > 0 {
			terms = append(terms, math.Log(prior[c])+class[c])
		}
	}
	total := sample.LogSumExp(terms)
	for c := range prior {
		if prior[c] > 0 {
			post[c] = math.Exp(math.Log(prior[c]) + class[c] - total)
		}
	}
	return post
}
