package circuit

import (
	"slices"
)

// numbers ties the names of the numbers table to the fields of Circuit.
// Fields that are not float64 (kinds and yes-or-no) have no name here.
var numbers = [...]struct {
	name string
	at   func(*Circuit) *float64
}{
	{"metal-heat-capacity", func(c *Circuit) *float64 { return &c.MetalHeatCapacity }},
	{"block-heat-capacity", func(c *Circuit) *float64 { return &c.BlockHeatCapacity }},
	{"metal-coolant-ua", func(c *Circuit) *float64 { return &c.MetalCoolantUA }},
	{"metal-block-ua", func(c *Circuit) *float64 { return &c.MetalBlockUA }},
	{"block-heat-share", func(c *Circuit) *float64 { return &c.BlockHeatShare }},
	{"idle-fuel-power", func(c *Circuit) *float64 { return &c.IdleFuelPower }},
	{"cold-fuel-factor", func(c *Circuit) *float64 { return &c.ColdFuelFactor }},
	{"idle-heat-share", func(c *Circuit) *float64 { return &c.IdleHeatShare }},
	{"load-heat-share", func(c *Circuit) *float64 { return &c.LoadHeatShare }},
	{"excess-heat-factor", func(c *Circuit) *float64 { return &c.ExcessHeatFactor }},
	{"standing-loss-ua", func(c *Circuit) *float64 { return &c.StandingLossUA }},
	{"moving-loss-ua", func(c *Circuit) *float64 { return &c.MovingLossUA }},
	{"indicated-efficiency", func(c *Circuit) *float64 { return &c.IndicatedEfficiency }},
	{"vehicle-mass", func(c *Circuit) *float64 { return &c.VehicleMass }},
	{"drag-area", func(c *Circuit) *float64 { return &c.DragArea }},
	{"rolling-resistance", func(c *Circuit) *float64 { return &c.RollingResistance }},
	{"idle-speed", func(c *Circuit) *float64 { return &c.IdleSpeed }},
	{"motorway-speed", func(c *Circuit) *float64 { return &c.MotorwaySpeed }},
	{"air-cond-fuel-factor", func(c *Circuit) *float64 { return &c.AirCondFuelFactor }},
	{"condenser-heat", func(c *Circuit) *float64 { return &c.CondenserHeat }},
	{"pump-head", func(c *Circuit) *float64 { return &c.PumpHead }},
	{"pump-direction", func(c *Circuit) *float64 { return &c.PumpDirection }},
	{"belt-slip", func(c *Circuit) *float64 { return &c.BeltSlip }},
	{"belt-slip-with-speed", func(c *Circuit) *float64 { return &c.BeltSlipWithSpeed }},
	{"engine-conductance", func(c *Circuit) *float64 { return &c.EngineConductance }},
	{"radiator-conductance", func(c *Circuit) *float64 { return &c.RadiatorConductance }},
	{"thermostat-conductance", func(c *Circuit) *float64 { return &c.ThermostatConductance }},
	{"bypass-conductance", func(c *Circuit) *float64 { return &c.BypassConductance }},
	{"bypass-closing", func(c *Circuit) *float64 { return &c.BypassClosing }},
	{"heater-conductance", func(c *Circuit) *float64 { return &c.HeaterConductance }},
	{"lower-hose-collapse", func(c *Circuit) *float64 { return &c.LowerHoseCollapse }},
	{"opening-c", func(c *Circuit) *float64 { return &c.OpeningC }},
	{"opening-span", func(c *Circuit) *float64 { return &c.OpeningSpan }},
	{"hysteresis", func(c *Circuit) *float64 { return &c.Hysteresis }},
	{"wax-lag", func(c *Circuit) *float64 { return &c.WaxLag }},
	{"leak-lift", func(c *Circuit) *float64 { return &c.LeakLift }},
	{"min-lift", func(c *Circuit) *float64 { return &c.MinLift }},
	{"max-lift", func(c *Circuit) *float64 { return &c.MaxLift }},
	{"wax-coupling", func(c *Circuit) *float64 { return &c.WaxCoupling }},
	{"radiator-ua", func(c *Circuit) *float64 { return &c.RadiatorUA }},
	{"radiator-air-ref", func(c *Circuit) *float64 { return &c.RadiatorAirRef }},
	{"radiator-coolant-ref", func(c *Circuit) *float64 { return &c.RadiatorCoolantRef }},
	{"air-side-share", func(c *Circuit) *float64 { return &c.AirSideShare }},
	{"radiator-heat-capacity", func(c *Circuit) *float64 { return &c.RadiatorHeatCapacity }},
	{"tubes-blocked", func(c *Circuit) *float64 { return &c.TubesBlocked }},
	{"face-blocked", func(c *Circuit) *float64 { return &c.FaceBlocked }},
	{"ram-air", func(c *Circuit) *float64 { return &c.RamAir }},
	{"fan-air", func(c *Circuit) *float64 { return &c.FanAir }},
	{"fan-off-air", func(c *Circuit) *float64 { return &c.FanOffAir }},
	{"fan-on-c", func(c *Circuit) *float64 { return &c.FanOnC }},
	{"fan-off-c", func(c *Circuit) *float64 { return &c.FanOffC }},
	{"fan-high-c", func(c *Circuit) *float64 { return &c.FanHighC }},
	{"fan-low-share", func(c *Circuit) *float64 { return &c.FanLowShare }},
	{"fan-works", func(c *Circuit) *float64 { return &c.FanWorks }},
	{"fan-direction", func(c *Circuit) *float64 { return &c.FanDirection }},
	{"clutch-on-c", func(c *Circuit) *float64 { return &c.ClutchOnC }},
	{"clutch-engaged", func(c *Circuit) *float64 { return &c.ClutchEngaged }},
	{"clutch-free", func(c *Circuit) *float64 { return &c.ClutchFree }},
	{"shroud-share", func(c *Circuit) *float64 { return &c.ShroudShare }},
	{"grille-rise-c", func(c *Circuit) *float64 { return &c.GrilleRiseC }},
	{"coolant-volume", func(c *Circuit) *float64 { return &c.CoolantVolume }},
	{"jacket-share", func(c *Circuit) *float64 { return &c.JacketShare }},
	{"glycol-volume-fraction", func(c *Circuit) *float64 { return &c.GlycolVolumeFraction }},
	{"fill", func(c *Circuit) *float64 { return &c.Fill }},
	{"trapped-air", func(c *Circuit) *float64 { return &c.TrappedAir }},
	{"gas-scale", func(c *Circuit) *float64 { return &c.GasScale }},
	{"hose-vapour", func(c *Circuit) *float64 { return &c.HoseVapour }},
	{"cap-pressure", func(c *Circuit) *float64 { return &c.CapPressure }},
	{"cap-hold", func(c *Circuit) *float64 { return &c.CapHold }},
	{"leak-area", func(c *Circuit) *float64 { return &c.LeakArea }},
	{"leak-opens-c", func(c *Circuit) *float64 { return &c.LeakOpensC }},
	{"combustion-gas", func(c *Circuit) *float64 { return &c.CombustionGas }},
	{"combustion-at-idle", func(c *Circuit) *float64 { return &c.CombustionAtIdle }},
	{"combustion-opens-c", func(c *Circuit) *float64 { return &c.CombustionOpensC }},
	{"jacket-scale", func(c *Circuit) *float64 { return &c.JacketScale }},
	{"heater-ua", func(c *Circuit) *float64 { return &c.HeaterUA }},
	{"sensor-lag", func(c *Circuit) *float64 { return &c.SensorLag }},
	{"sensor-offset", func(c *Circuit) *float64 { return &c.SensorOffset }},
	{"sensor-hot-error", func(c *Circuit) *float64 { return &c.SensorHotError }},
	{"gauge-offset", func(c *Circuit) *float64 { return &c.GaugeOffset }},
	{"needle-erratic", func(c *Circuit) *float64 { return &c.NeedleErratic }},
}

var numberByName = func() map[string]func(*Circuit) *float64 {
	byName := make(map[string]func(*Circuit) *float64, len(numbers))
	for _, n := range numbers {
		byName[n.name] = n.at
	}
	return byName
}()

// Number gives a pointer to the field with the kebab-case name, so that a
// cause can act on it; nil if there is none.
func (c *Circuit) Number(name string) *float64 {
	if at := numberByName[name]; at != nil {
		return at(c)
	}
	return nil
}

// NumberNames lists the names that Number knows, in the order of the fields.
func NumberNames() []string {
	names := make([]string, 0, len(numbers))
	for _, n := range numbers {
		names = append(names, n.name)
	}
	return slices.Clip(names)
}
