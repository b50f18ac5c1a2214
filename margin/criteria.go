package margin

import (
	"bytes"
	_ "embed"
	"fmt"
	"strings"

	"weephole/quantity"
	"weephole/sheet"
)

//go:embed duties.yaml
var dutiesYAML []byte

// Criteria are the duties and the numbers that go with them; duties.yaml says what
// each is, in which unit, and where it comes from.
type Criteria struct {
	Duties []Duty `sheet:"duties,required"`
	Bans   []Ban  `sheet:"bans,required"`
	// RoadTest is the mechanic's own drive with the car.
	RoadTest RoadTest `sheet:"road-test,required"`

	GasDeviation sheet.Sourced `sheet:"gas-deviation,required"` // of a logarithm: Other.Gas
	MetalLimit   sheet.Sourced `sheet:"metal-limit,required"`
	Day          sheet.Sourced `sheet:"day,required"`
	LowestAir    sheet.Sourced `sheet:"lowest-air,required"`
	HighestAir   sheet.Sourced `sheet:"highest-air,required"`
	Settle       sheet.Sourced `sheet:"settle,required"`
	SearchWithin sheet.Sourced `sheet:"search-within,required"`
	Engines      sheet.Sourced `sheet:"engines,required"`
	Slower       sheet.Sourced `sheet:"slower,required"`
	Evening      sheet.Sourced `sheet:"evening,required"`
	CarryAbove   sheet.Sourced `sheet:"carry-above,required"`
	StopBefore   sheet.Sourced `sheet:"stop-before,required"`
	UnnamedMost  sheet.Sourced `sheet:"unnamed-most,required"`
	Start        sheet.Sourced `sheet:"start,required"`
	StartSoaked  sheet.Sourced `sheet:"start-soaked,required"`
	DryFill      sheet.Sourced `sheet:"dry-fill,required"`
	DryMost      sheet.Sourced `sheet:"dry-most,required"`

	SearchBeyond sheet.Sourced `sheet:"search-beyond,required"`
	SearchesMost sheet.Sourced `sheet:"searches-most,required"`
	SlopeFrom    sheet.Sourced `sheet:"slope-from,required"`
	SlopeLeast   sheet.Sourced `sheet:"slope-least,required"`
	SlopeMost    sheet.Sourced `sheet:"slope-most,required"`
	SensorErrs   sheet.Sourced `sheet:"sensor-errs,required"`
	RoundsMost   sheet.Sourced `sheet:"rounds-most,required"`
	RoundWithin  sheet.Sourced `sheet:"round-within,required"`
	AddEvery     sheet.Sourced `sheet:"add-every,required"`
	AddBelow     sheet.Sourced `sheet:"add-below,required"`

	MetalStep   sheet.Sourced `sheet:"metal-step,required"`
	MetalWithin sheet.Sourced `sheet:"metal-within,required"`
	HoldStart   sheet.Sourced `sheet:"hold-start,required"`
	ReadFor     sheet.Sourced `sheet:"read-for,required"`
	ReadEvery   sheet.Sourced `sheet:"read-every,required"`
	NeverBoils  sheet.Sourced `sheet:"never-boils,required"`
	HeldMost    sheet.Sourced `sheet:"held-most,required"`
	OneForOne   sheet.Sourced `sheet:"one-for-one,required"`
	TripMost    sheet.Sourced `sheet:"trip-most,required"`
}

// RoadTest is a trip, as ParseTrip reads it.
type RoadTest struct {
	At     sheet.At `sheet:",at" json:"-"`
	Trip   string   `sheet:"trip,required" json:"trip"`
	Source string   `sheet:"source,required" json:"source"`
}

// Ban is a finding with which an engine must not be run at all: a sign, or a check
// with the word that it showed.
type Ban struct {
	At     sheet.At `sheet:",at" json:"-"`
	Sign   string   `sheet:"sign" json:"sign,omitempty"`
	Check  string   `sheet:"check" json:"check,omitempty"`
	Word   string   `sheet:"word" json:"word,omitempty"`
	Says   string   `sheet:"says,required" json:"says"`
	Source string   `sheet:"source,required" json:"source"`
}

// DefaultCriteria reads the embedded sheet.
func DefaultCriteria() (*Criteria, error) {
	return ReadCriteria(sheet.Source{Name: "margin/duties.yaml", Data: bytes.Clone(dutiesYAML)})
}

// ReadCriteria reads a sheet of duties and numbers; errors name the file, line and
// field.
func ReadCriteria(src sheet.Source) (*Criteria, error) {
	var k Criteria
	wrong := sheet.Read(src, &k)
	seen := map[string]bool{}
	for i := range k.Duties {
		d := &k.Duties[i]
		if seen[d.ID] {
			wrong.Add(d.At, "id", "duty %q is written twice; keep one", d.ID)
		}
		seen[d.ID] = true
		d.check(&wrong)
	}
	for _, b := range k.Bans {
		if (b.Sign == "") == (b.Check == "") || (b.Check == "") != (b.Word == "") {
			wrong.Add(b.At, "sign", "a ban needs either a sign, or a check with its word")
		}
	}
	if k.RoadTest.Trip != "" {
		if _, err := ParseTrip(k.RoadTest.Trip, &k); err != nil {
			wrong.Add(k.RoadTest.At, "trip", "%v", err)
		}
	}
	if k.LowestAir.Value >= k.HighestAir.Value {
		wrong.Add(sheet.At{File: src.Name}, "lowest-air", "%g degC is not below highest-air, %g degC", k.LowestAir.Value, k.HighestAir.Value)
	}
	if v := k.GasDeviation.Value; !(v >= 0 && v <= mostDeviation) {
		wrong.Add(sheet.At{File: src.Name}, "gas-deviation", "found %g; write a number from 0 to %d", v, mostDeviation)
	}
	for _, n := range []struct {
		key   string
		value float64
	}{{"engines", k.Engines.Value}, {"searches-most", k.SearchesMost.Value}, {"rounds-most", k.RoundsMost.Value}, {"add-every", k.AddEvery.Value}, {"held-most", k.HeldMost.Value}} {
		if n.value < 1 {
			wrong.Add(sheet.At{File: src.Name}, n.key, "found %g; write a number above 0", n.value)
		}
	}
	for _, n := range []struct {
		key   string
		value float64
	}{{"metal-step", k.MetalStep.Value}, {"metal-within", k.MetalWithin.Value}, {"read-for", k.ReadFor.Value}, {"read-every", k.ReadEvery.Value}, {"trip-most", k.TripMost.Value}} {
		if !(n.value > 0) { // a search or a run would not end
			wrong.Add(sheet.At{File: src.Name}, n.key, "found %g; write a number above 0", n.value)
		}
	}
	if k.Slower.Value <= 0 || k.Slower.Value > 1 {
		wrong.Add(sheet.At{File: src.Name}, "slower", "found %g; write a share of the speed, above 0 and at most 1", k.Slower.Value)
	}
	if err := wrong.Err(); err != nil {
		return nil, fmt.Errorf("duties: %w", err)
	}
	return &k, nil
}

// Duty gives the duty with the id; the error names the nearest one.
func (k *Criteria) Duty(id string) (*Duty, error) {
	var ids []string
	for i := range k.Duties {
		if k.Duties[i].ID == id {
			return &k.Duties[i], nil
		}
		ids = append(ids, k.Duties[i].ID)
	}
	if near := quantity.Nearest(id, ids); near != "" {
		return nil, fmt.Errorf("no duty is called %q; did you mean %s?", id, near)
	}
	return nil, fmt.Errorf("no duty is called %q; write one of %s", id, strings.Join(ids, ", "))
}
