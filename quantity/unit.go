package quantity

// unit is one way of writing a quantity: SI value = (number - zero) * mul / div.
type unit struct {
	symbol   string // as printed
	mul, div float64
	zero     float64
	words    []string // normalised spellings, see normaliseUnit
}

// dimension is a kind of quantity with the units it may be written in.
type dimension struct {
	name     string
	units    []unit
	suggest  [2]string // units to name when one is missing: the US one, the metric one
	samples  [2]string // what somebody might write in them; "" for twelve of each
	lowest   float64   // least SI value that can exist
	highest  float64   // greatest that can be meant
	why      string    // what a value outside is
	prefer   []string  // units to write in files, best first; then the SI unit as the last resort
	absolute []string  // spellings that name absolute pressure and are refused
}

// The factors that are not whole by definition. Source of all: scipy.constants 1.10.1
// (SI/NIST definitions), read from its tables, unless said otherwise.
const (
	kelvinAtZeroC = 273.15
	paPerPsi      = 6894.75729316836
	paPerAtm      = 101325
	paPerMmHg     = 133.322368421053
	paPerInHg     = 3386.388158 // 25.4 mmHg, computed
	paPerInH2O    = 249.0889    // at 4 degC; NIST SP 811, from memory
	paPerKgfCm2   = 98066.5     // exact
	m3PerGallon   = 0.003785411784
	m3PerFluidOz  = 2.95735295625e-05
	m3PerUKGallon = 0.00454609
	mPerFoot      = 0.3048
	mPerInch      = 0.0254
	mPerMile      = 1609.344
	mPerYard      = 0.9144 // 3 feet
	kgPerPound    = 0.45359237
)

var temperatureUnits = dimension{
	name:    "temperature",
	suggest: [2]string{"°F", "°C"}, samples: [2]string{"195 °F", "90 °C"},
	lowest: -kelvinAtZeroC, highest: 3000,
	why:    "a temperature lies between absolute zero and 3000 °C",
	prefer: []string{"°C", "°F", "K", "°C"},
	units: []unit{
		{"°C", 1, 1, 0, []string{"c", "celsius", "centigrade"}},
		{"°F", 5, 9, 32, []string{"f", "fahrenheit"}},
		{"K", 1, 1, kelvinAtZeroC, []string{"k", "kelvin"}},
	},
}

var differenceUnits = dimension{
	name:    "temperature difference",
	suggest: [2]string{"°F", "K"},
	lowest:  -3000, highest: 3000,
	why:    "a temperature difference lies between -3000 and 3000 K",
	prefer: []string{"K", "°F", "K"},
	units: []unit{
		{"K", 1, 1, 0, []string{"k", "kelvin", "kelvins"}},
		{"°C", 1, 1, 0, []string{"c", "celsius", "centigrade"}},
		{"°F", 5, 9, 0, []string{"f", "fahrenheit"}},
	},
}

var pressureUnits = dimension{
	name:    "pressure",
	suggest: [2]string{"psi", "bar"},
	lowest:  -paPerAtm, highest: 1e8,
	why:      "a gauge pressure lies between full vacuum (-14.7 psi, -1.01 bar) and 1000 bar",
	prefer:   []string{"bar", "psi", "kPa", "Pa"},
	absolute: []string{"psia", "bara", "baraabs", "barabs", "kpaabs", "kpaa", "psiabs", "barabsolute", "psiabsolute", "kpaabsolute"},
	units: []unit{
		{"kPa", 1000, 1, 0, []string{"kpa", "kilopascal", "kilopascals"}},
		{"psi", paPerPsi, 1, 0, []string{"psi", "psig", "lb", "lbs", "pound", "pounds", "lb/in2", "lbs/in2", "lbf/in2"}},
		{"bar", 1e5, 1, 0, []string{"bar", "bars", "barg"}},
		{"Pa", 1, 1, 0, []string{"pa", "pascal", "pascals"}},
		{"mbar", 100, 1, 0, []string{"mbar", "millibar", "hpa"}},
		{"MPa", 1e6, 1, 0, []string{"mpa", "megapascal"}},
		{"atm", paPerAtm, 1, 0, []string{"atm"}},
		{"kgf/cm²", paPerKgfCm2, 1, 0, []string{"kgf/cm2", "kg/cm2", "kp/cm2"}},
		{"inHg", paPerInHg, 1, 0, []string{"inhg", "inchhg"}},
		{"mmHg", paPerMmHg, 1, 0, []string{"mmhg"}},
		{"inH2O", paPerInH2O, 1, 0, []string{"inh2o", "inwc"}},
	},
}

var volumeUnits = dimension{
	name:    "volume",
	suggest: [2]string{"qt", "L"},
	lowest:  0, highest: 1e6,
	why:    "a volume is not negative",
	prefer: []string{"L", "qt", "gal", "mL", "m³"},
	units: []unit{
		{"L", 1, 1000, 0, []string{"l", "litre", "litres", "liter", "liters", "ltr", "lt", "dm3"}},
		{"qt", m3PerGallon, 4, 0, []string{"qt", "qts", "quart", "quarts", "usqt"}},
		{"gal", m3PerGallon, 1, 0, []string{"gal", "gals", "gallon", "gallons", "usgal", "usgallon", "usgallons"}},
		{"pt", m3PerGallon, 8, 0, []string{"pt", "pts", "pint", "pints"}},
		{"fl oz", m3PerFluidOz, 1, 0, []string{"floz", "fluidounce", "fluidounces", "oz", "ounce", "ounces"}},
		{"mL", 1, 1e6, 0, []string{"ml", "cc", "ccm", "cm3", "millilitre", "milliliter", "millilitres", "milliliters"}},
		{"cL", 1, 1e5, 0, []string{"cl"}},
		{"dL", 1, 1e4, 0, []string{"dl"}},
		{"imp gal", m3PerUKGallon, 1, 0, []string{"impgal", "ukgal", "imperialgallon", "imperialgallons", "impgallons", "ukgallons"}},
		{"imp qt", m3PerUKGallon, 4, 0, []string{"impqt", "ukqt", "imperialquart", "imperialquarts"}},
		{"imp pt", m3PerUKGallon, 8, 0, []string{"imppt", "ukpt", "imperialpint", "imperialpints"}},
		{"m³", 1, 1, 0, []string{"m3"}},
	},
}

var durationUnits = dimension{
	name:    "duration",
	suggest: [2]string{"min", "h"},
	lowest:  0, highest: 1e10,
	why:    "a duration is not negative",
	prefer: []string{"min", "h", "s", "d", "s"},
	units: []unit{
		{"min", 60, 1, 0, []string{"min", "mins", "minute", "minutes", "mn"}},
		{"h", 3600, 1, 0, []string{"h", "hr", "hrs", "hour", "hours"}},
		{"s", 1, 1, 0, []string{"s", "sec", "secs", "second", "seconds"}},
		{"ms", 1, 1000, 0, []string{"ms", "millisecond", "milliseconds"}},
		{"d", 86400, 1, 0, []string{"d", "day", "days"}},
	},
}

var lengthUnits = dimension{
	name:    "length",
	suggest: [2]string{"ft", "m"},
	lowest:  -1e8, highest: 1e8,
	why:    "a length or altitude lies within the earth's size",
	prefer: []string{"m", "ft", "km", "mi", "mm", "in", "m"},
	units: []unit{
		{"m", 1, 1, 0, []string{"m", "metre", "metres", "meter", "meters", "masl"}},
		{"ft", mPerFoot, 1, 0, []string{"ft", "foot", "feet", "'", "′", "ftasl"}},
		{"km", 1000, 1, 0, []string{"km", "kilometre", "kilometres", "kilometer", "kilometers"}},
		{"mi", mPerMile, 1, 0, []string{"mi", "mile", "miles"}},
		{"cm", 1, 100, 0, []string{"cm"}},
		{"mm", 1, 1000, 0, []string{"mm"}},
		{"in", mPerInch, 1, 0, []string{"in", "inch", "inches", "\"", "″"}},
		{"yd", mPerYard, 1, 0, []string{"yd", "yard", "yards"}},
	},
}

var speedUnits = dimension{
	name:    "speed",
	suggest: [2]string{"mph", "km/h"},
	lowest:  0, highest: 1000,
	why:    "a road speed is not negative, and below 1000 m/s",
	prefer: []string{"km/h", "mph", "m/s", "m/s"},
	units: []unit{
		{"km/h", 10, 36, 0, []string{"km/h", "kmh", "kph", "km/hr", "km/hour"}},
		{"mph", mPerMile, 3600, 0, []string{"mph", "mi/h", "miles/h", "miles/hour", "mile/hour"}},
		{"m/s", 1, 1, 0, []string{"m/s", "m/sec"}},
	},
}

var massFlowUnits = dimension{
	name:    "mass flow",
	suggest: [2]string{"lb/min", "g/s"},
	lowest:  -1e6, highest: 1e6,
	why:    "a mass flow lies within a thousand tonnes a second",
	prefer: []string{"g/s", "lb/min", "kg/h", "kg/s", "kg/s"},
	units: []unit{
		{"g/s", 1, 1000, 0, []string{"g/s", "g/sec", "gps"}},
		{"kg/s", 1, 1, 0, []string{"kg/s", "kg/sec"}},
		{"kg/h", 1, 3600, 0, []string{"kg/h", "kg/hr", "kg/hour"}},
		{"lb/min", kgPerPound, 60, 0, []string{"lb/min", "lbs/min", "lb/minute"}},
		{"lb/h", kgPerPound, 3600, 0, []string{"lb/h", "lb/hr", "lbs/h", "lbs/hr"}},
	},
}

var shareUnits = dimension{
	name:    "share",
	suggest: [2]string{"%", "%"},
	lowest:  0, highest: 1,
	why:    "a share lies between 0 % and 100 %",
	prefer: []string{"%", ""},
	units: []unit{
		{"%", 1, 100, 0, []string{"%", "percent", "pct", "percents", "vol%", "%vol"}},
		{"", 1, 1, 0, nil},
	},
}

// ratioUnits are those of a share that may be more than the whole: a cap that holds
// 105 % of its rating.
var ratioUnits = dimension{
	name:    "share",
	suggest: shareUnits.suggest,
	lowest:  0, highest: 10,
	why:    "a share of a rated value lies between 0 % and 1000 %",
	prefer: shareUnits.prefer,
	units:  shareUnits.units,
}

// dimensions lists what a unit may belong to, for saying so when it is the wrong one.
func dimensions() []*dimension {
	return []*dimension{&temperatureUnits, &pressureUnits, &volumeUnits, &durationUnits,
		&lengthUnits, &speedUnits, &massFlowUnits, &shareUnits}
}

func (d *dimension) bySymbol(symbol string) (unit, bool) {
	for _, u := range d.units {
		if u.symbol == symbol {
			return u, true
		}
	}
	return unit{}, false
}

func (d *dimension) byWord(word string) (unit, bool) {
	for _, u := range d.units {
		for _, w := range u.words {
			if w == word {
				return u, true
			}
		}
	}
	return unit{}, false
}

func (u unit) toSI(number float64) float64 { return (number - u.zero) * u.mul / u.div }

func (u unit) fromSI(value float64) float64 { return value*u.div/u.mul + u.zero }
