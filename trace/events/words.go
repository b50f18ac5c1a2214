package events

import (
	"fmt"
	"math"
	"strings"

	"weephole/quantity"
)

// wording prints numbers in the shop's units.
type wording struct{ u quantity.Units }

func (w wording) fahrenheit() bool { return w.u.TemperatureIn == "°F" }

// at is a temperature in degC as people read it: whole degrees.
func (w wording) at(c float64) string {
	if w.fahrenheit() {
		return fmt.Sprintf("%.0f °F", c*9/5+32)
	}
	return fmt.Sprintf("%.0f °C", c)
}

// by is a difference in K.
func (w wording) by(k float64) string {
	unit := "°C"
	if w.fahrenheit() {
		k, unit = k*9/5, "°F"
	}
	if math.Abs(k) < 2 {
		return fmt.Sprintf("%.1f %s", k, unit)
	}
	return fmt.Sprintf("%.0f %s", k, unit)
}

// between is a range of temperatures: "89–91 °C", or one if both round alike.
func (w wording) between(low, top float64) string {
	a, unit, _ := strings.Cut(w.at(low), " ")
	b, _, _ := strings.Cut(w.at(top), " ")
	if a == b {
		return a + " " + unit
	}
	return a + "–" + b + " " + unit
}

func (w wording) speed(ms float64) string {
	if w.u.SpeedIn == "mph" {
		return fmt.Sprintf("%.0f mph", ms/0.44704)
	}
	return fmt.Sprintf("%.0f km/h", ms*3.6)
}

func minutes(s float64) string {
	if s < 90 {
		return fmt.Sprintf("%.0f s", s)
	}
	if s < 3600 {
		return fmt.Sprintf("%.1f min", s/60)
	}
	return fmt.Sprintf("%.1f h", s/3600)
}

// Summary says in a few words what happened, in the shop's units: "opened at
// 91 °C after 8.9 min, holds 89–91 °C, fan never needed".
func (e Events) Summary(u quantity.Units) string {
	w := wording{u}
	var s []string
	switch {
	case e.Verdict == NoCoolant:
		return e.Why
	case e.Opening != nil:
		s = append(s, fmt.Sprintf("opened at %s after %s", w.at(e.Opening.C.Value), minutes(e.Opening.After.Value)))
	case e.Verdict == CannotTellYet:
		s = append(s, "cannot tell yet: "+e.WhyIn(u))
	case e.Verdict == StartedHot:
		s = append(s, "started hot at "+w.at(e.Start.C))
	case e.Verdict == RunsCold:
		s = append(s, "runs cold: "+e.WhyIn(u))
	}
	if e.Plateau != nil {
		s = append(s, "holds "+w.between(e.Plateau.LowC, e.Plateau.TopC))
	}
	if e.Verdict == Overheats {
		s = append(s, "overheats: "+e.WhyIn(u))
	}
	if f := e.Fan; f != nil {
		switch {
		case len(f.Cycles) > 0 && f.Logged && len(f.Cycles) == 1:
			s = append(s, fmt.Sprintf("fan runs once, from %s to %s", w.at(f.OnC.Value), w.at(f.OffC.Value)))
		case len(f.Cycles) > 0:
			p := ""
			if !math.IsNaN(f.Period.Value) {
				p = ", every " + minutes(f.Period.Value)
			}
			s = append(s, fmt.Sprintf("fan on at %s and off at %s%s", w.at(f.OnC.Value), w.at(f.OffC.Value), p))
		case f.Logged:
			s = append(s, "fan never ran")
		case f.Never:
			s = append(s, "fan never needed")
		}
	}
	for i, c := range e.Climbs {
		if i == 2 {
			s = append(s, fmt.Sprintf("and climbs %d times more", len(e.Climbs)-2))
			break
		}
		where := ""
		switch {
		case c.Standing:
			where = " at standstill"
		case !math.IsNaN(c.SpeedMS):
			where = " at " + w.speed(c.SpeedMS)
		}
		s = append(s, fmt.Sprintf("climbs to %s%s after %s", w.at(c.ToC), where, minutes(c.From)))
	}
	if e.Contact.Jumps > 0 && len(e.Jumps) > 0 {
		j := e.Jumps[0]
		s = append(s, fmt.Sprintf("the sensor jumps %d time(s), first from %s to %s at %s: no coolant does that", e.Contact.Jumps, w.at(j.FromC), w.at(j.ToC), minutes(j.At)))
	}
	if n := len(e.Soaks); n > 0 && !math.IsNaN(e.Soaks[n-1].SafeIn.Value) {
		s = append(s, fmt.Sprintf("below %s, when the cap may be tried, in %s", w.at(SafeC), SafeIn(e.Soaks[n-1].SafeIn)))
	}
	return strings.Join(s, ", ")
}

// WhyIn is Why in the given units.
func (e Events) WhyIn(u quantity.Units) string {
	if e.why == nil {
		return e.Why
	}
	return e.why(wording{u})
}

// SafeIn puts a Cooldown into words: "about 38 min (give or take 5)".
func SafeIn(s Estimate) string {
	switch {
	case math.IsNaN(s.Value):
		return "a time that the log does not show"
	case math.IsInf(s.Value, 0) || math.IsInf(s.Sigma, 0):
		return "no time that the log can show: the air around it is too warm"
	case s.Value <= 0:
		return "0 min"
	}
	return fmt.Sprintf("about %.0f min (give or take %.0f)", math.Ceil(s.Value/60), math.Ceil(s.Sigma/60))
}
