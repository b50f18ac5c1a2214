package circuit

// Situation is a named, repeatable way of running the engine in which
// mechanics take readings. Together they are the standard drill that every
// candidate of a lineup goes through; only those that are asked for are run.
type Situation uint8

// The situations, in the order in which the drill runs them. A situation that
// needs another's end state (HotIdle needs WarmUp) runs it too.
const (
	ColdSoak  Situation = iota // key on, nothing run for eight hours
	EarlyIdle                  // two minutes after a cold start
	WarmUp                     // the idle from cold, up to 25 minutes
	HotIdle                    // the last five minutes of it
	HotIdleAC                  // then eight minutes of idle with air conditioning
	FastIdle                   // from warm: 2,500 rev/min standing, five minutes
	City                       // from warm: stop and go, mean about 30 km/h, ten minutes
	Motorway                   // from warm: 100 km/h level, ten minutes
	Climb                      // from warm: a long hill under load, eight minutes
	HeatSoak                   // ten minutes after shut-off from HotIdle
	Restart                    // two minutes of idle after the HeatSoak
	numSituations
)

// Place is what is read in a situation: somewhere to measure, or a figure
// that the run as a whole gives.
type Place uint8

// The places. Temperatures in degC unless the comment says otherwise. In the
// situations that are runs, a place is the mean over the situation's last two
// minutes unless said otherwise.
const (
	Coolant          Place = iota // true coolant leaving the engine
	SensorMean                    // the engine computer's reading
	SensorPeak                    // its highest in the situation
	SensorLow                     // its lowest in the last half of the situation
	GaugePeak                     // what the dash gauge shows at its highest
	GaugeMean                     // what it shows on the whole
	MetalMean                     // head metal
	UpperHose                     // surface of the hose from engine to radiator, as an infrared gun on rubber sees it
	LowerHose                     // surface of the hose from radiator to pump, likewise
	HoseDrop                      // UpperHose minus LowerHose, K
	ThermostatDrop                // temperature across the thermostat (engine side minus radiator side), K
	RadiatorDrop                  // coolant in minus out of the radiator, K
	HeaterInHose                  // surface
	HeaterOutHose                 // surface
	VentAir                       // cabin air from the heater, blower full
	FaceSpread                    // hottest minus coldest third of the radiator's face, K
	FanShare                      // share of the time the fan is commanded or engaged, 0..1
	FanAirflow                    // kg/s through the core, standing situations; negative when the fan blows backwards
	RadiatorFlow                  // kg/s of coolant through the radiator
	HeaterFlow                    // kg/s
	NeckFlow                      // kg/s seen moving at the open filler neck
	Pressure                      // Pa gauge in the system at the end
	LevelLost                     // share of the fill lost by the end of the situation, 0..1
	LevelNow                      // share of the fill present
	AirShare                      // share of the volume that is gas at the end
	BoilMinutes                   // minutes of boiling
	GasRate                       // mol/s combustion gas entering
	MinutesTo40                   // WarmUp only: minutes until the sensor reads 40 degC; 60 if never
	MinutesTo60                   // likewise
	MinutesTo80                   // likewise
	OpeningSeen                   // WarmUp only: sensor temperature at the knee where the radiator begins to take heat; NaN if none
	DropAfterOpening              // K, WarmUp only
	MinutesToLimit                // minutes until the sensor passes LimitC; 60 if never
	numPlaces
)

// Observable is a place in a situation: "hot-idle.upper-hose".
type Observable struct {
	Situation Situation
	Place     Place
}

// Conditions are the surroundings of a drill.
type Conditions struct {
	AmbientC  float64 // air temperature
	AltitudeM float64 // m above sea level
	HeaterOn  bool    // cabin heater at full blower during the runs
	HoodOpen  bool
}

// Set is a set of situations.
type Set uint32

// SetOf gives the set of the situations named.
func SetOf(situations ...Situation) Set {
	var set Set
	for _, s := range situations {
		set = set.With(s)
	}
	return set
}

// AllSituations gives the whole drill.
func AllSituations() Set { return 1<<numSituations - 1 }

// Has tells whether s is in the set.
func (set Set) Has(s Situation) bool { return set&(1<<s) != 0 }

// With gives the set with s added.
func (set Set) With(s Situation) Set { return set | 1<<s }

// Union gives the situations that are in either set.
func (set Set) Union(other Set) Set { return set | other }

// Record is what a drill shows: a value for every place in every situation,
// NaN where the situation was not run or the place makes no sense in it.
type Record [numSituations][numPlaces]float32

// At gives the observable's value in the unit that Observable.Unit names, NaN
// if it was not run.
func (r *Record) At(o Observable) float64 { return float64(r[o.Situation][o.Place]) }
