package events_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"weephole/quantity"
	"weephole/trace"
	"weephole/trace/events"
)

// drive is a made-up log: coolant in degC, road speed in km/h and engine speed
// in rpm as functions of time in s; fan is left out if nil.
type drive struct {
	lasts      float64
	coolant    func(t float64) float64
	speed, rpm func(t float64) float64
	fan        func(t float64) bool
	ambient    float64
}

func steady(v float64) func(float64) float64 { return func(float64) float64 { return v } }

// log writes the drive as text, with whole-degree readings every second.
func (d drive) log() string {
	var b strings.Builder
	b.WriteString("Time (s),Coolant (°C),Speed (km/h),RPM,Ambient (°C)")
	if d.fan != nil {
		b.WriteString(",Fan")
	}
	b.WriteByte('\n')
	for t := 0.0; t <= d.lasts; t++ {
		fmt.Fprintf(&b, "%.0f,%.0f,%.0f,%.0f,%.0f", t, math.Round(d.coolant(t)), d.speed(t), d.rpm(t), d.ambient)
		if d.fan != nil {
			fmt.Fprintf(&b, ",%v", map[bool]string{true: "ON", false: "OFF"}[d.fan(t)])
		}
		b.WriteByte('\n')
	}
	return b.String()
}

func (d drive) events(t *testing.T) events.Events {
	t.Helper()
	tr, err := trace.Read(context.Background(), strings.NewReader(d.log()), "made-up.csv", trace.ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	return events.InLog(tr)
}

// healthy warms up along an exponential, peaks, falls and holds.
func healthy(from, peak, hold, open float64) func(float64) float64 {
	return func(t float64) float64 {
		if t < open {
			return from + (peak-from)*(1-math.Exp(-t/open))/(1-math.Exp(-1))
		}
		return hold + (peak-hold)*math.Exp(-(t-open)/25)
	}
}

// then joins another course after a moment.
func then(a func(float64) float64, at float64, b func(since float64) float64) func(float64) float64 {
	return func(t float64) float64 {
		if t < at {
			return a(t)
		}
		return b(t - at)
	}
}

func TestAHealthyWarmUpIsToldInWords(t *testing.T) {
	d := drive{1200, healthy(20, 93, 90, 534), steady(50), steady(1800), nil, 20}
	e := d.events(t)
	if e.Verdict != events.Opened || e.Opening == nil {
		t.Fatalf("%s: %s", e.Verdict, e.Why)
	}
	// The curve's own numbers: peak 93 at 534 s, hold 90.
	if got := e.Opening.After.Value; math.Abs(got-534) > 10 {
		t.Errorf("opened after %.0f s, want 534", got)
	}
	if got := e.Summary(quantity.Metric()); got != "opened at 93 °C after 8.9 min, holds 90 °C" {
		t.Errorf("said %q", got)
	}
	if got := e.Summary(quantity.US()); got != "opened at 199 °F after 8.9 min, holds 194 °F" {
		t.Errorf("said %q", got)
	}
	if e.WarmUp == nil || e.WarmUp.Rate.Value < 5.0/60 || e.WarmUp.Rate.Value > 12.0/60 {
		t.Errorf("warm-up %+v", e.WarmUp)
	}
}

func TestVerdicts(t *testing.T) {
	tests := []struct {
		name string
		d    drive
		want events.Verdict
		said string
	}{
		{"a short winter trip cannot tell", drive{600, func(t float64) float64 { return -5 + 60*t/600 }, steady(40), steady(1600), nil, -5}, events.CannotTellYet, "still rising"},
		{"a thermostat stuck open levels off at 62 on the motorway", drive{2400, func(t float64) float64 { return 62 - 42*math.Exp(-t/300) }, steady(100), steady(2500), nil, 20}, events.RunsCold, "62 °C"},
		{"at frost the heater may be what takes it", drive{2400, func(t float64) float64 { return 62 - 67*math.Exp(-t/300) }, steady(100), steady(2500), nil, -5}, events.CannotTellYet, "too little heat"},
		{"a thermostat stuck shut is told before the red", drive{900, func(t float64) float64 { return 20 + 90*t/900 }, steady(50), steady(1800), nil, 20}, events.Overheats, "no thermostat has opened"},
		{"an idle in deep winter that never warms cannot tell", drive{2400, func(t float64) float64 { return 35 - 50*math.Exp(-t/500) }, steady(0), steady(800), nil, -15}, events.CannotTellYet, "too little heat"},
		{"a hot start says nothing of the opening", drive{900, steady(90), steady(40), steady(1600), nil, 20}, events.StartedHot, "began"},
		{"a thermostat stuck shut overheats", drive{1200, func(t float64) float64 { return 20 + 100*t/1200 }, steady(50), steady(1800), nil, 20}, events.Overheats, "120 °C"},
		{"a level hold without a peak is an opening", drive{1800, func(t float64) float64 { return math.Min(20+70*t/600, 90) }, steady(50), steady(1800), nil, 20}, events.Opened, "levels off"},
		{"a car that boils at idle overheats", drive{1800, then(healthy(20, 93, 90, 500), 900, func(s float64) float64 { return math.Min(90+s/30, 108) }), then(steady(50), 900, steady(0)), then(steady(1800), 900, steady(800)), nil, 25}, events.Overheats, "108 °C"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			e := test.d.events(t)
			if e.Verdict != test.want {
				t.Errorf("verdict %s, want %s: %s (%s)", e.Verdict, test.want, e.Why, e.Summary(quantity.Metric()))
			}
			if said := e.Why; test.said != "began" && !strings.Contains(said, test.said) {
				t.Errorf("said %q, want %q in it", said, test.said)
			}
		})
	}
}

// teeth is a fan's sawtooth between on and off, rising for up s and falling for down s.
func teeth(on, off, up, down float64) func(float64) float64 {
	return func(s float64) float64 {
		s = math.Mod(s, up+down)
		if s < up {
			return off + (on-off)*s/up
		}
		return on - (on-off)*(s-up)/down
	}
}

func TestFanCyclesAreFoundInTheirColumnAndInTheCoolant(t *testing.T) {
	saw := teeth(98, 92, 120, 60)
	d := drive{2400, then(healthy(20, 93, 90, 500), 900, saw), then(steady(50), 900, steady(0)), then(steady(1800), 900, steady(800)), nil, 25}
	for _, logged := range []bool{false, true} {
		if logged {
			d.fan = func(t float64) bool { return t >= 900 && math.Mod(t-900, 180) >= 120 }
		}
		f := d.events(t).Fan
		if f == nil {
			t.Fatalf("logged %v: no fan found", logged)
		}
		if f.Logged != logged || len(f.Cycles) < 7 {
			t.Errorf("logged %v: %d cycles, want about 8", f.Logged, len(f.Cycles))
		}
		// The sawtooth's own numbers.
		if math.Abs(f.OnC.Value-98) > 1 || math.Abs(f.OffC.Value-92) > 1.2 || math.Abs(f.Period.Value-180) > 10 {
			t.Errorf("logged %v: on %.1f off %.1f every %.0f s, want 98, 92, 180", logged, f.OnC.Value, f.OffC.Value, f.Period.Value)
		}
	}
}

func TestAClimbUnderLoadIsFound(t *testing.T) {
	hill := func(s float64) float64 { return 90 + 12*math.Sin(math.Min(s/600, 1)*math.Pi) }
	d := drive{2000, then(healthy(20, 93, 90, 500), 1200, hill), steady(80), steady(2500), nil, 20}
	e := d.events(t)
	if len(e.Climbs) != 1 || math.Abs(e.Climbs[0].ToC-102) > 1 || e.Climbs[0].Standing || math.Abs(e.Climbs[0].SpeedMS-80/3.6) > 0.1 {
		t.Fatalf("climbs %+v, want one to 102 °C at 80 km/h", e.Climbs)
	}
}

func TestASensorThatJumpsIsToldAndDoesNotHideTheOpening(t *testing.T) {
	c := healthy(20, 94, 90, 500)
	d := drive{1000, func(t float64) float64 {
		if t >= 300 && t < 310 {
			return 130
		}
		return c(t)
	}, steady(50), steady(1800), nil, 20}
	e := d.events(t)
	if len(e.Jumps) == 0 || e.Jumps[0].At != 300 {
		t.Errorf("jumps %+v, want one at 300 s", e.Jumps)
	}
	if e.Verdict != events.Opened || e.MaxC.Value > 95 {
		t.Errorf("verdict %s with a maximum of %.0f °C", e.Verdict, e.MaxC.Value)
	}
}

func TestStopsAreToldApartIntoPausesAndSoaks(t *testing.T) {
	rpm := func(t float64) float64 {
		if (t >= 700 && t < 730) || t >= 1000 {
			return 0
		}
		return 1500
	}
	c := then(healthy(20, 93, 90, 500), 1000, func(s float64) float64 { return 20 + 72*math.Exp(-s/3000) })
	e := drive{2800, c, func(t float64) float64 { return map[bool]float64{true: 0, false: 40}[rpm(t) == 0] }, rpm, nil, 20}.events(t)
	if len(e.Pauses) != 1 || e.Pauses[0].From != 700 {
		t.Errorf("pauses %+v, want one at 700 s", e.Pauses)
	}
	if len(e.Soaks) != 1 || e.Soaks[0].From != 1000 {
		t.Fatalf("soaks %+v, want one at 1000 s", e.Soaks)
	}
	// The curve's own crossing of 48.5 °C (50 less half of what may be hotter inside).
	want := 3000*math.Log(72/28.5) - 1800
	if got := e.Soaks[0].SafeIn; math.Abs(got.Value-want) > 2*got.Sigma || got.Sigma > 0.3*want {
		t.Errorf("safe in %.0f s give or take %.0f, want %.0f", got.Value, got.Sigma, want)
	}
}

// The stated uncertainty must hold what it says: of many parked engines, two
// thirds lie within one sigma.
func TestCooldownIsAsUnsureAsItSays(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 11))
	const engines = 400
	for _, watched := range []float64{0, 900, 1800} {
		in1, in2, n, width := 0.0, 0.0, 0.0, 0.0
		for range engines {
			tau := 3300 * math.Exp(0.45*rng.NormFloat64())
			air := 20 + 3*rng.NormFloat64()
			start := 92 + 2*rng.NormFloat64()
			at := func(s float64) float64 { return air + (start-air)*math.Exp(-s/tau) }
			var time, c []float64
			for s := 0.0; s <= watched; s += 5 {
				time, c = append(time, s), append(c, math.Round(at(s)+0.2*rng.NormFloat64()))
			}
			if at(watched) < 52 {
				continue
			}
			n++
			got := events.Cooldown(time, c, events.Estimate{Value: 20, Sigma: 3})
			truth := tau*math.Log((start-air)/(48.5-air)) - watched
			if math.Abs(got.Value-truth) < got.Sigma {
				in1++
			}
			if math.Abs(got.Value-truth) < 2*got.Sigma {
				in2++
			}
			width += got.Sigma
		}
		t.Logf("watched %4.0f s: %2.0f %% within one sigma, %2.0f %% within two, mean sigma %.0f s", watched, 100*in1/n, 100*in2/n, width/n)
		// Binomial limits at 400 draws, wide enough for a skewed spread: 0.55 to 0.97 and 0.88.
		if in1 < 0.55*n || in2 < 0.88*n {
			t.Errorf("watched %.0f s: too sure: %.0f and %.0f of %.0f", watched, in1, in2, n)
		}
	}
}

func TestCooldownKnowsWhenItIsOver(t *testing.T) {
	if got := events.Cooldown([]float64{0, 60}, []float64{41, 40}, events.Estimate{Value: 20, Sigma: 2}); got.Value != 0 {
		t.Errorf("at 40 °C it is safe in %.0f s", got.Value)
	}
	if got := events.Cooldown([]float64{0, 60}, []float64{80, 80}, events.Estimate{Value: 55, Sigma: 1}); !math.IsInf(got.Value, 1) && !math.IsInf(got.Sigma, 1) {
		t.Errorf("in air of 55 °C it is safe in %.0f s give or take %.0f", got.Value, got.Sigma)
	}
	if got := events.Cooldown(nil, nil, events.Estimate{Value: 20, Sigma: 2}); !math.IsNaN(got.Value) {
		t.Errorf("of nothing it is safe in %.0f s", got.Value)
	}
}

func TestSegmentsKeepTimeAndMeans(t *testing.T) {
	rpm := func(t float64) float64 { return map[bool]float64{true: 0, false: 1800}[t >= 300 && t < 400] }
	d := drive{900, healthy(20, 93, 90, 500), steady(36), rpm, nil, 12}
	tr, err := trace.Read(context.Background(), strings.NewReader(d.log()), "made-up.csv", trace.ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	total, off := 0.0, 0.0
	for _, s := range tr.Segments(10) {
		total += s.Seconds
		if s.EngineOff {
			off += s.Seconds
		}
		if math.Abs(s.RoadSpeedMS-10) > 1e-9 || math.Abs(s.AmbientC-12) > 1e-9 {
			t.Fatalf("segment %+v", s)
		}
	}
	if total != 900 || math.Abs(off-100) > 1 {
		t.Errorf("segments last %.0f s, %.0f off; want 900 and 100", total, off)
	}
}
