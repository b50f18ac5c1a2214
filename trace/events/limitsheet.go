package events

import (
	_ "embed"
	"sync"

	"weephole/sheet"
)

//go:embed limits.yaml
var limitsYAML []byte

// limits are the numbers by which events are told; limits.yaml says what each is and
// where it comes from.
var limits = sync.OnceValue(func() *limitSheet { return sheet.Own[limitSheet]("trace/events/limits.yaml", limitsYAML) })

type limitSheet struct {
	ParkedTau       sheet.Sourced `sheet:"parked-tau,required"`
	ParkedLogSpread sheet.Sourced `sheet:"parked-log-spread,required"`
	SoakPeak        sheet.Sourced `sheet:"soak-peak,required"`
	ResidualApart   sheet.Sourced `sheet:"residual-apart,required"`
	HotterInside    sheet.Sourced `sheet:"hotter-inside,required"`

	PauseLimit  sheet.Sourced `sheet:"pause-limit,required"`
	HotStart    sheet.Sourced `sheet:"hot-start,required"`
	ColdStart   sheet.Sourced `sheet:"cold-start,required"`
	ColdWithin  sheet.Sourced `sheet:"cold-within,required"`
	SmoothOver  sheet.Sourced `sheet:"smooth-over,required"`
	LowestOpen  sheet.Sourced `sheet:"lowest-open,required"`
	HighestOpen sheet.Sourced `sheet:"highest-open,required"`
	LowestBend  sheet.Sourced `sheet:"lowest-bend,required"`
	FallLeast   sheet.Sourced `sheet:"fall-least,required"`
	FallSlow    sheet.Sourced `sheet:"fall-slow,required"`
	FallWithin  sheet.Sourced `sheet:"fall-within,required"`
	SlowRise    sheet.Sourced `sheet:"slow-rise,required"`
	QuickRise   sheet.Sourced `sheet:"quick-rise,required"`
	PlainPeak   sheet.Sourced `sheet:"plain-peak,required"`
	Steeper     sheet.Sourced `sheet:"steeper,required"`
	LevelFor    sheet.Sourced `sheet:"level-for,required"`
	LevelSpread sheet.Sourced `sheet:"level-spread,required"`
	OverPeak    sheet.Sourced `sheet:"over-peak,required"`
	BeforeFall  sheet.Sourced `sheet:"before-fall,required"`
	PeakTop     sheet.Sourced `sheet:"peak-top,required"`
	PeakWithin  sheet.Sourced `sheet:"peak-within,required"`
	Settle      sheet.Sourced `sheet:"settle,required"`
	SensorLag   sheet.Sourced `sheet:"sensor-lag,required"`
	WarmedBy    sheet.Sourced `sheet:"warmed-by,required"`
	OverWithin  sheet.Sourced `sheet:"over-within,required"`
	HoldsFor    sheet.Sourced `sheet:"holds-for,required"`
	RiseOver    sheet.Sourced `sheet:"rise-over,required"`
	SteepOver   sheet.Sourced `sheet:"steep-over,required"`
	LagOver     sheet.Sourced `sheet:"lag-over,required"`
	KneeTop     sheet.Sourced `sheet:"knee-top,required"`
	KneeErrs    sheet.Sourced `sheet:"knee-errs,required"`
	BendRises   sheet.Sourced `sheet:"bend-rises,required"`
	BendSlope   sheet.Sourced `sheet:"bend-slope,required"`
	BendKnown   sheet.Sourced `sheet:"bend-known,required"`
	BendShut    sheet.Sourced `sheet:"bend-shut,required"`
	BendErrs    sheet.Sourced `sheet:"bend-errs,required"`
	BeforeOver  sheet.Sourced `sheet:"before-over,required"`
	RowSilence  sheet.Sourced `sheet:"row-silence,required"`
	LineApart   sheet.Sourced `sheet:"line-apart,required"`

	Standstill   sheet.Sourced `sheet:"standstill,required"`
	StandingLong sheet.Sourced `sheet:"standing-long,required"`
	CalmBy       sheet.Sourced `sheet:"calm-by,required"`
	FanTooth     sheet.Sourced `sheet:"fan-tooth,required"`
	FanWarm      sheet.Sourced `sheet:"fan-warm,required"`
	ClimbBy      sheet.Sourced `sheet:"climb-by,required"`
	ClimbFor     sheet.Sourced `sheet:"climb-for,required"`
	ClimbDip     sheet.Sourced `sheet:"climb-dip,required"`
	ClimbStands  sheet.Sourced `sheet:"climb-stands,required"`
	BoilLeast    sheet.Sourced `sheet:"boil-least,required"`
	BoilFor      sheet.Sourced `sheet:"boil-for,required"`
	BoilOver     sheet.Sourced `sheet:"boil-over,required"`
	BoilTop      sheet.Sourced `sheet:"boil-top,required"`
	BoilSpread   sheet.Sourced `sheet:"boil-spread,required"`
	BoilRises    sheet.Sourced `sheet:"boil-rises,required"`
	BoilBy       sheet.Sourced `sheet:"boil-by,required"`

	BeyondAll   sheet.Sourced `sheet:"beyond-all,required"`
	NeverOpened sheet.Sourced `sheet:"never-opened,required"`
	BeyondHold  sheet.Sourced `sheet:"beyond-hold,required"`
	Working     sheet.Sourced `sheet:"working,required"`
	LevelSlope  sheet.Sourced `sheet:"level-slope,required"`
	LevelEnd    sheet.Sourced `sheet:"level-end,required"`
	LevelLeast  sheet.Sourced `sheet:"level-least,required"`
	ShutHigher  sheet.Sourced `sheet:"shut-higher,required"`
	WholeDegree sheet.Sourced `sheet:"whole-degree,required"`
	WorkingMore sheet.Sourced `sheet:"working-more,required"`
	LevelShare  sheet.Sourced `sheet:"level-share,required"`
	LevelApart  sheet.Sourced `sheet:"level-apart,required"`
	LevelSwing  sheet.Sourced `sheet:"level-swing,required"`
	LevelLast   sheet.Sourced `sheet:"level-last,required"`
	ShortOver   sheet.Sourced `sheet:"short-over,required"`
	ShortHeat   sheet.Sourced `sheet:"short-heat,required"`

	SlopeOver    sheet.Sourced `sheet:"slope-over,required"`
	SlopeWhole   sheet.Sourced `sheet:"slope-whole,required"`
	PullOver     sheet.Sourced `sheet:"pull-over,required"`
	OpeningFall  sheet.Sourced `sheet:"opening-fall,required"`
	OpeningLow   sheet.Sourced `sheet:"opening-low,required"`
	RisesOn      sheet.Sourced `sheet:"rises-on,required"`
	HeatKept     sheet.Sourced `sheet:"heat-kept,required"`
	BendTo       sheet.Sourced `sheet:"bend-to,required"`
	ToothBy      sheet.Sourced `sheet:"tooth-by,required"`
	FlatTop      sheet.Sourced `sheet:"flat-top,required"`
	NearTop      sheet.Sourced `sheet:"near-top,required"`
	SoakLeast    sheet.Sourced `sheet:"soak-least,required"`
	DriverStill  sheet.Sourced `sheet:"driver-still,required"`
	DriverMoves  sheet.Sourced `sheet:"driver-moves,required"`
	RestingStill sheet.Sourced `sheet:"resting-still,required"`
	HeatOver     sheet.Sourced `sheet:"heat-over,required"`
	HeatApart    sheet.Sourced `sheet:"heat-apart,required"`
	FanRuns      sheet.Sourced `sheet:"fan-runs,required"`
	Independent  sheet.Sourced `sheet:"independent,required"`
}
