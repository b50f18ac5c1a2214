package check_test

import (
	"testing"

	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
)

// run puts a cause into a typical engine and drills it on a 30 °C day.
func run(t testing.TB, c *check.Checklist, id string, severity float64) *check.Subject {
	t.Helper()
	table, err := circuit.DefaultTable()
	if err != nil {
		t.Fatal(err)
	}
	k := c.Causes().Cause(id)
	if k == nil {
		t.Fatalf("no cause %q", id)
	}
	engine := table.Typical(circuit.Vehicle{})
	p := cause.Present{Cause: k.Index(), Site: cause.NoSite, Severity: severity}
	k.Apply(severity, p.Hidden[:], &engine)
	record := new(circuit.Record)
	circuit.NewDrill(circuit.Fine).Run(&engine, circuit.Conditions{AmbientC: 30}, circuit.AllSituations(), record)
	return &check.Subject{Causes: []cause.Present{p}, Record: record}
}

// TestTheRunPredictsWhatAMechanicWouldFind lists findings of the trade on one
// bad case of each cause: common practice, no source. It looks for the alarm to
// be likelier than on a healthy engine by the factor given.
func TestTheRunPredictsWhatAMechanicWouldFind(t *testing.T) {
	c := builtin(t)
	healthy := run(t, c, "no-fault", 0)
	for _, test := range []struct {
		name, cause, check, word string
		severity, factor         float64
	}{
		{"a thermostat stuck wide open warms up slowly", "thermostat-open", "warm-up-log", "slow", 1, 5},
		{"and cools on the road", "thermostat-open", "drive-log", "cools-on-road", 1, 5},
		{"a thermostat that does not open shows on the climb", "thermostat-shut", "drive-log", "hot-on-load", 1, 5},
		{"a radiator clogged inside shows on the climb", "radiator-clogged", "drive-log", "hot-on-load", 1, 5},
		{"and is patchy", "radiator-clogged", "face-sweep", "patchy", 1, 3},
		{"a sensor that reads high disagrees with a thermometer", "sensor-high", "second-thermometer", "reads-high", 0.6, 8},
		{"a sensor that reads low disagrees with the air", "sensor-low", "cold-soak", "reads-low", 0.8, 4},
		{"a leaking gasket hardens the hose", "combustion-leak", "hose-squeeze", "hard", 0.8, 8},
		{"a clogged heater core blows cold", "heater-core-clogged", "heater-output", "cold", 0.9, 4},
		{"a useless pump leaves the neck still", "pump-weak", "neck-flow", "still", 1, 3},
	} {
		t.Run(test.name, func(t *testing.T) {
			k := c.Check(test.check)
			p, h := make([]float64, len(k.Words)), make([]float64, len(k.Words))
			k.Shows(run(t, c, test.cause, test.severity), p)
			k.Shows(healthy, h)
			w := k.WordIndex(test.word)
			if w < 0 {
				t.Fatalf("no word %q", test.word)
			}
			t.Logf("%.3f against %.3f", p[w], h[w])
			if p[w] < test.factor*h[w] {
				t.Errorf("%s with probability %.3f, healthy %.3f: want %g times", test.word, p[w], h[w], test.factor)
			}
		})
	}
}

// TestALeakIntoTheCoolantIsHeardWhereItIsDriven: a head that leaks only under
// load runs hot on the hill and not at idle, one that always leaks runs hot
// anywhere, and either is mostly complained of for its heat. Common practice,
// no source; how mostly is judgement.
func TestALeakIntoTheCoolantIsHeardWhereItIsDriven(t *testing.T) {
	c := builtin(t)
	head := c.Causes().Cause("combustion-leak")
	shows := func(state, condition string, severity float64) float64 {
		_, k, ok := head.FindState(state)
		if !ok {
			t.Fatalf("no state %q", state)
		}
		s := run(t, c, "no-fault", 0)
		s.Causes = []cause.Present{{Cause: head.Index(), Site: cause.NoSite, Severity: severity, Hidden: [cause.MaxHidden]int{k}}}
		if condition == "" {
			return c.Signs[c.SignIndex("overheats")].So(s)
		}
		return c.Conditions[c.ConditionIndex(condition)].So(s, check.Hot)
	}
	if climb, idle := shows("loaded", "climb", 0.4), shows("loaded", "idle", 0.4); climb < 5*idle {
		t.Errorf("under load: on the climb %.2f, at idle %.2f", climb, idle)
	}
	if climb, idle := shows("cold", "climb", 0.4), shows("cold", "idle", 0.4); climb > 3*idle || idle < 0.25 {
		t.Errorf("always: on the climb %.2f, at idle %.2f", climb, idle)
	}
	for _, state := range []string{"cold", "hot", "loaded"} {
		if hot := shows(state, "", 0.4); hot < 0.6 || hot > 0.9 {
			t.Errorf("%s: runs hot with probability %.2f", state, hot)
		}
	}
}
