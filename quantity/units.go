package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Units says in which unit each quantity is printed. Any mixture is allowed: a shop may
// think in °C and psi. Each field names a unit. An empty field is taken from Metric, so the zero Units is Metric.
type Units struct {
	TemperatureIn string `json:"temperature"` // "°C" or "°F"
	PressureIn    string `json:"pressure"`    // "bar", "kPa" or "psi"
	VolumeIn      string `json:"volume"`      // "L", "qt" or "gal"
	LengthIn      string `json:"length"`      // "m" or "ft"
	SpeedIn       string `json:"speed"`       // "km/h" or "mph"
	MassFlowIn    string `json:"mass_flow"`   // "g/s", "kg/h" or "lb/min"
}

// Metric is the metric shop's units.
func Metric() Units { return Units{"°C", "bar", "L", "m", "km/h", "g/s"} }

// US is the US shop's units.
func US() Units { return Units{"°F", "psi", "qt", "ft", "mph", "lb/min"} }

// printed lists the units that each field may name, with the decimals that the trade uses:
// whole degrees, a tenth of a bar, a tenth of a quart (common practice, no source).
var printed = []struct {
	dimension *dimension
	field     func(*Units) *string
	decimals  map[string]int
}{
	{&temperatureUnits, func(u *Units) *string { return &u.TemperatureIn }, map[string]int{"°C": 0, "°F": 0}},
	{&pressureUnits, func(u *Units) *string { return &u.PressureIn }, map[string]int{"bar": 1, "kPa": 0, "psi": 0}},
	{&volumeUnits, func(u *Units) *string { return &u.VolumeIn }, map[string]int{"L": 1, "qt": 1, "gal": 1}},
	{&lengthUnits, func(u *Units) *string { return &u.LengthIn }, map[string]int{"m": 0, "ft": 0}},
	{&speedUnits, func(u *Units) *string { return &u.SpeedIn }, map[string]int{"km/h": 0, "mph": 0}},
	{&massFlowUnits, func(u *Units) *string { return &u.MassFlowIn }, map[string]int{"g/s": 0, "kg/h": 0, "lb/min": 1}},
}

// ParseUnits reads "metric" or "us", and after it, between commas, single units that differ:
// "metric, psi", "us,°C".
func ParseUnits(text string) (Units, error) {
	var u Units
	system, rest, _ := strings.Cut(text, ",")
	switch strings.ToLower(strings.TrimSpace(system)) {
	case "metric", "si":
		u = Metric()
	case "us":
		u = US()
	default:
		near := Nearest(system, []string{"metric", "us"})
		if near != "" {
			return Units{}, &ParseError{"units", text, "begins with no known system", fmt.Sprintf("%q", near)}
		}
		return Units{}, &ParseError{"units", text, "begins with no known system", `"metric", "us", or a mixture such as "metric, psi"`}
	}
	if strings.TrimSpace(rest) == "" {
		return u, nil
	}
next:
	for _, word := range strings.Split(rest, ",") {
		for _, p := range printed {
			if found, ok := p.dimension.byWord(normaliseUnit(word)); ok {
				if _, ok := p.decimals[found.symbol]; ok {
					*p.field(&u) = found.symbol
					continue next
				}
			}
		}
		return Units{}, &ParseError{"units", text, fmt.Sprintf("names no unit to print in (%q)", strings.TrimSpace(word)),
			"units out of °C °F bar kPa psi L qt gal m ft km/h mph g/s kg/h lb/min"}
	}
	return u, nil
}

// MarshalText writes what ParseUnits reads: the nearer system first.
func (u Units) MarshalText() ([]byte, error) {
	u = u.filled()
	if err := u.Check(); err != nil {
		return nil, err
	}
	best := ""
	for _, system := range []struct {
		name string
		base Units
	}{{"metric", Metric()}, {"us", US()}} {
		text := system.name
		for _, p := range printed {
			if *p.field(&u) != *p.field(&system.base) {
				text += ", " + *p.field(&u)
			}
		}
		if best == "" || strings.Count(text, ",") < strings.Count(best, ",") {
			best = text
		}
	}
	return []byte(best), nil
}

// UnmarshalText reads what ParseUnits reads.
func (u *Units) UnmarshalText(text []byte) error { return unmarshal(u, text, ParseUnits) }

// String is the text of MarshalText.
func (u Units) String() string {
	text, err := u.MarshalText()
	if err != nil {
		return err.Error()
	}
	return string(text)
}

// Check says which field names a unit that cannot be printed in.
func (u Units) Check() error {
	u = u.filled()
	for _, p := range printed {
		if _, ok := p.decimals[*p.field(&u)]; !ok {
			return fmt.Errorf("units: %q is no unit to print a %s in", *p.field(&u), p.dimension.name)
		}
	}
	return nil
}

// filled takes empty fields from Metric.
func (u Units) filled() Units {
	base := Metric()
	for _, p := range printed {
		if *p.field(&u) == "" {
			*p.field(&u) = *p.field(&base)
		}
	}
	return u
}

// print writes the SI value in the field's unit; more decimals for small values, so that
// at least one digit is left.
func (u Units) print(d *dimension, value float64) string {
	u = u.filled()
	for _, p := range printed {
		if p.dimension != d {
			continue
		}
		symbol := *p.field(&u)
		decimals, ok := p.decimals[symbol]
		if !ok {
			symbol = *p.field(new(Metric()))
			decimals = p.decimals[symbol]
		}
		v := in(d, symbol).fromSI(value)
		switch {
		case v == 0:
			decimals = 0
		case d != &temperatureUnits:
			decimals = moreForSmall(v, decimals)
		}
		return fixed(v, decimals) + " " + symbol
	}
	panic("quantity: no way to print a " + d.name)
}

// moreForSmall adds decimals until the value is at least two of the last place, at most
// three in all.
func moreForSmall(v float64, decimals int) int {
	for a := math.Abs(v); a > 0 && decimals < 3 && a < 2*math.Pow10(-decimals); {
		decimals++
	}
	return decimals
}

// fixed writes v with so many decimals, and never "-0".
func fixed(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return s
}

// Temperature prints whole degrees: "85 °C", "185 °F".
func (u Units) Temperature(t Temperature) string { return u.print(&temperatureUnits, float64(t)) }

// TemperatureUp prints the next whole degree at or above t: for protection against frost,
// where a promise rounded down would be too good.
func (u Units) TemperatureUp(t Temperature) string {
	unit := in(&temperatureUnits, "°C")
	if u.TemperatureIn == "°F" {
		unit = in(&temperatureUnits, "°F")
	}
	return fixed(math.Ceil(unit.fromSI(float64(t))-roundoff), 0) + " " + unit.symbol
}

// roundoff, in degrees, keeps -36.9999999999 from being rounded a whole degree up.
const roundoff = 1e-6

// TemperatureDifference prints in the degrees of the shop: "10 K", "18 °F"; a decimal below 2.
func (u Units) TemperatureDifference(d TemperatureDifference) string {
	v, symbol := float64(d), "K"
	if u.filled().TemperatureIn == "°F" {
		v, symbol = in(&differenceUnits, "°F").fromSI(v), "°F"
	}
	return fixed(v, moreForSmall(v, 0)) + " " + symbol
}

// Pressure prints a gauge pressure: "16 psi", "1.1 bar".
func (u Units) Pressure(p Pressure) string { return u.print(&pressureUnits, float64(p)) }

// Volume prints a volume: "7.5 qt", "7.1 L".
func (u Units) Volume(v Volume) string { return u.print(&volumeUnits, float64(v)) }

// Length prints a length or altitude: "300 m", "1000 ft".
func (u Units) Length(l Length) string { return u.print(&lengthUnits, float64(l)) }

// Speed prints a speed: "65 mph", "100 km/h".
func (u Units) Speed(s Speed) string { return u.print(&speedUnits, float64(s)) }

// MassFlow prints a mass flow: "12 g/s", "1.6 lb/min".
func (u Units) MassFlow(f MassFlow) string { return u.print(&massFlowUnits, float64(f)) }

// Duration prints "45 s", "1 min 30 s", "20 min", "1 h 20 min": seconds only below ten minutes.
func (u Units) Duration(d Duration) string {
	seconds := math.Round(float64(d))
	if seconds >= 600 {
		seconds = math.Round(seconds/60) * 60
	}
	h, m, s := math.Floor(seconds/3600), math.Mod(math.Floor(seconds/60), 60), math.Mod(seconds, 60)
	var parts []string
	for _, p := range []struct {
		v    float64
		unit string
	}{{h, "h"}, {m, "min"}, {s, "s"}} {
		if p.v != 0 {
			parts = append(parts, fixed(p.v, 0)+" "+p.unit)
		}
	}
	if len(parts) == 0 {
		return "0 s"
	}
	return strings.Join(parts, " ")
}

// Share prints whole percent; near 0 and 100 % as many decimals as keep it from reading
// as never or always, at most three: "50 %", "0.4 %", "99.6 %".
func (u Units) Share(s Share) string {
	v := s.Percent()
	edge := min(math.Abs(v), math.Abs(100-v))
	decimals := 0
	for edge > 0 && edge < math.Pow10(-decimals) && decimals < 3 {
		decimals++
	}
	return fixed(v, decimals) + " %"
}

// Money prints an amount: "$120", "89.50 CHF".
func (u Units) Money(m Money) string { return m.String() }

// Rate prints an hourly rate: "$120/h".
func (u Units) Rate(r Rate) string { return r.String() }

// String prints in metric units, as Units does.
func (t Temperature) String() string { return Metric().Temperature(t) }

// String prints in metric units, as Units does.
func (d TemperatureDifference) String() string { return Metric().TemperatureDifference(d) }

// String prints in metric units, as Units does.
func (p Pressure) String() string { return Metric().Pressure(p) }

// String prints in metric units, as Units does.
func (v Volume) String() string { return Metric().Volume(v) }

// String prints as Units does.
func (d Duration) String() string { return Metric().Duration(d) }

// String prints in metric units, as Units does.
func (l Length) String() string { return Metric().Length(l) }

// String prints in metric units, as Units does.
func (s Speed) String() string { return Metric().Speed(s) }

// String prints in metric units, as Units does.
func (f MassFlow) String() string { return Metric().MassFlow(f) }

// String prints as Units does.
func (s Share) String() string { return Metric().Share(s) }
