package trace

import (
	"math"
	"strings"
)

// dimension groups units that convert into each other.
type dimension uint8

const (
	dimNone dimension = iota
	dimTemperature
	dimRotation
	dimSpeed
	dimMassFlow
	dimVolumeFlow
	dimPressure
	dimShare
	dimTime
	dimLength
	dimCount
	dimOther // a unit that is known and belongs to no signal here: volts, degrees of angle
)

// unit converts a logged number x to SI: x*scale + shift.
type unit struct {
	name         string // as printed in assumptions
	dim          dimension
	scale, shift float64
}

// fuelDensity turns litres of fuel into kilograms: 0.78 kg/L lies between
// petrol (about 0.745) and diesel (about 0.835); from memory, EN 228 and EN 590.
const fuelDensity = 0.78

// units lists every spelling that is read, after tidyUnit. Factors are those of
// SI and NIST (psi 6894.757 Pa, mile 1609.344 m, pound 0.45359237 kg, US gallon
// 3.785411784 L; inHg is 25.4 mm of mercury at 133.322 Pa/mm).
var units = map[string]unit{
	"c": {"°C", dimTemperature, 1, 0}, "degc": {"°C", dimTemperature, 1, 0}, "celsius": {"°C", dimTemperature, 1, 0},
	"gradc": {"°C", dimTemperature, 1, 0}, "oc": {"°C", dimTemperature, 1, 0}, "degrec": {"°C", dimTemperature, 1, 0},
	"f": {"°F", dimTemperature, 5.0 / 9, -160.0 / 9}, "degf": {"°F", dimTemperature, 5.0 / 9, -160.0 / 9},
	"fahrenheit": {"°F", dimTemperature, 5.0 / 9, -160.0 / 9}, "of": {"°F", dimTemperature, 5.0 / 9, -160.0 / 9},
	"k": {"K", dimTemperature, 1, -273.15}, "kelvin": {"K", dimTemperature, 1, -273.15},

	"rpm": {"rpm", dimRotation, 1.0 / 60, 0}, "1/min": {"rpm", dimRotation, 1.0 / 60, 0}, "/min": {"rpm", dimRotation, 1.0 / 60, 0},
	"u/min": {"rpm", dimRotation, 1.0 / 60, 0}, "min-1": {"rpm", dimRotation, 1.0 / 60, 0}, "tr/min": {"rpm", dimRotation, 1.0 / 60, 0},
	"rev/min": {"rpm", dimRotation, 1.0 / 60, 0}, "r/min": {"rpm", dimRotation, 1.0 / 60, 0}, "omw/min": {"rpm", dimRotation, 1.0 / 60, 0},
	"giri/min": {"rpm", dimRotation, 1.0 / 60, 0}, "obr/min": {"rpm", dimRotation, 1.0 / 60, 0}, "ot/min": {"rpm", dimRotation, 1.0 / 60, 0},
	"varv/min": {"rpm", dimRotation, 1.0 / 60, 0}, "об/мин": {"rpm", dimRotation, 1.0 / 60, 0}, "turns/min": {"rpm", dimRotation, 1.0 / 60, 0},
	"rps": {"rev/s", dimRotation, 1, 0}, "1/s": {"rev/s", dimRotation, 1, 0}, "rev/s": {"rev/s", dimRotation, 1, 0}, "krpm": {"1000 rpm", dimRotation, 1000.0 / 60, 0}, "x1000rpm": {"1000 rpm", dimRotation, 1000.0 / 60, 0},

	"km/h": {"km/h", dimSpeed, 1 / 3.6, 0}, "kmh": {"km/h", dimSpeed, 1 / 3.6, 0}, "kph": {"km/h", dimSpeed, 1 / 3.6, 0}, "kmph": {"km/h", dimSpeed, 1 / 3.6, 0}, "км/ч": {"km/h", dimSpeed, 1 / 3.6, 0},
	"mph": {"mph", dimSpeed, 0.44704, 0}, "mi/h": {"mph", dimSpeed, 0.44704, 0}, "miles/h": {"mph", dimSpeed, 0.44704, 0},
	"m/s": {"m/s", dimSpeed, 1, 0}, "knots": {"knots", dimSpeed, 1852.0 / 3600, 0}, "kn": {"knots", dimSpeed, 1852.0 / 3600, 0}, "kt": {"knots", dimSpeed, 1852.0 / 3600, 0},

	"g/s": {"g/s", dimMassFlow, 1e-3, 0}, "gs": {"g/s", dimMassFlow, 1e-3, 0}, "g/sec": {"g/s", dimMassFlow, 1e-3, 0}, "gm/s": {"g/s", dimMassFlow, 1e-3, 0}, "gps": {"g/s", dimMassFlow, 1e-3, 0}, "г/с": {"g/s", dimMassFlow, 1e-3, 0},
	"kg/h": {"kg/h", dimMassFlow, 1.0 / 3600, 0}, "kg/hr": {"kg/h", dimMassFlow, 1.0 / 3600, 0}, "кг/ч": {"kg/h", dimMassFlow, 1.0 / 3600, 0}, "kg/s": {"kg/s", dimMassFlow, 1, 0}, "mg/s": {"mg/s", dimMassFlow, 1e-6, 0}, "g/h": {"g/h", dimMassFlow, 1e-3 / 3600, 0},
	"lb/min": {"lb/min", dimMassFlow, 0.45359237 / 60, 0}, "lbs/min": {"lb/min", dimMassFlow, 0.45359237 / 60, 0}, "lb/m": {"lb/min", dimMassFlow, 0.45359237 / 60, 0}, "lb/h": {"lb/h", dimMassFlow, 0.45359237 / 3600, 0}, "lb/hr": {"lb/h", dimMassFlow, 0.45359237 / 3600, 0},

	"l/h": {"L/h", dimVolumeFlow, fuelDensity / 3600, 0}, "l/hr": {"L/h", dimVolumeFlow, fuelDensity / 3600, 0}, "lph": {"L/h", dimVolumeFlow, fuelDensity / 3600, 0}, "л/ч": {"L/h", dimVolumeFlow, fuelDensity / 3600, 0},
	"gal/h": {"US gal/h", dimVolumeFlow, 3.785411784 * fuelDensity / 3600, 0}, "gal/hr": {"US gal/h", dimVolumeFlow, 3.785411784 * fuelDensity / 3600, 0}, "gph": {"US gal/h", dimVolumeFlow, 3.785411784 * fuelDensity / 3600, 0},
	"cc/min": {"cm³/min", dimVolumeFlow, fuelDensity / 60000, 0}, "ml/min": {"cm³/min", dimVolumeFlow, fuelDensity / 60000, 0}, "ml/s": {"mL/s", dimVolumeFlow, fuelDensity / 1000, 0},

	"kpa": {"kPa", dimPressure, 1e3, 0}, "кпа": {"kPa", dimPressure, 1e3, 0}, "pa": {"Pa", dimPressure, 1, 0}, "hpa": {"hPa", dimPressure, 100, 0}, "mbar": {"mbar", dimPressure, 100, 0}, "mb": {"mbar", dimPressure, 100, 0}, "bar": {"bar", dimPressure, 1e5, 0},
	"psi": {"psi", dimPressure, 6894.757, 0}, "psia": {"psi", dimPressure, 6894.757, 0}, "lb/in2": {"psi", dimPressure, 6894.757, 0}, "psig": {"psi gauge", dimPressure, 6894.757, 101325},
	"inhg": {"inHg", dimPressure, 3386.388, 0}, "in.hg": {"inHg", dimPressure, 3386.388, 0}, "mmhg": {"mmHg", dimPressure, 133.3224, 0}, "torr": {"mmHg", dimPressure, 133.3224, 0}, "atm": {"atm", dimPressure, 101325, 0}, "kg/cm2": {"kgf/cm²", dimPressure, 98066.5, 0},

	"%": {"%", dimShare, 0.01, 0}, "pct": {"%", dimShare, 0.01, 0}, "percent": {"%", dimShare, 0.01, 0}, "proc": {"%", dimShare, 0.01, 0},

	"share": {"share of 1", dimShare, 1, 0},

	"s": {"s", dimTime, 1, 0}, "sec": {"s", dimTime, 1, 0}, "secs": {"s", dimTime, 1, 0}, "seconds": {"s", dimTime, 1, 0}, "sek": {"s", dimTime, 1, 0}, "seg": {"s", dimTime, 1, 0}, "сек": {"s", dimTime, 1, 0}, "с": {"s", dimTime, 1, 0},
	"ms": {"ms", dimTime, 1e-3, 0}, "msec": {"ms", dimTime, 1e-3, 0}, "millis": {"ms", dimTime, 1e-3, 0}, "milliseconds": {"ms", dimTime, 1e-3, 0}, "мс": {"ms", dimTime, 1e-3, 0}, "us": {"µs", dimTime, 1e-6, 0}, "ns": {"ns", dimTime, 1e-9, 0},
	"min": {"min", dimTime, 60, 0}, "minutes": {"min", dimTime, 60, 0}, "h": {"h", dimTime, 3600, 0}, "hours": {"h", dimTime, 3600, 0},

	"km": {"km", dimLength, 1000, 0}, "км": {"km", dimLength, 1000, 0}, "mi": {"miles", dimLength, 1609.344, 0}, "miles": {"miles", dimLength, 1609.344, 0}, "mile": {"miles", dimLength, 1609.344, 0}, "m": {"m", dimLength, 1, 0}, "ft": {"ft", dimLength, 0.3048, 0},

	"v": {"V", dimOther, 1, 0}, "volt": {"V", dimOther, 1, 0}, "volts": {"V", dimOther, 1, 0}, "mv": {"mV", dimOther, 1, 0}, "deg": {"°", dimOther, 1, 0}, "nm": {"N m", dimOther, 1, 0}, "g": {"g", dimOther, 1, 0}, "lambda": {"lambda", dimOther, 1, 0}, "kw": {"kW", dimOther, 1, 0}, "hp": {"hp", dimOther, 1, 0}, "ohm": {"ohm", dimOther, 1, 0}, "a": {"A", dimOther, 1, 0}, "hz": {"Hz", dimOther, 1, 0}, "l/100km": {"L/100 km", dimOther, 1, 0}, "mpg": {"mpg", dimOther, 1, 0}, "on/off": {"on/off", dimShare, 1, 0}, "mm": {"mm", dimOther, 1, 0},
}

// tidyUnit brings a unit's spelling to the keys of units. Degree signs may have
// been through any number of encodings; whatever is left of them is dropped.
func tidyUnit(s string) string {
	s = strings.ToLower(strings.TrimSpace(s))
	s = strings.Trim(s, "[](){}<>\"' ")
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '℃':
			b.WriteByte('c')
		case r == '℉':
			b.WriteByte('f')
		case r == '²':
			b.WriteByte('2')
		case r == 'µ' || r == 'μ':
			b.WriteByte('u')
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9', r == '/', r == '%', r == '-', r >= 'а' && r <= 'я':
			b.WriteRune(r)
		case r == '⁻':
			b.WriteByte('-')
		case r == '¹':
			b.WriteByte('1')
		}
	}
	t := b.String()
	switch t {
	case "gradcelsius", "degreesc", "degreec", "degcelsius", "degreescelsius", "ac", "aac", "gradoc", "gradosc", "цельсия":
		return "c"
	case "degreesf", "degreef", "degfahrenheit", "degreesfahrenheit", "af", "aaf":
		return "f"
	case "revs/min", "revolutions/min", "umdr/min", "upm", "t/min", "t/mn", "tr/mn", "obr/m", "omin-1":
		return "rpm"
	case "meters/second", "metres/second", "meter/second", "meterspersecond", "m/sec", "mps", "м/с":
		return "m/s"
	case "miles/hour", "milesperhour":
		return "mph"
	case "km/std", "km/hr", "km/t", "km/u", "km/hour", "kilometers/hour", "kilometres/hour":
		return "km/h"
	}
	return t
}

// unitOf finds a unit by any of its spellings.
func unitOf(s string) (unit, bool) {
	if len(s) == 0 || len(s) > 24 {
		return unit{}, false
	}
	u, ok := units[tidyUnit(s)]
	return u, ok
}

func (u unit) si(x float64) float64 { return x*u.scale + u.shift }

// dimensionOf is what a signal is measured in.
func dimensionOf(s Signal) dimension {
	switch s {
	case Coolant, IntakeAir, Ambient, OilTemp, HeadTemp, Coolant2, TransmissionTemp:
		return dimTemperature
	case EngineSpeed:
		return dimRotation
	case RoadSpeed:
		return dimSpeed
	case AirFlow:
		return dimMassFlow
	case ManifoldPressure, Barometer:
		return dimPressure
	case FanState, FanCommand, AirCon, Load, Throttle, Pedal, ShortTrim, LongTrim:
		return dimShare
	case FuelRate:
		return dimVolumeFlow
	case RunTime:
		return dimTime
	case Distance:
		return dimLength
	case Codes:
		return dimCount
	}
	return dimNone
}

// fits tells whether a column in unit u can be the signal s.
func (u unit) fits(s Signal) bool {
	d := dimensionOf(s)
	return u.dim == d || (s == FuelRate && u.dim == dimMassFlow) || (s == AirFlow && u.name == "g") || (s == FanState && (u.dim == dimRotation || u.name == "A"))
}

// nan is spelled once.
var nan = math.NaN()
