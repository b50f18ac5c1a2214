package margin_test

import (
	"testing"

	"weephole/cause"
	"weephole/circuit"
	"weephole/margin"
)

// gives are the faults that physics lets give a little more margin, and why.
var gives = map[string]string{
	"mix-wrong":           "too much glycol boils later",
	"heater-core-clogged": "what the heater no longer takes goes through the radiator",
	"heater-flap":         "likewise",
}

// A fault never gives more margin than the same engine has with nothing wrong.
func TestAFaultNeverGivesMoreMargin(t *testing.T) {
	k, tab := criteria(t), table(t)
	causes, err := cause.Default()
	if err != nil {
		t.Fatal(err)
	}
	h := margin.NewHolder(k)
	for i := range causes.Causes {
		f := &causes.Causes[i]
		for _, kind := range []circuit.FanKind{circuit.FanElectric, circuit.FanViscous} {
			if !f.Fits(kind) {
				continue
			}
			sound := tab.Typical(circuit.Vehicle{FanKind: &kind})
			for state := range 4 {
				var hidden [cause.MaxHidden]int
				known := state == 0
				for n := range f.Hidden {
					if state < len(f.Hidden[n].States) {
						hidden[n], known = state, true
					}
				}
				if !known {
					continue
				}
				for _, severity := range []float64{0.3, 1} {
					c := sound
					f.Apply(severity, hidden[:], &c)
					for d := range k.Duties {
						a := h.Highest(&sound, &k.Duties[d], 0)
						b := h.Highest(&c, &k.Duties[d], 0)
						if b.HighestC > a.HighestC+1 && gives[f.ID] == "" {
							t.Errorf("%s, %v, state %d, severity %.1f, %s: %.1f degC, the sound engine %.1f", f.ID, kind, state, severity, k.Duties[d].ID, b.HighestC, a.HighestC)
						}
					}
				}
			}
		}
	}
}
