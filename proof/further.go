package proof

import (
	"math"
	"slices"
)

// FurtherRun is a run that shows other faults than the repaired one.
type FurtherRun struct {
	RunPower
	Reveals string `json:"reveals"` // the cause that it would give away, in words
}

// further lists the runs, of those judged, that were not made yet, and how many of them may still
// be asked for.
func (p *Proof) further(judged []RunPower, first *RunPower, seen []Evidence) (out []*RunPower, most int) {
	most = int(p.st.RunsMost.Value)
	if first != nil {
		most--
	}
	for i := range seen {
		if seen[i].Log != nil {
			most--
		}
	}
	if most <= 0 {
		return nil, 0
	}
	for i := range judged {
		r := &judged[i]
		made := func(e Evidence) bool { return p.alike(&e, r.Run) }
		if len(r.good) > 0 && (first == nil || r.Run != first.Run) && !slices.ContainsFunc(seen, made) {
			out = append(out, r)
		}
	}
	return out, most
}

// alike tells whether a log looks like a run of this name.
func (p *Proof) alike(e *Evidence, id string) bool {
	if e.Log == nil {
		return false
	}
	run := p.st.Run(id)
	if (e.Log.StartC < p.st.ColdStart.Value) != (run.Start == "cold") || e.AirCon != run.AirCon {
		return false
	}
	var speed, revs, time float64 // of the log less the run
	for i := range e.Log.Segments {
		g := &e.Log.Segments[i]
		if !math.IsNaN(g.RoadSpeedMS) && !math.IsNaN(g.EngineRevPerSec) {
			speed, revs, time = speed+g.Seconds*g.RoadSpeedMS, revs+g.Seconds*g.EngineRevPerSec, time+g.Seconds
		}
	}
	if time == 0 {
		return false // it says nothing of how it was driven
	}
	idle := p.idle()
	var wantSpeed, wantRevs float64
	for _, s := range run.Stages(0) {
		wantSpeed += s.Seconds * s.RoadSpeedMS / run.Seconds()
		if s.EngineRevPerSec > 0 {
			wantRevs += s.Seconds * s.EngineRevPerSec / run.Seconds()
		} else {
			wantRevs += s.Seconds * idle / run.Seconds()
		}
	}
	return math.Abs(speed/time-wantSpeed) < p.st.AlikeSpeed.Value/3.6 && math.Abs(revs/time-wantRevs) < p.st.AlikeRevs.Value/60
}

// idle is the idle speed of the kind of car, in revolutions per second.
func (p *Proof) idle() float64 { return p.list[0].circ.IdleSpeed }

// expects is by how much a run is expected to raise the log odds of a good repair: the mean of the
// trials of good repairs.
func (p *Proof) expects(ll []float64, r *RunPower) float64 {
	now, sum := p.doubt(ll, nil), 0.0
	for _, t := range r.good {
		sum += math.Log(now / p.doubt(ll, t))
	}
	return sum / float64(len(r.good))
}
