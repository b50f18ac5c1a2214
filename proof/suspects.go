package proof

import (
	"cmp"
	"maps"
	"math"
	"slices"
	"sort"
	"strings"
)

// Suspect is one thing that may still be wrong.
type Suspect struct {
	Class       Class   `json:"class"`
	Cause       string  `json:"cause"`
	Name        string  `json:"name"`
	Probability float64 `json:"probability"` // 0..1
}

// ByName adds up what bears one name, likeliest first: the same fault left behind by a repair
// and there beside it is one thing to whoever reads names. The likelier one's class stays.
func ByName(list []Suspect) []Suspect {
	out, at := make([]Suspect, 0, len(list)), make(map[string]int)
	for _, x := range list {
		i, ok := at[x.Name]
		if !ok {
			at[x.Name] = len(out)
			out = append(out, x)
			continue
		}
		if o := &out[i]; x.Probability > o.Probability {
			x.Probability += o.Probability
			*o = x
		} else {
			o.Probability += x.Probability
		}
	}
	slices.SortStableFunc(out, func(a, b Suspect) int { return cmp.Compare(b.Probability, a.Probability) })
	return out
}

// seen judges apart what could be seen: what all the evidence together would
// have missed in fewer than 1 of 50 such cars.
func (p *Proof) seen(j *Judgement, w *logLikelihoods, post, class [classes]float64) {
	visible := func(i int) bool { return w.missed[i] <= 1/p.st.PassOdds.Value }
	// against is the log odds of what is wanted against the visible part of the
	// classes, and how much of these is visible.
	against := func(wanted float64, of ...Class) (logOdds, share float64) {
		mass, whole, sum := 0.0, 0.0, 0.0
		for i := range p.list {
			h := &p.list[i]
			if !slices.Contains(of, h.class) {
				continue
			}
			v := p.sceptic[h.class] * h.weight
			whole += v
			if visible(i) {
				mass += v
				sum += v * math.Exp(w.ll[i]-wanted)
			}
		}
		if mass == 0 {
			return 0, 0
		}
		return math.Log(mass) - math.Log(sum), mass / whole
	}
	// A denial is spoken of the cause and of the whole only: four ratios, each with
	// its own chance of denying a good repair, would deny too many.
	enough := math.Log(p.st.PassOdds.Value)
	j.Seen, j.CauseSeen = CouldNotTell, CouldNotTell
	share := 0.0
	if j.LogOddsSeen, share = against(p.well(class), Left, Another); share > 0 && j.LogOddsSeen >= enough {
		j.Seen = Proven
	}
	if j.LogOddsCauseSeen, share = against(p.without(class), Still); share >= p.st.VisibleShare.Value && j.LogOddsCauseSeen >= enough {
		j.CauseSeen = Proven
	}
	for i := range p.list {
		if h := &p.list[i]; h.class == Still && !visible(i) && post[Still] > 0 {
			j.Rest += post[Still] * h.weight * math.Exp(w.ll[i]-class[Still])
		}
	}
	// What is still feared by name is open, whether it could have been seen or not.
	other, same := p.feared(w.ll, post, class)
	if other > p.st.OpenMost.Value {
		j.Seen = CouldNotTell
	}
	if same > p.st.OpenMost.Value {
		j.CauseSeen = CouldNotTell
	}
	hidden := func(i int) bool { return p.list[i].class != Still && p.list[i].class != Beside && !visible(i) }
	named := p.toName(w.ll, p.well(class), hidden)
	j.Unseen = slices.DeleteFunc(p.suspects(w.ll, post, class, 0, hidden), func(x Suspect) bool {
		return x.Probability < p.st.WorthNaming.Value/p.st.UnseenTimes.Value && !named[x.Class.String()+x.Cause]
	})
}

// feared is the probability of the likeliest one cause that may still be wrong: another than the
// repaired one, and the repaired one itself.
func (p *Proof) feared(ll []float64, post, class [classes]float64) (other, same float64) {
	by := make([]float64, len(p.model.Causes.Causes))
	for i := range p.list {
		h := &p.list[i]
		if h.class.well() || h.class == Unnamed || post[h.class] == 0 {
			continue
		}
		v := post[h.class] * h.weight * math.Exp(ll[i]-class[h.class])
		if h.class == Still {
			same += v
			continue
		}
		for _, f := range h.faults {
			by[f.Cause] += v
		}
	}
	return slices.Max(by), same
}

// toName lists, by class and cause, what has to be named as not seen: all but what makes up, of
// the ways in which a sceptic holds the repair to have failed, half of the share that may pass.
func (p *Proof) toName(ll []float64, good float64, hidden func(int) bool) map[string]bool {
	doubt, total := make(map[string]float64), 0.0
	for i := range p.list {
		h := &p.list[i]
		if h.class.well() || h.class == Unnamed || !hidden(i) {
			continue
		}
		v := p.sceptic[h.class] / p.bad() * h.weight * math.Exp(math.Min(0, ll[i]-good))
		total += v
		for _, f := range h.faults {
			doubt[h.class.String()+p.model.Causes.Causes[f.Cause].ID] += v
		}
	}
	order := slices.SortedFunc(maps.Keys(doubt), func(a, b string) int {
		if doubt[a] != doubt[b] {
			return cmp.Compare(doubt[b], doubt[a])
		}
		return strings.Compare(a, b)
	})
	out := make(map[string]bool)
	for _, k := range order {
		if total <= p.st.NamedDoubt.Value/p.st.PassOdds.Value {
			break
		}
		out[k] = true
		total -= doubt[k]
	}
	return out
}

// suspects sums up what may still be wrong, of the hypotheses wanted, down to
// a least probability.
func (p *Proof) suspects(ll []float64, post, class [classes]float64, least float64, wanted func(int) bool) []Suspect {
	type key struct {
		c    Class
		what string
	}
	sum := make(map[key]*Suspect)
	var keys []key
	add := func(c Class, id, name string, v float64) {
		k := key{c, name}
		if sum[k] == nil {
			sum[k] = &Suspect{Class: c, Cause: id, Name: name}
			keys = append(keys, k)
		}
		sum[k].Probability += v
	}
	for i := range p.list {
		h := &p.list[i]
		if h.class == Good || h.class == Unnamed || post[h.class] == 0 || !wanted(i) {
			continue
		}
		v := post[h.class] * h.weight * math.Exp(ll[i]-class[h.class])
		for _, f := range h.faults {
			add(h.class, p.model.Causes.Causes[f.Cause].ID, p.model.Causes.Describe(f), v)
		}
	}
	if post[Unnamed] > 0 {
		// No hypothesis of its own to ask after: it counts as one that all could miss.
		if i := p.model.Causes.Unnamed(); i >= 0 {
			add(Unnamed, p.model.Causes.Causes[i].ID, p.model.Causes.Causes[i].Name, post[Unnamed])
		}
	}
	out := []Suspect{}
	for _, k := range keys {
		if sum[k].Probability >= least {
			out = append(out, *sum[k])
		}
	}
	sort.SliceStable(out, func(a, b int) bool { return out[a].Probability > out[b].Probability })
	return out
}
