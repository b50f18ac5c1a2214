package circuit

// Gravity is standard gravity, m/s2 (ISO 80000-3), and FuelHeat the lower heating
// value of petrol, J/kg: fuel constants of published dynamometer logs, 42.67 MJ/kg
// (Argonne D3); that of diesel fuel lies within 1 %. Everything that turns forces
// or fuel into heat uses these.
const (
	Gravity  = 9.80665
	FuelHeat = 42.7e6
)

// The numbers of the model that no car of its own has. Those of a car are in
// numbers.yaml. "Judgement" marks a value without a source.
const (
	airHeatCapacity = 1006.0 // J/(kg K), dry air near 40 degC, handbook, from memory
	airDensity      = 1.16   // kg/m3 at 30 degC, handbook, from memory; falls with pressure
	gasConstant     = 8.314  // J/(mol K)
	referenceAirPa  = 101325 // Pa, standard atmosphere

	// Heat from fuel.
	fuelWarmC        = 85.0 // degC of the slow metal and oil: cold factor has gone. Judgement
	fuelColdC        = 20.0 // degC: cold factor as tabled; grows on below. Judgement
	fuelColdMost     = 4.5  // CO2MPAS default cold-start multiplier
	blockFlowPower   = 1.1  // MetalBlockUA grows as engine speed to this: oil and jacket flow. Judgement
	standingBlockUA  = 1.0  // share of MetalBlockUA left with the engine stopped. Judgement
	stoppedLoss      = 0.35 // share of the coolant's loss left without flow: hoses and heater fall away. Judgement
	coolantLossShare = 0.5  // share of the loss that leaves coolant and hoses, the rest the block. Judgement
	movingLossPower  = 0.6  // exponent of speed. Judgement
	movingLossSpeed  = 13.9 // m/s, 50 km/h, at which MovingLossUA is tabled

	loadFull = 25.0 // full load's fuel in idle fuels: 155 kW for a 1.6 L engine that idles on 6.2. Judgement

	// Flow.
	jacketFlowRef    = 70e-3 / 60  // m3/s at which MetalCoolantUA holds: the reference state
	jacketFloor      = 0.12        // share of MetalCoolantUA left without flow: natural convection. Judgement
	thermosiphonFlow = 0.1e-3 / 60 // m3/s through an open valve with a stopped pump. Judgement
	leastPumpSpeed   = 0.5         // rev/s below which the pump counts as stopped
	scaleResistance  = 4.0         // JacketScale 1 divides MetalCoolantUA by 1+4. Judgement
	mostCollapse     = 0.98        // share of the lower hose that suction shuts, at the most. Judgement
	collapseSpeed    = 100.0       // rev/s at which LowerHoseCollapse and BeltSlipWithSpeed are tabled

	gasLift         = 0.05  // m: the head that a pocket in the way takes before anything passes it. Judgement
	gasFills        = 1.25  // times GasScale: gas share from which a pocket takes all of that. Judgement
	tankShare       = 0.09  // share of the volume whose loss only empties the expansion tank. Judgement
	gasResidence    = 20.0  // s that a bubble stays before it reaches the tank. Judgement
	bubbleK         = 370.0 // K, of a bubble in a hot jacket
	bubblePa        = 1.5e5 // Pa absolute, the same
	leastJacket     = 0.15  // share of the jacket's heat capacity that is always left. Judgement
	wallsDryFrom    = 0.10  // gas share at which jacket walls begin to fall dry. Judgement
	dryingWalls     = 1.5   // share of the walls that falls dry per share of gas beyond it. Judgement
	leastWetted     = 0.30  // share of the walls that stays wetted by splashing. Judgement
	sensorDryFrom   = 0.06  // gas share at which the sensor's pocket begins to fall dry. Judgement
	sensorDrySpan   = 0.20
	sensorDryRise   = 0.30 // share of the rise over ambient that a sensor in cold gas does not see. Judgement
	heaterDryFrom   = 0.03 // the heater is the higher spot
	heaterDrySpan   = 0.10
	cushionShare    = 0.12 // gas cushion of a full cold system, share of CoolantVolume. Judgement
	leastCushion    = 0.01 // the cushion that full expansion leaves, the rest goes to the bottle
	staticHeadPa    = 2000 // Pa that drives a leak in a system without pressure: 0.2 m of coolant
	dischargeFactor = 0.6  // of a sharp orifice, textbook, from memory
	leakDryFill     = 0.05 // share of the coolant below which a leak has fallen dry. Judgement

	tankRise     = 0.75 // gas in the tank: share of the coolant's rise over ambient. Judgement
	leakHalfArea = 3e-7 // m2 of leak at which half the cap's pressure is held while boiling. Judgement

	// What sensor-hot-error means: it is 0 at the one temperature and whole at the other.
	sensorTrueC = 20.0 // degC
	sensorSpan  = 80.0 // K, to 100 degC

	// Boiling: a stiff sink above the boiling point.
	boilUA        = 3000.0 // W/K; large enough to hold within 1-2 K. Numerical choice
	latentHeat    = 2.2e6  // J/kg, water at 105-120 degC, steam tables, from memory
	boilLostShare = 0.6    // share of the steam that leaves; the rest condenses on its way. Judgement

	// Boiling at the walls carries heat however slowly the coolant flows: 0.1 MW/m2 at
	// 14 K over the boiling point (Jens & Lottes 1951, from memory), so about
	// 1400 W/K over 0.2 m2 of a 1.6 L engine's jacket. Conduction in the metal takes
	// half. As a share of MetalCoolantUA, 1000 to 1500 W/K.
	wallBoiling = 0.5

	// Air and fan.
	tubeCells       = 3
	leastOpen       = 0.02  // share of tubes and of the face that is always left open. Judgement
	leastAir        = 0.005 // kg/s through the core: natural convection. Judgement
	leastCoreFlow   = 15.0  // W/K: natural convection inside the core. Judgement
	mostUnits       = 6.0   // NTU above which effectiveness no longer changes
	airSidePower    = -0.6  // exponents of the reference model (circuit-numbers 1.1)
	coolantPower    = -0.8
	reversedFan     = 0.4  // share of a fan's air when it blows backwards. Judgement
	bayRise         = 0.33 // still bay air: share of the coolant's rise over ambient (50 degC at 90 and 30: circuit-numbers 1.8)
	bayRiseFan      = 0.20 // the same with the fan blowing. Judgement
	bayRiseMoving   = 0.08 // the same on the move. Judgement
	hoodOpenShare   = 0.4  // of the grille rise that is left with the hood open. Judgement
	grilleMost      = 1.5  // times grilleFullRise, beyond which bay air no longer warms the grille. Judgement
	grilleFullRise  = 60.0 // K of coolant over ambient at which GrilleRiseC is reached. Judgement
	grilleFanOff    = 2.5  // the same with the fan off: intake air near 60 degC on 32 degC days (circuit-numbers 1.9, fault-effects 2.2)
	grilleGoneSpeed = 8.0  // m/s above which bay air no longer comes round to the grille. Judgement
	condenserMostK  = 25.0 // K of air rise at which the compressor is cut out on pressure. Judgement
	clutchLag       = 30.0 // s of a bimetal clutch. Judgement
	clutchSpan      = 8.0  // K from free to engaged. Judgement
	clutchFanMost   = 1.8  // FanAir multiple at which a viscous fan stops growing with speed. Judgement
	hotBayBack      = 0.60 // reversed fan at standstill: bay air, share of coolant rise. Judgement

	// Heater and cabin.
	cabinAir    = 0.10 // kg/s at full blower. Judgement
	leastHeater = 1e-3 // W/K of coolant through the heater below which it counts as shut

	// Hoses (circuit-numbers 1.8, derived): R = r_o ln(r_o/r_i)/k + r_o/(r_i h_i).
	hoseR          = 0.0182 // m2K/W, 32 mm bore, 4.5 mm wall, k 0.30 W/mK
	hoseStillH     = 10.0   // W/m2K still bay
	hoseFanH       = 22.0   // W/m2K fan wash
	hoseMovingH    = 35.0   // W/m2K on the road
	hoseLag        = 50.0   // s
	hoseArea       = 0.09   // m2, 0.7 m of such a hose
	hoseCapacity   = 1600.0 // J/K of one hose with what is in it
	hoseConvection = 5.0    // W/K by which an upper hose without flow is warmed when open to the engine. Judgement
	rubberShows    = 0.98   // an infrared gun set to 0.95 on dark rubber of 0.93-0.95
)
