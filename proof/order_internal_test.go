package proof

import (
	"slices"
	"testing"

	"weephole/cause"
	"weephole/lineup"
)

// TestNoHillForAThermostat: the run up a hill is left out after a thermostat and a heater's
// repair, and kept where the hill is what asks for it.
func TestNoHillForAThermostat(t *testing.T) {
	m, err := lineup.DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	st, err := DefaultCriteria()
	if err != nil {
		t.Fatal(err)
	}
	at := slices.IndexFunc(st.Runs, func(r Run) bool { return r.ID == "climb" })
	if at < 0 {
		t.Fatal("there is no run up a hill")
	}
	for repair, needless := range map[string]bool{
		"replace-thermostat": true, "refit-thermostat": true, "replace-sensor": true, "free-heater-flap": true,
		"replace-radiator": false, "replace-pump": false, "replace-head-gasket": false, "replace-fan": false,
	} {
		p := &Proof{model: m, st: st, repairs: []*cause.Repair{m.Causes.Repair(repair)}}
		if got := p.needless(&st.Runs[at]); got != needless {
			t.Errorf("after %s the hill is needless: %v; want %v", repair, got, needless)
		}
	}
	for _, r := range st.Runs {
		if bay := r.ID == "idle-cold" || r.ID == "idle-ac"; r.Road() == bay {
			t.Errorf("run %s is on the road: %v", r.ID, r.Road())
		}
	}
}
