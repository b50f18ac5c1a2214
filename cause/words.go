package cause

// The fixed words that the data files may use. They are kept here, not in the
// files, because other packages draw places and read job files with them.

var workWords = [...]string{
	"thermostat", "pump", "radiator", "hose", "coolant", "head-gasket", "belt",
	"fan", "cap", "sensor", "heater-core", "body", "other",
	"radiator-repair", "sealer", "flush", "engine", "head", "service", "oil-change",
	"timing-belt", "belt-tension", "tank", "core-plug", "ignition", "exhaust",
	"electrical", "air-conditioning",
}

var places = [...]string{
	"thermostat", "radiator", "fan", "pump", "belt", "cap", "upper-hose",
	"lower-hose", "heater", "engine", "head", "sensor", "gauge", "neck", "tank",
	"exhaust", "brakes", "cabin", "road",
}

var repairStates = [...]string{"any", "cold", "drained"}

var consequenceWhens = [...]string{"always", "overheated", "lost-coolant"}

var fanWords = [...]string{"electric", "viscous"}

var pairWords = [...]string{"named"}

var outcomeWords = [...]string{"nothing", "better", "worse", "cured"}

// WorkWords are the kinds of recent work that a job file may name.
func WorkWords() []string { return append([]string(nil), workWords[:]...) }

// Places are the places on a drawing of the circuit at which a cause, a site or
// a check can sit.
func Places() []string { return append([]string(nil), places[:]...) }

// FanWords are the kinds of fan that a cause or a check may ask for.
func FanWords() []string { return append([]string(nil), fanWords[:]...) }

// ChangeWords are the words for what a repair changed, indexed by Change.
func ChangeWords() []string { return append([]string(nil), outcomeWords[:]...) }

// Failed is true of a repair that took nothing away.
func (o Change) Failed() bool { return o == Nothing || o == CameBack }

// String is the outcome's word in a job file, where there is one.
func (o Change) String() string {
	if o == CameBack {
		return "came back"
	}
	if int(o) < len(outcomeWords) {
		return outcomeWords[o]
	}
	return "unknown"
}

// workSays are the kinds of work whose word alone does not say what they are.
var workSays = map[string]string{
	"thermostat": "a new thermostat", "pump": "a new coolant pump", "radiator": "a new radiator",
	"hose": "a new hose or clip", "coolant": "coolant changed or filled", "head-gasket": "a new head gasket",
	"belt": "a new outer belt", "fan": "a new fan, clutch, relay or switch, or the fan taken off and put back",
	"cap": "a new cap", "sensor": "a new temperature sensor or sender", "heater-core": "a new heater core",
	"body": "body work at the front", "other": "other work: say what in note:", "none": "nothing was done lately",
	"radiator-repair": "the radiator repaired, cleaned out or refitted, not replaced", "sealer": "a leak sealer poured in",
	"flush": "flushed, with or without a cleaner", "engine": "the engine swapped or rebuilt",
	"head": "the cylinder head replaced or machined", "service": "a service, its parts not told",
	"oil-change": "an oil change", "timing-belt": "a timing belt or chain", "belt-tension": "a belt tensioned, not replaced",
	"tank": "a new expansion tank", "core-plug": "a new core plug or housing gasket",
	"ignition": "ignition or timing work", "exhaust": "exhaust work",
	"electrical": "starter, battery, generator, computer or wiring", "air-conditioning": "work on the air conditioning",
}

// WorkSays is what a kind of recent work is, in words.
func WorkSays(work string) string { return workSays[work] }
