package check_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
)

// TestWhatACircuitShowsIsPlausible: a reading is refused outside its plausible range,
// so nothing that a simulated engine shows may lie outside. Vent air of a boiling
// engine, 101 to 111 degC, once did.
func TestWhatACircuitShowsIsPlausible(t *testing.T) {
	const engines = 60
	c := builtin(t)
	table, err := circuit.DefaultTable()
	if err != nil {
		t.Fatal(err)
	}
	random, drill := rand.New(rand.NewPCG(5, 6)), circuit.NewDrill(circuit.Coarse)
	z := make([]float64, table.Dim())
	var record circuit.Record
	hottest := math.Inf(-1)
	for i := range c.Causes().Causes {
		what := &c.Causes().Causes[i]
		for range engines {
			for k := range z {
				z[k] = random.NormFloat64()
			}
			engine := table.Draw(circuit.Vehicle{}, z)
			present := cause.Present{Cause: i, Site: cause.NoSite, Severity: 1}
			if len(what.Sites) > 0 {
				present.Site = 0
			}
			what.Apply(1, present.Hidden[:], &engine)
			drill.Run(&engine, circuit.Conditions{AmbientC: -20 + 60*random.Float64()}, circuit.AllSituations(), &record)
			subject := check.Subject{Causes: []cause.Present{present}, Record: &record}
			for k := range c.Checks {
				for r := range c.Checks[k].Readings {
					reading := &c.Checks[k].Readings[r]
					mean, _ := reading.Expect(&subject)
					low, high := reading.PlausibleSI()
					if mean < low || mean > high {
						t.Errorf("%s, %s of a car with %s: %.4g, plausible is %.4g to %.4g", c.Checks[k].ID, reading.ID, what.ID, mean, low, high)
					}
					if reading.ID == "vent" {
						hottest = math.Max(hottest, mean)
					}
				}
			}
		}
	}
	if hottest < 100 { // water boils in the open
		t.Errorf("the hottest vent air was %.1f degC; the drill ran no boiling engine", hottest)
	}
}
