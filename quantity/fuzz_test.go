package quantity_test

import (
	"encoding"
	"math"
	"strings"
	"testing"

	"weephole/quantity"
)

var seeds = []string{
	"203 °F", "203F", "95,5 °C", "16 psi", "16 psia", "1.1 bar", "7 1/2 qt", "6,5 l", "1h 20min", "0:12 h",
	"1:02:03", "300 m", "1,000 ft", "65 mph", "50 %", "0.5", "$120/h", "2.400 €", "-$5", "1e5 Pa", "℉", "½",
	"", " ", "-", ".", ",", "1/0 qt", "1e999 K", "0x10 F", "NaN", "Inf K", "\xff\xfe", strings.Repeat("1 ", 50),
}

// fuzzed checks that a parser never panics, never lets a number through that is none, says
// something to a wrong text, and that what it takes survives being written and read.
func fuzzed[T ~float64](f *testing.F, parse func(string) (T, error), marshal func(T) ([]byte, error)) {
	for _, s := range seeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		v, err := parse(text)
		if err != nil {
			if v != 0 || err.Error() == "" {
				t.Fatalf("%q: %v with %v", text, v, err)
			}
			return
		}
		if math.IsNaN(float64(v)) || math.IsInf(float64(v), 0) {
			t.Fatalf("%q is %v", text, float64(v))
		}
		written, err := marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		if back, err := parse(string(written)); err != nil || back != v {
			t.Fatalf("%q is %v, written %q, read %v (%v)", text, float64(v), written, float64(back), err)
		}
	})
}

func FuzzParseTemperature(f *testing.F) {
	fuzzed(f, quantity.ParseTemperature, quantity.Temperature.MarshalText)
}

func FuzzParseTemperatureDifference(f *testing.F) {
	fuzzed(f, quantity.ParseTemperatureDifference, quantity.TemperatureDifference.MarshalText)
}

func FuzzParsePressure(f *testing.F) {
	fuzzed(f, quantity.ParsePressure, quantity.Pressure.MarshalText)
}

func FuzzParseVolume(f *testing.F) {
	fuzzed(f, quantity.ParseVolume, quantity.Volume.MarshalText)
}

func FuzzParseDuration(f *testing.F) {
	fuzzed(f, quantity.ParseDuration, quantity.Duration.MarshalText)
}

func FuzzParseLength(f *testing.F) {
	fuzzed(f, quantity.ParseLength, quantity.Length.MarshalText)
}

func FuzzParseSpeed(f *testing.F) {
	fuzzed(f, quantity.ParseSpeed, quantity.Speed.MarshalText)
}

func FuzzParseMassFlow(f *testing.F) {
	fuzzed(f, quantity.ParseMassFlow, quantity.MassFlow.MarshalText)
}

func FuzzParseShare(f *testing.F) {
	fuzzed(f, quantity.ParseShare, quantity.Share.MarshalText)
}

func FuzzParseMoney(f *testing.F) { fuzzedText(f, quantity.ParseMoney) }

func FuzzParseRate(f *testing.F) { fuzzedText(f, quantity.ParseRate) }

func FuzzParseUnits(f *testing.F) { fuzzedText(f, quantity.ParseUnits) }

// fuzzedText is fuzzed for what is not a float.
func fuzzedText[T interface {
	comparable
	encoding.TextMarshaler
}](f *testing.F, parse func(string) (T, error)) {
	for _, s := range append(seeds, "us", "metric, psi", "us,°C,°F") {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		v, err := parse(text)
		if err != nil {
			return
		}
		written, err := v.MarshalText()
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		if back, err := parse(string(written)); err != nil || back != v {
			t.Fatalf("%q is %v, written %q, read %v (%v)", text, v, written, back, err)
		}
	})
}

func FuzzParseRatio(f *testing.F) {
	fuzzed(f, quantity.ParseRatio, quantity.MarshalRatio)
}
