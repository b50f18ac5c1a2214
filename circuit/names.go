package circuit

import (
	"fmt"
	"strings"
)

var situationNames = [numSituations]string{
	ColdSoak: "cold-soak", EarlyIdle: "early-idle", WarmUp: "warm-up", HotIdle: "hot-idle",
	HotIdleAC: "hot-idle-ac", FastIdle: "fast-idle", City: "city", Motorway: "motorway",
	Climb: "climb", HeatSoak: "heat-soak", Restart: "restart",
}

// Unit says what kind of figure an observable is.
type Unit uint8

// The units of observables.
const (
	TemperatureC          Unit = iota // degC
	TemperatureDifference             // K
	Share                             // 0..1
	PressurePa                        // Pa gauge
	MassFlow                          // kg/s
	Minutes                           // minutes
	MolarFlow                         // mol/s
)

var unitNames = [...]string{"degC", "K", "share", "Pa", "kg/s", "min", "mol/s"}

// String gives the unit's sign: "degC", "K", "share", "Pa", "kg/s", "min" or "mol/s".
func (u Unit) String() string {
	if int(u) < len(unitNames) {
		return unitNames[u]
	}
	return fmt.Sprintf("unit(%d)", uint8(u))
}

var places = [numPlaces]struct {
	name string
	unit Unit
}{
	Coolant:          {"coolant", TemperatureC},
	SensorMean:       {"sensor-mean", TemperatureC},
	SensorPeak:       {"sensor-peak", TemperatureC},
	SensorLow:        {"sensor-low", TemperatureC},
	GaugePeak:        {"gauge-peak", TemperatureC},
	GaugeMean:        {"gauge-mean", TemperatureC},
	MetalMean:        {"metal-mean", TemperatureC},
	UpperHose:        {"upper-hose", TemperatureC},
	LowerHose:        {"lower-hose", TemperatureC},
	HoseDrop:         {"hose-drop", TemperatureDifference},
	ThermostatDrop:   {"thermostat-drop", TemperatureDifference},
	RadiatorDrop:     {"radiator-drop", TemperatureDifference},
	HeaterInHose:     {"heater-in-hose", TemperatureC},
	HeaterOutHose:    {"heater-out-hose", TemperatureC},
	VentAir:          {"vent-air", TemperatureC},
	FaceSpread:       {"face-spread", TemperatureDifference},
	FanShare:         {"fan-share", Share},
	FanAirflow:       {"fan-airflow", MassFlow},
	RadiatorFlow:     {"radiator-flow", MassFlow},
	HeaterFlow:       {"heater-flow", MassFlow},
	NeckFlow:         {"neck-flow", MassFlow},
	Pressure:         {"pressure", PressurePa},
	LevelLost:        {"level-lost", Share},
	LevelNow:         {"level-now", Share},
	AirShare:         {"air-share", Share},
	BoilMinutes:      {"boil-minutes", Minutes},
	GasRate:          {"gas-rate", MolarFlow},
	MinutesTo40:      {"minutes-to-40", Minutes},
	MinutesTo60:      {"minutes-to-60", Minutes},
	MinutesTo80:      {"minutes-to-80", Minutes},
	OpeningSeen:      {"opening-seen", TemperatureC},
	DropAfterOpening: {"drop-after-opening", TemperatureDifference},
	MinutesToLimit:   {"minutes-to-limit", Minutes},
}

// String gives the situation's name: "hot-idle".
func (s Situation) String() string {
	if s < numSituations {
		return situationNames[s]
	}
	return fmt.Sprintf("situation(%d)", uint8(s))
}

// String gives the place's name: "upper-hose".
func (p Place) String() string {
	if p < numPlaces {
		return places[p].name
	}
	return fmt.Sprintf("place(%d)", uint8(p))
}

// String gives the observable's name: "hot-idle.upper-hose".
func (o Observable) String() string { return o.Situation.String() + "." + o.Place.String() }

// Unit tells what kind of figure the observable is.
func (o Observable) Unit() Unit {
	if o.Place < numPlaces {
		return places[o.Place].unit
	}
	return Share
}

// String gives the kind's name: "electric", "two-speed" or "viscous".
func (k FanKind) String() string {
	switch k {
	case FanElectric:
		return "electric"
	case FanTwoSpeed:
		return "two-speed"
	case FanViscous:
		return "viscous"
	}
	return fmt.Sprintf("fan kind(%d)", uint8(k))
}

// Observables lists every place in every situation, situations in the order
// of the drill.
func Observables() []Observable {
	all := make([]Observable, 0, int(numSituations)*int(numPlaces))
	for s := range numSituations {
		for p := range numPlaces {
			all = append(all, Observable{s, p})
		}
	}
	return all
}

// Situations lists the situations in the order of the drill.
func Situations() []Situation {
	all := make([]Situation, numSituations)
	for s := range numSituations {
		all[s] = s
	}
	return all
}

// ParseObservable reads "situation.place", for example "hot-idle.upper-hose".
// The error names the nearest known word.
func ParseObservable(text string) (Observable, error) {
	situation, place, ok := strings.Cut(text, ".")
	if !ok {
		return Observable{}, fmt.Errorf("observable %q: want situation.place, for example %q", text, Observable{HotIdle, UpperHose})
	}
	s, err := ParseSituation(situation)
	if err != nil {
		return Observable{}, fmt.Errorf("observable %q: %w", text, err)
	}
	for p := range numPlaces {
		if places[p].name == place {
			return Observable{s, p}, nil
		}
	}
	names := make([]string, numPlaces)
	for p := range numPlaces {
		names[p] = places[p].name
	}
	return Observable{}, fmt.Errorf("observable %q: no place %q; nearest is %q", text, place, nearest(place, names))
}

// ParseSituation reads a situation's name, for example "hot-idle". The error
// names the nearest known word.
func ParseSituation(text string) (Situation, error) {
	for s := range numSituations {
		if situationNames[s] == text {
			return s, nil
		}
	}
	return 0, fmt.Errorf("no situation %q; nearest is %q", text, nearest(text, situationNames[:]))
}

// nearest gives the known word with the smallest edit distance to text.
func nearest(text string, known []string) string {
	best, bestDistance := "", 1<<30
	for _, k := range known {
		if d := editDistance(text, k); d < bestDistance {
			best, bestDistance = k, d
		}
	}
	return best
}

// editDistance counts the insertions, deletions and changes between two words
// (the Levenshtein distance).
func editDistance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := diagonal
			if a[i] != b[j] {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j+1]+1, row[j]+1)
		}
	}
	return row[len(b)]
}
