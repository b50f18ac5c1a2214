package sheetwork

import (
	"fmt"
	"strings"

	"weephole/internal/answer"
	"weephole/quantity"
)

// Write prints the sheet, cautions first.
func (s *Sheet) Write(p *answer.Page, u quantity.Units, currency string) {
	p.Head("Cautions, before anything is opened")
	for _, c := range s.Cautions {
		p.Item("!", c)
	}
	p.Head("Repair: " + s.Name)
	p.Para("", s.How)
	p.Para("", fmt.Sprintf("Usually %.0f to %.0f minutes (%.0f), parts %s to %s, consumables %s. Tools: %s.",
		s.Minutes[0], s.Minutes[2], s.Minutes[1], answer.Money(s.Parts[0], currency), answer.Money(s.Parts[2], currency),
		answer.Money(s.Consumables, currency), strings.Join(s.Tools, ", ")))
	if len(s.Ask) > 0 {
		p.Head("From the maker's data (never guessed)")
		for _, a := range s.Ask {
			if a.Says == "" {
				p.Item("□", a.What+": ____________________")
				continue
			}
			p.Item("■", fmt.Sprintf("%s: %s (%s)", a.What, a.Says, a.From))
		}
	}
	p.Head("Order of work")
	for i, step := range s.Order {
		p.Item(fmt.Sprintf("%d.", i+1), step)
	}
	for _, t := range s.Thermostat {
		p.Item("-", "Thermostat at the "+t.Layout+": "+strings.Join(t.Order, " "))
	}
	if len(s.Look) > 0 {
		p.Head("While it is open, look at")
		for _, l := range s.Look {
			p.Item("-", l)
		}
	}
	if s.Fill != nil {
		s.writeFill(p, u)
	}
	for _, b := range s.Bleed {
		p.Head("Bleeding, thermostat at the " + b.Layout)
		for i, step := range b.Order {
			p.Item(fmt.Sprintf("%d.", i+1), step)
		}
	}
	if s.Fill != nil {
		s.Used.write(p, u)
	}
}

func (s *Sheet) writeFill(p *answer.Page, u quantity.Units) {
	f := s.Fill
	p.Head("Coolant of this car")
	guess := ""
	if f.VolumeGuess {
		guess = " (usual for such an engine; the maker's figure counts)"
	}
	p.Item("-", fmt.Sprintf("Whole system: %s%s. About %s will drain.", u.Volume(quantity.Volume(f.VolumeM3)), guess, u.Volume(quantity.Volume(f.DrainM3))))
	cold := ""
	if f.ColdestC != nil {
		cold = " for " + u.Temperature(quantity.Temperature(*f.ColdestC))
	}
	p.Item("-", fmt.Sprintf("Mix wanted%s: %s %s glycol by volume; first ice at %s.", cold, u.Share(quantity.Share(f.Target)), f.Glycol, u.Temperature(quantity.Temperature(f.FreezesC))))
	fill := fmt.Sprintf("Fill in: %s glycol", u.Share(quantity.Share(f.FillWith)))
	if f.Drains > 1 {
		fill += fmt.Sprintf(", %d times, with a warm-up in between", f.Drains)
	}
	p.Item("-", fill+".")
	capNote := ""
	if f.CapGuess {
		capNote = " (a usual one; read what is stamped on it)"
	}
	p.Item("-", fmt.Sprintf("Boils at %s under a cap of %s%s at this altitude, at %s without: %s above the temperature at which the fan should hold it.",
		u.Temperature(quantity.Temperature(f.BoilsC)), u.Pressure(quantity.Pressure(f.CapPa)), capNote, u.Temperature(quantity.Temperature(f.OpenC)),
		u.TemperatureDifference(quantity.TemperatureDifference(f.MarginK))))
	for _, n := range f.Notes {
		p.Item("-", n)
	}
}

func (r *Used) write(p *answer.Page, u quantity.Units) {
	p.Head("Record of the used coolant")
	volume := func(v *float64) string {
		if v == nil {
			return "____________"
		}
		return u.Volume(quantity.Volume(*v))
	}
	text := func(s string) string {
		if s == "" {
			return "____________"
		}
		return s
	}
	mix := "____________"
	if r.Mix != nil {
		mix = u.Share(quantity.Share(*r.Mix))
	}
	p.Item("-", "came out: "+volume(r.DrainedM3))
	p.Item("-", "contamination: "+text(r.Looked))
	p.Item("-", "went to: "+text(r.Went))
	p.Item("-", "filled in: "+volume(r.FilledM3)+", mix "+mix)
	p.Para("", r.Rules)
}
