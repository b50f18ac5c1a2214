package lineup_test

import (
	"context"
	"math"
	"slices"
	"testing"

	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
	"weephole/lineup"
)

// complaint is a case with the given signs said.
func complaint(t testing.TB, m *lineup.Model, signs ...string) lineup.Case {
	t.Helper()
	c := check.Complaint{
		Signs:      make([]check.Heard, len(m.Checks.Signs)),
		Conditions: make([]check.Heard, len(m.Checks.Conditions)),
	}
	for _, s := range signs {
		i := m.Checks.SignIndex(s)
		if i < 0 {
			t.Fatalf("no sign %q", s)
		}
		c.Signs[i] = check.Said
	}
	c.Trouble = m.Checks.Trouble(c.Signs)
	air := circuit.Conditions{AmbientC: 25}
	return lineup.Case{Shop: air, OnTheRoad: air, Complaint: c}
}

func model(t testing.TB) *lineup.Model {
	t.Helper()
	m, err := lineup.DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// A case weighed against a bank, drawn at once, and extended finding by finding
// must agree, whatever path led there: to the digit where the same engines are
// drawn, within Monte Carlo noise where a repair that failed draws others.
func TestABankADrawAndAnExtensionAgree(t *testing.T) {
	m := model(t)
	cs := complaint(t, m, "overheats")
	o := lineup.DrawOptions{Candidates: 12000, Seed: 5, KeepStill: true}
	begun, err := lineup.New(t.Context(), m, cs, o)
	if err != nil {
		t.Fatal(err)
	}
	bank, err := lineup.NewBank(t.Context(), m, cs.Vehicle, cs.Shop, o)
	if err != nil {
		t.Fatal(err)
	}
	for _, repaired := range []bool{false, true} {
		pathsAgree(t, begun, bank, o, repaired)
	}
}

// pathsAgree compares a case that is drawn at once with one that is extended from the
// complaint's lineup, and with one weighed against the bank.
func pathsAgree(t *testing.T, begun *lineup.Lineup, bank *lineup.Bank, o lineup.DrawOptions, repaired bool) {
	t.Helper()
	m, cs := begun.Model(), begun.Case()
	ctx := t.Context()
	events := []lineup.Event{
		{Check: "level-cold", Word: "full"},
		{Check: "fan-run", Word: "runs"},
	}
	within := 1e-6
	if repaired {
		events = slices.Insert(events, 1, lineup.Event{Repair: "replace-thermostat", Changed: cause.Nothing})
		within = 0.03 // effective size near 1,000: a standard error of 0.015 for a share near one half
	}
	whole := cs
	whole.Events = events
	drawn, err := lineup.New(ctx, m, whole, o)
	if err != nil {
		t.Fatal(err)
	}
	extended := begun
	for _, ev := range events {
		if extended, err = extended.Extend(ctx, ev); err != nil {
			t.Fatal(err)
		}
	}
	banked, err := bank.Lineup(ctx, whole)
	if err != nil {
		t.Fatal(err)
	}
	a, b, c := drawn.Probabilities(), extended.Probabilities(), banked.Probabilities()
	for i := range a {
		if math.Abs(a[i]-b[i]) > within {
			t.Errorf("%s: drawn %.6f, extended %.6f: the same candidates must weigh the same", m.Causes.Causes[i].ID, a[i], b[i])
		}
		// The bank's strata are shared out otherwise; its own Monte Carlo noise
		// at an effective size near 1,000 is 0.015 for a share near one half.
		if math.Abs(a[i]-c[i]) > 0.05 {
			t.Errorf("%s: drawn %.4f, banked %.4f", m.Causes.Causes[i].ID, a[i], c[i])
		}
	}
}

// The order in which independent findings are entered must not matter.
func TestTheOrderOfFindingsDoesNotChangeTheOdds(t *testing.T) {
	m := model(t)
	ctx := context.Background()
	cs := complaint(t, m, "overheats")
	bank, err := lineup.NewBank(ctx, m, cs.Vehicle, cs.Shop, lineup.DrawOptions{Candidates: 4000, Seed: 3, KeepStill: true})
	if err != nil {
		t.Fatal(err)
	}
	events := []lineup.Event{
		{Check: "level-cold", Word: "full"}, {Check: "fan-run", Word: "runs"},
		{Check: "airflow-look", Word: "clear"}, {Check: "combustion-gas", Word: "stayed"},
	}
	weigh := func(order []int) []float64 {
		c := cs
		for _, i := range order {
			c.Events = append(c.Events, events[i])
		}
		l, err := bank.Lineup(ctx, c)
		if err != nil {
			t.Fatal(err)
		}
		return l.Probabilities()
	}
	want := weigh([]int{0, 1, 2, 3})
	for _, order := range [][]int{{3, 2, 1, 0}, {1, 3, 0, 2}, {2, 0, 3, 1}} {
		for i, p := range weigh(order) {
			if math.Abs(p-want[i]) > 1e-9 {
				t.Errorf("order %v: %s %.12f, want %.12f", order, m.Causes.Causes[i].ID, p, want[i])
			}
		}
	}
}

// The same seed gives the same answer to the last digit on any number of cores.
func TestTheSameSeedGivesTheSameDigitsOnAnyNumberOfWorkers(t *testing.T) {
	m := model(t)
	cs := complaint(t, m, "overheats")
	cs.Events = []lineup.Event{
		{Check: "pressure-hold", Word: "holds"}, {Check: "combustion-gas", Word: "turned"}, {Check: "level-cold", Word: "low"},
	}
	var want []float64
	for _, workers := range []int{1, 2, 5} {
		l, err := lineup.New(context.Background(), m, cs, lineup.DrawOptions{Candidates: 3000, Seed: 9, Workers: workers})
		if err != nil {
			t.Fatal(err)
		}
		got := l.Probabilities()
		if want == nil {
			want = got
			continue
		}
		for i := range got {
			if got[i] != want[i] {
				t.Errorf("%d workers: %s %v, want %v", workers, m.Causes.Causes[i].ID, got[i], want[i])
			}
		}
	}
}
