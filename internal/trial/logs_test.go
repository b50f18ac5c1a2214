package trial

import (
	"context"
	"flag"
	"math"
	"slices"
	"testing"

	"weephole/lineup"
	"weephole/trace"
)

// How many cars are driven with a log, of which seed, and how large their
// lineups are. A handful shows that it works; docs/calibration.md names the
// larger run that it reports.
var (
	logCars = flag.Int("cars", 2, "cars that are driven with a log")
	logSeed = flag.Uint64("car-seed", 7, "seed of the cars; from 100000 on for reports")
	logSize = flag.Int("engines", 600, "engines of each bank")
)

// A log is evidence of another kind than a word: some two thousand seconds
// whose errors hang together. Cars of the trial's world are driven warm, through
// town, on the motorway and home again; what the lineup believes after the
// complaint is set beside what it believes after the complaint and that log.
func TestBeliefsAfterALog(t *testing.T) {
	ctx := context.Background()
	m, err := lineup.DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	settings := *m.Settings
	m.Settings = &settings
	w, err := DefaultWorld()
	if err != nil {
		t.Fatal(err)
	}
	banks := min(6, *logCars)
	var before, after []standing
	for b := range banks {
		spec := DrawSpec(w, *logSeed, b, banks)
		bank, err := lineup.NewBank(ctx, m, spec.Vehicle, spec.Shop, lineup.DrawOptions{Candidates: *logSize, Seed: *logSeed<<16 + uint64(b)})
		if err != nil {
			t.Fatal(err)
		}
		for n := b; n < *logCars; n += banks {
			c := DrawCar(m, w, spec, *logSeed, n)
			l, err := bank.Lineup(ctx, c.Case)
			if err != nil {
				t.Fatal(err)
			}
			driven, err := l.Extend(ctx, lineup.Event{Check: "drive-log", Log: c.drive()})
			if err != nil {
				t.Fatal(err)
			}
			x, y := c.standing(l), c.standing(driven)
			before, after = append(before, x), append(after, y)
			t.Logf("car %d, %s: on the true cause %.2f, then %.2f; then leads %s with %.2f; effective %.0f",
				n, c.names(), x.onTrue, y.onTrue, m.Causes.Causes[y.leads].ID, y.said, driven.Effective())
			for _, p := range driven.Probabilities() {
				if math.IsNaN(p) || p < 0 || p > 1+1e-9 {
					t.Errorf("car %d: probability %v", n, p)
				}
			}
			if slices.Equal(l.Probabilities(), driven.Probabilities()) {
				t.Errorf("car %d: a log of half an hour changed nothing", n)
			}
		}
	}
	for _, moment := range []struct {
		at   string
		list []standing
	}{{"after the complaint", before}, {"and a log", after}} {
		var right, said, score, every []float64
		for _, s := range moment.list {
			right, said, score = append(right, s.right), append(said, s.said), append(score, s.score)
		}
		cars := make([]int, len(right))
		for i := range cars {
			cars[i] = i
		}
		every = append(every, right...)
		t.Logf("%s: leads %.2f, said %.2f, calibration error %.3f, log score %.2f", moment.at,
			MeanOf(every).Value, MeanOf(said).Value, calibrationError(said, right, cars), MeanOf(score).Value)
	}
}

// standing is how a lineup stands to the truth.
type standing struct {
	onTrue, said, right, score float64
	leads                      int
}

func (c *TrueCar) standing(l *lineup.Lineup) standing {
	job := &JobResult{Faults: c.ids()}
	if c.Beyond >= 0 {
		job.Beyond = "beyond"
	}
	truths := job.truths(c.model.Causes)
	b := Belief{Odds: l.Probabilities()}
	s := standing{leads: b.ranked()[0]}
	for _, t := range truths {
		s.onTrue = math.Max(s.onTrue, b.Odds[t])
		s.score -= math.Log(math.Max(b.Odds[t], leastProbability)) / float64(len(truths))
	}
	s.said = b.Odds[s.leads]
	if slices.Contains(truths, s.leads) {
		s.right = 1
	}
	return s
}

func (c *TrueCar) ids() []string {
	var list []string
	for _, f := range c.Faults {
		list = append(list, c.model.Causes.Causes[f.Cause].ID)
	}
	return list
}

func (c *TrueCar) names() []string {
	if c.Beyond >= 0 {
		return []string{c.world.Beyond[c.Beyond].ID}
	}
	return c.ids()
}

// drive logs half an hour and more with the car as it truly is: idling warm,
// town, motorway, and a long idle. Sensor noise and what a circuit of lumps
// cannot follow wander by about 1.5 K; whole degrees are logged (judgement).
func (c *TrueCar) drive() *lineup.Log {
	const stretch = 20.0 // s
	rng := c.luck.stream("log", "", 0)
	l := &lineup.Log{StartC: c.Shop.AmbientC, Soaked: 1}
	add := func(seconds, kmh, rev float64) {
		for t := 0.0; t < seconds; t += stretch {
			l.Segments = append(l.Segments, trace.Segment{
				Seconds: stretch, EngineRevPerSec: rev * math.Exp(0.05*rng.NormFloat64()), RoadSpeedMS: kmh / 3.6,
				AirFlowKgS: math.NaN(), FuelRateKgS: math.NaN(), Load: math.NaN(), FanShare: math.NaN(), AmbientC: c.Shop.AmbientC,
			})
		}
	}
	add(240, 0, 14)
	for range 6 {
		add(60, math.Max(10, 40+10*rng.NormFloat64()), 32)
		add(40, 0, 13.5)
	}
	add(480, 110, 45)
	add(480, 0, 13.5)

	circ := c.circuit(c.Faults)
	sensor := lineup.NewAlong(c.model.Settings, l, true).Readings(&circ, c.Shop, nil)
	wander := 0.0
	for i := range l.Segments {
		wander = 0.8*wander + 0.9*rng.NormFloat64()
		l.Segments[i].CoolantC = math.Round(sensor[i] + wander)
	}
	return l
}
