package coolant_test

import (
	"math"
	"strings"
	"testing"

	"weephole/coolant"

	"pgregory.net/rapid"
)

// The release tables print nine digits.
func TestWaterSaturationMeetsTheReleaseValues(t *testing.T) {
	for _, row := range table(t, "water_if97_verification.csv") {
		x, want := number(t, row["argument"]), number(t, row["verification_value"])
		got := 0.0
		switch row["quantity"] {
		case "Psat_MPa_of_T_K":
			got = coolant.WaterPressurePa(x) / 1e6
		case "Tsat_K_of_P_MPa":
			got = coolant.WaterBoilingK(x * 1e6)
		default:
			t.Fatalf("unknown quantity %q", row["quantity"])
		}
		if math.Abs(got/want-1) > 5e-9 {
			t.Errorf("%s(%v) = %.9g, want %.9g (%s)", row["quantity"], x, got, want, row["source"])
		}
	}
}

func TestTheSlopeOfWaterPressureIsItsDifference(t *testing.T) {
	for tK := 300.0; tK < 600; tK += 25 {
		const h = 1e-3
		want := (coolant.WaterPressurePa(tK+h) - coolant.WaterPressurePa(tK-h)) / (2 * h)
		if got := coolant.WaterPressureSlope(tK); math.Abs(got/want-1) > 1e-6 {
			t.Errorf("at %v K: %v, want %v Pa/K", tK, got, want)
		}
	}
}

func TestWhatLiesOutsideTheRangesIsAnError(t *testing.T) {
	for _, c := range []struct {
		name, want string
		try        func() (float64, error)
	}{
		{"a fraction above the data", "density: glycol fraction 0.7 is outside 0 to 0.578",
			func() (float64, error) { return coolant.DensityKgM3(coolant.Ethylene, 0.7, 20) }},
		{"a negative fraction", "viscosity: glycol fraction -0.1 is outside 0 to 0.578",
			func() (float64, error) { return coolant.ViscosityPaS(coolant.Ethylene, -0.1, 20) }},
		{"no number", "heat capacity: glycol fraction NaN is outside 0 to 0.6",
			func() (float64, error) { return coolant.HeatCapacityJKgK(coolant.Propylene, math.NaN(), 20) }},
		{"ice", "conductivity: temperature -40 degC is outside -37.0 (where this mix freezes) to 130 degC",
			func() (float64, error) { return coolant.ConductivityWMK(coolant.Ethylene, 0.5, -40) }},
		{"too hot", "density: temperature 150 degC is outside -37.0 (where this mix freezes) to 130 degC",
			func() (float64, error) { return coolant.DensityKgM3(coolant.Ethylene, 0.5, 150) }},
		{"an unknown glycol", "boiling point: mix: no glycol has the number 9; use Ethylene or Propylene",
			func() (float64, error) { return coolant.BoilingC(9, 0.5, 101325) }},
		{"gauge taken for absolute", "boiling point: absolute pressure 0 Pa is outside 10000 to 1e+06 Pa",
			func() (float64, error) { return coolant.BoilingC(coolant.Ethylene, 0.5, 0) }},
		{"no freezing point for straight antifreeze", "freezing point: glycol fraction 1 is outside 0 to 0.578",
			func() (float64, error) { return coolant.FreezingC(coolant.Ethylene, 1) }},
		{"colder than any mix", "mix for a lowest temperature: -60 degC is below -48.3 degC, the limit of ethylene glycol in the table",
			func() (float64, error) { return coolant.VolumeFractionForC(coolant.Ethylene, -60) }},
		{"a peak without roads", "pressure under a cap: altitude 9000 m is outside -500 to 6000 m",
			func() (float64, error) { return coolant.PressureUnderCapPa(0, 9000) }},
		{"a sucking cap", "pressure under a cap: cap pressure -5 Pa is below 0",
			func() (float64, error) { return coolant.PressureUnderCapPa(-5, 0) }},
	} {
		t.Run(c.name, func(t *testing.T) {
			v, err := c.try()
			if err == nil || !strings.HasPrefix(err.Error(), c.want) || v != 0 {
				t.Errorf("got %v, %v; want %s", v, err, c.want)
			}
		})
	}
}

func TestAMixHoldsItsPropertiesOutsideTheirRange(t *testing.T) {
	m := mix(t, coolant.Ethylene, 0.5)
	if m.DensityKgM3(-60) != m.DensityKgM3(-37) || m.DensityKgM3(200) != m.DensityKgM3(130) {
		t.Error("density moves outside the range")
	}
}

func TestStrongMixesAreEstimatedAndSaySo(t *testing.T) {
	for _, g := range coolant.Glycols() {
		limit := coolant.MaxVolumeFraction(g)
		edge, over, pure := mix(t, g, limit), mix(t, g, limit+1e-9), mix(t, g, 1)
		if edge.Estimated() || !over.Estimated() || !pure.Estimated() {
			t.Errorf("%v: edge %v, over %v, pure %v", g, edge.Estimated(), over.Estimated(), pure.Estimated())
		}
		for _, p := range properties {
			if a, b := p.of(edge, 90), p.of(over, 90); math.Abs(b/a-1) > 1e-6 {
				t.Errorf("%v: %s jumps from %v to %v at the end of the data", g, p.name, a, b)
			}
		}
		if pure.HeatCapacityJKgK(90) >= edge.HeatCapacityJKgK(90) || pure.ViscosityPaS(90) <= edge.ViscosityPaS(90) {
			t.Errorf("%v: straight concentrate carries heat or flows better than a mix", g)
		}
	}
	// The same table as data/pure.csv, at its other temperatures, also from memory: this
	// holds the cubic to the shape of the table, not the table to the truth.
	pure := mix(t, coolant.Ethylene, 1)
	for tC, want := range map[float64][4]float64{
		26.85: {1114.4, 2415, 0.252, 0.0157},
		56.85: {1089.5, 2549, 0.260, 0.00561},
		86.85: {1074.0, 2682, 0.261, 0.00278},
	} {
		for i, p := range properties {
			if got := p.of(pure, tC); math.Abs(got/want[i]-1) > 0.02 {
				t.Errorf("%s of pure ethylene glycol at %v degC is %v, want %v", p.name, tC, got, want[i])
			}
		}
	}
}

func TestPureGlycolBoilsWhereHandbooksSay(t *testing.T) {
	// Normal boiling points: CRC table as carried by CalebBell/chemicals commit 82faef900d.
	for g, wantK := range map[coolant.Glycol]float64{coolant.Ethylene: 470.65, coolant.Propylene: 460.45} {
		got := mix(t, g, 1).BoilingC(101325) + 273.15
		if math.Abs(got-wantK) > 0.5 {
			t.Errorf("%v boils at %.2f K, want %.2f", g, got, wantK)
		}
	}
}

func TestPropertiesOfMixesAreOrderly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := rapid.SampledFrom(coolant.Glycols()).Draw(t, "glycol")
		v := rapid.Float64Range(0, 1).Draw(t, "fraction")
		more := rapid.Float64Range(v, 1).Draw(t, "larger fraction")
		p := rapid.Float64Range(1e4, 1e6).Draw(t, "pressure")
		higher := rapid.Float64Range(p, 1e6).Draw(t, "higher pressure")
		m, err := coolant.NewMix(g, v)
		if err != nil {
			t.Fatal(err)
		}
		n, err := coolant.NewMix(g, more)
		if err != nil {
			t.Fatal(err)
		}
		if b := m.BoilingC(p); b > n.BoilingC(p)+1e-6 || b > m.BoilingC(higher)+1e-6 || math.IsNaN(b) {
			t.Fatalf("boiling %v falls with glycol (%v) or pressure (%v)", b, n.BoilingC(p), m.BoilingC(higher))
		}
		w, err := coolant.VolumeToMassFraction(g, v)
		if err != nil {
			t.Fatal(err)
		}
		if back, err := coolant.MassToVolumeFraction(g, w); err != nil || math.Abs(back-v) > 1e-12 {
			t.Fatalf("volume fraction %v comes back from mass as %v (%v)", v, back, err)
		}
		if w < v-0.001 { // glycol is the denser; the table rounds to 0.001
			t.Fatalf("mass fraction %v below volume fraction %v", w, v)
		}
		tC := rapid.Float64Range(-50, 140).Draw(t, "temperature")
		for _, x := range []float64{m.DensityKgM3(tC), m.HeatCapacityJKgK(tC), m.ConductivityWMK(tC), m.ViscosityPaS(tC)} {
			if !(x > 0) {
				t.Fatalf("a property is %v", x)
			}
		}
	})
}

func TestATesterReadsColderThanTheTable(t *testing.T) {
	for _, c := range []struct {
		kind    coolant.Glycol
		readC   float64
		want    float64
		atLeast bool
	}{
		{coolant.Ethylene, -37, 0.50, false}, // ASHRAE handbook 2001: 50 volume percent, -36.9 degC
		{coolant.Ethylene, -49, coolant.MaxVolumeFraction(coolant.Ethylene), true},
		{coolant.Ethylene, -51.1, coolant.MaxVolumeFraction(coolant.Ethylene), true}, // -60 degF
		{coolant.Propylene, -49, 0.59, false},
	} {
		got, atLeast, err := coolant.VolumeFractionOfReading(c.kind, c.readC)
		if err != nil || math.Abs(got-c.want) > 0.005 || atLeast != c.atLeast {
			t.Errorf("%s read as %g degC: %.4f, at least: %v (%v); want %.4f, %v", c.kind, c.readC, got, atLeast, err, c.want, c.atLeast)
		}
	}
	for _, wrong := range []float64{-52, -300, math.NaN()} {
		if got, _, err := coolant.VolumeFractionOfReading(coolant.Ethylene, wrong); err == nil {
			t.Errorf("%g degC was taken for %g", wrong, got)
		}
	}
}

func TestAMixMadeForATemperatureProtectsToIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := rapid.SampledFrom(coolant.Glycols()).Draw(t, "glycol")
		lowest := rapid.Float64Range(-48.3, 10).Draw(t, "lowest")
		v, err := coolant.VolumeFractionForC(g, lowest)
		if err != nil {
			t.Fatal(err)
		}
		f, err := coolant.FreezingC(g, v)
		if err != nil || f > lowest+1e-9 && v > 0 || v > 0 && f < lowest-1e-9 {
			t.Fatalf("for %v degC came %v, which freezes at %v (%v)", lowest, v, f, err)
		}
	})
}

func BenchmarkBoilingOfAPreparedMix(b *testing.B) {
	m, err := coolant.NewMix(coolant.Ethylene, 0.5)
	if err != nil {
		b.Fatal(err)
	}
	for i := 0; b.Loop(); i++ {
		m.BoilingC(90_000 + float64(i%1000)*130)
	}
}

func BenchmarkBoilingC(b *testing.B) {
	for i := 0; b.Loop(); i++ {
		if _, err := coolant.BoilingC(coolant.Ethylene, 0.5, 90_000+float64(i%1000)*130); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDensityOfAPreparedMix(b *testing.B) {
	m, err := coolant.NewMix(coolant.Ethylene, 0.5)
	if err != nil {
		b.Fatal(err)
	}
	for i := 0; b.Loop(); i++ {
		m.DensityKgM3(float64(i % 130))
	}
}

func BenchmarkNewMix(b *testing.B) {
	for b.Loop() {
		if _, err := coolant.NewMix(coolant.Ethylene, 0.5); err != nil {
			b.Fatal(err)
		}
	}
}
