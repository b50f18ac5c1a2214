package trial

import (
	"math"
	"math/rand/v2"
	"slices"

	"weephole/cause"
)

// Bin is one bin of the calibration curve.
type Bin struct {
	From  float64 `json:"from"`
	To    float64 `json:"to"`
	Said  float64 `json:"said"` // mean probability said
	Right Share   `json:"right"`
}

// bins of the calibration curve, equally wide.
const bins = 10

// calibration pools the leading cause's probability at the complaint, after
// three and six checks and at naming, over all cars; a belief that stands for
// several moments counts once. With the bins and the error it gives the error
// that chance alone would leave.
func calibration(cat *cause.Catalogue, jobs []JobResult) ([]Bin, Mean, float64) {
	var said, right [][]float64 // by car
	for i := range jobs {
		j := &jobs[i]
		truths := j.truths(cat)
		var s, r []float64
		for k := range j.Beliefs {
			b := &j.Beliefs[k]
			if b.At == "end" {
				continue
			}
			top := b.ranked()[0]
			s = append(s, b.Odds[top])
			hit := 0.0
			if slices.Contains(truths, top) {
				hit = 1
			}
			r = append(r, hit)
		}
		said, right = append(said, s), append(right, r)
	}
	return calibrationOf(said, right)
}

// calibrationOf gives the bins, the calibration error and the error by chance of
// statements, said[car] with right[car] 1 where they were.
func calibrationOf(said, right [][]float64) ([]Bin, Mean, float64) {
	flatten := func(cars []int) (s, r []float64) {
		for _, i := range cars {
			s, r = append(s, said[i]...), append(r, right[i]...)
		}
		return s, r
	}
	ece := bootstrap(len(said), func(cars []int) float64 {
		s, r := flatten(cars)
		return calibrationError(s, r, upTo(len(s)))
	})
	s, r := flatten(upTo(len(said)))
	list := make([]Bin, bins)
	for b := range list {
		list[b].From, list[b].To = float64(b)/bins, float64(b+1)/bins
		n, hits := 0, 0
		for i := range s {
			if min(bins-1, int(s[i]*bins)) == b {
				n++
				list[b].Said += s[i]
				hits += int(r[i])
			}
		}
		if n > 0 {
			list[b].Said /= float64(n)
		}
		list[b].Right = ShareOf(hits, n)
	}
	return list, ece, byChance(said)
}

// byChance is the mean calibration error of cars whose owners are told the same
// percentages, said[car], and on which these mean what they say: the least that
// can be asked of so many cars. What is said of one car at several moments
// mostly turns out right or wrong together; here it always does.
func byChance(said [][]float64) float64 {
	const times = 400
	rng := rand.New(rand.NewPCG(uint64(len(said)), 2017))
	sum := 0.0
	for range times {
		var s, r []float64
		for _, car := range said {
			u := rng.Float64()
			for _, p := range car {
				right := 0.0
				if u < p {
					right = 1
				}
				s, r = append(s, p), append(r, right)
			}
		}
		sum += calibrationError(s, r, upTo(len(s)))
	}
	return sum / times
}

func upTo(n int) []int {
	list := make([]int, n)
	for i := range list {
		list[i] = i
	}
	return list
}

// calibrationError is the expected calibration error: the mean over the bins,
// by their share of the statements, of the gap between said and right.
func calibrationError(said, right []float64, cars []int) float64 {
	var n, p, r [bins]float64
	for _, i := range cars {
		b := min(bins-1, int(said[i]*bins))
		n[b]++
		p[b] += said[i]
		r[b] += right[i]
	}
	sum := 0.0
	for b := range n {
		sum += math.Abs(p[b] - r[b])
	}
	if len(cars) == 0 {
		return 0
	}
	return sum / float64(len(cars))
}
