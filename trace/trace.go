package trace

import "time"

// Signal is one quantity that a log may hold, whatever its column was called.
type Signal uint8

// The signals and the unit in which a Trace holds each.
const (
	Coolant          Signal = iota // degC, the engine computer's coolant reading
	EngineSpeed                    // rev/s
	RoadSpeed                      // m/s
	AirFlow                        // kg/s, air into the engine
	ManifoldPressure               // Pa absolute
	IntakeAir                      // degC
	Ambient                        // degC, outside air
	FanState                       // share of full fan that turns, 0..1: its speed or current, or what a person saw
	Load                           // share of full load, 0..1
	Throttle                       // share, 0..1
	FuelRate                       // kg/s
	Pedal                          // share, 0..1
	OilTemp                        // degC
	HeadTemp                       // degC, cylinder head metal
	RunTime                        // s since the engine started
	Barometer                      // Pa absolute, outside air pressure
	Distance                       // m, trip or odometer
	FanCommand                     // share of full fan that the control unit asks for, 0..1
	AirCon                         // share, 0..1: the compressor asked for or running
	Coolant2                       // degC, a second coolant sensor, mostly at the radiator's outlet
	TransmissionTemp               // degC
	ShortTrim                      // share, short term fuel trim of bank 1, -1..1
	LongTrim                       // share, long term fuel trim of bank 1, -1..1
	Codes                          // trouble codes stored, a count
	numSignals
)

// Trace is one log, read, put into SI units and thinned to a bounded number of
// rows. All slices in Signals are as long as Time; NaN stands where the log
// does not tell. Time is in seconds from the first row and strictly
// increasing; rows are missing where the log has a gap.
type Trace struct {
	Name    string
	Time    []float64            // s
	Signals map[Signal][]float64 // units as beside each Signal
	Drives  []Drive              // at least one, in order, together covering all rows
	Assumed []Assumption         // everything that the log did not say itself
	Columns []Column             // what became of each column
	Choices []Choice             // questions for a person; a log with any must not be weighed
	Began   time.Time            // of the first row; zero if the log gives no date
	Step    float64              // s, nominal spacing of rows
	Rows    int                  // rows of data that were read
	Dropped int                  // rows that could not be used
}

// Drive is a stretch of rows from one start of the log to its next long break.
// Time runs on across drives; where the break's true length is unknown, a
// nominal one stands in Time and GapKnown is false.
type Drive struct {
	From, To int  // rows From <= i < To
	GapKnown bool // whether the time between the drive before and this one is known
}

// Assumption is one thing that the reader had to suppose, or saw and settled.
type Assumption struct {
	What  string // in a sentence: "speed is taken as km/h"
	Where string // the column or line it concerns, "" for the whole file
	Why   string // in a sentence
	Doubt bool   // the reader thinks that a person should look
}

// Column tells what became of one column of the log.
type Column struct {
	Number int    // from 1
	Name   string // as the log has it, decoded
	Unit   string // the unit used: the log's own or the assumed one
	Signal Signal // meaningful only if Used
	Used   bool
	How    string // "by name", "by its numbers", "by --map", "not used"
}

// ReadOptions steer Read. The zero value asks for everything to be found out.
type ReadOptions struct {
	Rate         float64           // rows per second, for logs without any time; 0 unknown
	Map          map[string]string // signal word ("coolant", "time", "ignore") to "column name or #number", with "@unit" behind it if wanted
	Drive        int               // from 1: keep only this drive; 0 keeps all
	Step         float64           // s between rows of the Trace; 0 means 1 s
	MaxRows      int               // 0 means 20000; the step doubles until the log fits
	Ambient      float64           // degC outside, if it is known from elsewhere; NaN or 0 with AmbientKnown false is unknown
	AmbientKnown bool
	// Flags tells that the reader of the messages has the flags of the program's trace command at
	// hand (--map, --rate): they say what to write there. Else they say what to do to the log.
	Flags bool
}

// Segment is a stretch of the log during which what drives the engine is taken
// as constant: the mean over the stretch. Unknown fields are NaN.
type Segment struct {
	Seconds         float64
	EngineRevPerSec float64
	RoadSpeedMS     float64
	AirFlowKgS      float64
	FuelRateKgS     float64
	Load            float64 // share, 0..1
	AmbientC        float64
	CoolantC        float64 // at the end of the stretch
	FanShare        float64 // share, 0..1
	EngineOff       bool
}
