package work

import (
	"fmt"
	"math"
	"slices"

	"weephole/cause"
	"weephole/circuit"
	"weephole/coolant"
	"weephole/internal/job"
	"weephole/quantity"
	"weephole/sheet"
)

// Sheets makes the sheet of each repair; empty: of those done last.
func (w *Work) Sheets(repairs []string) ([]*Sheet, error) {
	if len(repairs) == 0 {
		repairs = slices.DeleteFunc(slices.Clone(w.Repairs), func(id string) bool { return !w.Model.Causes.Repair(id).Planned() })
	}
	d, err := DefaultSheetData()
	if err != nil {
		return nil, err
	}
	v := w.Case.Vehicle
	car := sheetCar{Vehicle: v, Typical: w.Model.Table.Typical(v), AltitudeM: w.Case.Shop.AltitudeM}
	var list []*cause.Repair
	for _, id := range repairs {
		r := w.Model.Causes.Repair(id)
		if r == nil || !r.Planned() {
			return nil, &UnknownRepair{id, w.Model}
		}
		list = append(list, r.On(w.Shop.Pump))
	}
	out := []*Sheet{}
	for i, r := range list {
		s, err := sheetFor(d, w.Model.Causes, r, drainOf(d, list, i), car, w.Job)
		if err != nil {
			return nil, err
		}
		out = append(out, s)
	}
	return out, nil
}

// Sheet is one repair on one car. Quantities are in SI (m3, degC, Pa, s), money
// in the catalogue's US$.
type Sheet struct {
	Repair   string   `json:"repair"`
	Name     string   `json:"name"`
	How      string   `json:"how"`
	Cautions []string `json:"cautions"` // before the first step
	Tools    []string `json:"tools"`
	// Minutes, Parts and Consumables are what such a repair usually takes.
	Minutes     [3]float64 `json:"minutes"` // low, typical, high
	Parts       [3]float64 `json:"parts_usd"`
	Consumables float64    `json:"consumables_usd"`
	Ask         []Asked    `json:"ask"` // of the maker's data, before beginning
	Order       []string   `json:"order"`
	Look        []string   `json:"look"`
	Old         []OldPart  `json:"old_part"`       // what the old part shows, to be written into the job
	Fill        *Fill      `json:"fill,omitempty"` // where coolant comes out
	Bleed       []Bleeding `json:"bleed,omitempty"`
	Thermostat  []Bleeding `json:"thermostat,omitempty"`
	Used        Used       `json:"used_coolant"`
}

// Asked is something that only the maker's data can tell.
type Asked struct {
	ID   DatumID `json:"id"`
	What string  `json:"what"`           // its name
	Says string  `json:"says,omitempty"` // "" when it is still to be looked up
	From string  `json:"from,omitempty"`
}

// OldPart is a check of the part that comes out: its own evidence of what was
// wrong.
type OldPart struct {
	Check string   `json:"check"`
	Name  string   `json:"name"`
	Words []string `json:"words"` // what it may show, by id
	Says  []string `json:"says"`  // the same in words
}

// Bleeding is a procedure for one layout.
type Bleeding struct {
	Layout string   `json:"layout"`
	Order  []string `json:"order"`
}

// Fill is the coolant arithmetic.
type Fill struct {
	VolumeM3    float64  `json:"volume_m3"`
	VolumeGuess bool     `json:"volume_guessed"` // usual for the engine's size, not the job's
	DrainM3     float64  `json:"drain_m3"`
	Glycol      string   `json:"glycol"`
	Now         *float64 `json:"now,omitempty"` // share by volume, if it is known
	ColdestC    *float64 `json:"coldest_c,omitempty"`
	Target      float64  `json:"target"` // share by volume
	FreezesC    float64  `json:"freezes_c"`
	// FillWith is the share of glycol to fill in for the target at once; where
	// one drain cannot reach it, Drains of them with concentrate or water do.
	FillWith float64 `json:"fill_with"`
	Drains   int     `json:"drains"`
	// Rinse is true where the old coolant is drained whole, the system rinsed with
	// water until it runs clear, and filled with new: rust, oil or mud was found.
	Rinse bool `json:"rinse,omitempty"`
	// BoilsC is the boiling point of the target mix under the cap at this
	// altitude, OpenC without a cap, and MarginK how far it lies above the
	// temperature at which the fan is fully on.
	BoilsC   float64  `json:"boils_c"`
	OpenC    float64  `json:"boils_open_c"`
	CapPa    float64  `json:"cap_pa"`
	CapGuess bool     `json:"cap_guessed"`
	MarginK  float64  `json:"margin_k"`
	Notes    []string `json:"notes"`
}

// Used is the record of the coolant that came out, to be printed and kept.
type Used struct {
	DrainedM3 *float64 `json:"drained_m3,omitempty"`
	FilledM3  *float64 `json:"filled_m3,omitempty"`
	Mix       *float64 `json:"mix,omitempty"`
	Looked    string   `json:"looked,omitempty"`
	Went      string   `json:"went,omitempty"`
	When      string   `json:"when,omitempty"`
	Rules     string   `json:"rules"`
}

// sheetCar is what the sheet has to know of the car.
type sheetCar struct {
	Vehicle   circuit.Vehicle
	Typical   circuit.Circuit // the usual numbers for such a car
	AltitudeM float64
}

// sheetFor makes the sheet of a repair.
func sheetFor(d *SheetData, causes *cause.Catalogue, r *cause.Repair, from drain, car sheetCar, j *job.Job) (*Sheet, error) {
	s := &Sheet{
		Repair: r.ID, Name: r.Name, How: r.How,
		Minutes: span(r.Minutes), Parts: span(r.Parts), Consumables: r.Consumables.Value,
		Tools: causes.ToolNames(r.Tools), Ask: []Asked{}, Look: []string{}, Old: []OldPart{}, Used: used(d, j),
	}
	s.Cautions = append(causes.Cautions(r.Hazards, car.Vehicle.FanKind), r.Cautions...)
	steps := d.For(r.ID)
	if steps == nil {
		steps = &Steps{Order: []string{r.How}}
	}
	for _, id := range steps.Ask {
		s.Ask = append(s.Ask, d.asked(id, j))
	}
	s.Look = append(s.Look, steps.Look...)
	for _, id := range steps.Old {
		c := d.checks.Check(id)
		old := OldPart{Check: id, Name: c.Name}
		for _, w := range c.Words {
			old.Words, old.Says = append(old.Words, w.Is), append(old.Says, w.Says)
		}
		s.Old = append(s.Old, old)
	}
	opens := d.opens(r)
	if opens && from.last {
		var err error
		if s.Fill, err = fill(d, d.share(from.from), car, j); err != nil {
			return nil, fmt.Errorf("repair sheet: %w", err)
		}
		for _, layout := range layouts(car.Vehicle) {
			if l := layoutOf(d.Bleeding, layout); l != nil {
				s.Bleed = append(s.Bleed, Bleeding{layout, l.Order})
			}
		}
	}
	atThermostat := func(c cause.Cure) bool { return causes.Cause(c.Cause).Place == "thermostat" }
	if slices.ContainsFunc(r.Cures, atThermostat) {
		for _, layout := range layouts(car.Vehicle) {
			if l := layoutOf(d.Thermostat, layout); l != nil {
				s.Thermostat = append(s.Thermostat, Bleeding{layout, []string{l.Says}})
			}
		}
	}
	from.lets = opens && from.first && (d.share(from.from) > 0 || spoilt(j))
	if opens && spoilt(j) {
		from.from = "block"
	}
	s.Order = order(s, steps, from)
	return s, nil
}

func span(r sheet.Range) [3]float64 { return [3]float64{r.Low, r.Typical, r.High} }

// order puts draining before, and filling, bleeding and the proof behind the
// repair's own steps.
func order(s *Sheet, steps *Steps, from drain) []string {
	var out []string
	if len(s.Ask) > 0 {
		out = append(out, "Look up what only the maker's data can tell, and write it down, before you open anything.")
	}
	if from.lets {
		where := "at the radiator"
		if from.from == "block" {
			where = "at the radiator and at the block"
		}
		out = append(out, "With the engine cold, take the cap off. Drain "+where+" into a clean pan. Measure how much, and look at it.")
	}
	out = append(out, steps.Order...)
	if from.next != "" {
		return append(out, "Do not fill up yet. In the same drain comes: "+from.next+".")
	}
	if s.Fill != nil {
		out = append(out, "Fill and bleed as below, pressure-test, and write down how much went in.")
	}
	return append(out, "Run the proof. Write the log and the checks into the job after this repair.")
}

// asked finds what the job already has of the maker's data.
func (d *SheetData) asked(id DatumID, j *job.Job) Asked {
	a := Asked{ID: id, What: d.Datum(string(id)).Name}
	for _, m := range j.Vehicle.Maker {
		if known := d.Datum(m.What); known != nil && known.ID == id {
			a.Says, a.From = m.Says, m.From
		}
	}
	switch {
	case a.Says != "":
	case id == coolantCapacity && j.Vehicle.Coolant.Capacity.Known():
		a.Says, a.From = j.Vehicle.Coolant.Capacity.Text, "the job"
	case id == capPressure && j.Vehicle.Cap.Known():
		a.Says, a.From = j.Vehicle.Cap.Text, "the job"
	}
	return a
}

func layouts(v circuit.Vehicle) []string {
	switch v.ThermostatSits {
	case circuit.OnOutlet:
		return []string{"outlet"}
	case circuit.OnInlet:
		return []string{"inlet"}
	}
	return []string{"outlet", "inlet"}
}

func used(d *SheetData, j *job.Job) Used {
	u := &j.Closing.Coolant
	out := Used{Looked: u.Looked, Went: u.Went, When: j.Closing.When, Rules: d.Disposal}
	volume := func(s job.Said[quantity.Volume]) *float64 {
		if !s.Known() {
			return nil
		}
		v := float64(s.Value)
		return &v
	}
	out.DrainedM3, out.FilledM3 = volume(u.Drained), volume(u.Filled)
	if u.Mix.Known() {
		v := float64(u.Mix.Value)
		out.Mix = &v
	}
	return out
}

// strength finds the mix in the system: what a tester read first,
// then what the job says should be in it.
func strength(j *job.Job) (now float64, known bool) {
	for _, f := range slices.Backward(j.Findings) {
		for _, r := range f.Read {
			if f.Check == "freeze-point" && r.ID == "glycol" && r.Known() {
				return r.Value, true
			}
		}
	}
	if g := j.Vehicle.Coolant.Glycol; g.Known() {
		return float64(g.Value), true
	}
	return 0, false
}

// fill does the arithmetic of draining and filling.
func fill(d *SheetData, share float64, car sheetCar, j *job.Job) (*Fill, error) {
	kind := coolant.Ethylene
	if car.Vehicle.Glycol == "propylene" {
		kind = coolant.Propylene
	}
	f := &Fill{Glycol: kind.String(), VolumeM3: car.Typical.CoolantVolume, VolumeGuess: car.Vehicle.CoolantVolumeM3 == 0,
		CapPa: car.Typical.CapPressure, CapGuess: car.Vehicle.CapPressurePa == nil, Notes: []string{}}
	f.DrainM3 = share * f.VolumeM3
	f.Target = d.UsualGlycol.Value
	if c := j.Shop.Coldest; c.Known() {
		cold := float64(c.Value)
		f.ColdestC = &cold
		v, err := coolant.VolumeFractionForC(kind, cold)
		if err != nil {
			v = d.MostGlycol.Value
			f.Notes = append(f.Notes, "No mix stands that much cold, so the strongest sensible one is assumed. Ask the maker.")
		}
		f.Target = math.Ceil(v*100) / 100
	} else {
		f.Notes = append(f.Notes, "The coldest night is not known, so half and half is assumed. Write coldest: under shop: in the job.")
	}
	if now, known := strength(j); known {
		f.Target = max(f.Target, now) // never weaker than what is in it, or what the maker asks for
	}
	f.Target = min(max(f.Target, d.LeastGlycol.Value), min(d.MostGlycol.Value, coolant.MaxVolumeFraction(kind)))
	var err error
	if f.FreezesC, err = coolant.FreezingC(kind, f.Target); err != nil {
		return nil, err
	}
	if f.Rinse = spoilt(j); f.Rinse {
		f.renew(d.Drained.Block.Value)
	} else {
		f.refill(kind, share, j)
	}
	for _, b := range []struct {
		cap  float64
		into *float64
	}{{f.CapPa, &f.BoilsC}, {0, &f.OpenC}} {
		pressure, err := coolant.PressureUnderCapPa(b.cap, car.AltitudeM)
		if err != nil {
			return nil, err
		}
		if *b.into, err = coolant.BoilingC(kind, f.Target, pressure); err != nil {
			return nil, err
		}
	}
	hot := car.Typical.FanOnC
	if car.Typical.FanKind == circuit.FanTwoSpeed {
		hot = car.Typical.FanHighC
	}
	if car.Typical.FanKind == circuit.FanViscous {
		hot = car.Typical.OpeningC + car.Typical.OpeningSpan
	}
	f.MarginK = f.BoilsC - hot
	return f, nil
}

// spoilt is true when the coolant itself was found bad since the last repair that
// renewed it: rust, oil, mud or a spent inhibitor is not topped up.
func spoilt(j *job.Job) bool {
	bad := map[string][]string{
		"coolant-look": {"rusty", "oily"}, "block-drain": {"mud"}, "coolant-strip": {"spent"}, "backflush": {"poor"},
	}
	for _, f := range slices.Backward(j.Findings) {
		if slices.Contains(renews, f.Repair) {
			return false
		}
		if slices.Contains(bad[f.Check], f.Found) {
			return true
		}
	}
	return false
}

// renews are the repairs after which the coolant is new.
var renews = []string{"flush-radiator", "flush-block", "correct-mix"}

// renew is the arithmetic of filling a rinsed system: what stays in it after the
// last drain is water.
func (f *Fill) renew(share float64) {
	f.DrainM3 = share * f.VolumeM3
	f.FillWith, f.Drains = min(1, f.Target/share), 1
	f.Notes = append(f.Notes, "What is in it is spoilt: do not top it up. Drain radiator and block, fill with water, warm up with the heater on, drain again, and repeat until it runs clear. Then fill with new coolant.")
}

// refill finds what to fill in so that the mix comes out at the target.
func (f *Fill) refill(kind coolant.Glycol, share float64, j *job.Job) {
	f.FillWith, f.Drains = f.Target, 1
	now, known := strength(j)
	if !known {
		f.Notes = append(f.Notes, "The mix in the system is not known. Measure it, or renew all of it. The amount to fill in assumes that the mix is right already.")
		return
	}
	f.Now = &now
	if share <= 0 {
		return
	}
	// now (1-share) + with share = target
	with := (f.Target - now*(1-share)) / share
	if with >= 0 && with <= 1 {
		f.FillWith = with
		return
	}
	f.FillWith = 0.0
	if with > 1 {
		f.FillWith = 1
	}
	if plan, err := coolant.PlanRefill(f.VolumeM3, share*f.VolumeM3, now, f.Target, f.FillWith); err == nil {
		f.Drains, f.DrainM3 = plan.Drains, plan.Drain
	}
}
