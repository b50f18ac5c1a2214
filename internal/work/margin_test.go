package work_test

import (
	"errors"
	"strings"
	"testing"

	"weephole/internal/work"
	"weephole/lineup"
	"weephole/margin"
)

func opened(t *testing.T, text string) *work.Work {
	t.Helper()
	m, err := wholeModel()
	if err != nil {
		t.Fatal(err)
	}
	w, err := work.Open(t.Context(), m, strings.NewReader("weephole: 1\n"+text), "job.yaml", work.OpenOptions{Lineup: lineup.DrawOptions{Candidates: 1500, Seed: 1}})
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func TestBansNameWhatTheCatalogueKnows(t *testing.T) {
	m, err := wholeModel()
	if err != nil {
		t.Fatal(err)
	}
	k, err := margin.DefaultCriteria()
	if err != nil {
		t.Fatal(err)
	}
	for _, b := range k.Bans {
		if b.Sign != "" && m.Checks.SignIndex(b.Sign) < 0 {
			t.Errorf("line %d: no sign is called %q", b.At.Line, b.Sign)
		}
		if b.Check != "" {
			if c := m.Checks.Check(b.Check); c == nil || c.WordIndex(b.Word) < 0 {
				t.Errorf("line %d: no check %q with the word %q", b.At.Line, b.Check, b.Word)
			}
		}
	}
}

// A car that is fine today and will boil in August: a half-clogged core, seen on
// a mild day. Its repair gives the margin back.
func TestFineTodayBoilsInAugust(t *testing.T) {
	w := opened(t, `
shop: {ambient: 12 °C}
vehicle: {fuel: petrol, displacement: 1.6 L, fan: {kind: electric}}
findings:
  - {check: face-sweep, found: patchy}
  - {check: radiator-drop, found: large}
`)
	a, err := w.Margin(t.Context(), work.MarginAsk{DayC: new(38.0), Repairs: []string{"replace-radiator"}})
	if err != nil {
		t.Fatal(err)
	}
	tow := a.Duties[len(a.Duties)-1]
	t.Logf("towing: as found %+v, after %+v, sound %+v; passes %.2f", tow.Found.Highest, tow.After.Highest, tow.Sound.Highest, tow.Found.Passes)
	cool, err := w.Margin(t.Context(), work.MarginAsk{DayC: new(12.0), Duty: "town"})
	if err != nil {
		t.Fatal(err)
	}
	if p := cool.Duties[0].Found.Passes; p > 0.1 {
		t.Errorf("in town at 12 °C it passes its limit with %.2f", p)
	}
	if tow.Found.Passes < 0.1 {
		t.Errorf("towing at 38 °C it passes its limit with %.2f only", tow.Found.Passes)
	}
	if tow.After.Passes >= tow.Found.Passes || tow.After.Highest.Low <= tow.Found.Highest.Low {
		t.Errorf("the new radiator gives no margin back: %+v, then %+v", tow.Found, tow.After)
	}
}

// A car with a big margin and a nervous owner: every look says that all is well.
func TestABigMarginAndANervousOwner(t *testing.T) {
	w := opened(t, `
shop: {ambient: 25 °C}
vehicle: {fuel: petrol, displacement: 1.6 L, fan: {kind: electric}}
findings:
  - {check: level-cold, found: full}
  - {check: fan-run, found: runs}
  - {check: pressure-hold, found: holds}
  - {check: combustion-gas, found: stayed}
  - {check: face-sweep, found: even}
  - {check: hose-temps, found: both-hot}
`)
	a, err := w.Margin(t.Context(), work.MarginAsk{DayC: new(35.0)})
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range a.Duties {
		t.Logf("%s: %+v, passes %.3f", d.Duty.ID, d.Found.Highest, d.Found.Passes)
		if d.Duty.ID != "towing" && (d.Found.InHand.Middle < 10 || d.Found.Passes > 0.1) {
			t.Errorf("%s at 35 °C: %+v in hand, passes with %.2f", d.Duty.ID, d.Found.InHand, d.Found.Passes)
		}
	}
	r, err := w.Drive(t.Context(), "10 min town, 25 min motorway", 25)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("drive: %s, chance %.3f, unnamed %.3f, why %v", r.Advice, r.Chance, r.Unnamed, r.Why)
	if r.Chance > 0.05 {
		t.Errorf("the chance to pass the limit is %.3f", r.Chance)
	}
}

func TestACarThatMustNotBeDriven(t *testing.T) {
	for name, c := range map[string]struct {
		findings string
		never    bool
	}{
		"no coolant":            {"- {check: level-cold, found: empty}", true},
		"oil in the coolant":    {"- {check: coolant-look, found: oily}", true},
		"told of oil":           {"- {sign: oil-in-coolant}", true},
		"looked again, no oil":  {"- {check: coolant-look, found: oily}\n  - {check: coolant-look, found: clean}", false},
		"repaired and refilled": {"- {check: level-cold, found: empty}\n  - {repair: replace-hose, changed: cured}", false},
		"denied":                {"- {denied: oil-in-coolant}", false},
	} {
		t.Run(name, func(t *testing.T) {
			r, err := opened(t, "findings:\n  "+c.findings+"\n").Drive(t.Context(), "5 min town", 20)
			if err != nil {
				t.Fatal(err)
			}
			if banned := len(r.Bans) > 0; banned != c.never || c.never && r.Advice != margin.Never {
				t.Errorf("advice %q, bans %q", r.Advice, r.Bans)
			}
		})
	}
}

func TestAWrongQuestionAboutTheMarginIsRefused(t *testing.T) {
	w := opened(t, "")
	var duty *work.UnknownDuty
	if _, err := w.Margin(t.Context(), work.MarginAsk{Duty: "clim"}); !errors.As(err, &duty) || !strings.Contains(err.Error(), "did you mean climb?") {
		t.Errorf("duty: %v", err)
	}
	var repair *work.UnknownRepair
	if _, err := w.Margin(t.Context(), work.MarginAsk{Repairs: []string{"replace-thermostadt"}}); !errors.As(err, &repair) {
		t.Errorf("repair: %v", err)
	}
	for _, day := range []float64{-100, 300} {
		if _, err := w.Margin(t.Context(), work.MarginAsk{DayC: &day}); !errors.Is(err, work.ErrAir) {
			t.Errorf("air of %g °C: %v", day, err)
		}
	}
	var trip *work.WrongTrip
	if _, err := w.Drive(t.Context(), "10 min moon", 20); !errors.As(err, &trip) {
		t.Errorf("trip: %v", err)
	}
}
