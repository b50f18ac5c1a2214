package trace

import (
	_ "embed"
	"sync"

	"weephole/sheet"
)

//go:embed doubts.yaml
var doubtsYAML []byte

// doubts are the numbers by which columns are understood; doubts.yaml says what each is
// and where it comes from.
var doubts = sync.OnceValue(func() *doubtSheet { return sheet.Own[doubtSheet]("trace/doubts.yaml", doubtsYAML) })

type doubtSheet struct {
	Units struct {
		Hottest         sheet.Sourced `sheet:"hottest,required"`
		LowShare        sheet.Sourced `sheet:"low-share,required"`
		HighShare       sheet.Sourced `sheet:"high-share,required"`
		KelvinLeast     sheet.Sourced `sheet:"kelvin-least,required"`
		KelvinMost      sheet.Sourced `sheet:"kelvin-most,required"`
		CelsiusMiddle   sheet.Sourced `sheet:"celsius-middle,required"`
		WarmMiddle      sheet.Sourced `sheet:"warm-middle,required"`
		WarmLeast       sheet.Sourced `sheet:"warm-least,required"`
		WarmMost        sheet.Sourced `sheet:"warm-most,required"`
		ColdPlateau     sheet.Sourced `sheet:"cold-plateau,required"`
		WarmPlateau     sheet.Sourced `sheet:"warm-plateau,required"`
		PlateauReadings sheet.Sourced `sheet:"plateau-readings,required"`
		PlateauRise     sheet.Sourced `sheet:"plateau-rise,required"`
		PlateauWithin   sheet.Sourced `sheet:"plateau-within,required"`
		ReadingsLeast   sheet.Sourced `sheet:"readings-least,required"`
		EngineFastest   sheet.Sourced `sheet:"engine-fastest,required"`
		ThousandsMost   sheet.Sourced `sheet:"thousands-most,required"`
		SlowLeast       sheet.Sourced `sheet:"slow-least,required"`
		SlowMost        sheet.Sourced `sheet:"slow-most,required"`
		ShareMost       sheet.Sourced `sheet:"share-most,required"`
		TrimMost        sheet.Sourced `sheet:"trim-most,required"`
		SwitchSteps     sheet.Sourced `sheet:"switch-steps,required"`
		ThrottleLeast   sheet.Sourced `sheet:"throttle-least,required"`
		SentStepWithin  sheet.Sourced `sheet:"sent-step-within,required"`
		DistinctLeast   sheet.Sourced `sheet:"distinct-least,required"`
	} `sheet:"units,required"`
	Pressure struct {
		IdleLow     sheet.Sourced `sheet:"idle-low,required"`
		IdleHigh    sheet.Sourced `sheet:"idle-high,required"`
		OutsideLow  sheet.Sourced `sheet:"outside-low,required"`
		OutsideHigh sheet.Sourced `sheet:"outside-high,required"`
		FullLeast   sheet.Sourced `sheet:"full-least,required"`
		BoostMost   sheet.Sourced `sheet:"boost-most,required"`
		LowShare    sheet.Sourced `sheet:"low-share,required"`
		HighShare   sheet.Sourced `sheet:"high-share,required"`
		IdleScore   sheet.Sourced `sheet:"idle-score,required"`
		FullScore   sheet.Sourced `sheet:"full-score,required"`
		UnfitScore  sheet.Sourced `sheet:"unfit-score,required"`
		KpaScore    sheet.Sourced `sheet:"kpa-score,required"`
		WholeScore  sheet.Sourced `sheet:"whole-score,required"`
		SureScore   sheet.Sourced `sheet:"sure-score,required"`
		OddLow      sheet.Sourced `sheet:"odd-low,required"`
		AboveAir    sheet.Sourced `sheet:"above-air,required"`
		RestShare   sheet.Sourced `sheet:"rest-share,required"`
	} `sheet:"pressure,required"`
	Coolant struct {
		Lowest       sheet.Sourced `sheet:"lowest,required"`
		Highest      sheet.Sourced `sheet:"highest,required"`
		OutsideOneIn sheet.Sourced `sheet:"outside-one-in,required"`
		JumpsLeast   sheet.Sourced `sheet:"jumps-least,required"`
		JumpsAMinute sheet.Sourced `sheet:"jumps-a-minute,required"`
		OpenCircuit  sheet.Sourced `sheet:"open-circuit,required"`
		OpenShare    sheet.Sourced `sheet:"open-share,required"`
		ColdStart    sheet.Sourced `sheet:"cold-start,required"`
		IntakeColder sheet.Sourced `sheet:"intake-colder,required"`
	} `sheet:"coolant,required"`
	Speed struct {
		AgreeWithin         sheet.Sourced `sheet:"agree-within,required"`
		WayLeast            sheet.Sourced `sheet:"way-least,required"`
		GapMost             sheet.Sourced `sheet:"gap-most,required"`
		OtherLeast          sheet.Sourced `sheet:"other-least,required"`
		ThisLeast           sheet.Sourced `sheet:"this-least,required"`
		RowsLeast           sheet.Sourced `sheet:"rows-least,required"`
		ShortestTop         sheet.Sourced `sheet:"shortest-top,required"`
		LongestTop          sheet.Sourced `sheet:"longest-top,required"`
		GearSpeed           sheet.Sourced `sheet:"gear-speed,required"`
		GearRevs            sheet.Sourced `sheet:"gear-revs,required"`
		GearRows            sheet.Sourced `sheet:"gear-rows,required"`
		GearShare           sheet.Sourced `sheet:"gear-share,required"`
		Fast                sheet.Sourced `sheet:"fast,required"`
		GridTenth           sheet.Sourced `sheet:"grid-tenth,required"`
		GridHundredth       sheet.Sourced `sheet:"grid-hundredth,required"`
		GridWhole           sheet.Sourced `sheet:"grid-whole,required"`
		GridTenthValues     sheet.Sourced `sheet:"grid-tenth-values,required"`
		GridHundredthValues sheet.Sourced `sheet:"grid-hundredth-values,required"`
		GridWholeValues     sheet.Sourced `sheet:"grid-whole-values,required"`
		GridOn              sheet.Sourced `sheet:"grid-on,required"`
	} `sheet:"speed,required"`
	Together struct {
		AirATurnLeast   sheet.Sourced `sheet:"air-a-turn-least,required"`
		AirATurnMost    sheet.Sourced `sheet:"air-a-turn-most,required"`
		AirRevs         sheet.Sourced `sheet:"air-revs,required"`
		RowsLeast       sheet.Sourced `sheet:"rows-least,required"`
		IdleRevsLeast   sheet.Sourced `sheet:"idle-revs-least,required"`
		IdleRevsMost    sheet.Sourced `sheet:"idle-revs-most,required"`
		IdleAirMost     sheet.Sourced `sheet:"idle-air-most,required"`
		DriveWithout    sheet.Sourced `sheet:"drive-without,required"`
		DriveRows       sheet.Sourced `sheet:"drive-rows,required"`
		StillOneIn      sheet.Sourced `sheet:"still-one-in,required"`
		RunTimeLeast    sheet.Sourced `sheet:"run-time-least,required"`
		RunTimeMost     sheet.Sourced `sheet:"run-time-most,required"`
		ImpossibleOneIn sheet.Sourced `sheet:"impossible-one-in,required"`
	} `sheet:"together,required"`
	Likeness struct {
		ReadingsLeast  sheet.Sourced `sheet:"readings-least,required"`
		LowShare       sheet.Sourced `sheet:"low-share,required"`
		HighShare      sheet.Sourced `sheet:"high-share,required"`
		BelowZero      sheet.Sourced `sheet:"below-zero,required"`
		CoolantLowest  sheet.Sourced `sheet:"coolant-lowest,required"`
		CoolantHighest sheet.Sourced `sheet:"coolant-highest,required"`
		CoolantReaches sheet.Sourced `sheet:"coolant-reaches,required"`
		CoolantMoves   sheet.Sourced `sheet:"coolant-moves,required"`
		StepsShare     sheet.Sourced `sheet:"steps-share,required"`
		StepsMost      sheet.Sourced `sheet:"steps-most,required"`
		StepsMore      sheet.Sourced `sheet:"steps-more,required"`
		BeginsOneIn    sheet.Sourced `sheet:"begins-one-in,required"`
		RiseLeast      sheet.Sourced `sheet:"rise-least,required"`
		CounterRise    sheet.Sourced `sheet:"counter-rise,required"`
		CounterUp      sheet.Sourced `sheet:"counter-up,required"`
		WorkingLeast   sheet.Sourced `sheet:"working-least,required"`
		WorkingMost    sheet.Sourced `sheet:"working-most,required"`
		WorkingLowest  sheet.Sourced `sheet:"working-lowest,required"`
		WorkingScore   sheet.Sourced `sheet:"working-score,required"`
		UnitFactor     sheet.Sourced `sheet:"unit-factor,required"`
		EngineLeast    sheet.Sourced `sheet:"engine-least,required"`
		EngineMost     sheet.Sourced `sheet:"engine-most,required"`
		EngineMoves    sheet.Sourced `sheet:"engine-moves,required"`
		EngineIdle     sheet.Sourced `sheet:"engine-idle,required"`
		RoadLeast      sheet.Sourced `sheet:"road-least,required"`
		RoadMost       sheet.Sourced `sheet:"road-most,required"`
		RoadRests      sheet.Sourced `sheet:"road-rests,required"`
		RoadScore      sheet.Sourced `sheet:"road-score,required"`
	} `sheet:"likeness,required"`
	Readings []readable `sheet:"readings,required"`
}

// readable is between what limits a signal's values are readings, in its unit.
type readable struct {
	Signal string  `sheet:"signal,required"`
	Low    float64 `sheet:"low,required"`
	High   float64 `sheet:"high,required"`
	Source string  `sheet:"source,required"`
}

// readable gives the limits of a signal; nil where it has none.
func (d *doubtSheet) readable(s Signal) *readable {
	for i := range d.Readings {
		if d.Readings[i].Signal == s.String() {
			return &d.Readings[i]
		}
	}
	return nil
}
