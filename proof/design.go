package proof

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sort"

	"weephole/cause"
	"weephole/circuit"
	"weephole/lineup"
	"weephole/sample"
)

// Plan says beforehand which run can prove the repair in today's air.
type Design struct {
	// Runs are all that were considered, those that can tell first, shortest
	// first; none where the cause is settled already.
	Runs []RunPower `json:"runs"`
	// Further are runs worth making besides, for what else may be wrong: the one that is no
	// longer needed for the repaired cause may be the best look at all others.
	Further []FurtherRun `json:"further"`
	// Checks are worth doing after the best run (or instead of one, where none
	// can tell), because they show what it cannot.
	Checks []CheckPower `json:"checks"`
	// AskOwner tells that the owner's word after some days is worth having
	// (changed: of the repair), and OwnerShows what it would give away.
	AskOwner   bool   `json:"ask_owner"`
	OwnerShows string `json:"owner_shows,omitempty"`
	// Undetected lists what the best run and the checks would leave open, likeliest first.
	Hidden []Undetected `json:"hidden"`
	// Settled tells that what was seen already has settled whether the cause is
	// gone: the checks then stand alone.
	Settled bool `json:"settled"`
	// Whole tells whether run and checks together are expected to prove the
	// whole of a good repair; else only that the cause is gone.
	Whole bool `json:"whole"`
}

// RunPower is what a run can tell, judged by trial runs of simulated engines.
type RunPower struct {
	Run     string  `json:"run"`
	Name    string  `json:"name"`
	How     string  `json:"how"`
	Minutes float64 `json:"minutes"` // of the whole run
	Road    bool    `json:"road"`    // it is driven; else it is made in the bay
	Tells   bool    `json:"tells"`   // by itself it can tell whether the cause is gone, either way
	// FindsOut tells that it would show a repair that has failed, though by itself
	// it seldom proves a good one: the checks have to do the rest.
	FindsOut bool `json:"finds_out"`
	// Passes is the share of good repairs of which it would show that the cause
	// is gone, and Finds the share of botched ones that it would find out, in so
	// many trials of each kind on simulated engines.
	Passes float64 `json:"passes"`
	Finds  float64 `json:"finds"`
	Trials int     `json:"trials"`
	// Enough is the minutes after which half of the repairs that it settles (the
	// good ones where it tells, else the failed ones) are settled; 0 when none is.
	Enough  float64 `json:"enough_minutes"`
	Apart   float64 `json:"apart_k"` // K between good and not repaired, typical, at the most telling moment
	ApartAt float64 `json:"apart_at_minutes"`

	cautions []string
	ll       []float64   // log likelihood of each hypothesis in a trial of a good repair
	good     [][]float64 // the same in all of them
}

// CheckPower is a check worth doing after the run.
type CheckPower struct {
	Check   string  `json:"check"`
	Name    string  `json:"name"`
	Minutes float64 `json:"minutes"`
	Wants   string  `json:"wants"` // what it shows if all is well
	Shows   string  `json:"shows"` // the cause that it would give away, in words
	// Again is true of one that was made before, and did not show what a good car shows.
	Again bool `json:"again,omitempty"`
}

// Undetected is something that would stay hidden.
type Undetected struct {
	Class Class   `json:"class"`
	Cause string  `json:"cause"`
	Name  string  `json:"name"`
	Share float64 `json:"share"` // of what a sceptic would still doubt, 0..1
}

// Cautions are the hazards of the run, to be read before it.
func (r *RunPower) Cautions() []string { return r.cautions }

// Design judges every run of the settings by simulated trials, and looks for the
// checks that show what the best run does not. What was already seen after the
// repair counts: where it has settled the cause, no further run is asked for.
func (p *Proof) Design(ctx context.Context, seen ...Evidence) (*Design, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	out := &Design{Runs: []RunPower{}, Further: []FurtherRun{}, Checks: []CheckPower{}, Hidden: []Undetected{}}
	w := p.newLogLikelihoods()
	logged, asked := false, false
	for i := range seen {
		logged = logged || seen[i].Log != nil
		if err := p.addEvidence(ctx, w, &seen[i]); err != nil {
			return nil, fmt.Errorf("proof: evidence %d: %w", i+1, err)
		}
		asked = asked || seen[i].Changed != nil
	}
	_, gone := p.bayes(p.marginals(w.ll, -1))
	out.Settled = p.st.verdict(gone) != CouldNotTell
	judged, err := p.powers(ctx)
	if err != nil {
		return nil, err
	}
	if !out.Settled {
		out.Runs = append(out.Runs, judged...)
	}
	ll := p.relative(w.ll, -1)
	// Where a run was made already, the checks are asked for without counting on
	// another.
	var first *RunPower
	if len(out.Runs) > 0 && (out.Runs[0].Tells || out.Runs[0].FindsOut) && !logged {
		first = &out.Runs[0]
		for i, v := range first.ll {
			ll[i] += v
		}
	}
	runs, most := p.further(judged, first, seen)
	asks, err := p.options(ctx, w, asked, runs)
	if err != nil {
		return nil, err
	}
	p.checks(out, ll, asks, most)
	return out, nil
}

// powers judges every run that somebody would make for this repair, best first. What a run can
// tell does not hang on what was seen, so it is worked out once.
func (p *Proof) powers(ctx context.Context) ([]RunPower, error) {
	if p.judged != nil {
		return p.judged, nil
	}
	list := []RunPower{}
	for i := range p.st.Runs {
		if p.needless(&p.st.Runs[i]) {
			continue
		}
		r, err := p.power(ctx, &p.st.Runs[i])
		if err != nil {
			return nil, err
		}
		list = append(list, r)
	}
	sort.SliceStable(list, func(a, b int) bool { return list[a].before(&list[b]) })
	p.judged = list
	return list, nil
}

// before is true of a run that is rather made than the other: one that tells, and of
// those the quicker one, in the bay before on the road.
func (r *RunPower) before(other *RunPower) bool {
	switch {
	case r.Tells != other.Tells:
		return r.Tells
	case r.Tells && r.Road == other.Road:
		return r.Minutes < other.Minutes
	case r.Tells:
		return !r.Road
	case r.FindsOut != other.FindsOut:
		return r.FindsOut
	case r.FindsOut && r.Road != other.Road:
		return !r.Road
	}
	return r.Passes+r.Finds > other.Passes+other.Finds
}

// needless is true for a run that nobody makes for what was repaired: no hill for a
// thermostat.
func (p *Proof) needless(run *Run) bool {
	if len(run.NotFor) == 0 {
		return false
	}
	for _, r := range p.repairs {
		for _, c := range r.Cures {
			if k := p.model.Causes.Cause(c.Cause); c.Share >= p.st.MainShare.Value*surest(r) && !slices.Contains(run.NotFor, k.Place) {
				return false
			}
		}
	}
	return true
}

// surest is the share of a repair's surest cure.
func surest(r *cause.Repair) float64 {
	out := 0.0
	for _, c := range r.Cures {
		out = math.Max(out, c.Share)
	}
	return out
}

// power judges one run: good ones and unrepaired ones are taken for the truth in
// turn, their run is given the errors of a real log, and the rest of the engines,
// the true one left out, judge it.
func (p *Proof) power(ctx context.Context, run *Run) (RunPower, error) {
	out := RunPower{Run: run.ID, Name: run.Name, How: run.How, Road: run.Road(), Trials: int(p.st.Trials.Value), Minutes: run.Seconds() / 60, cautions: p.model.Causes.Cautions(run.Hazards, p.fan)}
	step := p.st.Step.Value
	stages := run.Stages(step)
	sims := make([][]float64, len(p.list))
	err := each(ctx, p, func() *circuit.Solver { return circuit.NewSolver(circuit.Coarse) }, func(s *circuit.Solver, i int) {
		sims[i] = p.st.readings(s, &p.list[i].circ, p.shop, run.Start == "cold", stages, nil)
	})
	if err != nil {
		return out, err
	}
	times := make([]float64, len(stages))
	at := 0.0
	for k := range stages {
		at += stages[k].Seconds
		times[k] = at
	}
	fits, flat, blunder := p.errors()
	solver := circuit.NewSolver(circuit.Coarse)
	off := p.off(len(times), func(c *circuit.Circuit) []float64 {
		return p.st.readings(solver, c, p.shop, run.Start == "cold", stages, nil)
	})
	out.Apart, out.ApartAt = p.apart(sims, times)
	cut := p.windows(times, step)
	means := make([][]float64, len(sims))
	for i := range sims {
		means[i] = cut.means(sims[i])
	}
	for k := range off {
		off[k] = cut.means(off[k])
	}
	t := &runTrials{
		stick: p.newLikelihood(means, off, len(cut.ends), func(int) bool { return false }, cut.seconds, cut.errs(fits), cut.errs(flat), blunder, marksEvery(len(cut.ends), 1)),
		cut:   cut, sims: sims, means: means, times: times, fits: fits, step: step, rng: rand.New(rand.NewPCG(p.seed, streamTrials)),
	}
	passes, settled, good, err := p.tried(ctx, t, Good, Proven)
	if err != nil {
		return out, err
	}
	finds, found, _, err := p.tried(ctx, t, Still, NotProven)
	if err != nil {
		return out, err
	}
	out.Passes, out.Finds = passes, finds
	out.Tells = out.Passes >= p.st.TellShare.Value && out.Finds >= p.st.TellShare.Value
	out.FindsOut = out.Finds >= p.st.TellShare.Value && !out.Tells
	if out.FindsOut {
		settled = found
	}
	if len(settled) > 0 {
		sort.Float64s(settled)
		out.Enough = settled[len(settled)/2]
	}
	out.ll, out.good = p.typical(good), good
	return out, nil
}

// runTrials is what the trials of one run share.
type runTrials struct {
	stick *likelihood
	cut   windows
	sims  [][]float64 // by hypothesis
	means [][]float64 // the same by windows
	times []float64   // s
	fits  lineup.ErrorModel
	step  float64 // s
	rng   *rand.Rand
}

// tried takes engines of a class for the truth in turn. It gives the share of them on
// which the run comes to the right verdict, after how many minutes it did, and how each
// engine stands at the end of the run.
func (p *Proof) tried(ctx context.Context, t *runTrials, c Class, right Verdict) (share float64, minutes []float64, ends [][]float64, err error) {
	truths := p.trials(c, t.rng)
	for _, truth := range truths {
		y := t.cut.means(noisy(t.sims[truth], t.fits, t.step, t.rng))
		skip := p.list[truth].engine
		course, err := p.course(ctx, t.stick, y, t.means, nil)
		if err != nil {
			return 0, nil, nil, err
		}
		if verdict, at := p.first(course, skip); verdict == right {
			minutes = append(minutes, t.times[t.cut.ends[at]-1]/60)
		}
		ends = append(ends, p.relative(course[len(course)-1].ll, skip))
	}
	return float64(len(minutes)) / math.Max(1, float64(len(truths))), minutes, ends, nil
}

// errors is the error model of a log that holds engine and road speed.
func (p *Proof) errors() (fits, flat lineup.ErrorModel, blunder float64) {
	s := p.model.Settings
	fits = lineup.ErrorModel{ModelSD: s.TraceModelSD.Value, Correlation: s.TraceCorrelation.Value, ReadingSD: s.TraceReadingSD.Value}
	flat = fits
	flat.ModelSD = s.TraceFlatSD.Value
	return fits, flat, s.TraceBlunder.Value
}

// trials picks hypotheses of a class to be taken for the truth.
func (p *Proof) trials(c Class, rng *rand.Rand) []int {
	var of []int
	for i := range p.list {
		if p.list[i].class == c {
			of = append(of, i)
		}
	}
	if len(of) == 0 {
		return nil
	}
	picks := make([]int, int(p.st.Trials.Value))
	for k := range picks {
		picks[k] = of[sample.Pick(len(of), func(i int) float64 { return p.list[of[i]].weight }, rng.Float64())]
	}
	return picks
}

// noisy adds a log's errors to a simulated reading: the wandering of the model
// error, and whole degrees with noise.
func noisy(sim []float64, m lineup.ErrorModel, step float64, rng *rand.Rand) []float64 {
	phi := math.Exp(-step / m.Correlation)
	b := m.ModelSD * rng.NormFloat64()
	out := make([]float64, len(sim))
	for k, v := range sim {
		out[k] = v + b + m.ReadingSD*rng.NormFloat64()
		b = phi*b + m.ModelSD*math.Sqrt(1-phi*phi)*rng.NormFloat64()
	}
	return out
}

// first is the first verdict along a trial, and the stretch at which it fell: the cause
// is gone, or the car is not right. A run on which a car is as hot as before shows a
// failed repair even where it cannot tell the old fault from another that does the same.
func (p *Proof) first(course []mark, skip int) (Verdict, int) {
	for _, m := range course {
		whole, gone := p.bayes(p.marginals(m.ll, skip))
		switch {
		case p.st.verdict(gone) != CouldNotTell:
			return p.st.verdict(gone), m.stretch
		case p.st.verdict(whole) == NotProven:
			return NotProven, m.stretch
		}
	}
	return CouldNotTell, 0
}

// relative is each hypothesis's log likelihood against that of a good repair.
func (p *Proof) relative(ll []float64, skip int) []float64 {
	good := p.well(p.marginals(ll, skip))
	out := make([]float64, len(ll))
	for i := range ll {
		out[i] = ll[i] - good
	}
	return out
}

// typical picks, of the trials of good repairs, one that is harder than most. A
// middle taken hypothesis by hypothesis would promise too much, since in every
// run some other fault happens to look much like what was seen.
func (p *Proof) typical(trials [][]float64) []float64 {
	if len(trials) == 0 {
		return nil
	}
	sort.SliceStable(trials, func(a, b int) bool { return p.doubt(trials[a], nil) < p.doubt(trials[b], nil) })
	return trials[min(len(trials)-1, int(p.st.Harder.Value*float64(len(trials))))]
}

// apart is the largest difference over the run between the middle of the
// repaired engines and that of those with the cause still there.
func (p *Proof) apart(sims [][]float64, times []float64) (most, at float64) {
	for k := range times {
		good, still := p.middle(sims, k, Good), p.middle(sims, k, Still)
		if d := still - good; math.Abs(d) > math.Abs(most) {
			most, at = d, times[k]/60
		}
	}
	return most, at
}

func (p *Proof) middle(sims [][]float64, k int, c Class) float64 {
	q := p.quantiles(sims, k, c, 0.5)
	return q[0]
}
