package job

import (
	"slices"

	"weephole/quantity"
)

// The rows below are the job file. Bounds of what is possible are wide on
// purpose and are judgement: they catch slips of unit and of the finger (a
// 900 °C hose), not rare cars.

var jobRows = []row[Job]{
	{"weephole", "format version, always 1; write it first", versionForm()},
	{"job", "a name for the job, yours to choose", free("hill-climber", func(j *Job) *string { return &j.Name })},
	{"shop", "where the work is done", tableOf(shopRows, func(j *Job) *Shop { return &j.Shop })},
	{"vehicle", "what is known of the car; leave out what is not", tableOf(vehicleRows, func(j *Job) *Vehicle { return &j.Vehicle })},
	{"complaint", "what the owner says, and when it happens", tableOf(complaintRows, func(j *Job) *Complaint { return &j.Complaint })},
	{"recent-work", "what was done before the complaint began: the last job is often the fault", tablesOf(workRows, func(j *Job) *[]PastWork { return &j.Recent })},
	{"quote", "what another shop has proposed", quoteForm()},
	{"findings", "checks made, signs seen, repairs tried and remarks, in the order made", tablesOf(findingRows, func(j *Job) *[]Finding { return &j.Findings })},
	{"closing", "what is written down when the work is done", tableOf(closingRows, func(j *Job) *Closing { return &j.Closing })},
}

var shopRows = []row[Shop]{
	{"name", "the shop's name, for the letter", free("Corner Garage", func(s *Shop) *string { return &s.Name })},
	{"rate", "labour rate", said(rateMeasure, func(s *Shop) *Said[quantity.Rate] { return &s.Rate })},
	{"units", "units of the answers", wordOf("us or metric", words("us", "metric"), func(s *Shop) *string { return &s.Units })},
	{"altitude", "height above sea level; coolant boils sooner up high", said(altitude, func(s *Shop) *Said[quantity.Length] { return &s.Altitude })},
	{"ambient", "air in the shop, unless a finding says otherwise", said(air, func(s *Shop) *Said[quantity.Temperature] { return &s.Ambient })},
	{"coldest", "lowest air temperature that the coolant must stand", said(air, func(s *Shop) *Said[quantity.Temperature] { return &s.Coldest })},
	{"tools", "tools at hand", wordsOf("a tool", func(v *Vocabulary) []string { return v.Tools }, func(s *Shop) *[]string { return &s.Tools })},
	{"lacks", "tools not at hand", wordsOf("a tool", func(v *Vocabulary) []string { return v.Tools }, func(s *Shop) *[]string { return &s.Lacks })},
}

var vehicleRows = []row[Vehicle]{
	{"name", "what you call the car", free("blue estate", func(v *Vehicle) *string { return &v.Name })},
	{"kind", "what kind of vehicle", wordOf("car, van, pickup, truck, bus, motorhome, tractor, motorcycle or other", words(vehicleKinds...), func(v *Vehicle) *string { return &v.Kind })},
	{"year", "model year, or about", yearForm()},
	{"mileage", "distance covered", said(bounded("a distance", ParseDistance, "0 km", "5000000 km", "102,000 miles"), func(v *Vehicle) *Said[Distance] { return &v.Mileage })},
	{"fuel", "what it burns", wordOf("petrol, diesel or gas", words("petrol", "diesel", "gas"), func(v *Vehicle) *string { return &v.Fuel })},
	{"hybrid", "whether an electric motor helps", yesNo(func(v *Vehicle) *string { return &v.Hybrid })},
	{"displacement", "engine size", said(bounded("an engine size", quantity.ParseVolume, "0.05 L", "30 L", "1.8 L").bare("L"), func(v *Vehicle) *Said[quantity.Volume] { return &v.Displacement })},
	{"cylinders", "number of cylinders", count(1, 16, func(v *Vehicle) *int { return &v.Cylinders })},
	{"power", "rated power", said(bounded("a power", ParsePower, "1 kW", "1500 kW", "90 kW"), func(v *Vehicle) *Said[Power] { return &v.Power })},
	{"mass", "of the car, ready to drive", said(bounded("a mass", ParseMass, "100 kg", "45000 kg", "1300 kg"), func(v *Vehicle) *Said[Mass] { return &v.Mass })},
	{"coolant", "what should be in it", tableOf(coolantRows, func(v *Vehicle) *Coolant { return &v.Coolant })},
	{"thermostat", "the part as specified", tableOf(thermostatRows, func(v *Vehicle) *Thermostat { return &v.Thermostat })},
	{"fan", "the fan as specified", tableOf(fanRows, func(v *Vehicle) *Fan { return &v.Fan })},
	{"pump", "what drives the coolant pump", wordOf("belt, timing-belt, electric or none", words(pumpDrives...), func(v *Vehicle) *string { return &v.Pump })},
	{"tank", "what kind of tank it has", wordOf("overflow or pressurised", words("overflow", "pressurised"), func(v *Vehicle) *string { return &v.Tank })},
	{"radiator", "which way the coolant goes through it", wordOf("crossflow or downflow", words("crossflow", "downflow"), func(v *Vehicle) *string { return &v.Radiator })},
	{"air-con", "whether it has air conditioning", yesNo(func(v *Vehicle) *string { return &v.AirCon })},
	{"cap", "pressure stamped on the cap", said(bounded("a cap rating", quantity.ParsePressure, "0 bar", "3 bar", "16 psi"), func(v *Vehicle) *Said[quantity.Pressure] { return &v.Cap })},
	{"maker", "what the maker's data say: torques, capacities, bleed screws", tablesOf(makerRows, func(v *Vehicle) *[]MakerDatum { return &v.Maker })},
}

var makerRows = []row[MakerDatum]{
	{"what", "what it is about", free("torque of the housing bolts", func(m *MakerDatum) *string { return &m.What })},
	{"says", "what the maker says", free("10 Nm", func(m *MakerDatum) *string { return &m.Says })},
	{"from", "where it stands", free("workshop manual, section 3", func(m *MakerDatum) *string { return &m.From })},
}

var closingRows = []row[Closing]{
	{"cause", "what it turned out to be", wordOf("a cause", func(v *Vocabulary) []string { return v.Causes }, func(c *Closing) *string { return &c.Cause })},
	{"showed", "what the old part showed when it was out", free("valve stuck half shut", func(c *Closing) *string { return &c.Showed })},
	{"charged", "what the owner pays in all", said(price, func(c *Closing) *Said[quantity.Money] { return &c.Charged })},
	{"coolant", "the coolant that came out", tableOf(usedCoolantRows, func(c *Closing) *UsedCoolant { return &c.Coolant })},
	{"when", "the day", free("14 June", func(c *Closing) *string { return &c.When })},
	{"watch", "what the owner is to watch", free("look at the level next week", func(c *Closing) *string { return &c.Watch })},
	{"tally", "no keeps the job out of the shop's tally", yesNo(func(c *Closing) *string { return &c.Tally })},
}

var usedCoolantRows = []row[UsedCoolant]{
	{"drained", "how much came out", said(someCoolant, func(u *UsedCoolant) *Said[quantity.Volume] { return &u.Drained })},
	{"filled", "how much went in", said(someCoolant, func(u *UsedCoolant) *Said[quantity.Volume] { return &u.Filled })},
	{"mix", "share of antifreeze in what went in", said(bounded("a share", quantity.ParseShare, "0 %", "100 %", "50 %"), func(u *UsedCoolant) *Said[quantity.Share] { return &u.Mix })},
	{"looked", "contamination", free("rusty, no oil", func(u *UsedCoolant) *string { return &u.Looked })},
	{"went", "where it went", free("the collector's drum", func(u *UsedCoolant) *string { return &u.Went })},
}

var coolantRows = []row[Coolant]{
	{"capacity", "whole system, heater included", said(bounded("a coolant capacity", quantity.ParseVolume, "0.5 L", "100 L", "6.5 L"), func(c *Coolant) *Said[quantity.Volume] { return &c.Capacity })},
	{"glycol", "share of antifreeze by volume", said(bounded("a share", quantity.ParseShare, "0 %", "100 %", "50 %"), func(c *Coolant) *Said[quantity.Share] { return &c.Glycol })},
	{"kind", "which glycol", wordOf("ethylene or propylene", words("ethylene", "propylene"), func(c *Coolant) *string { return &c.Kind })},
}

var thermostatRows = []row[Thermostat]{
	{"rating", "temperature stamped on it, where it starts to open", said(bounded("an opening temperature", quantity.ParseTemperature, "50 °C", "120 °C", "82 °C"), func(t *Thermostat) *Said[quantity.Temperature] { return &t.Rating })},
	{"sits", "on the engine's outlet (upper hose) or inlet (lower hose)", wordOf("outlet or inlet", words("outlet", "inlet"), func(t *Thermostat) *string { return &t.Sits })},
	{"kind", "how it works", wordOf("plain, map-controlled, motor-valve or none", words("plain", "map-controlled", "motor-valve", "none"), func(t *Thermostat) *string { return &t.Kind })},
}

var fanRows = []row[Fan]{
	{"kind", "how it is driven", wordOf("electric, two-speed, viscous, viscous-electric, electric-clutch, hydraulic, belt or none", words(fanKinds...), func(f *Fan) *string { return &f.Kind })},
	{"count", "number of fans", count(1, 4, func(f *Fan) *int { return &f.Count })},
	{"on", "coolant temperature at which it starts", said(fanSwitch, func(f *Fan) *Said[quantity.Temperature] { return &f.On })},
	{"off", "coolant temperature at which it stops", said(fanSwitch, func(f *Fan) *Said[quantity.Temperature] { return &f.Off })},
}

var complaintRows = []row[Complaint]{
	{"words", "the owner's own words", free("gets hot on the hill", func(c *Complaint) *string { return &c.Words })},
	{"signs", "what happens", wordsOf("a sign", func(v *Vocabulary) []string { return v.Signs }, func(c *Complaint) *[]string { return &c.Signs })},
	{"denied", "what does not happen: asked for, and not so", wordsOf("a sign", func(v *Vocabulary) []string { return v.Signs }, func(c *Complaint) *[]string { return &c.Denied })},
	{"when", "conditions in which it happens", wordsOf("a condition", func(v *Vocabulary) []string { return v.When }, func(c *Complaint) *[]string { return &c.When })},
	{"fine", "conditions in which it does not happen", wordsOf("a condition", func(v *Vocabulary) []string { return v.When }, func(c *Complaint) *[]string { return &c.Fine })},
	{"ambient", "outside air when it happens", said(air, func(c *Complaint) *Said[quantity.Temperature] { return &c.Ambient })},
	{"needle", "the highest that the dash gauge showed, in degrees", said(bounded("a gauge's temperature", quantity.ParseTemperature, "-40 °C", "200 °C", "240 °F"), func(c *Complaint) *Said[quantity.Temperature] { return &c.Needle })},
	{"after", "how long or how far it ran until it showed", said(spanMeasure, func(c *Complaint) *Said[Span] { return &c.After })},
	{"since", "since when", wordOf("suddenly, days, weeks, months, years or last-work", words(sinceWords...), func(c *Complaint) *string { return &c.Since })},
	{"topped-up", "what was filled in, how often, and what it changed", tableOf(toppedUpRows, func(c *Complaint) *ToppedUp { return &c.ToppedUp })},
	{"overheated", "how much the engine has suffered", tableOf(overheatedRows, func(c *Complaint) *Overheated { return &c.Overheated })},
	{"note", "anything else, for people", free("bought last month", func(c *Complaint) *string { return &c.Note })},
}

var toppedUpRows = []row[ToppedUp]{
	{"amount", "how much in all", said(bounded("a volume of coolant", quantity.ParseVolume, "0 L", "500 L", "2.5 gal"), func(t *ToppedUp) *Said[quantity.Volume] { return &t.Amount })},
	{"every", "how often", wordOf("once, daily, weekly, monthly or yearly", words("once", "daily", "weekly", "monthly", "yearly"), func(t *ToppedUp) *string { return &t.Every })},
	{"with", "what with", wordOf("water, coolant or other", words("water", "coolant", "other"), func(t *ToppedUp) *string { return &t.With })},
	{"changed", "what it changed", wordOf("an outcome", func(v *Vocabulary) []string { return v.Changed }, func(t *ToppedUp) *string { return &t.Changed })},
}

var overheatedRows = []row[Overheated]{
	{"times", "how often", timesForm()},
	{"badly", "into the red, or boiling, and driven on", yesNo(func(o *Overheated) *string { return &o.Badly })},
}

var workRows = []row[PastWork]{
	{"what", "the kind of work; several of one visit in brackets", wordAndMore("a kind of work", func(v *Vocabulary) []string { return v.Work }, func(w *PastWork) *string { return &w.What }, func(w *PastWork) *[]string { return &w.Also })},
	{"when", "how long ago", free("2 weeks ago", func(w *PastWork) *string { return &w.When })},
	{"where", "by whom", free("another shop", func(w *PastWork) *string { return &w.Where })},
	{"changed", "what it did at the time", wordOf("an outcome", func(v *Vocabulary) []string { return v.Changed }, func(w *PastWork) *string { return &w.Changed })},
	{"of", "which signs it changed, if not all", wordsOf("a sign", func(v *Vocabulary) []string { return v.Signs }, func(w *PastWork) *[]string { return &w.Of })},
	{"back-after", "how long it helped before the trouble was back", free("two weeks", func(w *PastWork) *string { return &w.BackAfter })},
	{"showed", "what the old part showed when it was out", free("vanes eaten away", func(w *PastWork) *string { return &w.Showed })},
	{"note", "anything else, for people", free("fitted a used one", func(w *PastWork) *string { return &w.Note })},
}

var quoteRows = []row[Quote]{
	{"presumes", "the cause it presumes", wordOf("a cause", func(v *Vocabulary) []string { return v.Causes }, func(q *Quote) *string { return &q.Presumes })},
	{"repair", "the repair it proposes", wordOf("a repair", func(v *Vocabulary) []string { return v.Repairs }, func(q *Quote) *string { return &q.Repair })},
	{"price", "its price", said(price, func(q *Quote) *Said[quantity.Money] { return &q.Price })},
	{"by", "who quoted", free("another shop", func(q *Quote) *string { return &q.By })},
	{"evidence", "the checks it rests on", wordsOf("a check", (*Vocabulary).checkIDs, func(q *Quote) *[]string { return &q.Evidence })},
}

var findingRows = []row[Finding]{
	{"check", "what was checked", wordOf("a check", (*Vocabulary).checkIDs, func(f *Finding) *string { return &f.Check })},
	{"engine", "the engine's state at the time", wordOf("an engine state", func(v *Vocabulary) []string { return v.Engine }, func(f *Finding) *string { return &f.Engine })},
	{"ambient", "air at the time", said(air, func(f *Finding) *Said[quantity.Temperature] { return &f.Ambient })},
	{"found", "what it showed, in one of the check's words; or the codes as read", foundForm()},
	{"codes", "trouble codes as read, pending ones marked", codesForm()},
	{"read", "what it read, each place with its reading", readingsForm()},
	{"trace", "a log's file name, seen from the job file", free("monday.csv.gz", func(f *Finding) *string { return &f.Trace })},
	{"drive", "which start in the log, from 1", count(1, 1000, func(f *Finding) *int { return &f.Drive })},
	{"map", "a log's column by signal, where guessing fails", mapForm()},
	{"air-con", "whether air conditioning was on throughout", yesNo(func(f *Finding) *string { return &f.AirCon })},
	{"by", "whose word it is; the shop's own if left out", wordOf("here, owner, other-shop or seller", func(v *Vocabulary) []string { return v.Whose }, func(f *Finding) *string { return &f.By })},
	{"sign", "a sign that was seen, instead of a check", wordOf("a sign", func(v *Vocabulary) []string { return v.Signs }, func(f *Finding) *string { return &f.Sign })},
	{"denied", "a sign that was looked for and is not so", wordOf("a sign", func(v *Vocabulary) []string { return v.Signs }, func(f *Finding) *string { return &f.Denied })},
	{"not-known", "a sign that the owner was asked about and could not tell of", wordOf("a sign", func(v *Vocabulary) []string { return v.Signs }, func(f *Finding) *string { return &f.NotKnown })},
	// The schema has one list for this and for the quote's repair: this, the longer one, which comes last.
	{"repair", "a repair tried against this complaint, instead of a check; several of one visit in brackets", wordAndMore("a repair", func(v *Vocabulary) []string { return slices.Concat(v.Repairs, v.Tried) }, func(f *Finding) *string { return &f.Repair }, func(f *Finding) *[]string { return &f.Also })},
	{"again", "yes where the same work stands under recent-work and was done twice", yesNo(func(f *Finding) *string { return &f.Again })},
	{"changed", "what the repair changed", wordOf("an outcome", func(v *Vocabulary) []string { return v.Changed }, func(f *Finding) *string { return &f.Changed })},
	{"of", "which signs it changed, if not all", wordsOf("a sign", func(v *Vocabulary) []string { return v.Signs }, func(f *Finding) *[]string { return &f.Of })},
	{"back-after", "how long it helped before the trouble was back", free("two weeks", func(f *Finding) *string { return &f.BackAfter })},
	{"showed", "what the old part showed when it was out", free("vanes eaten away", func(f *Finding) *string { return &f.Showed })},
	{"minutes", "how long it took", said(bounded("a time", quantity.ParseDuration, "0 min", "200 h", "60 min"), func(f *Finding) *Said[quantity.Duration] { return &f.Minutes })},
	{"parts", "what the parts cost", said(price, func(f *Finding) *Said[quantity.Money] { return &f.Parts })},
	{"part", "what part went in, with its number", free("thermostat, 82 °C", func(f *Finding) *string { return &f.Part })},
	{"note", "anything else, for people; alone it is a remark, kept but not counted", free("smelled sweet", func(f *Finding) *string { return &f.Note })},
}

var (
	someCoolant = bounded("a volume of coolant", quantity.ParseVolume, "0 L", "100 L", "4.5 L")
	air         = bounded("an air temperature", quantity.ParseTemperature, "-50 °C", "60 °C", "88 °F")
	fanSwitch   = bounded("a switching temperature", quantity.ParseTemperature, "60 °C", "130 °C", "96 °C")
	altitude    = bounded("a height", quantity.ParseLength, "-450 m", "6000 m", "300 m")
	price       = measure[quantity.Money]{what: "a price", parse: quantity.ParseMoney, example: "$2,400", shops: true}
	spanMeasure = measure[Span]{what: "a time or a distance", parse: parseSpan, example: "10 min"}
	rateMeasure = measure[quantity.Rate]{what: "a rate", parse: quantity.ParseRate, example: "$120/h"}
)

// The fixed words of the car and of the complaint.
var (
	vehicleKinds = []string{"car", "van", "pickup", "truck", "bus", "motorhome", "tractor", "motorcycle", "other"}
	fanKinds     = []string{"electric", "two-speed", "viscous", "viscous-electric", "electric-clutch", "hydraulic", "belt", "none"}
	pumpDrives   = []string{"belt", "timing-belt", "electric", "none"}
	sinceWords   = []string{"suddenly", "days", "weeks", "months", "years", "last-work"}
)

func words(list ...string) func(*Vocabulary) []string {
	return func(*Vocabulary) []string { return list }
}
