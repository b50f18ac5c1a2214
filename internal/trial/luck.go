package trial

import (
	"hash/fnv"
	"math"
	"math/rand/v2"

	"weephole/sheet"
)

// streams gives the random streams of one car. Each belongs to the car and to
// what it is for, not to who asks: all ways of working meet the same luck.
type streams struct{ seed, car uint64 }

// stream is the random stream for one purpose, such as "answer", "cap-pressure", 2.
func (l streams) stream(purpose, what string, n int) *rand.Rand {
	h := fnv.New64a()
	h.Write([]byte(purpose))
	h.Write([]byte{0})
	h.Write([]byte(what))
	h.Write([]byte{byte(n), byte(n >> 8)})
	return rand.New(rand.NewPCG(mix(l.seed^mix(l.car)), mix(h.Sum64())))
}

// mix spreads the bits of a seed (the finaliser of SplitMix64, Steele, Lea &
// Flood 2014, from memory): neighbouring cars must not have neighbouring states.
func mix(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// between draws from a range: about one in ten below Low and one in ten above
// High, lognormal on each side of Typical.
func between(rng *rand.Rand, r sheet.Range) float64 {
	const tenth = 1.2816 // standard normal deviate of the upper tenth, textbook
	u := rng.NormFloat64() / tenth
	if u > 0 {
		return r.Typical * math.Pow(r.High/r.Typical, u)
	}
	return r.Typical * math.Pow(r.Low/r.Typical, -u)
}

// pickBy draws an index in proportion to its share.
func pickBy(rng *rand.Rand, n int, share func(int) float64) int {
	total := 0.0
	for i := range n {
		total += share(i)
	}
	u := rng.Float64() * total
	for i := range n {
		if u -= share(i); u < 0 {
			return i
		}
	}
	return n - 1
}

// tilted shifts a probability by so many logits.
func tilted(p, logits float64) float64 {
	if p <= 0 || p >= 1 {
		return p
	}
	o := p / (1 - p) * math.Exp(logits)
	return o / (1 + o)
}
