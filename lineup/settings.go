package lineup

import (
	_ "embed"
	"fmt"

	"weephole/sheet"
)

//go:embed settings.yaml
var settingsYAML []byte

// Settings are the numbers of the inference itself; settings.yaml says what
// each is and where it comes from.
type Settings struct {
	SecondFault      sheet.Sourced `sheet:"second-fault,required"`
	HealthyUnasked   sheet.Sourced `sheet:"healthy-unasked,required"`
	UnsaidWeight     sheet.Sourced `sheet:"unsaid-weight,required"`
	TalkMean         sheet.Sourced `sheet:"talk-mean,required"`
	TalkSD           sheet.Sourced `sheet:"talk-sd,required"`
	FindingPower     sheet.Sourced `sheet:"finding-power,required"`
	ComplaintPower   sheet.Sourced `sheet:"complaint-power,required"`
	TriedPower       sheet.Sourced `sheet:"tried-power,required"`
	ComesForNothing  sheet.Sourced `sheet:"comes-for-nothing,required"`
	LeastToBlame     sheet.Sourced `sheet:"least-to-blame,required"`
	BesideMildest    sheet.Sourced `sheet:"beside-mildest,required"`
	StratumPower     sheet.Sourced `sheet:"stratum-power,required"`
	StratumLeast     sheet.Sourced `sheet:"stratum-least,required"`
	ErrorTarget      sheet.Sourced `sheet:"error-target,required"`
	LogError         sheet.Sourced `sheet:"log-error,required"`
	RoughAbove       sheet.Sourced `sheet:"rough-above,required"`
	MostRounds       sheet.Sourced `sheet:"most-rounds,required"`
	LeastRounds      sheet.Sourced `sheet:"least-rounds,required"`
	EnoughEngines    sheet.Sourced `sheet:"enough-engines,required"`
	LeastEngines     sheet.Sourced `sheet:"least-engines,required"`
	LastRound        sheet.Sourced `sheet:"last-round,required"`
	RoundFirst       sheet.Sourced `sheet:"round-first,required"`
	RoundGrowth      sheet.Sourced `sheet:"round-growth,required"`
	RoundSize        sheet.Sourced `sheet:"round-size,required"`
	HopePower        sheet.Sourced `sheet:"hope-power,required"`
	PairLook         sheet.Sourced `sheet:"pair-look,required"`
	SoughtMass       sheet.Sourced `sheet:"sought-mass,required"`
	SoughtLeast      sheet.Sourced `sheet:"sought-least,required"`
	SoughtMost       sheet.Sourced `sheet:"sought-most,required"`
	SoughtRounds     sheet.Sourced `sheet:"sought-rounds,required"`
	SoughtEngines    sheet.Sourced `sheet:"sought-engines,required"`
	ExploreShare     sheet.Sourced `sheet:"explore-share,required"`
	TraceModelSD     sheet.Sourced `sheet:"trace-model-sd,required"`
	TraceFineTimes   sheet.Sourced `sheet:"trace-fine-times,required"`
	TraceFineShare   sheet.Sourced `sheet:"trace-fine-share,required"`
	TraceMiddleTimes sheet.Sourced `sheet:"trace-middle-times,required"`
	TraceMiddleShare sheet.Sourced `sheet:"trace-middle-share,required"`
	TraceRoughTimes  sheet.Sourced `sheet:"trace-rough-times,required"`
	TraceRoughShare  sheet.Sourced `sheet:"trace-rough-share,required"`
	TraceCorrelation sheet.Sourced `sheet:"trace-correlation,required"`
	TraceReadingSD   sheet.Sourced `sheet:"trace-reading-sd,required"`
	TraceBlindFactor sheet.Sourced `sheet:"trace-blind-factor,required"`
	TraceWindow      sheet.Sourced `sheet:"trace-window,required"`
	TraceWanderSD    sheet.Sourced `sheet:"trace-wander-sd,required"`
	TraceWanderTime  sheet.Sourced `sheet:"trace-wander-time,required"`
	TraceWindowSD    sheet.Sourced `sheet:"trace-window-sd,required"`
	TraceSpreadSD    sheet.Sourced `sheet:"trace-spread-sd,required"`
	TraceAstraySD    sheet.Sourced `sheet:"trace-astray-sd,required"`
	HeaterOff        sheet.Sourced `sheet:"heater-off,required"`
	TraceBlunder     sheet.Sourced `sheet:"trace-blunder,required"`
	HeaterNever      sheet.Sourced `sheet:"heater-never,required"`
	HeaterAlways     sheet.Sourced `sheet:"heater-always,required"`
	AirConNever      sheet.Sourced `sheet:"air-con-never,required"`
	AirConAlways     sheet.Sourced `sheet:"air-con-always,required"`
	TraceTooHot      sheet.Sourced `sheet:"trace-too-hot,required"`
	TooHotBlunder    sheet.Sourced `sheet:"trace-too-hot-blunder,required"`
	TraceJumpsFew    sheet.Sourced `sheet:"trace-jumps-few,required"`
	TraceJumpsMany   sheet.Sourced `sheet:"trace-jumps-many,required"`
	TraceFlatSD      sheet.Sourced `sheet:"trace-flat-sd,required"`
	NothingFits      sheet.Sourced `sheet:"nothing-fits,required"`
	OddChance        sheet.Sourced `sheet:"odd-chance,required"`
	AmongAnswers     sheet.Sourced `sheet:"among-answers,required"`
	ShowsReadily     sheet.Sourced `sheet:"shows-readily,required"`
	StratumPart      sheet.Sourced `sheet:"stratum-part,required"`
	StratumFewest    sheet.Sourced `sheet:"stratum-fewest,required"`
	LeastNoticed     sheet.Sourced `sheet:"least-noticed,required"`
	TriesMost        sheet.Sourced `sheet:"tries-most,required"`
	FailedShare      sheet.Sourced `sheet:"failed-share,required"`
	FailedMean       sheet.Sourced `sheet:"failed-mean,required"`
	FailedSD         sheet.Sourced `sheet:"failed-sd,required"`
	Hopeless         sheet.Sourced `sheet:"hopeless,required"`
	FindingAir       sheet.Sourced `sheet:"finding-air,required"`
	ComplaintAir     sheet.Sourced `sheet:"complaint-air,required"`
	AlikeAltitude    sheet.Sourced `sheet:"alike-altitude,required"`
	FarMiss          sheet.Sourced `sheet:"far-miss,required"`
	BasisSample      sheet.Sourced `sheet:"basis-sample,required"`
	BasisEffective   sheet.Sourced `sheet:"basis-effective,required"`
	DirectionsMost   sheet.Sourced `sheet:"directions-most,required"`
	DirectionWorth   sheet.Sourced `sheet:"direction-worth,required"`
	TemperHalves     sheet.Sourced `sheet:"temper-halves,required"`
	FitLeast         sheet.Sourced `sheet:"fit-least,required"`
	FitEngines       sheet.Sourced `sheet:"fit-engines,required"`
	FitSlope         sheet.Sourced `sheet:"fit-slope,required"`
	FitRidge         sheet.Sourced `sheet:"fit-ridge,required"`
	FitFree          sheet.Sourced `sheet:"fit-free,required"`
	MomentEngines    sheet.Sourced `sheet:"moment-engines,required"`
	MomentLeast      sheet.Sourced `sheet:"moment-least,required"`
	MomentLatents    sheet.Sourced `sheet:"moment-latents,required"`
	MomentNarrowest  sheet.Sourced `sheet:"moment-narrowest,required"`
	MomentPlain      sheet.Sourced `sheet:"moment-plain,required"`
	MomentWider      sheet.Sourced `sheet:"moment-wider,required"`
	ShareLeast       sheet.Sourced `sheet:"share-least,required"`
	SieveLeast       sheet.Sourced `sheet:"sieve-least,required"`
	SieveBelow       sheet.Sourced `sheet:"sieve-below,required"`
	SieveDepth       sheet.Sourced `sheet:"sieve-depth,required"`
	SieveFlat        sheet.Sourced `sheet:"sieve-flat,required"`
	SieveBend        sheet.Sourced `sheet:"sieve-bend,required"`
	SieveRidge       sheet.Sourced `sheet:"sieve-ridge,required"`
	SieveEngines     sheet.Sourced `sheet:"sieve-engines,required"`
	TraceWindowLeast sheet.Sourced `sheet:"trace-window-least,required"`
	TraceSteepest    sheet.Sourced `sheet:"trace-steepest,required"`
	TraceStrange     sheet.Sourced `sheet:"trace-strange,required"`
	JumpsFew         sheet.Sourced `sheet:"jumps-few,required"`
	JumpsMany        sheet.Sourced `sheet:"jumps-many,required"`
	PredictLeast     sheet.Sourced `sheet:"predict-least,required"`
	PairsShown       sheet.Sourced `sheet:"pairs-shown,required"`
}

// DefaultSettings reads the embedded settings.
func DefaultSettings() (*Settings, error) {
	return ReadSettings("settings.yaml", settingsYAML)
}

// ReadSettings reads a settings sheet; errors name the file, line and field.
func ReadSettings(name string, data []byte) (*Settings, error) {
	var s Settings
	if err := sheet.Embedded(name, data, &s); err != nil {
		return nil, fmt.Errorf("settings: %w", err)
	}
	return &s, nil
}
