package job

import (
	"slices"

	"weephole/trace"
)

// Vocabulary is the words that a job file may use and that this package cannot
// know: the ids of checks, causes, repairs and tools stand in catalogues that a
// shop can add to. An empty list leaves its words unchecked, save that an id
// must look like one.
type Vocabulary struct {
	Checks  []CheckWords
	Causes  []string
	Repairs []string
	Tools   []string
	Engine  []string // engine states
	Signs   []string
	When    []string // conditions of a complaint
	Work    []string // kinds of recent work
	Changed []string // what a repair did: "nothing", "cured"
	Signals []string // a log's columns, as the keys of "map"
}

// CheckWords is what a check may be said to have shown.
type CheckWords struct {
	ID       string
	Words    []string
	Readings []ReadingWords
}

// ReadingWords is a number that a check gives.
type ReadingWords struct {
	ID        string
	What      string  // a kind of quantity: "temperature", "pressure", ...; one of Kinds
	Low, High float64 // plausible range in SI, °C for temperatures; both 0: not known
}

// DefaultVocabulary holds the words that belong to the job file itself. The
// lists of ids are empty; the caller fills them from its catalogues.
func DefaultVocabulary() Vocabulary {
	return Vocabulary{
		Engine: []string{"cold", "cold-start", "warm", "hot-idle", "hot-off", "road", "open"},
		Signs: []string{"overheats", "boils-over", "runs-cold", "slow-to-warm", "no-heat", "gauge-swings",
			"loses-coolant", "steam", "sweet-smell", "lamp", "white-smoke", "fan-always-on", "hard-hose"},
		When: []string{"idle", "city", "motorway", "climb", "towing", "air-conditioning", "after-restart",
			"always", "cold-start"},
		Work: []string{"thermostat", "pump", "radiator", "hose", "coolant", "head-gasket", "belt", "fan", "cap",
			"sensor", "heater-core", "body", "other", "none"},
		Changed: []string{"nothing", "better", "worse", "cured"},
		Signals: signals(),
	}
}

// signals are the words that a log's columns can be named by, and the two that
// package trace takes beside them.
func signals() []string {
	words := []string{"time", "ignore"}
	for s := trace.Signal(0); ; s++ {
		if _, err := trace.SignalOf(s.String()); err != nil {
			return words
		}
		words = append(words, s.String())
	}
}

func (v *Vocabulary) check(id string) *CheckWords {
	if i := slices.IndexFunc(v.Checks, func(c CheckWords) bool { return c.ID == id }); i >= 0 {
		return &v.Checks[i]
	}
	return nil
}

func (v *Vocabulary) checkIDs() []string {
	ids := make([]string, len(v.Checks))
	for i, c := range v.Checks {
		ids[i] = c.ID
	}
	return ids
}

func (c *CheckWords) reading(id string) *ReadingWords {
	if i := slices.IndexFunc(c.Readings, func(r ReadingWords) bool { return r.ID == id }); i >= 0 {
		return &c.Readings[i]
	}
	return nil
}

func (c *CheckWords) readingIDs() []string {
	ids := make([]string, len(c.Readings))
	for i, r := range c.Readings {
		ids[i] = r.ID
	}
	return ids
}
