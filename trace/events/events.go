package events

import "math"

// Verdict is what the shape of a log says about the thermostat, in one word.
type Verdict string

// The verdicts.
const (
	Opened        Verdict = "opened"          // a knee or a steady plateau at a working temperature
	StartedHot    Verdict = "started-hot"     // already warm at the first row; the opening was not seen
	CannotTellYet Verdict = "cannot-tell-yet" // too little heat went in to say
	RunsCold      Verdict = "runs-cold"       // heat enough, but it levels off below a working temperature
	Overheats     Verdict = "overheats"       // climbs beyond what any thermostat holds
	NoCoolant     Verdict = "no-coolant"      // nothing to judge
)

// Events is what one drive of a log shows, in the order in which it happens.
// Times are seconds on the Trace's clock; a nil or empty field was not seen.
type Events struct {
	Start    *Start
	Pauses   []Span // engine stopped for less than a soak: stop-start, stalls
	WarmUp   *WarmUp
	Opening  *Opening
	Plateau  *Plateau
	Fan      *FanUse
	Climbs   []Climb
	Boiling  *Boiling
	Jumps    []Jump
	Contact  Contact // the jumps in numbers
	Soaks    []Soak  // shut-off and what followed
	Heat     HeatIn
	Ambient  Estimate // degC
	MaxC     Estimate // highest trusted coolant temperature, degC
	MaxAt    float64  // s
	EndC     float64  // degC at the last row
	Duration float64  // s
	Verdict  Verdict
	Why      string // a clause for the verdict, in °C; Summary has it in the shop's units

	why func(wording) string
}

// Estimate is a value with its standard uncertainty, both in the same unit.
// Value is NaN when there is nothing to say.
type Estimate struct {
	Value float64
	Sigma float64
}

// Span is a stretch of time in s on the Trace's clock.
type Span struct{ From, To float64 }

// Start is the beginning of a drive.
type Start struct {
	At      Estimate // s, when the engine started (or the log, if it was running)
	C       float64  // degC, coolant
	Running bool     // the engine already ran at the first row
	Hot     bool     // coolant too warm for a cold start
}

// WarmUp is the rise towards the opening.
type WarmUp struct {
	Span
	FromC, ToC float64  // degC
	Rate       Estimate // K/s, straight line through the middle of the rise
}

// Opening is the first time the thermostat lets hot coolant out.
type Opening struct {
	At        Estimate // s, the knee
	After     Estimate // s since the engine's start
	C         Estimate // degC at the knee
	PeakC     float64  // degC, highest before the fall
	PeakAt    float64  // s
	FallC     float64  // K from the peak to the lowest within the next minutes, 0 if none
	Overshoot float64  // K from the plateau to the peak, NaN without a plateau
}

// Plateau is where the coolant stays once it is warm.
type Plateau struct {
	Span
	C          Estimate // degC, median and its uncertainty
	Spread     float64  // K, standard deviation
	LowC, TopC float64  // degC, 10th and 90th percentile
}

// FanUse is what is known of the fan.
type FanUse struct {
	Cycles []FanCycle
	OnC    Estimate // degC, mean over cycles; NaN if none
	OffC   Estimate // degC
	Period Estimate // s
	Logged bool     // from a fan column; otherwise read from the coolant's saw-teeth at standstill
	Never  bool     // the log holds standing, warm minutes or a fan column, and it never ran
}

// FanCycle is one run of the fan.
type FanCycle struct {
	Span
	OnC, OffC float64 // degC
}

// Climb is a rise out of the plateau while the engine works.
type Climb struct {
	Span
	FromC, ToC float64 // degC
	SpeedMS    float64 // m/s, mean; NaN unknown
	Standing   bool    // mostly at standstill
}

// Boiling is a flat top at a temperature where coolant under its cap boils.
type Boiling struct {
	Span
	C Estimate // degC
}

// Jump is a step of the reading that no mass of coolant can make.
type Jump struct {
	At         float64 // s
	FromC, ToC float64 // degC
	Seconds    float64 // s in which it happened
}

// Soak is an engine switched off and what the reading did after.
type Soak struct {
	Span
	FromC, PeakC, EndC float64  // degC
	SafeIn             Estimate // s from the last row until the cap may be opened; see Cooldown
}

// HeatIn is an estimate of the heat that the engine gave to coolant and metal
// against what it takes to open the thermostat.
type HeatIn struct {
	Given  Estimate // J since the start, until the opening or the end of the drive
	Needed Estimate // J to bring this start to the opening, losses included
	From   string   // what the estimate rests on: "fuel rate", "air flow", "road speed", "engine speed", "time alone"
}

// nan stands where nothing is known.
var nan = math.NaN()
