package lineup

import (
	"math"
	"sort"

	"weephole/cause"
)

// stratum is one set of causes that candidates may have: none beyond the
// first for a single fault. Every candidate belongs to one stratum.
//
// What is bad on a car and what explains its complaint are two questions. A
// stratum answers the second: explains is the probability that each of its
// causes is what the car came for. A worn cap found beside a dead fan is bad and
// explains nothing.
type stratum struct {
	causes   [2]int // catalogue indexes; causes[1] is -1 for a single fault
	prior    float64
	explains [2]float64
}

// suspicion is what the priors of the causes depend on beside the catalogue.
type suspicion struct {
	secondFault float64             // share of cars with a second fault that explains the complaint too
	healthy     float64             // share of cars with nothing wrong in place of the catalogue's, if above 0
	beside      bool                // worn parts beside what the car came for are thought of
	odds        func(i int) float64 // factor on the odds of a cause: recent work, what the car is
	ranHot      bool
	lostCoolant bool
}

// set is a share of all cars: those that came for the main cause and have the
// other one too, if any (-1), which explains the complaint as well or not.
type set struct {
	main, other int
	prior       float64
	explains    bool // the other
}

// sets lists all sets of one or two causes with their priors, which sum to one.
// The prior of a main cause is its catalogue weight times its odds. A second
// fault is there as a consequence of the first (leads-to), in its company
// (goes-with), by chance and to blame as well, or by chance and beside the point. Rare causes
// are not paired by chance.
func sets(cat *cause.Catalogue, why suspicion) (list []set) {
	weight, total, faulty := mainWeights(cat, why)
	for i := range cat.Causes {
		c := &cat.Causes[i]
		prior := weight[i] / total
		if prior == 0 {
			continue
		}
		left := 1.0
		give := func(j int, share float64, explains bool) {
			if share <= 0 || j == i || j == cat.NoFault() || weight[j] == 0 || conflict(c, &cat.Causes[j]) {
				return
			}
			share = math.Min(share, left)
			left -= share
			list = append(list, set{i, j, prior * share, explains})
		}
		if i != cat.NoFault() {
			for k := range c.LeadsTo {
				l := &c.LeadsTo[k]
				if l.When == "always" || l.When == "overheated" && why.ranHot || l.When == "lost-coolant" && why.lostCoolant {
					give(l.Index(), l.Share, true)
				}
			}
			for k := range c.GoesWith {
				give(c.GoesWith[k].Index(), c.GoesWith[k].Share, true)
			}
			chance := why.secondFault * left
			for j := range cat.Causes {
				if faulty > weight[i] && !c.Alone() && !cat.Causes[j].Alone() {
					give(j, chance*weight[j]/(faulty-weight[i]), true)
				}
			}
		}
		if why.beside {
			share := left
			for j := range cat.Causes {
				if b := cat.Causes[j].Beside; b != nil {
					give(j, share*b.Value, false)
				}
			}
		}
		list = append(list, set{i, -1, prior * left, false})
	}
	return list
}

// mainWeights is the weight of each cause as the main one, their sum, and the sum of
// the faults among them.
func mainWeights(cat *cause.Catalogue, why suspicion) (weight []float64, total, faulty float64) {
	weight = make([]float64, len(cat.Causes))
	for i := range cat.Causes {
		c := &cat.Causes[i]
		if i == cat.Unnamed() {
			continue
		}
		weight[i] = c.Prior()
		if why.odds != nil {
			weight[i] *= why.odds(i)
		}
		total += weight[i]
		if i != cat.NoFault() {
			faulty += weight[i]
		}
	}
	if why.healthy > 0 {
		weight[cat.NoFault()] = faulty * why.healthy / (1 - why.healthy)
		total = faulty + weight[cat.NoFault()]
	}
	return weight, total, faulty
}

// stratum is where the engines of a set of causes are.
func (s set) stratum(noFault int) [2]int {
	switch {
	case s.other < 0:
		return [2]int{s.main, -1}
	case s.main == noFault:
		return [2]int{s.other, -1}
	}
	return [2]int{min(s.main, s.other), max(s.main, s.other)}
}

// strata gathers the sets with the same causes, likeliest first.
func strata(cat *cause.Catalogue, why suspicion) []stratum {
	gathered := make(map[[2]int]*stratum)
	for _, s := range sets(cat, why) {
		key := s.stratum(cat.NoFault())
		t := gathered[key]
		if t == nil {
			t = &stratum{causes: key}
			gathered[key] = t
		}
		t.prior += s.prior
		for k, c := range key {
			if c == s.main && c != cat.NoFault() || c == s.other && s.explains {
				t.explains[k] += s.prior
			}
		}
	}
	var list []stratum
	for _, t := range gathered {
		t.explains[0] /= t.prior
		t.explains[1] /= t.prior
		list = append(list, *t)
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

// A fault that stands beside the point is one that nobody came for: the milder of `mildest`
// such faults, so that its severity u, as a rank among all of its kind, has the density
//
//	g(u) = mildest (1 - u)^(mildest - 1)
//
// A cap that holds nothing was hardly unnoticed; one that holds four fifths may well have been.
func besideDensity(u, mildest float64) float64 {
	return mildest * math.Pow(1-u, mildest-1)
}

// blames weighs an engine of the stratum by the severities u of its causes. It gives how
// much likelier the engine is than one drawn without regard to what stands beside the
// point, and the probability that each of its causes is what the car came for.
func (s *stratum) blames(u [2]float64, mildest float64) (factor float64, explains [2]float64) {
	var beside [2]float64
	for k := range u {
		beside[k] = (1 - s.explains[k]) * besideDensity(u[k], mildest)
	}
	if s.causes[1] < 0 { // alone: to blame, or beside nothing at all
		factor = s.explains[0] + beside[0]
		return factor, [2]float64{s.explains[0] / factor}
	}
	both := s.explains[0] + s.explains[1] - 1 // of two, one at least is to blame
	factor = both + beside[0] + beside[1]
	return factor, [2]float64{1 - beside[0]/factor, 1 - beside[1]/factor}
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
	clash := a.Place == b.Place && (a.Place == "thermostat" || a.Place == "sensor")
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
