package trace_test

import (
	"bytes"
	"context"
	"math"
	"os"
	"path/filepath"
	"testing"

	"pgregory.net/rapid"

	"weephole/quantity"
	"weephole/trace"
	"weephole/trace/events"
)

// whole checks what must hold of any trace that was read.
func whole(t interface{ Fatalf(string, ...any) }, tr *trace.Trace) {
	n := len(tr.Time)
	if n == 0 || len(tr.Drives) == 0 || tr.Signals[trace.Coolant] == nil {
		t.Fatalf("an empty trace without an error")
	}
	for i := 1; i < n; i++ {
		if !(tr.Time[i] > tr.Time[i-1]) || math.IsInf(tr.Time[i], 0) {
			t.Fatalf("time does not run on: %g after %g", tr.Time[i], tr.Time[i-1])
		}
	}
	for s, x := range tr.Signals {
		if len(x) != n {
			t.Fatalf("%s has %d values for %d rows", s, len(x), n)
		}
	}
	at := 0
	for _, d := range tr.Drives {
		if d.From != at || d.To <= d.From {
			t.Fatalf("drives %v do not cover the rows in order", tr.Drives)
		}
		at = d.To
	}
	if at != n {
		t.Fatalf("drives end at row %d of %d", at, n)
	}
	for _, e := range events.InDrives(tr) {
		_ = e.Summary(quantity.US())
	}
	_ = tr.Segments(10)
	if _, err := jsonOf(events.ReportOf(tr, quantity.Metric())); err != nil {
		t.Fatalf("report: %v", err)
	}
}

// FuzzRead throws arbitrary bytes at every layout: no panic, and whatever is
// read is whole.
func FuzzRead(f *testing.F) {
	f.Add(zipped("a.csv", []byte("Time,ECT\n1,80\n2,81\n")), 1.0)
	f.Add(zipped("a.csv", []byte("Time,ECT\n1,80\n2,81\n"), []byte("Time,ECT\n1,80\n")), 0.0)
	f.Add([]byte("Hour,Minute,Second,ECT\n7,59,59.5,80\n8,0,0.5,81\n"), 0.0)
	for _, dir := range []string{"layouts", "refused"} {
		files, _ := filepath.Glob("testdata/" + dir + "/*")
		for _, path := range files {
			b, err := os.ReadFile(path)
			if err != nil {
				f.Fatal(err)
			}
			if len(b) > 3000 && !bytes.HasPrefix(b, []byte{0x1f, 0x8b}) {
				b = b[:3000]
			}
			f.Add(b, 0.0)
		}
	}
	f.Add([]byte("80\n81\n82\n83\n84\n85\n"), 1.0)
	f.Fuzz(func(t *testing.T, b []byte, rate float64) {
		tr, err := trace.Read(context.Background(), bytes.NewReader(b), "fuzz", trace.ReadOptions{Rate: rate, MaxRows: 200})
		if err != nil {
			return
		}
		whole(t, tr)
	})
}

// FuzzMap throws arbitrary mappings at a good log.
func FuzzMap(f *testing.F) {
	log, err := os.ReadFile("testdata/layouts/comma.csv")
	if err != nil {
		f.Fatal(err)
	}
	f.Add("coolant", "MAP@F")
	f.Add("time", "#1@ms")
	f.Add("ignore", "Speed [km/h]")
	f.Add("oil-temp", "@")
	f.Fuzz(func(t *testing.T, word, column string) {
		tr, err := trace.Read(context.Background(), bytes.NewReader(log), "fuzz", trace.ReadOptions{Map: map[string]string{word: column}})
		if err == nil {
			whole(t, tr)
		}
	})
}

// However a log is cut into rows, delimiters and decimals, the same numbers come out.
func TestALogWrittenInAnyFormReadsTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		delim := rapid.SampledFrom([]string{",", ";", "\t", "|"}).Draw(t, "delimiter")
		comma := rapid.Bool().Draw(t, "decimal comma") && delim != ","
		end := rapid.SampledFrom([]string{"\n", "\r\n"}).Draw(t, "line end")
		step := rapid.SampledFrom([]float64{1, 2, 5}).Draw(t, "step")
		fahrenheit := rapid.Bool().Draw(t, "fahrenheit")
		n := rapid.IntRange(30, 120).Draw(t, "rows")
		start := rapid.Float64Range(-20, 60).Draw(t, "start")
		var b bytes.Buffer
		unit := "°C"
		if fahrenheit {
			unit = "°F"
		}
		b.WriteString("Time (s)" + delim + "Coolant (" + unit + ")" + delim + "RPM" + end)
		want := make([]float64, n)
		for i := range n {
			want[i] = start + 40*(1-math.Exp(-float64(i)/50))
			shown := want[i]
			if fahrenheit {
				shown = shown*9/5 + 32
			}
			num := func(x float64) string {
				s := formatTenths(x)
				if comma {
					s = string(bytes.ReplaceAll([]byte(s), []byte("."), []byte(",")))
				}
				return s
			}
			b.WriteString(num(float64(i)*step) + delim + num(shown) + delim + num(800) + end)
		}
		tr, err := trace.Read(context.Background(), &b, "drawn", trace.ReadOptions{})
		if err != nil {
			t.Fatalf("%v", err)
		}
		c := tr.Signals[trace.Coolant]
		for i, w := range want {
			at := int(float64(i) * step)
			for k, s := range tr.Time {
				if int(s) == at && math.Abs(c[k]-w) > 0.06 {
					t.Fatalf("at %d s: %.3f, want %.3f", at, c[k], w)
				}
			}
		}
	})
}
