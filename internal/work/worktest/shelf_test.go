package worktest_test

import (
	"strings"
	"sync"
	"testing"

	"weephole/internal/work"
	"weephole/internal/work/worktest"
	"weephole/lineup"
	"weephole/lineup/lineuptest"
)

func TestALineupIsDrawnOnceForAllWhoAskTheSame(t *testing.T) {
	m, err := lineuptest.First()
	if err != nil {
		t.Fatal(err)
	}
	var shelf worktest.Shelf
	var mu sync.Mutex
	drawn := 0
	lineupOf := func(job string, o lineup.DrawOptions) *lineup.Lineup {
		w, err := work.Open(t.Context(), m, strings.NewReader("weephole: 1\n"+job), "x.yaml", work.OpenOptions{
			Lineup: o, Share: shelf.Share,
			Watch: func() (func(int, int), func()) {
				mu.Lock()
				defer mu.Unlock()
				drawn++
				return nil, func() {}
			},
		})
		if err != nil {
			t.Fatal(err)
		}
		l, err := w.Lineup(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		return l
	}
	const hot = "complaint: {signs: [overheats]}\n"
	o := lineup.DrawOptions{Candidates: 200, Seed: 1}
	var wg sync.WaitGroup
	var same [3]*lineup.Lineup
	for i := range same {
		wg.Go(func() { same[i] = lineupOf(hot, o) })
	}
	wg.Wait()
	if drawn != 1 || same[0] != same[1] || same[1] != same[2] {
		t.Errorf("the same lineup was drawn %d times", drawn)
	}
	for what, other := range map[string]*lineup.Lineup{
		"another complaint":    lineupOf("complaint: {signs: [runs-cold]}\n", o),
		"another finding":      lineupOf(hot+"findings: [{check: fan-run, found: still}]\n", o),
		"another seed":         lineupOf(hot, lineup.DrawOptions{Candidates: 200, Seed: 2}),
		"another size":         lineupOf(hot, lineup.DrawOptions{Candidates: 300, Seed: 1}),
		"no rounds of its own": lineupOf(hot, lineup.DrawOptions{Candidates: 200, Seed: 1, KeepStill: true}),
	} {
		if other == same[0] {
			t.Errorf("%s gets the same lineup", what)
		}
	}
	if drawn != 6 {
		t.Errorf("%d lineups were drawn, want 6", drawn)
	}
}
