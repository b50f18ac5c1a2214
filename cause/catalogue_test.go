package cause_test

import (
	"flag"
	"fmt"
	"math"
	"os"
	"reflect"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"weephole/cause"
	"weephole/circuit"
)

var update = flag.Bool("update", false, "rewrite golden files")

func builtin(t testing.TB) *cause.Catalogue {
	t.Helper()
	c, err := cause.Default()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// golden compares got with a file, or rewrites it with -update.
func golden(t *testing.T, path, got string) {
	t.Helper()
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s differs (-want +got):\n%s", path, diff)
	}
}

// TestTheListOfCausesAndRepairs keeps the catalogue in view: a change of it
// shows in review as a change of one list.
func TestTheListOfCausesAndRepairs(t *testing.T) {
	c := builtin(t)
	var b strings.Builder
	for i := range c.Causes {
		k := &c.Causes[i]
		fmt.Fprintf(&b, "%-22s weight %4.2f  Beta(%g, %g)  at %s", k.ID, k.Weight.Value, k.Severity.Shape[0], k.Severity.Shape[1], k.Place)
		if r := c.UsualRepair(cause.Present{Cause: i, Site: cause.NoSite}); r >= 0 {
			fmt.Fprintf(&b, "  %s", c.Repairs[r].ID)
		}
		b.WriteByte('\n')
		for _, h := range k.Hidden {
			for _, s := range h.States {
				fmt.Fprintf(&b, "    %s: %s %.2f\n", h.Name, s.Is, s.Share)
			}
		}
		for _, s := range k.Sites {
			fmt.Fprintf(&b, "    at %s %.3f  %s\n", s.ID, s.Share, s.Repair)
		}
	}
	b.WriteByte('\n')
	for i := range c.Repairs {
		r := &c.Repairs[i]
		fmt.Fprintf(&b, "%-20s %3.0f min  $%.0f  need %.2f", r.ID, r.Minutes.Typical, r.Parts.Typical+r.Consumables.Value, r.NeedOdds.Value)
		if r.Big {
			b.WriteString("  big")
		}
		b.WriteByte('\n')
	}
	golden(t, "testdata/catalogue.golden", b.String())
}

// TestEveryNumberHasASource walks all structs of the catalogue: wherever there
// is a Source beside a number, it says something.
func TestEveryNumberHasASource(t *testing.T) {
	c := builtin(t)
	seen := 0
	var walk func(path string, v reflect.Value)
	walk = func(path string, v reflect.Value) {
		switch v.Kind() {
		case reflect.Struct:
			for i := range v.NumField() {
				f := v.Type().Field(i)
				if !f.IsExported() {
					continue
				}
				if f.Name == "Source" {
					seen++
					if len(v.Field(i).String()) < 4 {
						t.Errorf("%s: source %q says nothing", path, v.Field(i).String())
					}
				}
				walk(path+"."+f.Name, v.Field(i))
			}
		case reflect.Slice:
			for i := range v.Len() {
				walk(fmt.Sprintf("%s[%d]", path, i), v.Index(i))
			}
		}
	}
	walk("catalogue", reflect.ValueOf(c).Elem())
	if seen < 300 {
		t.Errorf("only %d sources were seen", seen)
	}
}

func TestWeightsAddUpToTheSeedOfTheStartingPrior(t *testing.T) {
	// 20 pseudo-cases for overheating complaints (priors 4.3) and some more for
	// cars that run cold, lose coolant or have nothing; each fault that the
	// catalogue has learnt to name since adds its own.
	if w := builtin(t).TotalWeight(); w < 20 || w > 36 {
		t.Errorf("total weight %.2f", w)
	}
}

// TestEachFaultCanBeCured: the usual repair of every cause, at every site, cures
// it more often than not, in whatever hidden state it is.
func TestEachFaultCanBeCured(t *testing.T) {
	c := builtin(t)
	for i := range c.Causes {
		k := &c.Causes[i]
		sites := []int{cause.NoSite}
		for s := range k.Sites {
			sites = append(sites, s)
		}
		if len(k.Sites) > 0 {
			sites = sites[1:]
		}
		states := 1
		if len(k.Hidden) > 0 {
			states = len(k.Hidden[0].States)
		}
		for _, s := range sites {
			for h := range states {
				p := cause.Present{Cause: i, Site: s, Hidden: [2]int{h, 0}, Severity: 0.5}
				r := c.UsualRepair(p)
				if k.ID == "no-fault" {
					if r >= 0 {
						t.Errorf("no-fault has the repair %s", c.Repairs[r].ID)
					}
					continue
				}
				if r < 0 {
					t.Errorf("%s has no repair", c.Describe(p))
					continue
				}
				if share := c.Repairs[r].Succeeds(c, p); share <= 0.5 || share >= 1 {
					t.Errorf("%s cures %s with probability %.2f", c.Repairs[r].ID, c.Describe(p), share)
				}
			}
		}
	}
}

// TestCauseChangesTheCircuitAsTheSheetSays takes figures straight from causes.yaml.
func TestCauseChangesTheCircuitAsTheSheetSays(t *testing.T) {
	c := builtin(t)
	for _, test := range []struct {
		name, cause string
		severity    float64
		hidden      []int
		number      string
		start, want float64
	}{
		{"a shut thermostat that sticks part of the way lifts 135 thousandths halfway to its worst", "thermostat-shut", 0.5, nil, "max-lift", 1, 0.135},
		{"a shut thermostat at its worst does not lift", "thermostat-shut", 1, []int{1}, "max-lift", 1, 0},
		{"a late thermostat at its mildest opens 4 K later", "thermostat-late", 0, []int{0, 0}, "opening-c", 82, 86},
		{"one that closes late opens where it should", "thermostat-late", 1, []int{1, 0}, "opening-c", 82, 82},
		{"a pump loses head along a logarithm: 0.55*sqrt(4e-4/0.55)", "pump-weak", 0.5, nil, "pump-head", 10, 0.1483240},
		{"a leak multiplies the fill", "coolant-low", 1, []int{0, 0}, "fill", 0.9, 0.54},
		{"a reversed fan blows the other way", "fan-reversed", 0.3, nil, "fan-direction", 1, -1},
		{"nothing wrong changes nothing", "no-fault", 0.5, nil, "max-lift", 1, 1},
	} {
		t.Run(test.name, func(t *testing.T) {
			var engine circuit.Circuit
			n := engine.Number(test.number)
			*n = test.start
			c.Cause(test.cause).Apply(test.severity, test.hidden, &engine)
			if math.Abs(*n-test.want) > 1e-6 {
				t.Errorf("%s became %.7g, want %.7g", test.number, *n, test.want)
			}
		})
	}
	var engine circuit.Circuit
	gauge := c.Cause("gauge-fault")
	_, dead, _ := gauge.FindState("dead")
	gauge.Apply(0.5, []int{dead, 0}, &engine)
	if !engine.GaugeDead {
		t.Error("a dead gauge moves")
	}
}

// TestSeverityMovesEachNumberOneWay: between mild and severe every number of a
// real circuit moves monotonically, and stays finite.
func TestSeverityMovesEachNumberOneWay(t *testing.T) {
	c := builtin(t)
	table, err := circuit.DefaultTable()
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		k := &c.Causes[rapid.IntRange(0, len(c.Causes)-1).Draw(t, "cause")]
		hidden := make([]int, cause.MaxHidden)
		for h := range k.Hidden {
			hidden[h] = rapid.IntRange(0, len(k.Hidden[h].States)-1).Draw(t, "state")
		}
		at := [3]float64{0, rapid.Float64Range(0, 1).Draw(t, "severity"), 1}
		var engines [3]circuit.Circuit
		for i, s := range at {
			engines[i] = table.Typical(circuit.Vehicle{})
			k.Apply(s, hidden, &engines[i])
		}
		for _, name := range circuit.NumberNames() {
			a, b, d := *engines[0].Number(name), *engines[1].Number(name), *engines[2].Number(name)
			if math.IsNaN(b) || math.IsInf(b, 0) {
				t.Fatalf("%s: %s is %g", k.ID, name, b)
			}
			if slack := 1e-12 + 1e-9*math.Abs(d); b < math.Min(a, d)-slack || b > math.Max(a, d)+slack {
				t.Fatalf("%s: %s is %g between %g and %g", k.ID, name, b, a, d)
			}
		}
	})
}

func TestRecentWorkRaisesTheOddsOfWhatItMayHaveLeft(t *testing.T) {
	c := builtin(t)
	// Factors of priors 4.3 (judgement): air x6 after cooling work.
	for _, work := range []string{"thermostat", "pump", "radiator", "hose", "coolant", "head-gasket", "heater-core"} {
		if odds := c.Cause("air-pocket").AfterOdds(work); odds != 6 {
			t.Errorf("air after %s: x%g, want x6", work, odds)
		}
	}
	if odds := c.Cause("radiator-clogged").AfterOdds("thermostat"); odds != 1 {
		t.Errorf("clogged radiator after thermostat work: x%g, want x1", odds)
	}
	for i := range c.Causes {
		for _, a := range c.Causes[i].After {
			if !strings.Contains(strings.Join(cause.WorkWords(), " "), a.Work) {
				t.Errorf("%s: %q is no work", c.Causes[i].ID, a.Work)
			}
		}
	}
}

// TestThreeDaysAreNotSixYears: work of the last days counts nearly in full, of
// years ago not at all; a new part stays new for longer.
func TestThreeDaysAreNotSixYears(t *testing.T) {
	c := builtin(t)
	air := c.Cause("air-pocket") // x6 after cooling work
	if days, years := c.AfterOddsAged(air, "pump", 3), c.AfterOddsAged(air, "pump", 6*365); days < 5.5 || years > 1.01 {
		t.Errorf("air after pump work: x%.2f after three days, x%.2f after six years", days, years)
	}
	clogged := c.Cause("radiator-clogged") // x0.15 with a new one
	if year, ten := c.AfterOddsAged(clogged, "radiator", 365), c.AfterOddsAged(clogged, "radiator", 3650); year > 0.3 || ten < 0.8 {
		t.Errorf("clogged after a new radiator: x%.2f after a year, x%.2f after ten", year, ten)
	}
}

// An engine swapped with a new pump was opened once: air is no likelier for the second
// reason. A new radiator is no newer for having been flushed too.
func TestTwoWorksAreNoTwoChancesOfTheSameHarm(t *testing.T) {
	c := builtin(t)
	both := []cause.WorkDone{{Work: "engine", Days: 3}, {Work: "pump", Days: 3}}
	air := c.Cause("air-pocket")
	if got, want := c.AfterOddsOf(air, both), c.AfterOddsAged(air, "pump", 3); got != want {
		t.Errorf("air after engine and pump: x%g, want x%g as after the pump alone", got, want)
	}
	if got := c.AfterOddsOf(air, nil); got != 1 {
		t.Errorf("air after no work: x%g, want x1", got)
	}
	rapid.Check(t, func(t *rapid.T) {
		list := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) cause.WorkDone {
			return cause.WorkDone{Work: rapid.SampledFrom(cause.WorkWords()).Draw(t, "work"), Days: rapid.Float64Range(0, 3000).Draw(t, "days")}
		}), 1, 4).Draw(t, "works")
		k := &c.Causes[rapid.IntRange(0, len(c.Causes)-1).Draw(t, "cause")]
		odds := c.AfterOddsOf(k, list)
		if again := c.AfterOddsOf(k, append(list, list[0])); again != odds {
			t.Errorf("%s: x%g, and x%g when the first work is told twice", k.ID, odds, again)
		}
	})
}

// What helped for a time and came back was eased, or it was something else that came and went.
// It is hardly gone.
func TestWhatCameBackIsNotGone(t *testing.T) {
	tried := builtin(t).Tried
	had := func(e cause.Effect) float64 { return tried.Says(cause.CameBack, e) }
	if gone, there, eased := had(cause.Effect{Had: 1, Gone: 1}), had(cause.Effect{Had: 1}), had(cause.Effect{Had: 1, Eased: true}); !(gone < there/3 && eased > 1.5*there) {
		t.Errorf("came back: %g if gone, %g if still there, %g if eased", gone, there, eased)
	}
	if there, eased := tried.Says(cause.Nothing, cause.Effect{Had: 1}), tried.Says(cause.Nothing, cause.Effect{Had: 1, Eased: true}); eased > there/2 {
		t.Errorf("changed nothing: %g if still there, %g if eased", there, eased)
	}
}

func TestSayingCuredIsEvidenceThatItIsGone(t *testing.T) {
	tried := builtin(t).Tried
	for _, o := range []cause.Change{cause.Nothing, cause.Better, cause.Worse, cause.Cured} {
		for _, gone := range []int{0, 1, 2} {
			if p := tried.Says(o, cause.Effect{Had: 2, Gone: gone}); p <= 0 || p >= 1 {
				t.Errorf("%v with %d of 2 gone: probability %g", o, gone, p)
			}
		}
	}
	if cured, nothing := tried.Says(cause.Cured, cause.Effect{Had: 1, Gone: 1})/tried.Says(cause.Cured, cause.Effect{Had: 1, Gone: 0}), tried.Says(cause.Nothing, cause.Effect{Had: 1, Gone: 1})/tried.Says(cause.Nothing, cause.Effect{Had: 1, Gone: 0}); cured < 3 || nothing > 1./3 {
		t.Errorf("likelihood ratios: cured %.1f, nothing %.2f", cured, nothing)
	}
}

// TestCostlyRepairsAskForGoodEvidence: what costs four hours or $200 of parts
// is marked big, and big ones need even odds at least.
func TestCostlyRepairsAskForGoodEvidence(t *testing.T) {
	c := builtin(t)
	for i := range c.Repairs {
		r := &c.Repairs[i]
		costly := r.Minutes.Typical >= 240 || r.Parts.Typical >= 200
		if costly && !r.Big {
			t.Errorf("%s takes %.0f min and $%.0f but is not big", r.ID, r.Minutes.Typical, r.Parts.Typical)
		}
		if r.Big && r.NeedOdds.Value < 0.5 {
			t.Errorf("%s is big but needs only %.2f", r.ID, r.NeedOdds.Value)
		}
		if len(r.Cautions) == 0 {
			t.Errorf("%s has no caution", r.ID)
		}
	}
	for _, id := range []string{"replace-radiator", "replace-pump", "replace-heater-core", "replace-head-gasket"} {
		if !c.Repair(id).Big {
			t.Errorf("%s is not big", id)
		}
	}
}

func TestFansAndTheirFaultsBelongTogether(t *testing.T) {
	c := builtin(t)
	if c.Cause("fan-dead").Fits(circuit.FanViscous) || !c.Cause("fan-dead").Fits(circuit.FanTwoSpeed) {
		t.Error("an electric fan's fault fits the wrong fan")
	}
	if !c.Cause("fan-clutch-slipping").Fits(circuit.FanViscous) || c.Cause("fan-clutch-slipping").Fits(circuit.FanElectric) {
		t.Error("a clutch slips on the wrong fan")
	}
	if !c.Cause("thermostat-shut").Fits(circuit.FanViscous) {
		t.Error("a thermostat asks for a fan")
	}
}
