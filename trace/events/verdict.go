package events

import (
	"fmt"
	"math"

	"weephole/quantity"
	"weephole/trace/internal/stat"
)

// judge says in one word and one sentence what the shape tells.
func (r *run) judge() {
	lim := limits()
	e := r.events
	// say keeps the sentence as a function of the units in which it is read.
	say := func(v Verdict, sentence func(w wording) string) {
		e.Verdict, e.why = v, sentence
		e.Why = sentence(wording{quantity.Metric()})
	}
	level := r.level()
	switch {
	case e.MaxC.Value >= lim.BeyondAll.Value:
		say(Overheats, func(w wording) string {
			return fmt.Sprintf("it reaches %s, above anything that a thermostat holds", w.at(e.MaxC.Value))
		})
	case e.Opening == nil && !e.Start.Hot && e.MaxC.Value >= lim.NeverOpened.Value:
		say(Overheats, func(w wording) string {
			return fmt.Sprintf("it rises to %s and no thermostat has opened", w.at(e.MaxC.Value))
		})
	case e.Boiling != nil:
		say(Overheats, func(w wording) string {
			return fmt.Sprintf("it rises to %s and stays there as boiling coolant does", w.at(e.Boiling.C.Value))
		})
	case e.Plateau != nil && e.MaxC.Value > e.Plateau.C.Value+lim.BeyondHold.Value && e.MaxC.Value > lim.BoilLeast.Value:
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
	lim := limits()
	n := len(r.time) - 1
	for n > 0 && !r.on[n] {
		n--
	}
	from := r.before(n, math.Max(lim.LevelLeast.Value, lim.LevelShare.Value*(r.time[n]-r.time[0])))
	span := r.time[n] - r.time[from]
	if span < lim.LevelLeast.Value || r.events.MaxC.Value > lim.Working.Value+lim.WorkingMore.Value {
		return nil
	}
	hold := r.s[from : n+1]
	at := stat.Median(hold)
	_, slope, _ := stat.Line(r.time[from:n+1], hold, lim.LevelApart.Value)
	if !(at < lim.Working.Value) || !(slope < lim.LevelSlope.Value/60) || stat.Deviation(hold) > lim.LevelSwing.Value || stat.Mean(r.s[r.before(n, lim.LevelLast.Value):n+1]) > at+lim.LevelEnd.Value {
		return nil
	}
	shut := r.h.shutLevel(from, n+1)
	if shut < at+lim.ShutHigher.Value {
		return nil
	}
	return func(w wording) string {
		return fmt.Sprintf("it stays near %s for the last %.0f min, and with a thermostat that shuts the heat (by %s) would have carried it to %s or the opening, whatever the heater took", w.at(at), span/60, r.h.from, w.at(math.Min(shut, openingC)))
	}
}

// tooShort says why nothing can be told yet.
func (r *run) tooShort() func(wording) string {
	lim := limits()
	e := r.events
	n := len(r.time) - 1
	from := r.before(n, lim.ShortOver.Value)
	_, slope, _ := stat.Line(r.time[from:n+1], r.s[from:n+1], lim.LineApart.Value)
	heat := ""
	if share := e.Heat.Given.Value / e.Heat.Needed.Value; share < lim.ShortHeat.Value {
		heat = fmt.Sprintf("; the heat that went in is about %.0f %% of what this start needs to open it, give or take a third", math.Round(20*share)*5)
	}
	return func(w wording) string {
		if slope*(r.time[n]-r.time[from]) > lim.WholeDegree.Value {
			return fmt.Sprintf("the log ends after %.0f min at %s and still rising by %s a minute, so the thermostat cannot be judged%s", e.Duration/60, w.at(e.EndC), w.by(slope*60), heat)
		}
		return fmt.Sprintf("the log ends after %.0f min at %s with too little heat going in to raise it further, so the thermostat cannot be judged%s", e.Duration/60, w.at(e.EndC), heat)
	}
}
