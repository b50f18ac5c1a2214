package quantity

import (
	"regexp"
	"strings"
)

// written finds temperatures and pressures in a text that was written for
// people, such as a caution. The number may not be part of a longer one or of a
// range, whose two ends share a unit.
var written = regexp.MustCompile(`(^|[^0-9.,–-])(-?[0-9]+(?:\.[0-9]+)?) (°C|°F|psi|bar|kPa)\b`)

// InText writes the temperatures and pressures that stand in a text in the
// system's units: "below 50 °C" becomes "below 122 °F" in a shop that thinks in
// °F. What cannot be read as one stays as it is.
func (u Units) InText(text string) string {
	return written.ReplaceAllStringFunc(text, func(found string) string {
		m := written.FindStringSubmatch(found)
		said := m[2] + " " + m[3]
		if strings.HasPrefix(m[3], "°") {
			if t, err := ParseTemperature(said); err == nil && u.filled().TemperatureIn != m[3] {
				return m[1] + u.Temperature(t)
			}
			return found
		}
		if p, err := ParsePressure(said); err == nil && u.filled().PressureIn != m[3] {
			return m[1] + u.Pressure(p)
		}
		return found
	})
}
