package lineup

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"sync/atomic"

	"golang.org/x/sync/errgroup"

	"weephole/check"
	"weephole/circuit"
)

// Options say how a lineup is drawn.
type Options struct {
	// Candidates drawn from the prior; 20,000 if zero.
	Candidates int
	// Seed of every random number: the same seed gives the same answer to the
	// last digit on any number of cores.
	Seed uint64
	// Workers is the number of goroutines; as many as there are cores if zero.
	Workers int
	// Progress, if not nil, is called from time to time from one of the workers
	// with the number of candidate runs done and to be done.
	Progress func(done, total int)
	// KeepStill turns resampling and moving off: a first coarse answer.
	KeepStill bool
}

// DefaultCandidates is the size of a lineup when Options names none.
const DefaultCandidates = 20000

// Lineup is all candidates of a case with their weights.
type Lineup struct {
	model      *Model
	cs         Case
	opts       Options
	evidence   []evidence
	conditions []circuit.Conditions
	draw       *drawer

	prior *population // as drawn
	post  *population // as weighed: the prior one, or the one it was moved to

	other       float64 // posterior probability of something-else
	logEvidence float64 // log probability of all the evidence under the catalogue
	distinct    int     // ancestors of a moved lineup; 0 if it was not moved
}

// population is a set of candidates with what is known of each.
type population struct {
	cands   []candidate
	logBase []float64        // log weight before any evidence
	columns [][]float64      // log likelihood of each piece of evidence for each candidate
	now     []faults         // causes present after the last repair
	records []circuit.Record // in the shop's conditions, with the causes present now
	have    []circuit.Set    // situations that each record holds
	weights []float64        // normalised posterior weights, something-else left out
}

func newPopulation(n, pieces int) *population {
	p := &population{
		cands: make([]candidate, n), logBase: make([]float64, n), now: make([]faults, n),
		records: make([]circuit.Record, n), have: make([]circuit.Set, n), weights: make([]float64, n),
		columns: make([][]float64, pieces),
	}
	for j := range p.columns {
		p.columns[j] = make([]float64, n)
	}
	return p
}

func (p *population) size() int { return len(p.cands) }

// put files what weighing candidate i gave.
func (p *population) put(i int, w *weighed) {
	for j, v := range w.evidence {
		p.columns[j][i] = v
	}
	p.now[i], p.records[i], p.have[i] = w.now, w.record, w.have
}

// logLikelihood is the log likelihood of all evidence for candidate i.
func (p *population) logLikelihood(i int) float64 {
	sum := 0.0
	for j := range p.columns {
		sum += p.columns[j][i]
	}
	return sum
}

// weigh fills the weights from the base weights and all evidence, and returns
// the log of their sum.
func (p *population) weigh(weights []float64) float64 {
	logw := make([]float64, p.size())
	for i := range logw {
		logw[i] = p.logBase[i] + p.logLikelihood(i)
	}
	return normalise(logw, weights)
}

// New draws a lineup for the case and weighs it. It fails only on a case that
// names what the catalogue does not know, or when the context ends.
func New(ctx context.Context, m *Model, cs Case, o Options) (*Lineup, error) {
	if o.Candidates == 0 {
		o.Candidates = DefaultCandidates
	}
	if o.Workers <= 0 {
		o.Workers = runtime.GOMAXPROCS(0)
	}
	list, conditions, repairs, err := prepare(m, &cs)
	if err != nil {
		return nil, fmt.Errorf("lineup: %w", err)
	}
	l := &Lineup{model: m, cs: cs, opts: o, evidence: list, conditions: conditions}
	sets := strata(m.Causes, m.Settings.SecondFault.Value, cs.Work, cs.RanHot, cs.LostCoolant)
	l.draw = newDrawer(m, cs.Vehicle, sets, repairs, countLogs(list))
	l.populate()
	if err := l.weighAll(ctx); err != nil {
		return nil, fmt.Errorf("lineup: %w", err)
	}
	if err := l.settle(ctx); err != nil {
		return nil, fmt.Errorf("lineup: %w", err)
	}
	return l, nil
}

// settle turns the columns into the posterior: weights, a move where too few
// candidates carry them, and the standing of something-else.
func (l *Lineup) settle(ctx context.Context) error {
	l.post = l.prior
	l.logEvidence = l.prior.weigh(l.prior.weights)
	if !l.opts.KeepStill && effectiveSize(l.prior.weights) < l.model.Settings.ResampleBelow.Value {
		if err := l.move(ctx); err != nil {
			return err
		}
	}
	l.judgeSomethingElse()
	return nil
}

// streams of random numbers, so that no two uses share one.
const (
	streamDraw uint64 = iota + 1
	streamResample
	streamMove
	streamSample
)

// rng is the random stream of one candidate for one use.
func (l *Lineup) rng(stream uint64, index, step int) *rand.Rand {
	return rand.New(rand.NewPCG(l.opts.Seed, stream<<56|uint64(step)<<32|uint64(index)))
}

// populate draws the candidates from the prior, stratum by stratum.
func (l *Lineup) populate() {
	s := l.model.Settings
	least := min(int(s.StratumLeast.Value), max(2, l.opts.Candidates/500))
	counts := allocate(l.draw.strata, l.opts.Candidates, s.StratumPower.Value, least)
	n := 0
	for _, c := range counts {
		n += c
	}
	p := newPopulation(n, len(l.evidence))
	dim := l.draw.latents()
	flat := make([]float64, n*dim)
	i := 0
	for k, count := range counts {
		for range count {
			c := candidate{stratum: k, z: flat[i*dim : (i+1)*dim : (i+1)*dim]}
			rng := l.rng(streamDraw, i, 0)
			for d := range c.z {
				c.z[d] = rng.NormFloat64()
			}
			p.cands[i] = c
			p.logBase[i] = math.Log(l.draw.strata[k].prior / float64(count))
			i++
		}
	}
	l.prior = p
}

// weighAll runs every candidate through what the evidence needs and fills the
// columns, in parallel; each candidate writes only to its own places.
func (l *Lineup) weighAll(ctx context.Context) error {
	return l.each(ctx, l.prior.size(), func(k *kit, i int) {
		w := l.weighOne(k, &l.prior.cands[i])
		l.prior.put(i, &w)
	})
}

// each calls f for 0..n-1 from the workers, in chunks, each worker with a kit
// of its own.
func (l *Lineup) each(ctx context.Context, n int, f func(k *kit, i int)) error {
	const chunk = 32
	var next, done atomic.Int64
	g, ctx := errgroup.WithContext(ctx)
	for range min(l.opts.Workers, (n+chunk-1)/chunk) {
		g.Go(func() error {
			k := l.newKit()
			for {
				from := int(next.Add(chunk)) - chunk
				if from >= n {
					return nil
				}
				if err := ctx.Err(); err != nil {
					return err
				}
				to := min(from+chunk, n)
				for i := from; i < to; i++ {
					f(k, i)
				}
				if l.opts.Progress != nil {
					l.opts.Progress(int(done.Add(int64(to-from))), n)
				}
			}
		})
	}
	return g.Wait()
}

func (l *Lineup) newKit() *kit {
	most := 2
	for i := range l.model.Checks.Checks {
		most = max(most, len(l.model.Checks.Checks[i].Words))
	}
	return &kit{
		drill:   circuit.NewDrill(circuit.Coarse),
		solver:  circuit.NewSolver(circuit.Coarse),
		records: make([]circuit.Record, len(l.conditions)),
		have:    make([]circuit.Set, len(l.conditions)),
		words:   make([]float64, most),
		petrol:  l.cs.Vehicle.Fuel != circuit.Diesel,
	}
}

// weighed is what weighing one candidate gives.
type weighed struct {
	evidence []float64
	now      faults
	record   circuit.Record
	have     circuit.Set
}

// weighOne lives through the case with one candidate: its causes, the findings
// in order, the repairs, and what each piece of evidence says of it.
func (l *Lineup) weighOne(k *kit, c *candidate) weighed {
	out := weighed{evidence: make([]float64, len(l.evidence))}
	f := l.draw.before(c)
	circ := l.draw.circuit(c, &f)
	clear(k.have)
	epochs := len(l.draw.repairs)
	for epoch := 0; epoch <= epochs; epoch++ {
		gone, had := 0, f.n
		if epoch > 0 {
			was := f
			gone = l.draw.after(c, epoch-1, &f)
			if f != was {
				circ = l.draw.circuit(c, &f)
				clear(k.have)
			}
		}
		l.drillFor(k, epoch, &circ)
		for j := range l.evidence {
			e := &l.evidence[j]
			if e.epoch != epoch {
				continue
			}
			if e.repair >= 0 {
				r := l.draw.repairs[e.repair]
				out.evidence[j] = math.Log(l.model.Causes.Tried.Says(r.changed, had, gone))
				continue
			}
			s := l.subject(&f, &k.records[e.cond])
			out.evidence[j] = e.logLikelihood(l.model, k, &s)
			if e.log != nil {
				z := l.draw.habit(c, e.logIndex)
				h := e.log.habits(l.model.Settings, z[latentHeater], z[latentAirCon], l.conditions[e.cond].AmbientC)
				out.evidence[j] += e.log.logLikelihood(k, &circ, l.conditions[e.cond], h)
			}
		}
	}
	out.now, out.record, out.have = f, k.records[0], k.have[0]
	return out
}

// drillFor runs what this epoch's evidence needs and the kit does not hold.
func (l *Lineup) drillFor(k *kit, epoch int, circ *circuit.Circuit) {
	for cond := range l.conditions {
		var need circuit.Set
		for j := range l.evidence {
			if e := &l.evidence[j]; e.epoch == epoch && e.cond == cond {
				need = need.Union(e.needs)
			}
		}
		if need&^k.have[cond] != 0 {
			k.have[cond] = k.have[cond].Union(need)
			k.drill.Run(circ, l.conditions[cond], k.have[cond], &k.records[cond])
		}
	}
}

// subject shows a candidate to a check; one without faults has "no-fault".
func (l *Lineup) subject(f *faults, r *circuit.Record) check.Subject {
	if f.n == 0 {
		f.list[0] = noFault(l.model)
		return check.Subject{Causes: f.list[:1], Record: r}
	}
	return check.Subject{Causes: f.present(), Record: r}
}
