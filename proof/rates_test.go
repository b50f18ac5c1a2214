package proof_test

import (
	"context"
	"flag"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"weephole/proof"
)

// The figures of docs/proof.md come from
//
//	go test ./proof -run TestRates -v -timeout 0 -args -cars 24 -candidates 1200 -rate-seed 680001 -each
//
// Seeds 1 to 999 are for tuning; 100001 to 670001 were used while this was built.
var (
	cars       = flag.Int("cars", 4, "simulated repairs to judge, every other one good; a hundred take a quarter of an hour")
	rateSeed   = flag.Uint64("rate-seed", 640001, "seed of the simulated repairs; 1 to 999 are for tuning")
	candidates = flag.Int("candidates", 1000, "engines drawn for each air")
	airs       = flag.Int("airs", 1, "how many airs, of 22, 10 and 32 degC")
	width      = flag.Float64("width", 1, "how much wider the world is than the lineup, 0 to 1 and above")
	only       = flag.String("only", "", "one cause to repair; empty for a dozen in turn")
	rounds     = flag.Int("rounds", 3, "how often the simulated shop asks what else would prove the repair, at most")
	from       = flag.Int("from", 0, "number of the first; a car is the same whatever was done to others")
	which      = flag.String("which", "", "good or botched: only those; empty for both in turn")
	each       = flag.Bool("each", false, "print every car")
)

// judged counts how the proofs of some repairs ended.
type judged struct {
	cars, proven, denied int // the whole
	seen, gone, still    int // proven as far as could be seen; the cause called gone, and called still there
	unnamed              int // proven as far as could be seen, with the fault that is left not named
}

func (x *judged) String() string {
	return fmt.Sprintf("%3d: whole proven %d, as far as could be seen %d, not proven %d; cause gone %d, still there %d", x.cars, x.proven, x.seen, x.denied, x.gone, x.still)
}

// rates counts by some name, in the order met.
type rates struct {
	names []string
	by    map[string]*judged
}

func (r *rates) of(name string) *judged {
	if r.by == nil {
		r.by = make(map[string]*judged)
	}
	if r.by[name] == nil {
		r.by[name] = &judged{}
		r.names = append(r.names, name)
	}
	return r.by[name]
}

func (r *rates) String() string {
	var b strings.Builder
	for _, n := range r.names {
		fmt.Fprintf(&b, "\n  %-46s %s", n, r.by[n])
	}
	return b.String()
}

// The proof has the run and the looks that its own plan asks for, on cars that differ from those
// of the lineup. Of botched repairs 2 of 100 may pass and of good ones 5 of 100 may be denied; the
// test fails where there are more than three standard deviations above that. How many good ones are
// proven is reported and stands in docs/proof.md.
func TestRatesOfTheProofThatThePlanAsksFor(t *testing.T) {
	ctx := context.Background()
	w := newWorld(ctx, t, *candidates, []float64{22, 10, 32}[:*airs], *rateSeed)
	var byOutcome, byCause rates
	good, botched, beside := &judged{}, &judged{}, &judged{}
	for i := *from; i < *cars; i++ {
		if *which == "good" && i%2 == 1 || *which == "botched" && i%2 == 0 {
			continue
		}
		c := w.car(ctx, t, i, *only)
		if c == nil {
			t.Logf("%3d %s: no car is found to have it", i, repaired[i/2%len(repaired)])
			continue
		}
		j, seen := w.prove(ctx, t, c)
		all, kind := botched, "botched"
		switch c.outcome {
		case isGood:
			all, kind = good, "good"
		case isBeside:
			all, kind = beside, "beside the complaint"
		}
		for _, x := range []*judged{all, byOutcome.of(string(c.outcome)), byCause.of(c.repair + ", " + kind)} {
			w.count(x, c, j)
		}
		if *each {
			t.Logf("%3d %-20s %-22s %-14s%s: all %s %.1f, cause %s %.1f (seen %s %.1f, rest %.4f), else seen %s %.1f after %v; %s",
				i, c.cause, c.repair, c.outcome, w.wrong(c), j.Verdict, j.LogOdds, j.Cause, j.LogOddsCause, j.CauseSeen, j.LogOddsCauseSeen, j.Rest, j.Seen, j.LogOddsSeen, seen, named(j))
			before := 0.0
			for _, x := range j.Steps { // what spoke against a good one
				if x.LogOdds < before-0.7 {
					t.Logf("      %.1f by %s", x.LogOdds-before, x.What)
				}
				before = x.LogOdds
			}
		}
	}
	t.Logf("by outcome:%s\nby repair:%s\nbotched ones that passed as far as could be seen, with their fault not named as open: %d", &byOutcome, &byCause, botched.unnamed)
	limit := func(n int, bound float64) int {
		return int(float64(n)*bound + 3*math.Sqrt(float64(n)*bound*(1-bound)))
	}
	for _, c := range []struct {
		what    string
		n, of   int
		allowed float64
	}{
		{"botched repairs passed as a whole", botched.proven, botched.cars, 0.02},
		{"botched repairs passed as far as could be seen, with their fault not named as open", botched.unnamed, botched.cars, 0.02},
		{"good repairs denied", good.denied, good.cars, 0.05},
	} {
		if most := limit(c.of, c.allowed); c.n > most {
			t.Errorf("%s: %d of %d, at most %d expected", c.what, c.n, c.of, most)
		}
	}
	if 2*good.gone < good.cars {
		t.Errorf("the cause is shown gone in %d of %d good repairs, want half at least", good.gone, good.cars)
	}
}

func (w *world) count(x *judged, c *car, j *proof.Judgement) {
	x.cars++
	is := func(n *int, yes bool) {
		if yes {
			*n++
		}
	}
	is(&x.proven, j.Verdict == proof.Proven)
	is(&x.denied, j.AsFarAsSeen() == proof.NotProven)
	is(&x.seen, j.AsFarAsSeen() == proof.Proven)
	is(&x.gone, j.Cause == proof.Proven || j.CauseSeen == proof.Proven)
	is(&x.still, j.Cause == proof.NotProven)
	is(&x.unnamed, j.AsFarAsSeen() == proof.Proven && !w.listed(c, j))
}

// listed tells whether the judgement names the car's fault among what could not
// be seen.
func (w *world) listed(c *car, j *proof.Judgement) bool {
	for _, f := range c.faults {
		id := w.m.Causes.Causes[f.Cause].ID
		if slices.ContainsFunc(j.Unseen, func(u proof.Suspect) bool { return u.Cause == id }) {
			return true
		}
	}
	return false
}

func (w *world) wrong(c *car) (s string) {
	for _, f := range c.faults {
		s += fmt.Sprintf(" %s %.2f", w.m.Causes.Causes[f.Cause].ID, f.Severity)
	}
	return s
}

// named is what the judgement leaves open.
func named(j *proof.Judgement) (s string) {
	for i, x := range j.Suspects[:min(4, len(j.Suspects))] {
		if i > 0 {
			s += ", "
		}
		s += fmt.Sprintf("%s %s %.3f", x.Class, x.Cause, x.Probability)
	}
	return s
}

// prove does what a shop would: the run that the plan names, then the checks,
// then what is still asked for, until there is a verdict.
func (w *world) prove(ctx context.Context, t *testing.T, c *car) (last *proof.Judgement, seen []string) {
	t.Helper()
	var evidence []proof.Evidence
	for range *rounds + 1 {
		plan, err := c.proof.Design(ctx, evidence...)
		if err != nil {
			t.Fatal(err)
		}
		before := len(evidence)
		if !plan.Settled {
			for _, more := range plan.Runs {
				if (more.Tells || more.FindsOut) && !slices.Contains(seen, more.Run) {
					r := w.st.Run(more.Run)
					evidence = append(evidence, proof.Evidence{Log: w.log(c, r), AirCon: r.AirCon})
					seen = append(seen, more.Run)
					break
				}
			}
		}
		for _, more := range plan.Further {
			r := w.st.Run(more.Run)
			evidence = append(evidence, proof.Evidence{Log: w.log(c, r), AirCon: r.AirCon})
			seen = append(seen, more.Run)
		}
		for _, k := range plan.Checks {
			evidence = append(evidence, proof.Evidence{Check: k.Check, Word: w.answer(c, k.Check)})
			seen = append(seen, k.Check)
		}
		if plan.AskOwner {
			said := w.owner(c)
			evidence = append(evidence, proof.Evidence{Changed: &said})
			seen = append(seen, "owner: "+said.String())
		}
		if len(evidence) == before && last != nil {
			break
		}
		if last, evidence, err = w.judge(ctx, c, evidence, before); err != nil {
			t.Fatal(err)
		}
		seen = append(seen, fmt.Sprintf("(%.1f after %d)", last.LogOdds, len(evidence)))
		if last.Verdict != proof.CouldNotTell {
			break
		}
	}
	return last, seen
}

// judge enters one result after the other, from the first new one, and stops at the first verdict
// on the whole.
func (w *world) judge(ctx context.Context, c *car, evidence []proof.Evidence, from int) (*proof.Judgement, []proof.Evidence, error) {
	all, err := c.proof.Judge(ctx, evidence...)
	if err != nil {
		return nil, nil, err
	}
	for k := from; k < len(evidence)-1; k++ {
		if x := math.Exp(all.Steps[k].LogOdds); x < w.st.PassOdds.Value && x > 1/w.st.DenyOdds.Value {
			continue
		}
		then, err := c.proof.Judge(ctx, evidence[:k+1]...)
		if err != nil {
			return nil, nil, err
		}
		if then.Verdict != proof.CouldNotTell {
			return then, evidence[:k+1], nil
		}
	}
	return all, evidence, nil
}
