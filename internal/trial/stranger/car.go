package stranger

import "math"

// Fan is how a car's fan is driven.
type Fan int

// The stranger's fans.
const (
	Electric Fan = iota // on and off
	TwoSpeed            // two steps
	Pulsed              // speed follows the temperature
	Viscous             // belt and clutch
)

// Car is one car of the stranger's world: all of its numbers, in SI units but
// where the name says otherwise.
type Car struct {
	Diesel      bool
	Litres      float64
	Cylinders   int
	KW          float64
	Mass        float64 // kg
	DragArea    float64 // m2
	Rolling     float64
	Driveline   float64
	IdleRPM     float64
	RPMPerKMH   float64
	Accessories float64 // W
	AirCon      bool
	AirConLoad  float64 // W
	AirConLift  float64

	Willans, FrictionFactor, Pumping, ColdFriction float64
	GasK, GasFilm, HeadHeat, FrictionToBlock       float64

	HeadC, BlockC, OilC                   float64 // J/K
	HeadUA, BlockUA, FilmPower            float64 // W/K at the reference flow
	OilBlock, HeadBlock, Surface, WindUse float64 // W/K; W/K per km/h

	VBlock, VHead, VRadiator, VUpper, VLower, VHeater, VTank float64 // m3
	Tank                                                     bool    // pressurised tank; else a cap on the radiator with a bottle
	Glycol                                                   float64 // by volume

	RefFlow                  float64 // m3/s at 3000 rpm, thermostat open
	PumpHead                 float64 // Pa, shut off, at 3000 rpm
	Droop, EngineDrop        float64
	BypassShare, HeaterShare float64
	BypassCloses             bool
	ShutLeak                 float64

	OnInlet                        bool
	RatedC, RatingError, Span      float64
	WaxLag, WaxHysteresis, InletBy float64

	Face, AirFilm, WaterFilm, Ram, AirDrag      float64
	FanKind                                     Fan
	FanCount                                    int
	FanPressure, FanAir, LowStep                float64
	StillAir, Recirculation                     float64
	FanOnC, FanBand, SecondStep                 float64
	ClutchOnC, ClutchWidth, ClutchMax, ClutchLo float64

	HeaterUA, Blower, FlapLeak float64

	CapPa, CapHold, VoidStop          float64
	SensorLag, SensorBias, Beta, Ohms float64
	OwnSender                         bool // the dash gauge has a sender of its own and no damping

	Faults []Fault
	is     effects
}

// drawCar draws a healthy car.
func drawCar(d draws) *Car {
	c := &Car{}
	c.Diesel = d.may("diesel")
	c.Litres = math.Round(10*d.of("litres")) / 10
	c.Cylinders = 4
	switch {
	case c.Litres < 1.25 && d.may("three-cylinders"):
		c.Cylinders = 3
	case c.Litres > 2.5 && d.may("six-cylinders"):
		c.Cylinders = 6
	}
	if c.Diesel {
		c.Litres = math.Max(c.Litres, 1.4)
		c.KW = math.Round(c.Litres * d.of("diesel-kw-per-litre"))
		c.Willans = d.of("willans-diesel")
	} else {
		c.KW = math.Round(c.Litres * d.of("petrol-kw-per-litre"))
		c.Willans = d.of("willans")
		c.Pumping = d.of("pumping") * 1e5
	}
	c.Mass = 10 * math.Round(math.Max(85, c.KW*d.of("kg-per-kw")/10))
	c.DragArea, c.Rolling, c.Driveline = d.of("drag-area"), d.of("rolling"), d.of("driveline")
	c.IdleRPM, c.RPMPerKMH = d.of("idle-rpm"), d.of("rpm-per-kmh")
	if c.Diesel {
		c.RPMPerKMH *= 0.8 // longer gears; judgement
	}
	c.Accessories = d.of("accessories") * 1e3
	c.AirCon = d.may("has-aircon")
	c.AirConLoad, c.AirConLift = d.of("aircon-load")*1e3, d.of("aircon-lift")
	c.FrictionFactor, c.ColdFriction = d.of("friction-factor"), d.of("cold-friction")
	c.GasK, c.GasFilm, c.HeadHeat, c.FrictionToBlock = d.of("gas-temperature"), d.of("gas-film"), d.of("head-heat"), d.of("friction-to-block")
	drawBodies(c, d)
	drawCircuit(c, d)
	drawAir(c, d)
	c.HeaterUA, c.Blower, c.FlapLeak = d.of("heater-ua"), d.of("blower"), d.of("flap-leak")
	c.CapPa = [...]float64{0.9e5, 1.0e5, 1.1e5, 1.2e5, 1.4e5}[d.rng.IntN(5)]
	c.CapHold, c.VoidStop = d.of("cap-hold"), d.of("void-stop")
	c.SensorLag, c.SensorBias = d.of("sensor-lag"), d.of("sensor-bias")
	c.Beta, c.Ohms = d.of("beta"), d.of("thermistor")
	c.OwnSender = d.may("own-sender")
	c.is = none()
	return c
}

func drawBodies(c *Car, d draws) {
	more := c.Litres - 1
	c.HeadC = 1e3 * (d.of("head-base") + more*d.of("head-litre"))
	c.BlockC = 1e3 * (d.of("block-base") + more*d.of("block-litre"))
	c.OilC = 1e3 * c.Litres * d.of("oil-litre")
	if c.Diesel { // heavier; judgement
		c.HeadC, c.BlockC = 1.15*c.HeadC, 1.2*c.BlockC
	}
	size := math.Pow(c.Litres, 0.8)
	c.HeadUA, c.BlockUA = size*d.of("head-film"), size*d.of("block-film")
	c.FilmPower = d.of("film-power")
	c.OilBlock, c.HeadBlock = size*d.of("oil-block"), size*d.of("head-block")
	c.Surface, c.WindUse = size*d.of("surface-loss"), size*d.of("wind-loss")
}

func drawCircuit(c *Car, d draws) {
	c.VBlock, c.VHead = 1e-3*c.Litres*d.of("block-litres"), 1e-3*c.Litres*d.of("head-litres")
	c.VRadiator = 1e-3 * math.Max(1, c.Litres*d.of("radiator-litres"))
	c.VUpper, c.VLower = 1e-3*d.of("hose-litres"), 1e-3*d.of("hose-litres")
	c.VHeater, c.VTank = 1e-3*d.of("heater-litres"), 1e-3*d.of("tank-litres")
	c.Tank = d.may("pressurised-tank")
	c.Glycol = d.of("glycol")
	c.RefFlow = d.of("flow") * math.Pow(c.Litres, 0.7) / 6e4
	c.PumpHead, c.Droop, c.EngineDrop = 1e3*d.of("pump-head"), d.of("pump-droop"), d.of("engine-drop")
	c.BypassShare, c.HeaterShare = d.of("bypass-share"), d.of("heater-share")
	c.BypassCloses = d.may("bypass-closes")
	c.ShutLeak = d.of("shut-leak")
	c.OnInlet = d.may("inlet-thermostat")
	c.RatedC = [...]float64{79, 82, 83, 87, 88, 91}[d.rng.IntN(6)]
	c.RatingError, c.Span = d.of("rating-error"), d.of("span")
	c.WaxLag, c.WaxHysteresis, c.InletBy = d.of("wax-lag"), d.of("wax-hysteresis"), d.of("inlet-mix")
}

func drawAir(c *Car, d draws) {
	c.Face = d.of("face") * math.Pow(c.Litres, 0.6)
	c.AirFilm, c.WaterFilm = d.of("air-film"), d.of("water-film")
	c.Ram, c.AirDrag = d.of("ram"), d.of("air-drag")
	switch u := d.rng.Float64(); {
	case u < d.fact("fan-electric"):
		c.FanKind = Electric
	case u < d.fact("fan-to-two-speed"):
		c.FanKind = TwoSpeed
	case u < d.fact("fan-to-pulsed"):
		c.FanKind = Pulsed
	default:
		c.FanKind = Viscous
	}
	c.FanCount = 1
	if c.FanKind != Viscous && d.may("two-fans") {
		c.FanCount = 2
	}
	c.FanPressure, c.FanAir, c.LowStep = d.of("fan-pressure"), d.of("fan-air"), d.of("low-step")
	c.StillAir, c.Recirculation = d.of("still-air"), d.of("recirculation")
	c.FanBand, c.SecondStep = d.of("fan-band"), d.of("second-step")
	// The fan starts above the temperature that the thermostat holds.
	c.FanOnC = math.Max(d.of("fan-on"), c.RatedC+7)
	c.ClutchOnC, c.ClutchWidth = d.of("clutch-on"), d.of("clutch-width")
	c.ClutchMax, c.ClutchLo = d.of("clutch-limit"), d.of("clutch-idle")
}
