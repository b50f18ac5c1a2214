package work

import (
	_ "embed"
	"fmt"
	"slices"
	"strings"
	"sync"

	"weephole/check"
	"weephole/sheet"
)

//go:embed steps.yaml
var stepsYAML []byte

// SheetData is the sheet of steps, read once and not changed afterwards.
type SheetData struct {
	Maker       []Datum       `sheet:"maker,required"`
	Steps       []Steps       `sheet:"steps,required"`
	Drained     Drained       `sheet:"drained,required"`
	LeastGlycol sheet.Sourced `sheet:"least-glycol,required"`
	MostGlycol  sheet.Sourced `sheet:"most-glycol,required"`
	UsualGlycol sheet.Sourced `sheet:"usual-glycol,required"`
	Bleeding    []Layout      `sheet:"bleeding,required"`
	Thermostat  []Layout      `sheet:"thermostat,required"`
	Disposal    string        `sheet:"disposal,required"`

	checks *check.Checklist
}

// DatumID names something that only the maker's data can tell: "bleed-screws".
type DatumID string

// Two that the job file has keys of its own for.
const (
	coolantCapacity DatumID = "coolant-capacity"
	capPressure     DatumID = "cap-pressure"
)

// Datum is something that only the maker's data can tell, with its name for people.
type Datum struct {
	ID   DatumID `sheet:"id,required"`
	Name string  `sheet:"name,required"`
}

// Steps is the order of work of one repair.
type Steps struct {
	Repair string    `sheet:"repair,required"`
	Drains string    `sheet:"drains,required"` // radiator, block or none
	Ask    []DatumID `sheet:"ask"`
	Order  []string  `sheet:"order,required"`
	Look   []string  `sheet:"look"`
	Old    []string  `sheet:"old"` // checks that the old part, once out or open, is the best subject of
}

// Drained is the share of the system's coolant that comes out, 0..1.
type Drained struct {
	Radiator sheet.Sourced `sheet:"radiator,required"`
	Block    sheet.Sourced `sheet:"block,required"`
	None     sheet.Sourced `sheet:"none,required"`
}

// Layout is what depends on where the thermostat sits.
type Layout struct {
	Layout string   `sheet:"layout,required"` // outlet or inlet
	Order  []string `sheet:"order"`
	Says   string   `sheet:"says"`
}

// DefaultSheetData reads the embedded sheet.
var DefaultSheetData = sync.OnceValues(func() (*SheetData, error) {
	var d SheetData
	if err := sheet.Embedded("work/steps.yaml", stepsYAML, &d); err != nil {
		return nil, fmt.Errorf("repair sheet: %w", err)
	}
	var err error
	if d.checks, err = check.Default(); err != nil {
		return nil, fmt.Errorf("repair sheet: %w", err)
	}
	for i := range d.Steps {
		for _, id := range d.Steps[i].Old {
			if d.checks.Check(id) == nil {
				return nil, fmt.Errorf("repair sheet: work/steps.yaml: repair %s: old: there is no check %q", d.Steps[i].Repair, id)
			}
		}
		for _, id := range d.Steps[i].Ask {
			if !slices.ContainsFunc(d.Maker, func(m Datum) bool { return m.ID == id }) {
				return nil, fmt.Errorf("repair sheet: work/steps.yaml: repair %s: ask: %q does not stand under maker", d.Steps[i].Repair, id)
			}
		}
	}
	return &d, nil
})

// Datum finds what a job calls something of the maker's data: by its id, or by its
// name as people write it; nil where the sheets do not ask for it.
func (d *SheetData) Datum(what string) *Datum {
	what = strings.TrimSpace(what)
	for i := range d.Maker {
		if m := &d.Maker[i]; what == string(m.ID) || strings.EqualFold(what, m.Name) {
			return m
		}
	}
	return nil
}

// For gives the steps of a repair; one that the sheet does not know (a shop's
// own) has none.
func (d *SheetData) For(repair string) *Steps {
	for i := range d.Steps {
		if d.Steps[i].Repair == repair {
			return &d.Steps[i]
		}
	}
	return nil
}

func (d *SheetData) share(drains string) float64 {
	switch drains {
	case "radiator":
		return d.Drained.Radiator.Value
	case "block":
		return d.Drained.Block.Value
	}
	return d.Drained.None.Value
}

func layoutOf(list []Layout, layout string) *Layout {
	for i := range list {
		if list[i].Layout == layout {
			return &list[i]
		}
	}
	return nil
}
