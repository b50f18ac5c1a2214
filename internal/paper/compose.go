package paper

import (
	"context"
	"errors"
	"fmt"

	"weephole/internal/answer"
	"weephole/internal/work"
	"weephole/proof"
)

// Compose judges what was seen after the repair and writes the letter. proved is
// the proof where it is at hand already, nil where it is still to be worked out.
func Compose(ctx context.Context, w *work.Work, proved *work.RepairProof) (*Letter, error) {
	before, err := w.LineupBefore(ctx)
	if err != nil {
		return nil, fmt.Errorf("letter: %w", err)
	}
	f := Facts{Model: w.Model, Job: w.Job, Style: answer.StyleOf(w), History: w.History, Before: w.LogBefore(), Odds: before.Odds(), Proof: proved}
	if len(w.Repairs) > 0 && proved == nil {
		// A repair that cures nothing known can still be written of.
		if f.Proof, err = w.Proof(ctx, nil); err != nil && !errors.Is(err, proof.ErrCannotCure) {
			return nil, fmt.Errorf("letter: %w", err)
		}
	}
	return Write(f), nil
}
