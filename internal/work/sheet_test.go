package work_test

import (
	"math"
	"strings"
	"testing"

	"weephole/cause"
	"weephole/internal/work"
)

func sheet(t *testing.T, repair, text string) *work.Sheet {
	t.Helper()
	m, err := wholeModel()
	if err != nil {
		t.Fatal(err)
	}
	w, err := work.Open(t.Context(), m, strings.NewReader("weephole: 1\n"+text), "job.yaml", work.OpenOptions{})
	if err != nil {
		t.Fatal(err)
	}
	list, err := w.Sheets([]string{repair})
	if err != nil {
		t.Fatal(err)
	}
	return list[0]
}

func TestEveryRepairOfTheCatalogueHasItsSteps(t *testing.T) {
	causes, err := cause.Default()
	if err != nil {
		t.Fatal(err)
	}
	d, err := work.DefaultSheetData()
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
	s := sheet(t, "replace-thermostat", "vehicle: {coolant: {capacity: 6 L, glycol: 40 %}, cap: 1.1 bar, thermostat: {sits: inlet}}\n")
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
	s := sheet(t, "correct-mix", "vehicle: {coolant: {capacity: 6 L, glycol: 10 %}}\n")
	// Surplus left per drain 0.67: (0.5-1)/(0.1-1) = 0.5556 = 0.67^1.47, so two.
	if s.Fill.Drains != 2 || s.Fill.FillWith != 1 {
		t.Errorf("%d drains with %g, want 2 with concentrate", s.Fill.Drains, s.Fill.FillWith)
	}
}

func TestAColderNightTakesAStrongerMixWithinReason(t *testing.T) {
	mild := sheet(t, "replace-hose", "shop: {coldest: -20 °C}\n")
	hard := sheet(t, "replace-hose", "shop: {coldest: -40 °C}\n")
	if !(mild.Fill.Target < hard.Fill.Target) || mild.Fill.FreezesC > -20 || hard.Fill.FreezesC > -40 || hard.Fill.Target > 0.6 {
		t.Errorf("for -20 degC %g (%g degC), for -40 degC %g (%g degC)", mild.Fill.Target, mild.Fill.FreezesC, hard.Fill.Target, hard.Fill.FreezesC)
	}
}

// TestNoWeakMixAndNoToppingUpOfRust: never below 40 %, never below what is in the
// car or the maker asks for; after rust all of it comes out, and what is filled in
// makes up for the rinsing water that stays.
func TestNoWeakMixAndNoToppingUpOfRust(t *testing.T) {
	mild := sheet(t, "replace-hose", "shop: {coldest: 0 °C}\n")
	if mild.Fill.Target < 0.40 || mild.Fill.FillWith < 0.40 {
		t.Errorf("a mild winter gets %g, filled with %g; want 0.40 or more", mild.Fill.Target, mild.Fill.FillWith)
	}
	strong := sheet(t, "replace-hose", "shop: {coldest: 0 °C}\nvehicle: {coolant: {capacity: 6 L, glycol: 50 %}}\n")
	if strong.Fill.Target != 0.50 || math.Abs(strong.Fill.FillWith-0.50) > 1e-9 {
		t.Errorf("a car with 50 %% gets %g, filled with %g", strong.Fill.Target, strong.Fill.FillWith)
	}
	rusty := sheet(t, "replace-thermostat", "shop: {coldest: 0 °C}\nvehicle: {coolant: {capacity: 6 L, glycol: 50 %}}\nfindings: [{check: coolant-look, found: rusty}]\n")
	// 80 % drains at radiator and block (steps.yaml), so 0.50/0.80 makes 50 % of the whole.
	if !rusty.Fill.Rinse || math.Abs(rusty.Fill.FillWith-0.625) > 1e-9 || math.Abs(rusty.Fill.DrainM3-0.0048) > 1e-9 {
		t.Errorf("after rust %+v", rusty.Fill)
	}
	for _, r := range []string{"bleed-and-refill", "replace-cap", "replace-sensor", "flush-heater-core"} {
		s := sheet(t, r, "")
		for _, step := range s.Order {
			if strings.Contains(step, "0 L") || strings.Contains(step, "0 qt") {
				t.Errorf("%s: step %q", r, step)
			}
		}
	}
}

func TestTheMakersDataAreAskedForAndKept(t *testing.T) {
	without := sheet(t, "replace-thermostat", "")
	with := sheet(t, "replace-thermostat", "vehicle: {maker: [{what: torque of the housing bolts, says: 10 Nm, from: manual}]}\n")
	if without.Ask[0].Says != "" {
		t.Errorf("a torque out of nowhere: %+v", without.Ask[0])
	}
	if with.Ask[0].Says != "10 Nm" || with.Ask[0].From != "manual" {
		t.Errorf("the job's own is not used: %+v", with.Ask[0])
	}
	byID := sheet(t, "refit-thermostat", "vehicle: {maker: [{what: housing-torque, says: 10 Nm}, {what: a name of our own, says: yes}]}\n")
	if byID.Ask[0].Says != "10 Nm" || byID.Ask[0].What != "torque of the housing bolts" || byID.Ask[1].Says != "" {
		t.Errorf("an answer kept by its id is not found, or answers another question: %+v", byID.Ask)
	}
	keys := sheet(t, "replace-cap", "vehicle: {cap: 1.1 bar}\n")
	if keys.Ask[0].ID != "cap-pressure" || keys.Ask[0].Says != "1.1 bar" || keys.Ask[0].From != "the job" {
		t.Errorf("the job's own key is not used: %+v", keys.Ask)
	}
}

func TestEveryQuestionForTheMakersDataHasOneIDAndOneName(t *testing.T) {
	d, err := work.DefaultSheetData()
	if err != nil {
		t.Fatal(err)
	}
	asked := map[work.DatumID]bool{}
	for _, s := range d.Steps {
		for _, id := range s.Ask {
			asked[id] = true
		}
	}
	for i := range d.Maker {
		m := &d.Maker[i]
		if d.Datum(string(m.ID)) != m || d.Datum(m.Name) != m || !asked[m.ID] {
			t.Errorf("%s, %q: written twice, or no repair asks for it", m.ID, m.Name)
		}
	}
}

// Two repairs in one drain: the first sheet lets the coolant out, the last fills up and bleeds.
func TestTwoRepairsInOneDrainDrainAndFillOnce(t *testing.T) {
	m, err := wholeModel()
	if err != nil {
		t.Fatal(err)
	}
	w, err := work.Open(t.Context(), m, strings.NewReader("weephole: 1\n"), "job.yaml", work.OpenOptions{})
	if err != nil {
		t.Fatal(err)
	}
	list, err := w.Sheets([]string{"replace-thermostat", "replace-pump"})
	if err != nil {
		t.Fatal(err)
	}
	steps := func(s *work.Sheet) string { return strings.Join(s.Order, " ") }
	first, last := list[0], list[1]
	if !strings.Contains(steps(first), "into a clean pan") || strings.Contains(steps(first), "Fill and bleed") || first.Fill != nil || strings.Contains(steps(first), "Run the proof") {
		t.Errorf("the first sheet should drain and not fill: %s", steps(first))
	}
	if strings.Contains(steps(last), "into a clean pan") || !strings.Contains(steps(last), "Fill and bleed") || last.Fill == nil || !strings.Contains(steps(last), "Run the proof") {
		t.Errorf("the last sheet should fill and not drain: %s", steps(last))
	}
	alone, err := w.Sheets([]string{"replace-pump", "replace-fan"})
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(steps(alone[0]), "Fill and bleed") || !strings.Contains(steps(alone[0]), "Run the proof") {
		t.Errorf("a fan shares no drain with a pump: %s", steps(alone[0]))
	}
}
