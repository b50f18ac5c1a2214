package answer

import (
	"fmt"

	"weephole/quantity"
)

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
