package tally

import (
	"context"

	"weephole/internal/work"
)

// EntryOf is what a closed job teaches: the case as it stood before the repair, with
// the judgement of what came after it. It fails as Closed.Entry does where the job
// must not teach.
func EntryOf(ctx context.Context, w *work.Work) (Entry, error) {
	c := Closed{Job: w.Job, Repairs: w.Repairs, Before: w.Before}
	var err error
	if c.Lineup, c.Judgement, err = w.Judged(ctx); err != nil {
		return Entry{}, err
	}
	return c.Entry(ctx)
}
