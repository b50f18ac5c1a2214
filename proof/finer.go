package proof

import (
	"context"
	"fmt"
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// finer says which engines are to be picked more, because the odds are not known well enough:
// the share of the picks for each engine of the lineup, or nil where they are.
//
// Odds are a ratio A/B of sums over the picks. One pick e holds a_e of A and b_e of B, and the
// standard error of ln(A/B) is, by the delta method,
//
//	sqrt(sum_e (a_e - b_e)^2)
//
// After a run that looks good, five engines may hold nearly all that still speaks against
// the repair. More picks by the same shares would mostly be of others. Engines with the
// same causes are taken together, and each set of causes is picked from by the standard
// error that it brings (Neyman 1934). A part of the picks goes to all, since a set may
// have been met by none.
func (p *Proof) finer(w *logLikelihoods, j *Judgement) []float64 {
	class := p.marginals(w.ll, -1)
	whole := p.influence(w.ll, class, []Class{Good, Beside}, []Class{Still, Left, Another, Unnamed})
	gone := p.influence(w.ll, class, []Class{Good, Beside, Left, Another}, []Class{Still})
	j.Error, j.ErrorCause = floats.Norm(whole, 2), floats.Norm(gone, 2)
	sure := p.sure(j.Error, j.LogOdds, j.LogOddsSeen) && p.sure(j.ErrorCause, j.LogOddsCause, j.LogOddsCauseSeen)
	if sure || 2*len(p.engines.picked) > int(p.st.MostEngines.Value) {
		return nil
	}
	return p.engines.moreOf(whole, gone)
}

// sure says whether more picks would hardly change on which side of a bound the odds lie.
func (p *Proof) sure(err float64, odds ...float64) bool {
	if err <= p.st.JudgeError.Value {
		return true
	}
	for _, x := range odds {
		for _, bound := range []float64{math.Log(p.st.PassOdds.Value), -math.Log(p.st.DenyOdds.Value)} {
			if math.Abs(x-bound) < p.st.JudgeAway.Value*err {
				return false
			}
		}
	}
	return true
}

// influence is a_e - b_e of each pick, for the classes on both sides.
func (p *Proof) influence(ll []float64, class [classes]float64, of, against []Class) []float64 {
	var holds [classes]float64 // each class of its side, signed
	for _, c := range of {
		holds[c] = 1
	}
	for _, c := range against {
		holds[c] = -1
	}
	for _, side := range [][]Class{of, against} {
		total := p.mix(class, side...)
		for _, c := range side {
			holds[c] *= p.sceptic[c] * math.Exp(class[c]-total)
		}
		norm := 0.0
		for _, c := range side {
			norm += math.Abs(holds[c])
		}
		for _, c := range side {
			holds[c] /= norm
		}
	}
	out := make([]float64, len(p.engines.picked))
	for i := range p.list {
		if h := &p.list[i]; holds[h.class] != 0 && !math.IsNaN(holds[h.class]) {
			out[h.engine] += holds[h.class] * h.weight * math.Exp(ll[i]-class[h.class])
		}
	}
	return out
}

// moreOf is the share of the picks by what those so far bring to each error.
func (k *maker) moreOf(errors ...[]float64) []float64 {
	first, all := k.pickShares(), k.st.JudgeAll.Value
	set, sets := k.setsOfCauses()
	of, picks := make([]float64, sets), make([]float64, sets)
	out := make([]float64, len(first))
	for i, v := range first {
		of[set[i]] += v
		out[i] = all * v
	}
	for _, i := range k.picked {
		picks[set[i]]++
	}
	for _, e := range errors {
		brings := make([]float64, sets)
		for pick, v := range e {
			brings[set[k.picked[pick]]] += v * v
		}
		for s := range brings {
			brings[s] = math.Sqrt(picks[s] * brings[s])
		}
		total := floats.Sum(brings)
		if total == 0 {
			continue
		}
		for i, v := range first {
			out[i] += (1 - all) / float64(len(errors)) * brings[set[i]] / total * v / of[set[i]]
		}
	}
	floats.Scale(1/floats.Sum(out), out)
	return out
}

// setsOfCauses numbers the sets of causes: that of each engine, and how many there are.
func (k *maker) setsOfCauses() (set []int, sets int) {
	numbers := make(map[string]int)
	set = make([]int, len(k.all))
	for i := range k.all {
		causes := make([]int, len(k.all[i].Faults))
		for n, f := range k.all[i].Faults {
			causes[n] = f.Cause
		}
		slices.Sort(causes)
		key := fmt.Sprint(causes)
		if _, met := numbers[key]; !met {
			numbers[key] = len(numbers)
		}
		set[i] = numbers[key]
	}
	return set, len(numbers)
}

// with is the proof on one batch of engines more; p itself stays as it is.
func (p *Proof) with(ctx context.Context, share []float64) (*Proof, error) {
	k := *p.engines
	k.list, k.spread, k.picked, k.fresh = slices.Clone(k.list), slices.Clone(k.spread), slices.Clone(k.picked), slices.Clone(k.fresh)
	k.used, k.evenly = maps.Clone(k.used), maps.Clone(k.evenly)
	q := &Proof{
		model: p.model, st: p.st, repairs: p.repairs, before: p.before, engines: &k, batches: p.batches,
		shop: p.shop, petrol: p.petrol, fan: p.fan, complaint: p.complaint, seed: p.seed,
	}
	return q, q.pick(ctx, share)
}
