package proof

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mathext"

	"weephole/cause"
	"weephole/circuit"
	"weephole/lineup"
	"weephole/sample"
)

// maker makes every engine's ways, and the probability of each class.
type maker struct {
	m       *lineup.Model
	st      *Criteria
	repairs []*cause.Repair
	l       *lineup.Lineup // as it stood before the repair
	all     []lineup.Engine
	rng     *rand.Rand
	list    []hypothesis
	prior   [classes]float64
	donors  []cause.Present // second faults, and how much each weighs
	shares  []float64
	evenly  map[int]float64 // how far along each cause's severities the last draw was
	second  float64         // how much likelier a second fault of the lineup is than a good repair
	unheard float64         // the same of one that the lineup does not hold
	fresh   [][]float64     // deviates of the engines picked more than once
	used    map[int]int     // how often each engine was picked
	picked  []int           // engines, in the order picked
	spread  []float64       // by engine: how many picks of it the batches expect
}

// succeeds is the probability that the repairs together put the fault right.
func (k *maker) succeeds(p cause.Present) float64 {
	fails := 1.0
	for _, r := range k.repairs {
		fails *= 1 - r.Succeeds(k.m.Causes, p)
	}
	return 1 - fails
}

// way is one way in which an engine may come out of the repair.
type way struct {
	class     Class
	remaining []cause.Present
	p         float64
}

// ways lists how the engine's own faults may come out, leaving out what the
// repair leaves behind, and the probability that all are gone. cured tells
// whether it had a fault that the repair can cure.
func (k *maker) ways(faults []cause.Present) (list []way, gone float64, cured bool) {
	faults = slices.DeleteFunc(slices.Clone(faults), func(f cause.Present) bool { return f.Cause == k.m.Causes.NoFault() })
	n := len(faults)
	curable, success := 0, make([]float64, n)
	for i, f := range faults {
		if success[i] = k.succeeds(f); success[i] > 0 {
			curable |= 1 << i
		}
	}
	for mask := range 1 << n {
		w := way{p: 1, class: Another}
		for i, f := range faults {
			if mask&(1<<i) != 0 {
				w.p *= 1 - success[i]
				w.remaining = append(w.remaining, f)
			} else {
				w.p *= success[i]
			}
		}
		switch {
		case w.p == 0:
			continue
		case mask == 0:
			gone = w.p
			continue
		case mask&curable != 0:
			w.class = Still
		}
		list = append(list, w)
	}
	return list, gone, curable != 0
}

// leaves lists what the repairs may leave behind.
func (k *maker) leaves() (list []*cause.Leaves, total float64) {
	for _, r := range k.repairs {
		for i := range r.Disturbs {
			list = append(list, &r.Disturbs[i])
			total += r.Disturbs[i].Share
		}
	}
	return list, min(total, k.st.LeavesMost.Value)
}

// newMaker takes in the lineup as it stood before the repair.
func newMaker(l *lineup.Lineup, st *Criteria, repairs []*cause.Repair) *maker {
	k := &maker{m: l.Model(), st: st, repairs: repairs, l: l, all: l.Engines(), used: make(map[int]int), evenly: make(map[int]float64)}
	k.spread = make([]float64, len(k.all))
	_, leaveShare := k.leaves()
	pairs, gone := 0.0, 0.0
	for i := range k.all {
		ways, g, cured := k.ways(k.all[i].Faults)
		w := k.all[i].Weight * (1 - l.Other())
		gone += w * g
		k.prior[Good] += w * g * (1 - leaveShare)
		k.prior[Left] += w * g * leaveShare
		for _, y := range ways {
			k.prior[y.class] += w * y.p
			if y.class == Another && cured {
				pairs += w * y.p
				k.donors = append(k.donors, y.remaining...)
				for range y.remaining {
					k.shares = append(k.shares, w*y.p)
				}
			}
		}
	}
	k.prior[Unnamed] = l.Other()
	k.prior[Another] += st.SecondLeast.Value
	if gone > 0 {
		k.second, k.unheard = pairs/gone, st.SecondLeast.Value/gone
	}
	return k
}

// add picks n engines more, each with a share of the picks, and weighs all hypotheses
// again. The batches count together by the deterministic mixture (Owen & Zhou 2000): a
// pick counts the engine's weight over how many picks of it all batches expect.
func (k *maker) add(n int, share []float64, rng *rand.Rand) {
	k.rng = rng
	for i, v := range share {
		k.spread[i] += float64(n) * v
	}
	for _, i := range sample.Systematic(len(k.all), func(i int) float64 { return share[i] }, n, rng.Float64()) {
		e := len(k.picked)
		k.picked = append(k.picked, i)
		k.engine(e, &k.all[i], k.numbers(&k.all[i], k.used[i]))
		k.used[i]++
	}
	var sum [classes]float64
	for i := range k.list {
		h := &k.list[i]
		from := k.picked[h.engine]
		h.weight = h.p * k.all[from].Weight / k.spread[from]
		sum[h.class] += h.weight
	}
	for i := range k.list {
		k.list[i].weight /= sum[k.list[i].class]
	}
}

// pickShares is the share of the picks that each engine gets; they sum to 1.
//
// By weight alone, an engine that this repair seldom cures would be picked once or twice and
// then hold a quarter of the class Still. Whether a run can prove the repair would hang on
// those two engines, and so on the seed. Every outcome is picked for in the same measure:
//
//	share_i = 1/C sum_c w_i p_ic / sum_j w_j p_jc
//
// over the C outcomes that occur, w the engine's weight and p_ic the probability that it comes
// out so. A pick then counts w_i / share_i, and no pick holds more than C/n of any outcome
// (mixture importance sampling: Owen 2013, ch. 9.11).
func (k *maker) pickShares() []float64 {
	all := k.all
	_, leaves := k.leaves()
	outcomes := make([][]float64, len(all))
	sum := make([]float64, 5)
	for i := range all {
		ways, gone, cured := k.ways(all[i].Faults)
		still, another := 0.0, 0.0
		for _, y := range ways {
			switch {
			case y.class == Still:
				still += y.p
			case !cured:
				another += y.p
			}
		}
		// Good, something left behind, a second fault besides, the cause still there, another alone.
		outcomes[i] = []float64{gone, gone * leaves, gone * (k.second + k.unheard), still, another}
		for c := range outcomes[i] {
			outcomes[i][c] *= all[i].Weight
			sum[c] += outcomes[i][c]
		}
	}
	out, total := make([]float64, len(all)), 0.0
	for i := range out {
		for c, v := range outcomes[i] {
			if v > 0 {
				out[i] += v / sum[c]
			}
		}
		total += out[i]
	}
	for i := range out {
		out[i] /= total
	}
	return out
}

// numbers makes the circuits of an engine. Where the findings left few engines, the same
// one is picked again and again, and so few cannot stand for all cars of the kind. So the
// second pick and those after it have the faults, and numbers of their own from the
// table. The first fresh numbers are the same for every engine that is picked twice, and
// so on, so that what they have in common cancels in the odds.
func (k *maker) numbers(en *lineup.Engine, copies int) func(...cause.Present) circuit.Circuit {
	if copies == 0 {
		return en.Circuit
	}
	own, v := en.Circuit(), k.l.Case().Vehicle
	v.FanKind, v.ThermostatSits = &own.FanKind, circuit.OnOutlet
	if own.ThermostatOnInlet {
		v.ThermostatSits = circuit.OnInlet
	}
	for len(k.fresh) < copies {
		z := make([]float64, k.m.Table.Dim())
		for i := range z {
			z[i] = k.rng.NormFloat64()
		}
		k.fresh = append(k.fresh, z)
	}
	return func(faults ...cause.Present) circuit.Circuit {
		c := k.m.Table.Draw(v, k.fresh[copies-1])
		for i := range faults {
			f := &faults[i]
			k.m.Causes.Causes[f.Cause].Apply(f.Severity, f.Hidden[:], &c)
		}
		return c
	}
}

// engine adds one engine in all its ways. The same numbers of it serve several ways of
// coming out, so that what they have in common cancels in the odds.
func (k *maker) engine(e int, en *lineup.Engine, with func(...cause.Present) circuit.Circuit) {
	healthy := with()
	second := false
	add := func(c Class, w float64, faults ...cause.Present) {
		if w <= 0 {
			return
		}
		circ := with(faults...)
		if k.refills() {
			circ.Fill = healthy.Fill // a leak is there still, but its loss was made up
		}
		k.list = append(k.list, hypothesis{engine: e, class: c, second: second, faults: faults, circ: circ, p: w})
	}
	ways, gone, cured := k.ways(en.Faults)
	add(Good, gone)
	if e%int(k.st.UnnamedEvery.Value) == 0 {
		add(Unnamed, 1) // a log may go any way about: only its conditions count
	}
	for _, y := range ways {
		switch {
		case y.class == Another && !cured:
			add(Another, y.p, y.remaining...)
		case y.class == Still:
			redrawn := k.redrawn(y.remaining)
			add(Still, y.p*(1-redrawn), y.remaining...)
			again := make([]cause.Present, len(y.remaining))
			for i, f := range y.remaining {
				again[i] = k.draw(f.Cause)
				again[i].Site, again[i].Hidden = f.Site, f.Hidden
			}
			add(Still, y.p*redrawn, again...)
		}
	}
	if gone == 0 {
		return // it keeps a fault that this repair does not cure
	}
	leaves, _ := k.leaves()
	for _, l := range leaves {
		add(Left, gone*l.Share, k.draw(l.Index()))
	}
	second = true
	seconds := k.st.SecondsEach.Value
	for range int(seconds) {
		if f, ok := k.donor(healthy.FanKind); ok {
			add(Another, gone*k.second/seconds, f)
		}
		if f, ok := k.unheardOf(healthy.FanKind); ok {
			add(Another, gone*k.unheard/seconds, f)
		}
	}
}

// redrawn is the share of the failed repairs of such faults that leave them at another severity.
// It hangs on the repair that was done for them: a fault that a repair only cures on the way, as
// bleeding does an air pocket, is worked on and not replaced.
func (k *maker) redrawn(faults []cause.Present) float64 {
	out := 0.0
	for _, f := range faults {
		var best *cause.Repair
		for _, r := range k.repairs {
			if share := r.CureShare(f); share > 0 && (best == nil || share > best.CureShare(f)) {
				best = r
			}
		}
		switch {
		case best == nil:
		case best.NoPart || best.CureShare(f) < k.st.MainShare.Value*surest(best):
			out = math.Max(out, k.st.Redrawn.Value)
		default:
			out = math.Max(out, k.st.RedrawnPart.Value)
		}
	}
	return out
}

// refills tells whether the repairs end with a full system.
func (k *maker) refills() bool {
	for _, r := range k.repairs {
		if r.Drained() {
			return true
		}
	}
	return false
}

// donor draws a second fault that such a car can have, of those that the lineup holds.
func (k *maker) donor(fan circuit.FanKind) (cause.Present, bool) {
	if len(k.donors) == 0 {
		return cause.Present{}, false
	}
	for range int(k.st.SecondTries.Value) {
		f := k.donors[weighted(k.shares, k.rng.Float64())]
		if k.m.Causes.Causes[f.Cause].Fits(fan) {
			return f, true
		}
	}
	return cause.Present{}, false
}

// unheardOf draws a second fault from the catalogue, by how common it is: some thousand engines do
// not hold every pair, and what they lack may be there all the same.
func (k *maker) unheardOf(fan circuit.FanKind) (cause.Present, bool) {
	list := k.m.Causes.Causes
	for range int(k.st.SecondTries.Value) {
		i := sample.Pick(len(list), func(i int) float64 {
			if i == k.m.Causes.NoFault() || list[i].Anything {
				return 0
			}
			return list[i].Prior()
		}, k.rng.Float64())
		if f := k.draw(i); list[i].Fits(fan) && k.succeeds(f) == 0 {
			return f, true
		}
	}
	return cause.Present{}, false
}

// golden is the step of the even draws: its multiples, less their whole parts, lie more evenly
// than chance for any number of them (Kuipers and Niederreiter 1974, ch. 2.3).
const golden = math.Phi - 1

// draw makes a cause with severity, site and hidden states by their shares. The severities of
// one cause lie evenly: what a repair leaves of a fault is seen or not by how bad it is, and a
// few draws by chance would let the verdict hang on the seed.
func (k *maker) draw(index int) cause.Present {
	c := &k.m.Causes.Causes[index]
	p := cause.Present{Cause: index, Site: cause.NoSite}
	at, drawn := k.evenly[index]
	if !drawn {
		at = k.rng.Float64()
	}
	k.evenly[index] = math.Mod(at+golden, 1)
	p.Severity = mathext.InvRegIncBeta(c.Severity.Shape[0], c.Severity.Shape[1], at)
	if len(c.Sites) > 0 {
		p.Site = sample.Pick(len(c.Sites), func(i int) float64 { return c.Sites[i].Share }, k.rng.Float64())
	}
	for h := range c.Hidden {
		states := c.Hidden[h].States
		p.Hidden[h] = sample.Pick(len(states), func(i int) float64 { return states[i].Share }, k.rng.Float64())
	}
	return p
}

// priors are the classes' probabilities; none of a class that no hypothesis is of.
func (k *maker) priors() [classes]float64 {
	var some [classes]bool
	for i := range k.list {
		some[k.list[i].class] = true
	}
	out, total := k.prior, 0.0
	for c := range out {
		if !some[c] {
			out[c] = 0
		}
		total += out[c]
	}
	for c := range out {
		out[c] /= total
	}
	return out
}

func weighted(w []float64, u float64) int {
	return sample.Pick(len(w), func(i int) float64 { return w[i] }, u)
}
