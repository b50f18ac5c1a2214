package sheetwork

import (
	"fmt"
	"strings"

	"weephole/internal/answer"
	"weephole/quantity"
)

// Section is one part of the sheet in words, in the order in which it is read.
type Section struct {
	Head  string `json:"head"`
	Paras []string
	Items []Item
}

// Item is one line of a section.
type Item struct {
	Mark string // "!" a caution, "□" to be filled in, "■" known, "1." a step, "-" else
	Text string
}

// Sections are the sheet's parts in the shop's units and money, cautions first.
func (s *Sheet) Sections(u quantity.Units, currency string) []Section {
	w := wording{u, currency}
	out := []Section{w.cautions(s), w.takes(s)}
	if len(s.Ask) > 0 {
		out = append(out, w.maker(s))
	}
	out = append(out, w.order(s))
	if len(s.Look) > 0 {
		look := Section{Head: "While it is open, look at"}
		for _, l := range s.Look {
			look.Items = append(look.Items, Item{"-", u.InText(l)})
		}
		for _, o := range s.Old {
			look.Items = append(look.Items, Item{"□", fmt.Sprintf("The old part's own evidence, into the job above the repair's line: - {check: %s, found: %s}", o.Check, strings.Join(o.Words, " | "))})
		}
		look.Items = append(look.Items, Item{"□", "What it showed, in your own words, for the owner (closing: showed:): " + blank})
		out = append(out, look)
	}
	if s.Fill != nil {
		out = append(out, w.fill(s.Fill))
	}
	for _, b := range s.Bleed {
		out = append(out, Section{Head: "Bleeding, thermostat at the " + b.Layout, Items: w.steps(b.Order)})
	}
	if s.Fill != nil {
		out = append(out, w.used(s))
	}
	return out
}

// Write prints the sheet.
func (s *Sheet) Write(p *answer.Page, u quantity.Units, currency string) {
	for _, part := range s.Sections(u, currency) {
		part.write(p)
	}
}

// WriteShort prints what comes before the work: cautions, what it takes, what
// only the maker's data can tell, and the coolant.
func (s *Sheet) WriteShort(p *answer.Page, u quantity.Units, currency string) {
	w := wording{u, currency}
	parts := []Section{w.cautions(s), w.takes(s)}
	if len(s.Ask) > 0 {
		parts = append(parts, w.maker(s))
	}
	if s.Fill != nil {
		parts = append(parts, w.fill(s.Fill))
	}
	for _, part := range parts {
		part.write(p)
	}
}

func (part *Section) write(p *answer.Page) {
	p.Head(part.Head)
	for _, t := range part.Paras {
		p.Para("", t)
	}
	for _, i := range part.Items {
		p.Item(i.Mark, i.Text)
	}
}

// wording says a sheet in a shop's units and money.
type wording struct {
	u        quantity.Units
	currency string
}

func (w wording) cautions(s *Sheet) Section {
	part := Section{Head: "Cautions, before anything is opened"}
	for _, c := range s.Cautions {
		part.Items = append(part.Items, Item{"!", w.u.InText(c)})
	}
	return part
}

func (w wording) takes(s *Sheet) Section {
	tools := ""
	if len(s.Tools) > 0 {
		tools = " Tools: " + strings.Join(s.Tools, ", ") + "."
	}
	return Section{Head: "Repair: " + s.Name, Paras: []string{w.u.InText(s.How),
		fmt.Sprintf("Usually %.0f to %.0f minutes (%.0f), parts %s to %s, consumables %s.%s",
			s.Minutes[0], s.Minutes[2], s.Minutes[1], answer.Money(s.Parts[0], w.currency), answer.Money(s.Parts[2], w.currency),
			answer.Money(s.Consumables, w.currency), tools)}}
}

// blank is a place to write in by hand.
const blank = "____________________"

func (w wording) maker(s *Sheet) Section {
	part := Section{Head: "From the maker's data (never guessed)"}
	open := false
	for _, a := range s.Ask {
		if a.Says == "" {
			open = true
			part.Items = append(part.Items, Item{"□", a.What + ": " + blank})
			continue
		}
		part.Items = append(part.Items, Item{"■", fmt.Sprintf("%s: %s (%s)", a.What, a.Says, a.From)})
	}
	if open {
		part.Paras = []string{"Look these up, and keep them in the job under vehicle: maker: (what, says, from); the next sheet for this car then has them."}
	}
	return part
}

func (w wording) steps(list []string) (out []Item) {
	for i, step := range list {
		out = append(out, Item{fmt.Sprintf("%d.", i+1), w.u.InText(step)})
	}
	return out
}

func (w wording) order(s *Sheet) Section {
	part := Section{Head: "Order of work", Items: w.steps(s.Order)}
	for _, t := range s.Thermostat {
		part.Items = append(part.Items, Item{"-", "Thermostat at the " + t.Layout + ": " + w.u.InText(strings.Join(t.Order, " "))})
	}
	return part
}

func (w wording) fill(f *Fill) Section {
	part := Section{Head: "Coolant of this car"}
	add := func(format string, args ...any) {
		part.Items = append(part.Items, Item{"-", fmt.Sprintf(format, args...)})
	}
	volume := func(v float64) string { return w.u.Volume(quantity.Volume(v)) }
	temperature := func(t float64) string { return w.u.Temperature(quantity.Temperature(t)) }
	guess := ""
	if f.VolumeGuess {
		guess = " (usual for such an engine; the maker's figure counts)"
	}
	add("Whole system: %s%s. About %s will drain.", volume(f.VolumeM3), guess, volume(f.DrainM3))
	cold := ""
	if f.ColdestC != nil {
		cold = " for " + temperature(*f.ColdestC)
	}
	add("Mix wanted%s: %s %s glycol by volume; first ice at %s.", cold, w.u.Share(quantity.Share(f.Target)), f.Glycol, temperature(f.FreezesC))
	fill := fmt.Sprintf("Fill in: %s of a mix with %s glycol", volume(f.DrainM3), w.u.Share(quantity.Share(f.FillWith)))
	if f.FillWith > 0 && f.FillWith < 1 {
		fill += fmt.Sprintf(" (%s of concentrate and %s of water)", volume(f.DrainM3*f.FillWith), volume(f.DrainM3*(1-f.FillWith)))
	}
	if f.Drains > 1 {
		fill += fmt.Sprintf(", %d times, with a warm-up in between", f.Drains)
	}
	add("%s, and as much more as was missing before.", fill)
	capNote := ""
	if f.CapGuess {
		capNote = " (a usual one; read what is stamped on it)"
	}
	add("Boils at %s under a cap of %s%s at this altitude, at %s without: %s above the temperature at which the fan should hold it.",
		temperature(f.BoilsC), w.u.Pressure(quantity.Pressure(f.CapPa)), capNote, temperature(f.OpenC),
		w.u.TemperatureDifference(quantity.TemperatureDifference(f.MarginK)))
	for _, n := range f.Notes {
		add("%s", n)
	}
	return part
}

func (w wording) used(s *Sheet) Section {
	r := &s.Used
	volume := func(v *float64) string {
		if v == nil {
			return blank
		}
		return w.u.Volume(quantity.Volume(*v))
	}
	text := func(s string) string {
		if s == "" {
			return blank
		}
		return s
	}
	mix := blank
	if r.Mix != nil {
		mix = w.u.Share(quantity.Share(*r.Mix))
	}
	expected := ""
	if s.Fill != nil && s.Fill.DrainM3 > 0 {
		expected = fmt.Sprintf(" (expected: %s)", w.u.Volume(quantity.Volume(s.Fill.DrainM3*float64(max(1, s.Fill.Drains)))))
	}
	return Section{Head: "Record of the used coolant", Paras: []string{r.Rules, "It is kept in the job under closing: coolant:."}, Items: []Item{
		{"-", "came out: " + volume(r.DrainedM3) + expected},
		{"-", "contamination (oil, rust, sealant, fuel, none): " + text(r.Looked)},
		{"-", "went to (collector, drum, receipt): " + text(r.Went)},
		{"-", "filled in: " + volume(r.FilledM3) + ", mix " + mix},
		{"-", "date and initials: " + text(r.When)},
	}}
}
