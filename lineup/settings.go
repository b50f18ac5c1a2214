package lineup

import (
	"bytes"
	_ "embed"
	"fmt"

	"weephole/cause"
	"weephole/cause/sheet"
)

//go:embed settings.yaml
var settingsYAML []byte

// Settings are the numbers of the inference itself; settings.yaml says what
// each is and where it comes from.
type Settings struct {
	SecondFault      cause.Sourced `sheet:"second-fault,required"`
	UnsaidWeight     cause.Sourced `sheet:"unsaid-weight,required"`
	StratumPower     cause.Sourced `sheet:"stratum-power,required"`
	StratumLeast     cause.Sourced `sheet:"stratum-least,required"`
	ResampleBelow    cause.Sourced `sheet:"resample-below,required"`
	MovedLineup      cause.Sourced `sheet:"moved-lineup,required"`
	TemperingKeep    cause.Sourced `sheet:"tempering-keep,required"`
	MovesPerStep     cause.Sourced `sheet:"moves-per-step,required"`
	MoveStep         cause.Sourced `sheet:"move-step,required"`
	TraceModelSD     cause.Sourced `sheet:"trace-model-sd,required"`
	TraceCorrelation cause.Sourced `sheet:"trace-correlation,required"`
	TraceReadingSD   cause.Sourced `sheet:"trace-reading-sd,required"`
	TraceBlindFactor cause.Sourced `sheet:"trace-blind-factor,required"`
	TraceBlunder     cause.Sourced `sheet:"trace-blunder,required"`
	HeaterNever      cause.Sourced `sheet:"heater-never,required"`
	HeaterAlways     cause.Sourced `sheet:"heater-always,required"`
	AirConNever      cause.Sourced `sheet:"air-con-never,required"`
	AirConAlways     cause.Sourced `sheet:"air-con-always,required"`
	TraceFlatSD      cause.Sourced `sheet:"trace-flat-sd,required"`
}

// DefaultSettings reads the embedded settings.
func DefaultSettings() (*Settings, error) {
	return ReadSettings("settings.yaml", settingsYAML)
}

// ReadSettings reads a settings sheet; errors name the file, line and field.
func ReadSettings(name string, data []byte) (*Settings, error) {
	var s Settings
	if err := sheet.Read(sheet.Source{Name: name, Data: bytes.Clone(data)}, &s).Err(); err != nil {
		return nil, fmt.Errorf("settings: %w", err)
	}
	return &s, nil
}
