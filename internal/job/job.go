package job

import (
	"weephole/quantity"
)

// Version is the format version that this package reads and writes: the value
// of the key "weephole" at the top of a job file.
const Version = 1

// Unknown is the word that is always a possible answer.
const Unknown = "unknown"

// Job is one vehicle's visit, from complaint to closing.
//
// The zero value of every field means "not said". Words (fuel, kind, sits, a
// check's id, ...) are kept as the file has them; Read has held them against
// the Vocabulary. A quantity keeps the text that was typed beside its value.
type Job struct {
	Version   int    // 1
	Name      string // the key "job"
	Shop      Shop
	Vehicle   Vehicle
	Complaint Complaint
	Recent    []PastWork // the last job is often the fault
	Quote     *Quote     // nil: no other shop has named a price
	Findings  []Finding
	Closing   Closing // what is written down when the work is done

	file   string
	places map[string]Position
}

// Said is something the job says in numbers.
type Said[T any] struct {
	Value T      // meaningless unless Known
	Text  string // as typed, unit and all: "203 °F", "unknown", or "" when not said
}

// Known tells whether a value was given.
func (s Said[T]) Known() bool { return s.Text != "" && s.Text != Unknown }

// Or gives the value, or the other one when none was given.
func (s Said[T]) Or(other T) T {
	if s.Known() {
		return s.Value
	}
	return other
}

// Shop is where the work is done.
type Shop struct {
	Name     string
	Rate     Said[quantity.Rate]        // labour, money an hour
	Units    string                     // "us", "metric" or ""
	Altitude Said[quantity.Length]      // above sea level, m
	Ambient  Said[quantity.Temperature] // the shop's air, °C, unless a finding says otherwise
	Coldest  Said[quantity.Temperature] // the lowest air temperature that coolant must stand
	Tools    []string                   // at hand; empty: the usual ones
	Lacks    []string                   // known not to be at hand
}

// Speaks are the units in which the shop is spoken to.
func (s *Shop) Speaks() quantity.Units {
	if s.Units == "us" {
		return quantity.US()
	}
	return quantity.Metric()
}

// Vehicle is what is known of the car; trade defaults by engine size fill the rest.
type Vehicle struct {
	Name         string
	Kind         string // "car", "van", "truck", "tractor", ..., "unknown" or ""
	Year         int    // 0: not said
	YearAbout    string // as typed where the year is not exact: "1990s", "about 1990"
	Mileage      Said[Distance]
	Fuel         string // "petrol", "diesel", "gas", "unknown" or ""
	Hybrid       string // "yes", "no", "unknown" or ""
	Displacement Said[quantity.Volume]
	Cylinders    int // 0: not said or unknown
	Power        Said[Power]
	Mass         Said[Mass]
	Coolant      Coolant
	Thermostat   Thermostat
	Fan          Fan
	Pump         string                  // what drives it: "belt", "timing-belt", "electric", "none", "unknown" or ""
	Tank         string                  // "overflow", "pressurised", "unknown" or ""
	Radiator     string                  // "crossflow", "downflow", "unknown" or ""
	AirCon       string                  // whether it has one: "yes", "no", "unknown" or ""
	Cap          Said[quantity.Pressure] // the rating, gauge
	Maker        []MakerDatum            // what the maker's data say: asked for, never guessed
}

// MakerDatum is one thing that only the maker's data can tell.
type MakerDatum struct {
	What string // free text, best as the repair sheet asks for it: "torque of the housing bolts"
	Says string // free text: "10 Nm"
	From string // where it stands: "workshop manual, section 3"
}

// Closing is what is written down when the work is done.
type Closing struct {
	Cause   string               // what it turned out to be: a cause, or "unknown"
	Showed  string               // what the old part, or the place, showed when it was open
	Charged Said[quantity.Money] // what the owner pays in all
	Coolant UsedCoolant
	When    string // free text
	Watch   string // what the owner is to watch, beyond the usual
	Tally   string // "no" keeps the job out of the shop's tally; "yes", "unknown" or ""
}

// UsedCoolant is the record of the coolant that came out.
type UsedCoolant struct {
	Drained Said[quantity.Volume]
	Filled  Said[quantity.Volume]
	Mix     Said[quantity.Share] // of what was filled in, by volume
	Looked  string               // contamination, free text: "rusty, no oil"
	Went    string               // free text: "collector's drum"
}

// Coolant is what should be in the circuit.
type Coolant struct {
	Capacity Said[quantity.Volume]
	Glycol   Said[quantity.Share] // by volume, 0..1
	Kind     string               // "ethylene", "propylene", "unknown" or ""
}

// Thermostat is the part as specified, not as found.
type Thermostat struct {
	Rating Said[quantity.Temperature] // starts to open
	Sits   string                     // "outlet", "inlet", "unknown" or ""
	Kind   string                     // "plain", "map-controlled", "motor-valve", "none", "unknown" or ""
}

// Fan is the fan as specified.
type Fan struct {
	Kind  string // "electric", "two-speed", "viscous", "belt", ..., "unknown" or ""
	Count int    // 0: not said or unknown
	On    Said[quantity.Temperature]
	Off   Said[quantity.Temperature] // below On
}

// Complaint is what the owner says, and under which conditions it happens.
type Complaint struct {
	Words      string   // the owner's own
	Signs      []string // "overheats", "runs-cold", ...
	Denied     []string // signs that were asked for and are not so
	When       []string // conditions in which it happens: "idle", "climb", ...
	Fine       []string // conditions in which it does not
	Ambient    Said[quantity.Temperature]
	Needle     Said[quantity.Temperature] // highest that the dash gauge showed
	After      Said[Span]                 // running until it shows
	Since      string                     // "suddenly", "weeks", "last-work", ..., "unknown" or ""
	ToppedUp   ToppedUp
	Overheated Overheated
	Note       string
}

// Span is how long or how far the engine ran: one of the two is not 0.
type Span struct {
	Time     quantity.Duration
	Distance Distance // m
}

// ToppedUp is what was filled in, how often, and what it changed.
type ToppedUp struct {
	Amount  Said[quantity.Volume]
	Every   string // "once", "daily", "weekly", ..., "unknown" or ""
	With    string // "water", "coolant", "other", "unknown" or ""
	Changed string // as of a repair
}

// Overheated is how much the engine has already suffered.
type Overheated struct {
	Times Said[int]
	Badly string // "yes", "no", "unknown" or ""
}

// PastWork is something done to the car before the complaint began.
type PastWork struct {
	What      string   // "thermostat", "pump", ..., "unknown"
	Also      []string // further kinds, in the same visit
	When      string   // free text: "2 weeks ago"
	Where     string   // free text: "here", "another shop", "owner"
	Changed   string   // what it did at the time, as of a repair
	Of        []string // the signs that it changed, where it did not change all
	BackAfter string   // free text: how long it helped, "two weeks"
	Showed    string   // free text: what the old part showed
	Note      string
}

// Quote is a repair another shop has proposed, with its price and the cause it presumes.
type Quote struct {
	Presumes string // a cause, or "unknown"
	Repair   string // a repair, or "unknown"
	Price    Said[quantity.Money]
	By       string   // free text
	Evidence []string // the checks it rests on
}

// Finding is what a check showed, what a repair already tried has changed, or a
// sign that was seen or asked for: one of Check, Repair, Sign, Denied and NotKnown is set. With none of
// them it is a remark, which is kept but not counted.
type Finding struct {
	Check   string
	Found   string                     // one of the check's words, "unknown" or ""
	Codes   []string                   // trouble codes as read: "P0128", "P0480 pending"
	Read    []Reading                  // in the file's order
	Engine  string                     // state: "cold", "hot-idle", ...; "" means the one the check needs
	Ambient Said[quantity.Temperature] // "" means the shop's
	Trace   string                     // a log's file name, relative to the job file
	Drive   int                        // which start in the log, from 1; 0 means all
	Map     map[string]string          // column of the log by signal, where guessing fails
	AirCon  string                     // "yes" when air conditioning was on throughout; "no", "unknown" or ""
	By      string                     // whose word it is: "owner", "other-shop", "seller", "here" or ""

	Sign   string // a sign that was seen
	Denied string // a sign that was looked for and is not so
	// NotKnown is a sign that the owner was asked about and could not tell of: it is not asked again.
	NotKnown string

	Repair    string
	Also      []string // further repairs of the same visit, with one result
	Again     string   // "yes" where the same work stands under recent-work and was done twice
	Changed   string   // "nothing", "better", "worse", "cured", "unknown" or ""
	Of        []string // the signs that it changed, where it did not change all
	BackAfter string   // free text: how long it helped
	Showed    string   // free text: what the old part showed
	Minutes   Said[quantity.Duration]
	Parts     Said[quantity.Money]
	Part      string // free text: what went in, with its number

	Note string
}

// names counts what the finding is of; one is right, none is a remark.
func (f *Finding) names() int {
	n := 0
	for _, id := range []string{f.Check, f.Repair, f.Sign, f.Denied, f.NotKnown} {
		if id != "" {
			n++
		}
	}
	return n
}

// Remark tells whether the finding is only a note: kept and printed, not counted.
func (f *Finding) Remark() bool {
	return f.names() == 0
}

// Reading is one number that a check gave.
type Reading struct {
	ID    string
	Value float64 // SI as package quantity has it (temperatures in °C); meaningless unless Known
	Bound string  // "about", "below", "above" the number, or "" for the number itself
	Text  string  // as typed
}

// Known tells whether the reading was taken.
func (r Reading) Known() bool { return r.Text != "" && r.Text != Unknown }

// Position is where something stands in the job file, counted from 1; zero
// when the job did not come from a file.
type Position struct{ Line, Column int }

// File is the name the job was read under, "" when it came from no file.
func (j *Job) File() string { return j.file }

// Where gives the position of a value by its path, such as
// "findings[2].read.upper-hose", or of the nearest thing around it that the
// file does have.
func (j *Job) Where(path string) Position {
	for path != "" {
		if p, ok := j.places[path]; ok {
			return p
		}
		path = parentPath(path)
	}
	return j.places[""]
}
