package proof

import (
	"context"
	"math"
	"testing"
)

// The error that a judgement tells is the standard deviation over other picks from the same lineup.
func TestAJudgementTellsItsErrorOfPicking(t *testing.T) {
	ctx := context.Background()
	first := fanProof(t)
	seen := []Evidence{{Check: "fan-run", Word: "runs"}, {Check: "air-con-pressure", Word: "usual"}}
	st := *first.st
	st.MostEngines.Value = 0 // the first batch alone
	var sum, squares, told [2]float64
	const seeds = 16
	for seed := range uint64(seeds) {
		p, err := New(ctx, first.engines.l, &st, []string{"replace-fan"}, first.shop, seed+1)
		if err != nil {
			t.Fatal(err)
		}
		j := judged(t, p, seen...)
		for i, v := range []float64{j.LogOdds, j.LogOddsCause} {
			sum[i] += v
			squares[i] += v * v
		}
		told[0] += j.Error * j.Error / seeds
		told[1] += j.ErrorCause * j.ErrorCause / seeds
	}
	for i := range told {
		want := math.Sqrt(told[i])
		mean := sum[i] / seeds
		sd := math.Sqrt((squares[i] - seeds*mean*mean) / (seeds - 1))
		t.Logf("log odds %d: standard deviation %.3f over %d seeds, told %.3f", i, sd, seeds, want)
		// Picks are drawn systematically, so the told error may be too large, but not much too small:
		// the chi-squared interval of 15 degrees of freedom (99.9 %) reaches from 0.46 to 1.6.
		if sd > 1.6*want || sd < 0.2*want {
			t.Errorf("log odds %d: standard deviation %.3f over %d seeds, and the judgement tells %.3f", i, sd, seeds, want)
		}
	}
}

// More engines are picked while a bound lies within the error, and the proof is left as it was.
func TestAJudgementNearItsBoundPicksMoreEngines(t *testing.T) {
	p := fanProof(t)
	seen := []Evidence{{Check: "fan-run", Word: "runs"}}
	st := *p.st
	p.st = &st
	st.MostEngines.Value = 0
	rough := judged(t, p, seen...)
	st.JudgeError.Value, st.MostEngines.Value = rough.ErrorCause/2, 960
	st.PassOdds.Value = math.Exp(rough.LogOddsCause) // a bound that chance alone decides
	finer := judged(t, p, seen...)
	if finer.ErrorCause > 0.7*rough.ErrorCause {
		t.Errorf("the error was %.3f and is %.3f with up to %g engines", rough.ErrorCause, finer.ErrorCause, st.MostEngines.Value)
	}
	st.PassOdds.Value = 1e9 // nothing can be proven: nobody has to know the odds better
	st.DenyOdds.Value = 1e9
	if far := judged(t, p, seen...); far.ErrorCause != rough.ErrorCause || far.LogOddsCause != rough.LogOddsCause {
		t.Errorf("far from every bound the odds went from %.3f (%.3f) to %.3f (%.3f)", rough.LogOddsCause, rough.ErrorCause, far.LogOddsCause, far.ErrorCause)
	}
}
