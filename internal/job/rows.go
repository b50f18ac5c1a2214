package job

import "weephole/quantity"

// The rows below are the job file. Bounds of what is possible are wide on
// purpose and are judgement: they catch slips of unit and of the finger (a
// 900 °C hose), not rare cars.

var jobRows = []row[Job]{
	{"weephole", "format version, always 1; write it first", versionForm()},
	{"job", "a name for the job, yours to choose", free("hill-climber", func(j *Job) *string { return &j.Name })},
	{"shop", "where the work is done", tableOf(shopRows, func(j *Job) *Shop { return &j.Shop })},
	{"vehicle", "what is known of the car; leave out what is not", tableOf(vehicleRows, func(j *Job) *Vehicle { return &j.Vehicle })},
	{"complaint", "what the owner says, and when it happens", tableOf(complaintRows, func(j *Job) *Complaint { return &j.Complaint })},
	{"recent-work", "what was done to the car lately: the last job is often the fault", tablesOf(workRows, func(j *Job) *[]Work { return &j.Recent })},
	{"quote", "what another shop has proposed", quoteForm()},
	{"findings", "checks made and repairs tried, in the order made", tablesOf(findingRows, func(j *Job) *[]Finding { return &j.Findings })},
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
	{"year", "model year", count(1886, 2100, func(v *Vehicle) *int { return &v.Year })},
	{"fuel", "what it burns", wordOf("petrol or diesel", words("petrol", "diesel"), func(v *Vehicle) *string { return &v.Fuel })},
	{"displacement", "engine size", said(bounded("an engine size", quantity.ParseVolume, "0.05 L", "30 L", "1.8 L"), func(v *Vehicle) *Said[quantity.Volume] { return &v.Displacement })},
	{"cylinders", "number of cylinders", count(1, 16, func(v *Vehicle) *int { return &v.Cylinders })},
	{"power", "rated power", said(bounded("a power", ParsePower, "1 kW", "1500 kW", "90 kW"), func(v *Vehicle) *Said[Power] { return &v.Power })},
	{"mass", "of the car, ready to drive", said(bounded("a mass", ParseMass, "100 kg", "45000 kg", "1300 kg"), func(v *Vehicle) *Said[Mass] { return &v.Mass })},
	{"coolant", "what should be in it", tableOf(coolantRows, func(v *Vehicle) *Coolant { return &v.Coolant })},
	{"thermostat", "the part as specified", tableOf(thermostatRows, func(v *Vehicle) *Thermostat { return &v.Thermostat })},
	{"fan", "the fan as specified", tableOf(fanRows, func(v *Vehicle) *Fan { return &v.Fan })},
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
}

var fanRows = []row[Fan]{
	{"kind", "how it is driven", wordOf("electric, two-speed or viscous", words("electric", "two-speed", "viscous"), func(f *Fan) *string { return &f.Kind })},
	{"count", "number of fans", count(1, 4, func(f *Fan) *int { return &f.Count })},
	{"on", "coolant temperature at which it starts", said(fanSwitch, func(f *Fan) *Said[quantity.Temperature] { return &f.On })},
	{"off", "coolant temperature at which it stops", said(fanSwitch, func(f *Fan) *Said[quantity.Temperature] { return &f.Off })},
}

var complaintRows = []row[Complaint]{
	{"words", "the owner's own words", free("gets hot on the hill", func(c *Complaint) *string { return &c.Words })},
	{"signs", "what happens", wordsOf("a sign", func(v *Vocabulary) []string { return v.Signs }, func(c *Complaint) *[]string { return &c.Signs })},
	{"when", "conditions in which it happens", wordsOf("a condition", func(v *Vocabulary) []string { return v.When }, func(c *Complaint) *[]string { return &c.When })},
	{"fine", "conditions in which it does not happen", wordsOf("a condition", func(v *Vocabulary) []string { return v.When }, func(c *Complaint) *[]string { return &c.Fine })},
	{"ambient", "outside air when it happens", said(air, func(c *Complaint) *Said[quantity.Temperature] { return &c.Ambient })},
	{"overheated", "how much the engine has suffered", tableOf(overheatedRows, func(c *Complaint) *Overheated { return &c.Overheated })},
}

var overheatedRows = []row[Overheated]{
	{"times", "how often", timesForm()},
	{"badly", "into the red, or boiling, and driven on", yesNo(func(o *Overheated) *string { return &o.Badly })},
}

var workRows = []row[Work]{
	{"what", "the kind of work", wordOf("a kind of work", func(v *Vocabulary) []string { return v.Work }, func(w *Work) *string { return &w.What })},
	{"when", "how long ago", free("2 weeks ago", func(w *Work) *string { return &w.When })},
	{"where", "by whom", free("another shop", func(w *Work) *string { return &w.Where })},
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
	{"found", "what it showed, in one of the check's words", free("low", func(f *Finding) *string { return &f.Found })},
	{"read", "what it read, each place with its reading", readingsForm()},
	{"trace", "a log's file name, seen from the job file", free("monday.csv.gz", func(f *Finding) *string { return &f.Trace })},
	{"drive", "which start in the log, from 1", count(1, 1000, func(f *Finding) *int { return &f.Drive })},
	{"map", "a log's column by signal, where guessing fails", mapForm()},
	{"air-con", "whether air conditioning was on throughout the log", yesNo(func(f *Finding) *string { return &f.AirCon })},
	{"repair", "a repair that was tried, instead of a check", wordOf("a repair", func(v *Vocabulary) []string { return v.Repairs }, func(f *Finding) *string { return &f.Repair })},
	{"changed", "what the repair changed", wordOf("an outcome", func(v *Vocabulary) []string { return v.Changed }, func(f *Finding) *string { return &f.Changed })},
	{"minutes", "how long it took", said(bounded("a time", quantity.ParseDuration, "0 min", "200 h", "60 min"), func(f *Finding) *Said[quantity.Duration] { return &f.Minutes })},
	{"parts", "what the parts cost", said(price, func(f *Finding) *Said[quantity.Money] { return &f.Parts })},
	{"part", "what part went in, with its number", free("thermostat, 82 °C", func(f *Finding) *string { return &f.Part })},
	{"note", "anything else, for people", free("smelled sweet", func(f *Finding) *string { return &f.Note })},
}

var (
	someCoolant = bounded("a volume of coolant", quantity.ParseVolume, "0 L", "100 L", "4.5 L")
	air         = bounded("an air temperature", quantity.ParseTemperature, "-50 °C", "60 °C", "88 °F")
	fanSwitch   = bounded("a switching temperature", quantity.ParseTemperature, "60 °C", "130 °C", "96 °C")
	altitude    = bounded("a height", quantity.ParseLength, "-450 m", "6000 m", "300 m")
	price       = measure[quantity.Money]{what: "a price", parse: quantity.ParseMoney, example: "$2,400"}
	rateMeasure = measure[quantity.Rate]{what: "a rate", parse: quantity.ParseRate, example: "$120/h"}
)

func words(list ...string) func(*Vocabulary) []string {
	return func(*Vocabulary) []string { return list }
}
