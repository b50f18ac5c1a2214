package proof

import (
	"context"
	"math"
	"slices"
	"sort"

	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
)

// checks adds what the run leaves open: greedily the look, or one of at most so many runs, that on a
// good car is expected to raise the odds most.
func (p *Proof) checks(out *Design, ll []float64, asks []option, runs int) {
	for range int(p.st.MostChecks.Value) {
		if p.doubt(ll, nil) <= 1/p.st.PassOdds.Value {
			break
		}
		best, bestScore := -1, 0.0
		for k := range asks {
			if asks[k].run != nil && len(out.Further) >= runs {
				continue
			}
			// Odds won, with some regard to the minutes.
			if score := p.gain(ll, &asks[k]) / math.Pow(asks[k].minutes, p.st.MinutesPower.Value); score > bestScore {
				best, bestScore = k, score
			}
		}
		if best < 0 || p.gain(ll, &asks[best]) < p.st.LeastGain.Value {
			break
		}
		a := asks[best]
		asks = slices.Delete(asks, best, best+1)
		p.ask(out, &a, p.mostly(ll, a.factor))
		for i := range ll {
			ll[i] += a.factor[i]
		}
	}
	out.Whole = p.doubt(ll, nil) <= 1/p.st.PassOdds.Value
	out.Hidden = p.hidden(ll)
}

// ask puts an option into the design; shows is the cause that it would give away.
func (p *Proof) ask(out *Design, a *option, shows string) {
	switch {
	case a.run != nil:
		out.Further = append(out.Further, FurtherRun{*a.run, shows})
	case a.check == nil:
		out.AskOwner, out.OwnerShows = true, shows
	default:
		out.Checks = append(out.Checks, CheckPower{
			Check: a.check.ID, Name: a.check.Name, Minutes: a.minutes, Wants: a.check.Words[a.want].Says, Shows: shows, Again: a.again,
		})
	}
}

// option is a way of learning more after a repair.
type option struct {
	check   *check.Check // nil: a run is made, or else the owner is asked after some days
	run     *RunPower
	minutes float64
	shows   [][]float64 // by hypothesis, the probability of each word
	factor  []float64   // log likelihood, against a good car's, of what a good car shows
	want    int         // that word
	again   bool        // it was made before
}

// options lists what could be asked for: a check that was made already only if it did not show
// what it shows on a good car, for one odd result is looked at again.
func (p *Proof) options(ctx context.Context, w *logLikelihoods, asked bool, runs []*RunPower) (out []option, err error) {
	can := p.suitable()
	var need circuit.Set
	for _, c := range can {
		need = need.Union(c.Situations())
	}
	if err := p.drill(ctx, need, nil); err != nil {
		return nil, err
	}
	for _, c := range can {
		a := option{check: c, minutes: c.Minutes.Typical}
		a.shows = p.shows(c)
		if a.factor, a.want = p.factor(a.shows); w.times[c.ID] > 0 {
			if w.times[c.ID] >= int(p.st.MadeMost.Value) || w.word[c.ID] == a.want {
				continue
			}
			a.shows, a.again = p.showsNow(w, c), true
			a.factor, _ = p.factorOf(a.shows, a.want)
		}
		out = append(out, a)
	}
	if !asked {
		a := option{minutes: p.st.OwnerMinutes.Value, shows: p.owner()}
		if a.factor, a.want = p.factor(a.shows); a.want == int(cause.Cured) {
			out = append(out, a)
		}
	}
	for _, r := range runs {
		out = append(out, option{run: r, minutes: r.Minutes, factor: r.ll})
	}
	return out, nil
}

// suitable are the checks that one may ask for after a repair: in words, short,
// and without taking the engine apart again.
func (p *Proof) suitable() []*check.Check {
	var out []*check.Check
	for i := range p.model.Checks.Checks {
		c := &p.model.Checks.Checks[i]
		if len(c.Words) > 0 && !c.Trace && c.State != "open" && c.State != "road" && c.Minutes.Typical <= p.st.CheckMinutes.Value {
			out = append(out, c)
		}
	}
	return out
}

// factor is the log likelihood, against a good car's, of the result that a good
// car shows most often.
func (p *Proof) factor(shows [][]float64) (out []float64, want int) {
	good := p.goodShows(shows)
	for k := range good {
		if good[k] > good[want] {
			want = k
		}
	}
	return p.factorOf(shows, want)
}

// factorOf is the same of a given result.
func (p *Proof) factorOf(shows [][]float64, want int) ([]float64, int) {
	good := p.goodShows(shows)
	out := make([]float64, len(p.list))
	for i := range p.list {
		out[i] = math.Log(shows[i][want]) - math.Log(good[want])
	}
	return out, want
}

// goodShows is what good cars show, on average.
func (p *Proof) goodShows(shows [][]float64) []float64 {
	good := make([]float64, len(shows[0]))
	for i := range p.list {
		if h := &p.list[i]; h.class == Good {
			for k, v := range shows[i] {
				good[k] += h.weight * v
			}
		}
	}
	return good
}

// bad is how much a sceptic believes beforehand that the repair is not good.
func (p *Proof) bad() float64 { return 1 - p.sceptic[Good] - p.sceptic[Beside] }

// doubt is what a sceptic's odds against a good repair would be, ll being
// relative to a good one.
func (p *Proof) doubt(ll, more []float64) float64 {
	sum := 0.0
	bad := p.bad()
	for i := range p.list {
		h := &p.list[i]
		if h.class.well() {
			continue
		}
		v := ll[i]
		if more != nil {
			v += more[i]
		}
		sum += p.sceptic[h.class] / bad * h.weight * math.Exp(v)
	}
	return sum
}

// gain is by how much an option is expected to raise the log odds of a good repair.
func (p *Proof) gain(ll []float64, a *option) float64 {
	if a.run != nil {
		return p.expects(ll, a.run)
	}
	return p.growth(ll, a.shows)
}

// growth is by how much a check is expected to raise the log odds of a good repair. Of the looks
// at hand the one with the largest growth settles a good repair soonest on average (Kelly 1956;
// Grünwald, de Heide & Koolen 2024 for tests that may stop at any time). A look that
// is often odd on a good car earns little, however much its usual result would say.
func (p *Proof) growth(ll []float64, shows [][]float64) (sum float64) {
	good := p.goodShows(shows)
	bad, now := make([]float64, len(good)), 0.0
	for i := range p.list {
		h := &p.list[i]
		if h.class.well() {
			continue
		}
		v := p.sceptic[h.class] * h.weight * math.Exp(ll[i])
		now += v
		for k, s := range shows[i] {
			bad[k] += v * s
		}
	}
	for k, g := range good {
		if g > 0 && bad[k] > 0 {
			sum -= g * math.Log(bad[k]/(now*g))
		}
	}
	return sum
}

// mostly names the cause whose doubt a check takes away most.
func (p *Proof) mostly(ll, factor []float64) string {
	sum := make(map[string]float64)
	best := ""
	for i := range p.list {
		h := &p.list[i]
		if h.class.well() || len(h.faults) == 0 {
			continue
		}
		name := p.model.Causes.Describe(h.faults[0])
		sum[name] += p.sceptic[h.class] * h.weight * math.Exp(ll[i]) * (1 - math.Exp(factor[i]))
		if best == "" || sum[name] > sum[best] || sum[name] == sum[best] && name < best {
			best = name
		}
	}
	return best
}

// hidden lists what a sceptic may still doubt.
func (p *Proof) hidden(ll []float64) []Undetected {
	type key struct {
		c    Class
		name string
	}
	at := make(map[key]int)
	out := []Undetected{}
	bad := p.bad()
	for i := range p.list {
		h := &p.list[i]
		if h.class.well() || len(h.faults) == 0 {
			continue
		}
		id, name := p.model.Causes.Causes[h.faults[0].Cause].ID, p.model.Causes.Describe(h.faults[0])
		k := key{h.class, name}
		n, ok := at[k]
		if !ok {
			n = len(out)
			at[k] = n
			out = append(out, Undetected{Class: h.class, Cause: id, Name: name})
		}
		out[n].Share += p.sceptic[h.class] / bad * h.weight * math.Exp(ll[i])
	}
	out = slices.DeleteFunc(out, func(h Undetected) bool { return h.Share < p.st.UndetectedShare.Value/p.st.PassOdds.Value })
	sort.SliceStable(out, func(a, b int) bool { return out[a].Share > out[b].Share })
	return out
}
