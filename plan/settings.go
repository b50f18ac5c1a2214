package plan

import (
	"bytes"
	_ "embed"
	"fmt"

	"weephole/cause"
	"weephole/cause/sheet"
)

//go:embed settings.yaml
var settingsYAML []byte

// Settings are the numbers of the plan that belong to no check and no repair;
// settings.yaml says what each is. Minutes and US$.
type Settings struct {
	LabourRate     cause.Sourced `sheet:"labour-rate,required"`
	CoolDown       cause.Sourced `sheet:"cool-down,required"`
	WarmUp         cause.Sourced `sheet:"warm-up,required"`
	IdleBay        cause.Sourced `sheet:"idle-bay,required"`
	WatchedRun     cause.Sourced `sheet:"watched-run,required"`
	ProofRun       cause.Sourced `sheet:"proof-run,required"`
	ProofWatched   cause.Sourced `sheet:"proof-watched,required"`
	Drain          cause.Sourced `sheet:"drain,required"`
	Refill         cause.Sourced `sheet:"refill,required"`
	ToolShare      cause.Sourced `sheet:"tool-share,required"`
	HandOnFee      cause.Sourced `sheet:"hand-on-fee,required"`
	HandOnFactor   cause.Sourced `sheet:"hand-on-factor,required"`
	UnnamedRepair  cause.Sourced `sheet:"unnamed-repair,required"`
	Sample         cause.Sourced `sheet:"sample,required"`
	WrongRepair    cause.Sourced `sheet:"wrong-repair,required"`
	WrongBigRepair cause.Sourced `sheet:"wrong-big-repair,required"`
	HealthyOdds    cause.Sourced `sheet:"healthy-odds,required"`
	Likely         cause.Sourced `sheet:"likely,required"`
	Within         cause.Sourced `sheet:"within,required"`
	Asking         cause.Sourced `sheet:"asking,required"`
	AskedRight     cause.Sourced `sheet:"asked-right,required"`
	AskedWrong     cause.Sourced `sheet:"asked-wrong,required"`
	Inefficiency   cause.Sourced `sheet:"inefficiency,required"`
	HeatLimitWorth cause.Sourced `sheet:"heat-limit-worth,required"`
	UnfitRoad      cause.Sourced `sheet:"unfit-road,required"`
	UnfitMinutes   cause.Sourced `sheet:"unfit-minutes,required"`
	SayHeat        cause.Sourced `sheet:"say-heat,required"`
	Costly         cause.Sourced `sheet:"costly,required"`
	DirectRatio    cause.Sourced `sheet:"direct-ratio,required"`

	direct []Direct
	waits  []LongWait
}

// DefaultSettings reads the embedded settings.
func DefaultSettings() (*Settings, error) {
	var s Settings
	if err := sheet.Read(sheet.Source{Name: "settings.yaml", Data: bytes.Clone(settingsYAML)}, &s).Err(); err != nil {
		return nil, fmt.Errorf("plan settings: %w", err)
	}
	var err error
	if s.direct, err = DirectSigns(); err != nil {
		return nil, err
	}
	s.waits, err = longWaits()
	return &s, err
}
