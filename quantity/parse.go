package quantity

import (
	"fmt"
	"math"
	"strings"
)

// ParseError says what is wrong with a text that should be a quantity, for the person who
// typed it.
type ParseError struct {
	Quantity string // what was expected: "temperature"
	Text     string // what was found
	Problem  string // what is wrong with it
	Instead  string // what to write instead; may be empty
}

// Error gives the whole in one line.
func (e *ParseError) Error() string {
	s := fmt.Sprintf("%s %q %s", e.Quantity, e.Text, e.Problem)
	if e.Instead != "" {
		s += "; write " + e.Instead
	}
	return s
}

// ParseTemperature reads a temperature: "203 °F", "203F", "95,5 deg C", "368 K".
func ParseTemperature(text string) (Temperature, error) {
	v, err := parse(&temperatureUnits, text)
	return Temperature(v), err
}

// ParseTemperatureDifference reads a difference: "18 °F" is 10 K.
func ParseTemperatureDifference(text string) (TemperatureDifference, error) {
	v, err := parse(&differenceUnits, text)
	return TemperatureDifference(v), err
}

// ParsePressure reads a gauge pressure: "16 psi", "1.1 bar", "110 kPa". Absolute units
// are refused.
func ParsePressure(text string) (Pressure, error) {
	v, err := parse(&pressureUnits, text)
	return Pressure(v), err
}

// ParseVolume reads a volume: "7.5 qt", "6,5 l", "2 gal" (US), "7 1/2 quarts".
func ParseVolume(text string) (Volume, error) {
	v, err := parse(&volumeUnits, text)
	return Volume(v), err
}

// ParseLength reads a length or altitude: "300 m", "1000 ft".
func ParseLength(text string) (Length, error) {
	v, err := parse(&lengthUnits, text)
	return Length(v), err
}

// ParseSpeed reads a speed: "65 mph", "100 km/h".
func ParseSpeed(text string) (Speed, error) {
	v, err := parse(&speedUnits, text)
	return Speed(v), err
}

// ParseMassFlow reads a mass flow: "12 g/s", "1.5 lb/min".
func ParseMassFlow(text string) (MassFlow, error) {
	v, err := parse(&massFlowUnits, text)
	return MassFlow(v), err
}

// ParseShare reads a share of a whole: "50 %", "50%", or the bare number "0.5". A bare
// number above 1 is refused, because it lacks its percent sign.
func ParseShare(text string) (Share, error) { return parseShare(&shareUnits, text) }

// ParseRatio reads a share of a rated value, which may be above 100 %: "105 %". A bare
// number above 1 is refused, as by ParseShare.
func ParseRatio(text string) (Share, error) { return parseShare(&ratioUnits, text) }

func parseShare(d *dimension, text string) (Share, error) {
	s := tidy(text)
	value, rest, problem := readNumber(s, false)
	if problem == "" && rest == "" && len(text) <= longestText {
		if value < 0 || value > 1 {
			return 0, &ParseError{d.name, text, "has no unit", fmt.Sprintf("%q", s+" %")}
		}
		return Share(value), nil
	}
	v, err := parse(d, text)
	return Share(v), err
}

// parse reads one number with one unit of the dimension into SI.
func parse(d *dimension, text string) (float64, error) {
	fail := func(problem, instead string) (float64, error) {
		return 0, &ParseError{d.name, clip(text), problem, instead}
	}
	s := tidy(text)
	switch {
	case len(text) > longestText:
		return fail("is too long", d.sample())
	case s == "":
		return fail("is empty", d.sample())
	}
	number, unitText, problem := readNumber(s, false)
	if problem != "" {
		if strings.Contains(problem, "; write") { // the number's own advice is the better one
			return fail(problem, "")
		}
		return fail(problem, "a number and its unit, such as "+d.sample())
	}
	word := normaliseUnit(unitText)
	u, known := d.byWord(word)
	if !known {
		return 0, d.unknownUnit(text, s, unitText, word)
	}
	value := u.toSI(number)
	if !(value >= d.lowest && value <= d.highest) || math.IsInf(value, 0) {
		return fail("cannot be: "+d.why, "")
	}
	return value, nil
}

// unknownUnit explains a unit that the dimension does not have.
func (d *dimension) unknownUnit(text, tidied, unitText, word string) error {
	number := strings.TrimRight(strings.TrimSuffix(tidied, unitText), " ")
	e := &ParseError{Quantity: d.name, Text: text, Instead: d.example(number)}
	for _, absolute := range d.absolute {
		if word == absolute {
			e.Problem = fmt.Sprintf("is absolute (%s); a gauge reading, as a tester shows it, is meant", unitText)
			e.Instead = "a gauge pressure, such as " + d.sample()
			return e
		}
	}
	if word == "" {
		e.Problem = "has no unit"
		return e
	}
	for _, other := range dimensions() {
		if _, ok := other.byWord(word); ok && other != d {
			e.Problem = fmt.Sprintf("has a unit of %s (%s)", other.name, unitText)
			return e
		}
	}
	e.Problem = fmt.Sprintf("has an unknown unit %q", unitText)
	if near := Nearest(word, d.words()); near != "" {
		u, _ := d.byWord(near)
		e.Instead = fmt.Sprintf("%q", number+" "+u.symbol)
	}
	return e
}

func (d *dimension) words() (words []string) {
	for _, u := range d.units {
		words = append(words, u.words...)
	}
	return words
}

// sample is what somebody might write.
func (d *dimension) sample() string {
	if d.samples[0] == "" {
		return d.example("12")
	}
	return fmt.Sprintf("%q or %q", d.samples[0], d.samples[1])
}

// example names the usual ways of writing the number with a unit.
func (d *dimension) example(number string) string {
	if d.suggest[0] == d.suggest[1] {
		return fmt.Sprintf("%q", number+" "+d.suggest[0])
	}
	return fmt.Sprintf("%q or %q", number+" "+d.suggest[0], number+" "+d.suggest[1])
}

func clip(text string) string {
	if len(text) <= longestText {
		return text
	}
	return strings.ToValidUTF8(text[:longestText], "") + "..."
}
