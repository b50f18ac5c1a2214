package trial

import (
	"bytes"
	_ "embed"
	"fmt"

	"weephole/cause"
	"weephole/cause/sheet"
	"weephole/circuit"
)

//go:embed world.yaml
var worldYAML []byte

//go:embed textbook.yaml
var textbookYAML []byte

// World is the numbers of the world that the trial's cars come from;
// world.yaml says what each is and where it comes from.
type World struct {
	Spread   cause.Sourced `sheet:"spread,required"`
	Together []Together    `sheet:"together,required"`
	Wear     []Wear        `sheet:"wear,required"`

	SeverityShape cause.Sourced `sheet:"severity-shape,required"`
	SharePower    cause.Sourced `sheet:"share-power,required"`
	Pairs         cause.Sourced `sheet:"pairs,required"`
	PairByChance  cause.Sourced `sheet:"pair-by-chance,required"`
	Unnamed       cause.Sourced `sheet:"unnamed,required"`
	RecentWork    cause.Sourced `sheet:"recent-work,required"`
	WorkTold      cause.Sourced `sheet:"work-told,required"`
	Quoted        cause.Sourced `sheet:"quoted,required"`
	QuoteRight    cause.Sourced `sheet:"quote-right,required"`
	RanHotAbove   cause.Sourced `sheet:"ran-hot-above,required"`
	LowBelow      cause.Sourced `sheet:"low-below,required"`
	ToldRan       cause.Sourced `sheet:"told-ran,required"`
	Beyond        []Beyond      `sheet:"beyond,required"`

	Litres          cause.Range   `sheet:"litres,required"`
	KWPerLitre      cause.Range   `sheet:"kw-per-litre,required"`
	KgPerKW         cause.Range   `sheet:"kg-per-kw,required"`
	Diesel          cause.Sourced `sheet:"diesel,required"`
	ViscousFan      cause.Sourced `sheet:"viscous-fan,required"`
	TwoSpeedFan     cause.Sourced `sheet:"two-speed-fan,required"`
	InletThermostat cause.Sourced `sheet:"inlet-thermostat,required"`
	KnownEngine     cause.Sourced `sheet:"known-engine,required"`
	KnownPower      cause.Sourced `sheet:"known-power,required"`
	KnownMass       cause.Sourced `sheet:"known-mass,required"`
	KnownThermostat cause.Sourced `sheet:"known-thermostat,required"`
	KnownFan        cause.Sourced `sheet:"known-fan,required"`
	KnownCap        cause.Sourced `sheet:"known-cap,required"`
	Mistold         cause.Sourced `sheet:"mistold,required"`
	EngineAbout     cause.Sourced `sheet:"engine-about,required"`
	PowerAbout      cause.Sourced `sheet:"power-about,required"`
	MassAbout       cause.Sourced `sheet:"mass-about,required"`

	ShopAir      cause.Range   `sheet:"shop-air,required"`
	ShopAirError cause.Sourced `sheet:"shop-air-error,required"`
	RoadAirError cause.Sourced `sheet:"road-air-error,required"`
	Altitude     cause.Sourced `sheet:"altitude,required"`

	TongueSD cause.Sourced `sheet:"tongue-sd,required"`
	MemorySD cause.Sourced `sheet:"memory-sd,required"`
	Asked    cause.Sourced `sheet:"asked,required"`

	Blunder        cause.Range   `sheet:"blunder,required"`
	Overlooks      cause.Sourced `sheet:"overlooks,required"`
	TiltSD         cause.Sourced `sheet:"tilt-sd,required"`
	SameAgain      cause.Sourced `sheet:"same-again,required"`
	ReadsNumbers   cause.Sourced `sheet:"reads-numbers,required"`
	ReadingNoise   cause.Sourced `sheet:"reading-noise,required"`
	InstrumentBias cause.Sourced `sheet:"instrument-bias,required"`
	Shiny          cause.Sourced `sheet:"shiny,required"`
	ShinyShare     cause.Sourced `sheet:"shiny-share,required"`
	WrongScale     cause.Sourced `sheet:"wrong-scale,required"`
	StartsHot      cause.Sourced `sheet:"starts-hot,required"`

	own bool // the lineup's own world; see Own
}

// Own is the world in which the lineup's beliefs are true: the same prior,
// everything about the vehicle told, owners and mechanics as the catalogue has
// them. On its cars the percentages must be right but for the lineup's size, so
// it tells a fault of the reckoning from a difference between the worlds.
func (w World) Own() *World {
	w.own = true
	one, zero := cause.Sourced{Value: 1}, cause.Sourced{}
	for _, p := range []*cause.Sourced{
		&w.Spread, &w.SeverityShape, &w.SharePower, &w.KnownEngine, &w.KnownPower, &w.KnownMass, &w.KnownThermostat,
		&w.KnownFan, &w.KnownCap, &w.ReadingNoise,
	} {
		*p = one
	}
	for _, p := range []*cause.Sourced{
		&w.Unnamed, &w.RecentWork, &w.Quoted, &w.Mistold, &w.EngineAbout, &w.PowerAbout, &w.MassAbout, &w.ShopAirError, &w.RoadAirError, &w.TongueSD, &w.MemorySD,
		&w.Asked, &w.TiltSD, &w.InstrumentBias, &w.Shiny, &w.WrongScale, &w.ToldRan, &w.Pairs,
	} {
		*p = zero
	}
	w.Together, w.Wear = nil, nil
	w.Blunder = cause.Range{Low: 1e-9, Typical: 1e-9, High: 1e-9}
	return &w
}

// Together is a shift that several numbers of the circuit share: each is
// multiplied by exp(SD*z) with one standard normal z a car.
type Together struct {
	Name    string      `sheet:"name,required"`
	Numbers sheet.Words `sheet:"numbers,required"`
	SD      float64     `sheet:"sd,required"`
	Source  string      `sheet:"source,required"`
}

// Wear is added to a number of the circuit: SD times a standard normal, or
// times its size when Half is set.
type Wear struct {
	Number string  `sheet:"number,required"`
	SD     float64 `sheet:"sd,required"`
	Half   bool    `sheet:"half"`
	Source string  `sheet:"source,required"`
}

// Beyond is a fault that the catalogue does not have.
type Beyond struct {
	ID     string      `sheet:"id,required"`
	Share  float64     `sheet:"share,required"`
	Acts   []BeyondAct `sheet:"acts,required"`
	Source string      `sheet:"source,required"`
}

// BeyondAct changes one number, from the first value at severity 0 to the
// second at severity 1.
type BeyondAct struct {
	Number string        `sheet:"number,required"`
	Set    sheet.Numbers `sheet:"set"`
	Times  sheet.Numbers `sheet:"times"`
	Plus   sheet.Numbers `sheet:"plus"`
}

// Textbook is the fixed order of work, by kind of complaint.
type Textbook struct {
	Orders []Order `sheet:"orders,required"`
}

// Order is the textbook's order for one kind of complaint.
type Order struct {
	Complaint string      `sheet:"complaint,required"`
	Steps     []Step      `sheet:"steps,required"`
	Then      sheet.Words `sheet:"then,required"` // repairs, when no alarm led to the cure
}

// Step is one check of the textbook, with the repair that each word calls for.
type Step struct {
	Check   string `sheet:"check,required"`
	Repairs Alarms `sheet:"repairs"`
}

// Alarms gives repairs by the word that calls for them.
type Alarms struct {
	Words sheet.Rest `sheet:",rest"`
}

// repairFor is the repair that a word calls for, or "".
func (s *Step) repairFor(word string) string {
	for _, w := range s.Repairs.Words {
		if w.Key == word {
			return w.Word
		}
	}
	return ""
}

// DefaultWorld reads the embedded world.
func DefaultWorld() (*World, error) {
	var w World
	if err := sheet.Read(sheet.Source{Name: "world.yaml", Data: bytes.Clone(worldYAML)}, &w).Err(); err != nil {
		return nil, fmt.Errorf("trial: %w", err)
	}
	var c circuit.Circuit
	known := func(name string) error {
		if c.Number(name) == nil {
			return fmt.Errorf("trial: world.yaml: no number %q in the circuit", name)
		}
		return nil
	}
	for _, t := range w.Together {
		for _, name := range t.Numbers {
			if err := known(name); err != nil {
				return nil, err
			}
		}
	}
	for _, x := range w.Wear {
		if err := known(x.Number); err != nil {
			return nil, err
		}
	}
	for _, b := range w.Beyond {
		for _, a := range b.Acts {
			if err := known(a.Number); err != nil {
				return nil, err
			}
		}
	}
	return &w, nil
}

// DefaultTextbook reads the embedded textbook.
func DefaultTextbook() (*Textbook, error) {
	var t Textbook
	if err := sheet.Read(sheet.Source{Name: "textbook.yaml", Data: bytes.Clone(textbookYAML)}, &t).Err(); err != nil {
		return nil, fmt.Errorf("trial: %w", err)
	}
	return &t, nil
}

func (a *BeyondAct) apply(s float64, c *circuit.Circuit) {
	p := c.Number(a.Number)
	at := func(v sheet.Numbers) float64 { return v[0] + s*(v[len(v)-1]-v[0]) }
	switch {
	case len(a.Set) > 0:
		*p = at(a.Set)
	case len(a.Times) > 0:
		*p *= at(a.Times)
	case len(a.Plus) > 0:
		*p += at(a.Plus)
	}
}
