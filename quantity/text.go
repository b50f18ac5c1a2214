package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// exact writes an SI value as text that parses back to the same number: in the preferred
// unit that needs the fewest characters, the earlier of equals, so that "16 psi" and "1.1 bar"
// both stay what they were. The last preferred unit is SI, for when no other is exact.
func (d *dimension) exact(value float64) ([]byte, error) {
	if !(value >= d.lowest && value <= d.highest) {
		return nil, fmt.Errorf("%s: %g cannot be written: %s", d.name, value, d.why)
	}
	last := len(d.prefer) - 1
	best, unitOfBest := "", d.prefer[last]
	for _, symbol := range d.prefer[:last] {
		if text, ok := in(d, symbol).exactNumber(value); ok && (best == "" || len(text) < len(best)) {
			best, unitOfBest = text, symbol
		}
	}
	if best == "" {
		best = number(value)
	}
	return []byte(strings.TrimSpace(best + " " + unitOfBest)), nil
}

// exactNumber finds the shortest number that the unit turns into exactly the SI value.
func (u unit) exactNumber(value float64) (text string, ok bool) {
	for _, digits := range []int{6, 9, 12, 15, 17} { // significant; 17 always tell floats apart
		rounded, err := strconv.ParseFloat(strconv.FormatFloat(u.fromSI(value), 'e', digits-1, 64), 64)
		if err == nil && u.toSI(rounded) == value {
			return number(rounded), true
		}
	}
	return "", false
}

// number writes v so that it reads back exactly; exponents only where zeros would go on and on.
func number(v float64) string {
	if a := math.Abs(v); a != 0 && (a < 1e-6 || a >= 1e15) {
		return strconv.FormatFloat(v, 'e', -1, 64)
	}
	return strconv.FormatFloat(v+0, 'f', -1, 64) // +0 turns -0 into 0
}

// MarshalText writes the shortest text that reads back exactly, such as "95 °C".
func (t Temperature) MarshalText() ([]byte, error) { return temperatureUnits.exact(float64(t)) }

// UnmarshalText reads what ParseTemperature reads.
func (t *Temperature) UnmarshalText(text []byte) error { return unmarshal(t, text, ParseTemperature) }

// MarshalText writes the shortest text that reads back exactly, such as "10 K".
func (d TemperatureDifference) MarshalText() ([]byte, error) {
	return differenceUnits.exact(float64(d))
}

// UnmarshalText reads what ParseTemperatureDifference reads.
func (d *TemperatureDifference) UnmarshalText(text []byte) error {
	return unmarshal(d, text, ParseTemperatureDifference)
}

// MarshalText writes the shortest text that reads back exactly, such as "16 psi".
func (p Pressure) MarshalText() ([]byte, error) { return pressureUnits.exact(float64(p)) }

// UnmarshalText reads what ParsePressure reads.
func (p *Pressure) UnmarshalText(text []byte) error { return unmarshal(p, text, ParsePressure) }

// MarshalText writes the shortest text that reads back exactly, such as "7.5 qt".
func (v Volume) MarshalText() ([]byte, error) { return volumeUnits.exact(float64(v)) }

// UnmarshalText reads what ParseVolume reads.
func (v *Volume) UnmarshalText(text []byte) error { return unmarshal(v, text, ParseVolume) }

// MarshalText writes the shortest text that reads back exactly, such as "80 min".
func (d Duration) MarshalText() ([]byte, error) { return durationUnits.exact(float64(d)) }

// UnmarshalText reads what ParseDuration reads.
func (d *Duration) UnmarshalText(text []byte) error { return unmarshal(d, text, ParseDuration) }

// MarshalText writes the shortest text that reads back exactly, such as "300 m".
func (l Length) MarshalText() ([]byte, error) { return lengthUnits.exact(float64(l)) }

// UnmarshalText reads what ParseLength reads.
func (l *Length) UnmarshalText(text []byte) error { return unmarshal(l, text, ParseLength) }

// MarshalText writes the shortest text that reads back exactly, such as "65 mph".
func (s Speed) MarshalText() ([]byte, error) { return speedUnits.exact(float64(s)) }

// UnmarshalText reads what ParseSpeed reads.
func (s *Speed) UnmarshalText(text []byte) error { return unmarshal(s, text, ParseSpeed) }

// MarshalText writes the shortest text that reads back exactly, such as "12 g/s".
func (f MassFlow) MarshalText() ([]byte, error) { return massFlowUnits.exact(float64(f)) }

// UnmarshalText reads what ParseMassFlow reads.
func (f *MassFlow) UnmarshalText(text []byte) error { return unmarshal(f, text, ParseMassFlow) }

// MarshalText writes the shortest text that reads back exactly, such as "50 %".
func (s Share) MarshalText() ([]byte, error) { return shareUnits.exact(float64(s)) }

// UnmarshalText reads what ParseShare reads.
func (s *Share) UnmarshalText(text []byte) error { return unmarshal(s, text, ParseShare) }

// unmarshal leaves the target alone when the text is wrong.
func unmarshal[T any](into *T, text []byte, parse func(string) (T, error)) error {
	v, err := parse(string(text))
	if err == nil {
		*into = v
	}
	return err
}
