package lineup

import (
	"bytes"
	"fmt"

	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
	"weephole/trace"
)

// Model is the knowledge that every lineup is drawn from. It is read once,
// not changed afterwards, and may be used from several goroutines.
type Model struct {
	Table    *circuit.Table
	Causes   *cause.Catalogue
	Checks   *check.Checklist
	Settings *Settings
}

// DefaultModel reads the embedded knowledge.
func DefaultModel() (*Model, error) {
	table, err := circuit.DefaultTable()
	if err != nil {
		return nil, fmt.Errorf("circuit numbers: %w", err)
	}
	causes, err := cause.Default()
	if err != nil {
		return nil, fmt.Errorf("causes: %w", err)
	}
	checks, err := check.Builtin(causes)
	if err != nil {
		return nil, fmt.Errorf("checks: %w", err)
	}
	settings, err := DefaultSettings()
	if err != nil {
		return nil, err
	}
	return &Model{Table: table, Causes: causes, Checks: checks, Settings: settings}, nil
}

// Overlay lays a shop's own sheet over the knowledge: causes and repairs,
// checks and signs, whichever the sheet holds. The old model stays as it was.
func (m *Model) Overlay(name string, data []byte) (*Model, error) {
	checks, err := m.Checks.Overlay(bytes.NewReader(data), name)
	if err != nil {
		return nil, fmt.Errorf("overlay: %w", err)
	}
	n := *m
	n.Causes, n.Checks = checks.Causes(), checks
	return &n, nil
}

// Case is everything known about one car: what is weighed against every
// candidate.
type Case struct {
	Vehicle circuit.Vehicle
	// Shop is where the car stands now: the conditions of findings that name
	// none, and of the checks still to come.
	Shop circuit.Conditions
	// Complaint is what the owner said, and the conditions he met it in.
	Complaint   check.Complaint
	OnTheRoad   circuit.Conditions
	RanHot      bool             // driven on while hot: consequences are likelier
	LostCoolant bool             // ran low: consequences are likelier
	Work        []cause.WorkDone // recent work
	// States are factors on the odds of hidden states among those of their cause, by cause
	// and state ("thermostat-late.rated-low").
	States   map[string]float64
	Brought  bool   // somebody thinks that something is wrong, whether or not a sign was named: words, a code, a quote
	Presumes string // cause that another shop's quote presumes; empty for none
	// Odds are factors on the prior odds of causes, by id, from what the car is:
	// 0 for a cause that it cannot have. Nil: nothing is known.
	Odds map[string]float64
	// Events are the findings and the repairs tried, in the order made.
	Events []Event
}

// Event is one finding or one repair that was tried.
type Event struct {
	Label string // how to call it in explanations; the check's name if empty

	Check      string              // id; empty for a repair
	Word       string              // result in words; empty when only read
	Readings   []Reading           // results in numbers
	Log        *Log                // a logged run
	Conditions *circuit.Conditions // where they differ from the shop's
	State      string              // of the engine, where it is not the one that the check asks for
	AirCon     bool                // the air conditioning was on
	// Weight is how much of the weight of evidence counts, 0..1; nil is all of it.
	Weight *float64

	Sign   string  // id of a sign that was seen instead of a check made
	Denied bool    // it was looked for and is not so
	Slip   float64 // probability that whoever says so is wrong

	Repair  string       // id of a repair that was tried
	Changed cause.Change // what it changed
	Unknown bool         // what it changed is not known
	Joint   bool         // done in one visit with the repair before it, with one outcome for both
}

// Reading is one number that a check gave, in SI (temperatures in degC).
type Reading struct {
	ID    string
	Value float64
	Bound check.Bound // what the number is: the reading, or a bound of it
}

// Log is a logged run: what the engine was made to do, in stretches of about
// equal length, and the coolant temperature it then showed.
type Log struct {
	Segments []trace.Segment
	StartC   float64 // coolant at the first row
	Jumps    int     // from row to row that no coolant makes (package trace/events): a loose contact
	// Soaked is 1 for a start with all the engine at StartC, 0 when only the
	// coolant is known to be (a hot restart).
	Soaked float64
}
