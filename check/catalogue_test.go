package check_test

import (
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weephole/cause"
	"weephole/check"
	"weephole/sheet"
)

var update = flag.Bool("update", false, "rewrite golden files")

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

// TestTheListOfChecksAndSigns keeps the catalogue in view.
func TestTheListOfChecksAndSigns(t *testing.T) {
	c := builtin(t)
	var b strings.Builder
	for i := range c.Checks {
		k := &c.Checks[i]
		how := "table"
		if k.Physical() {
			how = "run"
			if len(k.Table) > 0 {
				how = "run and table"
			}
		}
		fmt.Fprintf(&b, "%-22s %-10s %3.0f min  %s  [%s]\n", k.ID, k.State, k.Minutes.Typical, how, strings.Join(k.Hazards, " "))
		for _, w := range k.Words {
			mark := " "
			if w.Alarm {
				mark = "!"
			}
			fmt.Fprintf(&b, "  %s %s\n", mark, w.Is)
		}
		for _, r := range k.Readings {
			of := r.Of
			if r.Minus != "" {
				of += " - " + r.Minus
			}
			if of == "" {
				of = "table"
			}
			fmt.Fprintf(&b, "  # %s: %s from %s\n", r.ID, r.What, of)
		}
	}
	b.WriteByte('\n')
	for i := range c.Signs {
		fmt.Fprintf(&b, "%-18s %s\n", c.Signs[i].ID, c.Signs[i].Kind())
	}
	b.WriteByte('\n')
	for i := range c.Conditions {
		b.WriteString(c.Conditions[i].ID + "\n")
	}
	golden(t, "testdata/catalogue.golden", b.String())
}

// TestNoCheckOrWordOfTheTradeIsForgotten holds the catalogue to the list that
// the project set out with.
func TestNoCheckOrWordOfTheTradeIsForgotten(t *testing.T) {
	c := builtin(t)
	for _, id := range strings.Fields(`level-cold coolant-look freeze-point pressure-hold cap-pressure combustion-gas
		neck-bubbles exhaust-sniff hose-squeeze hose-temps face-sweep second-thermometer cold-soak fan-run fan-command
		clutch-spin shroud-look airflow-look belt-look weep-look neck-flow hose-at-speed heater-output warm-up-log
		drive-log pot-test gutted-run cylinder-leakdown compression plug-look timing-check exhaust-backpressure
		trouble-codes repair-and-run
		leak-look leak-look-hot oil-look hose-by-hand heater-hoses tester-on-start pressure-hold-hot fan-fuse fan-current
		fan-stages live-data cooler-isolated front-look wheel-turn air-con-pressure return-line-look coolant-strip cap-look`) {
		if c.Check(id) == nil {
			t.Errorf("no check %s", id)
		}
	}
	for _, id := range strings.Fields(`overheats boils-over runs-cold slow-to-warm no-heat gauge-swings loses-coolant
		steam sweet-smell lamp white-smoke fan-always-on hard-hose`) {
		if c.SignIndex(id) < 0 {
			t.Errorf("no sign %s", id)
		}
	}
	for _, id := range strings.Fields("idle city motorway climb towing air-conditioning after-restart always cold-start") {
		if c.ConditionIndex(id) < 0 {
			t.Errorf("no condition %s", id)
		}
	}
	for _, id := range strings.Fields(`no-fault thermostat-shut thermostat-open thermostat-late thermostat-misfitted
		coolant-low cap-weak air-pocket radiator-clogged radiator-screened fan-dead fan-clutch-slipping shroud-missing
		fan-reversed pump-weak pump-backward belt-slipping hose-collapsed combustion-leak mix-wrong sensor-high sensor-low
		gauge-fault heater-core-clogged excess-heat jacket-silted something-else
		control-valve return-line-blocked air-guide-missing fan-never-stops hoses-swapped inner-leak heater-flap`) {
		if c.Causes().Index(id) < 0 {
			t.Errorf("no cause %s", id)
		}
	}
}

// TestHotAndRunningChecksNameTheirHazards: what is done hot, running or on the
// road says how one gets hurt, and so does opening the neck.
func TestHotAndRunningChecksNameTheirHazards(t *testing.T) {
	c := builtin(t)
	for _, k := range c.Checks {
		if slices.Contains(check.HotStates(), k.State) && len(k.Hazards) == 0 {
			t.Errorf("%s is done in the state %s and names no hazard", k.ID, k.State)
		}
		if (k.Place == "neck" || k.Place == "tank" || k.Place == "cap") && !slices.Contains(k.Hazards, "scald") {
			t.Errorf("%s opens the system and does not warn of scalding", k.ID)
		}
		if (k.State == "cold-start" || k.State == "hot-idle") && !slices.Contains(k.Hazards, "exhaust-gas") {
			t.Errorf("%s runs the engine and does not warn of exhaust gas", k.ID)
		}
		if k.State == "road" && !slices.Contains(k.Hazards, "road") {
			t.Errorf("%s is done on the road and does not say so", k.ID)
		}
	}
	for _, h := range c.Hazards {
		if len(h.Caution) < 40 || !strings.HasSuffix(h.Caution, ".") {
			t.Errorf("%s: the caution %q is no sentence", h.ID, h.Caution)
		}
	}
}

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
	// Consumables may be left out where there are none.
	for _, k := range c.Checks {
		if k.Consumables == (sheet.Sourced{}) {
			k.Consumables.Source = "none needed"
		}
		walk(k.ID, reflect.ValueOf(k))
	}
	// And signs that always come as far as the run say nothing of it.
	signs := slices.Clone(c.Signs)
	for i := range signs {
		if signs[i].Reached == (sheet.Sourced{}) {
			signs[i].Reached.Source = "always"
		}
	}
	walk("signs", reflect.ValueOf(signs))
	walk("conditions", reflect.ValueOf(c.Conditions))
	if seen < 500 {
		t.Errorf("only %d sources were seen", seen)
	}
}

// TestMistakesInASheetAreNamedWithTheirPlace reads each file of testdata/bad as
// an overlay; the errors of all of them stand in one golden list.
func TestMistakesInASheetAreNamedWithTheirPlace(t *testing.T) {
	c := builtin(t)
	files, err := filepath.Glob("testdata/bad/*.yaml")
	if err != nil || len(files) < 8 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	var b strings.Builder
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		name := filepath.Base(file)
		_, err = c.Overlay(strings.NewReader(string(data)), name)
		if err == nil {
			t.Errorf("%s was accepted", name)
			continue
		}
		b.WriteString("--- " + name + "\n" + err.Error() + "\n")
	}
	golden(t, "testdata/bad.golden", b.String())
}

// TestTheSignsOfAComplaintTellHotFromCold: a dead pump overheats, an open
// thermostat runs cold, and the complaint says so of each.
func TestTheSignsOfAComplaintTellHotFromCold(t *testing.T) {
	c := builtin(t)
	hot, cold := make([]check.Heard, len(c.Signs)), make([]check.Heard, len(c.Signs))
	hot[c.SignIndex("overheats")] = check.Said
	cold[c.SignIndex("runs-cold")] = check.Said
	if k := c.Trouble(hot); k != check.Hot {
		t.Errorf("overheats is %v", k)
	}
	if k := c.Trouble(cold); k != check.Cold {
		t.Errorf("runs-cold is %v", k)
	}
	shut := run(t, c, "thermostat-shut", 1)
	open := run(t, c, "thermostat-open", 1)
	log := func(s *check.Subject, signs []check.Heard) float64 {
		sum := 0.0
		for i, h := range signs {
			g := &c.Signs[i]
			if g.Detail && h == check.Silent {
				continue // silence about a detail says nothing
			}
			sum += math.Log(h.Probability(g.So(s), g.Said.Value, g.Mistaken.Value))
		}
		return sum
	}
	if a, b := log(shut, hot), log(open, hot); a < b+1 {
		t.Errorf("overheats: shut %.2f, open %.2f", a, b)
	}
	if a, b := log(open, cold), log(shut, cold); a < b+1 {
		t.Errorf("runs cold: open %.2f, shut %.2f", a, b)
	}
}

func FuzzOverlay(f *testing.F) {
	files, err := filepath.Glob("testdata/bad/*.yaml")
	if err != nil {
		f.Fatal(err)
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(data))
	}
	c := builtin(f)
	f.Fuzz(func(t *testing.T, text string) {
		over, err := c.Overlay(strings.NewReader(text), "fuzz.yaml")
		if (over == nil) == (err == nil) {
			t.Fatalf("catalogue %v, error %v", over, err)
		}
		if err != nil {
			return
		}
		s := &check.Subject{Causes: []cause.Present{{Cause: over.Causes().NoFault(), Site: cause.NoSite}}}
		for i := range over.Checks {
			p := make([]float64, len(over.Checks[i].Words))
			over.Checks[i].Shows(s, p)
			sum := 0.0
			for _, v := range p {
				sum += v
			}
			if len(p) > 0 && !(sum > 0.99 && sum < 1.01) {
				t.Fatalf("%s sums to %g", over.Checks[i].ID, sum)
			}
		}
	})
}

// What stands on a plate of the drawing is read at arm's length, cut off nowhere.
func TestEachWordFitsAPlateOfTheDrawing(t *testing.T) {
	c := builtin(t)
	short := func(id, word string) string {
		k := c.Check(id)
		return k.Words[k.WordIndex(word)].InShort()
	}
	for i := range c.Checks {
		for j := range c.Checks[i].Words {
			if w := &c.Checks[i].Words[j]; len([]rune(w.InShort())) > check.ShortMost {
				t.Errorf("%s: %q is longer than %d letters", c.Checks[i].ID, w.InShort(), check.ShortMost)
			}
		}
	}
	// Ids that are no English.
	for _, x := range [][3]string{{"combustion-gas", "stayed", "no gas"}, {"combustion-gas", "turned", "gas found"}, {"live-data", "fan-unbidden", "fan runs alone"},
		{"fan-command", "only-fed", "runs if jumped"}, {"plug-look", "steamed", "one wet plug"}, {"leak-look", "dry", "dry"}, {"cold-soak", "reads-high", "reads high"}} {
		if got := short(x[0], x[1]); got != x[2] {
			t.Errorf("%s %s: %q, want %q", x[0], x[1], got, x[2])
		}
	}
}
