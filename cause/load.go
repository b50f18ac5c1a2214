package cause

import (
	"bytes"
	_ "embed"
	"fmt"
	"io"

	"weephole/sheet"
)

//go:embed causes.yaml
var causesSheet []byte

//go:embed repairs.yaml
var repairsSheet []byte

//go:embed shop.yaml
var shopSheet []byte

// layout is what the sheets of this package may say.
type layout struct {
	Causes  []Cause       `sheet:"causes"`
	Repairs []Repair      `sheet:"repairs"`
	Tools   []Tool        `sheet:"tools"`
	Hazards []Hazard      `sheet:"hazards"`
	Fades   Fades         `sheet:"fades"`
	Tried   Tried         `sheet:"tried"`
	Tries   []Attempt     `sheet:"attempts"`
	PartBad sheet.Sourced `sheet:"part-bad"`
	Relapse sheet.Sourced `sheet:"relapse"`
	Counts  []ShopCount   `sheet:"counts"`
}

// ShopCount is a shop's own experience: how many closed jobs ended with the cause.
type ShopCount struct {
	At     sheet.At `sheet:",at"`
	Cause  string   `sheet:"cause,required"`
	Closed float64  `sheet:"closed,required"`
	Since  string   `sheet:"since"`
}

// SheetKeys are the top-level keys that this package reads of a sheet.
func SheetKeys() []string { return sheet.Keys(layout{}) }

// elsewhere are the top-level keys of an overlay that package check reads.
var elsewhere = []string{"checks", "signs", "conditions", "low-coolant", "careless", "quote",
	"about", "pending", "road-speed", "road-a-day", "means", "works", "whose", "scales", "weather", "sign-words", "cars", "engine-fans", "same", "phrases"}

// Default is the built-in catalogue.
func Default() (*Catalogue, error) {
	return load([]sheet.Source{
		{Name: "causes.yaml", Data: causesSheet},
		{Name: "repairs.yaml", Data: repairsSheet},
		{Name: "shop.yaml", Data: shopSheet},
	})
}

// Load reads a catalogue of the given sheets, the later ones overlaying the
// earlier. Together they must be complete: every id that is named must exist.
func Load(sheets ...sheet.Source) (*Catalogue, error) {
	if len(sheets) == 0 {
		return nil, fmt.Errorf("load catalogue of causes: no sheets given")
	}
	return load(append([]sheet.Source(nil), sheets...))
}

// Overlay returns a new catalogue with a shop's own sheet laid over this one. Causes,
// repairs, tools and hazards with a new id are added. Those with a known id have the
// named fields replaced, and counts add closed jobs to the weights. The receiver is not
// changed. Keys that belong to package check are skipped.
func (c *Catalogue) Overlay(r io.Reader, name string) (*Catalogue, error) {
	data, err := sheet.ReadAll(r, name)
	if err != nil {
		return nil, err
	}
	sheets := append([]sheet.Source(nil), c.sheets...)
	return load(append(sheets, sheet.Source{Name: name, Data: data}))
}

// Sheets are the sheets that the catalogue was read from, in order.
func (c *Catalogue) Sheets() []sheet.Source {
	out := make([]sheet.Source, len(c.sheets))
	for i, s := range c.sheets {
		out[i] = sheet.Source{Name: s.Name, Data: bytes.Clone(s.Data)}
	}
	return out
}

func load(sheets []sheet.Source) (*Catalogue, error) {
	var l layout
	var problems sheet.Mistakes
	for i, s := range sheets {
		s = s.Parsed()
		sheets[i] = s
		counts := l.Counts
		l.Counts = nil
		problems = append(problems, sheet.Read(s, &l, elsewhere...)...)
		l.Counts = append(counts, l.Counts...)
	}
	if err := problems.Err(); err != nil {
		return nil, err
	}
	c := &Catalogue{
		Causes: l.Causes, Repairs: l.Repairs, Tools: l.Tools, Hazards: l.Hazards,
		Tried: l.Tried, Fades: l.Fades, PartBad: l.PartBad, Relapse: l.Relapse, attempts: l.Tries, sheets: sheets,
	}
	problems = c.resolve(l.Counts)
	if err := problems.Err(); err != nil {
		return nil, err
	}
	return c, nil
}
