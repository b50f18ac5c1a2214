package check_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
)

// alarms is the mean probability of the words over engines drawn at random,
// each with the cause at a severity and in a state drawn from the catalogue.
func alarms(t *testing.T, c *check.Checklist, table *circuit.Table, id string, k *check.Check, words []string) float64 {
	t.Helper()
	const engines = 200
	random := rand.New(rand.NewPCG(1, 2))
	what := c.Causes().Cause(id)
	severities, weights := betaQuadrature(what.Severity.Shape[0], what.Severity.Shape[1])
	drill := circuit.NewDrill(circuit.Coarse)
	var record circuit.Record
	z := make([]float64, table.Dim())
	p := make([]float64, len(k.Words))
	sum, n := 0.0, 0
	for range engines {
		for i := range z {
			z[i] = random.NormFloat64()
		}
		engine := table.Draw(circuit.Vehicle{}, z)
		present := cause.Present{Cause: what.Index(), Site: cause.NoSite, Severity: pick(random, severities, weights)}
		if !what.Fits(engine.FanKind) {
			continue
		}
		if len(what.Sites) > 0 {
			present.Site = 0
		}
		for h := range what.Hidden {
			shares := make([]float64, len(what.Hidden[h].States))
			indexes := make([]float64, len(shares))
			for i, s := range what.Hidden[h].States {
				shares[i], indexes[i] = s.Share, float64(i)
			}
			present.Hidden[h] = int(pick(random, indexes, shares))
		}
		what.Apply(present.Severity, present.Hidden[:], &engine)
		drill.Run(&engine, circuit.Conditions{AmbientC: 25}, k.Situations(), &record)
		k.Shows(&check.Subject{Causes: []cause.Present{present}, Record: &record}, p)
		for _, w := range words {
			sum += p[k.WordIndex(w)]
		}
		n++
	}
	return sum / float64(n)
}

func pick(random *rand.Rand, values, weights []float64) float64 {
	u := random.Float64()
	for i, w := range weights {
		if u -= w; u < 0 {
			return values[i]
		}
	}
	return values[len(values)-1]
}

// TestSimulatedChecksAgainstTheTable prints, for the checks whose words come from
// the circuit's run, sensitivity and specificity over 200 drawn engines on a
// 25 °C day beside the range of the workshop check table (judgement). The range
// is no requirement here: the run is another estimate of the same thing, made
// from the physics, and where they differ neither is known to be right. What is
// required is that the check tells something: an alarm at least half as likely
// again with the fault as without.
func TestSimulatedChecksAgainstTheTable(t *testing.T) {
	c := builtin(t)
	table, err := circuit.DefaultTable()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct{ check, words, cause, sens, spec string }{
		{"hose-temps", "cold-beyond large-drop", "thermostat-shut", "0.80-0.92", "0.85-0.93"},
		{"radiator-drop", "large", "thermostat-shut", "0.65-0.85", "0.80-0.92"},
		{"face-sweep", "patchy", "radiator-clogged", "0.45-0.65", "0.75-0.90"},
		{"heater-output", "cold lukewarm", "air-pocket", "0.60-0.80", "0.75-0.90"},
		{"heater-output", "cold lukewarm", "coolant-low", "0.60-0.80", "0.75-0.90"},
		{"cold-soak", "reads-high reads-low", "sensor-high", "0.70-0.85", "0.93-0.98"},
		{"warm-up-log", "slow never-warm", "thermostat-open", "0.88-0.96", "0.90-0.96"},
		{"drive-log", "hot-on-load hot-in-traffic", "radiator-clogged", "0.60-0.80", "0.80-0.90"},
		{"neck-flow", "still", "pump-weak", "0.65-0.85", "0.60-0.80"},
	} {
		t.Run(row.check+" "+row.cause, func(t *testing.T) {
			k := c.Check(row.check)
			words := strings.Fields(row.words)
			with := alarms(t, c, table, row.cause, k, words)
			without := alarms(t, c, table, "no-fault", k, words)
			t.Logf("sensitivity %.2f (table %s), specificity %.2f (table %s)", with, row.sens, 1-without, row.spec)
			if math.IsNaN(with) || with < 1.5*without {
				t.Errorf("alarm with the fault %.2f, without %.2f: it tells nothing", with, without)
			}
		})
	}
}
