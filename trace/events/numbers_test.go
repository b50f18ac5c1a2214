package events_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"

	"weephole/trace"
	"weephole/trace/events"
)

// madeUp is a run at one row in `step` s: warm-up in 8 min from 20 to 93 °C, a
// fall to 90, then teeth from 96 to 92 °C every 4 min at standstill.
func madeUp(step float64) events.Series {
	var s events.Series
	for t := 0.0; t <= 4000; t += step {
		c := 20 + 73*t/480
		if t > 480 {
			c = 90 + 3*math.Exp(-(t-480)/40)
		}
		v := 15.0
		if t > 1500 {
			v = 0
			phase := math.Mod(t-1500, 240)
			c = 92 + 4*phase/180
			if phase > 180 {
				c = 96 - 4*(phase-180)/60
			}
		}
		s.Time = append(s.Time, t)
		s.Coolant = append(s.Coolant, c)
		s.RoadSpeed = append(s.RoadSpeed, v)
		s.EngineSpeed = append(s.EngineSpeed, 20)
		s.Heat = append(s.Heat, 10e3)
		s.IntakeAir = append(s.IntakeAir, 18)
	}
	return s
}

func TestTheNumbersOfAMadeUpRunAreThoseItWasMadeFrom(t *testing.T) {
	for _, step := range []float64{1, 5, 20} {
		t.Run(fmt.Sprintf("a row every %.0f s", step), func(t *testing.T) {
			got := events.Of(madeUp(step))
			for _, w := range []struct {
				k        events.Kind
				want, by float64
			}{
				{events.StartC, 20, 2.5}, {events.ColdOffset, 2, 2.5}, {events.WarmUpRate, 73 / 8.0, 0.6},
				{events.WarmUpPerHeat, 73 / 4.8, 1}, // 10 kW for 480 s are 4.8 MJ
				{events.OpeningC, 93, 0.6}, {events.OpeningAt, 480, step}, {events.Overshoot, 3, 0.7},
				{events.StandingGain, 4, 0.7}, {events.FanOnC, 96, 0.6}, {events.FanOffC, 92, 0.6}, {events.FanPeriod, 240, 12},
				{events.HighestC, 96, 0.5}, {events.BoilTime, 0, 1}, {events.Jumps, 0, 0}, {events.JumpShare, 0, 0},
			} {
				if e := got[w.k]; !(math.Abs(e.Value-w.want) <= w.by) || !(e.Sigma > 0) {
					t.Errorf("%s is %.3g ± %.2g %s, want %.3g give or take %.2g", w.k, e.Value, e.Sigma, w.k.Unit(), w.want, w.by)
				}
			}
		})
	}
}

// TestALooseContactIsCountedAndTakenOut breaks the contact of a known run at
// random: the reading falls by 10 to 60 K for some seconds.
func TestALooseContactIsCountedAndTakenOut(t *testing.T) {
	for seed := range uint64(20) {
		rng := rand.New(rand.NewPCG(seed, 5))
		s := madeUp(1)
		truth := s.Coolant
		bad := append([]float64(nil), truth...)
		breaks, spoiled := 0, map[int]bool{}
		for i := 30; i < len(bad)-60; i += 40 + rng.IntN(120) {
			breaks++
			deep := 10 + 50*rng.Float64()
			for k := range 2 + rng.IntN(20) {
				bad[i+k] -= deep
				spoiled[i+k] = true
			}
		}
		clean, contact := events.Clean(s.Time, bad)
		for i, c := range clean {
			low, high := truth[i], truth[i]
			for k := i; spoiled[k]; k-- { // a bridge is a straight line between its ends
				low, high = math.Min(low, truth[k-1]), math.Max(high, truth[k-1])
			}
			for k := i; spoiled[k]; k++ {
				low, high = math.Min(low, truth[k+1]), math.Max(high, truth[k+1])
			}
			if c < low-1e-9 || c > high+1e-9 {
				t.Errorf("seed %d, row %d: cleaned to %.2f, want %.2f to %.2f", seed, i, c, low, high)
			}
		}
		if contact.Jumps != 2*breaks || contact.Odd != len(spoiled) {
			t.Errorf("seed %d: %d jumps and %d odd readings counted, want %d and %d", seed, contact.Jumps, contact.Odd, 2*breaks, len(spoiled))
		}
		s.Coolant = bad
		if o := events.Of(s)[events.OpeningC]; math.Abs(o.Value-93) > 1.5 {
			t.Errorf("seed %d: opens at %.1f °C, want 93", seed, o.Value)
		}
	}
}

func TestTheOpenLogsOfAHealthyCarNeverJump(t *testing.T) {
	files, _ := filepath.Glob("../testdata/kit-obd2/*.csv.gz")
	for _, path := range files {
		tr, err := readFile(t, path, trace.ReadOptions{})
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range tr.Drives {
			n := events.NumbersOf(tr, d)
			if n[events.Jumps].Value != 0 {
				t.Errorf("%s: %v jumps an hour", path, n[events.Jumps])
			}
			if testing.Verbose() {
				t.Log(filepath.Base(path))
				for k, e := range n {
					t.Logf("  %-17s %8.3g ± %-8.2g %s", events.Kind(k), e.Value, e.Sigma, events.Kind(k).Unit())
				}
			}
		}
	}
}

// TestTheNumbersFindTheOpeningsThatTheReadingByShapeFinds compares two ways to
// find an opening: with a heat balance, and by the reading and the heat's change
// alone. They agree on twelve of the thirteen logs. On the thirteenth the peak at
// 91 °C falls by 2 K only while the heat drops, and the second way sees nothing.
func TestTheNumbersFindTheOpeningsThatTheReadingByShapeFinds(t *testing.T) {
	files, _ := filepath.Glob("../testdata/kit-obd2/*.csv.gz")
	for _, path := range files {
		tr, err := readFile(t, path, trace.ReadOptions{})
		if err != nil {
			t.Fatal(err)
		}
		want := events.InLog(tr).Opening
		for _, step := range []float64{0, 20} {
			got := events.Of(events.SeriesOf(tr, tr.Drives[events.MainDrive(tr)]).Thin(step))
			at, c := got[events.OpeningAt].Value, got[events.OpeningC].Value
			switch {
			case strings.HasPrefix(filepath.Base(path), "2018-02-20") && math.IsNaN(at): // see above
			case want == nil && !math.IsNaN(at):
				t.Errorf("%s, step %.0f s: opens at %.0f s, %.1f °C; by its shape it does not", filepath.Base(path), step, at, c)
			case want != nil && !(math.Abs(at-want.After.Value) < 60 && math.Abs(c-want.C.Value) < 2.5):
				t.Errorf("%s, step %.0f s: opens at %.0f s, %.1f °C; by its shape at %.0f s, %.1f °C", filepath.Base(path), step, at, c, want.After.Value, want.C.Value)
			}
		}
	}
}

func BenchmarkOf200Rows(b *testing.B) {
	s := madeUp(20)
	b.ReportMetric(float64(len(s.Time)), "rows")
	b.ReportAllocs()
	for b.Loop() {
		events.Of(s)
	}
}

func ExampleOf() {
	n := events.Of(madeUp(1))
	for _, k := range []events.Kind{events.WarmUpRate, events.OpeningC, events.FanOnC, events.FanPeriod} {
		fmt.Printf("%s %.1f %s\n", k, n[k].Value, k.Unit())
	}
	// Output:
	// warm-up-rate 9.1 K/min
	// opening 93.0 degC
	// fan-on 96.0 degC
	// fan-period 240.0 s
}

func TestTheRegimesOfARunAreFoundFromTheRun(t *testing.T) {
	whole := madeUp(1)
	part := func(from, to int) events.Series {
		return events.Series{Time: whole.Time[from:to], Coolant: whole.Coolant[from:to], RoadSpeed: whole.RoadSpeed[from:to], EngineSpeed: whole.EngineSpeed[from:to], IntakeAir: whole.IntakeAir[from:to]}
	}
	off := part(3000, 4000)
	off.EngineSpeed = append([]float64{20, 20}, make([]float64, 998)...)
	for _, test := range []struct {
		name string
		s    events.Series
		want string
	}{
		{"the whole run", whole, "from-cold"}, {"warm on the road", part(700, 1400), "drive"},
		{"warm at standstill", part(1600, 3000), "idle"}, {"shut off", off, "cool-down"},
	} {
		if got := events.RegimesOf(test.s); got.Main() != test.want {
			t.Errorf("%s is %q, want %q: %+v", test.name, got.Main(), test.want, got)
		}
	}
}
