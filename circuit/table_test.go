package circuit_test

import (
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"weephole/circuit"
)

func TestEveryFieldOfCircuitHasItsName(t *testing.T) {
	var c circuit.Circuit
	v := reflect.ValueOf(&c).Elem()
	floats := 0
	for i := range v.NumField() {
		if v.Field(i).Kind() == reflect.Float64 {
			floats++
		}
	}
	if got := len(circuit.NumberNames()); got != floats {
		t.Errorf("%d names for %d fields", got, floats)
	}
	seen := map[*float64]string{}
	for _, name := range circuit.NumberNames() {
		at := c.Number(name)
		if at == nil {
			t.Fatalf("no number %q", name)
		}
		if other := seen[at]; other != "" {
			t.Errorf("%q and %q are the same field", name, other)
		}
		seen[at] = name
	}
	if c.Number("no-such-number") != nil {
		t.Error("an unknown name gives a number")
	}
}

func TestTypicalCarIsTheTablesMiddle(t *testing.T) {
	table, err := circuit.DefaultTable()
	if err != nil {
		t.Fatal(err)
	}
	c := table.Typical(circuit.Vehicle{})
	for _, row := range table.Rows() {
		at := c.Number(row.Name)
		if at == nil || row.From != "" || row.Unit == "L" {
			continue
		}
		if math.Abs(*at-row.Typical) > 1e-9*math.Abs(row.Typical) {
			t.Errorf("%s is %g, the row says %g", row.Name, *at, row.Typical)
		}
	}
	if c.FanKind != circuit.FanElectric || c.ThermostatOnInlet {
		t.Errorf("fan %v, thermostat on inlet %v; want electric, false", c.FanKind, c.ThermostatOnInlet)
	}
}

func TestKnownFactsCentreAndNarrow(t *testing.T) {
	table, err := circuit.DefaultTable()
	if err != nil {
		t.Fatal(err)
	}
	kind := circuit.FanViscous
	v := circuit.Vehicle{ThermostatC: new(78.0), CapPressurePa: new(110e3), CoolantVolumeM3: 7e-3, ThermostatSits: circuit.OnInlet,
		FanKind: &kind, FanOnC: new(98.0), FanOffC: new(93.0), MassKg: 1500, GlycolVolumeFraction: new(0.33)}
	for _, z0 := range []float64{-2.5, 0, 2.5} {
		z := make([]float64, table.Dim())
		for i := range z {
			z[i] = z0
		}
		c := table.Draw(v, z)
		for _, k := range []struct {
			what              string
			got, want, within float64
		}{
			{"opening", c.OpeningC, 78, 2}, {"cap", c.CapPressure, 110e3, 5.5e3}, {"volume", c.CoolantVolume, 7e-3, 0.36e-3},
			{"fan on", c.FanOnC, 98, 1.5}, {"fan off", c.FanOffC, 93, 1.5}, {"mass", c.VehicleMass, 1500, 76}, {"glycol", c.GlycolVolumeFraction, 0.33, 0.03},
		} {
			if math.Abs(k.got-k.want) > k.within {
				t.Errorf("%s is %g, want %g within %g", k.what, k.got, k.want, k.within)
			}
		}
		if c.FanKind != circuit.FanViscous || !c.ThermostatOnInlet {
			t.Errorf("fan %v, on inlet %v; want what is known", c.FanKind, c.ThermostatOnInlet)
		}
	}
}

func TestLoadTableSaysWhichLineIsWrong(t *testing.T) {
	row := "numbers:\n  - name: idle-speed\n    unit: rev/s\n    low: 10\n    typical: 12\n    high: 14\n    spread: normal\n    source: test\n"
	for _, k := range []struct{ name, text, want string }{
		{"an unknown name", strings.Replace(row, "idle-speed", "idle-sped", 1), `line 2: idle-sped: no such number; nearest is "idle-speed"`},
		{"numbers out of order", strings.Replace(row, "low: 10", "low: 13", 1), "line 2: idle-speed: low 13, typical 12, high 14 are not in order"},
		{"an unknown spread", strings.Replace(row, "normal", "gaussian", 1), `line 2: idle-speed: spread "gaussian"`},
		{"no source", strings.Replace(row, "test", `""`, 1), "no source"},
		{"an unknown key", strings.Replace(row, "unit:", "units:", 1), "units"},
		{"missing rows", row, "no row for"},
		{"a row given twice", row + strings.TrimPrefix(row, "numbers:\n"), "line 9: idle-speed: second row"},
	} {
		t.Run(k.name, func(t *testing.T) {
			_, err := circuit.LoadTable(strings.NewReader(k.text))
			if err == nil || !strings.Contains(err.Error(), k.want) {
				t.Errorf("error %q, want it to contain %q", err, k.want)
			}
		})
	}
}

func TestObservablesReadAsTheyPrint(t *testing.T) {
	for _, o := range circuit.Observables() {
		got, err := circuit.ParseObservable(o.String())
		if err != nil || got != o {
			t.Errorf("%v reads as %v, %v", o, got, err)
		}
		if o.Unit().String() == "" {
			t.Errorf("%v has no unit", o)
		}
	}
	for text, want := range map[string]string{
		"hot-idle":           "want situation.place",
		"hot-idel.upperhose": `nearest is "hot-idle"`,
		"hot-idle.uper-hose": `nearest is "upper-hose"`,
	} {
		if _, err := circuit.ParseObservable(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: error %v, want it to contain %q", text, err, want)
		}
	}
}

func TestDrillRunsWhatIsWantedAndNothingElse(t *testing.T) {
	table, err := circuit.DefaultTable()
	if err != nil {
		t.Fatal(err)
	}
	c := table.Typical(circuit.Vehicle{})
	cond := circuit.Conditions{AmbientC: 20}
	d := circuit.NewDrill(circuit.Fine)
	var whole, part circuit.Record
	d.Run(&c, cond, circuit.AllSituations(), &whole)
	d.Run(&c, cond, circuit.SetOf(circuit.Climb), &part)
	at := func(r *circuit.Record, s circuit.Situation, p circuit.Place) float64 {
		return r.At(circuit.Observable{Situation: s, Place: p})
	}
	if a, b := at(&whole, circuit.Climb, circuit.Coolant), at(&part, circuit.Climb, circuit.Coolant); a != b {
		t.Errorf("climb alone gives %g, in the whole drill %g", b, a)
	}
	if x := at(&part, circuit.Motorway, circuit.Coolant); !math.IsNaN(x) {
		t.Errorf("motorway was not wanted and reads %g", x)
	}
	if x := at(&whole, circuit.Motorway, circuit.MinutesTo60); !math.IsNaN(x) {
		t.Errorf("a warm-up's figure on the motorway reads %g", x)
	}
	if allocs := testing.AllocsPerRun(3, func() { d.Run(&c, cond, circuit.AllSituations(), &whole) }); allocs > 0 {
		t.Errorf("%g allocations in a drill, want none", allocs)
	}
}

// TestTheFansKindFollowsWhatIsKnown: the two-speed share of the fans that no engine turns
// stays.
func TestTheFansKindFollowsWhatIsKnown(t *testing.T) {
	table, err := circuit.DefaultTable()
	if err != nil {
		t.Fatal(err)
	}
	share := func(v circuit.Vehicle) (viscous, twoSpeed float64) {
		rng, z := rand.New(rand.NewPCG(1, 2)), make([]float64, table.Dim())
		const n = 4000
		for range n {
			for d := range z {
				z[d] = rng.NormFloat64()
			}
			kind := table.Draw(v, z).FanKind
			if alone := table.FanKind(v, z); alone != kind {
				t.Fatalf("the fan's kind alone is %d, that of the whole draw %d", alone, kind)
			}
			switch kind {
			case circuit.FanViscous:
				viscous += 1.0 / n
			case circuit.FanTwoSpeed:
				twoSpeed += 1.0 / n
			}
		}
		return viscous, twoSpeed
	}
	plain, two := share(circuit.Vehicle{})
	for _, turned := range []float64{0, 0.5, 0.97, 1} {
		viscous, twoSpeed := share(circuit.Vehicle{EngineFan: &turned})
		if math.Abs(viscous-turned) > 0.025 || math.Abs(twoSpeed-(1-turned)*two/(1-plain)) > 0.025 {
			t.Errorf("turned by the engine with %g: %.3f are, %.3f have two speeds", turned, viscous, twoSpeed)
		}
	}
	kind, turned := circuit.FanElectric, 1.0
	if viscous, _ := share(circuit.Vehicle{FanKind: &kind, EngineFan: &turned}); viscous != 0 {
		t.Errorf("an electric fan is turned by the engine on %.3f of cars", viscous)
	}
}
