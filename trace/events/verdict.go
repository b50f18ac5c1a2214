package events

import (
	"fmt"
	"math"

	"weephole/quantity"
	"weephole/trace/internal/stat"
)

// Limits of the verdict; judgement. No thermostat of passenger cars holds above
// 105 degC, and fans come on by 110.
const (
	beyondAll   = 115.0
	neverOpened = 107.0 // without an opening; no thermostat is rated above 105
	beyondHold  = 15.0  // K above the plateau
	workingC    = 78.0  // a level below this is no working temperature
	levelSlope  = 0.25 / 60
	levelEnd    = 1.5  // K by which a level's end may lie above its middle
	shutHigher  = 10.0 // K by which a shut thermostat would be warmer, at worst
	levelLeast  = 360.0
	wholeDegree = 1.6 // K; one step of a whole-degree reading in mid-window fits a line that rises 1.5 K
)

// judge says in one word and one sentence what the shape tells.
func (r *run) judge() {
	e := r.events
	// say keeps the sentence as a function of the units in which it is read.
	say := func(v Verdict, sentence func(w wording) string) {
		e.Verdict, e.why = v, sentence
		e.Why = sentence(wording{quantity.Metric()})
	}
	level := r.level()
	switch {
	case e.MaxC.Value >= beyondAll:
		say(Overheats, func(w wording) string {
			return fmt.Sprintf("it reaches %s, above anything that a thermostat holds", w.at(e.MaxC.Value))
		})
	case e.Opening == nil && !e.Start.Hot && e.MaxC.Value >= neverOpened:
		say(Overheats, func(w wording) string {
			return fmt.Sprintf("it rises to %s and no thermostat has opened", w.at(e.MaxC.Value))
		})
	case e.Boiling != nil:
		say(Overheats, func(w wording) string {
			return fmt.Sprintf("it rises to %s and stays there as boiling coolant does", w.at(e.Boiling.C.Value))
		})
	case e.Plateau != nil && e.MaxC.Value > e.Plateau.C.Value+beyondHold && e.MaxC.Value > boilLeast:
		say(Overheats, func(w wording) string {
			return fmt.Sprintf("it holds %s at first and then climbs to %s", w.at(e.Plateau.C.Value), w.at(e.MaxC.Value))
		})
	case e.Opening != nil && e.Opening.FallC > 0:
		say(Opened, func(w wording) string {
			return fmt.Sprintf("it rises to %s, falls by %s and then holds", w.at(e.Opening.PeakC), w.by(e.Opening.FallC))
		})
	case e.Opening != nil:
		say(Opened, func(w wording) string {
			return fmt.Sprintf("it levels off at %s while the engine gives heat enough to go on rising", w.at(e.Opening.C.Value))
		})
	case level != nil && (!e.Start.Hot || e.Plateau != nil):
		say(RunsCold, level)
	case e.Start.Hot:
		say(StartedHot, func(w wording) string {
			return fmt.Sprintf("the log begins at %s, so the opening was not seen", w.at(e.Start.C))
		})
	default:
		say(CannotTellYet, r.tooShort())
	}
}

// level tells, in a clause, of a drive that levels off too cold although a shut
// thermostat would have let it rise; "" if that cannot be said.
func (r *run) level() func(wording) string {
	n := len(r.time) - 1
	for n > 0 && !r.on[n] {
		n--
	}
	from := r.before(n, math.Max(levelLeast, 0.4*(r.time[n]-r.time[0])))
	span := r.time[n] - r.time[from]
	if span < levelLeast || r.events.MaxC.Value > workingC+4 {
		return nil
	}
	hold := r.s[from : n+1]
	at := stat.Median(hold)
	_, slope, _ := stat.Line(r.time[from:n+1], hold, 60)
	if !(at < workingC) || !(slope < levelSlope) || stat.Deviation(hold) > 6 || stat.Mean(r.s[r.before(n, 120):n+1]) > at+levelEnd {
		return nil
	}
	shut := r.h.shutLevel(from, n+1)
	if shut < at+shutHigher {
		return nil
	}
	return func(w wording) string {
		return fmt.Sprintf("it stays near %s for the last %.0f min, and with a thermostat that shuts the heat (by %s) would have carried it to %s or the opening, whatever the heater took", w.at(at), span/60, r.h.from, w.at(math.Min(shut, openingC)))
	}
}

// tooShort says why nothing can be told yet.
func (r *run) tooShort() func(wording) string {
	e := r.events
	n := len(r.time) - 1
	from := r.before(n, 240)
	_, slope, _ := stat.Line(r.time[from:n+1], r.s[from:n+1], 30)
	heat := ""
	if share := e.Heat.Given.Value / e.Heat.Needed.Value; share < 1.5 {
		heat = fmt.Sprintf("; the heat that went in is about %.0f %% of what this start needs to open it, give or take a third", math.Round(20*share)*5)
	}
	return func(w wording) string {
		if slope*(r.time[n]-r.time[from]) > wholeDegree {
			return fmt.Sprintf("the log ends after %.0f min at %s and still rising by %s a minute, so the thermostat cannot be judged%s", e.Duration/60, w.at(e.EndC), w.by(slope*60), heat)
		}
		return fmt.Sprintf("the log ends after %.0f min at %s with too little heat going in to raise it further, so the thermostat cannot be judged%s", e.Duration/60, w.at(e.EndC), heat)
	}
}
