package cause

// The fixed words that the data files may use. They are kept here, not in the
// files, because other packages draw places and read job files with them.

var workWords = [...]string{
	"thermostat", "pump", "radiator", "hose", "coolant", "head-gasket", "belt",
	"fan", "cap", "sensor", "heater-core", "body", "other",
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

// String is the outcome's word in a job file.
func (o Change) String() string {
	if int(o) < len(outcomeWords) {
		return outcomeWords[o]
	}
	return "unknown"
}
