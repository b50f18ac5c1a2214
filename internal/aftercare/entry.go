package aftercare

import (
	"context"

	"weephole/internal/casework"
	"weephole/internal/job"
	"weephole/internal/tally"
	"weephole/lineup"
	"weephole/proof"
)

// Entry is what a closed job teaches: the case as it stood before the repair,
// with the judgement of what came after it. It fails as tally.Closed does where
// the job must not teach.
func Entry(ctx context.Context, w *casework.Casework, j *job.Job, seed uint64, weigh func(context.Context, lineup.Case) (*lineup.Lineup, error)) (tally.Entry, error) {
	parted := Part(w, j)
	c := tally.Closed{Job: j, Repairs: parted.Repairs, Before: parted.Before}
	if len(parted.Repairs) == 0 || len(parted.Evidence) == 0 {
		return c.Entry(ctx)
	}
	st, err := proof.DefaultCriteria()
	if err != nil {
		return tally.Entry{}, err
	}
	if c.Lineup, err = weigh(ctx, parted.Before); err != nil {
		return tally.Entry{}, err
	}
	p, err := proof.New(ctx, c.Lineup, st, parted.Repairs, parted.Before.Shop, seed)
	if err != nil {
		return tally.Entry{}, err
	}
	if c.Judgement, err = p.Judge(ctx, parted.Evidence...); err != nil {
		return tally.Entry{}, err
	}
	return c.Entry(ctx)
}
