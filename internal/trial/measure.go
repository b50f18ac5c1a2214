package trial

import (
	"math"
	"slices"
	"sort"

	"weephole/cause"
)

// The moments at which the program's belief is measured.
var moments = []string{"complaint", "three", "six", "naming", "end"}

// beliefAt is the belief at a moment, or the last one before it.
func (j *JobResult) beliefAt(at string) *Belief {
	var found *Belief
	want := slices.Index(moments, at)
	for i := range j.Beliefs {
		if k := slices.Index(moments, j.Beliefs[i].At); k <= want || found == nil {
			found = &j.Beliefs[i]
		}
	}
	return found
}

// truths are the indexes of the true causes; no-fault where nothing is wrong,
// something-else where the catalogue does not have it.
func (j *JobResult) truths(cat *cause.Catalogue) []int {
	if j.Beyond != "" {
		return []int{cat.Unnamed()}
	}
	if len(j.Faults) == 0 {
		return []int{cat.NoFault()}
	}
	var list []int
	for _, f := range j.Faults {
		list = append(list, cat.Index(f))
	}
	return list
}

func (j *JobResult) kind() string {
	switch {
	case j.Beyond != "":
		return "beyond the catalogue"
	case len(j.Faults) == 0:
		return "nothing wrong"
	case len(j.Faults) == 1:
		return "one cause"
	}
	return "two causes"
}

// ranked are the causes by falling probability.
func (b *Belief) ranked() []int {
	order := make([]int, len(b.Odds))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(x, y int) bool { return b.Odds[order[x]] > b.Odds[order[y]] })
	return order
}

// Measure sums up a trial's jobs.
func Measure(cat *cause.Catalogue, seed uint64, jobs []JobResult) *Measured {
	m := &Measured{Jobs: len(jobs), Seed: seed}
	for _, kind := range []string{"one cause", "two causes", "nothing wrong", "beyond the catalogue"} {
		m.Groups = append(m.Groups, group(cat, kind, jobs, func(j *JobResult) bool { return j.kind() == kind }))
	}
	m.Tellable = group(cat, "one cause that some check can show", jobs, func(j *JobResult) bool {
		return j.kind() == "one cause" && j.Tells >= tellable
	})
	var single []*JobResult
	for i := range jobs {
		if jobs[i].kind() == "one cause" {
			single = append(single, &jobs[i])
		}
	}
	for _, at := range moments {
		m.Moments = append(m.Moments, moment(cat, at, single))
	}
	m.Causes = perCause(cat, single)
	m.Gasket = gasket(cat, jobs)
	for _, w := range Ways() {
		m.Ways = append(m.Ways, wayCosts(w, jobs))
	}
	m.Bins, m.ECE, m.Chance = calibration(cat, jobs)
	m.Confusion = confusion(cat, single)
	m.Sure = tooSure(cat, jobs)
	return m
}

func group(cat *cause.Catalogue, kind string, jobs []JobResult, of func(*JobResult) bool) Group {
	var n, first, all, one, last, proven, fixed int
	for i := range jobs {
		j := &jobs[i]
		if !of(j) {
			continue
		}
		n++
		w := j.Ways[Ours]
		truths := j.truths(cat)
		if slices.Contains(truths, j.beliefAt("naming").ranked()[0]) {
			first++
		}
		hit := 0
		for _, t := range truths {
			id := cat.Causes[t].ID
			if slices.Contains(w.Named, id) || j.beliefAt("end").ranked()[0] == t || j.beliefAt("naming").ranked()[0] == t {
				hit++
			}
		}
		if hit == len(truths) {
			all++
		}
		if hit > 0 {
			one++
		}
		if slices.Contains(truths, j.beliefAt("end").ranked()[0]) {
			last++
		}
		if w.Proven {
			proven++
		}
		if w.FirstRight {
			fixed++
		}
	}
	return Group{kind, n, ShareOf(first, n), ShareOf(last, n), ShareOf(all, n), ShareOf(one, n), ShareOf(proven, n), ShareOf(fixed, n)}
}

func moment(cat *cause.Catalogue, at string, jobs []*JobResult) Moment {
	m := Moment{At: at}
	var on, brier, score, lead, right []float64
	first, three := 0, 0
	for _, j := range jobs {
		b := j.beliefAt(at)
		t := j.truths(cat)[0]
		order := b.ranked()
		if order[0] == t {
			first++
		}
		if slices.Contains(order[:3], t) {
			three++
		}
		on = append(on, b.Odds[t])
		score = append(score, -math.Log(math.Max(b.Odds[t], leastProbability)))
		sum := 0.0
		for c, p := range b.Odds {
			hit := 0.0
			if c == t {
				hit = 1
			}
			sum += (p - hit) * (p - hit)
		}
		brier = append(brier, sum)
		lead = append(lead, b.Odds[order[0]])
		hit := 0.0
		if order[0] == t {
			hit = 1
		}
		right = append(right, hit)
	}
	m.OnTrue, m.Brier, m.LogScore = MeanOf(on), MeanOf(brier), MeanOf(score)
	m.First, m.TopThree = ShareOf(first, len(jobs)), ShareOf(three, len(jobs))
	m.Calibration = bootstrap(len(jobs), func(cars []int) float64 { return calibrationError(lead, right, cars) })
	for _, p := range lead {
		m.Sureness += p / float64(len(lead))
	}
	return m
}

// leastProbability bounds the log score: a lineup of a few thousand engines
// cannot tell less.
const leastProbability = 1e-4

func perCause(cat *cause.Catalogue, jobs []*JobResult) []PerCause {
	by := make(map[int][]*JobResult)
	for _, j := range jobs {
		t := j.truths(cat)[0]
		by[t] = append(by[t], j)
	}
	var list []PerCause
	for i := range cat.Causes {
		cars := by[i]
		if len(cars) == 0 {
			continue
		}
		pc := PerCause{Cause: cat.Causes[i].ID, Cars: len(cars), OnTrue: make(map[string]Mean), First: make(map[string]Share)}
		three, proven := 0, 0
		for _, at := range moments {
			var on []float64
			first := 0
			for _, j := range cars {
				b := j.beliefAt(at)
				on = append(on, b.Odds[i])
				if b.ranked()[0] == i {
					first++
				}
			}
			pc.OnTrue[at], pc.First[at] = MeanOf(on), ShareOf(first, len(cars))
		}
		for _, j := range cars {
			if slices.Contains(j.beliefAt("naming").ranked()[:3], i) {
				three++
			}
			if j.Ways[Ours].Proven {
				proven++
			}
			n := float64(len(cars))
			pc.MeanCost += j.Ways[Ours].Cost / n
			pc.BookCost += j.Ways[Book].Cost / n
			pc.KnownCost += j.Ways[Knowing].Cost / n
		}
		pc.TopThree, pc.Proven = ShareOf(three, len(cars)), ShareOf(proven, len(cars))
		list = append(list, pc)
	}
	sort.SliceStable(list, func(a, b int) bool { return list[a].Cars > list[b].Cars })
	return list
}

// gasket measures how often the costliest repair, that of a combustion leak, was
// done for nothing or left out.
func gasket(cat *cause.Catalogue, jobs []JobResult) Gasket {
	const leak = "combustion-leak"
	repair := cat.Repairs[cat.UsualRepair(cause.Present{Cause: cat.Index(leak), Site: cause.NoSite})].ID
	var without, wrong, with, missed, big int
	for i := range jobs {
		j := &jobs[i]
		w := j.Ways[Ours]
		if w.WrongBig > 0 {
			big++
		}
		has := slices.Contains(j.Faults, leak)
		if has {
			with++
			if !slices.Contains(w.Named, leak) {
				missed++
			}
			continue
		}
		without++
		if slices.Contains(w.Did, repair) {
			wrong++
		}
	}
	return Gasket{ShareOf(wrong, without), ShareOf(missed, with), ShareOf(big, len(jobs))}
}

func wayCosts(name string, jobs []JobResult) WayCosts {
	var cost, minutes, checks, repairs, ours []float64
	proven, big := 0, 0
	for i := range jobs {
		w := jobs[i].Ways[name]
		if w == nil {
			continue
		}
		cost, minutes = append(cost, w.Cost), append(minutes, w.Minutes)
		checks, repairs = append(checks, float64(w.Checks)), append(repairs, float64(w.Repairs))
		ours = append(ours, jobs[i].Ways[Ours].Cost)
		if w.Proven {
			proven++
		}
		if w.WrongBig > 0 {
			big++
		}
	}
	n := len(cost)
	ratio := bootstrap(n, func(cars []int) float64 {
		a, b := 0.0, 0.0
		for _, i := range cars {
			a += ours[i]
			b += cost[i]
		}
		return a / b
	})
	return WayCosts{name, MeanOf(cost), MeanOf(minutes), MeanOf(checks), MeanOf(repairs), ShareOf(proven, n), ShareOf(big, n), ratio}
}

func confusion(cat *cause.Catalogue, jobs []*JobResult) []Mistaken {
	return count(func(add func(t, taken string)) {
		for _, j := range jobs {
			t := j.truths(cat)[0]
			if top := j.beliefAt("naming").ranked()[0]; top != t {
				add(cat.Causes[t].ID, cat.Causes[top].ID)
			}
		}
	})
}

// sure is the probability from which a wrong leader counts as too sure.
const sure = 0.9

func tooSure(cat *cause.Catalogue, jobs []JobResult) []Mistaken {
	return count(func(add func(t, taken string)) {
		for i := range jobs {
			j := &jobs[i]
			truths := j.truths(cat)
			for k := range j.Beliefs {
				b := &j.Beliefs[k]
				if top := b.ranked()[0]; b.At != "end" && b.Odds[top] >= sure && !slices.Contains(truths, top) {
					name := ""
					for n, t := range truths {
						if n > 0 {
							name += " and "
						}
						name += cat.Causes[t].ID
					}
					add(name, cat.Causes[top].ID)
				}
			}
		}
	})
}

func count(each func(add func(t, taken string))) []Mistaken {
	seen := make(map[[2]string]int)
	each(func(t, taken string) { seen[[2]string{t, taken}]++ })
	list := make([]Mistaken, 0, len(seen))
	for k, n := range seen {
		list = append(list, Mistaken{k[0], k[1], n})
	}
	sort.Slice(list, func(i, j int) bool {
		a, b := list[i], list[j]
		if a.Cars != b.Cars {
			return a.Cars > b.Cars
		}
		return a.True+a.Taken < b.True+b.Taken
	})
	return list
}
