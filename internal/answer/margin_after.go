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

// MarginPicture draws up to which outside air the car can be driven in each way,
// as it is and after the repair.
func MarginPicture(m *work.CarMargin, u quantity.Units) *chart.Ranges {
	unit := u.TemperatureIn
	if unit == "" {
		unit = "°C"
	}
	to := scale{u}.temperature
	r := &chart.Ranges{
		Title: "Up to which outside air it stays cool enough",
		Axis:  chart.Axis{Label: "outside air, " + unit, Min: math.Round(to(coldestDrawnC)), Max: math.Round(to(hottestWeatherC))},
		Names: []string{"as it is"},
		Mark:  to(m.DayC), MarkName: "the day that counts, " + u.Temperature(quantity.Temperature(m.DayC)),
	}
	if m.Done {
		r.Names[0] = "before the repair"
	}
	if len(m.Repairs) > 0 {
		r.Names = append(r.Names, "after the repair")
	}
	var told []string
	span := func(x *margin.MiddleRange) chart.RangeSpan {
		return chart.RangeSpan{Low: to(x.Low), Middle: to(x.Middle), High: to(x.High)}
	}
	for i := range m.Duties {
		d := &m.Duties[i]
		row := chart.RangeRow{Label: d.Duty.Name, Spans: []chart.RangeSpan{span(&d.Found.Highest)}}
		text := Sentence(d.Duty.Name) + ": " + air(&d.Found.Highest, u)
		if d.After != nil && len(m.Repairs) > 0 {
			row.Spans = append(row.Spans, span(&d.After.Highest))
			text += "; after the repair: " + air(&d.After.Highest, u)
		}
		r.Rows, told = append(r.Rows, row), append(told, text+".")
	}
	r.Desc = strings.Join(told, " ")
	return r
}

// coldestDrawnC is where the picture begins, degC: colder days are not what a car
// overheats on. Design choice.
const coldestDrawnC = -20

// After is what a repair has done to the margin, for a proof and for the owner.
type After struct {
	Gains  []string // "Before the repair, a long climb: up to 22 °C ...; now ..."
	Little string   // where little is left; "" where enough is
	Eats   string   // what else takes margin, and what that costs; "" for nothing known
	Enough string   // that enough is left; "" where it is not, or the gains have said so
}

const mostGains = 1 // ways of driving that are told, the one that gains most: judgement

// AfterRepair says what the repair has done to the margin, or would do.
func AfterRepair(m *work.CarMargin, s Style) After {
	var out After
	u := s.Units
	before, now := "Before the repair", "now"
	if !m.Done {
		before, now = "As it is", "after the repair"
	}
	// Those that gain most first; nobody drives in air hotter than any weather.
	clip := func(x float64) float64 { return min(x, hottestWeatherC) }
	used, sound := map[int]bool{}, map[int]bool{}
	for len(out.Gains) < mostGains {
		best, most := -1, littleK*1.0
		for i := range m.Duties {
			if d := &m.Duties[i]; d.After != nil && !used[i] {
				if gain := clip(d.After.Highest.Middle) - clip(d.Found.Highest.Middle); gain >= most {
					best, most = i, gain
				}
			}
		}
		if best < 0 {
			break
		}
		used[best] = true
		d := &m.Duties[best]
		text := fmt.Sprintf("%s, %s: %s; %s: %s", before, d.Duty.Name, air(&d.Found.Highest, u), now, air(&d.After.Highest, u))
		if air(&d.After.Highest, u) == air(&d.Sound.Highest, u) {
			text += ", like a sound car of this kind"
			sound[best] = true
		}
		out.Gains = append(out.Gains, text+".")
	}
	worst := -1
	for i := range m.Duties {
		d := &m.Duties[i]
		if d.After != nil && (worst < 0 || d.After.Passes > m.Duties[worst].After.Passes || d.After.Passes == m.Duties[worst].After.Passes && d.After.InHand.Low < m.Duties[worst].After.InHand.Low) {
			worst = i
		}
	}
	if worst < 0 {
		return out
	}
	d, day := &m.Duties[worst], u.Temperature(quantity.Temperature(m.DayC))
	switch a := d.After; {
	case a.Passes >= margin.Outside && a.Passes-d.Sound.Passes >= margin.Outside/2:
		out.Little = fmt.Sprintf("Little is left for a hot day: in air of %s it may still get too hot (%s) with a probability of %s. For a sound car of this kind it would be %s.",
			day, d.Duty.Name, Percent(a.Passes), Percent(d.Sound.Passes))
	case a.Passes >= margin.Outside:
		out.Little = fmt.Sprintf("In air of %s it gets too hot (%s) with a probability of %s, as a sound car of this kind would.", day, d.Duty.Name, Percent(a.Passes))
	case !sound[worst]: // else the worst way of driving stands among the gains
		out.Enough = fmt.Sprintf("In air of %s it stays below its limit in every way of driving. The probability is lowest for %s: %s.", day, d.Duty.Name, Percent(1-a.Passes))
	}
	if list := (&MarginFacts{CarMargin: m}).eaters(s); len(list) > 0 {
		out.Eats = "What else may take cooling away: " + strings.Join(list, "; ") + "."
	}
	return out
}

func (a *ProofFacts) margin(s Style) {
	if a.Margin == nil {
		return
	}
	m := AfterRepair(a.Margin, s)
	for _, text := range m.Gains {
		a.say(Figures, "%s", text)
	}
	if m.Enough != "" {
		a.say(Reserve, "%s", m.Enough)
	}
	if m.Little != "" {
		a.say(Open, "%s", m.Little)
	}
	if m.Eats != "" && (m.Little != "" || a.Done) {
		a.say(Open, "%s", m.Eats)
	}
}
