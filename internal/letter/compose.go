package letter

import (
	"context"
	"errors"
	"fmt"

	"weephole/internal/aftercare"
	"weephole/internal/casework"
	"weephole/internal/job"
	"weephole/lineup"
	"weephole/proof"
	"weephole/quantity"
)

// Order is what it takes to compose a letter from a job.
type Order struct {
	Job      *job.Job
	Work     *casework.Casework
	Model    *lineup.Model
	Units    quantity.Units
	Currency string
	Seed     uint64
	// Proof is the answer of the job's proof where it is at hand already; nil: it
	// is worked out.
	Proof *aftercare.Answer
	// Weigh makes the lineup of a case.
	Weigh func(context.Context, lineup.Case) (*lineup.Lineup, error)
}

// Compose weighs the job as it stood before the repair, judges what was seen
// after it, and writes the letter.
func Compose(ctx context.Context, o Order) (*Letter, error) {
	parted := aftercare.Part(o.Work, o.Job)
	facts := Facts{Job: o.Job, Model: o.Model, Units: o.Units, Currency: o.Currency, Parted: parted}
	facts.Before = aftercare.LogBefore(o.Work, parted)
	weigh := func(ctx context.Context, cs lineup.Case) (*lineup.Lineup, error) {
		l, err := o.Weigh(ctx, cs)
		if err == nil {
			facts.Odds = l.Odds()
		}
		return l, err
	}
	if len(parted.Repairs) == 0 || o.Proof != nil {
		facts.Proof = o.Proof
		if _, err := weigh(ctx, parted.Before); err != nil {
			return nil, fmt.Errorf("letter: %w", err)
		}
		return Write(facts), nil
	}
	st, err := proof.DefaultCriteria()
	if err != nil {
		return nil, fmt.Errorf("letter: %w", err)
	}
	facts.Proof, err = aftercare.For(ctx, parted, aftercare.Ask{Settings: st, Units: o.Units, Seed: o.Seed, Weigh: weigh})
	// A repair that cures nothing known can still be written of.
	if err != nil && !errors.Is(err, proof.ErrCannotCure) {
		return nil, fmt.Errorf("letter: %w", err)
	}
	return Write(facts), nil
}
