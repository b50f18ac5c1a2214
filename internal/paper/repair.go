package paper

import (
	"fmt"
	"io"
	"strings"

	"weephole/internal/answer"
	"weephole/internal/work"
	"weephole/quantity"
)

// Part is one part of a repair sheet in words, in the order in which it is read.
type Part struct {
	Kind  PartKind
	Head  string
	Paras []string
	Items []Item
}

// PartKind is what a part of a repair sheet is about.
type PartKind string

// The parts of a repair sheet.
const (
	SheetCautions PartKind = "cautions"
	SheetTakes    PartKind = "takes"
	SheetMaker    PartKind = "maker"
	SheetOrder    PartKind = "order"
	SheetLook     PartKind = "look"
	SheetCoolant  PartKind = "coolant"
	SheetBleeding PartKind = "bleeding"
	SheetUsed     PartKind = "used"
)

// Item is one line of a part.
type Item struct {
	Mark string // "!" a caution, "□" to be filled in, "■" known, "1." a step, "-" else
	Text string
}

// Heading says whose sheet it is.
type Heading struct {
	Shop string
	Car  string
	Job  string
	Logo *Logo // nil: none
}

// HeadingOf is the heading for a job's sheets.
func HeadingOf(w *work.Work) Heading {
	return Heading{Shop: w.Job.Shop.Name, Car: w.Job.Vehicle.Name, Job: w.Job.Name}
}

// RepairSheet writes the sheets of a job as one page to print and lay beside the
// work: places to write in, boxes to tick, nothing from elsewhere.
func RepairSheet(w io.Writer, h Heading, sheets []*work.Sheet, s answer.Style) error {
	type one struct{ Parts []Part }
	data := struct {
		Heading
		Sheets []one
	}{Heading: h}
	for _, x := range sheets {
		data.Sheets = append(data.Sheets, one{Parts(x, s)})
	}
	return set(w, repairPage, data)
}

// Parts are the sheet's parts in the shop's units and money, cautions first.
func Parts(s *work.Sheet, style answer.Style) []Part {
	w := wording{style.Units, style.Currency}
	out := []Part{w.cautions(s), w.takes(s)}
	if len(s.Ask) > 0 {
		out = append(out, w.maker(s))
	}
	out = append(out, w.order(s))
	if len(s.Look) > 0 {
		look := Part{Kind: SheetLook, Head: "While it is open, look at"}
		for _, l := range s.Look {
			look.Items = append(look.Items, Item{"-", w.u.InText(l)})
		}
		for _, o := range s.Old {
			look.Items = append(look.Items, Item{"□", fmt.Sprintf("Check the old part (%s). Enter the result before you enter the repair: %s.", o.Name, answer.Or(o.Says))})
		}
		look.Items = append(look.Items, Item{"□", "What you saw, in your own words, for the owner: " + blank})
		out = append(out, look)
	}
	if s.Fill != nil {
		out = append(out, w.fill(s.Fill))
	}
	for _, b := range s.Bleed {
		out = append(out, Part{Kind: SheetBleeding, Head: "Bleeding, thermostat at the " + b.Layout, Items: w.steps(b.Order)})
	}
	if s.Fill != nil {
		out = append(out, w.used(s))
	}
	return out
}

// WriteSheet prints a sheet. Short leaves out what belongs to the work itself: the
// order, what to look at, bleeding and the record of the used coolant.
func WriteSheet(p *answer.Page, sheet *work.Sheet, s answer.Style, short bool) {
	for _, part := range Parts(sheet, s) {
		switch part.Kind {
		case SheetOrder, SheetLook, SheetBleeding, SheetUsed:
			if short {
				continue
			}
		}
		p.Head(part.Head)
		for _, t := range part.Paras {
			p.Para("", t)
		}
		for _, i := range part.Items {
			p.Item(i.Mark, i.Text)
		}
	}
}

// wording says a sheet in a shop's units and money.
type wording struct {
	u        quantity.Units
	currency string
}

func (w wording) cautions(s *work.Sheet) Part {
	part := Part{Kind: SheetCautions, Head: "Cautions: read before you open anything"}
	for _, c := range s.Cautions {
		part.Items = append(part.Items, Item{"!", w.u.InText(c)})
	}
	return part
}

func (w wording) takes(s *work.Sheet) Part {
	tools := ""
	if len(s.Tools) > 0 {
		tools = " Tools: " + strings.Join(s.Tools, ", ") + "."
	}
	return Part{Kind: SheetTakes, Head: "Repair: " + s.Name, Paras: []string{w.u.InText(s.How),
		fmt.Sprintf("Usually %s to %s, most often %s. Parts %s to %s, consumables %s.%s",
			answer.Time(s.Minutes[0]), answer.Time(s.Minutes[2]), answer.Time(s.Minutes[1]), answer.Money(s.Parts[0], w.currency), answer.Money(s.Parts[2], w.currency),
			answer.Money(s.Consumables, w.currency), tools)}}
}

// blank is a place to write in by hand.
const blank = "____________________"

func (w wording) maker(s *work.Sheet) Part {
	part := Part{Kind: SheetMaker, Head: "From the maker's data"}
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
		part.Paras = []string{"The program never guesses these. Look them up, and keep them with the car: what the maker says, and where it stands. The next sheet for this car will have them."}
	}
	return part
}

func (w wording) steps(list []string) (out []Item) {
	for i, step := range list {
		out = append(out, Item{fmt.Sprintf("%d.", i+1), w.u.InText(step)})
	}
	return out
}

func (w wording) order(s *work.Sheet) Part {
	part := Part{Kind: SheetOrder, Head: "Order of work", Items: w.steps(s.Order)}
	for _, t := range s.Thermostat {
		part.Items = append(part.Items, Item{"-", "Thermostat at the " + t.Layout + ": " + w.u.InText(strings.Join(t.Order, " "))})
	}
	return part
}

func (w wording) fill(f *work.Fill) Part {
	part := Part{Kind: SheetCoolant, Head: "Coolant of this car"}
	add := func(format string, args ...any) {
		part.Items = append(part.Items, Item{"-", fmt.Sprintf(format, args...)})
	}
	volume := func(v float64) string { return w.u.Volume(quantity.Volume(v)) }
	temperature := func(t float64) string { return w.u.Temperature(quantity.Temperature(t)) }
	guess := ""
	if f.VolumeGuess {
		guess = " (usual for this engine size; the maker's figure counts)"
	}
	holds := fmt.Sprintf("The whole system holds %s%s.", volume(f.VolumeM3), guess)
	if f.DrainM3 > 0 {
		holds += fmt.Sprintf(" About %s will drain.", volume(f.DrainM3))
	}
	add("%s", holds)
	cold := ""
	if f.ColdestC != nil {
		cold = " for " + temperature(*f.ColdestC)
	}
	add("Mix needed%s: %s %s glycol by volume. First ice forms at %s.", cold, w.u.Share(quantity.Share(f.Target)), f.Glycol, temperature(f.FreezesC))
	fill := fmt.Sprintf("Fill in %s of a mix with %s glycol", volume(f.DrainM3), w.u.Share(quantity.Share(f.FillWith)))
	if f.DrainM3 <= 0 {
		fill = fmt.Sprintf("Fill up with a mix of %s glycol", w.u.Share(quantity.Share(f.FillWith)))
	}
	if f.DrainM3 > 0 && f.FillWith > 0 && f.FillWith < 1 {
		fill += fmt.Sprintf(" (%s of concentrate and %s of water)", volume(f.DrainM3*f.FillWith), volume(f.DrainM3*(1-f.FillWith)))
	}
	if f.Drains > 1 {
		fill += fmt.Sprintf(", %d times, warming the engine up in between", f.Drains)
	}
	if f.Drains == 1 && f.DrainM3 > 0 {
		fill += ", plus what was missing before"
	}
	add("%s.", fill)
	capNote := ""
	if f.CapGuess {
		capNote = " (usual; read what is stamped on it)"
	}
	add("It boils at %s under a cap of %s%s at this altitude, at %s without a cap. That is %s above what the fan should hold.",
		temperature(f.BoilsC), w.u.Pressure(quantity.Pressure(f.CapPa)), capNote, temperature(f.OpenC),
		w.u.TemperatureDifference(quantity.TemperatureDifference(f.MarginK)))
	for _, n := range f.Notes {
		add("%s", n)
	}
	return part
}

func (w wording) used(s *work.Sheet) Part {
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
	return Part{Kind: SheetUsed, Head: "Record of the used coolant", Paras: []string{r.Rules, "Enter it into the job when you close it."}, Items: []Item{
		{"-", "came out: " + volume(r.DrainedM3) + expected},
		{"-", "contamination (oil, rust, sealant, fuel, none): " + text(r.Looked)},
		{"-", "went to (collector, drum, receipt): " + text(r.Went)},
		{"-", "filled in: " + volume(r.FilledM3) + ", mix " + mix},
		{"-", "date and initials: " + text(r.When)},
	}}
}
