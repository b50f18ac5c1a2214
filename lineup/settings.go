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
	HealthyUnasked   cause.Sourced `sheet:"healthy-unasked,required"`
	UnsaidWeight     cause.Sourced `sheet:"unsaid-weight,required"`
	TongueMean       cause.Sourced `sheet:"tongue-mean,required"`
	TongueSD         cause.Sourced `sheet:"tongue-sd,required"`
	FindingPower     cause.Sourced `sheet:"finding-power,required"`
	ComesForNothing  cause.Sourced `sheet:"comes-for-nothing,required"`
	StratumPower     cause.Sourced `sheet:"stratum-power,required"`
	StratumLeast     cause.Sourced `sheet:"stratum-least,required"`
	ResampleBelow    cause.Sourced `sheet:"resample-below,required"`
	MovedLineup      cause.Sourced `sheet:"moved-lineup,required"`
	TemperingKeep    cause.Sourced `sheet:"tempering-keep,required"`
	MovesPerStep     cause.Sourced `sheet:"moves-per-step,required"`
	MoveStep         cause.Sourced `sheet:"move-step,required"`
	TraceModelSD     cause.Sourced `sheet:"trace-model-sd,required"`
	TraceFineTimes   cause.Sourced `sheet:"trace-fine-times,required"`
	TraceFineShare   cause.Sourced `sheet:"trace-fine-share,required"`
	TraceMiddleTimes cause.Sourced `sheet:"trace-middle-times,required"`
	TraceMiddleShare cause.Sourced `sheet:"trace-middle-share,required"`
	TraceRoughTimes  cause.Sourced `sheet:"trace-rough-times,required"`
	TraceRoughShare  cause.Sourced `sheet:"trace-rough-share,required"`
	TraceCorrelation cause.Sourced `sheet:"trace-correlation,required"`
	TraceReadingSD   cause.Sourced `sheet:"trace-reading-sd,required"`
	TraceBlindFactor cause.Sourced `sheet:"trace-blind-factor,required"`
	TracePower       cause.Sourced `sheet:"trace-power,required"`
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
