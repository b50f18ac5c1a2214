package cause_test

import (
	"strings"
	"testing"

	"weephole/circuit"
)

// A caution fits the car: no electric fan starts on one whose fan the engine turns. Where
// nobody has said what turns it, the caution stays.
func TestACautionFitsTheCarsFan(t *testing.T) {
	c := builtin(t)
	electric, engine := circuit.FanElectric, circuit.FanViscous
	for _, test := range []struct {
		name  string
		fan   *circuit.FanKind
		warns bool
	}{{"unknown", nil, true}, {"electric", &electric, true}, {"turned by the engine", &engine, false}} {
		got := strings.Join(c.Cautions([]string{"scald", "fan", "no such hazard"}, test.fan), "\n")
		if strings.Contains(got, "electric fan") != test.warns || !strings.Contains(got, "hot system") {
			t.Errorf("a fan that is %s: %q", test.name, got)
		}
	}
}
