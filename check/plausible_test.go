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

// A word that stands for a number is no surer than the number: who says "lukewarm" has the same
// car, flap and blower before him as who reads 45 degC at the vent.
func TestAWordIsNoSurerThanItsReading(t *testing.T) {
	c := builtin(t)
	compared := 0
	for i := range c.Checks {
		k := &c.Checks[i]
		spread := make(map[string]float64) // of readings, by what they are of
		for _, m := range k.Readings {
			spread[m.Of+" "+m.Minus] = m.Error.SD
		}
		for _, w := range k.Words {
			for _, when := range w.When {
				least, ok := spread[when.Of+" "+when.Minus]
				if of, both := spread[when.Of+" "], spread[when.Minus+" "]; !ok && of > 0 && both > 0 {
					least, ok = math.Hypot(of, both), true
				}
				if !ok {
					continue
				}
				compared++
				if when.Soft < 0.95*least {
					t.Errorf("%s, %q: the threshold on %s %s is soft by %g, its reading errs by %g", k.ID, w.Is, when.Of, when.Minus, when.Soft, least)
				}
			}
		}
	}
	if compared < 8 {
		t.Fatalf("only %d words have a reading of the same", compared)
	}
}
