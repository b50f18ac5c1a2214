package margin

import (
	"math"

	"weephole/circuit"
	"weephole/sheet"
)

// Duty is a way of driving that can be held, or come round again and again.
type Duty struct {
	At          sheet.At `sheet:",at" json:"-"`
	ID          string   `sheet:"id,required" json:"id"`
	Name        string   `sheet:"name,required" json:"name"`
	How         string   `sheet:"how,required" json:"how"`
	Source      string   `sheet:"source,required" json:"source"`
	AirCon      bool     `sheet:"air-con" json:"air_con"`
	GrilleAir   float64  `sheet:"grille-air" json:"grille_air"`     // K over the weather's air
	Wind        float64  `sheet:"wind" json:"wind"`                 // km/h against the car; from behind below 0
	Trailer     float64  `sheet:"trailer" json:"trailer"`           // kg
	TrailerDrag float64  `sheet:"trailer-drag" json:"trailer_drag"` // m2
	Legs        []Leg    `sheet:"legs,required" json:"legs"`
	// Deviation is how other a real car's rise over the air is than the model's, as
	// a standard deviation of its logarithm.
	Deviation sheet.Sourced `sheet:"deviation,required" json:"-"`
}

// Leg is driven without a change.
type Leg struct {
	At      sheet.At `sheet:",at" json:"-"`
	Seconds float64  `sheet:"seconds,required" json:"seconds"`
	Speed   float64  `sheet:"speed" json:"speed"` // km/h
	Grade   float64  `sheet:"grade" json:"grade"` // rise over run
	Revs    float64  `sheet:"revs" json:"revs"`   // rev/min; 0: by the gear, or idle
	Gear    float64  `sheet:"gear" json:"gear"`   // engine speed over that of the top gear
}

// The bounds of what a sheet may ask for; beyond them it is a slip of the pen.
const (
	mostSpeed = 250 // km/h
	mostGrade = 0.3
	mostWind  = 100  // km/h
	mostRevs  = 9000 // rev/min
	mostGear  = 5
	mostHeat  = 30     // K
	mostTow   = 10_000 // kg
	mostArea  = 20     // m2

	mostDeviation = 2 // of a logarithm
)

func (d *Duty) check(wrong *sheet.Mistakes) {
	within := func(at sheet.At, field string, v, low, high float64) {
		if !(v >= low && v <= high) {
			wrong.Add(at, field, "found %g; write a number from %g to %g", v, low, high)
		}
	}
	within(d.At, "deviation", d.Deviation.Value, 0, mostDeviation)
	within(d.At, "grille-air", d.GrilleAir, -mostHeat, mostHeat)
	within(d.At, "wind", d.Wind, -mostWind, mostWind)
	within(d.At, "trailer", d.Trailer, 0, mostTow)
	within(d.At, "trailer-drag", d.TrailerDrag, 0, mostArea)
	if len(d.Legs) == 0 {
		wrong.Add(d.At, "legs", "a duty needs at least one leg")
	}
	for i := range d.Legs {
		g := &d.Legs[i]
		within(g.At, "seconds", g.Seconds, 1, 3600)
		within(g.At, "speed", g.Speed, 0, mostSpeed)
		within(g.At, "grade", g.Grade, -mostGrade, mostGrade)
		within(g.At, "revs", g.Revs, 0, mostRevs)
		within(g.At, "gear", g.Gear, 0, mostGear)
		if g.Speed > 0 && g.Revs == 0 && g.Gear == 0 {
			wrong.Add(g.At, "gear", "a moving leg needs revs or gear")
		}
	}
}

const (
	kmh       = 1 / 3.6
	topGearAt = 100 * kmh // m/s, at which Circuit.MotorwaySpeed is tabled
)

// period is how long the legs take once, s.
func (d *Duty) period() (sum float64) {
	for i := range d.Legs {
		sum += d.Legs[i].Seconds
	}
	return sum
}

// circuit gives c with the trailer behind it and in the duty's wind: air through
// the grille goes with the speed through the air, drag with its square.
func (d *Duty) circuit(c *circuit.Circuit, pace float64) circuit.Circuit {
	out := *c
	out.VehicleMass += d.Trailer
	out.DragArea += d.TrailerDrag
	for i := range d.Legs {
		if v := d.Legs[i].Speed * pace; v > 0 {
			through := max(0, (v+d.Wind)/v)
			out.RamAir *= through
			out.DragArea *= through * through
			break
		}
	}
	return out
}

// Other is how other a real car is than the model's, in standard deviations.
type Other struct {
	Heat float64 // heat over cooling: Duty.Deviation
	Gas  float64 // what gas and missing coolant do: Criteria.GasDeviation
}

// deviate makes the circuit that of a real car. What a car has more of heat, or less of
// air and of core, raises its coolant over the air by the same share: one number stands
// for all of it. A second one stands for where gas gathers and how much of it stops the
// pump. Nothing is added to a car that is full and has no gas in it.
func (d *Duty) deviate(c *circuit.Circuit, k *Criteria, o Other) {
	c.ExcessHeatFactor *= math.Exp(d.Deviation.Value * o.Heat)
	g := math.Exp(k.GasDeviation.Value * o.Gas)
	c.Fill = max(0, 1-(1-c.Fill)*g)
	c.TrappedAir = min(1, c.TrappedAir*g)
	c.CombustionGas *= g
}

// stages appends the legs once, driven by c at a share `pace` of their speed. Where
// standing is false, legs that stand are left out.
func (d *Duty) stages(into []circuit.Stage, c *circuit.Circuit, how Manner) []circuit.Stage {
	pace := how.pace()
	for i := range d.Legs {
		g := &d.Legs[i]
		if how.NoStops && g.Speed == 0 && len(d.Legs) > 1 {
			continue
		}
		st := circuit.Stage{
			Seconds: g.Seconds, RoadSpeedMS: g.Speed * kmh * pace, Grade: g.Grade,
			EngineRevPerSec: g.Revs / 60, AirCon: d.AirCon && !how.AirConOff,
		}
		if g.Revs == 0 && g.Speed > 0 {
			st.EngineRevPerSec = max(c.IdleSpeed, g.Gear*c.MotorwaySpeed*st.RoadSpeedMS/topGearAt)
		}
		if how.Heater {
			st.Blower = 1
		}
		into = append(into, st)
	}
	return into
}

// Manner is how a driver may spare the engine. The zero value is as the duty says.
type Manner struct {
	Heater    bool    `json:"heater,omitempty"`      // on full
	AirConOff bool    `json:"air_con_off,omitempty"` //
	Pace      float64 `json:"pace,omitempty"`        // share of the speed, 0 means 1
	NoStops   bool    `json:"no_stops,omitempty"`    // standing legs left out
	CoolerBy  float64 `json:"cooler_by,omitempty"`   // K by which the air is cooler
}

func (m Manner) pace() float64 {
	if m.Pace == 0 {
		return 1
	}
	return m.Pace
}
