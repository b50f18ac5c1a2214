package trace_test

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"weephole/trace"
)

// TestSignalsThatContradictEachOtherRaiseADoubt spoils one column of a sound
// log at a time. The sound log itself raises none of these doubts.
func TestSignalsThatContradictEachOtherRaiseADoubt(t *testing.T) {
	d := madeDrives()[0]
	zero := make([]float64, len(d.at))
	cold := append([]float64(nil), zero...)
	for i := range cold {
		cold[i] = -40
	}
	sound := map[string]cell{
		"clock": num("Time (s)", d.at, f1, 1, 0), "coolant": num("Coolant (°C)", d.coolant, f0, 1, 0), "speed": num("Speed (km/h)", d.speed, f0, 1, 0),
		"revs": num("Engine RPM", d.rpm, f0, 1, 0), "air": num("MAF (g/s)", d.maf, f2, 1, 0), "run": num("Engine run time (s)", d.at, f0, 1, 0), "intake": num("Intake air temp (°C)", d.iat, f0, 1, 0),
	}
	order := []string{"clock", "coolant", "speed", "revs", "air", "run", "intake"}
	all := []string{"may be another column", "may be in another unit", "do not agree", "-40 °C throughout"}
	for _, test := range []struct {
		name, column string
		instead      cell
		want         string
	}{
		{"a sound log", "clock", sound["clock"], ""},
		{"an engine at rest on the road", "revs", num("Engine RPM", zero, f0, 1, 0), "engine-speed may be another column"},
		{"air flow a hundred times too large", "air", num("MAF (g/s)", d.maf, f1, 60, 0), "air-flow may be in another unit"},
		{"a run time in another rhythm", "run", num("Engine run time (s)", d.at, f0, 0.5, 0), "do not agree"},
		{"an open coolant sensor", "coolant", num("Coolant (°C)", cold, f0, 1, 0), "-40 °C throughout"},
		{"intake air far above a cold engine", "intake", num("Intake air temp (°C)", d.iat, f0, 1, 80), "may be in another unit"},
	} {
		t.Run(test.name, func(t *testing.T) {
			var cols []cell
			for _, k := range order {
				c := sound[k]
				if k == test.column {
					c = test.instead
				}
				cols = append(cols, c)
			}
			tr, err := trace.Read(context.Background(), bytes.NewReader(d.write(",", 1, cols...)), "spoilt", trace.ReadOptions{})
			if err != nil {
				t.Fatal(err)
			}
			told := ""
			for _, a := range tr.Assumed {
				if a.Doubt {
					told += a.What + "\n"
				}
			}
			if test.want == "" {
				for _, w := range all {
					if strings.Contains(told, w) {
						t.Errorf("doubted without a reason:\n%s", told)
					}
				}
			} else if !strings.Contains(told, test.want) {
				t.Errorf("not doubted: %q; told:\n%s", test.want, told)
			}
		})
	}
}
