package events_test

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weephole/quantity"
	"weephole/trace"
	"weephole/trace/events"
)

var update = flag.Bool("update", false, "rewrite golden files and the table in docs/traces.md")

const (
	kitGolden   = "testdata/kit-obd2.golden.md"
	kitDocument = "../../docs/traces.md"
	kitBegin    = "<!-- table of the thirteen logs: begin -->\n"
	kitEnd      = "<!-- table of the thirteen logs: end -->\n"
)

// kitTable is the table of the thirteen open logs as the docs show it.
func kitTable(t *testing.T) string {
	var b strings.Builder
	b.WriteString("| log | starts | outside | opens after | peak | falls by | holds | heat given / needed | verdict |\n|---|---|---|---|---|---|---|---|---|\n")
	files, _ := filepath.Glob("../testdata/kit-obd2/*.csv.gz")
	for _, path := range files {
		tr, err := readFile(t, path, trace.ReadOptions{})
		if err != nil {
			t.Fatal(err)
		}
		e := events.InLog(tr)
		after, peak, fall, holds := "–", "–", "–", "–"
		if o := e.Opening; o != nil {
			after, peak, fall = fmt.Sprintf("%.1f min", o.After.Value/60), fmt.Sprintf("%.0f °C", o.PeakC), fmt.Sprintf("%.0f K", o.FallC)
		}
		if p := e.Plateau; p != nil {
			holds = fmt.Sprintf("%.0f–%.0f °C", p.LowC, p.TopC)
		}
		fmt.Fprintf(&b, "| %s | %.0f °C | %.0f °C | %s | %s | %s | %s | %.2f | %s |\n", strings.TrimSuffix(filepath.Base(path), ".csv.gz"), e.Start.C, e.Ambient.Value, after, peak, fall, holds, e.Heat.Given.Value/e.Heat.Needed.Value, e.Verdict)
	}
	return b.String()
}

func TestTheThirteenOpenLogsReadAsTheDocsSay(t *testing.T) {
	got := kitTable(t)
	if *update {
		if err := os.WriteFile(kitGolden, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(kitGolden)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), got); d != "" {
		t.Errorf("the table changed (-want +got):\n%s", d)
	}
	doc, err := os.ReadFile(kitDocument)
	if err != nil {
		t.Fatal(err)
	}
	head, rest, ok1 := strings.Cut(string(doc), kitBegin)
	table, tail, ok2 := strings.Cut(rest, kitEnd)
	if !ok1 || !ok2 {
		t.Fatalf("%s has lost the marks around the table", kitDocument)
	}
	if *update {
		if err := os.WriteFile(kitDocument, []byte(head+kitBegin+got+kitEnd+tail), 0o644); err != nil {
			t.Fatal(err)
		}
		table = got
	}
	if d := cmp.Diff(table, got); d != "" {
		t.Errorf("%s says otherwise (-docs +got); run this test with -update:\n%s", kitDocument, d)
	}
}

// What is known of these trips by other means: read off the raw columns by hand
// (whole degrees; first highest reading before the fall; median afterwards).
func TestTheThirteenOpenLogsAgreeWithAReadingByHand(t *testing.T) {
	want := map[string]struct {
		verdict events.Verdict
		peak    float64
	}{
		"2017-07-06_KA_KA_Normal": {events.Opened, 94}, "2017-07-10_KA_KA_Stau": {events.StartedHot, 0},
		"2017-07-13_KA_KA_Normal": {events.Opened, 94}, "2017-07-27_KA_KA_Normal": {events.Opened, 94},
		"2017-07-31_KA_KA_Frei": {events.Opened, 94}, "2017-08-09_S_RT_Normal": {events.Opened, 94},
		"2018-02-17_RT_BB_Frei": {events.Opened, 94}, "2018-02-20_KA_KA_Frei": {events.Opened, 91},
		"2018-02-23_S_S_Stau": {events.Opened, 95}, "2018-02-26_KA_KA_Frei": {events.CannotTellYet, 84},
		"2018-02-26_RT_RT_Frei": {events.CannotTellYet, 72}, "2018-03-19_KA_KA_Frei": {events.Opened, 95},
		"2018-03-22_S_RT_Normal": {events.Opened, 94},
	}
	for name, w := range want {
		t.Run(name, func(t *testing.T) {
			tr, err := readFile(t, "../testdata/kit-obd2/"+name+".csv.gz", trace.ReadOptions{})
			if err != nil {
				t.Fatal(err)
			}
			e := events.InLog(tr)
			if e.Verdict != w.verdict {
				t.Fatalf("verdict %s, want %s: %s", e.Verdict, w.verdict, e.Summary(quantity.Metric()))
			}
			switch w.verdict {
			case events.Opened:
				if d := e.Opening.PeakC - w.peak; d < -1 || d > 1 {
					t.Errorf("peak %.0f °C, want %.0f", e.Opening.PeakC, w.peak)
				}
				if e.Opening.FallC < 2 || e.Opening.FallC > 6 {
					t.Errorf("falls by %.1f K, want 2 to 6", e.Opening.FallC)
				}
				if e.Plateau != nil && (e.Plateau.C.Value < 88 || e.Plateau.C.Value > 91) {
					t.Errorf("holds %.0f °C, want 88 to 91", e.Plateau.C.Value)
				}
			case events.CannotTellYet:
				if d := e.MaxC.Value - w.peak; d < -1 || d > 1 {
					t.Errorf("ends at %.0f °C, want %.0f", e.MaxC.Value, w.peak)
				}
			}
		})
	}
}

// A trip broken off at any point must never be called cold or overheated, for
// this car is healthy.
func TestAHealthyCarBrokenOffAnywhereIsNeverCalledFaulty(t *testing.T) {
	files, _ := filepath.Glob("../testdata/kit-obd2/*.csv.gz")
	wrong, n, early := 0, 0, 0
	for _, path := range files {
		whole, err := readFile(t, path, trace.ReadOptions{})
		if err != nil {
			t.Fatal(err)
		}
		full := events.InLog(whole)
		for until := 120; until < len(whole.Time); until += 60 {
			part := &trace.Trace{Name: whole.Name, Time: whole.Time[:until], Step: whole.Step, Signals: map[trace.Signal][]float64{}, Drives: []trace.Drive{{From: 0, To: until, GapKnown: true}}}
			for s, x := range whole.Signals {
				part.Signals[s] = x[:until]
			}
			e := events.InLog(part)
			n++
			if e.Verdict == events.RunsCold || e.Verdict == events.Overheats {
				wrong++
				t.Errorf("%s after %d s: %s: %s", filepath.Base(path), until, e.Verdict, e.Why)
			}
			if e.Opening != nil && (full.Opening == nil || e.Opening.At.Value < full.Opening.At.Value-60) {
				early++
				t.Logf("%s after %d s: opening told at %.0f s, %.0f °C", filepath.Base(path), until, e.Opening.At.Value, e.Opening.C.Value)
			}
		}
	}
	t.Logf("%d cuts, %d called faulty, %d openings told where there was none", n, wrong, early)
	if early*50 > n {
		t.Errorf("%d of %d cuts show an opening where there was none", early, n)
	}
}
