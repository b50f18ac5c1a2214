package sheetwork_test

import (
	"math"
	"strings"
	"testing"

	"weephole/cause"
	"weephole/circuit"
	"weephole/internal/casework"
	"weephole/internal/job"
	"weephole/internal/sheetwork"
	"weephole/lineup"
	"weephole/quantity"
)

func read(t *testing.T, m *lineup.Model, text string) *job.Job {
	t.Helper()
	j, err := job.Read(strings.NewReader("weephole: 1\n"+text), "job.yaml", casework.Vocabulary(m))
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func sheet(t *testing.T, repair, text string, v circuit.Vehicle) *sheetwork.Sheet {
	t.Helper()
	m, err := lineup.DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	d, err := sheetwork.DefaultData()
	if err != nil {
		t.Fatal(err)
	}
	s, err := sheetwork.For(d, m.Causes, m.Causes.Repair(repair), sheetwork.Car{Vehicle: v, Typical: m.Table.Typical(v)}, read(t, m, text))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestEveryRepairOfTheCatalogueHasItsSteps(t *testing.T) {
	causes, err := cause.Default()
	if err != nil {
		t.Fatal(err)
	}
	d, err := sheetwork.DefaultData()
	if err != nil {
		t.Fatal(err)
	}
	for i := range causes.Repairs {
		if d.For(causes.Repairs[i].ID) == nil {
			t.Errorf("steps.yaml has nothing on %s", causes.Repairs[i].ID)
		}
	}
	for _, s := range d.Steps {
		if causes.Repair(s.Repair) == nil {
			t.Errorf("steps.yaml knows %q, the catalogue does not", s.Repair)
		}
		if s.Drains != "radiator" && s.Drains != "block" && s.Drains != "none" {
			t.Errorf("%s drains %q", s.Repair, s.Drains)
		}
	}
}

// A third of 6 L drains at the radiator: 2 L (0.33 of the volume, from the
// sheet). From 40 % to the 50 % wanted takes a fill of (0.50-0.40*0.67)/0.33 =
// 70.3 %.
func TestTheFillIsWorkedOutForThisCar(t *testing.T) {
	s := sheet(t, "replace-thermostat", "vehicle: {coolant: {capacity: 6 L, glycol: 40 %}, cap: 1.1 bar}\n",
		circuit.Vehicle{CoolantVolumeM3: 0.006, CapPressurePa: new(1.1e5), ThermostatSits: circuit.OnInlet})
	f := s.Fill
	if math.Abs(f.DrainM3-0.00198) > 1e-9 || math.Abs(f.FillWith-0.7030) > 1e-3 || f.Drains != 1 {
		t.Errorf("drains %g m3, fill with %g, %d times; want 0.00198, 0.703, once", f.DrainM3, f.FillWith, f.Drains)
	}
	if f.VolumeGuess || f.CapGuess {
		t.Error("what the job says is called a guess")
	}
	// 50 % ethylene glycol freezes at -36 to -37 degC (ASHRAE handbook 2001, as
	// package coolant has it).
	if f.FreezesC < -38 || f.FreezesC > -34 {
		t.Errorf("first ice at %g degC", f.FreezesC)
	}
	if len(s.Thermostat) != 1 || s.Thermostat[0].Layout != "inlet" || len(s.Bleed) != 1 {
		t.Errorf("want the one layout of this car, got %+v and %+v", s.Thermostat, s.Bleed)
	}
}

// From 10 % no single fill of a third reaches 50 %: even concentrate gives
// 10+30 = 39.7 %.
func TestAWeakMixTakesSeveralDrains(t *testing.T) {
	s := sheet(t, "correct-mix", "vehicle: {coolant: {capacity: 6 L, glycol: 10 %}}\n", circuit.Vehicle{CoolantVolumeM3: 0.006})
	// Surplus left per drain 0.67: (0.5-1)/(0.1-1) = 0.5556 = 0.67^1.47, so two.
	if s.Fill.Drains != 2 || s.Fill.FillWith != 1 {
		t.Errorf("%d drains with %g, want 2 with concentrate", s.Fill.Drains, s.Fill.FillWith)
	}
}

func TestAColderNightTakesAStrongerMixWithinReason(t *testing.T) {
	mild := sheet(t, "replace-hose", "shop: {coldest: -20 °C}\n", circuit.Vehicle{})
	hard := sheet(t, "replace-hose", "shop: {coldest: -40 °C}\n", circuit.Vehicle{})
	if !(mild.Fill.Target < hard.Fill.Target) || mild.Fill.FreezesC > -20 || hard.Fill.FreezesC > -40 || hard.Fill.Target > 0.6 {
		t.Errorf("for -20 degC %g (%g degC), for -40 degC %g (%g degC)", mild.Fill.Target, mild.Fill.FreezesC, hard.Fill.Target, hard.Fill.FreezesC)
	}
}

func TestTheMakersDataAreAskedForAndKept(t *testing.T) {
	without := sheet(t, "replace-thermostat", "", circuit.Vehicle{})
	with := sheet(t, "replace-thermostat", "vehicle: {maker: [{what: torque of the housing bolts, says: 10 Nm, from: manual}]}\n", circuit.Vehicle{})
	if without.Ask[0].Says != "" {
		t.Errorf("a torque out of nowhere: %+v", without.Ask[0])
	}
	if with.Ask[0].Says != "10 Nm" || with.Ask[0].From != "manual" {
		t.Errorf("the job's own is not used: %+v", with.Ask[0])
	}
}

func TestThePageToPrintHasCautionsFirstAndTheShopsUnits(t *testing.T) {
	s := sheet(t, "replace-thermostat", "shop: {coldest: -10 °F}\nvehicle: {thermostat: {sits: inlet}}\n", circuit.Vehicle{ThermostatSits: circuit.OnInlet})
	var b strings.Builder
	if err := sheetwork.HTML(&b, sheetwork.Heading{Shop: "A & <b>B</b>", Car: "blue estate"}, []*sheetwork.Sheet{s}, quantity.US(), "USD"); err != nil {
		t.Fatal(err)
	}
	page, at := b.String(), 0
	for _, want := range []string{"A &amp; &lt;b&gt;", "below 122 °F", "torque of the housing bolts: ____", "Order of work", "Thermostat at the inlet", "{check: pot-test, found:",
		"for -10 °F", "Bleeding, thermostat at the inlet", "Record of the used coolant", "went to (collector, drum, receipt): ____"} {
		i := strings.Index(page[at:], want)
		if i < 0 {
			t.Fatalf("%q is missing, or stands too early", want)
		}
		at += i
	}
	if strings.Contains(page, "°C") {
		t.Error("the page of a shop that thinks in °F names a temperature in °C")
	}
}
