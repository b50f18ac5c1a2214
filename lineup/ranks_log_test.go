package lineup

import (
	"context"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
	"weephole/sheet"
	"weephole/trace"
)

// driveCheck is a check that a logged run answers.
const driveCheck = `
  - id: drive
    name: drive
    how: "-"
    place: engine
    state: any
    trace: true
    minutes: {low: 1, typical: 1, high: 1, source: t}
    repeat: {share: 1, source: t}
    blunder: {share: 0.02, source: t}
    asks: "-"
    words: [{is: odd, says: "-", alarm: true}, {is: usual, says: "-"}]
    shows: [{otherwise: {odd: 0.1, usual: 0.9}, source: t}]
`

// drivenModel is the small world with causes that a drive shows: one whose valve
// hardly opens, one whose valve stays open.
func drivenModel(t *testing.T) *Model {
	t.Helper()
	m := smallModel(t)
	acts := func(text, id, act string) string {
		return strings.Replace(text, "{id: "+id+",", "{id: "+id+", acts: ["+act+"],", 1)
	}
	text := acts(smallCauses, "dull", "{number: max-lift, how: set, mild: 0.25, severe: 0, source: t}")
	text = acts(text, "keen", "{number: min-lift, how: set, mild: 0.05, severe: 1, source: t}")
	var err error
	if m.Causes, err = cause.Load(sheet.Source{Name: "causes", Data: []byte(text)}); err != nil {
		t.Fatal(err)
	}
	if m.Checks, err = check.Load(m.Causes, sheet.Source{Name: "checks", Data: []byte(smallChecks + driveCheck)}); err != nil {
		t.Fatal(err)
	}
	s := *m.Settings
	s.SecondFault.Value = 0.3
	s.ErrorTarget.Value, s.MostRounds.Value, s.LeastEngines.Value = 0, 4, 0 // four adapted rounds, whatever they give
	s.TraceSpreadSD.Value = 1e6                                             // spreads tell nothing: a negative one cannot be logged
	m.Settings = &s
	return m
}

// halfHour is half an hour of idling, town and motorway on a cold day, in stretches of half a
// minute; what the coolant reads is still to come.
func halfHour() *Log {
	const ambient = 8.0
	nan := math.NaN()
	log := &Log{StartC: ambient, Soaked: 1}
	for i := range 60 {
		g := trace.Segment{Seconds: 30, EngineRevPerSec: 13, AmbientC: ambient, AirFlowKgS: nan, FuelRateKgS: nan, Load: nan, FanShare: nan}
		if i > 15 {
			g.EngineRevPerSec, g.RoadSpeedMS = 30, 12
		}
		if i > 35 {
			g.EngineRevPerSec, g.RoadSpeedMS = 42, 28
		}
		log.Segments = append(log.Segments, g)
	}
	return log
}

// misread gives one run's errors of the windows' means, K, as the model holds that
// they come about: the grade by lot, a slow wandering and an error of each window.
func misread(r *replay, rng *rand.Rand) []float64 {
	g := r.grades[pick(rng.Float64(), len(r.grades), func(i int) float64 { return math.Exp(r.grades[i].logShare) })].model
	if rng.Float64() < r.blunder {
		g = r.astray
	}
	out := make([]float64, len(r.windows))
	phi := math.Exp(-g.step / g.means.Correlation)
	b := g.means.ModelSD * rng.NormFloat64()
	for i := range out {
		if i > 0 {
			b = phi*b + g.means.ModelSD*math.Sqrt(1-phi*phi)*rng.NormFloat64()
		}
		out[i] = b + g.means.ReadingSD*rng.NormFloat64()
	}
	return out
}

// Simulation-based calibration (Talts et al. 2018) with a log in the job: the truth
// drives the log, the log is misread as the error model says, and the truth must rank
// evenly among what the lineup holds after adapted rounds.
func TestTheTruthRanksEvenlyWithALog(t *testing.T) {
	if testing.Short() {
		t.Skip("a hundred lineups")
	}
	const lineups, draws, bins = 120, 19, 5
	m := drivenModel(t)
	quantities := ranked(m)
	counts := make([][bins]float64, len(quantities))
	air := circuit.Conditions{AmbientC: 8}
	for rep := range lineups {
		rng := rand.New(rand.NewPCG(uint64(rep), 91))
		list := strata(m.Causes, suspicion{secondFault: m.Settings.SecondFault.Value})
		d := newDrawer(m, Case{}.Vehicle, list)
		truth := d.fromPrior(rng)
		f := d.before(&truth)
		circ := d.circuit(&truth, &f)
		log := halfHour()
		r := newReplay(m.Settings, log)
		k := kit{solver: circuit.NewSolver(circuit.Coarse)}
		r.drive(&k, &circ, air, r.habits(m.Settings, rng.NormFloat64(), rng.NormFloat64(), air.AmbientC))
		errs := misread(r, rng)
		for w, of := range r.windows {
			for i := of.from; i < of.to; i++ {
				log.Segments[i].CoolantC = k.reads[i] + errs[w]
			}
		}
		l, err := New(context.Background(), m, Case{Shop: air, OnTheRoad: air, Events: []Event{{Check: "drive", Log: log}}}, DrawOptions{Candidates: 500, Seed: uint64(rep) + 1})
		if err != nil {
			t.Fatal(err)
		}
		for q := range quantities {
			of := quantities[q].of
			rank := rankAmong(rng, l, draws, of(&truth, &f), of)
			counts[q][rank*bins/(draws+1)]++
		}
	}
	for q := range quantities {
		evenly(t, quantities[q].name, counts[q][:])
	}
}
