package proof

import (
	"math"
	"slices"
	"testing"

	"weephole/cause"
	"weephole/lineup"
)

// A cause that the repair seldom cures holds much of the class Still. If one or two engines stood
// for it, whether a run tells would hang on them.
func TestNoOnePickHoldsMuchOfAnOutcome(t *testing.T) {
	p := fanProof(t)
	index := func(id string) int {
		return slices.IndexFunc(p.model.Causes.Causes, func(c cause.Cause) bool { return c.ID == id })
	}
	k := maker{m: p.model, st: p.st, repairs: []*cause.Repair{p.model.Causes.Repair("replace-thermostat")}}
	all := make([]lineup.Engine, 100)
	still := make([]float64, len(all))
	sum := 0.0
	for i := range all {
		all[i].Weight = 0.99 / 98
		fault := cause.Present{Cause: index("thermostat-shut"), Site: cause.NoSite}
		if i >= 98 { // two engines of a hundredth of the weight, whose fault a new thermostat cures half the time
			all[i].Weight, fault.Cause = 0.005, index("air-pocket")
		}
		all[i].Faults = []cause.Present{fault}
		still[i] = all[i].Weight * (1 - k.succeeds(fault))
		sum += still[i]
	}
	k.all = all
	share := k.pickShares()
	total, most := 0.0, 0.0
	for i := range all {
		total += share[i]
		most = max(most, still[i]/sum/share[i])
	}
	if math.Abs(total-1) > 1e-12 {
		t.Errorf("the shares sum to %v", total)
	}
	// Good, left behind, a second fault, still there: no other outcome occurs here.
	if most > 4 {
		t.Errorf("a pick counts %.1f times the mean in the class Still, at most 4 wanted", most)
	}
	if byWeight := still[99] / sum / all[99].Weight; byWeight < 5 {
		t.Fatalf("by weight alone it would be %.1f: this case tells nothing", byWeight)
	}
}

// A new radiator is not half as clogged as the old one; a flushed one may well be.
func TestAFailedRepairOfAnOldPartLeavesMoreOftenAPart(t *testing.T) {
	p := fanProof(t)
	clogged := slices.IndexFunc(p.model.Causes.Causes, func(c cause.Cause) bool { return c.ID == "radiator-clogged" })
	pocket := slices.IndexFunc(p.model.Causes.Causes, func(c cause.Cause) bool { return c.ID == "air-pocket" })
	for _, c := range []struct {
		repairs []string
		cause   int
		want    float64
	}{
		{[]string{"replace-radiator"}, clogged, p.st.RedrawnPart.Value},
		{[]string{"flush-radiator"}, clogged, p.st.Redrawn.Value},
		{[]string{"flush-radiator", "replace-radiator"}, clogged, p.st.RedrawnPart.Value}, // the surer one was what was done for it
		{[]string{"replace-radiator"}, pocket, p.st.Redrawn.Value},                        // bled on the way
	} {
		k := maker{m: p.model, st: p.st}
		for _, id := range c.repairs {
			k.repairs = append(k.repairs, p.model.Causes.Repair(id))
		}
		if got := k.redrawn([]cause.Present{{Cause: c.cause, Site: cause.NoSite}}); got != c.want {
			t.Errorf("%v of cause %d: %.2f, want %.2f", c.repairs, c.cause, got, c.want)
		}
	}
}
