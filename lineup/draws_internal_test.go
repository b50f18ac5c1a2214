package lineup

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// few is a lineup of a car of which nothing is said.
func few(t *testing.T) *Lineup {
	t.Helper()
	m, err := DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	l, err := New(t.Context(), m, Case{}, DrawOptions{Candidates: 500, Seed: 1, KeepStill: true})
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// fixed is a shape that a test can tell from others.
type fixed struct{}

func (fixed) transform(*rand.Rand, []float64) {}
func (fixed) logRatio([]float64) float64      { return 0 }

// Every component of a mixture is drawn as often as its share says, to one draw, and the
// draws of one component lie evenly among themselves.
func TestEachComponentGetsItsShareOfARound(t *testing.T) {
	l := few(t)
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 300).Draw(t, "n")
		m, left := mixture{}, 1.0
		for range rapid.IntRange(0, 3).Draw(t, "components") {
			share := left * rapid.Float64Range(0, 1).Draw(t, "share")
			m, left = append(m, component{share: share, shape: fixed{}}), left-share
		}
		slots := l.slots(&round{counts: []int{n}, proposals: []proposal{{mixture: m}}}, 1)
		if len(slots) != n {
			t.Fatalf("%d slots for %d draws", len(slots), n)
		}
		got, places := make([]int, len(m)+1), map[[2]int]bool{}
		for _, s := range slots {
			got[s.component]++
			if places[[2]int{s.component, s.place}] {
				t.Fatalf("two draws of component %d have place %d", s.component, s.place)
			}
			places[[2]int{s.component, s.place}] = true
		}
		for c, k := range got {
			share := left
			if c < len(m) {
				share = m[c].share
			}
			// Both ends of a component's part of 0..1 may fall inside a draw's.
			if math.Abs(float64(k)-share*float64(n)) > 2 {
				t.Errorf("component %d of share %.3f got %d of %d", c, share, k, n)
			}
			for _, s := range slots {
				if s.component == c && k > 1 && len(s.even[0]) != k {
					t.Fatalf("component %d: %d draws lie evenly, not its %d", c, len(s.even[0]), k)
				}
			}
		}
	})
}

// Of draws that a sieve lets through, as many come as are expected: the sum of their
// chances over all that were drawn.
func TestASieveLetsThroughAsManyAsAreExpected(t *testing.T) {
	l := few(t)
	prior := proposal{}
	r := round{counts: make([]int, len(l.draw.strata)), proposals: make([]proposal, len(l.draw.strata))}
	b, ok := newBlock([]int{0}, []float64{0}, mat.NewSymDense(1, []float64{1}))
	if !ok {
		t.Fatal("no block")
	}
	for k := range r.proposals {
		r.proposals[k] = prior
		r.proposals[k].sieve = &sieve{block: b, set: l.model.Settings, guess: []float64{0, 1, 0}, level: 1}
	}
	healthy := 0
	for k, s := range l.draw.strata {
		if s.causes[0] == l.model.Causes.NoFault() {
			healthy = k
		}
	}
	r.counts[healthy] = 400
	kept, err := l.drawn(context.Background(), &r, 1)
	if err != nil {
		t.Fatal(err)
	}
	// The same draws without a sieve, each by its chance.
	open := round{counts: r.counts, proposals: make([]proposal, len(r.counts))}
	l.draws -= 400
	all, err := l.drawn(context.Background(), &open, 1)
	if err != nil {
		t.Fatal(err)
	}
	expected := 0.0
	for _, c := range all {
		expected += r.proposals[healthy].sieve.passes(c.z)
	}
	if len(all) != 400 || math.Abs(float64(len(kept))-expected) > 1 {
		t.Errorf("%d of %d came through; %.2f are expected", len(kept), len(all), expected)
	}
}
