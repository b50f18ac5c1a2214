package proof_test

import (
	"context"
	"flag"
	"fmt"
	"testing"
	"time"

	"weephole/proof"
)

var (
	cars       = flag.Int("cars", 12, "simulated repairs to judge")
	rateSeed   = flag.Uint64("rate-seed", 100001, "seed of the simulated repairs; 1 to 999 are for tuning")
	candidates = flag.Int("candidates", 2000, "engines drawn for each air")
	airs       = flag.Int("airs", 1, "how many airs, of 10, 22 and 32 degC")
	width      = flag.Float64("width", 1, "how much wider the world is than the lineup, 0 to 1 and above")
	only       = flag.String("only", "", "one cause to repair")
	goodOnly   = flag.Bool("good", false, "only good repairs")
	verbose    = flag.Bool("each", false, "print every car")
)

func TestRates(t *testing.T) {
	ctx := context.Background()
	w := newWorld(ctx, t, *candidates, []float64{10, 22, 32}[:*airs], *rateSeed)
	m, st := w.m, w.st
	type tally map[proof.Verdict]int
	run, full, causeOnly := map[outcome]tally{}, map[outcome]tally{}, map[outcome]tally{}
	add := func(x map[outcome]tally, o outcome, v proof.Verdict) {
		if x[o] == nil {
			x[o] = tally{}
		}
		x[o][v]++
	}
	tells := 0
	began := time.Now()
	for i := range *cars {
		t0 := time.Now()
		c := w.car(ctx, t, *only)
		if *goodOnly && c.outcome != isGood {
			continue
		}
		if c.outcome != isGood && !c.matters {
			c.outcome += " (slight)"
		}
		t1 := time.Now()
		plan, err := c.proof.Plan(ctx)
		if err != nil {
			t.Fatal(err)
		}
		t2 := time.Now()
		best := plan.Runs[0]
		if best.Tells {
			tells++
		}
		r := st.Run(best.Run)
		ev := []proof.Evidence{{Log: w.log(c, r), AirCon: r.AirCon}}
		j, err := c.proof.Judge(ctx, ev...)
		if err != nil {
			t.Fatal(err)
		}
		add(run, c.outcome, j.Verdict)
		add(causeOnly, c.outcome, j.Cause)
		for _, k := range plan.Checks {
			ev = append(ev, proof.Evidence{Check: k.Check, Word: w.answer(c, k.Check)})
		}
		jj, err := c.proof.Judge(ctx, ev...)
		if err != nil {
			t.Fatal(err)
		}
		add(full, c.outcome, jj.Verdict)
		if *verbose {
			names := ""
			for _, f := range c.faults {
				names += fmt.Sprintf(" %s %.2f", m.Causes.Causes[f.Cause].ID, f.Severity)
			}
			checks := ""
			for _, k := range plan.Checks {
				checks += " " + k.Check
			}
			fmt.Printf("%3d %-20s p %.2f %-20s %-12s [%s] run %-10s tells %v %.2f/%.2f min %.0f | cause %s (%.1f) whole %s (%.1f) | +%s -> %s (%.1f) want-whole %v gone %.2f clean %.2f  %v %v %v\n", i, c.cause, c.odds, c.repair, c.outcome, names, best.Run, best.Tells, best.Passes, best.Finds, best.Enough,
				j.Cause, j.LogOddsCause, j.Verdict, j.LogOdds, checks, jj.Verdict, jj.LogOdds, plan.Whole, jj.Gone, jj.Clean, t1.Sub(t0).Round(time.Millisecond), t2.Sub(t1).Round(time.Millisecond), time.Since(t2).Round(time.Millisecond))
			fmt.Printf("ROC %v %v %v %.2f %.2f %.2f %.3f\n", c.outcome == isGood, best.Tells, plan.Whole, j.LogOddsCause, j.LogOdds, jj.LogOdds, jj.Clean)
			if c.outcome == isGood && j.LogOdds < -1 {
				for _, u := range j.Unsettled[:min(4, len(j.Unsettled))] {
					fmt.Printf("        DENY %s %s %s %.3f\n", best.Run, u.Class, u.Name, u.Probability)
				}
			}
			for _, h := range plan.Hidden[:min(5, len(plan.Hidden))] {
				fmt.Printf("        hidden %-14s %-40s %.3f\n", h.Class, h.Name, h.Share)
			}
		}
	}
	fmt.Println("run alone, whole:", run)
	fmt.Println("run alone, cause:", causeOnly)
	fmt.Println("run and checks:  ", full)
	fmt.Println("could tell", tells, "of", *cars, time.Since(began))
}
