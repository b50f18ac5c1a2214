package margin_test

import (
	"math"
	"testing"

	"weephole/circuit"
	"weephole/coolant"
	"weephole/margin"
)

func criteria(t testing.TB) *margin.Criteria {
	t.Helper()
	k, err := margin.DefaultCriteria()
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func table(t testing.TB) *circuit.Table {
	t.Helper()
	table, err := circuit.DefaultTable()
	if err != nil {
		t.Fatal(err)
	}
	return table
}

func duty(t testing.TB, k *margin.Criteria, id string) *margin.Duty {
	t.Helper()
	d, err := k.Duty(id)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// byHand works out the highest outside air of a car with an electric fan on a
// moving duty of one leg: thermostat fully open, fan at full speed, no heater. It
// uses the numbers of the car and pencil-and-paper formulas, and none of the
// integrator's code.
func byHand(c *circuit.Circuit, d *margin.Duty, altitudeM float64) (highestC, heatW float64) {
	g := d.Legs[0]
	v := g.Speed / 3.6
	revs := g.Gear * c.MotorwaySpeed * g.Speed / 100
	airPa := coolant.PressureAtAltitudePa(altitudeM)

	// Heat: idle friction, friction of the higher speed, work at the wheels.
	through := (g.Speed + d.Wind) / g.Speed
	mass, area := c.VehicleMass+d.Trailer, (c.DragArea+d.TrailerDrag)*through*through
	force := mass*9.80665*(c.RollingResistance+g.Grade) + 0.5*1.16*airPa/101325*area*v*v
	idle := c.IdleFuelPower * c.AirCondFuelFactor
	friction := c.IdleFuelPower*revs/c.IdleSpeed + idle - c.IdleFuelPower
	heatW = c.IdleHeatShare*idle + c.LoadHeatShare*(friction-idle+force*v/c.IndicatedEfficiency)

	// Coolant: head of the pump, engine in series with three branches.
	mix, _ := coolant.NewMix(coolant.Ethylene, c.GlycolVolumeFraction)
	rho, cp := mix.DensityKgM3(90), mix.HeatCapacityJKgK(90)
	valve, core := c.ThermostatConductance, c.RadiatorConductance*(1-c.TubesBlocked)
	branch := 1 / math.Sqrt(1/(valve*valve)+1/(core*core))
	all := branch + c.HeaterConductance + c.BypassConductance*(1-c.BypassClosing)
	total := math.Sqrt(c.PumpHead * c.PumpDirection * revs * revs / (1/(all*all) + 1/(c.EngineConductance*c.EngineConductance)))
	const siphon = 0.1e-3 / 60
	w := (total*branch/all + siphon) * rho * cp // W/K

	// Air: ram and fan.
	tubes, face := 1-c.TubesBlocked, 1-c.FaceBlocked
	fan := c.FanAir * c.FanWorks * c.ShroudShare
	ram := c.RamAir * through * v
	air := math.Sqrt(ram*ram+fan*fan) * face
	wAir := air * 1006

	// Core: resistances scaled from their reference, then both streams unmixed.
	outside := c.AirSideShare / c.RadiatorUA / (face * tubes) * math.Pow(air/(face*c.RadiatorAirRef), -0.6)
	inside := (1 - c.AirSideShare) / c.RadiatorUA / (face * tubes) * math.Pow(w/(c.RadiatorCoolantRef*cp*tubes), -0.8)
	least, most := min(w, wAir), max(w, wAir)
	n, r := 1/(outside+inside)/least, least/most
	effect := 1 - math.Exp(math.Pow(n, 0.22)/r*(math.Exp(-r*math.Pow(n, 0.78))-1))

	// Balance: heat = core + what engine and hoses lose; the slow metal is warmer
	// than the coolant and loses a little more.
	condenser := min(c.CondenserHeat/wAir, 25)
	loss := 0.5 * (c.StandingLossUA + c.MovingLossUA*math.Pow(v/13.9, 0.6))
	boil := mix.BoilingC(airPa + c.CapPressure*c.CapHold)
	jacket := c.MetalCoolantUA * math.Pow(total/(70e-3/60), 0.8)
	block := c.MetalBlockUA * math.Pow(revs/c.IdleSpeed, 1.1)
	// rise: coolant over the run's air. Metal and slow metal stand above it by what
	// they pass on.
	rise := 0.0
	for range 50 {
		metal := rise + (heatW-loss*rise)/jacket
		slow := (c.BlockHeatShare*heatW + block*metal) / (block + loss)
		rise = condenser + (heatW-loss*slow-loss*rise)/(effect*least)
	}
	return boil - rise - d.GrilleAir, heatW
}

func TestHeatBalanceByHandOnThreeCars(t *testing.T) {
	k, tab := criteria(t), table(t)
	electric := circuit.FanElectric
	cars := map[string]circuit.Circuit{
		"1.2 L at sea level":  tab.Typical(circuit.Vehicle{DisplacementM3: 1.2e-3, PowerW: 60e3, FanKind: &electric}),
		"2.0 L, heavy":        tab.Typical(circuit.Vehicle{DisplacementM3: 2e-3, PowerW: 110e3, MassKg: 1900, FanKind: &electric}),
		"1.6 L, tubes closed": tab.Typical(circuit.Vehicle{DisplacementM3: 1.6e-3, PowerW: 80e3, FanKind: &electric}),
	}
	half := cars["1.6 L, tubes closed"]
	half.TubesBlocked = 0.5
	cars["1.6 L, tubes closed"] = half
	h := margin.NewHolder(k)
	for name, c := range cars {
		for _, id := range []string{"climb", "towing"} {
			for _, altitude := range []float64{0, 1500} {
				d := duty(t, k, id)
				m := h.Highest(&c, d, altitude)
				at := h.Hold(&c, d, altitude, m.HighestC)
				want, heat := byHand(&c, d, altitude)
				t.Logf("%s, %s at %g m: %.2f degC, by hand %.2f degC; heat %.0f W, by hand %.0f W", name, id, altitude, m.HighestC, want, at.HeatW, heat)
				if m.Beyond != 0 || at.Lift < 1 || at.FanShare < 1 {
					t.Fatalf("%s, %s: the sum by hand needs an open thermostat and a running fan at the limit: %+v", name, id, m)
				}
				if math.Abs(at.HeatW-heat) > 0.001*heat {
					t.Errorf("%s, %s: %.0f W of heat, by hand %.0f W", name, id, at.HeatW, heat)
				}
				if gap := math.Abs(at.HeatW - at.LostW); gap > 0.005*heat {
					t.Errorf("%s, %s: held, but %.0f W come in and %.0f W leave", name, id, at.HeatW, at.LostW)
				}
				if math.Abs(m.HighestC-want) > 1 {
					t.Errorf("%s, %s at %g m: highest air %.2f degC, by hand %.2f degC", name, id, altitude, m.HighestC, want)
				}
			}
		}
	}
}
