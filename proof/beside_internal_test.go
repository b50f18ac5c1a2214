package proof

import (
	"context"
	"math"
	"testing"

	"weephole/check"
	"weephole/lineup"
	"weephole/trace"
)

// What a second fault does not add to the complaint is taken from what counts against the repair,
// and from nothing else.
func TestAFaultThatDoesNotShowTheComplaintIsBesideThePoint(t *testing.T) {
	ctx := context.Background()
	p := fanProof(t)
	if p.prior[Beside] != 0 {
		t.Errorf("the owner complained of nothing, and %g is beside the point", p.prior[Beside])
	}
	p.complaint[p.model.Checks.SignIndex("runs-cold")] = check.Said
	before := p.prior
	if err := p.partBeside(ctx, &lineup.Case{OnTheRoad: p.shop}); err != nil {
		t.Fatal(err)
	}
	if !(p.prior[Beside] > 0) || math.Abs(p.prior[Beside]+p.prior[Another]-before[Another]) > 1e-12 {
		t.Errorf("another fault had %g, now it has %g and beside the point is %g", before[Another], p.prior[Another], p.prior[Beside])
	}
	for _, c := range []Class{Good, Still, Left, Unnamed} {
		if p.prior[c] != before[c] {
			t.Errorf("%s went from %g to %g", c, before[c], p.prior[c])
		}
	}
	// A car that ran cold: a weak cap or a clogged radiator makes none run cold.
	for i := range p.list {
		h := &p.list[i]
		if h.class == Another && h.second && p.model.Causes.Causes[h.faults[0].Cause].ID == "radiator-clogged" && h.weight > 0.01 {
			t.Errorf("a clogged radiator counts by %g of all other faults on a car that ran cold", h.weight)
		}
	}
	var sum [classes]float64
	for i := range p.list {
		sum[p.list[i].class] += p.list[i].weight
	}
	for c, s := range sum {
		if s != 0 && math.Abs(s-1) > 1e-9 {
			t.Errorf("the weights of %s sum to %g", Class(c), s)
		}
	}
}

func TestOneOddLookDeniesNoRepair(t *testing.T) {
	p := fanProof(t)
	still := Evidence{Check: "fan-run", Word: "still"}
	if j := judged(t, p, still); j.Verdict == NotProven || j.Cause == NotProven {
		t.Errorf("one look at the fan denies the repair: %s, cause %s", j.Verdict, j.Cause)
	}
	dead := Evidence{Check: "fan-command", Word: "dead"}
	if j := judged(t, p, still, dead, Evidence{Check: "air-con-pressure", Word: "high"}); j.LogOdds > -math.Log(p.st.DenyOdds.Value) || j.Verdict != NotProven {
		t.Errorf("the fan stands still, is dead when fed and the air conditioning is hot: %s at %g", j.Verdict, j.LogOdds)
	}
}

func TestARunThatWasMadeIsNotAskedForAgain(t *testing.T) {
	p := fanProof(t)
	idle := &lineup.Log{StartC: 88}
	for range 100 {
		idle.Segments = append(idle.Segments, trace.Segment{Seconds: 10, EngineRevPerSec: p.idle()})
	}
	made := Evidence{Log: idle, AirCon: true}
	for _, c := range []struct {
		run  string
		like bool
	}{{"idle-ac", true}, {"idle-cold", false}, {"motorway", false}, {"climb", false}} {
		if got := p.alike(&made, c.run); got != c.like {
			t.Errorf("a hot idle with air conditioning counts as %s: %v", c.run, got)
		}
	}
}

// Of two looks that say the same when they come out well, the one that is never odd on a good car
// is expected to bring more.
func TestALookThatIsOftenOddOnAGoodCarEarnsLess(t *testing.T) {
	p := fanProof(t)
	look := func(good, bad float64) [][]float64 {
		out := make([][]float64, len(p.list))
		for i := range out {
			out[i] = []float64{bad, 1 - bad}
			if p.list[i].class.well() {
				out[i] = []float64{good, 1 - good}
			}
		}
		return out
	}
	ll := make([]float64, len(p.list))
	sure, vague := p.growth(ll, look(0.99, 0.495)), p.growth(ll, look(0.7, 0.35))
	if !(sure > vague && vague > 0) {
		t.Errorf("a look never odd brings %g, one often odd %g", sure, vague)
	}
	want := 0.99*math.Log(2) + 0.01*math.Log(0.01/0.505)
	if math.Abs(sure-want) > 1e-9 {
		t.Errorf("the growth is %g, by hand %g", sure, want)
	}
}
