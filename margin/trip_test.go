package margin_test

import (
	"errors"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"weephole/circuit"
	"weephole/margin"
	"weephole/sheet"
)

func TestReadsATrip(t *testing.T) {
	k := criteria(t)
	trip, err := margin.ParseTrip(" 10 min town, 1.5 h motorway ,6min climb", k)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := trip.String(), "10 min town, 90 min motorway, 6 min climb"; got != want {
		t.Errorf("read as %q, want %q", got, want)
	}
}

func TestARefusedTripSaysWhatToWrite(t *testing.T) {
	k := criteria(t)
	for text, want := range map[string]string{
		"":                         "the trip is empty; write it as",
		"town":                     `"town", is no time and duty`,
		"10 min town,":             `part 2 of the trip, "", is no time and duty`,
		"10 min town; 5 min climb": "part 1 of the trip",
		"10 town":                  "part 1 of the trip",
		"10 min tonw":              `no duty is called "tonw"; did you mean town?`,
		"-3 min town":              "part 1 of the trip",
		"0 min town":               "takes no time",
		"13 h motorway":            "at most 720 min",
		"10 °C town":               "part 1 of the trip",
	} {
		if _, err := margin.ParseTrip(text, k); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v; want it to say %q", text, err, want)
		}
	}
}

func FuzzTrip(f *testing.F) {
	k := criteria(f)
	f.Add("10 min town, 25 min motorway, 6 min climb")
	f.Fuzz(func(t *testing.T, text string) {
		trip, err := margin.ParseTrip(text, k)
		if err != nil {
			return
		}
		again, err := margin.ParseTrip(trip.String(), k)
		if err != nil || math.Abs(again.Minutes()-trip.Minutes()) > 1e-6*trip.Minutes() {
			t.Errorf("%q is written %q and read back as %v (%v)", text, trip, again, err)
		}
	})
}

func TestARefusedSheetSaysWhere(t *testing.T) {
	own, err := os.ReadFile("duties.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]string{
		"duties: []": "metal-limit",
		"duties:\n  - {id: a, name: a, how: a, source: a, legs: [{seconds: 60, speed: 900, gear: 1}], deviation: {value: 0.3, source: a}}": "x.yaml:2: duties[0].legs[0].speed: found 900",
		"duties:\n  - {id: a, name: a, how: a, source: a, legs: [{seconds: 60, speed: 50}], deviation: {value: 0.3, source: a}}":           "a moving leg needs revs or gear",
		"bans:\n  - {says: a, source: b}": "a ban needs either",
		strings.Replace(string(own), "add-every:\n  value: 3", "add-every:\n  value: 0", 1):   "add-every: found 0",
		strings.Replace(string(own), "metal-step:\n  value: 8", "metal-step:\n  value: 0", 1): "metal-step: found 0",
	} {
		_, err := margin.ReadCriteria(sheet.Source{Name: "x.yaml", Data: []byte(text)})
		var all sheet.Mistakes // the error lists a screenful
		if errors.As(err, &all); !slices.ContainsFunc(all, func(m sheet.Mistake) bool { return strings.Contains(m.Error(), want) }) {
			t.Errorf("%.200q: %v; want it to say %q", text, err, want)
		}
	}
}

// A long enough trip in one duty comes to what the held run says: short of the limit
// below the highest air, past it above.
func TestALongTripAgreesWithTheHeldRun(t *testing.T) {
	k, tab := criteria(t), table(t)
	h := margin.NewHolder(k)
	c := tab.Typical(circuit.Vehicle{})
	c.TubesBlocked = 0.6
	for _, id := range []string{"motorway", "climb", "towing"} {
		d := duty(t, k, id)
		m := h.Highest(&c, d, 0)
		trip := margin.Trip{{Minutes: 90, Duty: d}}
		below, above := h.Drive(&c, trip, 0, m.HighestC-3, margin.Manner{}, margin.Other{}), h.Drive(&c, trip, 0, m.HighestC+3, margin.Manner{}, margin.Other{})
		t.Logf("%s: highest air %.1f degC; passed 3 K below: %v, 3 K above: %v after %.1f min", id, m.HighestC, below.Passed(), above.Passed(), above.PassedAt/60)
		if below.Passed() || !above.Passed() {
			t.Errorf("%s: 90 minutes 3 K below the highest air pass the limit: %v, 3 K above: %v", id, below.Passed(), above.Passed())
		}
	}
}

// Hotter air never makes a trip safer, and what is said to help never does harm
// where the thermostat is open.
func TestHotterAirNeverMakesATripSafer(t *testing.T) {
	k, tab := criteria(t), table(t)
	h := margin.NewHolder(k)
	trip, err := margin.ParseTrip("5 min town, 8 min climb, 3 min idle", k)
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		c := drawn(t, tab)
		c.TubesBlocked = rapid.Float64Range(0, 0.9).Draw(t, "blocked")
		// In quarters of a degree five more and five less are exact: a regulating valve
		// makes a quarter of a kelvin of the last digit.
		air := float64(rapid.IntRange(0, 200).Draw(t, "air in quarters")) / 4
		a := h.Drive(&c, trip, 0, air, margin.Manner{}, margin.Other{})
		b := h.Drive(&c, trip, 0, air+5, margin.Manner{}, margin.Other{})
		if a.Passed() && !b.Passed() {
			t.Fatalf("passes its limit in air of %.1f degC and not 5 K hotter", air)
		}
		cooler := h.Drive(&c, trip, 0, air+5, margin.Manner{CoolerBy: 5}, margin.Other{})
		if math.Abs(cooler.PeakC-a.PeakC) > 0.1 {
			t.Fatalf("5 K cooler than 5 K hotter is %.3f degC at its hottest, not %.3f", cooler.PeakC, a.PeakC)
		}
	})
}
