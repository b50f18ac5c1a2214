package proof

import (
	"fmt"
	"slices"

	"weephole/circuit"
	"weephole/sheet"
)

// Run is a way of running the engine that may prove a repair.
type Run struct {
	At      sheet.At `sheet:",at"`
	ID      string   `sheet:"id,required"`
	Name    string   `sheet:"name,required"`
	How     string   `sheet:"how,required"`
	Start   string   `sheet:"start,required"` // "cold" or "hot"
	AirCon  bool     `sheet:"air-con"`        // on from the first second to the last
	Hazards []string `sheet:"hazards"`        // ids of the catalogue's hazards
	// NotFor lists the places (cause.Cause) for whose repair nobody makes it.
	NotFor []string  `sheet:"not-for"`
	Parts  []Stretch `sheet:"parts,required"`
}

// Stretch is a stretch of a run, driven once or several times over.
type Stretch struct {
	Repeat float64 `sheet:"repeat"` // 0 means once
	Legs   []Leg   `sheet:"legs,required"`
}

// Leg is driven without a change.
type Leg struct {
	Minutes float64 `sheet:"minutes"`
	Seconds float64 `sheet:"seconds"` // added to Minutes
	Speed   float64 `sheet:"speed"`   // km/h
	Revs    float64 `sheet:"revs"`    // rev/min; 0 idle
	Grade   float64 `sheet:"grade"`   // rise over run
}

func (r *Run) check() error {
	if r.Start != "cold" && r.Start != "hot" {
		return fmt.Errorf("%s:%d: run %s: start %q; write cold or hot", r.At.File, r.At.Line, r.ID, r.Start)
	}
	if r.Seconds() <= 0 {
		return fmt.Errorf("%s:%d: run %s takes no time; give its legs minutes or seconds", r.At.File, r.At.Line, r.ID)
	}
	return nil
}

// Road is true for a run that is driven.
func (r *Run) Road() bool {
	return slices.ContainsFunc(r.Parts, func(s Stretch) bool {
		return slices.ContainsFunc(s.Legs, func(l Leg) bool { return l.Speed > 0 })
	})
}

// Seconds is how long the run takes in all.
func (r *Run) Seconds() float64 {
	sum := 0.0
	for _, s := range r.Stages(0) {
		sum += s.Seconds
	}
	return sum
}

// Stages is the run cut into stages of at most `every` seconds; 0 leaves the
// legs whole.
func (r *Run) Stages(every float64) []circuit.Stage {
	var out []circuit.Stage
	for _, p := range r.Parts {
		for range max(1, int(p.Repeat)) {
			for _, g := range p.Legs {
				left := g.Minutes*60 + g.Seconds
				st := circuit.Stage{
					EngineRevPerSec: g.Revs / 60, RoadSpeedMS: g.Speed / 3.6, Grade: g.Grade,
					AirCon: r.AirCon,
				}
				for left > 1e-9 {
					st.Seconds = left
					if every > 0 && left > every {
						st.Seconds = every
					}
					out = append(out, st)
					left -= st.Seconds
				}
			}
		}
	}
	return out
}

// readings is what a circuit's sensor reads at the end of every stage, degC.
func (st *Criteria) readings(solver *circuit.Solver, circ *circuit.Circuit, cond circuit.Conditions, cold bool, stages []circuit.Stage, into []float64) []float64 {
	now := circuit.Soaked(circ, cond)
	if !cold {
		now = circuit.StateAt(circ, cond, st.HotStart.Value, st.HotSoaked.Value)
	}
	into = into[:0]
	for i := range stages {
		solver.Run(circ, cond, &now, stages[i:i+1], 0, nil)
		into = append(into, circ.Reads(now.SensorC()))
	}
	return into
}
