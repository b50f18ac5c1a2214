package lineup

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"weephole/cause"
	"weephole/sample"
)

// Odds is how the weight of a lineup is spread over the causes.
type Odds struct {
	Candidates int         `json:"candidates"` // drawn
	Effective  float64     `json:"effective"`  // equally weighted ones that would tell as much
	Rounds     int         `json:"rounds"`     // of drawing, each closer to what fits
	Error      float64     `json:"error"`      // standard error of the simulation, of what is least well known of all that is said
	Rough      bool        `json:"rough"`      // that error is above what an answer should have
	Causes     []CauseOdds `json:"causes"`     // most probable first; they overlap where two causes are present at once
	Pairs      []PairOdds  `json:"pairs"`      // two causes at once, most probable first
	Fit        Fit         `json:"fit"`
}

// CauseOdds is the standing of one cause.
type CauseOdds struct {
	Cause       string     `json:"cause"`
	Name        string     `json:"name"`
	Probability float64    `json:"probability"` // that it is what the car came for, 0..1
	Present     float64    `json:"present"`     // that it is bad on this car, whatever it explains, 0..1
	Error       float64    `json:"error"`       // standard error of the probability, from the number of engines simulated
	ErrorBad    float64    `json:"error_bad"`   // the same of Present
	Effective   float64    `json:"effective"`   // equally weighted engines with the cause that would tell as much
	Before      float64    `json:"before"`      // after the complaint alone
	Sites       []SiteOdds `json:"sites,omitempty"`
	For         []Reason   `json:"for"`
	Against     []Reason   `json:"against"`
}

// SiteOdds is the share of a cause's weight at one of its sites.
type SiteOdds struct {
	Site        string  `json:"site"`
	Name        string  `json:"name"`
	Probability float64 `json:"probability"` // that the cause is present there, 0..1
}

// PairOdds is the probability that two causes are present at once.
type PairOdds struct {
	Causes      [2]string `json:"causes"`
	Names       [2]string `json:"names"`
	Probability float64   `json:"probability"`
}

// Odds sums up the lineup.
func (l *Lineup) Odds() Odds {
	causes := l.model.Causes.Causes
	p := l.pop
	o := Odds{Candidates: l.Size(), Effective: l.Effective()}

	errors := l.errors()
	o.Rounds, o.Error = len(l.rounds), slices.Max(errors)
	o.Rough = o.Error > l.model.Settings.RoughAbove.Value
	effective := l.effectiveByCause()
	marginal, present := l.marginals(p, p.weights), l.present(p, p.weights)
	before := make([]float64, l.pop.size())
	l.complaintWeights(before)
	start := l.marginals(l.pop, before)
	sites, pairs := l.sitesAndPairs()
	pro, con := l.reasons()
	for i := range causes {
		c := &causes[i]
		co := CauseOdds{Cause: c.ID, Name: c.Name, Probability: marginal[i] * (1 - l.other), Before: start[i] * (1 - l.otherPrior())}
		co.Present = present[i] * (1 - l.other)
		co.Error, co.ErrorBad, co.Effective = errors[i], errors[len(causes)+i], effective[i]
		if i == l.model.Causes.Unnamed() {
			co.Probability, co.Before = l.other, l.otherPrior()
		}
		for s, v := range sites[i] {
			if v > 0 {
				co.Sites = append(co.Sites, SiteOdds{c.Sites[s].ID, c.Sites[s].Name, v})
			}
		}
		sort.SliceStable(co.Sites, func(a, b int) bool { return co.Sites[a].Probability > co.Sites[b].Probability })
		co.For, co.Against = pro[i], con[i]
		o.Causes = append(o.Causes, co)
	}
	sort.SliceStable(o.Causes, func(a, b int) bool { return o.Causes[a].Probability > o.Causes[b].Probability })

	o.Pairs = l.likeliest(pairs)
	o.Fit = l.fit()
	return o
}

// sitesAndPairs is the probability of each site of each cause, and of each two causes
// to be at fault at once.
func (l *Lineup) sitesAndPairs() (sites [][]float64, pairs map[[2]int]float64) {
	p := l.pop
	sites, pairs = make([][]float64, len(l.model.Causes.Causes)), make(map[[2]int]float64)
	for i := range sites {
		sites[i] = make([]float64, len(l.model.Causes.Causes[i].Sites))
	}
	for i := range p.now {
		f := &p.now[i]
		for a := range f.n {
			if s := f.list[a].Site; s >= 0 {
				sites[f.list[a].Cause][s] += p.weights[i] * (1 - l.other) * l.explains(p, i, f.list[a].Cause)
			}
			for b := a + 1; b < f.n; b++ {
				x, y := f.list[a].Cause, f.list[b].Cause
				both := l.explains(p, i, x) + l.explains(p, i, y) - 1
				if both > 0 {
					pairs[[2]int{min(x, y), max(x, y)}] += p.weights[i] * (1 - l.other) * both
				}
			}
		}
	}
	return sites, pairs
}

// likeliest names the pairs that are worth a reader's time, the likeliest first.
func (l *Lineup) likeliest(pairs map[[2]int]float64) []PairOdds {
	causes, out := l.model.Causes.Causes, []PairOdds{}
	for ab, v := range pairs {
		a, b := &causes[ab[0]], &causes[ab[1]]
		out = append(out, PairOdds{[2]string{a.ID, b.ID}, [2]string{a.Name, b.Name}, v})
	}
	slices.SortFunc(out, func(a, b PairOdds) int {
		return cmp.Or(cmp.Compare(b.Probability, a.Probability), slices.Compare(a.Causes[:], b.Causes[:]))
	})
	return out[:min(len(out), int(l.model.Settings.PairsShown.Value))]
}

// Size is how many candidates were drawn in all rounds.
func (l *Lineup) Size() int { return l.pop.size() }

// Effective is the effective size of the weighed lineup.
func (l *Lineup) Effective() float64 { return effectiveSize(l.pop.weights) }

// LogEvidence is the natural logarithm of the probability, under the catalogue, of all that was
// found. Lineups of one case and other seeds count together in the measure of it.
func (l *Lineup) LogEvidence() float64 { return l.logEvidence }

// marginals sums the weights by cause that explains the complaint now, and by
// no-fault.
func (l *Lineup) marginals(p *population, weights []float64) []float64 {
	sum := make([]float64, len(l.model.Causes.Causes))
	for i := range p.now {
		l.eachCause(p, i, func(c int, share float64) { sum[c] += share * weights[i] })
	}
	return sum
}

// present sums the weights by cause present now, whatever it explains.
func (l *Lineup) present(p *population, weights []float64) []float64 {
	sum := make([]float64, len(l.model.Causes.Causes))
	for i := range p.now {
		for _, f := range p.now[i].present() {
			sum[f.Cause] += weights[i]
		}
	}
	return sum
}

// eachCause calls f with every cause of candidate i and the probability that it
// is what the car came for; no-fault gets what none of them explains.
func (l *Lineup) eachCause(p *population, i int, f func(c int, share float64)) {
	now, s := &p.now[i], &l.draw.strata[p.cands[i].stratum]
	none, explains := 1.0, l.toBlame(&p.cands[i], p.told[i])
	for _, here := range now.present() {
		share := 1.0 // what a repair left behind explains what is left of the complaint
		for k, c := range s.causes {
			if c == here.Cause {
				share = explains[k]
			}
		}
		none -= share
		if share > 0 {
			f(here.Cause, share)
		}
	}
	if none > 1e-9 {
		f(l.model.Causes.NoFault(), none)
	}
}

// complaintWeights fills w with the drawn candidates' weights after the complaint
// alone: the ground on which every finding's weight of evidence is computed.
func (l *Lineup) complaintWeights(w []float64) {
	logw := make([]float64, len(w))
	for i := range logw {
		logw[i] = l.pop.logBase[i] + l.pop.columns[complaintColumn][i]
	}
	normalise(logw, w)
}

// complaintColumn is the place of the complaint among the evidence.
const complaintColumn = 0

func (l *Lineup) otherPrior() float64 {
	cat := l.model.Causes
	return cat.Causes[cat.Unnamed()].Prior() / cat.TotalWeight()
}

// judgeSomethingElse weighs the cause that stands for all that the catalogue
// does not name against all that it does. Its likelihood of what the circuit shows
// is half that of the car as complained of on average over every cause, half
// anything at all: broad, so that any cause that predicts the findings beats
// it, but never beaten by a cause that does not. A look at a part finds what it
// finds on average: a dead needle is no sign of a fault that nobody has a name for.
func (l *Lineup) judgeSomethingElse() {
	prior := l.otherPrior()
	if prior == 0 {
		return
	}
	w := make([]float64, l.pop.size())
	normalise(l.pop.logBase, w)
	log := math.Log(prior)
	for j := range l.evidence {
		column, e := l.pop.columns[j], &l.evidence[j]
		switch {
		case j == complaintColumn:
			log += logMean(w, column)
			l.complaintWeights(w)
		case e.kind == repairTried:
			log += l.logRepairElse(e.repair)
		case e.sign != nil, !e.physical():
			log += logMean(w, column) // of a sign: one of a hundred things that might have been told
		case e.log == nil:
			log += math.Log(0.5) + sample.LogSumExp([]float64{logMean(w, column), e.logAnything()})
		}
	}
	// What is drawn hits a log so seldom that a mean over it is all luck. So the
	// logs are taken together, as what they add to the evidence of all the rest,
	// which the sampling rounds have measured well.
	if logs := len(logsOf(l.evidence)); logs > 0 {
		log += float64(logs)*math.Log(0.5) + l.logEvidence - l.logEvidenceButLogs()
	}
	known := math.Log1p(-prior) + l.logEvidence
	l.other = math.Exp(log - sample.LogSumExp([]float64{log, known}))
}

// logEvidenceButLogs is the log probability, under the catalogue, of all the
// evidence but the logged runs.
func (l *Lineup) logEvidenceButLogs() float64 {
	p := l.pop
	logw := make([]float64, p.size())
	for i := range logw {
		logw[i] = p.logBase[i]
		for j := range p.columns {
			if l.evidence[j].log == nil {
				logw[i] += p.columns[j][i]
			}
		}
	}
	return sample.LogSumExp(logw)
}

// logRepairElse is the log probability of what was said of repair r if the
// cause is none of the catalogue's.
func (l *Lineup) logRepairElse(r int) float64 {
	tried := &l.draw.repairs[r]
	p := cause.Present{Cause: l.model.Causes.Unnamed(), Site: cause.NoSite}
	cured := tried.repair.Succeeds(l.model.Causes, p)
	says := &l.model.Causes.Tried
	back := 0.0
	if tried.back {
		back = cured * l.model.Causes.Relapse.Value
	}
	return math.Log(back + (cured-back)*says.Says(tried.changed, cause.Effect{Had: 1, Gone: 1}) + (1-cured)*says.Says(tried.changed, cause.Effect{Had: 1}))
}

// logMean is log(sum w exp(x)) for weights that sum to one.
func logMean(w, x []float64) float64 {
	terms := make([]float64, len(w))
	for i := range w {
		terms[i] = math.Log(w[i]) + x[i]
	}
	return sample.LogSumExp(terms)
}

// physical is true for a finding of what the circuit shows.
func (e *evidence) physical() bool {
	if e.check == nil || e.worded && !e.check.Physical() {
		return false
	}
	for _, r := range e.readings {
		if !r.model.Physical() {
			return false
		}
	}
	return true
}

// logAnything is the log likelihood of the finding if it could be anything.
func (e *evidence) logAnything() float64 {
	sum := 0.0
	if e.worded {
		sum -= e.weight * math.Log(float64(len(e.check.Words)))
	}
	for _, r := range e.readings {
		sum -= math.Log(r.model.Plausible[1] - r.model.Plausible[0])
	}
	return sum
}

// explains is the probability that a cause of candidate i is what the car came for.
func (l *Lineup) explains(p *population, i, index int) (share float64) {
	l.eachCause(p, i, func(c int, v float64) {
		if c == index {
			share = v
		}
	})
	return share
}

// has tells whether candidate i has the cause now.
func (l *Lineup) has(p *population, i, index int) bool {
	f := &p.now[i]
	if f.n == 0 {
		return index == l.model.Causes.NoFault()
	}
	return f.has(index)
}
