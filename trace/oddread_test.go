package trace_test

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"weephole/trace"
)

var updateOdd = flag.Bool("update-odd", false, "write the table of odd layouts into testdata/odd.golden.md")

// carries are signals that a layout must give beside coolant, speed and revs.
var carries = map[string][]trace.Signal{
	"run time in s first, minutes since reset last, empty brackets, one signal fresh per row": {trace.Throttle, trace.Load, trace.ManifoldPressure, trace.IntakeAir, trace.Barometer},
	"names with unit suffixes": {trace.AirFlow, trace.ManifoldPressure, trace.IntakeAir, trace.Throttle, trace.FanCommand},
	"more unit suffixes":       {trace.AirFlow}, "the standard's own names": {trace.AirFlow, trace.ManifoldPressure, trace.Load, trace.RunTime},
	"the standard's short names":            {trace.AirFlow, trace.ManifoldPressure, trace.IntakeAir, trace.Throttle, trace.Load, trace.RunTime},
	"names of a programming library":        {trace.AirFlow, trace.ManifoldPressure, trace.Throttle, trace.Load},
	"radiator outlet beside coolant":        {trace.Coolant2},
	"two coolant sensors numbered":          {trace.Coolant2},
	"transmission temperature first":        {trace.TransmissionTemp},
	"coolant target and oil beside coolant": {trace.OilTemp},
	"throttle from 0 to 1":                  {trace.Throttle}, "air flow in kg/h": {trace.AirFlow},
	"manifold pressure in kPa headed inHg": {trace.ManifoldPressure}, "manifold pressure never above 38 kPa, nothing said": {trace.ManifoldPressure},
	"manifold pressure in inHg, nothing said, barometer beside it": {trace.ManifoldPressure},
	"a closed throttle that reads below 1 %":                       {trace.Throttle},
}

// TestOddLayoutsReadAtTheirTrueValues reads known drives in many forms and
// compares values, not acceptance. A log that stays ambiguous must ask instead.
func TestOddLayoutsReadAtTheirTrueValues(t *testing.T) {
	var table strings.Builder
	table.WriteString("| drive | layout | lasts, s | read | highest, °C | read | fastest, km/h | read | rows used | asks |\n|---|---|---|---|---|---|---|---|---|---|\n")
	for _, d := range madeDrives() {
		all := oddLayouts(d)
		if len(all) < 60 {
			t.Fatalf("only %d layouts", len(all))
		}
		for _, o := range all {
			t.Run(d.name+"/"+o.name, func(t *testing.T) { readOdd(t, d, o, &table) })
		}
	}
	golden(t, *updateOdd, "testdata/odd.golden.md", table.String())
}

func readOdd(t *testing.T, d truth, o odd, table *strings.Builder) {
	lasts, top, fast := d.at[len(d.at)-1], maxKnown(d.coolant), maxKnown(d.speed)
	tr, err := trace.Read(context.Background(), bytes.NewReader(o.text), "made-up", trace.ReadOptions{})
	if err != nil {
		t.Errorf("refused: %v", err)
		return
	}
	gotTop, gotFast, got := maxKnown(tr.Signals[trace.Coolant]), maxKnown(tr.Signals[trace.RoadSpeed])*3.6, tr.Time[len(tr.Time)-1]-tr.Time[0]
	used := 1 - float64(tr.Dropped)/float64(max(1, tr.Rows))
	fmt.Fprintf(table, "| %s | %s | %.0f | %.0f | %.0f | %.1f | %.0f | %.0f | %.3f | %v |\n", d.name, o.name, lasts, got, top, gotTop, fast, gotFast, used, len(tr.Choices) > 0)
	near := func(what string, got, want, by float64) {
		t.Helper()
		if !(math.Abs(got-want) <= by) {
			t.Errorf("%s is %.4g, want %.4g give or take %.2g", what, got, want, by)
		}
	}
	// Nothing in a log of a warm engine at idle speaks against minutes, where
	// its header says minutes.
	believed := o.name == "seconds headed min" && strings.HasPrefix(d.name, "warm idle")
	if len(tr.Choices) == 0 && !believed {
		near("the length", got, lasts, 0.02*lasts+10)
	} else if believed {
		near("the length", got, lasts*60, 60)
	} else if settled := choose(o.text, tr, lasts); settled == nil {
		t.Errorf("none of the ways offered has the right length: %+v", tr.Choices)
	}
	near("highest coolant", gotTop, top, 1)
	nameless := strings.HasPrefix(o.name, "no header") && (fast == 0 || d.speed[0] > 0) // a speed is known by its rests between drives
	if !nameless {
		near("fastest", gotFast, fast, 0.03*fast+0.5)
		near("highest engine speed", maxKnown(tr.Signals[trace.EngineSpeed])*60, maxKnown(d.rpm), 30)
	}
	near("share of rows used", used, 1, 0.02)
	want := map[trace.Signal]float64{
		trace.ManifoldPressure: maxKnown(d.mapKPa) * 1000, trace.Throttle: maxKnown(d.throttle) / 100, trace.AirFlow: maxKnown(d.maf) / 1000, trace.Load: maxKnown(d.load) / 100,
		trace.IntakeAir: maxKnown(d.iat), trace.FanCommand: 1, trace.OilTemp: maxKnown(d.oil), trace.TransmissionTemp: maxKnown(d.oil), trace.Coolant2: maxKnown(d.oil)/2 + 5,
		trace.RunTime: lasts, trace.Barometer: 95e3,
	}
	want[trace.ManifoldPressure] = min(want[trace.ManifoldPressure], map[bool]float64{true: 36e3, false: 1e9}[strings.Contains(o.name, "never above")])
	if strings.Contains(o.name, "below 1 %") {
		want[trace.Throttle] = 0.0078
	}
	for _, s := range carries[o.name] {
		near("highest "+s.String(), maxKnown(tr.Signals[s]), want[s], 0.05*want[s]+0.001)
	}
	if t.Failed() {
		said := ""
		for _, a := range tr.Assumed {
			said += fmt.Sprintf("%s: %s, because %s\n", a.Where, a.What, a.Why)
		}
		t.Logf("said:\n%s%+v", said, tr.Columns)
	}
}

// choose reads the log again in each way that was offered, and returns the one
// that has the true length.
func choose(text []byte, tr *trace.Trace, lasts float64) *trace.Trace {
	for _, w := range tr.Choices[0].Ways {
		again, err := trace.Read(context.Background(), bytes.NewReader(text), "made-up", trace.ReadOptions{Map: w.Map})
		if err == nil && len(again.Choices) == 0 && math.Abs(again.Time[len(again.Time)-1]-lasts) <= 0.02*lasts+10 {
			return again
		}
	}
	return nil
}

func maxKnown(x []float64) float64 {
	m := math.Inf(-1)
	for _, v := range x {
		if v > m {
			m = v
		}
	}
	return m
}

func golden(t *testing.T, update bool, path, got string) {
	t.Helper()
	if update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if string(want) != got {
		t.Errorf("%s says otherwise; run with -update-odd and read the difference:\n%s", path, got)
	}
}
