package lineup

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"weephole/circuit"
	"weephole/parallel"
)

// DrawOptions say how a lineup is drawn.
type DrawOptions struct {
	// Candidates drawn from the prior in the first round; DefaultCandidates if
	// zero. Later rounds add up to the setting `most-rounds` times as many.
	Candidates int
	// Seed of every random number: the same seed gives the same answer to the
	// last digit on any number of cores.
	Seed uint64
	// Workers is the number of goroutines; as many as there are cores if zero.
	Workers int
	// Progress, if not nil, is called from time to time from one of the workers
	// with the number of candidate runs done and to be done.
	Progress func(done, total int)
	// KeepStill leaves the adapted rounds out: a first, rough answer.
	KeepStill bool
}

// DefaultCandidates is the size of the first round when DrawOptions names none.
const DefaultCandidates = 6000

// Lineup is all candidates of a case with their weights.
type Lineup struct {
	model      *Model
	cs         Case
	opts       DrawOptions
	evidence   []evidence
	conditions []circuit.Conditions
	draw       *drawer

	pop     *population
	rounds  []round // what was drawn from so far, the prior first
	members [][]int // by stratum: its candidates
	draws   int     // made in all rounds

	shift       []float64 // by stratum: log of one over the share that is complained of
	sound       *float64  // log likelihood of the complaint on cars with nothing wrong; nil where nothing was complained of
	other       float64   // posterior probability of something-else
	logEvidence float64   // log probability of all the evidence under the catalogue
}

// population is a set of candidates with what is known of each.
type population struct {
	cands   []candidate
	drawn   []float64         // sum over the rounds of draws times density over the prior's density, in the candidate's stratum
	logBase []float64         // log weight before any evidence: log(prior of the stratum / drawn)
	columns [][]float64       // log likelihood of each piece of evidence for each candidate
	misfit  [][]float32       // whitened residuals of logs and readings, for the proposals; nil without any
	now     []faults          // causes present after the last repair
	records []*circuit.Record // in the shop's conditions, with the causes present now; never changed, only replaced
	any     []float64         // probability that an owner of this one complains of anything
	told    []float64         // log likelihood of what was complained of, whatever the car came for
	have    []circuit.Set     // situations that each record holds
	dead    []bool            // left out for good: no later finding can bring it back
	weights []float64         // normalised posterior weights, something-else left out
}

func newPopulation(n, pieces int) *population {
	p := &population{
		cands: make([]candidate, n), drawn: make([]float64, n), logBase: make([]float64, n), now: make([]faults, n),
		records: make([]*circuit.Record, n), have: make([]circuit.Set, n), weights: make([]float64, n),
		any: make([]float64, n), told: make([]float64, n), dead: make([]bool, n), misfit: make([][]float32, n),
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
	p.now[i], p.records[i], p.have[i], p.misfit[i] = w.now, w.record, w.have, w.misfit
	p.any[i], p.told[i] = w.any, w.told
}

// keep leaves the candidates for which it is true.
func (p *population) keep(it []bool) {
	n := 0
	for i := range it {
		if !it[i] {
			continue
		}
		p.cands[n], p.drawn[n], p.logBase[n] = p.cands[i], p.drawn[i], p.logBase[i]
		for j := range p.columns {
			p.columns[j][n] = p.columns[j][i]
		}
		p.misfit[n], p.now[n], p.records[n], p.have[n] = p.misfit[i], p.now[i], p.records[i], p.have[i]
		p.any[n], p.told[n], p.dead[n], p.weights[n] = p.any[i], p.told[i], p.dead[i], p.weights[i]
		n++
	}
	p.cands, p.drawn, p.logBase = p.cands[:n], p.drawn[:n], p.logBase[:n]
	for j := range p.columns {
		p.columns[j] = p.columns[j][:n]
	}
	p.misfit, p.now, p.records, p.have = p.misfit[:n], p.now[:n], p.records[:n], p.have[:n]
	p.any, p.told, p.dead, p.weights = p.any[:n], p.told[:n], p.dead[:n], p.weights[:n]
}

// join appends the candidates of q.
func (p *population) join(q *population) {
	p.cands = append(p.cands, q.cands...)
	p.drawn = append(p.drawn, q.drawn...)
	p.logBase = append(p.logBase, q.logBase...)
	for j := range p.columns {
		p.columns[j] = append(p.columns[j], q.columns[j]...)
	}
	p.misfit = append(p.misfit, q.misfit...)
	p.now = append(p.now, q.now...)
	p.records = append(p.records, q.records...)
	p.any = append(p.any, q.any...)
	p.told = append(p.told, q.told...)
	p.have = append(p.have, q.have...)
	p.dead = append(p.dead, q.dead...)
	p.weights = append(p.weights, q.weights...)
}

// logLikelihood is the log likelihood of all evidence for candidate i.
func (p *population) logLikelihood(i int) float64 {
	sum := 0.0
	for j := range p.columns {
		sum += p.columns[j][i]
	}
	return sum
}

// early is the log likelihood of the first pieces of evidence for candidate i, but
// for those named.
func (p *population) early(i, pieces int, logs []int) float64 {
	sum := 0.0
	for j := range pieces {
		if !slices.Contains(logs, j) {
			sum += p.columns[j][i]
		}
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
func New(ctx context.Context, m *Model, cs Case, o DrawOptions) (*Lineup, error) {
	o = o.completed()
	list, conditions, repairs, err := prepare(m, &cs)
	if err != nil {
		return nil, fmt.Errorf("lineup: %w", err)
	}
	l := &Lineup{model: m, cs: cs, opts: o, evidence: list, conditions: conditions}
	l.draw = newDrawer(m, cs.Vehicle, l.strata()).extended(list, repairs)
	l.draw.reshare(&cs)
	if err := l.firstRound(ctx); err != nil {
		return nil, fmt.Errorf("lineup: %w", err)
	}
	if err := l.sampleRounds(ctx); err != nil {
		return nil, fmt.Errorf("lineup: %w", err)
	}
	return l, nil
}

func (o DrawOptions) completed() DrawOptions {
	if o.Candidates == 0 {
		o.Candidates = DefaultCandidates
	}
	o.Workers = parallel.Workers(o.Workers)
	return o
}

// strata lists the sets of causes of this case with their priors.
func (l *Lineup) strata() []stratum { return strata(l.model.Causes, l.suspicion()) }

// suspicion is what this case makes of the priors.
func (l *Lineup) suspicion() suspicion {
	why := suspicion{
		secondFault: l.model.Settings.SecondFault.Value, beside: true, ranHot: l.cs.RanHot, lostCoolant: l.cs.LostCoolant,
		odds: func(i int) float64 {
			odds := l.model.Causes.AfterOddsOf(&l.model.Causes.Causes[i], l.cs.Work)
			if factor, ok := l.cs.Odds[l.model.Causes.Causes[i].ID]; ok {
				odds *= factor
			}
			return odds
		},
	}
	// A car on the lift is there for a reason, unless it was sent in for nothing.
	if !complains(&l.cs.Complaint) && !l.cs.Brought && l.cs.Presumes == "" {
		why.healthy = l.model.Settings.HealthyUnasked.Value
	}
	return why
}

// firstRound draws the candidates from the prior, stratum by stratum, and
// weighs them.
func (l *Lineup) firstRound(ctx context.Context) error {
	s := l.model.Settings
	least := min(int(s.StratumLeast.Value), max(int(s.StratumFewest.Value), l.opts.Candidates/int(s.StratumPart.Value)))
	counts := allocate(l.draw.strata, l.opts.Candidates, s.StratumPower.Value, least)
	l.pop = newPopulation(0, len(l.evidence))
	l.rounds = nil
	first := round{counts: counts, proposals: make([]proposal, len(counts))}
	for k := range first.proposals {
		first.proposals[k].mixture = l.failedRepairs()
	}
	if err := l.drawRound(ctx, first); err != nil {
		return err
	}
	l.complaining()
	return nil
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
	p := l.pop
	copy(p.told, p.columns[complaintColumn])
	l.hearSoundCars()
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
		l.shift[k] = -math.Log(math.Max(any, l.model.Settings.LeastNoticed.Value))
	}
	for i := range p.cands {
		p.columns[complaintColumn][i] += l.shift[p.cands[i].stratum] + l.logToBlame(&p.cands[i], p.told[i])
	}
}

// streams of random numbers, so that no two uses share one.
const (
	streamDraw uint64 = iota + 1
	streamSample
	streamDrive
	streamEven
)

// rng is the random stream of one candidate for one use.
func (l *Lineup) rng(stream uint64, index, step int) *rand.Rand {
	return rand.New(rand.NewPCG(l.opts.Seed, stream<<56|uint64(step)<<28|uint64(index)))
}

// drawBlock fills the latents of the b-th thing that happened to candidate i.
func (l *Lineup) drawBlock(z []float64, i, b int) {
	rng := l.rng(streamDraw, i, b+blockSteps)
	for d := range z {
		z[d] = rng.NormFloat64()
	}
}

// blockSteps keeps the streams of later blocks apart from those of the rounds.
const blockSteps = 1 << 20
