package answer

import (
	"fmt"
	"math"
	"strings"

	"weephole/internal/chart"
	"weephole/internal/work"
	"weephole/margin"
	"weephole/quantity"
)

// MarginFacts is what the margin of a car says.
type MarginFacts struct {
	*work.CarMargin
	Lines    []Line `json:"lines"`
	Warnings []Line `json:"warnings"`
	// Picture is before and after, with text for who cannot see it.
	Picture *chart.Ranges `json:"-"`
}

// ForMargin puts a margin into words.
func ForMargin(w *work.CarMargin, s Style) *MarginFacts {
	a := &MarginFacts{CarMargin: w, Lines: []Line{}, Warnings: []Line{}, Picture: MarginPicture(w, s.Units)}
	a.warn()
	what := strings.Join(w.Names, ", and ")
	switch {
	case w.Done:
		a.say(Doing, "Before and after the repair (%s). \"After\" rests on what has been found since.", what)
	case len(w.Repairs) > 0:
		a.say(Doing, "As it is, and after the repair: %s.", what)
	default:
		a.say(Doing, "As it is. No repair is suggested.")
	}
	for i := range w.Duties {
		a.duty(&w.Duties[i], s.Units)
	}
	if list := a.eaters(s); len(list) > 0 {
		head := "What takes cooling away"
		if len(a.Repairs) > 0 {
			head = "What may take cooling away even after the repair"
		}
		a.say(Open, "%s: %s.", head, strings.Join(list, "; "))
	}
	a.say(Engines, "Each range holds 80 %% of the %d simulated engines that were tried (%d different ones). That real cars differ from simulated ones is allowed for.", w.Engines, w.Distinct)
	return a
}

func (a *MarginFacts) say(k Kind, format string, args ...any) {
	a.Lines = append(a.Lines, Line{k, fmt.Sprintf(format, args...)})
}

func (a *MarginFacts) warn() {
	for _, b := range a.Bans {
		a.Warnings = append(a.Warnings, Line{Caution, "Do not run this engine: " + b + "."})
	}
	if a.Rough {
		a.Warnings = append(a.Warnings, Line{FewEngines, "Few simulated engines fit; the figures are rough."})
	}
	if a.Unnamed > unnamedTold {
		a.Warnings = append(a.Warnings, Line{NothingFits, fmt.Sprintf("With a probability of %s the cause is none that this program knows. The ranges leave it out.", Percent(a.Unnamed))})
	}
}

// unnamedTold is the probability of an unknown cause from which it is told:
// judgement.
const unnamedTold = 0.05

// coldestTriedC is air, degC, below which no margin is looked for (lowest-air of
// package margin).
const coldestTriedC = -40

func (a *MarginFacts) duty(d *margin.InDuty, u quantity.Units) {
	found := &d.Found
	now, sound := air(&found.Highest, u), air(&d.Sound.Highest, u)
	after := now
	if d.After != nil {
		after = air(&d.After.Highest, u)
	}
	text := Sentence(d.Duty.Name) + ": " + now
	switch {
	case now == sound && after == sound:
		text += ", like a sound car of this kind."
	case after == sound:
		text += "; after the repair: " + after + ", like a sound car of this kind."
	case d.After != nil:
		text += "; after the repair: " + after + "; a sound car of this kind: " + sound + "."
	default:
		text += "; a sound car of this kind: " + sound + "."
	}
	a.say(Figures, "%s", text)
	day := u.Temperature(quantity.Temperature(a.DayC))
	switch {
	case found.Passes >= margin.Outside:
		a.say(Verdict, "On a day of %s it gets too hot there with a probability of %s.", day, Percent(found.Passes))
	case found.InHand.Low >= 0:
		a.say(Verdict, "On a day of %s it has %s in hand or more.", day, kelvins(found.InHand.Low, u))
	default:
		a.say(Verdict, "On a day of %s it is close to its limit.", day)
	}
	if d.After == nil {
		return
	}
	switch after := d.After; {
	case after.Passes >= margin.Outside:
		a.say(Open, "The repair does not settle this: afterwards it is still too hot there with a probability of %s.", Percent(after.Passes))
	case after.InHand.Low >= 0 && d.Sound.Highest.Middle-after.Highest.Middle > littleK:
		a.say(Open, "Afterwards it has %s in hand or more, but less than a sound car of its kind.", kelvins(after.InHand.Low, u))
	}
}

// littleK is how much margin must be missing to be told, K: judgement.
const littleK = 5

// kelvins says a difference, never finer than a kelvin.
func kelvins(k float64, u quantity.Units) string {
	return u.TemperatureDifference(quantity.TemperatureDifference(math.Floor(k)))
}

// hottestWeatherC is air that no weather reaches, degC: the hottest on record is
// 56.7 degC (World Meteorological Organization, from memory), rounded up.
const hottestWeatherC = 60

// air says up to which outside air a duty can be driven. Beyond any weather the
// number has no meaning for a car.
func air(r *margin.MiddleRange, u quantity.Units) string {
	t := func(v float64) string {
		switch {
		case v >= hottestWeatherC:
			return u.Temperature(hottestWeatherC) + " or more"
		case v <= coldestTriedC:
			return u.Temperature(coldestTriedC) + " or less"
		}
		return u.Temperature(quantity.Temperature(math.Round(v)))
	}
	switch low := t(r.Low); {
	case r.Low >= hottestWeatherC:
		return "cool enough in any weather"
	case r.High <= coldestTriedC:
		return "too hot even in the cold"
	case r.Middle >= hottestWeatherC && r.Low <= coldestTriedC:
		return "probably cool enough in any weather (10 % of the engines: too hot even in the cold)"
	case r.Middle >= hottestWeatherC:
		return "probably cool enough in any weather (10 % of the engines: up to " + low + " at most)"
	case low == t(r.High):
		return "up to " + low
	case r.Middle <= coldestTriedC && r.High >= hottestWeatherC:
		return "probably too hot even in the cold (10 % of the engines: cool enough in any weather)"
	case r.Middle <= coldestTriedC:
		return fmt.Sprintf("probably too hot even in the cold (10 %% of the engines: cool enough up to %s or more)", t(r.High))
	default:
		return fmt.Sprintf("up to %s (%s to %s)", t(r.Middle), low, t(r.High))
	}
}

// eaters says what takes margin, and what it would cost to mend it here: three at most.
func (a *MarginFacts) eaters(s Style) (list []string) {
	for i, e := range a.Losses {
		if e.Share < eaterTold || e.Takes < littleK {
			continue
		}
		text := fmt.Sprintf("probability %s; takes %s", Percent(e.Share), taken(e.Takes, s.Units))
		if i < len(a.Bills) && a.Bills[i] > 0 {
			text += "; parts and labour about " + s.money(a.Bills[i])
		}
		if list = append(list, fmt.Sprintf("%s (%s)", Article(e.Name), text)); len(list) == mostEaters {
			break
		}
	}
	return list
}

// wholeK is how much of the outside air that a car can stand is as good as all, K: from the
// hottest weather down to frost, judgement.
const wholeK = 60

// taken says how much of the outside air that a car can stand a fault takes. Where all is
// lost the number says no more.
func taken(kelvin float64, u quantity.Units) string {
	if kelvin >= wholeK {
		return "all of it"
	}
	return "about " + kelvins(kelvin, u) + " of the outside air that the car can stand"
}

const mostEaters = 3 // that are named: judgement

// eaterTold is the share of engines from which a fault is named: judgement.
const eaterTold = 0.05

// Margin writes the margin of a car.
func (p *Page) Margin(a *MarginFacts) {
	for _, w := range a.Warnings {
		p.Item("!", w.Text)
	}
	p.Head("How much cooling is left")
	for _, l := range a.Lines {
		switch l.Kind {
		case Verdict, Open:
			p.Para("  ", l.Text)
		default:
			p.Para("", l.Text)
		}
	}
	if a.Picture != nil && len(a.Duties) > 1 {
		p.printf("\n%s", a.Picture.Text(chart.Terminal{Width: p.Width}))
	}
}
