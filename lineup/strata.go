package lineup

import (
	"math"
	"sort"

	"weephole/cause"
)

// stratum is one set of causes that candidates may have: none beyond the
// first for a single fault. Every candidate belongs to one stratum.
type stratum struct {
	causes [2]int // catalogue indexes; causes[1] is -1 for a single fault
	prior  float64
}

// strata lists every set of one or two causes with its prior probability,
// likeliest first; they sum to one. The prior of a single cause is its
// catalogue weight times the odds that recent work and what the car is give it. A second fault is
// there by chance, or as a consequence of the first (leads-to), or in its
// company (goes-with); rare causes are not paired by chance. healthy, if above 0, is the share of cars with nothing
// wrong in place of the catalogue's, which is that of cars with a complaint.
func strata(cat *cause.Catalogue, secondFault, healthy float64, work []string, odds map[string]float64, ranHot, lostCoolant bool) []stratum {
	n := len(cat.Causes)
	weight := make([]float64, n)
	total, faulty := 0.0, 0.0
	for i := range cat.Causes {
		c := &cat.Causes[i]
		if c.ID == somethingElse {
			continue
		}
		weight[i] = c.Weight.Value
		for _, w := range work {
			weight[i] *= c.AfterOdds(w)
		}
		if factor, ok := odds[c.ID]; ok {
			weight[i] *= factor
		}
		total += weight[i]
		if i != cat.NoFault() {
			faulty += weight[i]
		}
	}

	if healthy > 0 {
		weight[cat.NoFault()] = faulty * healthy / (1 - healthy)
		total = faulty + weight[cat.NoFault()]
	}

	pair := make(map[[2]int]float64)
	add := func(a, b int, p float64) {
		if a > b {
			a, b = b, a
		}
		pair[[2]int{a, b}] += p
	}
	single := make([]float64, n)
	for i := range cat.Causes {
		c := &cat.Causes[i]
		prior := weight[i] / total
		if i == cat.NoFault() || prior == 0 {
			single[i] = prior
			continue
		}
		left := 1.0
		give := func(j int, share float64) {
			if j == i || j == cat.NoFault() || weight[j] == 0 || conflict(c, &cat.Causes[j]) {
				return
			}
			share = math.Min(share, left)
			left -= share
			add(i, j, prior*share)
		}
		for k := range c.LeadsTo {
			l := &c.LeadsTo[k]
			if l.When == "always" || l.When == "overheated" && ranHot || l.When == "lost-coolant" && lostCoolant {
				give(l.Index(), l.Share)
			}
		}
		for k := range c.GoesWith {
			give(c.GoesWith[k].Index(), c.GoesWith[k].Share)
		}
		chance := secondFault * left
		for j := range cat.Causes {
			if j != i && j != cat.NoFault() && faulty > weight[i] && !c.Alone() && !cat.Causes[j].Alone() {
				give(j, chance*weight[j]/(faulty-weight[i]))
			}
		}
		single[i] = prior * left
	}

	var list []stratum
	for i, p := range single {
		if p > 0 {
			list = append(list, stratum{[2]int{i, -1}, p})
		}
	}
	for ab, p := range pair {
		list = append(list, stratum{ab, p})
	}
	sort.Slice(list, func(i, j int) bool {
		a, b := list[i], list[j]
		if a.prior != b.prior {
			return a.prior > b.prior
		}
		if a.causes[0] != b.causes[0] {
			return a.causes[0] < b.causes[0]
		}
		return a.causes[1] < b.causes[1]
	})
	return list
}

// conflict is true for two causes that cannot be in one car at once, because
// both set the same number of the circuit: a valve is not stuck shut and open.
func conflict(a, b *cause.Cause) bool {
	sets := make(map[string]bool)
	each := func(c *cause.Cause, f func(cause.Act)) {
		for _, act := range c.Acts {
			f(act)
		}
		for _, h := range c.Hidden {
			for _, s := range h.States {
				for _, act := range s.Acts {
					f(act)
				}
			}
		}
	}
	each(a, func(act cause.Act) {
		if act.How == cause.Set {
			sets[act.Number] = true
		}
	})
	clash := a.Place == "thermostat" && b.Place == "thermostat"
	each(b, func(act cause.Act) {
		if act.How == cause.Set && sets[act.Number] {
			clash = true
		}
	})
	return clash
}

// allocate shares n candidates out over the strata in proportion to
// prior^power, with a least number for single faults and one for pairs.
func allocate(list []stratum, n int, power float64, least int) []int {
	counts := make([]int, len(list))
	sum := 0.0
	for _, s := range list {
		sum += math.Pow(s.prior, power)
	}
	for i, s := range list {
		counts[i] = int(float64(n) * math.Pow(s.prior, power) / sum)
		floor := 1
		if s.causes[1] < 0 {
			floor = least
		}
		counts[i] = max(counts[i], floor)
	}
	return counts
}
