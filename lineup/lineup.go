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

	shift       []float64 // by stratum: log of one over the share that is complained of
	other       float64   // posterior probability of something-else
	logEvidence float64   // log probability of all the evidence under the catalogue
	distinct    int       // ancestors of a moved lineup; 0 if it was not moved
}

// population is a set of candidates with what is known of each.
type population struct {
	cands   []candidate
	logBase []float64         // log weight before any evidence
	columns [][]float64       // log likelihood of each piece of evidence for each candidate
	now     []faults          // causes present after the last repair
	records []*circuit.Record // in the shop's conditions, with the causes present now; never changed, only replaced
	any     []float64         // probability that an owner of this one complains of anything
	have    []circuit.Set     // situations that each record holds
	weights []float64         // normalised posterior weights, something-else left out
}

func newPopulation(n, pieces int) *population {
	p := &population{
		cands: make([]candidate, n), logBase: make([]float64, n), now: make([]faults, n),
		records: make([]*circuit.Record, n), have: make([]circuit.Set, n), weights: make([]float64, n),
		any:     make([]float64, n),
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
	p.now[i], p.records[i], p.have[i], p.any[i] = w.now, w.record, w.have, w.any
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
	l.draw = newDrawer(m, cs.Vehicle, l.strata()).extended(list, repairs)
	l.populate()
	if err := l.weighAll(ctx); err != nil {
		return nil, fmt.Errorf("lineup: %w", err)
	}
	l.complaining()
	if err := l.settle(ctx); err != nil {
		return nil, fmt.Errorf("lineup: %w", err)
	}
	return l, nil
}

// strata lists the sets of causes of this case with their priors.
func (l *Lineup) strata() []stratum {
	healthy := 0.0
	if !complains(&l.cs.Complaint) {
		healthy = l.model.Settings.HealthyUnasked.Value
	}
	return strata(l.model.Causes, l.model.Settings.SecondFault.Value, healthy, l.cs.Work, l.cs.RanHot, l.cs.LostCoolant)
}

// complaining turns the priors, which are shares of cars that come with a
// complaint, into shares of all cars with the cause: a cause that its owner
// hardly notices is commoner on the road than in the shop. It divides each
// stratum's weight by the probability that such a car is complained of.
func (l *Lineup) complaining() {
	l.shift = make([]float64, len(l.draw.strata))
	if !complains(&l.cs.Complaint) {
		return
	}
	p := l.prior
	sum := make([]float64, len(l.model.Causes.Causes))
	n := make([]float64, len(sum))
	for i := range p.cands {
		if c := l.draw.strata[p.cands[i].stratum].causes; c[1] < 0 {
			sum[c[0]] += p.any[i]
			n[c[0]]++
		}
	}
	noticed := func(c int) float64 {
		if c < 0 || n[c] == 0 {
			return 0
		}
		return sum[c] / n[c]
	}
	for k, s := range l.draw.strata {
		any := 1 - (1-noticed(s.causes[0]))*(1-noticed(s.causes[1]))
		l.shift[k] = -math.Log(math.Max(any, leastNoticed))
	}
	for i := range p.cands {
		p.columns[complaintColumn][i] += l.shift[p.cands[i].stratum]
	}
}

// leastNoticed keeps a cause that nobody would notice from a boundless prior;
// judgement.
const leastNoticed = 0.05

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
	streamFocus
)

// rng is the random stream of one candidate for one use.
func (l *Lineup) rng(stream uint64, index, step int) *rand.Rand {
	return rand.New(rand.NewPCG(l.opts.Seed, stream<<56|uint64(step)<<28|uint64(index)))
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
	dim := l.draw.size
	flat := make([]float64, n*dim)
	i := 0
	for k, count := range counts {
		from, tries := i, 0
		for range count {
			c := candidate{stratum: k, z: flat[i*dim : (i+1)*dim : (i+1)*dim]}
			tries += l.drawLatents(&c, i)
			p.cands[i] = c
			i++
		}
		// A cause that this fan cannot have makes its stratum rarer.
		fitting := float64(count) / float64(tries)
		for j := from; j < i; j++ {
			p.logBase[j] = math.Log(l.draw.strata[k].prior * fitting / float64(count))
		}
	}
	total := logSumExp(p.logBase)
	for j := range p.logBase {
		p.logBase[j] -= total
	}
	l.prior = p
}

// mostTries bounds the drawing of a candidate whose causes fit its fan; beyond
// it the candidate is kept and its stratum's weight is next to nothing.
const mostTries = 60

// drawLatents fills a candidate's latents from its own random streams and
// returns how often they were drawn until the causes fitted the fan.
func (l *Lineup) drawLatents(c *candidate, i int) (tries int) {
	rng := l.rng(streamDraw, i, 0)
	blocks := l.draw.blocks()
	first := c.z[:blocks[0]]
	for tries = 1; ; tries++ {
		for d := range first {
			first[d] = rng.NormFloat64()
		}
		if tries >= mostTries || l.draw.fits(c) {
			break
		}
	}
	at := blocks[0]
	for b, n := range blocks[1:] {
		l.drawBlock(c.z[at:at+n], i, b+1)
		at += n
	}
	return tries
}

// drawBlock fills the latents of the b-th thing that happened to candidate i.
func (l *Lineup) drawBlock(z []float64, i, b int) {
	rng := l.rng(streamDraw, i, b)
	for d := range z {
		z[d] = rng.NormFloat64()
	}
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
	record   *circuit.Record
	have     circuit.Set
	any      float64 // probability that the owner complains of anything
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
		says := 1.0
		if epoch > 0 {
			r := epoch - 1
			was := f
			gone := l.draw.after(c, r, &f)
			says = l.says(r, &was, &f, gone)
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
				out.evidence[j] = math.Log(says)
				continue
			}
			s := l.subject(&f, &k.records[e.cond])
			out.evidence[j] = e.logLikelihood(l.model, k, &s)
			switch {
			case e.log != nil:
				z := c.z[l.draw.logAt[e.logIndex]:]
				h := e.log.habits(l.model.Settings, z[latentHeater], z[latentAirCon], l.conditions[e.cond].AmbientC)
				out.evidence[j] += e.log.logLikelihood(k, &circ, l.conditions[e.cond], h)
			case e.ear != nil:
				if e.needs != 0 {
					_, out.any = e.ear.logLikelihood(l.model, &s)
				}
				if l.shift != nil {
					out.evidence[j] += l.shift[c.stratum]
				}
			}
		}
	}
	record := k.records[0]
	out.now, out.record, out.have = f, &record, k.have[0]
	return out
}

// says is the probability of what was said of repair r on a candidate that had
// some causes before it and others after: a cause left behind by the repair
// keeps it from being called a cure.
func (l *Lineup) says(r int, was, is *faults, gone int) float64 {
	had := 0
	for _, p := range was.present() {
		if p.Cause != l.model.Causes.NoFault() {
			had++
		}
	}
	if had == 0 {
		had = 1 // nothing was wrong, and nothing has gone
	}
	if is.n > 0 && gone >= had {
		had = gone + 1
	}
	return l.model.Causes.Tried.Says(l.draw.repairs[r].changed, had, gone)
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
