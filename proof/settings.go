package proof

import (
	"bytes"
	_ "embed"
	"fmt"

	"weephole/cause"
	"weephole/cause/sheet"
)

//go:embed settings.yaml
var settingsYAML []byte

//go:embed runs.yaml
var runsYAML []byte

// Settings are the numbers of the proof and the runs that it chooses from;
// settings.yaml and runs.yaml say what each is and where it comes from.
type Settings struct {
	Engines         cause.Sourced `sheet:"engines,required"`
	PassOdds        cause.Sourced `sheet:"pass-odds,required"`
	DenyOdds        cause.Sourced `sheet:"deny-odds,required"`
	ScepticGood     cause.Sourced `sheet:"sceptic-good,required"`
	Wider           cause.Sourced `sheet:"wider,required"`
	SlowSD          cause.Sourced `sheet:"slow-sd,required"`
	Anew            cause.Sourced `sheet:"anew,required"`
	SecondLeast     cause.Sourced `sheet:"second-least,required"`
	TellShare       cause.Sourced `sheet:"tell-share,required"`
	Trials          cause.Sourced `sheet:"trials,required"`
	Step            cause.Sourced `sheet:"step,required"`
	MostChecks      cause.Sourced `sheet:"most-checks,required"`
	CheckMinutes    cause.Sourced `sheet:"check-minutes,required"`
	WorthNaming     cause.Sourced `sheet:"worth-naming,required"`
	MattersK        cause.Sourced `sheet:"matters-k,required"`
	MattersMetalK   cause.Sourced `sheet:"matters-metal-k,required"`
	MattersVentK    cause.Sourced `sheet:"matters-vent-k,required"`
	MattersGaugeK   cause.Sourced `sheet:"matters-gauge-k,required"`
	MattersPressure cause.Sourced `sheet:"matters-pressure,required"`
	MattersFan      cause.Sourced `sheet:"matters-fan,required"`
	MattersSlower   cause.Sourced `sheet:"matters-slower,required"`
	VisibleShare    cause.Sourced `sheet:"visible-share,required"`
	LeastGain       cause.Sourced `sheet:"least-gain,required"`

	Runs []Run
}

// DefaultSettings reads the embedded settings and runs.
func DefaultSettings() (*Settings, error) {
	return ReadSettings(
		sheet.Source{Name: "proof/settings.yaml", Data: bytes.Clone(settingsYAML)},
		sheet.Source{Name: "proof/runs.yaml", Data: bytes.Clone(runsYAML)})
}

// ReadSettings reads a sheet of settings and one of runs; errors name the file,
// line and field.
func ReadSettings(settings, runs sheet.Source) (*Settings, error) {
	var s Settings
	if err := sheet.Read(settings, &s).Err(); err != nil {
		return nil, fmt.Errorf("proof settings: %w", err)
	}
	var l struct {
		Runs []Run `sheet:"runs,required"`
	}
	if err := sheet.Read(runs, &l).Err(); err != nil {
		return nil, fmt.Errorf("proof runs: %w", err)
	}
	for i := range l.Runs {
		if err := l.Runs[i].check(); err != nil {
			return nil, fmt.Errorf("proof runs: %w", err)
		}
	}
	s.Runs = l.Runs
	return &s, nil
}

// Run gives the run with the id, or nil.
func (s *Settings) Run(id string) *Run {
	for i := range s.Runs {
		if s.Runs[i].ID == id {
			return &s.Runs[i]
		}
	}
	return nil
}
