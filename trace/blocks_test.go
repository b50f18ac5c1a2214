package trace_test

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"weephole/trace"
)

// longLog is a log of n rows, ten a second, whose values are known.
func longLog(n int) []byte {
	var b bytes.Buffer
	b.WriteString("Time (s),Coolant (°C),Engine RPM,Note\n")
	for i := range n {
		note := ""
		if i%1000 == 999 {
			note = "mark"
		}
		fmt.Fprintf(&b, "%.1f,%.1f,%d,%s\n", float64(i)/10, longCoolant(float64(i)/10), 800+i%7, note)
	}
	return b.Bytes()
}

func longCoolant(t float64) float64 { return 60 + 30*math.Sin(t/300) }

// TestALongLogReadInBlocksKeepsItsOrderAndItsLines reads a log much longer than
// the sample, with lines spoilt at known places.
func TestALongLogReadInBlocksKeepsItsOrderAndItsLines(t *testing.T) {
	const n = 60000
	lines := strings.SplitAfter(string(longLog(n)), "\n")
	lines[40001] = "?,1,2\n"                       // line 40002 has no time
	lines[50000] = lines[0]                        // the header again
	lines[len(lines)-2] = lines[len(lines)-2][:10] // the last line breaks off
	tr, err := trace.Read(context.Background(), strings.NewReader(strings.Join(lines, "")), "long", trace.ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if tr.Rows != n-2 || tr.Dropped != 1 || len(tr.Time) != n/10 {
		t.Errorf("%d rows, %d dropped, %d kept; want %d, 1, %d", tr.Rows, tr.Dropped, len(tr.Time), n-2, n/10)
	}
	for i, at := range tr.Time {
		if want := longCoolant(at + 0.45); math.Abs(tr.Signals[trace.Coolant][i]-want) > 0.1 {
			t.Fatalf("at %.0f s coolant is %.2f, want %.2f", at, tr.Signals[trace.Coolant][i], want)
		}
	}
	told := ""
	for _, a := range tr.Assumed {
		told += a.Where + ": " + a.What + "\n"
	}
	for _, want := range []string{"line 40002: 1 row(s) without a readable time", "the header returns 1 time(s)", "the last line is left out"} {
		if !strings.Contains(told, want) {
			t.Errorf("not told: %q in\n%s", want, told)
		}
	}
}
