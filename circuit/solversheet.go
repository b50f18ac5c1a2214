package circuit

import (
	_ "embed"

	"weephole/sheet"
)

//go:embed solver.yaml
var solverYAML []byte

// numerics are the numbers of the solver; solver.yaml says what each is and where it
// comes from.
var numerics = sheet.Own[solverSheet]("circuit/solver.yaml", solverYAML)

type solverSheet struct {
	FineError     sheet.Sourced `sheet:"fine-error,required"`
	FineLongest   sheet.Sourced `sheet:"fine-longest,required"`
	CoarseError   sheet.Sourced `sheet:"coarse-error,required"`
	CoarseLongest sheet.Sourced `sheet:"coarse-longest,required"`
	FirstStep     sheet.Sourced `sheet:"first-step,required"`
	ShortestStep  sheet.Sourced `sheet:"shortest-step,required"`
	EvenSteps     sheet.Sourced `sheet:"even-steps,required"`
	StepSafety    sheet.Sourced `sheet:"step-safety,required"`
	ShrinkMost    sheet.Sourced `sheet:"shrink-most,required"`
	SlowMost      sheet.Sourced `sheet:"slow-most,required"`
	GrowMost      sheet.Sourced `sheet:"grow-most,required"`
	EventTries    sheet.Sourced `sheet:"event-tries,required"`
	FanSlack      sheet.Sourced `sheet:"fan-slack,required"`
	TurnMatters   sheet.Sourced `sheet:"turn-matters,required"`
	TurnLate      sheet.Sourced `sheet:"turn-late,required"`
	LevelMoved    sheet.Sourced `sheet:"level-moved,required"`
	GasMoved      sheet.Sourced `sheet:"gas-moved,required"`
	WorthBoiling  sheet.Sourced `sheet:"worth-boiling,required"`
	SwingShare    sheet.Sourced `sheet:"swing-share,required"`
	BendMost      sheet.Sourced `sheet:"bend-most,required"`
	WaxNudge      sheet.Sourced `sheet:"wax-nudge,required"`
	TimeSlack     sheet.Sourced `sheet:"time-slack,required"`
	ErrorLeast    sheet.Sourced `sheet:"error-least,required"`
	NeverBoils    sheet.Sourced `sheet:"never-boils,required"`
	BoilAway      sheet.Sourced `sheet:"boil-away,required"`
	LeakMost      sheet.Sourced `sheet:"leak-most,required"`
	CoreWaits     sheet.Sourced `sheet:"core-waits,required"`
	CoreReach     sheet.Sourced `sheet:"core-reach,required"`
	CoreMost      sheet.Sourced `sheet:"core-most,required"`
	CoreStill     sheet.Sourced `sheet:"core-still,required"`
	ClutchLeast   sheet.Sourced `sheet:"clutch-least,required"`
	SteadyWithin  sheet.Sourced `sheet:"steady-within,required"`
	SteadyHalves  sheet.Sourced `sheet:"steady-halves,required"`
	SteadyEnds    sheet.Sourced `sheet:"steady-ends,required"`
	SteadyTries   sheet.Sourced `sheet:"steady-tries,required"`
	SteadyHottest sheet.Sourced `sheet:"steady-hottest,required"`
	BalanceWithin sheet.Sourced `sheet:"balance-within,required"`
	ClutchHalves  sheet.Sourced `sheet:"clutch-halves,required"`
	ClutchWithin  sheet.Sourced `sheet:"clutch-within,required"`
	JacketLeast   sheet.Sourced `sheet:"jacket-least,required"`
	ColdTries     sheet.Sourced `sheet:"cold-tries,required"`
	ColdWithin    sheet.Sourced `sheet:"cold-within,required"`
	InletHalves   sheet.Sourced `sheet:"inlet-halves,required"`
}
