package quantity

// Temperature is a temperature in degrees Celsius, from absolute zero upward.
type Temperature float64

// TemperatureDifference is a difference of temperatures in kelvin, of either sign.
type TemperatureDifference float64

// Pressure is a gauge pressure in pascal: 0 is the air outside, full vacuum about -101325.
type Pressure float64

// Volume is a volume in cubic metres, not negative.
type Volume float64

// Duration is a time span in seconds, not negative.
type Duration float64

// Length is a length or an altitude above sea level in metres, of either sign.
type Length float64

// Speed is a road speed in metres per second, not negative.
type Speed float64

// MassFlow is a mass flow in kilograms per second; negative against its usual direction.
type MassFlow float64

// Share is a part of a whole, 0 to 1.
type Share float64

// Celsius makes a temperature from degrees Celsius.
func Celsius(v float64) Temperature { return Temperature(v) }

// Fahrenheit makes a temperature from degrees Fahrenheit.
func Fahrenheit(v float64) Temperature { return Temperature(in(&temperatureUnits, "°F").toSI(v)) }

// Celsius is the temperature in degrees Celsius.
func (t Temperature) Celsius() float64 { return float64(t) }

// Fahrenheit is the temperature in degrees Fahrenheit.
func (t Temperature) Fahrenheit() float64 { return in(&temperatureUnits, "°F").fromSI(float64(t)) }

// Plus is the temperature that much higher.
func (t Temperature) Plus(d TemperatureDifference) Temperature { return t + Temperature(d) }

// Minus is the difference of t above o.
func (t Temperature) Minus(o Temperature) TemperatureDifference { return TemperatureDifference(t - o) }

// PSI makes a gauge pressure from pounds per square inch.
func PSI(v float64) Pressure { return Pressure(in(&pressureUnits, "psi").toSI(v)) }

// Bar makes a gauge pressure from bar.
func Bar(v float64) Pressure { return Pressure(in(&pressureUnits, "bar").toSI(v)) }

// Pascal is the gauge pressure in pascal.
func (p Pressure) Pascal() float64 { return float64(p) }

// PSI is the gauge pressure in pounds per square inch.
func (p Pressure) PSI() float64 { return in(&pressureUnits, "psi").fromSI(float64(p)) }

// Litres makes a volume from litres.
func Litres(v float64) Volume { return Volume(in(&volumeUnits, "L").toSI(v)) }

// Quarts makes a volume from US quarts.
func Quarts(v float64) Volume { return Volume(in(&volumeUnits, "qt").toSI(v)) }

// Litres is the volume in litres.
func (v Volume) Litres() float64 { return in(&volumeUnits, "L").fromSI(float64(v)) }

// Quarts is the volume in US quarts.
func (v Volume) Quarts() float64 { return in(&volumeUnits, "qt").fromSI(float64(v)) }

// Minutes makes a duration from minutes.
func Minutes(v float64) Duration { return Duration(v * 60) }

// Minutes is the duration in minutes.
func (d Duration) Minutes() float64 { return float64(d) / 60 }

// Hours is the duration in hours.
func (d Duration) Hours() float64 { return float64(d) / 3600 }

// KMH makes a speed from kilometres per hour.
func KMH(v float64) Speed { return Speed(in(&speedUnits, "km/h").toSI(v)) }

// MPH makes a speed from miles per hour.
func MPH(v float64) Speed { return Speed(in(&speedUnits, "mph").toSI(v)) }

// KMH is the speed in kilometres per hour.
func (s Speed) KMH() float64 { return in(&speedUnits, "km/h").fromSI(float64(s)) }

// Feet makes a length from feet.
func Feet(v float64) Length { return Length(in(&lengthUnits, "ft").toSI(v)) }

// Percent makes a share from percent.
func Percent(v float64) Share { return Share(v / 100) }

// Percent is the share in percent.
func (s Share) Percent() float64 { return float64(s) * 100 }

// in is the unit of that symbol, which the dimension must have.
func in(d *dimension, symbol string) unit {
	u, ok := d.bySymbol(symbol)
	if !ok {
		panic("quantity: " + d.name + " has no unit " + symbol)
	}
	return u
}
