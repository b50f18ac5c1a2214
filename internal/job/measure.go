package job

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"weephole/quantity"
)

// measure is how one quantity of the job file is read.
type measure[V any] struct {
	what     string // "an engine size"
	parse    func(string) (V, error)
	possible func(V) (string, error) // "" when possible, else the range; nil: anything is
	example  string
	unit     string // of a bare number, where only one is in use; "" where it is refused
	shops    bool   // money: a bare number is in the shop's currency
}

// bare is the measure with the unit that a number without one has.
func (m measure[V]) bare(unit string) measure[V] {
	m.unit = unit
	return m
}

// bounded is a measure that must lie between two values, both possible.
func bounded[V ~float64](what string, parse func(string) (V, error), low, high, example string) measure[V] {
	return measure[V]{what: what, parse: parse, example: example,
		possible: func(v V) (string, error) {
			lo, err := parse(low)
			if err != nil {
				return "", fmt.Errorf("bound of %s: %w", what, err)
			}
			hi, err := parse(high)
			if err != nil {
				return "", fmt.Errorf("bound of %s: %w", what, err)
			}
			if v >= lo && v <= hi {
				return "", nil
			}
			return low + " to " + high, nil
		}}
}

// said is a quantity with its unit in the text, or "unknown".
func said[T, V any](m measure[V], at func(*T) *Said[V]) form[T] {
	return form[T]{
		read: func(r *reader, n *node, path string, into *T) {
			s, ok := r.text(n, path, fmt.Sprintf("%s such as %q", m.what, m.example))
			if !ok {
				return
			}
			*at(into) = Said[V]{Text: s}
			if s == Unknown {
				return
			}
			_, number := splitBound(s)
			if m.shops && isNumber(number) {
				number += " " + r.currency(n, path)
			} else if m.unit != "" && isNumber(number) {
				number += " " + m.unit
			}
			v, err := m.parse(number)
			if err != nil {
				r.problem(n.at, path, "%v", err)
				return
			}
			at(into).Value = v
			if m.possible == nil {
				return
			}
			switch bounds, err := m.possible(v); {
			case err != nil:
				r.problem(n.at, path, "%v", err)
			case bounds != "":
				r.problem(n.at, path, "%q is not possible as %s; expected %s, or \"unknown\"", shorten(s), m.what, bounds)
			}
		},
		write:  func(from *T) *node { return scalarNode(at(from).Text) },
		schema: func(*Vocabulary) schema { return quantitySchema(m.example) },
		shows:  m.what + ", such as `" + m.example + "`",
	}
}

type readingKind struct {
	name  string
	parse func(string) (float64, error)
	show  func(quantity.Units, float64) string
}

// kinds are tried in this order where a reading's kind is not known.
var kinds = []readingKind{
	{"temperature", plain(quantity.ParseTemperature), showing(quantity.Units.Temperature)},
	{"temperature-difference", plain(quantity.ParseTemperatureDifference), showing(quantity.Units.TemperatureDifference)},
	{"pressure", plain(quantity.ParsePressure), showing(quantity.Units.Pressure)},
	{"duration", plain(quantity.ParseDuration), showing(quantity.Units.Duration)},
	{"volume", plain(quantity.ParseVolume), showing(quantity.Units.Volume)},
	{"length", plain(quantity.ParseLength), showing(quantity.Units.Length)},
	{"speed", plain(quantity.ParseSpeed), showing(quantity.Units.Speed)},
	{"mass-flow", plain(quantity.ParseMassFlow), showing(quantity.Units.MassFlow)},
	{"share", plain(quantity.ParseRatio), showing(quantity.Units.Share)},
	{"number", parseNumber, func(_ quantity.Units, v float64) string { return fmt.Sprintf("%.6g", v) }},
}

func plain[V ~float64](parse func(string) (V, error)) func(string) (float64, error) {
	return func(s string) (float64, error) {
		v, err := parse(s)
		return float64(v), err
	}
}

func showing[V ~float64](show func(quantity.Units, V) string) func(quantity.Units, float64) string {
	return func(u quantity.Units, v float64) string { return show(u, V(v)) }
}

func kindNamed(name string) *readingKind {
	if i := slices.IndexFunc(kinds, func(k readingKind) bool { return k.name == name }); i >= 0 {
		return &kinds[i]
	}
	return nil
}

// parseReading reads a reading of a named kind, or of any kind when the name
// is "".
func parseReading(what, text string) (float64, error) {
	if k := kindNamed(what); k != nil {
		return k.parse(text)
	}
	var first error
	for _, k := range kinds {
		v, err := k.parse(text)
		if err == nil {
			return v, nil
		}
		if first == nil {
			first = err
		}
	}
	return 0, first
}

// Power is a power in watts, not negative.
type Power float64

// Mass is a mass in kilograms, not negative.
type Mass float64

// Distance is a way driven in metres, not negative.
type Distance float64

type factor struct {
	unit string
	si   float64
}

var (
	powerUnits = []factor{
		{"kW", 1000}, {"W", 1},
		{"hp", 745.6998715822702}, // 550 ft·lbf/s, exact by definition
		{"PS", 735.49875},         // 75 kgf·m/s, exact by definition
	}
	massUnits = []factor{
		{"kg", 1}, {"t", 1000}, {"lb", 0.45359237}, // exact by definition
	}
	distanceUnits = []factor{
		{"km", 1000}, {"mile", 1609.344}, {"mi", 1609.344}, // international mile, exact by definition
	}
)

// ParsePower reads a power: "90 kW", "120 hp", "122 PS".
func ParsePower(text string) (Power, error) {
	v, err := parseFactors("power", text, powerUnits)
	return Power(v), err
}

// ParseMass reads a mass: "1300 kg", "2900 lb", "1.3 t".
func ParseMass(text string) (Mass, error) {
	v, err := parseFactors("mass", text, massUnits)
	return Mass(v), err
}

// ParseDistance reads a way driven: "164,000 km", "102,000 miles".
func ParseDistance(text string) (Distance, error) {
	number, unit := splitUnit(text)
	if grouped.MatchString(number) {
		number = strings.NewReplacer(",", "", ".", "", "'", "").Replace(number)
	}
	if rest, ok := strings.CutPrefix(unit, "k "); ok { // 102k miles
		number, unit = number+"000", rest
	}
	v, err := strconv.ParseFloat(strings.Replace(number, ",", ".", 1), 64)
	for _, u := range distanceUnits {
		if err == nil && v >= 0 && (strings.EqualFold(u.unit, unit) || strings.EqualFold(u.unit+"s", unit)) {
			return Distance(v * u.si), nil
		}
	}
	return 0, fmt.Errorf("distance %q is not a number with km or miles; write it as in %q", shorten(text), "102,000 miles")
}

// grouped is a number in groups of three.
var grouped = regexp.MustCompile(`^[0-9]{1,3}([,.'][0-9]{3})+$`)

func parseFactors(what, text string, units []factor) (float64, error) {
	number, word := splitUnit(text)
	v, err := parseNumber(number)
	if err != nil {
		return 0, fmt.Errorf("%s %q has no number in front; write it as in %q", what, shorten(text), "100 "+units[0].unit)
	}
	names := make([]string, len(units))
	for i, u := range units {
		names[i] = u.unit
		if strings.EqualFold(u.unit, word) || strings.EqualFold(u.unit+"s", word) {
			if v < 0 {
				return 0, fmt.Errorf("%s %q is below zero", what, shorten(text))
			}
			return v * u.si, nil
		}
	}
	if word == "" {
		return 0, fmt.Errorf("%s %q has no unit; write one of %s after it", what, shorten(text), strings.Join(names, ", "))
	}
	return 0, fmt.Errorf("%s %q has the unknown unit %q; write one of %s", what, shorten(text), shorten(word), strings.Join(names, ", "))
}

// splitUnit cuts a text behind its number.
func splitUnit(text string) (number, word string) {
	text = strings.TrimSpace(text)
	i := strings.IndexFunc(text, func(c rune) bool { return !strings.ContainsRune("0123456789.,+-'", c) })
	if i < 0 {
		return text, ""
	}
	return strings.TrimSpace(text[:i]), strings.TrimSpace(text[i:])
}

var errNumber = errors.New("expected a plain number")

// parseNumber reads a bare number as package quantity does, decimal comma and
// all, by lending it a unit.
func parseNumber(text string) (float64, error) {
	if strings.TrimSpace(text) == "" || strings.IndexFunc(text, func(c rune) bool { return c > 0x7f || c >= 'A' && c != '_' }) >= 0 {
		return 0, errNumber
	}
	v, err := quantity.ParseLength(strings.TrimSpace(text) + " m")
	if err != nil {
		return 0, errNumber
	}
	return float64(v), nil
}

// bounds are what may stand before a number, and what it then is.
var bounds = []struct{ says, bound string }{
	{"less than", "below"}, {"not even", "below"}, {"never above", "below"}, {"below", "below"}, {"under", "below"}, {"<", "below"},
	{"more than", "above"}, {"above", "above"}, {"over", "above"}, {"at least", "above"}, {">", "above"},
	{"about", "about"}, {"around", "about"}, {"approximately", "about"}, {"roughly", "about"}, {"nearly", "about"},
	{"near", "about"}, {"toward", "about"}, {"towards", "about"}, {"ca.", "about"}, {"~", "about"}, {"≈", "about"},
}

// splitBound parts "less than 70 °C" into what it says of the number ("below",
// "above", "about" or "") and the number with its unit.
func splitBound(text string) (bound, rest string) {
	text = strings.TrimSpace(text)
	lower := strings.ToLower(text)
	if len(lower) != len(text) { // letters that no bound has
		return "", text
	}
	for _, b := range bounds {
		if after, ok := strings.CutPrefix(lower, b.says); ok && len(after) < len(text) {
			rest := strings.TrimSpace(text[len(text)-len(after):])
			if rest != "" && (strings.ContainsAny(rest[:1], "0123456789+-.,$€£¥") || !isLetterStart(rest)) {
				return b.bound, rest
			}
		}
	}
	for _, b := range []struct{ says, bound string }{{" or more", "above"}, {" or less", "below"}, {" at most", "below"}} {
		if before, ok := strings.CutSuffix(lower, b.says); ok {
			return b.bound, strings.TrimSpace(text[:len(before)])
		}
	}
	return "", text
}

func isLetterStart(s string) bool {
	return s != "" && (s[0] >= 'a' && s[0] <= 'z' || s[0] >= 'A' && s[0] <= 'Z')
}

func isNumber(text string) bool {
	_, err := parseNumber(text)
	return err == nil
}

// parseSpan reads how long or how far: "10 min", "5 miles".
func parseSpan(text string) (Span, error) {
	d, err := quantity.ParseDuration(text)
	if err == nil {
		return Span{Time: d}, nil
	}
	if l, lerr := ParseDistance(text); lerr == nil {
		return Span{Distance: l}, nil
	}
	return Span{}, fmt.Errorf("%q is neither a time nor a distance; write it as in %q or %q", shorten(text), "10 min", "5 miles")
}
