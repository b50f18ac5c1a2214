package trial

import (
	"math"
	"math/rand/v2"
	"sort"
)

// normal95 is the standard normal deviate of a two-sided 95 % interval.
const normal95 = 1.959964

// Share is how many of how many, with the 95 % interval of Wilson (1927).
type Share struct {
	Hits  int     `json:"hits"`
	Of    int     `json:"of"`
	Value float64 `json:"share"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}

// ShareOf gives the share with its interval; of nothing it is 0 to 1.
func ShareOf(hits, of int) Share {
	if of == 0 {
		return Share{High: 1}
	}
	n, p := float64(of), float64(hits)/float64(of)
	z2 := normal95 * normal95
	middle := (p + z2/(2*n)) / (1 + z2/n)
	half := normal95 / (1 + z2/n) * math.Sqrt(p*(1-p)/n+z2/(4*n*n))
	return Share{Hits: hits, Of: of, Value: p, Low: math.Max(0, middle-half), High: math.Min(1, middle+half)}
}

// Mean is a mean with a 95 % interval by the bootstrap (Efron 1979).
type Mean struct {
	Value float64 `json:"mean"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
	Of    int     `json:"of"`
}

// resamples of a bootstrap: enough for two digits of an interval's ends.
const resamples = 1000

// bootstrap gives the interval of a statistic of n cars: stat is handed the
// indexes of the cars that were drawn.
func bootstrap(n int, stat func(cars []int) float64) Mean {
	all := make([]int, n)
	for i := range all {
		all[i] = i
	}
	m := Mean{Value: stat(all), Of: n}
	if n == 0 {
		return Mean{}
	}
	rng := rand.New(rand.NewPCG(uint64(n), 0x9e3779b97f4a7c15)) // the same cars give the same interval
	values := make([]float64, 0, resamples)
	drawn := make([]int, n)
	for range resamples {
		for i := range drawn {
			drawn[i] = rng.IntN(n)
		}
		if v := stat(drawn); !math.IsNaN(v) {
			values = append(values, v)
		}
	}
	if len(values) == 0 {
		return m
	}
	sort.Float64s(values)
	m.Low, m.High = values[len(values)*25/1000], values[len(values)*975/1000]
	return m
}

// MeanOf is the mean of x with its interval.
func MeanOf(x []float64) Mean {
	return bootstrap(len(x), func(cars []int) float64 {
		sum := 0.0
		for _, i := range cars {
			sum += x[i]
		}
		return sum / float64(len(cars))
	})
}
