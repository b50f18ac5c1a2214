package trial

import (
	"math"
	"slices"
	"sort"
)

// Forecast is what somebody held of one car before its cause was known: the
// program, or the person who read the case.
type Forecast struct {
	Car    string   `json:"car"`
	Truths []string `json:"truths"`               // causes that were there, the one that explains the complaint first
	Also   []string `json:"also_right,omitempty"` // further answers that count as right
	// Odds are the probabilities by cause, 0..1. They may add up to more than 1
	// where two causes are there at once; what is left out is 0.
	Odds map[string]float64 `json:"odds"`
	// Bad are the probabilities that a cause is there, whatever it explains.
	Bad map[string]float64 `json:"bad,omitempty"`
}

// ranked are the causes by falling probability; equal ones by name, so that the
// order is always the same.
func (f *Forecast) ranked() []string { return rank(f.Odds) }

func rank(odds map[string]float64) []string {
	list := make([]string, 0, len(odds))
	for c := range odds {
		list = append(list, c)
	}
	sort.Slice(list, func(a, b int) bool {
		if odds[list[a]] != odds[list[b]] {
			return odds[list[a]] > odds[list[b]]
		}
		return list[a] < list[b]
	})
	return list
}

func (f *Forecast) right(c string) bool {
	return slices.Contains(f.Truths, c) || slices.Contains(f.Also, c)
}

// leader is the likeliest cause and its probability; none if nothing was held.
func (f *Forecast) leader() (string, float64) {
	list := f.ranked()
	if len(list) == 0 {
		return "", 0
	}
	return list[0], f.Odds[list[0]]
}

// first is 1 if the likeliest cause is right.
func (f *Forecast) first() float64 {
	c, _ := f.leader()
	return yes(f.right(c))
}

// among is 1 if a right cause is among the first n.
func (f *Forecast) among(n int) float64 {
	list := f.ranked()
	return yes(slices.ContainsFunc(list[:min(n, len(list))], f.right))
}

// all is 1 if every true cause is among the first n.
func (f *Forecast) all(n int) float64 { return f.every(f.ranked(), n) }

// allBad is 1 if every true cause is among the first n that are held to be bad.
func (f *Forecast) allBad(n int) float64 { return f.every(rank(f.Bad), n) }

func (f *Forecast) every(list []string, n int) float64 {
	list = list[:min(n, len(list))]
	for _, c := range f.Truths {
		if !slices.Contains(list, c) {
			return 0
		}
	}
	return 1
}

// onTruth is the probability of the right cause; of several, the likeliest's.
func (f *Forecast) onTruth() float64 {
	p := 0.0
	for _, c := range append(slices.Clone(f.Truths), f.Also...) {
		p = math.Max(p, f.Odds[c])
	}
	return math.Min(p, 1)
}

// leastSaid keeps one flat "never" from outweighing all else in a log score:
// judgement, one in a thousand.
const leastSaid = 0.001

// logScore is the logarithmic score (Good 1952), nats, smaller is better.
func (f *Forecast) logScore() float64 { return -math.Log(math.Max(f.onTruth(), leastSaid)) }

// brier is the score of Brier (1950) of the statement "it is the leader", 0..1.
func (f *Forecast) brier() float64 {
	_, p := f.leader()
	return (p - f.first()) * (p - f.first())
}

func yes(b bool) float64 {
	if b {
		return 1
	}
	return 0
}
