package events

import (
	"fmt"
	"math"
	"strings"

	"weephole/quantity"
)

// labels are the numbers in words for people.
var labels = [NumKinds]string{
	"coolant at the start", "above intake air, cold", "warm-up for the heat", "warm-up", "opens at", "opens after", "overshoot", "slope drops by",
	"holds", "spread", "standing above moving", "hard work above easy", "steepest rise, warm", "steepest fall after it",
	"fan on at", "fan off at", "fan every", "fan changes the slope by", "highest", "boils for", "rises after shut-off", "slope after that",
	"at the end", "slope at the end", "jumps of the sensor", "size of a jump", "spoiled readings",
}

// Label is a number's name for people, with its unit in the shop's units.
func Label(k Kind, u quantity.Units) string {
	unit := kinds[k].unit
	if strings.Contains(unit, "degC") {
		unit = "°C"
	}
	if u.TemperatureIn == "°F" {
		unit = strings.NewReplacer("°C", "°F", "K", "°F").Replace(unit)
	} else {
		unit = strings.Replace(unit, "K", "°C", 1)
	}
	if k == JumpShare {
		unit = "%"
	}
	return labels[k] + ", " + unit
}

// InUnits is a number's value in the shop's units.
func InUnits(k Kind, x float64, u quantity.Units) string {
	if kinds[k].unit == "degC" {
		if u.TemperatureIn == "°F" {
			x = x*9/5 + 32
		}
		return fmt.Sprintf("%.1f", x)
	}
	return ByUnits(k, x, u)
}

// ByUnits is a difference of two such values in the shop's units.
func ByUnits(k Kind, x float64, u quantity.Units) string {
	switch {
	case math.IsNaN(x):
		return "–"
	case k == JumpShare:
		return fmt.Sprintf("%.1f", 100*x)
	case u.TemperatureIn == "°F" && kinds[k].unit != "s" && kinds[k].unit != "1/h":
		x *= 9.0 / 5
	}
	if kinds[k].unit == "s" {
		return fmt.Sprintf("%.0f", x)
	}
	return fmt.Sprintf("%.1f", x)
}
