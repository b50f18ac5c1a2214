package events

import (
	"math"

	"weephole/trace"
)

// Regimes tells which states of the engine a run shows and for how long, so
// that nobody has to be asked which test the log belongs to. Times in s.
type Regimes struct {
	FromCold  bool    // it starts within 12 K of the intake air, or below 45 degC where no air is known
	WarmUp    float64 // from the start to the opening, or to the end if it never opened
	IdleWarm  float64 // warm at standstill, engine on
	DriveWarm float64 // warm on the move
	CoolDown  float64 // engine off after it ran
}

// RegimesOf finds the regimes of one run.
func RegimesOf(s Series) Regimes {
	lim := limits()
	var r Regimes
	n := Of(s)
	first := n[StartC].Value
	if math.IsNaN(first) {
		return r
	}
	r.FromCold = first < lim.ColdStart.Value
	if offset := n[ColdOffset].Value; !math.IsNaN(offset) {
		r.FromCold = offset < lim.ColdWithin.Value
	}
	opening := n[OpeningAt].Value
	begun := nan
	for i := 1; i < len(s.Time); i++ {
		dt := math.Min(s.Time[i]-s.Time[i-1], 30)
		on := s.EngineSpeed == nil || !(s.EngineSpeed[i] < trace.StoppedRevs)
		if on && math.IsNaN(begun) {
			begun = s.Time[i-1]
		}
		moving := s.RoadSpeed != nil && s.RoadSpeed[i] >= lim.DriverStill.Value
		switch {
		case math.IsNaN(begun):
		case !on:
			r.CoolDown += dt
		case first < lim.HotStart.Value && !(s.Time[i]-begun >= opening):
			r.WarmUp += dt
		case moving:
			r.DriveWarm += dt
		default:
			r.IdleWarm += dt
		}
	}
	return r
}

// Main is the one word for what the run is, by what it shows longest; a run
// from cold that warms up is "from-cold" however long it goes on. The words:
// from-cold, idle, drive, cool-down, and "none" for a run that shows nothing.
func (r Regimes) Main() string {
	lim := limits()
	switch {
	case r.FromCold && r.WarmUp >= 120:
		return "from-cold"
	case r.CoolDown > r.IdleWarm+r.DriveWarm && r.CoolDown >= lim.SoakLeast.Value:
		return "cool-down"
	case r.DriveWarm == 0 && r.IdleWarm == 0 && r.WarmUp == 0:
		return "none"
	case r.DriveWarm >= r.IdleWarm && r.DriveWarm > 0:
		return "drive"
	}
	return "idle"
}
