package proof

import (
	"bytes"
	_ "embed"
	"fmt"

	"weephole/sheet"
)

//go:embed settings.yaml
var settingsYAML []byte

//go:embed runs.yaml
var runsYAML []byte

// Settings are the numbers of the proof and the runs that it chooses from;
// settings.yaml and runs.yaml say what each is and where it comes from.
type Settings struct {
	Engines         sheet.Sourced `sheet:"engines,required"`
	PassOdds        sheet.Sourced `sheet:"pass-odds,required"`
	DenyOdds        sheet.Sourced `sheet:"deny-odds,required"`
	ScepticGood     sheet.Sourced `sheet:"sceptic-good,required"`
	Wider           sheet.Sourced `sheet:"wider,required"`
	SlowSD          sheet.Sourced `sheet:"slow-sd,required"`
	Anew            sheet.Sourced `sheet:"anew,required"`
	SecondLeast     sheet.Sourced `sheet:"second-least,required"`
	TellShare       sheet.Sourced `sheet:"tell-share,required"`
	Trials          sheet.Sourced `sheet:"trials,required"`
	Step            sheet.Sourced `sheet:"step,required"`
	MostChecks      sheet.Sourced `sheet:"most-checks,required"`
	CheckMinutes    sheet.Sourced `sheet:"check-minutes,required"`
	WorthNaming     sheet.Sourced `sheet:"worth-naming,required"`
	MattersK        sheet.Sourced `sheet:"matters-k,required"`
	MattersMetalK   sheet.Sourced `sheet:"matters-metal-k,required"`
	MattersVentK    sheet.Sourced `sheet:"matters-vent-k,required"`
	MattersGaugeK   sheet.Sourced `sheet:"matters-gauge-k,required"`
	MattersPressure sheet.Sourced `sheet:"matters-pressure,required"`
	MattersFan      sheet.Sourced `sheet:"matters-fan,required"`
	MattersSlower   sheet.Sourced `sheet:"matters-slower,required"`
	HeatSD          sheet.Sourced `sheet:"heat-sd,required"`
	MassSD          sheet.Sourced `sheet:"mass-sd,required"`
	VisibleShare    sheet.Sourced `sheet:"visible-share,required"`
	LeastGain       sheet.Sourced `sheet:"least-gain,required"`

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
