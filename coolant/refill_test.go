package coolant_test

import (
	"math"
	"strings"
	"testing"

	"weephole/coolant"

	"pgregory.net/rapid"
)

func TestDrainAndReplaceProblemsComeOutAsPrinted(t *testing.T) {
	for _, row := range table(t, "mixing_drain_refill_single.csv") {
		percent := func(column string) float64 { return number(t, row[column]) / 100 }
		got, err := coolant.DrainToReach(number(t, row["system_volume"]),
			percent("start_vol_percent"), percent("target_vol_percent"), percent("refill_vol_percent"))
		if err != nil {
			t.Error(err)
			continue
		}
		if want := number(t, row["computed_drain_volume"]); math.Abs(got-want) > 1e-6 {
			t.Errorf("%s: drain %v, want %v", row["source"], got, want)
		}
		// One printed answer is known to be wrong and is marked; the others must agree.
		if row["published_agrees"] == "yes" {
			if want := number(t, row["published_drain_volume"]); math.Abs(got-want) > 0.01 {
				t.Errorf("%s: drain %v, printed %v", row["source"], got, want)
			}
		}
	}
}

func TestRepeatedReplacementComesOutAsPrinted(t *testing.T) {
	for _, row := range table(t, "mixing_repeated_replacement.csv") {
		volume := number(t, row["system_L"])
		c, err := coolant.AfterDrains(number(t, row["start_percent"])/100, number(t, row["refill_percent"])/100,
			number(t, row["drain_L"])/volume, int(number(t, row["n_cycles"])))
		if err != nil {
			t.Error(err)
			continue
		}
		got := 100 * c
		if strings.HasSuffix(row["quantity_and_unit"], ", L") {
			got = volume * c
		}
		if want := number(t, row["computed_value"]); math.Abs(got-want) > 1e-6 {
			t.Errorf("%s: %v, want %v", row["source"], got, want)
		}
	}
}

func TestARefillThatCannotReachItsTargetSaysSo(t *testing.T) {
	for name, try := range map[string]func() error{
		"water does not strengthen": func() error {
			_, err := coolant.DrainToReach(8, 0.3, 0.5, 0)
			return err
		},
		"premix never quite reaches itself": func() error {
			_, err := coolant.PlanRefill(8, 4, 0.3, 0.5, 0.5)
			return err
		},
		"nothing drains": func() error {
			_, err := coolant.PlanRefill(8, 0, 0.3, 0.5, 1)
			return err
		},
		"more drains than there is": func() error {
			_, err := coolant.PlanRefill(8, 9, 0.3, 0.5, 1)
			return err
		},
		"a thimble at a time": func() error {
			_, err := coolant.PlanRefill(8, 0.01, 0.3, 0.5, 1)
			return err
		},
		"no volume": func() error {
			_, err := coolant.DrainToReach(0, 0.3, 0.5, 1)
			return err
		},
		"percent for shares": func() error {
			_, err := coolant.DrainToReach(8, 30, 50, 100)
			return err
		},
		"all of it renewed": func() error {
			_, err := coolant.DrainsToRenew(0.5, 1)
			return err
		},
	} {
		if err := try(); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

func TestRenewingByHalvesTakesFourForNineTenths(t *testing.T) {
	// 1 - 0.5^3 = 0.875, 1 - 0.5^4 = 0.9375; worked by hand.
	for _, c := range []struct {
		drained, renewed float64
		want             int
	}{{0.5, 0.9, 4}, {0.5, 0.875, 3}, {1, 0.9, 1}, {0.5, 0, 0}, {0.6, 0.9, 3}} {
		got, err := coolant.DrainsToRenew(c.drained, c.renewed)
		if err != nil || got != c.want {
			t.Errorf("%+v: %d, %v", c, got, err)
		}
	}
}

func TestAPlanLandsOnItsTargetInTheFewestDrains(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		volume := rapid.Float64Range(3, 40).Draw(t, "volume")
		most := rapid.Float64Range(0.2, 1).Draw(t, "share that drains")
		now := rapid.Float64Range(0, 1).Draw(t, "now")
		fill := rapid.SampledFrom([]float64{0, 1}).Draw(t, "fill")
		if math.Abs(now-fill) < 0.01 {
			return
		}
		target := now + (fill-now)*rapid.Float64Range(0.01, 0.95).Draw(t, "way")
		plan, err := coolant.PlanRefill(volume, volume*most, now, target, fill)
		if err != nil {
			t.Fatal(err)
		}
		if plan.Drain > volume*most*(1+1e-9) {
			t.Fatalf("drains %v, but only %v comes out", plan.Drain, volume*most)
		}
		after, err := coolant.AfterDrains(now, fill, plan.Drain/volume, plan.Drains)
		if err != nil || math.Abs(after-target) > 1e-6 {
			t.Fatalf("plan %+v ends at %v, want %v (%v)", plan, after, target, err)
		}
		if plan.Drains > 1 {
			fewer, err := coolant.AfterDrains(now, fill, most, plan.Drains-1)
			if err != nil || math.Abs(fewer-fill) < math.Abs(target-fill)*(1-1e-6) {
				t.Fatalf("plan %+v, but %d full drains already reach %v (target %v)", plan, plan.Drains-1, fewer, target)
			}
		}
		// Draining and filling by hand, drop by drop, comes to the same.
		c := now
		for range plan.Drains {
			if c, err = coolant.TopUp(volume-plan.Drain, c, plan.Drain, fill); err != nil {
				t.Fatal(err)
			}
		}
		if math.Abs(c-after) > 1e-9 {
			t.Fatalf("step by step %v, by formula %v", c, after)
		}
	})
}
