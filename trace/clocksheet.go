package trace

import (
	_ "embed"
	"sync"

	"weephole/sheet"
)

//go:embed clocks.yaml
var clocksYAML []byte

// clocks are the numbers by which clocks are judged; clocks.yaml says what each is and
// where it comes from.
var clocks = sync.OnceValue(func() *clockSheet { return sheet.Own[clockSheet]("trace/clocks.yaml", clocksYAML) })

type clockSheet struct {
	Count struct {
		DayMost        sheet.Sourced `sheet:"day-most,required"`
		DayStep        sheet.Sourced `sheet:"day-step,required"`
		DayRows        sheet.Sourced `sheet:"day-rows,required"`
		DayLate        sheet.Sourced `sheet:"day-late,required"`
		DayScore       sheet.Sourced `sheet:"day-score,required"`
		RunTimeScore   sheet.Sourced `sheet:"run-time-score,required"`
		WrittenScore   sheet.Sourced `sheet:"written-score,required"`
		UnwrittenScore sheet.Sourced `sheet:"unwritten-score,required"`
		PartsScore     sheet.Sourced `sheet:"parts-score,required"`
		PartsOneIn     sheet.Sourced `sheet:"parts-one-in,required"`
		ShortStep      sheet.Sourced `sheet:"short-step,required"`
		ShortBegins    sheet.Sourced `sheet:"short-begins,required"`
		ShortRows      sheet.Sourced `sheet:"short-rows,required"`
		TicksLeast     sheet.Sourced `sheet:"ticks-least,required"`
		TicksSteps     sheet.Sourced `sheet:"ticks-steps,required"`
		TickLeast      sheet.Sourced `sheet:"tick-least,required"`
		TickRows       sheet.Sourced `sheet:"tick-rows,required"`
	} `sheet:"count,required"`
	Epoch struct {
		Nanoseconds       sheet.Sourced `sheet:"nanoseconds,required"`
		Microseconds      sheet.Sourced `sheet:"microseconds,required"`
		MillisecondsLeast sheet.Sourced `sheet:"milliseconds-least,required"`
		MillisecondsMost  sheet.Sourced `sheet:"milliseconds-most,required"`
		SecondsLeast      sheet.Sourced `sheet:"seconds-least,required"`
		SecondsMost       sheet.Sourced `sheet:"seconds-most,required"`
		SecondsStep       sheet.Sourced `sheet:"seconds-step,required"`
		DaysLeast         sheet.Sourced `sheet:"days-least,required"`
		DaysMost          sheet.Sourced `sheet:"days-most,required"`
		DaysStep          sheet.Sourced `sheet:"days-step,required"`
	} `sheet:"epoch,required"`
	Fit struct {
		EmptyScore   sheet.Sourced `sheet:"empty-score,required"`
		NamesRows    sheet.Sourced `sheet:"names-rows,required"`
		RestartCost  sheet.Sourced `sheet:"restart-cost,required"`
		RestartsCost sheet.Sourced `sheet:"restarts-cost,required"`
		TicksScore   sheet.Sourced `sheet:"ticks-score,required"`
		SameLength   sheet.Sourced `sheet:"same-length,required"`
		NearlyAsFit  sheet.Sourced `sheet:"nearly-as-fit,required"`
		KeptScore    sheet.Sourced `sheet:"kept-score,required"`
	} `sheet:"fit,required"`
	Car struct {
		ReasonFrom         sheet.Sourced `sheet:"reason-from,required"`
		ReadingsLeast      sheet.Sourced `sheet:"readings-least,required"`
		LowShare           sheet.Sourced `sheet:"low-share,required"`
		HighShare          sheet.Sourced `sheet:"high-share,required"`
		WarmsBy            sheet.Sourced `sheet:"warms-by,required"`
		WarmsMost          sheet.Sourced `sheet:"warms-most,required"`
		WarmsMostCost      sheet.Sourced `sheet:"warms-most-cost,required"`
		WarmsFast          sheet.Sourced `sheet:"warms-fast,required"`
		WarmsFastCost      sheet.Sourced `sheet:"warms-fast-cost,required"`
		SpeedStep          sheet.Sourced `sheet:"speed-step,required"`
		ChangesLeast       sheet.Sourced `sheet:"changes-least,required"`
		SpeedsMost         sheet.Sourced `sheet:"speeds-most,required"`
		SpeedsMostCost     sheet.Sourced `sheet:"speeds-most-cost,required"`
		RevsStep           sheet.Sourced `sheet:"revs-step,required"`
		RevsMost           sheet.Sourced `sheet:"revs-most,required"`
		RevsMostCost       sheet.Sourced `sheet:"revs-most-cost,required"`
		ChangeLasts        sheet.Sourced `sheet:"change-lasts,required"`
		ChangeBy           sheet.Sourced `sheet:"change-by,required"`
		ChangeRange        sheet.Sourced `sheet:"change-range,required"`
		ChangeLastsCost    sheet.Sourced `sheet:"change-lasts-cost,required"`
		WarmsFrom          sheet.Sourced `sheet:"warms-from,required"`
		WarmsTo            sheet.Sourced `sheet:"warms-to,required"`
		WarmsSlow          sheet.Sourced `sheet:"warms-slow,required"`
		WarmsSlowCost      sheet.Sourced `sheet:"warms-slow-cost,required"`
		WarmsSlowMore      sheet.Sourced `sheet:"warms-slow-more,required"`
		WayLeast           sheet.Sourced `sheet:"way-least,required"`
		WayOff             sheet.Sourced `sheet:"way-off,required"`
		WayOffCost         sheet.Sourced `sheet:"way-off-cost,required"`
		WayAgrees          sheet.Sourced `sheet:"way-agrees,required"`
		WayAgreesScore     sheet.Sourced `sheet:"way-agrees-score,required"`
		RunTimeMoves       sheet.Sourced `sheet:"run-time-moves,required"`
		RunTimeLeast       sheet.Sourced `sheet:"run-time-least,required"`
		RunTimeMost        sheet.Sourced `sheet:"run-time-most,required"`
		RunTimeAgreesScore sheet.Sourced `sheet:"run-time-agrees-score,required"`
		RunTimeOff         sheet.Sourced `sheet:"run-time-off,required"`
		RunTimeOffCost     sheet.Sourced `sheet:"run-time-off-cost,required"`
	} `sheet:"car,required"`
	Drives struct {
		Hiccup        sheet.Sourced `sheet:"hiccup,required"`
		BehindRows    sheet.Sourced `sheet:"behind-rows,required"`
		Break         sheet.Sourced `sheet:"break,required"`
		BreakSteps    sheet.Sourced `sheet:"break-steps,required"`
		UnknownGap    sheet.Sourced `sheet:"unknown-gap,required"`
		LeapMost      sheet.Sourced `sheet:"leap-most,required"`
		TicksMost     sheet.Sourced `sheet:"ticks-most,required"`
		HourLeast     sheet.Sourced `sheet:"hour-least,required"`
		HourMost      sheet.Sourced `sheet:"hour-most,required"`
		MidnightLeast sheet.Sourced `sheet:"midnight-least,required"`
		NoonWithin    sheet.Sourced `sheet:"noon-within,required"`
	} `sheet:"drives,required"`
	Units   []timeUnit `sheet:"units,required"`
	Closer  []scored   `sheet:"closer,required"`
	Farther []scored   `sheet:"farther,required"`
	Shorter []scored   `sheet:"shorter,required"`
	Longer  []scored   `sheet:"longer,required"`
}

// timeUnit is a unit of a count of time, of so many seconds.
type timeUnit struct {
	Name   string  `sheet:"name,required"`
	Unit   string  `sheet:"unit"` // "": has none
	Scale  float64 `sheet:"scale,required"`
	Rare   float64 `sheet:"rare,required"` // natural logarithm
	Days   bool    `sheet:"days"`          // a spreadsheet's
	Source string  `sheet:"source,required"`
}

// scored is how likely something on one side of a time is.
type scored struct {
	At     float64 `sheet:"at,required"` // s
	Score  float64 `sheet:"score,required"`
	Source string  `sheet:"source,required"`
}

// scoreOf is the score of the first line that a time is below, or above; 0 if none.
func scoreOf(list []scored, seconds float64, above bool) float64 {
	for _, s := range list {
		if above && seconds > s.At || !above && seconds < s.At {
			return s.Score
		}
	}
	return 0
}
