package work_test

import (
	"strings"
	"testing"

	"weephole/internal/work"
)

// Freezing air is a temperature like any other, and not "not said".
func TestAirOfZeroDegreesIsNotTheShops(t *testing.T) {
	m, err := wholeModel()
	if err != nil {
		t.Fatal(err)
	}
	w, err := work.Open(t.Context(), m, strings.NewReader(`weephole: 1
shop: {ambient: 25 °C}
complaint: {signs: [slow-to-warm], ambient: 0 °C}
findings:
  - {check: level-cold, found: full}
  - {check: heater-output, found: cold, ambient: 0 °C}
`), "frost.yaml", work.OpenOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if w.Case.Shop.AmbientC != 25 || w.Case.OnTheRoad.AmbientC != 0 {
		t.Errorf("the shop has %g degC and the road %g; want 25 and 0", w.Case.Shop.AmbientC, w.Case.OnTheRoad.AmbientC)
	}
	if c := w.Case.Events[0].Conditions; c != nil {
		t.Errorf("a finding that names no air was made in %g degC; want the shop's", c.AmbientC)
	}
	if c := w.Case.Events[1].Conditions; c == nil || c.AmbientC != 0 {
		t.Errorf("a finding in air of 0 degC was made in %+v", c)
	}
}

// What is out of the ordinary is what a check is for: a cap that holds more than its
// rating, the air from a boiling engine's heater.
func TestReadingsOfABadEngineAreTaken(t *testing.T) {
	m, err := wholeModel()
	if err != nil {
		t.Fatal(err)
	}
	for reading, taken := range map[string]bool{
		"cap-pressure, read: {held: 105 %}": true, "cap-pressure, read: {held: 160 %}": false,
		"heater-output, read: {vent: 101 °C}": true, "heater-output, read: {vent: 111 °C}": true, "heater-output, read: {vent: 140 °C}": false,
	} {
		_, err := work.Open(t.Context(), m, strings.NewReader("weephole: 1\nfindings: [{check: "+reading+"}]\n"), "bad.yaml", work.OpenOptions{})
		if (err == nil) != taken {
			t.Errorf("%s: taken is to be %v, but: %v", reading, taken, err)
		}
	}
}
