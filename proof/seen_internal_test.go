package proof

import (
	"context"
	"testing"

	"weephole/cause"
	"weephole/check"
)

func judged(t *testing.T, p *Proof, e ...Evidence) *Judgement {
	t.Helper()
	j, err := p.Judge(context.Background(), e...)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func TestWhatCouldNotBeSeenIsNamedAndNotClaimed(t *testing.T) {
	p := fanProof(t)
	runs := Evidence{Check: "fan-run", Word: "runs"}
	before, after := judged(t, p), judged(t, p, runs)
	for _, j := range []*Judgement{before, after} {
		if j.Seen == Proven || j.AsFarAsSeen() == Proven {
			t.Errorf("one look at the fan at most, and nothing else is said to be wrong: %+v", j)
		}
		if len(j.Unseen) == 0 {
			t.Error("nothing is named that could not be seen")
		}
	}
	if before.CauseSeen != CouldNotTell {
		t.Errorf("before anything was looked at the cause is called %s", before.CauseSeen)
	}
	if !(after.Gone > before.Gone) {
		t.Errorf("a fan that runs took the odds that the cause is gone from %g to %g", before.Gone, after.Gone)
	}
}

func TestTheSameResultAgainCountsOnlyInPart(t *testing.T) {
	p := fanProof(t)
	runs := Evidence{Check: "fan-run", Word: "runs"}
	none, once, twice := judged(t, p), judged(t, p, runs), judged(t, p, runs, runs)
	first, second := once.LogOddsCause-none.LogOddsCause, twice.LogOddsCause-once.LogOddsCause
	if !(second > 0 && second < 0.6*first) {
		t.Errorf("the first look brought %.2f, the same again %.2f", first, second)
	}
}

// The owner's word is weighed by what he would feel of what he complained of.
func TestTheOwnersWordSaysSomethingOnlyOfWhatHeFeels(t *testing.T) {
	p := fanProof(t)
	cured := cause.Cured
	word := Evidence{Changed: &cured}
	if j, plain := judged(t, p, word), judged(t, p); j.LogOdds < plain.LogOdds-1e-9 || j.LogOdds > plain.LogOdds+1e-9 {
		t.Errorf("he complained of nothing, and his word took the odds from %g to %g", plain.LogOdds, j.LogOdds)
	}
	if plan, err := p.Design(context.Background()); err != nil || plan.AskOwner {
		t.Errorf("he complained of nothing and is to be asked: %v", err)
	}
	p.complaint[p.model.Checks.SignIndex("overheats")] = check.Said
	if j, plain := judged(t, p, word), judged(t, p); !(j.LogOddsCause > plain.LogOddsCause+0.3) {
		t.Errorf("it no longer runs hot, and the odds on the cause went from %g to %g only", plain.LogOddsCause, j.LogOddsCause)
	}
	nothing := cause.Nothing
	if j, plain := judged(t, p, Evidence{Changed: &nothing}), judged(t, p); !(j.LogOddsCause < plain.LogOddsCause) {
		t.Errorf("nothing has changed, and the odds on the cause went from %g to %g", plain.LogOddsCause, j.LogOddsCause)
	}
}
