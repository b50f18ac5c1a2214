package plan

import (
	_ "embed"
	"fmt"

	"weephole/sheet"
)

//go:embed settings.yaml
var settingsYAML []byte

//go:embed never.yaml
var neverYAML []byte

// Assumptions are the numbers of the plan that belong to no check and no repair;
// settings.yaml says what each is. Minutes and US$.
type Assumptions struct {
	LabourRate     sheet.Sourced `sheet:"labour-rate,required"`
	CoolDown       sheet.Sourced `sheet:"cool-down,required"`
	WarmUp         sheet.Sourced `sheet:"warm-up,required"`
	IdleBay        sheet.Sourced `sheet:"idle-bay,required"`
	WatchedRun     sheet.Sourced `sheet:"watched-run,required"`
	ProofRun       sheet.Sourced `sheet:"proof-run,required"`
	ProofWatched   sheet.Sourced `sheet:"proof-watched,required"`
	Drain          sheet.Sourced `sheet:"drain,required"`
	Refill         sheet.Sourced `sheet:"refill,required"`
	ToolShare      sheet.Sourced `sheet:"tool-share,required"`
	HandOnFee      sheet.Sourced `sheet:"hand-on-fee,required"`
	HandOnFactor   sheet.Sourced `sheet:"hand-on-factor,required"`
	UnnamedRepair  sheet.Sourced `sheet:"unnamed-repair,required"`
	Sample         sheet.Sourced `sheet:"sample,required"`
	WrongRepair    sheet.Sourced `sheet:"wrong-repair,required"`
	WrongBigRepair sheet.Sourced `sheet:"wrong-big-repair,required"`
	HealthyOdds    sheet.Sourced `sheet:"healthy-odds,required"`
	Likely         sheet.Sourced `sheet:"likely,required"`
	Within         sheet.Sourced `sheet:"within,required"`
	Asking         sheet.Sourced `sheet:"asking,required"`
	AskingMore     sheet.Sourced `sheet:"asking-more,required"`
	Questions      sheet.Sourced `sheet:"questions,required"`
	AskedBits      sheet.Sourced `sheet:"asked-bits,required"`
	AskedUnsure    sheet.Sourced `sheet:"asked-unsure,required"`
	AskedRight     sheet.Sourced `sheet:"asked-right,required"`
	AskedWrong     sheet.Sourced `sheet:"asked-wrong,required"`
	Inefficiency   sheet.Sourced `sheet:"inefficiency,required"`
	HeatLimitWorth sheet.Sourced `sheet:"heat-limit-worth,required"`
	UnfitRoad      sheet.Sourced `sheet:"unfit-road,required"`
	UnfitMinutes   sheet.Sourced `sheet:"unfit-minutes,required"`
	SayHeat        sheet.Sourced `sheet:"say-heat,required"`
	Costly         sheet.Sourced `sheet:"costly,required"`
	DirectRatio    sheet.Sourced `sheet:"direct-ratio,required"`
	QuickLook      sheet.Sourced `sheet:"quick-look,required"`
	NeckRisk       sheet.Sourced `sheet:"neck-risk,required"`
	DearTool       sheet.Sourced `sheet:"dear-tool,required"`
	SayOn          sheet.Sourced `sheet:"say-on,required"`
	PutRight       sheet.Sourced `sheet:"put-right,required"`
	ShowsRatio     sheet.Sourced `sheet:"shows-ratio,required"`
	ShowsShare     sheet.Sourced `sheet:"shows-share,required"`
	RoundWorth     sheet.Sourced `sheet:"round-worth,required"`
	Begun          sheet.Sourced `sheet:"warm-up-begun,required"`
	RoundBegun     sheet.Sourced `sheet:"round-begun,required"`
	RoundMost      sheet.Sourced `sheet:"round-most,required"`
	Doubtful       sheet.Sourced `sheet:"doubtful,required"`
	MadeMost       sheet.Sourced `sheet:"made-most,required"`
	RuledOut       sheet.Sourced `sheet:"ruled-out,required"`
	FitsNothing    sheet.Sourced `sheet:"fits-nothing,required"`
	MainShare      sheet.Sourced `sheet:"main-share,required"`
	PairsMost      sheet.Sourced `sheet:"pairs-most,required"`
	ReadingRanges  sheet.Sourced `sheet:"reading-ranges,required"`
	QuoteHalves    sheet.Sourced `sheet:"quote-halves,required"`
	ToShowMost     sheet.Sourced `sheet:"to-show-most,required"`
	ToShowPairs    sheet.Sourced `sheet:"to-show-pairs,required"`
	ToShowLeast    sheet.Sourced `sheet:"to-show-least,required"`

	direct []DirectProof
	waits  []LongWait
	visits []Visit
	never  Never
	asks   map[string]bool // details that an owner can tell
}

// DefaultAssumptions reads the embedded numbers.
func DefaultAssumptions() (*Assumptions, error) {
	var s Assumptions
	if err := sheet.Embedded("settings.yaml", settingsYAML, &s); err != nil {
		return nil, fmt.Errorf("plan settings: %w", err)
	}
	var err error
	if s.direct, err = DirectSigns(); err != nil {
		return nil, err
	}
	if s.waits, err = longWaits(); err != nil {
		return nil, err
	}
	if s.visits, err = visits(); err != nil {
		return nil, err
	}
	if s.asks, err = CanTell(); err != nil {
		return nil, err
	}
	var n struct {
		Never Never `sheet:"never,required"`
	}
	if err := sheet.Embedded("never.yaml", neverYAML, &n); err != nil {
		return nil, fmt.Errorf("rules of the plan: %w", err)
	}
	s.never = n.Never
	return &s, nil
}
