package stranger

import (
	"fmt"
	"math"
	"slices"
)

// The words that a case can hold, for Features.
var (
	signWords = []string{"overheats", "boils-over", "runs-cold", "slow-to-warm", "no-heat", "gauge-swings", "loses-coolant",
		"steam", "sweet-smell", "lamp", "white-smoke", "fan-always-on", "hard-hose"}
	whenWords = []string{"idle", "city", "motorway", "climb", "towing", "air-conditioning", "after-restart", "always"}
)

// logPoints are the seconds of the log that are looked at: closely while it
// warms up, then at the ends of its legs.
var logPoints = []float64{60, 120, 180, 240, 300, 420, 540, 660, 780, 890, 1000, 1100, 1200, 1310, 1400, 1500, 1600, 1680, 1760, 1820}

// Features are what is told of a case at a stage, as numbers: NaN where nothing
// is told. All cases have the same ones in the same order.
func (k *Case) Features(st Stage) []float64 {
	var x []float64
	flag := func(list []string, word string) float64 {
		if slices.Contains(list, word) {
			return 1
		}
		return 0
	}
	for _, w := range signWords {
		x = append(x, flag(k.Complaint.Signs, w))
	}
	for _, w := range whenWords {
		x = append(x, flag(k.Complaint.When, w)-flag(k.Complaint.Fine, w))
	}
	x = append(x, k.Complaint.AirC, flag([]string{"yes"}, k.Complaint.Badly))
	viscous := 0.0
	if k.Car.FanKind == Viscous {
		viscous = 1
	}
	x = append(x, viscous)
	if st.Tests {
		for _, f := range featured() {
			x = append(x, k.featureOf(f))
		}
	}
	if st.Logs {
		x = append(x, k.Day.shopC)
		for _, s := range logPoints {
			v := math.NaN()
			for i := range k.Log {
				if k.Log[i].second >= s {
					v = k.Log[i].reading
					break
				}
			}
			x = append(x, v)
		}
		top, n := -1e3, 0.0
		for _, r := range k.Log {
			top = math.Max(top, r.reading)
			n++
		}
		x = append(x, top, n)
	}
	return x
}

// feature is a word or a reading of a check.
type feature struct{ check, word, reading string }

// featured lists them: the words of the tabulated checks, and of those with runs.
var featured = func() []feature {
	table, err := tests()
	if err != nil {
		panic(err) // the table is embedded and tested
	}
	var checks []string
	for c := range table {
		checks = append(checks, c)
	}
	slices.Sort(checks)
	var list []feature
	for _, c := range checks {
		seen := map[string]bool{}
		for _, r := range table[c] {
			for w := range r.Shows {
				seen[w] = true
			}
			for w := range r.Otherwise {
				seen[w] = true
			}
		}
		var words []string
		for w := range seen {
			words = append(words, w)
		}
		slices.Sort(words)
		for _, w := range words {
			list = append(list, feature{check: c, word: w})
		}
	}
	return append(list, []feature{
		{"freeze-point", "", "glycol"}, {"cap-pressure", "", "held"}, {"cold-soak", "", "difference"}, {"hose-squeeze", "", "pressure"},
		{"hose-temps", "", "upper-hose"}, {"hose-temps", "", "lower-hose"}, {"hose-temps", "", "coolant"}, {"radiator-drop", "", "drop"},
		{"face-sweep", "", "spread"}, {"second-thermometer", "", "difference"}, {"heater-output", "", "vent"},
		{"cold-soak", "reads-high", ""}, {"cold-soak", "reads-low", ""}, {"hose-squeeze", "hard", ""}, {"hose-temps", "cold-beyond", ""},
		{"hose-temps", "large-drop", ""}, {"radiator-drop", "large", ""}, {"face-sweep", "patchy", ""}, {"second-thermometer", "reads-high", ""},
		{"second-thermometer", "reads-low", ""}, {"heater-output", "cold", ""}, {"heater-output", "lukewarm", ""},
		{"neck-flow", "still", ""}, {"fan-run", "still", ""}, {"fan-run", "weak", ""}, {"fan-run", "backwards", ""},
		{"trouble-codes", "thermostat", ""}, {"trouble-codes", "sensor", ""}, {"trouble-codes", "sensor-hot", ""}, {"trouble-codes", "sensor-cold", ""}, {"trouble-codes", "valve", ""},
		{"heater-hoses", "both-cool", ""}, {"heater-hoses", "one-cold", ""}, {"trouble-codes", "fan", ""}, {"trouble-codes", "over-temperature", ""},
	}...)
}

func (k *Case) featureOf(f feature) float64 {
	for i := range k.Findings {
		g := &k.Findings[i]
		if g.Check != f.check {
			continue
		}
		if f.reading != "" {
			if x, ok := g.Read[f.reading]; ok {
				return x
			}
			return math.NaN()
		}
		if g.Word == "" {
			return math.NaN()
		}
		if g.Word == f.word {
			return 1
		}
		return 0
	}
	return math.NaN()
}

// Tells says the truth in words, for people who look at the written files.
func (k *Case) Tells() string {
	s := k.Drive
	for _, f := range k.Faults {
		s += fmt.Sprintf("; %s, %s, severity %.2f", f.Cause, f.Mode, f.Severity)
	}
	return s
}
