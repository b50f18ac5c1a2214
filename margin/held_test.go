package margin_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"weephole/circuit"
	"weephole/margin"
)

// The definitions, on runs held steady: at the highest air the engine is at its
// limit, a little below it short of it, a little above beyond it.
func TestTheHighestAirIsWhereTheLimitIsMet(t *testing.T) {
	k, tab := criteria(t), table(t)
	h := margin.NewHolder(k)
	c := tab.Typical(circuit.Vehicle{})
	c.TubesBlocked = 0.5
	for i := range k.Duties {
		d := &k.Duties[i]
		m := h.Highest(&c, d, 0)
		if m.Beyond != 0 {
			continue
		}
		below, above := h.Hold(&c, d, 0, m.HighestC-2), h.Hold(&c, d, 0, m.HighestC+2)
		t.Logf("%s: highest air %.1f degC, %.2f K under the limit 2 K below, %.2f K over it 2 K above", d.ID, m.HighestC, -below.OverK(), above.OverK())
		if below.OverK() >= 0 || above.OverK() <= 0 {
			t.Errorf("%s: the limit is not met at %.1f degC: %.2f K and %.2f K over it 2 K to either side", d.ID, m.HighestC, below.OverK(), above.OverK())
		}
	}
}

func TestAHeldRunHasSettled(t *testing.T) {
	k, tab := criteria(t), table(t)
	longer := *k
	longer.Settle.Value *= 3
	for _, kind := range []circuit.FanKind{circuit.FanElectric, circuit.FanTwoSpeed, circuit.FanViscous} {
		c := tab.Typical(circuit.Vehicle{FanKind: &kind})
		c.TubesBlocked = 0.4
		for i := range k.Duties {
			d := &k.Duties[i]
			a, b := margin.NewHolder(k).Hold(&c, d, 0, 45), margin.NewHolder(&longer).Hold(&c, d, 0, 45)
			t.Logf("%v %s: %.2f degC, held three times as long %.2f degC", kind, d.ID, a.CoolantC, b.CoolantC)
			if gap := math.Abs(a.CoolantC - b.CoolantC); gap > 1 {
				t.Errorf("%v %s: %.2f degC, held three times as long %.2f degC", kind, d.ID, a.CoolantC, b.CoolantC)
			}
		}
	}
}

// One kelvin of coolant for one of air holds with the thermostat open and the fan
// at full speed, and not while the thermostat still regulates.
func TestOneForOneHoldsWithTheThermostatOpen(t *testing.T) {
	k, tab := criteria(t), table(t)
	h := margin.NewHolder(k)
	electric := circuit.FanElectric
	c := tab.Typical(circuit.Vehicle{FanKind: &electric})
	c.TubesBlocked = 0.5
	d := duty(t, k, "climb")
	m := h.Highest(&c, d, 0)
	for _, air := range []float64{m.HighestC - 15, m.HighestC - 5} {
		now := h.Hold(&c, d, 0, air)
		t.Logf("open: in air of %.1f degC coolant %.1f, lift %.2f, fan %.2f, limiting ambient %.1f, highest air %.1f", air, now.CoolantC, now.Lift, now.FanShare, margin.LimitingAmbientC(now.BoilingC, now.CoolantC, now.AirC), m.HighestC)
		if now.Lift < 1 || now.FanShare < 1 {
			t.Fatalf("this run should have the thermostat open and the fan on: %+v", now)
		}
		if math.Abs(margin.LimitingAmbientC(now.BoilingC, now.CoolantC, now.AirC)-m.HighestC) > 1 {
			t.Errorf("limiting ambient %.1f degC from a run at %.1f, the highest air is %.1f", margin.LimitingAmbientC(now.BoilingC, now.CoolantC, now.AirC), air, m.HighestC)
		}
		if gap := margin.LimitingAmbientC(now.BoilingC, now.CoolantC, now.AirC) - margin.AirToBoilC(now.CoolantC, now.AirC) - (now.BoilingC - 100); math.Abs(gap) > 1e-9 {
			t.Errorf("air-to-boil and limiting ambient differ by %g K more than their limits", gap)
		}
	}
	cold := h.Hold(&c, d, 0, -10)
	t.Logf("regulating: in air of -10 degC coolant %.1f, lift %.2f, limiting ambient %.1f, highest air %.1f", cold.CoolantC, cold.Lift, margin.LimitingAmbientC(cold.BoilingC, cold.CoolantC, cold.AirC), m.HighestC)
	if cold.Lift >= 1 || margin.LimitingAmbientC(cold.BoilingC, cold.CoolantC, cold.AirC) > m.HighestC-5 {
		t.Errorf("in the cold the thermostat regulates and one for one gives too little: lift %.2f, %.1f degC against %.1f", cold.Lift, margin.LimitingAmbientC(cold.BoilingC, cold.CoolantC, cold.AirC), m.HighestC)
	}
}

// What the heat balance says is what a held run shows: at the highest air the engine is
// at its limit. That holds for any car that the table can make, with dead tubes, a dirty
// face, a valve that opens in part and a weak fan.
func TestTheHeatBalanceAgreesWithTheHeldRun(t *testing.T) {
	k, tab := criteria(t), table(t)
	longer := *k
	longer.Settle.Value *= 4 // a radiator that does little lets an engine settle slowly
	h := margin.NewHolder(&longer)
	rapid.Check(t, func(t *rapid.T) {
		c := drawn(t, tab)
		d := &k.Duties[rapid.IntRange(0, len(k.Duties)-1).Draw(t, "duty")]
		c.TubesBlocked = rapid.Float64Range(0, 0.8).Draw(t, "tubes")
		c.FaceBlocked = rapid.Float64Range(0, 0.7).Draw(t, "face")
		c.MaxLift = rapid.Float64Range(0.1, 1).Draw(t, "lift")
		c.FanWorks = rapid.Float64Range(0.2, 1).Draw(t, "fan")
		m := h.Highest(&c, d, 0)
		if m.Beyond != 0 || m.FanShare < 1 {
			t.Skip()
		}
		at := h.Hold(&c, d, 0, m.HighestC)
		if over := at.OverK(); math.Abs(over) > 1 {
			t.Fatalf("%s: %.2f K over the limit of %.1f degC in the highest air of %.1f: %+v, held %+v", d.ID, over, m.LimitC, m.HighestC, m, at)
		}
	})
}

// drawn is any car that the table can make.
func drawn(t *rapid.T, tab *circuit.Table) circuit.Circuit {
	rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed of the car"), 0))
	z := make([]float64, tab.Dim())
	for i := range z {
		z[i] = rng.NormFloat64()
	}
	return tab.Draw(circuit.Vehicle{}, z)
}

// With the thermostat open and the fan full, every kelvin of air makes the coolant
// hotter, and what is beyond its limit stays so. Where thermostat or fan regulate,
// the coolant hunts, or rests anywhere within their hysteresis, in the model as on
// cars: there the hotter run does not lie below all of the cooler one.
func TestHotterAirIsNeverLessHot(t *testing.T) {
	k, tab := criteria(t), table(t)
	h := margin.NewHolder(k)
	rapid.Check(t, func(t *rapid.T) {
		c := drawn(t, tab)
		d := &k.Duties[rapid.IntRange(0, len(k.Duties)-1).Draw(t, "duty")]
		air := rapid.Float64Range(-20, 60).Draw(t, "air")
		more := rapid.Float64Range(2, 20).Draw(t, "more")
		a, b := h.Hold(&c, d, 0, air), h.Hold(&c, d, 0, air+more)
		slack := 0.5 + c.Hysteresis
		if c.FanKind != circuit.FanViscous {
			slack += c.FanOnC - c.FanOffC
		}
		if b.CoolantC < a.LowestC-slack {
			t.Fatalf("%s: %.2f to %.2f degC in air of %.1f, %.2f to %.2f in air of %.1f", d.ID, a.LowestC, a.CoolantC, air, b.LowestC, b.CoolantC, air+more)
		}
		// A two-speed fan counts as on at its low step: the second may be to come.
		full := a.FanShare == 1 && (c.FanKind != circuit.FanTwoSpeed || a.LowestC > c.FanHighC+slack)
		if a.Lift == 1 && full && b.CoolantC < a.CoolantC+0.5 {
			t.Fatalf("%s, all open: %.2f degC in air of %.1f, %.2f in air of %.1f", d.ID, a.CoolantC, air, b.CoolantC, air+more)
		}
		if a.OverK() > 0 && b.OverK() <= 0 {
			t.Fatalf("%s: %.2f K over the limit in air of %.1f, %.2f in air of %.1f", d.ID, a.OverK(), air, b.OverK(), air+more)
		}
	})
}

// Less cap, less antifreeze and more height never move the boiling point up.
func TestBoilingPointFollowsCapAndHeight(t *testing.T) {
	tab := table(t)
	rapid.Check(t, func(t *rapid.T) {
		c := drawn(t, tab)
		height := rapid.Float64Range(0, 3000).Draw(t, "height")
		sound := margin.BoilingC(&c, height)
		if higher := margin.BoilingC(&c, height+500); higher >= sound {
			t.Fatalf("boils at %.2f degC at %.0f m and at %.2f degC 500 m higher", sound, height, higher)
		}
		weak := c
		weak.CapHold *= rapid.Float64Range(0, 0.9).Draw(t, "hold")
		leaking := c
		leaking.LeakArea, leaking.LeakOpensC = 1e-6, rapid.Float64Range(0, 130).Draw(t, "opens")
		for _, x := range []*circuit.Circuit{&weak, &leaking} {
			if got := margin.BoilingC(x, height); got > sound {
				t.Fatalf("boils at %.2f degC, and at %.2f degC with less pressure", sound, got)
			}
		}
	})
}

func BenchmarkHighest(b *testing.B) {
	k, tab := criteria(b), table(b)
	c := tab.Typical(circuit.Vehicle{})
	c.TubesBlocked = 0.3
	h := margin.NewHolder(k)
	for i := range k.Duties {
		b.Run(k.Duties[i].ID, func(b *testing.B) {
			for b.Loop() {
				h.Highest(&c, &k.Duties[i], 0)
			}
		})
	}
}
