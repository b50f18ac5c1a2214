package check

import (
	"strings"

	"weephole/cause"
	"weephole/circuit"
	"weephole/sheet"
)

// Checklist holds the checks and signs, resolved against a catalogue of causes.
// It is read once and not changed afterwards: it may be used from several
// goroutines.
type Checklist struct {
	Checks     []Check
	Signs      []Sign
	Conditions []Condition
	Tools      []cause.Tool
	Hazards    []cause.Hazard
	// LowCoolant is the blunder share of a tabulated check that needs a full
	// system, on a candidate with little coolant or much air.
	LowCoolant sheet.Sourced
	// Careless is the share of a blunder that ends in the word that the check's
	// blunder says; the rest is even over the words.
	Careless sheet.Sourced
	// Quote is the factor on the odds of the cause that another shop's quote
	// presumes.
	Quote sheet.Sourced
	// About widens the spread of a reading that was given as "about" a number.
	About sheet.Sourced
	// Pending is how much of a trouble code's weight of evidence counts while it
	// is only pending.
	Pending sheet.Sourced
	// RoadSpeed (km/h) makes minutes of the miles that a car ran until it showed.
	RoadSpeed sheet.Sourced
	// RoadADay (km) makes days of a way driven since some work.
	RoadADay sheet.Sourced
	// Works says which kind of recent work each repair is.
	Works []Same
	// Whose says how far the word of each kind of person is trusted.
	Whose []Whose
	// Scales say what a number told by an owner stands for: the needle's degrees,
	// the minutes until it runs hot.
	Scales []Scale
	// Weather is the outside air that a word of the weather stands for.
	Weather []Weather
	// Told says which signs the keys of a job file stand for.
	SignWords []SignWord
	// Cars says how what the car is changes the odds of a cause.
	Cars []CarOdds
	// EngineFans says how likely the engine itself turns a car's fan.
	EngineFans []EngineFan
	// Meanings says what a condition comes to on such a car.
	Meanings []Meaning

	causes *cause.Catalogue
	sheets []sheet.Source
	byID   map[string]int
}

// Subject is a candidate as a check sees it.
type Subject struct {
	Causes []cause.Present // one or two; a healthy one has "no-fault"
	// Record holds the observables of the candidate's run. It may be nil for
	// checks whose Situations is empty.
	Record *circuit.Record
}

// Check is one thing a mechanic can do to learn more.
type Check struct {
	At    sheet.At `sheet:",at"`
	ID    string   `sheet:"id,required"`
	Name  string   `sheet:"name,required"`
	Made  string   `sheet:"made"`           // the name of it once it was made; see NameMade
	How   string   `sheet:"how,required"`   // doing it so that the result counts
	Place string   `sheet:"place,required"` // one of cause.Places
	State string   `sheet:"state,required"` // engine state needed, one of States
	// Situation is the way of running the engine in which it is done, when it
	// is one of the circuit's situations.
	Situation string `sheet:"situation"`
	// Minutes of work, warming up and cooling down not counted.
	Minutes     sheet.Range   `sheet:"minutes,required"`
	Consumables sheet.Sourced `sheet:"consumables"` // US$
	Tools       []string      `sheet:"tools"`
	Hazards     []string      `sheet:"hazards"`
	SetUp       string        `sheet:"set-up"` // work shared with repairs of the same word: "drained"
	// NeedsFull marks a check of flow, which says little while coolant is low
	// or air is in.
	NeedsFull bool `sheet:"needs-full"`
	// Fan is the kind of fan that the check is for, as in cause.Cause.Fan; empty:
	// any.
	Fan string `sheet:"fan"`
	// Group names checks that share a way of being wrong: "gas", "flow".
	Group string `sheet:"group"`
	// Repeat is the weight of a repeat with the same result; 1 is independent.
	Repeat  Repeat  `sheet:"repeat,required"`
	Blunder Blunder `sheet:"blunder,required"`
	Asks    string  `sheet:"asks,required"` // question for the mechanic
	// Also lists further states of the engine in which the check says the same;
	// "any" for all of them.
	Also sheet.Words `sheet:"also"`
	// Trace marks a check whose result may be a logged run.
	Trace    bool           `sheet:"trace"`
	Words    []Word         `sheet:"words"`
	Table    []Row          `sheet:"shows"`
	Readings []ReadingModel `sheet:"readings"`

	index    int
	blunder  [maxWords]float64 // by word
	lowShare float64
	traits   []trait // by cause index
	alarm    [maxWords]bool
	table    table
	physical bool
	words    []condition // all words' conditions, word by word
	variants []variant   // the same check, read in another situation
	wordEnds [maxWords]int16
}

// Repeat is how much a repeated result counts.
type Repeat struct {
	Share  float64 `sheet:"share,required"`
	Source string  `sheet:"source,required"`
}

// Blunder is the chance that a result is as good as random.
type Blunder struct {
	Share  float64 `sheet:"share,required"`
	Says   string  `sheet:"says"` // the word that carelessness ends in; empty: any
	Source string  `sheet:"source,required"`
}

// Word is one possible result.
type Word struct {
	At    sheet.At `sheet:",at"`
	Is    string   `sheet:"is,required"`
	Says  string   `sheet:"says,required"`
	Short string   `sheet:"short"` // the same for a plate of the drawing; see InShort
	Alarm bool     `sheet:"alarm"` // not what a healthy engine shows
	// When makes the word depend on observables: all conditions must hold. The
	// words are tried in order and the last one takes what is left.
	When []When `sheet:"when"`
	// Codes are the trouble codes that this word stands for (SAE J2012).
	Codes []string `sheet:"codes"`
	// Direct names the causes that this word shows directly: the part itself was
	// looked at or measured and found bad. "cause" or "cause@site" or
	// "cause@state"; see Shown.
	Direct []string `sheet:"direct"`

	shown []Shown
}

// NameMade is how a check that was made is called. The name of some is an instruction, and a
// report gives none.
func (c *Check) NameMade() string {
	if c.Made != "" {
		return c.Made
	}
	return c.Name
}

// ShortMost is how many letters a plate of the drawing holds. Design choice.
const ShortMost = 14

// InShort is what a word says on a plate of the drawing: its own short form, or its id with
// spaces, where that is plain English.
func (w *Word) InShort() string {
	if w.Short != "" {
		return w.Short
	}
	return strings.ReplaceAll(w.Is, "-", " ")
}

// Shown is a cause that a word shows directly: whether it explains the
// complaint is another question.
type Shown struct {
	Cause  int // index in the catalogue of causes
	Site   int // index of the site, or cause.NoSite for any
	Hidden int // which hidden the state belongs to; -1 for any state
	State  int // index of the state
}

// Fits says whether what is present is what was shown.
func (s Shown) Fits(p cause.Present) bool {
	return s.Cause == p.Cause && (s.Site == cause.NoSite || s.Site == p.Site) &&
		(s.Hidden < 0 || p.Hidden[s.Hidden] == s.State)
}

// Shows are the causes that the word shows directly; none for most words.
func (w *Word) Shows() []Shown { return w.shown }

// When is a soft threshold: the condition holds with probability
// Phi((x-Above)/Soft), or Phi((Below-x)/Soft).
type When struct {
	At    sheet.At `sheet:",at"`
	Of    string   `sheet:"of,required"`
	Minus string   `sheet:"minus"` // subtracted from Of
	Above *float64 `sheet:"above"`
	Below *float64 `sheet:"below"`
	// Soft is the spread of the threshold and of what is seen, in the unit of Of.
	Soft   float64 `sheet:"soft,required"`
	Source string  `sheet:"source,required"`
}

// Row is one line of a table of results. The first row that fits a present
// cause counts; the row `otherwise` is the healthy engine.
type Row struct {
	At        sheet.At    `sheet:",at"`
	Cause     sheet.Words `sheet:"cause"`
	Site      sheet.Words `sheet:"site"`
	Otherwise sheet.Pairs `sheet:"otherwise"`
	// Shows gives the probability of words, each one number or [mild, severe].
	// Words that are not named share what is left as the otherwise row has them.
	Shows  sheet.Pairs `sheet:"shows"`
	Source string      `sheet:"source,required"`
	// States are further keys: the name of a hidden and the state it must be in.
	States sheet.RestWords `sheet:",rest"`
}

// ReadingModel is a number that a check gives.
type ReadingModel struct {
	At   sheet.At `sheet:",at"`
	ID   string   `sheet:"id,required"`
	Name string   `sheet:"name,required"`
	// What is the dimension: one of Whats. Values are in SI with temperatures
	// in degrees Celsius, pressures in Pa gauge and durations in seconds.
	What  string `sheet:"what,required"`
	Place string `sheet:"place"` // on the drawing, when not the check's own
	// Of is the observable; Minus is subtracted from it. A reading without Of
	// has a Table of means instead.
	Of    string       `sheet:"of"`
	Minus string       `sheet:"minus"`
	Error ReadingError `sheet:"error,required"`
	// Most is where a mechanic stops an engine that runs away, and reads it, in
	// the unit of Error; nil: nowhere.
	Most *float64 `sheet:"most"`
	// Blunder is the chance that the reading is as good as random.
	Blunder Blunder `sheet:"blunder,required"`
	// Plausible is the range outside which a reading is refused, in the unit
	// of Error.
	Plausible [2]float64   `sheet:"plausible,required"`
	Table     []ReadingRow `sheet:"shows"`

	of, minus observed
	fromOf    float64 // SI per unit of the observable
	scale     float64 // SI per unit of Error
	healthy   meanRow
	rows      []meanRow
	rowsOf    [][]int16 // by cause index
	evenly    float64   // density of a blunder, per unit of Error
	traits    []trait   // by cause index
}

// ReadingError is the standard deviation of a reading about its observable,
// for the instrument, its user and the model together.
type ReadingError struct {
	SD       float64 `sheet:"sd,required"`
	Relative float64 `sheet:"relative"` // added in quadrature, as a share of the observable
	Gun      float64 `sheet:"gun"`      // beside these: what all readings of one job with the infrared gun err by together
	Unit     string  `sheet:"unit,required"`
	Source   string  `sheet:"source,required"`
}

// ReadingRow is the mean of a reading that physics does not predict.
type ReadingRow struct {
	At     sheet.At        `sheet:",at"`
	Cause  sheet.Words     `sheet:"cause"` // none: the healthy engine
	Mean   sheet.Numbers   `sheet:"mean,required"`
	Spread sheet.Numbers   `sheet:"spread,required"`
	Source string          `sheet:"source,required"`
	States sheet.RestWords `sheet:",rest"`
}

// Trouble is the kind of thing that an owner complains of.
type Trouble uint8

// The kinds of trouble.
const (
	Hot   Trouble = iota // runs hot
	Cold                 // runs cold, slow to warm, no heat
	Loss                 // loses coolant
	Other                // anything else
	numTroubles
)

// Heard says how a sign or condition stands in the complaint.
type Heard uint8

// What was heard: nothing about it, that it is so, or that it is not.
const (
	Silent Heard = iota
	Said
	Denied
)

// Sign is something an owner says about the car.
type Sign struct {
	At      sheet.At `sheet:",at"`
	ID      string   `sheet:"id,required"`
	Name    string   `sheet:"name,required"`
	Trouble string   `sheet:"trouble,required"` // hot | cold | loss | other
	// Detail marks a sign that people tell of only now and then: it counts where
	// it is said or denied, and silence about it says nothing.
	Detail bool `sheet:"detail"`
	// Said is the probability that an owner mentions it when it is so, and
	// Mistaken when it is not.
	Said     sheet.Sourced `sheet:"said,required"`
	Mistaken sheet.Sourced `sheet:"mistaken,required"`
	// Any of the alternatives makes it so.
	Any []Alternative `sheet:"any"`
	// Reached is the probability that it comes so far where the run does: a run
	// goes on, a driver stops. Left out: always.
	Reached sheet.Sourced `sheet:"reached"`
	// Table gives the probability that it is so, by cause.
	Table []Row `sheet:"shows"`

	index   int
	trouble Trouble
	truth   truth
}

// Alternative is one way in which a sign comes about.
type Alternative struct {
	At  sheet.At `sheet:",at"`
	All []When   `sheet:"all,required"`
}

// Condition is a circumstance in which the trouble happens, or does not.
type Condition struct {
	At   sheet.At `sheet:",at"`
	ID   string   `sheet:"id,required"`
	Name string   `sheet:"name,required"`
	// Detail marks a condition that counts only where it is said or denied.
	Detail   bool          `sheet:"detail"`
	Said     sheet.Sourced `sheet:"said,required"`
	Mistaken sheet.Sourced `sheet:"mistaken,required"`
	// Hot and Cold say what the trouble then looks like.
	Hot  []Alternative `sheet:"hot"`
	Cold []Alternative `sheet:"cold"`
	// Table gives the probability that heat shows in it, by cause, on a car
	// that runs hot at all.
	Table []Row `sheet:"shows"`

	index     int
	hot, cold truth
}

// Complaint is what the owner said, by the catalogue's signs and conditions.
type Complaint struct {
	Trouble    Trouble
	Signs      []Heard // by index in Checklist.Signs
	Conditions []Heard // by index in Checklist.Conditions
}
