package job

import (
	"slices"
	"strings"

	"weephole/quantity"
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
	Tried   []string // kinds of work that may be told as a repair besides those
	Tools   []string
	Engine  []string // engine states
	Signs   []string
	When    []string // conditions of a complaint
	Work    []string // kinds of recent work
	Changed []string // what a repair did: "nothing", "cured"
	Whose   []string // whose word it is: "owner", "seller"
	Signals []string // a log's columns, as the keys of "map"
	// Says are the meanings of words, by the kind of word and the word: what
	// KeyOf gives. Words without one are shown alone.
	Says map[string]string
	// Near finds the word of a list that a wrong word means, "" for none. Nil: by
	// letters alone.
	Near func(kind, word string, among []string) string

	defs schema // of the schema that is being written
}

// KeyOf is the key of a word in Vocabulary.Says. The kind is what the format
// calls it: "a sign", "a check", "a finding of level-cold".
func KeyOf(kind, word string) string { return kind + ": " + word }

// CheckWords is what a check may be said to have shown.
type CheckWords struct {
	ID       string
	Words    []string
	Readings []ReadingWords
	Codes    map[string]string // the word that a trouble code stands for
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
		Engine: []string{"cold", "cold-start", "warm", "hot-idle", "fast-idle", "hot-off", "road", "open"},
		Signs: []string{"overheats", "boils-over", "runs-cold", "slow-to-warm", "no-heat", "gauge-swings",
			"loses-coolant", "steam", "sweet-smell", "lamp", "white-smoke", "fan-always-on", "hard-hose"},
		When: []string{"idle", "city", "motorway", "climb", "towing", "air-conditioning", "after-restart",
			"always", "cold-start"},
		Work: []string{"thermostat", "pump", "radiator", "hose", "coolant", "head-gasket", "belt", "fan", "cap",
			"sensor", "heater-core", "body", "other", "none"},
		Whose:   []string{"here", "owner", "other-shop", "seller"},
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

// codesWord is the check's word for trouble codes: that of the first one that
// stands for one, or unknown.
func (c *CheckWords) codesWord(codes []string) string {
	for _, code := range codes {
		number, _ := Code(code)
		if w := c.Codes[number]; w != "" {
			return w
		}
	}
	return Unknown
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

// nearest is the word of a list that a wrong word was most likely meant to be: a
// slip of the fingers, by meaning where the vocabulary knows one, and else by letters, part by part,
// so that no other thing is taken for it: "leak-look" is no "belt-look".
func (v *Vocabulary) nearest(kind, word string, among []string) string {
	if slip := quantity.Slip(word, among); slip != "" {
		return slip
	}
	if v.Near != nil {
		if near := v.Near(kind, word, among); slices.Contains(among, near) {
			return near
		}
	}
	near := quantity.Nearest(strings.ToLower(word), among)
	meant, found := strings.Split(near, "-"), strings.Split(strings.ToLower(word), "-")
	if len(meant) == len(found) {
		for i := range meant {
			if quantity.Nearest(found[i], meant[i:i+1]) == "" {
				return ""
			}
		}
	}
	return near
}
