package circuit

// Circuit holds the numbers of one cooling circuit. SI units; temperatures are
// Celsius temperatures (an SI derived unit) and their names end in C. It knows
// nothing of causes: a cause acts by changing these numbers.
//
// Every field has a row in numbers.yaml with its range and source, under the
// kebab-case name that Number returns (MetalHeatCapacity is "metal-heat-capacity").
type Circuit struct {
	// Heat.
	MetalHeatCapacity   float64 // J/K, metal close to the coolant: head and liners
	BlockHeatCapacity   float64 // J/K, the slow rest: lower block, crank, oil
	MetalCoolantUA      float64 // W/K, head metal to coolant at reference jacket flow
	MetalBlockUA        float64 // W/K, head metal to slow metal
	BlockHeatShare      float64 // share of the heat that enters the slow metal
	IdleFuelPower       float64 // W, warm idle, no air conditioning
	ColdFuelFactor      float64 // fuel multiplier of a stone-cold engine, >= 1
	IdleHeatShare       float64 // share of fuel power that reaches metal and coolant at idle
	LoadHeatShare       float64 // the same at load
	ExcessHeatFactor    float64 // multiplies the heat to the coolant: late timing, lean, dragging brake; 1 healthy
	StandingLossUA      float64 // W/K, engine and hoses to still air
	MovingLossUA        float64 // W/K, added at 50 km/h
	IndicatedEfficiency float64 // work at the wheels per fuel energy burned beyond the engine's own friction
	VehicleMass         float64 // kg
	DragArea            float64 // m2, CdA
	RollingResistance   float64 // -
	IdleSpeed           float64 // rev/s
	MotorwaySpeed       float64 // rev/s at 100 km/h in top gear
	AirCondFuelFactor   float64 // fuel multiplier at idle with air conditioning on
	CondenserHeat       float64 // W given to the air ahead of the radiator with air conditioning on

	// Pump and branches. A conductance k means Q = k*sqrt(dp), Q in m3/s, dp in Pa.
	PumpHead              float64 // Pa per (rev/s)^2 at no flow; a worn impeller or slipping belt lowers it
	PumpDirection         float64 // 1 forward; a backward pump gives the small positive head share it still makes (0.1..0.4)
	BeltSlip              float64 // share of pump (and belt fan) speed lost, 0 healthy
	BeltSlipWithSpeed     float64 // further share lost at 100 rev/s, growing linearly with engine speed
	EngineConductance     float64 // jacket and head, in series with all branches
	RadiatorConductance   float64 // radiator and its hoses, thermostat not counted
	ThermostatConductance float64 // valve at full lift
	BypassConductance     float64
	BypassClosing         float64 // share of the bypass closed at full lift (double-disc valve), 0..1
	HeaterConductance     float64
	LowerHoseCollapse     float64 // share of radiator conductance lost at 100 rev/s by suction, 0 healthy

	// Thermostat.
	ThermostatOnInlet bool
	OpeningC          float64 // starts to open
	OpeningSpan       float64 // K from start to full lift
	Hysteresis        float64 // K, closing line below opening line
	WaxLag            float64 // s
	LeakLift          float64 // share of ThermostatConductance that the jiggle pin or bleed passes when shut, about 0.004
	MinLift           float64 // 0 healthy; stuck open or missing > 0
	MaxLift           float64 // 1 healthy; stuck shut near 0
	WaxCoupling       float64 // 1 healthy; misfitted (element away from the hot side) < 1: the wax sees this much of the coolant's rise over ambient

	// Radiator, air and fan.
	RadiatorUA           float64 // W/K at reference flows
	RadiatorAirRef       float64 // kg/s air at which RadiatorUA holds
	RadiatorCoolantRef   float64 // kg/s coolant at which RadiatorUA holds
	AirSideShare         float64 // share of resistance on the air side at reference
	RadiatorHeatCapacity float64 // J/K, core metal and the coolant in it
	TubesBlocked         float64 // share of tubes dead inside, 0 healthy: lowers UA and conductance
	FaceBlocked          float64 // share of the face blocked outside, 0 healthy: lowers air
	RamAir               float64 // kg/s air per m/s road speed, fan off
	FanAir               float64 // kg/s at standstill, fan fully on
	FanOffAir            float64 // kg/s at standstill, fan off
	FanKind              FanKind
	FanOnC, FanOffC      float64 // electric: sensor temperatures
	FanHighC             float64 // two-speed: second step on
	FanLowShare          float64 // two-speed: air at the low step, share of FanAir
	FanWorks             float64 // 1 healthy, 0 dead, between: weak
	FanDirection         float64 // 1 blows the right way, -1 reversed
	ClutchOnC            float64 // viscous: air temperature behind the radiator at which it engages
	ClutchEngaged        float64 // viscous: share of fan speed transmitted when engaged (healthy about 0.85)
	ClutchFree           float64 // viscous: the same when free
	ShroudShare          float64 // share of the fan's air that goes through the core, 1 with shroud
	GrilleRiseC          float64 // K, air at the grille above ambient, standing, hood down

	// Coolant, cap, air.
	CoolantVolume        float64 // m3, whole system when full
	JacketShare          float64 // share of it in the engine
	GlycolVolumeFraction float64 // 0..1
	Propylene            bool    // propylene glycol instead of ethylene glycol
	Fill                 float64 // share of CoolantVolume present at the start, 1 full
	TrappedAir           float64 // share of CoolantVolume that is trapped air high in the system, 0 healthy
	GasScale             float64 // share of gas in the pump's way that leaves 1/e of its head
	HoseVapour           float64 // W/K by which steam warms the upper hose behind a pocket of gas, when the coolant boils
	CapPressure          float64 // Pa gauge, as rated
	CapHold              float64 // share of CapPressure really held, 1 healthy
	LeakArea             float64 // m2 equivalent orifice of an external leak, 0 healthy
	LeakOpensC           float64 // coolant temperature above which the leak opens; low means always
	CombustionGas        float64 // mol/s of gas into the coolant at full load when the leak is open, 0 healthy
	CombustionAtIdle     float64 // share of it at idle (1: leaks always; 0: only under load)
	CombustionOpensC     float64 // metal temperature above which it leaks
	JacketScale          float64 // 0..1, deposits around the cylinders: divides MetalCoolantUA by 1+4*scale

	// Heater.
	HeaterUA float64 // W/K at reference flow, blower full

	// Sensor and gauge.
	SensorLag      float64 // s
	SensorOffset   float64 // K at all temperatures
	SensorHotError float64 // K more at 100 degC, growing linearly from 20 degC
	GaugeOffset    float64 // K, dash gauge against sensor
	GaugeDead      bool    // the gauge does not follow at all
	NeedleErratic  float64 // K rms wander of the gauge (bad ground)
}

// FanKind tells how the fan is driven.
type FanKind uint8

// The kinds of fan.
const (
	FanElectric FanKind = iota
	FanTwoSpeed
	FanViscous
)
