package work_test

import (
	"context"
	"strings"
	"testing"

	"weephole/internal/work"
	"weephole/lineup"
	"weephole/lineup/lineuptest"
)

func TestALineupIsAskedOfItsKeeperAndADrawingIsWatchedToItsEnd(t *testing.T) {
	m, err := lineuptest.First()
	if err != nil {
		t.Fatal(err)
	}
	begun, ended, told, asked := 0, 0, 0, 0
	var kept *lineup.Lineup
	o := work.OpenOptions{
		Lineup: lineup.DrawOptions{Candidates: 200, Seed: 1},
		Watch: func() (func(done, total int), func()) {
			begun++
			return func(int, int) { told++ }, func() { ended++ }
		},
		Keep: func(ctx context.Context, _ lineup.Case, draw func(context.Context) (*lineup.Lineup, error)) (l *lineup.Lineup, err error) {
			if asked++; kept == nil {
				kept, err = draw(ctx)
			}
			return kept, err
		},
	}
	w, err := work.Open(t.Context(), m, strings.NewReader("weephole: 1\ncomplaint: {signs: [overheats]}\nfindings: [{check: fan-run, found: still}]\n"), "x.yaml", o)
	if err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if l, err := w.Lineup(t.Context()); err != nil || l != kept {
			t.Errorf("not the lineup that is kept: %v", err)
		}
	}
	if asked != 2 || begun != 1 || ended != 1 || told == 0 {
		t.Errorf("asked %d times, %d drawings begun, %d ended, %d times told how far", asked, begun, ended, told)
	}
	rough, err := w.Rough(t.Context(), nil)
	if err != nil || len(rough.Case().Events) != 0 || len(w.Case.Events) != 1 {
		t.Errorf("a rough lineup of no events changes the job or has some: %v", err)
	}
	if l, err := w.LineupOf(t.Context(), 100); err != nil || l == kept || asked != 2 || begun != 3 {
		t.Errorf("drawn once more: %v, the keeper asked %d times, %d drawings", err, asked, begun)
	}
	stopped, stop := context.WithCancel(t.Context())
	stop()
	if _, err := w.LineupOf(stopped, 100); err == nil || begun != ended {
		t.Errorf("a drawing that is stopped ends: %v, %d of %d", err, ended, begun)
	}
}
