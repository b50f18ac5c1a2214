package circuit

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"strconv"
	"testing"
)

// Expected values: exact cross-flow solution, both streams unmixed, by
// adaptive quadrature (scipy 1.10.1), as the file says. The tolerance is the
// formula's known worst error, 0.0109.
func TestEffectivenessFollowsTheExactCrossFlowSolution(t *testing.T) {
	f, err := os.Open("testdata/ntu_exact_crossflow_unmixed_grid.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	worst, worstFormula := 0.0, 0.0
	for _, row := range rows[1:] {
		var v [4]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(row[i], 64); err != nil {
				t.Fatal(err)
			}
		}
		got := effectiveness(v[0], v[1])
		worst = max(worst, math.Abs(got-v[2]))
		worstFormula = max(worstFormula, math.Abs(got-v[3]))
	}
	if worst > 0.011 {
		t.Errorf("off the exact solution by %.4f, want at most 0.011", worst)
	}
	if worstFormula > 1e-9 {
		t.Errorf("off the formula by %.2g", worstFormula)
	}
}

// Expected values: Incropera et al. 11.4, Som 10.7, Cengel oil cooler and
// radiator, and a help page's pair, as the file names them.
func TestEffectivenessGivesThePublishedWorkedExamples(t *testing.T) {
	text, err := os.ReadFile("testdata/ntu_worked_examples.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Examples []struct {
			ID         string             `json:"id"`
			Published  map[string]float64 `json:"published"`
			Recomputed map[string]float64 `json:"recomputed"`
			Computed   map[string]float64 `json:"computed"`
		} `json:"worked_examples"`
	}
	if err := json.Unmarshal(text, &file); err != nil {
		t.Fatal(err)
	}
	want := map[string]struct{ units, ratio, eff, tolerance float64 }{}
	for _, e := range file.Examples {
		switch e.ID {
		case "incropera_11_4":
			want[e.ID] = struct{ units, ratio, eff, tolerance float64 }{e.Published["NTU"], e.Published["Cr"], e.Published["eff_from_chart"], 0.025}
		case "som_10_7":
			want[e.ID] = struct{ units, ratio, eff, tolerance float64 }{e.Published["NTU"], e.Published["Cr"], e.Published["eff"], 2e-4}
		case "cengel_radiator_ntu":
			want[e.ID] = struct{ units, ratio, eff, tolerance float64 }{e.Published["NTU"], e.Recomputed["Cr"], e.Recomputed["eff_exact"], 0.011}
		case "cengel_oil_cooler":
			want[e.ID] = struct{ units, ratio, eff, tolerance float64 }{e.Computed["NTU"], e.Computed["Cr"], e.Computed["eff_exact"], 0.011}
		case "ees_both_unmixed":
			want[e.ID] = struct{ units, ratio, eff, tolerance float64 }{75.0 / 30, 30.0 / 50, e.Published["eff_approx_formula"], 1e-4}
		}
	}
	if len(want) != 5 {
		t.Fatalf("found %d examples, want 5", len(want))
	}
	for id, w := range want {
		if got := effectiveness(w.units, w.ratio); math.Abs(got-w.eff) > w.tolerance {
			t.Errorf("%s: effectiveness %.5f, want %.5f", id, got, w.eff)
		}
	}
}

// Expected values: circuit-numbers 1.5, worked points of 50/50 coolant at
// 3.55 kJ/kgK, where UA is given.
func TestThreeCellsGiveTheWholeCoresHeat(t *testing.T) {
	cases := []struct {
		name               string
		air, litresPerMin  float64
		ua, conductance    float64
		effectivenessPrint float64
	}{
		{"idle, fan on, weak", 0.5, 15, 500, 269, 0.53},
		{"idle, fan on, strong", 0.8, 18, 750, 394, 0.49},
		{"idle, fan off", 0.04, 15, 120, 38, 0.94},
		{"50 km/h", 0.6, 45, 800, 414, 0.69},
		{"100 km/h", 1.2, 70, 1300, 731, 0.61},
		{"100 km/h, half the face blocked", 0.6, 70, 650, 382, 0.63},
		{"100 km/h, pump at 30 %", 1.2, 21, 975, 515, 0.43},
	}
	for _, k := range cases {
		t.Run(k.name, func(t *testing.T) {
			w := k.litresPerMin / 60 * 1.03 * 3550
			c := Circuit{RadiatorUA: k.ua, AirSideShare: 1}
			p := plant{c: &c, airSide: 1 / k.ua, airCapacity: k.air * airHeatCapacity}
			g := p.coreConductance(w)
			through := w / (w + g)
			whole := w * (1 - through*through*through) // heat per kelvin of three cells in series
			if math.Abs(whole-k.conductance) > 0.03*k.conductance {
				t.Errorf("G is %.0f W/K, want %.0f", whole, k.conductance)
			}
			if eff := whole / min(w, p.airCapacity); math.Abs(eff-k.effectivenessPrint) > 0.02 {
				t.Errorf("effectiveness %.3f, want %.2f", eff, k.effectivenessPrint)
			}
		})
	}
}

func TestCoreTableAgreesWithTheFunctionItRemembers(t *testing.T) {
	table, err := DefaultTable()
	if err != nil {
		t.Fatal(err)
	}
	c := table.Typical(Vehicle{})
	// The formula has a kink where the smaller stream changes sides, and
	// another where UA/C_min passes mostUnits; the table rounds them off. Away
	// from them it is ten times closer.
	worst, sum, n := 0.0, 0.0, 0
	for _, speed := range []float64{0, 10, 28} {
		for _, step := range []int{0, 2} {
			var p plant
			p.setRun(&c, Conditions{AmbientC: 25})
			p.setStage(&Stage{RoadSpeedMS: speed, EngineRevPerSec: 45}, 25)
			p.setLevel(1, 0)
			p.setFan(step)
			for range int(numerics.CoreWaits.Value) + 1 {
				p.coreAt(100)
			}
			for w := 1.0; w < 6000; w *= 1.03 {
				exact := p.coreConductance(w)
				off := math.Abs(p.coreAt(w)-exact) / exact
				worst = max(worst, off)
				sum, n = sum+off, n+1
			}
		}
	}
	mean := sum / float64(n)
	t.Logf("relative difference: worst %.2g, mean %.2g", worst, mean)
	if worst > 0.011 || mean > 1e-3 {
		t.Errorf("relative difference: worst %.2g, mean %.2g; want at most 0.011 (the formula's own error) and 1e-3", worst, mean)
	}
}
