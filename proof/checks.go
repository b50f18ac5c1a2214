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

// checks adds what the run leaves open: greedily the check that, showing what
// it shows on a good car, leaves least doubt.
func (p *Proof) checks(ctx context.Context, out *Design, ll []float64, done map[string]bool) error {
	can := slices.DeleteFunc(p.suitable(), func(c *check.Check) bool { return done[c.ID] })
	var need circuit.Set
	for _, c := range can {
		need = need.Union(c.Situations())
	}
	if err := p.drill(ctx, need, nil); err != nil {
		return err
	}
	asks := p.options(can, done)
	for range int(p.st.MostChecks.Value) {
		now := p.doubt(ll, nil)
		if now <= 1/p.st.PassOdds.Value {
			break
		}
		best, bestScore := -1, 0.0
		for k := range asks {
			// Fear taken away, with some regard to the minutes. Judgement.
			if score := math.Log(now/p.doubt(ll, asks[k].factor)) / math.Pow(asks[k].minutes, 0.25); score > bestScore {
				best, bestScore = k, score
			}
		}
		if best < 0 || p.doubt(ll, asks[best].factor) > (1-p.st.LeastGain.Value)*now {
			break
		}
		a := asks[best]
		asks = slices.Delete(asks, best, best+1)
		shows := p.mostly(ll, a.factor)
		if a.check == nil {
			out.AskOwner, out.OwnerShows = true, shows
		} else {
			out.Checks = append(out.Checks, CheckPower{
				Check: a.check.ID, Name: a.check.Name, Minutes: a.minutes, Wants: a.check.Words[a.want].Says, Shows: shows,
			})
		}
		for i := range ll {
			ll[i] += a.factor[i]
		}
	}
	out.Whole = p.doubt(ll, nil) <= 1/p.st.PassOdds.Value
	out.Hidden = p.hidden(ll)
	return nil
}

// option is a way of learning more after a repair.
type option struct {
	check   *check.Check // nil: the owner is asked after some days
	minutes float64
	factor  []float64 // log likelihood, against a good car's, of what a good car shows
	want    int       // that word
}

// ownerMinutes is how long it takes to ring the owner. Judgement.
const ownerMinutes = 5

// options lists what could be asked for. The drill must have been run.
func (p *Proof) options(can []*check.Check, done map[string]bool) (out []option) {
	for _, c := range can {
		a := option{check: c, minutes: c.Minutes.Typical}
		a.factor, a.want = p.factor(p.shows(c))
		out = append(out, a)
	}
	if !done[ownerAsked] {
		a := option{minutes: ownerMinutes}
		if a.factor, a.want = p.factor(p.owner()); a.want == int(cause.Cured) {
			out = append(out, a)
		}
	}
	return out
}

// ownerAsked stands for the owner's word among the checks done; no check has
// this id.
const ownerAsked = "the owner"

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
	good := make([]float64, len(shows[0]))
	for i := range p.list {
		if h := &p.list[i]; h.class == Good {
			for k, v := range shows[i] {
				good[k] += h.weight * v
			}
		}
	}
	for k := range good {
		if good[k] > good[want] {
			want = k
		}
	}
	out = make([]float64, len(p.list))
	for i := range p.list {
		out[i] = math.Log(shows[i][want]) - math.Log(good[want])
	}
	return out, want
}

// doubt is what a sceptic's odds against a good repair would be, ll being
// relative to a good one.
func (p *Proof) doubt(ll, more []float64) float64 {
	sum := 0.0
	bad := 1 - p.sceptic[Good]
	for i := range p.list {
		h := &p.list[i]
		if h.class == Good {
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

// mostly names the cause whose doubt a check takes away most.
func (p *Proof) mostly(ll, factor []float64) string {
	sum := make(map[string]float64)
	best := ""
	for i := range p.list {
		h := &p.list[i]
		if h.class == Good || len(h.faults) == 0 {
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
	bad := 1 - p.sceptic[Good]
	for i := range p.list {
		h := &p.list[i]
		if h.class == Good || len(h.faults) == 0 {
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
	out = slices.DeleteFunc(out, func(h Undetected) bool { return h.Share < 0.25/p.st.PassOdds.Value })
	sort.SliceStable(out, func(a, b int) bool { return out[a].Share > out[b].Share })
	return out
}
