package proof_test

import (
	"context"
	"flag"
	"fmt"
	"maps"
	"math"
	"slices"
	"testing"

	"weephole/proof"
)

// The figures of docs/proof.md come from
//
//	go test ./proof -run TestBotchedRepairs -v -args -cars 40 -airs 2 -only telling -rate-seed 630001 -each
//
// Seeds 1 to 999 and 100001 to 620001 were used while this was built.
var (
	cars       = flag.Int("cars", 0, "simulated repairs to judge; a dozen take some minutes")
	rateSeed   = flag.Uint64("rate-seed", 630001, "seed of the simulated repairs; 1 to 999 are for tuning")
	candidates = flag.Int("candidates", 2000, "engines drawn for each air")
	airs       = flag.Int("airs", 1, "how many airs, of 10, 22 and 32 degC")
	width      = flag.Float64("width", 1, "how much wider the world is than the lineup, 0 to 1 and above")
	only       = flag.String("only", "", "one cause to repair; empty for any, or \"telling\" for cars found to have one of those whose repair a run can often prove")
	rounds     = flag.Int("rounds", 3, "how often the simulated shop asks what else would prove the repair, at most")
	each       = flag.Bool("each", false, "print every car")
)

// tally counts verdicts by how the repair really came out.
type tally map[outcome]map[proof.Verdict]int

func (x tally) add(o outcome, v proof.Verdict) {
	if x[o] == nil {
		x[o] = make(map[proof.Verdict]int)
	}
	x[o][v]++
}

func (x tally) String() string {
	s := ""
	for _, o := range slices.Sorted(maps.Keys(x)) {
		n := x[o][proof.Proven] + x[o][proof.NotProven] + x[o][proof.CouldNotTell]
		s += fmt.Sprintf("\n  %-22s %3d: proven %d, not proven %d, could not tell %d", o, n, x[o][proof.Proven], x[o][proof.NotProven], x[o][proof.CouldNotTell])
	}
	return s
}

// Half of the simulated repairs are botched. The bounds allow 2 of 100 botched
// ones to pass and 5 of 100 good ones to be denied; the test fails where there
// are more than three standard deviations above that.
func TestBotchedRepairsSeldomPassAndGoodOnesAreSeldomDenied(t *testing.T) {
	if *cars == 0 {
		t.Skip("a measurement of many minutes: ask for it with -args -cars 40; the bounds themselves are tested in bounds_internal_test.go")
	}
	ctx := context.Background()
	w := newWorld(ctx, t, *candidates, []float64{22, 10, 32}[:*airs], *rateSeed)
	whole, seenly, alone, causes := tally{}, tally{}, tally{}, tally{}
	var wholeBy, seenBy []tally
	for range *rounds + 1 {
		wholeBy, seenBy = append(wholeBy, tally{}), append(seenBy, tally{})
	}
	var botched, passed, good, denied, stillThere, calledGone, seenGone, passedSeen, unlisted int
	for i := range *cars {
		c := w.car(ctx, t, *only)
		o := c.outcome
		if o != isGood && !c.noticeable {
			o += " (slight)" // counts as neither
		}
		run, tells, j, by, seen := w.prove(ctx, t, c)
		causes.add(o, run.Cause)
		alone.add(o, j.Cause)
		whole.add(o, j.Verdict)
		seenly.add(o, j.AsFarAsSeen())
		for r := range wholeBy { // what stood after so many rounds of asking
			then := by[min(r, len(by)-1)]
			wholeBy[r].add(o, then.Verdict)
			seenBy[r].add(o, then.AsFarAsSeen())
		}
		switch {
		case o == isGood && tells:
			good++
			if j.AsFarAsSeen() == proof.NotProven {
				denied++
			}
		case o != isGood && c.noticeable:
			botched++
			if j.Verdict == proof.Proven {
				passed++
			}
			if j.AsFarAsSeen() == proof.Proven {
				passedSeen++
				if !listed(w, c, j) {
					unlisted++
				}
			}
			if o == isWrongPart || o == isWrongCause && w.m.Causes.Causes[c.faults[0].Cause].ID == c.cause {
				stillThere++
				if j.Cause == proof.Proven {
					calledGone++
				}
				if j.CauseSeen == proof.Proven {
					seenGone++
				}
			}
		}
		if *each {
			faults := ""
			for _, f := range c.faults {
				faults += fmt.Sprintf(" %s %.2f", w.m.Causes.Causes[f.Cause].ID, f.Severity)
			}
			t.Logf("%3d %-20s %-20s %-22s%s: tells %v, run %.1f (cause %.1f), all %s %.1f, cause %s %.1f (seen %s %.1f, rest %.4f), else seen %s %.1f after %v; %v",
				i, c.cause, c.repair, o, faults, tells, run.LogOdds, run.LogOddsCause, j.Verdict, j.LogOdds, j.Cause, j.LogOddsCause, j.CauseSeen, j.LogOddsCauseSeen, j.Rest, j.Seen, j.LogOddsSeen, seen, j.Suspects[:min(3, len(j.Suspects))])
		}
	}
	t.Logf("the whole:%s\ncause gone and nothing else that could be seen:%s\ncause:%s\ncause, by the first run alone:%s", whole, seenly, alone, causes)
	t.Logf("botched %d: passed as a whole %d, as far as could be seen %d, of which with their fault not listed as unseen %d; cause still there %d: called gone %d, as far as could be seen %d; good in runs that could tell %d: denied %d",
		botched, passed, passedSeen, unlisted, stillThere, calledGone, seenGone, good, denied)
	for r := range wholeBy {
		t.Logf("after the run and %d rounds of checks, the whole:%s\nas far as could be seen:%s", r, wholeBy[r], seenBy[r])
	}
	limit := func(n int, bound float64) int {
		return int(float64(n)*bound + 3*math.Sqrt(float64(n)*bound*(1-bound)))
	}
	for _, c := range []struct {
		what    string
		n, of   int
		allowed float64
	}{
		{"botched repairs passed as a whole", passed, botched, 0.02},
		{"botched repairs passed as far as could be seen, with their fault not named as unseen", unlisted, botched, 0.02},
		{"causes that are still there were called gone", calledGone, stillThere, 0.02},
		{"good repairs denied", denied, good, 0.05},
	} {
		if most := limit(c.of, c.allowed); c.n > most {
			t.Errorf("%s: %d of %d, at most %d expected", c.what, c.n, c.of, most)
		}
	}
}

// listed tells whether the judgement names the car's fault among what could not
// be seen.
func listed(w *world, c *car, j *proof.Judgement) bool {
	for _, f := range c.faults {
		for _, u := range j.Unseen {
			if u.Cause == w.m.Causes.Causes[f.Cause].ID {
				return true
			}
		}
	}
	return false
}

// prove does what a shop would: the run that the plan names, then the checks,
// then what is still asked for, until there is a verdict.
func (w *world) prove(ctx context.Context, t *testing.T, c *car) (run *proof.Judgement, tells bool, last *proof.Judgement, by []*proof.Judgement, seen []string) {
	t.Helper()
	plan, err := c.proof.Design(ctx)
	if err != nil {
		t.Fatal(err)
	}
	best := plan.Runs[0]
	r := w.st.Run(best.Run)
	evidence := []proof.Evidence{{Log: w.log(c, r), AirCon: r.AirCon}}
	seen = []string{best.Run}
	judge := func() *proof.Judgement {
		j, err := c.proof.Judge(ctx, evidence...)
		if err != nil {
			t.Fatal(err)
		}
		return j
	}
	run = judge()
	last, by = run, []*proof.Judgement{run}
	for round := 0; round < *rounds && last.Verdict == proof.CouldNotTell; round++ {
		if plan, err = c.proof.Design(ctx, evidence...); err != nil {
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
		for _, k := range plan.Checks {
			evidence = append(evidence, proof.Evidence{Check: k.Check, Word: w.answer(c, k.Check)})
			seen = append(seen, k.Check)
		}
		if plan.AskOwner {
			said := w.owner(c)
			evidence = append(evidence, proof.Evidence{Changed: &said})
			seen = append(seen, "owner: "+said.String())
		}
		if len(evidence) == before {
			break
		}
		last = judge()
		by = append(by, last)
	}
	return run, best.Tells || best.FindsOut, last, by, seen
}
