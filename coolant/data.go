package coolant

import (
	"bytes"
	_ "embed"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"sync"
)

//go:embed data/properties.json
var propertiesJSON []byte

//go:embed data/freezing.csv
var freezingCSV []byte

//go:embed data/pure.csv
var pureCSV []byte

//go:embed data/constants.csv
var constantsCSV []byte

// polynomial holds c[i][j] of the sum of c[i][j] y^i z^j: y kelvins from the base
// temperature, z mass fraction from the base fraction.
type polynomial [4][6]float64

// fluid is one glycol's data.
type fluid struct {
	MaxMassFraction  float64    `json:"max_mass_fraction"`
	BaseMassFraction float64    `json:"base_mass_fraction"`
	BaseTemperatureK float64    `json:"base_temperature_K"`
	Density          polynomial `json:"density"`
	HeatCapacity     polynomial `json:"heat_capacity"`
	Conductivity     polynomial `json:"conductivity"`
	LnViscosity      polynomial `json:"ln_viscosity"`

	pure        pureGlycol
	molarMass   float64 // g/mol
	vapour      antoine
	doubtK      float64 // K that the boiling point may lie lower
	doubtStrong float64 // the same above 50 volume percent

	// The ASHRAE curve, rising fractions, starting with pure water.
	mass, volume, freezingC []float64
}

// maxVolumeFraction is the volume fraction of the curve's last row.
func (f *fluid) maxVolumeFraction() float64 { return f.volume[len(f.volume)-1] }

// tables is everything in the data folder. It is read once and never written.
type tables struct {
	fluids     [numGlycols]fluid
	waterMolar float64     // g/mol
	if97       [11]float64 // n1..n10 at 1..10
	air        atmosphere
	zeroK      float64 // K at 0 degC
	highestC   float64 // degC, end of the properties
	testerC    float64 // degC, coldest mark on the scale of a tester
	minPa      float64 // Pa, ends of boiling
	maxPa      float64
}

// data reads the embedded files. A fault in them is a fault of the program, so it panics;
// the package's tests read every row.
var data = sync.OnceValue(func() *tables {
	t, err := readTables()
	if err != nil {
		panic("coolant: embedded data: " + err.Error())
	}
	return t
})

func readTables() (*tables, error) {
	numbers, err := readConstants()
	if err != nil {
		return nil, err
	}
	missing := ""
	number := func(name string) float64 {
		v, ok := numbers[name]
		if !ok {
			missing = name
		}
		return v
	}
	var file struct{ Fluids map[string]fluid }
	if err := json.Unmarshal(propertiesJSON, &file); err != nil {
		return nil, fmt.Errorf("properties.json: %w", err)
	}
	t := &tables{
		waterMolar: number("water-molar-mass"),
		zeroK:      number("zero-celsius"),
		highestC:   number("highest-temperature"),
		testerC:    number("tester-coldest"),
		minPa:      number("lowest-pressure"),
		maxPa:      number("highest-pressure"),
		air: atmosphere{
			pressurePa:   number("sea-level-pressure"),
			temperatureK: number("sea-level-temperature"),
			lapse:        number("lapse-rate"),
			exponent: number("gravity") * number("air-molar-mass") /
				(number("gas-constant-of-atmosphere") * number("lapse-rate")),
		},
	}
	for i := 1; i <= 10; i++ {
		t.if97[i] = number("if97-n" + strconv.Itoa(i))
	}
	for _, g := range Glycols() {
		f, ok := file.Fluids[g.String()]
		if !ok {
			return nil, fmt.Errorf("properties.json: no fluid %q", g)
		}
		f.molarMass = number(g.String() + "-molar-mass")
		f.vapour = antoine{
			a: number(g.String() + "-vapour-a"),
			b: number(g.String() + "-vapour-b"),
			c: number(g.String() + "-vapour-c"),
		}
		f.doubtK = number(g.String() + "-boiling-doubt")
		f.doubtStrong = number(g.String() + "-boiling-doubt-strong")
		t.fluids[g] = f
	}
	if missing != "" {
		return nil, fmt.Errorf("constants.csv: no row %q", missing)
	}
	if err := readFreezing(t); err != nil {
		return nil, err
	}
	return t, readPure(t)
}

func readConstants() (map[string]float64, error) {
	rows, err := csv.NewReader(bytes.NewReader(constantsCSV)).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("constants.csv: %w", err)
	}
	numbers := make(map[string]float64, len(rows))
	for i, row := range rows[1:] {
		v, err := strconv.ParseFloat(row[1], 64)
		if err != nil {
			return nil, fmt.Errorf("constants.csv: row %d: %w", i+2, err)
		}
		numbers[row[0]] = v
	}
	return numbers, nil
}

func readFreezing(t *tables) error {
	rows, err := csv.NewReader(bytes.NewReader(freezingCSV)).ReadAll()
	if err != nil {
		return fmt.Errorf("freezing.csv: %w", err)
	}
	for i, row := range rows[1:] {
		var kind Glycol
		if err := kind.UnmarshalText([]byte(row[0])); err != nil {
			return fmt.Errorf("freezing.csv: row %d: %w", i+2, err)
		}
		var v [3]float64
		for k := range v {
			if v[k], err = strconv.ParseFloat(row[k+1], 64); err != nil {
				return fmt.Errorf("freezing.csv: row %d: %w", i+2, err)
			}
		}
		f := &t.fluids[kind]
		f.mass = append(f.mass, v[0])
		f.volume = append(f.volume, v[1])
		f.freezingC = append(f.freezingC, v[2])
	}
	return nil
}

// pureGlycol is undiluted glycol: cubics in kelvins from the fluid's base temperature.
type pureGlycol struct {
	lowC                                             float64 // degC, the first row
	density, heatCapacity, conductivity, lnViscosity [4]float64
}

// readPure lays a cubic through the four rows of each glycol.
func readPure(t *tables) error {
	rows, err := csv.NewReader(bytes.NewReader(pureCSV)).ReadAll()
	if err != nil {
		return fmt.Errorf("pure.csv: %w", err)
	}
	const each = 4
	if len(rows) != 1+each*int(numGlycols) {
		return fmt.Errorf("pure.csv: %d rows, want a header and %d for each glycol", len(rows), each)
	}
	for _, g := range Glycols() {
		var columns [5][each]float64
		for i, row := range rows[1+each*int(g) : 1+each*(int(g)+1)] {
			if row[0] != g.String() {
				return fmt.Errorf("pure.csv: found %q, want %s", row[0], g)
			}
			for k := range columns {
				if columns[k][i], err = strconv.ParseFloat(row[k+1], 64); err != nil {
					return fmt.Errorf("pure.csv: %w", err)
				}
			}
		}
		f := &t.fluids[g]
		f.pure.lowC = columns[0][0]
		y, viscosity := columns[0], columns[4]
		for i := range each {
			y[i] += t.zeroK - f.BaseTemperatureK
			viscosity[i] = math.Log(viscosity[i])
		}
		f.pure.density = cubicThrough(y, columns[1])
		f.pure.heatCapacity = cubicThrough(y, columns[2])
		f.pure.conductivity = cubicThrough(y, columns[3])
		f.pure.lnViscosity = cubicThrough(y, viscosity)
	}
	return nil
}
