package check

import (
	"bytes"
	_ "embed"
	"fmt"
	"io"

	"weephole/cause"
	"weephole/circuit"
	"weephole/sheet"
)

//go:embed checks.yaml
var checksSheet []byte

//go:embed signs.yaml
var signsSheet []byte

//go:embed details.yaml
var detailsSheet []byte

// layout is what the sheets of this package may say.
type layout struct {
	Checks     []Check       `sheet:"checks"`
	Signs      []Sign        `sheet:"signs"`
	Conditions []Condition   `sheet:"conditions"`
	LowCoolant sheet.Sourced `sheet:"low-coolant"`
	Careless   sheet.Sourced `sheet:"careless"`
	Quote      sheet.Sourced `sheet:"quote"`
	About      sheet.Sourced `sheet:"about"`
	Pending    sheet.Sourced `sheet:"pending"`
	RoadSpeed  sheet.Sourced `sheet:"road-speed"`
	RoadADay   sheet.Sourced `sheet:"road-a-day"`
	Works      []Same        `sheet:"works"`
	Whose      []Whose       `sheet:"whose"`
	Scales     []Scale       `sheet:"scales"`
	Weather    []Weather     `sheet:"weather"`
	SignWords  []SignWord    `sheet:"sign-words"`
	Cars       []CarOdds     `sheet:"cars"`
	EngineFans []EngineFan   `sheet:"engine-fans"`
	Meanings   []Meaning     `sheet:"means"`
}

// SheetKeys are the top-level keys that this package reads of a sheet.
func SheetKeys() []string { return sheet.Keys(layout{}) }

// elsewhere are the top-level keys of an overlay that others read: package cause, and
// what people say.
func elsewhere() []string { return append(cause.SheetKeys(), "same", "phrases") }

// Default is the built-in catalogue of checks, for the built-in causes.
func Default() (*Checklist, error) {
	causes, err := cause.Default()
	if err != nil {
		return nil, err
	}
	return Builtin(causes)
}

// Builtin is the built-in catalogue of checks, resolved against causes, which
// may have been overlaid with a shop's own.
func Builtin(causes *cause.Catalogue) (*Checklist, error) {
	return load(causes, []sheet.Source{
		{Name: "checks.yaml", Data: checksSheet},
		{Name: "signs.yaml", Data: signsSheet},
		{Name: "details.yaml", Data: detailsSheet},
	})
}

// Load reads a catalogue of the given sheets, the later ones overlaying the
// earlier, and resolves it against causes.
func Load(causes *cause.Catalogue, sheets ...sheet.Source) (*Checklist, error) {
	if len(sheets) == 0 {
		return nil, fmt.Errorf("load catalogue of checks: no sheets given")
	}
	return load(causes, append([]sheet.Source(nil), sheets...))
}

// Overlay returns a new catalogue with a shop's own sheet laid over both this
// one and its causes; the receiver is not changed. Causes of the result gives
// the overlaid causes.
func (c *Checklist) Overlay(r io.Reader, name string) (*Checklist, error) {
	data, err := sheet.ReadAll(r, name)
	if err != nil {
		return nil, err
	}
	causes, err := c.causes.Overlay(bytes.NewReader(data), name)
	if err != nil {
		return nil, err
	}
	sheets := append([]sheet.Source(nil), c.sheets...)
	return load(causes, append(sheets, sheet.Source{Name: name, Data: data}))
}

// Causes is the catalogue of causes that the checks are resolved against.
func (c *Checklist) Causes() *cause.Catalogue { return c.causes }

// Index is the position of the check with the id in Checks, or -1.
func (c *Checklist) Index(id string) int {
	if i, ok := c.byID[id]; ok {
		return i
	}
	return -1
}

// Check is the check with the id, or nil.
func (c *Checklist) Check(id string) *Check {
	if i := c.Index(id); i >= 0 {
		return &c.Checks[i]
	}
	return nil
}

// SignIndex is the position of the sign with the id in Signs, or -1.
func (c *Checklist) SignIndex(id string) int {
	for i := range c.Signs {
		if c.Signs[i].ID == id {
			return i
		}
	}
	return -1
}

// ConditionIndex is the position of the condition with the id in Conditions,
// or -1.
func (c *Checklist) ConditionIndex(id string) int {
	for i := range c.Conditions {
		if c.Conditions[i].ID == id {
			return i
		}
	}
	return -1
}

// ComplaintSituations are the situations that all signs and conditions together
// look at.
func (c *Checklist) ComplaintSituations() circuit.Set {
	var set circuit.Set
	add := func(t *truth) {
		for _, all := range t.alternatives {
			for i := range all {
				set = all[i].needs(set)
			}
		}
	}
	for i := range c.Signs {
		add(&c.Signs[i].truth)
	}
	for i := range c.Conditions {
		add(&c.Conditions[i].hot)
		add(&c.Conditions[i].cold)
	}
	return set
}

// Index is the check's position in its catalogue.
func (c *Check) Index() int { return c.index }

// WordIndex is the position of the word in Words, or -1.
func (c *Check) WordIndex(word string) int {
	for i := range c.Words {
		if c.Words[i].Is == word {
			return i
		}
	}
	return -1
}

// CodeWord is the position of the word that stands for a trouble code (SAE
// J2012, "P0128"), or -1.
func (c *Check) CodeWord(code string) int {
	for i := range c.Words {
		for _, k := range c.Words[i].Codes {
			if k == code {
				return i
			}
		}
	}
	return -1
}

// ReadingIndex is the position of the reading with the id in Readings, or -1.
func (c *Check) ReadingIndex(id string) int {
	for i := range c.Readings {
		if c.Readings[i].ID == id {
			return i
		}
	}
	return -1
}

// Situations are the situations that must be run for Shows and the readings.
func (c *Check) Situations() circuit.Set {
	var set circuit.Set
	for i := range c.words {
		set = c.words[i].needs(set)
	}
	for i := range c.Readings {
		r := &c.Readings[i]
		set = r.minus.needs(r.of.needs(set))
	}
	return set
}

// Situations are the situations that must be run for So.
func (g *Sign) Situations() circuit.Set {
	var set circuit.Set
	for _, all := range g.truth.alternatives {
		for i := range all {
			set = all[i].needs(set)
		}
	}
	return set
}

// Physical says whether the check's words come from the circuit's run, apart
// from the causes that its table names.
func (c *Check) Physical() bool { return c.physical }

// Fits says whether the check can be made on a car with such a fan.
func (c *Check) Fits(kind circuit.FanKind) bool { return cause.FanFits(c.Fan, kind) }

func (o observed) needs(set circuit.Set) circuit.Set {
	if o.ok {
		return set.With(o.is.Situation)
	}
	return set
}

func (c *condition) needs(set circuit.Set) circuit.Set {
	return c.minus.needs(c.of.needs(set))
}

// Index is the sign's position in its catalogue.
func (g *Sign) Index() int { return g.index }

// Kind is the kind of trouble that the sign tells of.
func (g *Sign) Kind() Trouble { return g.trouble }

// Index is the condition's position in its catalogue.
func (c *Condition) Index() int { return c.index }

// PlausibleSI is the range of values, in SI with temperatures in degrees
// Celsius, outside which a reading is not believed.
func (r *ReadingModel) PlausibleSI() (low, high float64) {
	return r.Plausible[0] * r.scale, r.Plausible[1] * r.scale
}

func load(causes *cause.Catalogue, sheets []sheet.Source) (*Checklist, error) {
	var l layout
	var problems sheet.Mistakes
	for i, s := range sheets {
		s = s.Parsed()
		sheets[i] = s
		problems = append(problems, sheet.Read(s, &l, elsewhere()...)...)
	}
	if err := problems.Err(); err != nil {
		return nil, err
	}
	c := &Checklist{
		Checks: l.Checks, Signs: l.Signs, Conditions: l.Conditions,
		LowCoolant: l.LowCoolant, Careless: l.Careless, Quote: l.Quote, About: l.About,
		Pending: l.Pending, RoadSpeed: l.RoadSpeed, RoadADay: l.RoadADay, Works: l.Works,
		Whose: l.Whose, Scales: l.Scales, Weather: l.Weather, SignWords: l.SignWords, Cars: l.Cars, EngineFans: l.EngineFans, Meanings: l.Meanings,
		Tools: causes.Tools, Hazards: causes.Hazards,
		causes: causes, sheets: sheets,
	}
	problems = c.resolve()
	if err := problems.Err(); err != nil {
		return nil, err
	}
	return c, nil
}
