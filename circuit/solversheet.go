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
}
