package quantity_test

import (
	"encoding"
	"math"
	"testing"

	"weephole/quantity"

	"pgregory.net/rapid"
)

// comesBack marshals and unmarshals values of a range and wants the very same float.
func comesBack[T ~float64, P interface {
	*T
	encoding.TextUnmarshaler
}](t *testing.T, name string, low, high float64, marshal func(T) ([]byte, error)) {
	t.Run(name+" comes back exactly from its text", rapid.MakeCheck(func(t *rapid.T) {
		v := T(rapid.Float64Range(low, high).Draw(t, "value"))
		text, err := marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		var back T
		if err := P(&back).UnmarshalText(text); err != nil || back != v {
			t.Fatalf("%v is written %q and read as %v (%v)", float64(v), text, float64(back), err)
		}
	}))
}

func TestEveryValueComesBackFromItsText(t *testing.T) {
	comesBack[quantity.Temperature](t, "temperature", -273.15, 3000, quantity.Temperature.MarshalText)
	comesBack[quantity.TemperatureDifference](t, "temperature difference", -3000, 3000, quantity.TemperatureDifference.MarshalText)
	comesBack[quantity.Pressure](t, "pressure", -101325, 1e8, quantity.Pressure.MarshalText)
	comesBack[quantity.Volume](t, "volume", 0, 1e6, quantity.Volume.MarshalText)
	comesBack[quantity.Duration](t, "duration", 0, 1e10, quantity.Duration.MarshalText)
	comesBack[quantity.Length](t, "length", -1e8, 1e8, quantity.Length.MarshalText)
	comesBack[quantity.Speed](t, "speed", 0, 1000, quantity.Speed.MarshalText)
	comesBack[quantity.MassFlow](t, "mass flow", -1e6, 1e6, quantity.MassFlow.MarshalText)
	comesBack[quantity.Share](t, "share", 0, 1, quantity.Share.MarshalText)
}

func TestMoneyComesBackFromItsText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := quantity.Money{
			Amount:   float64(rapid.Int64Range(-1e11, 1e11).Draw(t, "thousandths")) / 1000,
			Currency: rapid.SampledFrom([]string{"USD", "EUR", "CHF", "CAD"}).Draw(t, "currency"),
		}
		text, err := m.MarshalText()
		if err != nil {
			t.Fatal(err)
		}
		var back quantity.Money
		if err := back.UnmarshalText(text); err != nil || back != m {
			t.Fatalf("%+v is written %q and read as %+v (%v)", m, text, back, err)
		}
	})
}

func TestWhatIsPrintedCanBeTypedAgain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.SampledFrom([]quantity.Units{quantity.Metric(), quantity.US()}).Draw(t, "units")
		v := rapid.Float64Range(0, 200).Draw(t, "value")
		// Half of the last printed digit, in SI; the coarsest of both systems.
		for _, c := range []struct {
			kind, text string
			si, half   float64
		}{
			{"temperature", u.Temperature(quantity.Temperature(v)), v, 0.51},
			{"difference", u.TemperatureDifference(quantity.TemperatureDifference(v)), v, 0.51},
			{"pressure", u.Pressure(quantity.Pressure(v * 1000)), v * 1000, 5001},
			{"volume", u.Volume(quantity.Volume(v / 1000)), v / 1000, 0.51e-4},
			{"length", u.Length(quantity.Length(v)), v, 0.51},
			{"speed", u.Speed(quantity.Speed(v)), v, 0.24},
			{"duration", u.Duration(quantity.Duration(v)), v, 0.51},
			{"duration", u.Duration(quantity.Duration(v * 100)), v * 100, 31},
			{"share", u.Share(quantity.Share(v / 200)), v / 200, 0.0051},
		} {
			got, err := si[c.kind](c.text)
			if err != nil || math.Abs(got-c.si) > c.half {
				t.Fatalf("%s %v is printed %q and read as %v (%v)", c.kind, c.si, c.text, got, err)
			}
		}
	})
}

func TestNearestIsTheWordItselfWhenItIsThere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.SliceOfNDistinct(rapid.StringMatching(`[a-z]{2,12}`), 1, 10, rapid.ID[string]).Draw(t, "words")
		word := rapid.SampledFrom(words).Draw(t, "word")
		if got := quantity.Nearest(word, words); got != word {
			t.Fatalf("nearest to %q is %q", word, got)
		}
	})
}
