package trial

import (
	_ "embed"
	"fmt"

	"weephole/circuit"
	"weephole/sheet"
)

//go:embed world.yaml
var worldYAML []byte

//go:embed textbook.yaml
var textbookYAML []byte

// World is the numbers of the world that the trial's cars come from;
// world.yaml says what each is and where it comes from.
type World struct {
	Spread   sheet.Sourced `sheet:"spread,required"`
	Together []Together    `sheet:"together,required"`
	Wear     []Wear        `sheet:"wear,required"`

	SeverityShape sheet.Sourced `sheet:"severity-shape,required"`
	SharePower    sheet.Sourced `sheet:"share-power,required"`
	Pairs         sheet.Sourced `sheet:"pairs,required"`
	PairByChance  sheet.Sourced `sheet:"pair-by-chance,required"`
	Unnamed       sheet.Sourced `sheet:"unnamed,required"`
	RecentWork    sheet.Sourced `sheet:"recent-work,required"`
	WorkTold      sheet.Sourced `sheet:"work-told,required"`
	Quoted        sheet.Sourced `sheet:"quoted,required"`
	QuoteRight    sheet.Sourced `sheet:"quote-right,required"`
	RanHotAbove   sheet.Sourced `sheet:"ran-hot-above,required"`
	LowBelow      sheet.Sourced `sheet:"low-below,required"`
	ToldRan       sheet.Sourced `sheet:"told-ran,required"`
	Beyond        []Beyond      `sheet:"beyond,required"`

	Litres          sheet.Range   `sheet:"litres,required"`
	KWPerLitre      sheet.Range   `sheet:"kw-per-litre,required"`
	KgPerKW         sheet.Range   `sheet:"kg-per-kw,required"`
	Diesel          sheet.Sourced `sheet:"diesel,required"`
	ViscousFan      sheet.Sourced `sheet:"viscous-fan,required"`
	TwoSpeedFan     sheet.Sourced `sheet:"two-speed-fan,required"`
	InletThermostat sheet.Sourced `sheet:"inlet-thermostat,required"`
	KnownEngine     sheet.Sourced `sheet:"known-engine,required"`
	KnownPower      sheet.Sourced `sheet:"known-power,required"`
	KnownMass       sheet.Sourced `sheet:"known-mass,required"`
	KnownThermostat sheet.Sourced `sheet:"known-thermostat,required"`
	KnownFan        sheet.Sourced `sheet:"known-fan,required"`
	KnownCap        sheet.Sourced `sheet:"known-cap,required"`
	Mistold         sheet.Sourced `sheet:"mistold,required"`
	EngineAbout     sheet.Sourced `sheet:"engine-about,required"`
	PowerAbout      sheet.Sourced `sheet:"power-about,required"`
	MassAbout       sheet.Sourced `sheet:"mass-about,required"`

	ShopAir      sheet.Range   `sheet:"shop-air,required"`
	ShopAirError sheet.Sourced `sheet:"shop-air-error,required"`
	RoadAirError sheet.Sourced `sheet:"road-air-error,required"`
	Altitude     sheet.Sourced `sheet:"altitude,required"`

	TalkSD   sheet.Sourced `sheet:"talk-sd,required"`
	MemorySD sheet.Sourced `sheet:"memory-sd,required"`
	Asked    sheet.Sourced `sheet:"asked,required"`

	Blunder        sheet.Range   `sheet:"blunder,required"`
	Overlooks      sheet.Sourced `sheet:"overlooks,required"`
	TiltSD         sheet.Sourced `sheet:"tilt-sd,required"`
	SameAgain      sheet.Sourced `sheet:"same-again,required"`
	ReadsNumbers   sheet.Sourced `sheet:"reads-numbers,required"`
	ReadingNoise   sheet.Sourced `sheet:"reading-noise,required"`
	InstrumentBias sheet.Sourced `sheet:"instrument-bias,required"`
	Shiny          sheet.Sourced `sheet:"shiny,required"`
	ShinyShare     sheet.Sourced `sheet:"shiny-share,required"`
	WrongScale     sheet.Sourced `sheet:"wrong-scale,required"`
	StartsHot      sheet.Sourced `sheet:"starts-hot,required"`

	own bool // the lineup's own world; see Own
}

// Own is the world in which the lineup's beliefs are true: the same prior,
// everything about the vehicle told, owners and mechanics as the catalogue has
// them. On its cars the percentages must be right but for the lineup's size, so
// it tells a fault of the computation from a difference between the worlds.
func (w World) Own() *World {
	w.own = true
	one, zero := sheet.Sourced{Value: 1}, sheet.Sourced{}
	for _, p := range []*sheet.Sourced{
		&w.Spread, &w.SeverityShape, &w.SharePower, &w.KnownEngine, &w.KnownPower, &w.KnownMass, &w.KnownThermostat,
		&w.KnownFan, &w.KnownCap, &w.ReadingNoise,
	} {
		*p = one
	}
	for _, p := range []*sheet.Sourced{
		&w.Unnamed, &w.RecentWork, &w.Quoted, &w.Mistold, &w.EngineAbout, &w.PowerAbout, &w.MassAbout, &w.ShopAirError, &w.RoadAirError, &w.TalkSD, &w.MemorySD,
		&w.Asked, &w.TiltSD, &w.InstrumentBias, &w.Shiny, &w.WrongScale, &w.ToldRan, &w.Pairs,
	} {
		*p = zero
	}
	w.Together, w.Wear = nil, nil
	w.Blunder = sheet.Range{Low: 1e-9, Typical: 1e-9, High: 1e-9}
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
	Leak   string  `sheet:"leak,required"`        // the cause that the alarm "leak" is about
	Unseen string  `sheet:"leak-unseen,required"` // the repair where the leak is not seen
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
	Words sheet.RestWords `sheet:",rest"`
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
	if err := sheet.Embedded("world.yaml", worldYAML, &w); err != nil {
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
	if err := sheet.Embedded("textbook.yaml", textbookYAML, &t); err != nil {
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
