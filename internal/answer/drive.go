package answer

import (
	"fmt"
	"math"
	"strings"

	"weephole/internal/work"
	"weephole/margin"
	"weephole/quantity"
)

// TripFacts is what a trip with a car would be like.
type TripFacts struct {
	*work.TripForecast
	Lines []Line `json:"lines"`
}

// ForDrive puts a trip into words: cautions first, then the advice, then why.
func ForDrive(w *work.TripForecast, s Style) *TripFacts {
	a := &TripFacts{w, []Line{}}
	if w.Advice != margin.Never {
		for _, c := range w.Cautions {
			a.say(Caution, "%s", c)
		}
		a.say(Caution, "Stop, and switch the engine off, when the needle leaves its usual place, the heater blows cold, or there is steam.")
	}
	a.advice()
	if w.Advice == margin.Never {
		return a
	}
	a.figures(s.Units)
	a.help(s.Units)
	a.say(Engines, "%d engines that fit were driven (%d different ones). This is no promise: the gauge and the road come first.", w.Engines, w.Distinct)
	return a
}

func (a *TripFacts) say(k Kind, format string, args ...any) {
	a.Lines = append(a.Lines, Line{k, fmt.Sprintf(format, args...)})
}

func (a *TripFacts) advice() {
	switch a.Advice {
	case margin.Never:
		for _, b := range a.Bans {
			a.say(Verdict, "No. Do not start this engine: %s. Have it carried.", b)
		}
		if len(a.Bans) == 0 {
			a.say(Verdict, "No. Do not start this engine: most engines that fit have too little coolant in them (%s). Have it carried, or fill it up cold and ask again.", Percent(a.Dry))
		}
	case margin.Carry:
		a.say(Verdict, "Have it carried.")
		for _, why := range a.Why {
			switch why {
			case margin.WhyUnnamed:
				a.say(Reasoning, "With a probability of %s the cause is none that this program knows.", Percent(a.Unnamed))
			case margin.WhyRough:
				a.say(Reasoning, "Too few simulated engines fit to say more.")
			}
		}
	default:
		a.say(Verdict, "It may be driven, watching the gauge all the way.")
	}
}

func (a *TripFacts) figures(u quantity.Units) {
	step := PrecisionOf(a.Error)
	a.say(Figures, "The chance that it gets too hot on this trip (%s, outside air %s) is %s.",
		Time(a.Trip.Minutes()), u.Temperature(quantity.Temperature(a.AirC)), step.Percent(a.Chance))
	if a.When != nil && step.Tells(a.Chance) {
		a.say(Result, "If it does, then mostly in part %d of the trip (%s), after %s.", a.Part+1, a.Trip[a.Part].Duty.Name, minutes(a.When))
	}
	if a.StopBy >= 0 && step.Tells(a.Chance) {
		a.say(StopAt, "If it is driven all the same, stop by minute %.0f at the latest (part %d, %s).", math.Floor(a.StopBy), a.StopPart+1, a.Trip[a.StopPart].Duty.Name)
	}
}

func minutes(r *margin.MiddleRange) string {
	low, high := math.Round(r.Low), math.Round(r.High)
	if low == high {
		return fmt.Sprintf("about %.0f min", low)
	}
	return fmt.Sprintf("%.0f to %.0f min", low, high)
}

// helpSays names each help.
var helpSays = map[string]string{
	margin.HelpHeater:  "Heater on full, windows open",
	margin.HelpAirCon:  "Air conditioning off",
	margin.HelpNoStops: "A way without stops",
	margin.HelpAll:     "All of these together",
}

// help says what each help does, and names those that do nothing in one line.
func (a *TripFacts) help(u quantity.Units) {
	var idle []string
	step := PrecisionOf(a.Error)
	for i := range a.Helps {
		h := &a.Helps[i]
		says := helpSays[h.ID]
		switch h.ID {
		case margin.HelpSlower:
			says = fmt.Sprintf("Driving at %.0f %% of the speed", 100*h.Manner.Pace)
		case margin.HelpEvening:
			says = fmt.Sprintf("Going when it is %s cooler", kelvins(h.Manner.CoolerBy, u))
		}
		if math.Round(h.Cooler) < 1 && step.Percent(h.Chance) == step.Percent(a.Chance) {
			idle = append(idle, Lower(says))
			continue
		}
		than := "about as hot"
		switch k := math.Round(h.Cooler); {
		case k > 1:
			than = kelvins(k, u) + " cooler"
		case k < -1:
			than = kelvins(-k, u) + " hotter"
		}
		a.say(Switch, "%s: the chance is %s, the coolant at its hottest is %s.", says, step.Percent(h.Chance), than)
	}
	if len(idle) > 0 {
		a.say(Switch, "No difference here: %s.", strings.Join(idle, "; "))
	}
}

// Drive writes how a trip would go.
func (p *Page) Drive(a *TripFacts) {
	if a.Advice != margin.Never {
		p.Head("Before you drive")
		for _, c := range Only(a.Lines, Caution) {
			p.Item("!", c)
		}
	}
	p.Head("Will it get there?")
	for _, l := range a.Lines {
		switch l.Kind {
		case Caution:
		case Switch:
			p.Item("-", l.Text)
		default:
			p.Para("", l.Text)
		}
	}
}
