package cause

import (
	"weephole/sheet"
)

// MaxHidden is the largest number of hidden states that a cause may have.
const MaxHidden = 2

// NoSite is the Site of a Present whose cause has no sites.
const NoSite = -1

// Catalogue holds the causes and repairs, and the tools and hazards that they
// and the checks name. It is read once and not changed afterwards: it may be
// used from several goroutines.
type Catalogue struct {
	Causes  []Cause
	Repairs []Repair
	Tools   []Tool
	Hazards []Hazard
	// Tried says how an owner's or mechanic's word on a repair ("nothing
	// changed", "cured") depends on whether the cause is really gone.
	Tried Tried
	// Fades says how the effect of recent work wears off.
	Fades Fades
	// PartBad is the share of new parts that are faulty.
	PartBad sheet.Sourced
	// Relapse is the share of cures after which the same fault comes back.
	Relapse sheet.Sourced

	sheets   []sheet.Source
	causes   map[string]int
	repairs  map[string]int
	attempts []Attempt
	noFault  int
	unnamed  int
}

// Cause is one thing that may be wrong.
type Cause struct {
	At    sheet.At `sheet:",at"`
	ID    string   `sheet:"id,required"`
	Name  string   `sheet:"name,required"`  // fits in "93 % have a ..."
	Tells string   `sheet:"tells,required"` // what it does and what gives it away
	Place string   `sheet:"place,required"` // where on a drawing of the circuit; one of Places
	// Weight is how common the cause is, in pseudo-cases out of the
	// catalogue's total, among cars that come in with any cooling complaint.
	Weight sheet.Sourced `sheet:"weight,required"`
	// Fitted is a factor on Weight that was fitted to cars whose cause is known;
	// nil for 1.
	Fitted *sheet.Sourced `sheet:"fitted"`
	// Beside is the share of cars that have it without its being what they come
	// for: worn parts that explain nothing of the complaint; nil for none.
	Beside *sheet.Sourced `sheet:"beside"`
	// Severity is the Beta distribution of the severity s.
	Severity Severity `sheet:"severity,required"`
	Acts     []Act    `sheet:"acts"`
	Hidden   []Hidden `sheet:"hidden"`
	Sites    []Site   `sheet:"sites"`
	// LeadsTo lists the faults that this one brings about.
	LeadsTo []Consequence `sheet:"leads-to"`
	// GoesWith lists other faults that are likelier in the company of this one
	// than chance would have it.
	GoesWith []Companion `sheet:"goes-with"`
	// After lists recent work that makes the cause likelier.
	After []After `sheet:"after"`
	// Repair is the id of the usual repair; a site may name its own.
	Repair string `sheet:"repair"`
	// SpoilsFlow marks a cause that leaves little coolant or much air, so that
	// checks of flow say little.
	SpoilsFlow bool `sheet:"spoils-flow"`
	// EasedByFilling marks a cause that does its harm by what has run out: full again,
	// the car runs well until it has lost as much once more.
	EasedByFilling bool `sheet:"eased-by-filling"`
	// Fan is the kind of fan that the cause needs: "electric" (of any speeds),
	// "viscous", or empty when any will do.
	Fan string `sheet:"fan"`
	// Pairs is "named" for a rare cause that is weighed beside another only
	// where leads-to or goes-with names the two; empty: beside any, by chance.
	Pairs string `sheet:"pairs"`
	// Anything marks the cause of which nothing is known: every result of every
	// check is as probable as every other.
	Anything bool `sheet:"anything"`

	index, repair int
	afterOdds     [len(workWords)]float64
}

// Severity is a Beta(a, b) distribution over 0..1.
type Severity struct {
	Shape  [2]float64 `sheet:"shape,required"`
	Source string     `sheet:"source,required"`
}

// How says in which way an act changes a number.
type How string

// The ways: Set replaces the number, Times multiplies it, Plus adds to it.
const (
	Set   How = "set"
	Times How = "times"
	Plus  How = "plus"
)

// Act changes one number of a circuit, by Mild at severity 0 and by Severe at
// severity 1. The unit is that of the number (1 for Times).
type Act struct {
	At     sheet.At `sheet:",at"`
	Number string   `sheet:"number,required"`
	How    How      `sheet:"how,required"`
	Mild   float64  `sheet:"mild,required"`
	Severe float64  `sheet:"severe,required"`
	Log    bool     `sheet:"log"` // interpolate the logarithm
	Source string   `sheet:"source,required"`

	target target
}

// Hidden is something about a cause that cannot be seen directly and is in one
// of several states.
type Hidden struct {
	At     sheet.At      `sheet:",at"`
	Name   string        `sheet:"name,required"`
	States []HiddenState `sheet:"states,required"`
	Source string        `sheet:"source,required"`
}

// HiddenState is one state of a Hidden, with its share of all such causes and the
// acts that it adds.
type HiddenState struct {
	At    sheet.At `sheet:",at"`
	Is    string   `sheet:"is,required"`
	Name  string   `sheet:"name"` // in words, for explanations
	Share float64  `sheet:"share,required"`
	Acts  []Act    `sheet:"acts"`
	// After lists recent work that makes this state likelier among the cause's own. How
	// much likelier the cause is stands in the cause's After.
	After []After `sheet:"after"`
	// Repair is the id of the repair that this state takes, where it is another
	// than the cause's.
	Repair string `sheet:"repair"`

	repair int
	// Jumps is the probability that a logged run shows jumps of the sensor's
	// reading because of it; nil for never.
	Jumps *sheet.Sourced `sheet:"jumps"`
}

// Site is where a leak is.
type Site struct {
	At     sheet.At `sheet:",at"`
	ID     string   `sheet:"id,required"`
	Name   string   `sheet:"name,required"`
	Share  float64  `sheet:"share,required"`
	Source string   `sheet:"source,required"`
	Repair string   `sheet:"repair,required"`
	Place  string   `sheet:"place,required"`
	Note   string   `sheet:"note"` // how it is seen

	repair int
}

// Consequence is a second fault brought about by the first.
type Consequence struct {
	At    sheet.At `sheet:",at"`
	Cause string   `sheet:"cause,required"`
	Share float64  `sheet:"share,required"` // of the candidates with the first, when When holds
	// When is the condition: "overheated" (the complaint says the engine was
	// run hot), "lost-coolant", or "always".
	When   string `sheet:"when,required"`
	Source string `sheet:"source,required"`

	index int
}

// Companion is a second fault that is found together with the first.
type Companion struct {
	At     sheet.At `sheet:",at"`
	Cause  string   `sheet:"cause,required"`
	Share  float64  `sheet:"share,required"` // of the candidates with the first
	Source string   `sheet:"source,required"`

	index int
}

// After says that recent work multiplies the odds of a cause.
type After struct {
	At     sheet.At `sheet:",at"`
	Work   string   `sheet:"work,required"` // one of WorkWords
	Odds   float64  `sheet:"odds,required"`
	Source string   `sheet:"source,required"`
}

// Repair is something that can be done, and what it takes.
type Repair struct {
	At    sheet.At `sheet:",at"`
	ID    string   `sheet:"id,required"`
	Name  string   `sheet:"name,required"`
	How   string   `sheet:"how,required"` // one or two sentences
	Cures []Cure   `sheet:"cures"`
	// Minutes of labour.
	Minutes sheet.Range `sheet:"minutes,required"`
	// Parts and Consumables in US$.
	Parts       sheet.Range   `sheet:"parts,required"`
	Consumables sheet.Sourced `sheet:"consumables,required"`
	State       string        `sheet:"state,required"` // cold | drained | any
	// SetUp names work that repairs and checks with the same word share when
	// done together: "drained".
	SetUp string `sheet:"set-up"`
	// Big marks a costly repair, which is never recommended on weak evidence.
	Big bool `sheet:"big"`
	// NeedOdds is the probability that its cause must have before the repair
	// may be recommended.
	NeedOdds sheet.Sourced `sheet:"need-odds,required"`
	// Part is what a repair puts in new, in words; empty where there is no one word for it.
	Part string `sheet:"part"`
	// NoPart is true when no new part goes in (cleaning, bleeding).
	NoPart   bool          `sheet:"no-part"`
	Botched  sheet.Sourced `sheet:"botched,required"` // share done wrongly
	Disturbs []Leaves      `sheet:"disturbs"`
	Hazards  []string      `sheet:"hazards,required"`
	Cautions []string      `sheet:"cautions,required"`
	Tools    []string      `sheet:"tools"`
	// Drives lists what the work takes by what drives the coolant pump, where a job tells.
	Drives []Drive `sheet:"drives"`

	index int
	cure  []cureRow // by cause index
	on    []Repair  // by Drives
}

// Drive is what a repair takes on a car whose coolant pump is driven in one way.
type Drive struct {
	At      sheet.At    `sheet:",at"`
	Pump    string      `sheet:"pump,required"` // "belt", "timing-belt" or "electric", as the job has it
	Name    string      `sheet:"name,required"` // of the repair there
	Minutes sheet.Range `sheet:"minutes,required"`
	Parts   sheet.Range `sheet:"parts,required"`
}

// Cure says how surely a repair puts a cause right when it is done properly.
type Cure struct {
	At     sheet.At `sheet:",at"`
	Cause  string   `sheet:"cause,required"`
	Sites  []string `sheet:"sites"`  // empty: all
	States []string `sheet:"states"` // states of the cause's hidden; empty: all
	Share  float64  `sheet:"share,required"`
	Source string   `sheet:"source,required"`
}

// Leaves is a cause that a repair may leave behind.
type Leaves struct {
	At     sheet.At `sheet:",at"`
	Cause  string   `sheet:"cause,required"`
	Share  float64  `sheet:"share,required"`
	Source string   `sheet:"source,required"`

	index int
}

// Tool is something that a check or repair needs. Price in US$.
type Tool struct {
	At    sheet.At    `sheet:",at"`
	ID    string      `sheet:"id,required"`
	Name  string      `sheet:"name,required"`
	Price sheet.Range `sheet:"price,required"`
}

// Hazard is a way to get hurt, with the caution that must come before the step.
type Hazard struct {
	At      sheet.At `sheet:",at"`
	ID      string   `sheet:"id,required"`
	Name    string   `sheet:"name,required"`
	Caution string   `sheet:"caution,required"`
	Fan     string   `sheet:"fan"` // the kind of fan without which the hazard is not there, as in Cause
}

// Present is a cause that a candidate has.
type Present struct {
	Cause    int            // index in Catalogue.Causes
	Site     int            // index in its Sites, NoSite if it has none
	Hidden   [MaxHidden]int // for each of its Hidden, the index of the state
	Severity float64        // 0..1
}

// Change is the word on what a repair changed.
type Change uint8

// The outcomes, in the words of the job file: "nothing", "better", "worse",
// "cured".
const (
	Nothing Change = iota
	Better
	Worse
	Cured
	numOutcomes
	// CameBack is none of the words: it helped for a time, and then the trouble was back.
	CameBack = numOutcomes
)

// Fades says over how many days the effect of recent work on the odds falls to
// its e-th power.
type Fades struct {
	Harm sheet.Sourced `sheet:"harm,required"` // what work may have left behind
	Good sheet.Sourced `sheet:"good,required"` // a part that is new
	// Untold is how many days back work is taken to be of which nobody says when.
	Untold sheet.Sourced `sheet:"untold,required"`
}

// WorkDone is work that was done on a car so many days ago.
type WorkDone struct {
	Work string // one of WorkWords
	Days float64
}

// Effect is what a visit to the workshop did to a car, of which somebody says what it changed.
type Effect struct {
	// Had causes were there, of which Gone have gone. A car with nothing wrong is best counted
	// as one cause that has not gone: what was complained of remains.
	Had, Gone int
	// Eased is true where the causes that remain have been helped for a time.
	Eased bool
}

// Tried gives the probability of each Outcome's word when none, some or all
// of the causes have gone.
type Tried struct {
	None TriedRow `sheet:"none-gone,required"`
	Some TriedRow `sheet:"some-gone,required"`
	All  TriedRow `sheet:"all-gone,required"`
}

// TriedRow is the probability of each word; they sum to 1. Back is that of another thing
// to hear: it helped for a time, and then the trouble was back.
type TriedRow struct {
	Nothing float64 `sheet:"nothing,required"`
	Better  float64 `sheet:"better,required"`
	Worse   float64 `sheet:"worse,required"`
	Cured   float64 `sheet:"cured,required"`
	Back    float64 `sheet:"back,required"`
	Source  string  `sheet:"source,required"`
}
