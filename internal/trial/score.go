package trial

import (
	"slices"
	"sort"
)

// sureFrom is what counts as said for sure: the promise is that of the times
// that 80 % and more is said, four in five are right.
const sureFrom = 0.8

// Score sums up forecasts. Several of one car, from several seeds, count as
// one car: their mean is taken, and intervals are over cars.
type Score struct {
	Cars     int  `json:"cars"`
	First    Mean `json:"first"`     // a right cause leads
	Three    Mean `json:"three"`     // a right cause is among the first three
	AllThree Mean `json:"all_three"` // every true cause is among the first three
	OnTruth  Mean `json:"on_truth"`
	LogScore Mean `json:"log_score"` // nats
	Brier    Mean `json:"brier"`     // of the leader
	Said     Mean `json:"said"`      // mean probability of the leader
	// Sure are the leaders said at 80 % and more.
	Sure Sure `json:"sure"`
	// Bins of the leader's probability, the error over them, and the error that
	// would be left if every statement meant what it says.
	Bins   []Bin   `json:"bins"`
	ECE    Mean    `json:"calibration_error"`
	Chance float64 `json:"calibration_error_by_chance"`
	// OneLeader is the share of cars with the same leader whatever the seed.
	OneLeader Mean `json:"one_leader"`
}

// Sure tells how often something was said for sure, and how often rightly.
type Sure struct {
	Cars  int     `json:"cars"`  // on which it was said, with at least one seed
	Share float64 `json:"share"` // of all statements
	Said  float64 `json:"said"`  // mean probability said
	Right Mean    `json:"right"`
}

// ScoreOf scores forecasts.
func ScoreOf(list []Forecast) Score {
	cars := byCar(list)
	mean := func(of func(*Forecast) float64) Mean { return meanOverCars(cars, of) }
	s := Score{
		Cars:     len(cars),
		First:    mean((*Forecast).first),
		Three:    mean(func(f *Forecast) float64 { return f.among(3) }),
		AllThree: mean(func(f *Forecast) float64 { return f.all(3) }),
		OnTruth:  mean((*Forecast).onTruth),
		LogScore: mean((*Forecast).logScore),
		Brier:    mean((*Forecast).brier),
		Said:     mean(func(f *Forecast) float64 { _, p := f.leader(); return p }),
	}
	said, right := make([][]float64, len(cars)), make([][]float64, len(cars))
	same := make([]float64, len(cars))
	for i, fs := range cars {
		same[i] = 1
		first, _ := fs[0].leader()
		for _, f := range fs {
			c, p := f.leader()
			said[i], right[i] = append(said[i], p), append(right[i], f.first())
			if c != first {
				same[i] = 0
			}
		}
	}
	s.OneLeader = MeanOf(same)
	s.Bins, s.ECE, s.Chance = calibrationOf(said, right)
	s.Sure = sureOf(said, right)
	return s
}

// meanOverCars is the mean over cars of what each one's forecasts score on average.
func meanOverCars(cars [][]*Forecast, of func(*Forecast) float64) Mean {
	x := make([]float64, len(cars))
	for i, fs := range cars {
		for _, f := range fs {
			x[i] += of(f) / float64(len(fs))
		}
	}
	return MeanOf(x)
}

// byCar gathers the forecasts of each car, in the order in which cars appear.
func byCar(list []Forecast) [][]*Forecast {
	at := make(map[string]int)
	var cars [][]*Forecast
	for i := range list {
		k, ok := at[list[i].Car]
		if !ok {
			k = len(cars)
			at[list[i].Car] = k
			cars = append(cars, nil)
		}
		cars[k] = append(cars[k], &list[i])
	}
	return cars
}

func sureOf(said, right [][]float64) Sure {
	var s Sure
	var hits []float64
	n, all := 0, 0
	for i := range said {
		k, hit := 0, 0.0
		for j, p := range said[i] {
			all++
			if p >= sureFrom {
				k++
				s.Said += p
				hit += right[i][j]
			}
		}
		if k > 0 {
			n += k
			s.Cars++
			hits = append(hits, hit/float64(k))
		}
	}
	if n > 0 {
		s.Said /= float64(n)
		s.Share = float64(n) / float64(all)
	}
	s.Right = MeanOf(hits)
	return s
}

// PerTruth is the score of the cars that had one cause.
type PerTruth struct {
	Cause string `json:"cause"`
	Score Score  `json:"score"`
	// Led are the causes that led instead, with how many statements.
	Led []Mistaken `json:"led,omitempty"`
}

// ScoreByTruth scores by the first true cause, the commonest first.
func ScoreByTruth(list []Forecast) []PerTruth {
	groups := make(map[string][]Forecast)
	for _, f := range list {
		groups[f.Truths[0]] = append(groups[f.Truths[0]], f)
	}
	var out []PerTruth
	for c, fs := range groups {
		p := PerTruth{Cause: c, Score: ScoreOf(fs)}
		for i := range fs {
			lead, _ := fs[i].leader()
			if fs[i].right(lead) {
				continue
			}
			k := slices.IndexFunc(p.Led, func(m Mistaken) bool { return m.Taken == lead })
			if k < 0 {
				p.Led = append(p.Led, Mistaken{True: c, Taken: lead})
				k = len(p.Led) - 1
			}
			p.Led[k].Cars++
		}
		sort.SliceStable(p.Led, func(a, b int) bool {
			if p.Led[a].Cars != p.Led[b].Cars {
				return p.Led[a].Cars > p.Led[b].Cars
			}
			return p.Led[a].Taken < p.Led[b].Taken
		})
		out = append(out, p)
	}
	sort.Slice(out, func(a, b int) bool {
		if out[a].Score.Cars != out[b].Score.Cars {
			return out[a].Score.Cars > out[b].Score.Cars
		}
		return out[a].Cause < out[b].Cause
	})
	return out
}
