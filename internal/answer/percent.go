package answer

import (
	"fmt"
	"math"

	"weephole/quantity"
)

// Precision is how finely a probability may be said, a share: 0.01 is to one per
// cent.
type Precision float64

// Usual is the precision of figures from a plan or a proof: they come from some
// hundred engines or more.
const Usual Precision = 0.01

// PrecisionOf is how finely a probability with this standard error is said: in
// steps no smaller than the error.
func PrecisionOf(standardError float64) Precision {
	for _, step := range []Precision{0.01, 0.02, 0.05} {
		if standardError <= float64(step) {
			return step
		}
	}
	return 0.10
}

// Percent says a probability, never surer than the precision: "93 %", "over 99 %",
// "under 1 %".
func (step Precision) Percent(p float64) string {
	percent := int(math.Round(100 * float64(step)))
	switch n := int(math.Round(p / float64(step))); {
	case n <= 0:
		return fmt.Sprintf("under %d %%", percent)
	case n*percent >= 100:
		return fmt.Sprintf("over %d %%", 100-percent)
	default:
		return fmt.Sprintf("%d %%", n*percent)
	}
}

// Tells is false where Percent says only that a probability is small.
func (step Precision) Tells(p float64) bool { return math.Round(p/float64(step)) > 0 }

// Percent says a probability from a plan or a proof.
func Percent(p float64) string { return Usual.Percent(p) }

// OfHundred counts engines or cars: a frequency. Per cent of those with a fault and of
// those without would be taken for two parts of one whole.
func OfHundred(p float64) string {
	switch n := int(math.Round(100 * p)); {
	case n <= 0:
		return "fewer than 1 of 100"
	case n >= 100:
		return "more than 99 of 100"
	default:
		return fmt.Sprintf("%d of 100", n)
	}
}

// Strength says how strong a finding's weight of evidence is. The bounds, in
// decibans, are those of Jeffreys, Theory of Probability, appendix B (from memory):
// half and whole powers of ten.
func Strength(decibans float64) string {
	word := "very strong"
	switch d := math.Abs(decibans); {
	case d < 5:
		word = "weak"
	case d < 10:
		word = "moderate"
	case d < 15:
		word = "strong"
	}
	return word + " evidence"
}

// Amount prints a reading of the given kind (SI, temperatures in degC) in the
// shop's units.
func Amount(u quantity.Units, kind string, v float64) string {
	switch kind {
	case "temperature":
		return u.Temperature(quantity.Temperature(v))
	case "temperature-difference":
		return u.TemperatureDifference(quantity.TemperatureDifference(v))
	case "pressure":
		return u.Pressure(quantity.Pressure(v))
	case "duration":
		return u.Duration(quantity.Duration(v))
	case "share":
		return u.Share(quantity.Share(v))
	}
	return fmt.Sprintf("%.3g", v)
}

// Span prints a range of readings: "95 °F to 120 °F".
func Span(u quantity.Units, kind string, r [2]float64) string {
	a, b := Amount(u, kind, r[0]), Amount(u, kind, r[1])
	if a == b {
		return "about " + a
	}
	return a + " to " + b
}

// Money prints an amount without cents.
func Money(v float64, currency string) string {
	if currency == "" {
		currency = "USD"
	}
	return quantity.Money{Amount: math.Round(v), Currency: currency}.String()
}

// Bounds of how a time is said, minutes; design choice: from two hours on in hours, and from
// ten hours on without the minutes, which no estimate knows.
const (
	inHours    = 120
	wholeHours = 600
)

// Time says minutes, as hours and minutes where they are many: "90 min", "2 h 45 min", "12 h".
func Time(minutes float64) string {
	m := math.Round(minutes)
	if m < inHours {
		return fmt.Sprintf("%.0f min", m)
	}
	hours, rest := math.Floor(m/60), math.Mod(m, 60)
	if m >= wholeHours {
		hours, rest = math.Round(m/60), 0
	}
	if rest == 0 {
		return fmt.Sprintf("%.0f h", hours)
	}
	return fmt.Sprintf("%.0f h %.0f min", hours, rest)
}

func round(v float64) float64 { return math.Round(v*100) / 100 }
