package stranger

import (
	"bytes"
	_ "embed"
	"fmt"
	"math"
	"math/rand/v2"
	"sync"

	"github.com/goccy/go-yaml"
)

//go:embed ranges.yaml
var rangesData []byte

// Range is what a number of the stranger's world is drawn from.
type Range struct {
	Low    float64 `yaml:"low"`
	High   float64 `yaml:"high"`
	Log    bool    `yaml:"log"`
	Unit   string  `yaml:"unit"`
	Source string  `yaml:"source"`
}

// Ranges are all of them by name; the names are those of ranges.yaml.
type Ranges map[string]Range

// DefaultRanges reads the embedded table.
var DefaultRanges = sync.OnceValues(func() (Ranges, error) { return ReadRanges(rangesData) })

// ReadRanges reads a table of ranges; each needs a source.
func ReadRanges(data []byte) (Ranges, error) {
	r := make(Ranges)
	d := yaml.NewDecoder(bytes.NewReader(data), yaml.Strict())
	if err := d.Decode(&r); err != nil {
		return nil, fmt.Errorf("ranges: %w", err)
	}
	for name, x := range r {
		switch {
		case x.Source == "":
			return nil, fmt.Errorf("ranges: %s: source is missing; write where the range comes from, or judgement", name)
		case !(x.Low < x.High):
			return nil, fmt.Errorf("ranges: %s: low %g is not below high %g", name, x.Low, x.High)
		case x.Log && x.Low <= 0:
			return nil, fmt.Errorf("ranges: %s: low %g with log; write a number above 0", name, x.Low)
		}
	}
	return r, nil
}

//go:embed habits.yaml
var habitsData []byte

// habits are single numbers by name.
var habits = sync.OnceValues(func() (map[string]float64, error) {
	table := make(map[string]struct {
		Value  float64 `yaml:"value"`
		Source string  `yaml:"source"`
	})
	if err := yaml.NewDecoder(bytes.NewReader(habitsData), yaml.Strict()).Decode(&table); err != nil {
		return nil, fmt.Errorf("habits: %w", err)
	}
	out := make(map[string]float64, len(table))
	for name, x := range table {
		if x.Source == "" {
			return nil, fmt.Errorf("habits: %s: source is missing", name)
		}
		out[name] = x.Value
	}
	return out, nil
})

// draws are the draws of one car. A name that the table does not have is a
// mistake of the program, found by the first test that draws a car.
type draws struct {
	from Ranges
	rng  *rand.Rand
}

func (d draws) of(name string) float64 {
	r, ok := d.from[name]
	if !ok {
		panic("stranger: no range " + name)
	}
	u := d.rng.Float64()
	if r.Log {
		return r.Low * math.Pow(r.High/r.Low, u)
	}
	return r.Low + u*(r.High-r.Low)
}

// fact is a single number.
func (d draws) fact(name string) float64 {
	table, err := habits()
	if err != nil {
		panic(err) // the table is embedded and tested
	}
	x, ok := table[name]
	if !ok {
		panic("stranger: no habit " + name)
	}
	return x
}

// may is true with the probability of a habit.
func (d draws) may(name string) bool { return d.chance(d.fact(name)) }

// chance is true with probability p.
func (d draws) chance(p float64) bool { return d.rng.Float64() < p }

// between is even between two numbers of the fault table.
func (d draws) between(low, high float64) float64 { return low + d.rng.Float64()*(high-low) }
