package solve_test

import (
	"context"
	"flag"
	"math"
	"math/rand/v2"
	"sort"
	"testing"

	"weephole/plan/solve"
)

var problems = flag.Int("problems", 200, "random problems compared with their exact optimum")

// exact finds the optimum of a problem with one fault a car, repairs that cure
// theirs for certain, one state, and no handing on, by dynamic programming over what
// has been seen (three ways for each check: not made, yes, no) and repaired. It
// shares nothing with the search. A branch is left out only when a bound shows
// that it cannot be the cheapest: knowing the fault for nothing costs least, and
// repairs alone, in order of probability over cost (which is their optimum), most.
type exact struct {
	prior, repair []float64
	check         []float64
	yes           [][]float64 // by check, by fault
	errs          bool
	memo          map[uint64]float64
}

func (e *exact) value(seen uint32, made, gone uint16, w []float64) float64 {
	key := e.key(seen, made, gone, w)
	if v, ok := e.memo[key]; ok {
		return v
	}
	mass, least := 0.0, 0.0
	order := make([]int, 0, len(w))
	for k, v := range w {
		if gone>>k&1 == 0 && v > 0 {
			mass += v
			least += v * e.repair[k]
			order = append(order, k)
		}
	}
	sort.Slice(order, func(i, j int) bool { return w[order[i]]/e.repair[order[i]] > w[order[j]]/e.repair[order[j]] })
	best, left := 0.0, mass
	for _, k := range order {
		best += left * e.repair[k]
		left -= w[k]
	}
	for _, k := range order {
		if v := mass * e.repair[k]; v+least-w[k]*e.repair[k] < best {
			best = math.Min(best, v+e.value(seen, made, gone|1<<k, w))
		}
	}
	for c, cost := range e.check {
		if made>>c&1 == 1 || mass*cost+least >= best {
			continue
		}
		v := mass * cost
		for side := range 2 {
			next := make([]float64, len(w))
			for k := range w {
				p := e.yes[c][k]
				if side == 0 {
					p = 1 - p
				}
				next[k] = w[k] * p
			}
			v += e.value(seen|uint32(side)<<c, made|1<<c, gone, next)
		}
		best = math.Min(best, v)
	}
	e.memo[key] = best
	return best
}

// key names a belief: what was seen and repaired, or, where no check errs, what is
// still possible.
func (e *exact) key(seen uint32, made, gone uint16, w []float64) uint64 {
	if e.errs {
		return uint64(seen)<<32 | uint64(made)<<16 | uint64(gone)
	}
	possible := uint64(0)
	for k, v := range w {
		if gone>>k&1 == 0 && v > 0 {
			possible |= 1 << k
		}
	}
	return possible
}

// random draws a problem of the trade's shape: a few likely faults, cheap checks
// and costly repairs, each check telling of one to four faults with some error.
func random(rng *rand.Rand, faults, checks int, errs bool) *exact {
	e := &exact{errs: errs, memo: make(map[uint64]float64)}
	total := 0.0
	for range faults {
		p := rng.ExpFloat64()
		total += p
		e.prior = append(e.prior, p)
		e.repair = append(e.repair, 150*math.Exp(0.9*rng.NormFloat64()))
	}
	for k := range e.prior {
		e.prior[k] /= total
	}
	for range checks {
		e.check = append(e.check, 20*math.Exp(0.6*rng.NormFloat64()))
		row := make([]float64, faults)
		falsely := 0.02 + 0.13*rng.Float64()
		for k := range row {
			row[k] = falsely
		}
		for range 1 + rng.IntN(4) {
			row[rng.IntN(faults)] = 0.7 + 0.28*rng.Float64()
		}
		if !errs {
			for k := range row {
				row[k] = math.Round(row[k])
			}
		}
		e.yes = append(e.yes, row)
	}
	return e
}

func (e *exact) problem() *solve.Problem {
	n := len(e.prior)
	p := &solve.Problem{Weight: e.prior, Kinds: n, States: 1, Tries: 1}
	for k := range n {
		cures := make([]float64, n)
		cures[k] = 1
		p.Faults = append(p.Faults, []int{k})
		p.GiveUp = append(p.GiveUp, math.Inf(1))
		p.Repairs = append(p.Repairs, solve.RepairAction{Cost: []float64{e.repair[k]}, Then: []int{0}, Cures: cures})
	}
	for c, cost := range e.check {
		no := make([]float64, n)
		for k, y := range e.yes[c] {
			no[k] = 1 - y
		}
		p.Checks = append(p.Checks, solve.CheckAction{Cost: []float64{cost}, Then: []int{0}, P: [][]float64{no, e.yes[c]}})
	}
	return p
}

// follow is what it costs to do at every step what the plan says first, made again
// from what is known then.
func (e *exact) follow(t *testing.T, seen uint32, made, gone uint16, w []float64, more int) float64 {
	mass := 0.0
	q := &exact{}
	var faults, checks []int
	for k, v := range w {
		if gone>>k&1 == 0 && v > 0 {
			mass += v
			faults = append(faults, k)
		}
	}
	if mass == 0 {
		return 0
	}
	key := e.key(seen, made, gone, w)
	if v, ok := e.memo[key]; ok {
		return v
	}
	for _, k := range faults {
		q.prior, q.repair = append(q.prior, w[k]/mass), append(q.repair, e.repair[k])
	}
	for c, cost := range e.check {
		if made>>c&1 == 0 {
			checks = append(checks, c)
			row := make([]float64, len(faults))
			for i, k := range faults {
				row[i] = e.yes[c][k]
			}
			q.check, q.yes = append(q.check, cost), append(q.yes, row)
		}
	}
	list, err := solve.New(q.problem(), more).Rank(context.Background(), 0)
	if err != nil {
		t.Fatal(err)
	}
	v := 0.0
	if a := list[0]; a.Kind == solve.DoCheck {
		c := checks[a.Index]
		v = mass * e.check[c]
		for side := range 2 {
			next := make([]float64, len(w))
			for k := range w {
				p := e.yes[c][k]
				if side == 0 {
					p = 1 - p
				}
				next[k] = w[k] * p
			}
			v += e.follow(t, seen|uint32(side)<<c, made|1<<c, gone, next, more)
		}
	} else {
		k := faults[a.Index]
		v = mass*e.repair[k] + e.follow(t, seen, made, gone|1<<k, w, more)
	}
	e.memo[key] = v
	return v
}

// TestFollowingThePlanCostsHardlyMoreThanTheOptimum holds the plan, made again at
// every step, to the optimum: within 2 of a hundred on average and 10 at worst, over
// 200 problems of twelve faults and ten checks. Checks that err make the exact
// optimum of that size take minutes a problem (a hundred million beliefs), so those
// with checks that err have six faults and five checks.
func TestFollowingThePlanCostsHardlyMoreThanTheOptimum(t *testing.T) {
	for _, c := range []struct {
		name           string
		faults, checks int
		errs           bool
		more           int
	}{
		{"checks that never err", 12, 10, false, 0},
		{"checks that err", 6, 5, true, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			var over []float64
			for i := range *problems {
				e := random(rand.New(rand.NewPCG(7, uint64(i))), c.faults, c.checks, c.errs)
				optimum := e.value(0, 0, 0, e.prior)
				clear(e.memo)
				got := e.follow(t, 0, 0, 0, e.prior, c.more)
				over = append(over, got/optimum-1)
				if got < optimum*(1-1e-9) {
					t.Errorf("problem %d: following the plan costs %.4f, less than the optimum %.4f", i, got, optimum)
				}
			}
			sort.Float64s(over)
			mean, worst := sumOf(over)/float64(len(over)), over[len(over)-1]
			t.Logf("%d problems: over by %.2f %% on average, %.2f %% at the ninth tenth, %.2f %% at worst", len(over),
				100*mean, 100*over[len(over)*9/10], 100*worst)
			if mean > 0.02 || worst > 0.10 {
				t.Errorf("over the optimum by %.2f %% on average and %.2f %% at worst; may be 2 and 10", 100*mean, 100*worst)
			}
		})
	}
}

// TestFollowedPlansCostWhatTheOptimumAllows: the mean over engines that are worked on
// one by one must lie between the optimum and a tenth more, apart from luck.
func TestFollowedPlansCostWhatTheOptimumAllows(t *testing.T) {
	const engines, luck = 600, 4
	for i := range 12 {
		for _, errs := range []bool{false, true} {
			faults, checks := 12, 10
			if errs {
				faults, checks = 6, 5
			}
			e := random(rand.New(rand.NewPCG(11, uint64(i))), faults, checks, errs)
			optimum := e.value(0, 0, 0, e.prior)
			s := solve.New(e.problem(), 0)
			list, err := s.Rank(context.Background(), 0)
			if err != nil {
				t.Fatal(err)
			}
			f, err := s.Follow(context.Background(), list[0], 0, engines, 5)
			if err != nil {
				t.Fatal(err)
			}
			if f.Cost < optimum-luck*f.Error || f.Cost > 1.1*optimum+luck*f.Error || f.Cured != 1 && math.Abs(f.Cured-1) > 1e-9 {
				t.Errorf("problem %d, checks err %v: %.2f ± %.2f, cured %.3f; optimum %.2f", i, errs, f.Cost, f.Error, f.Cured, optimum)
			}
		}
	}
}

func sumOf(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v
	}
	return s
}
