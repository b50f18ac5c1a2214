package stranger

import (
	_ "embed"
	"fmt"
	"math"
	"slices"
	"sync"

	"bytes"

	"github.com/goccy/go-yaml"
)

// Finding is one check as the mechanic writes it down.
type Finding struct {
	Check string
	Word  string             // "" if only read
	Read  map[string]float64 // SI: degC, K, Pa gauge, s, shares
	Order []string           // of the readings
	AirC  float64            // NaN: not said
	Log   bool               // the log is the finding
}

//go:embed tests.yaml
var testsData []byte

// shown is a row of tests.yaml.
type shown struct {
	Cause     string                `yaml:"cause"`
	Mode      string                `yaml:"mode"`
	Shows     map[string][2]float64 `yaml:"shows"`
	Otherwise map[string]float64    `yaml:"otherwise"`
}

var tests = sync.OnceValues(func() (map[string][]shown, error) {
	t := make(map[string][]shown)
	if err := yaml.NewDecoder(bytes.NewReader(testsData), yaml.Strict()).Decode(&t); err != nil {
		return nil, fmt.Errorf("tests: %w", err)
	}
	for check, rows := range t {
		for _, r := range rows {
			mild, severe := 0.0, 0.0
			for _, p := range r.Shows {
				mild, severe = mild+p[0], severe+p[1]
			}
			for _, p := range r.Otherwise {
				mild, severe = mild+p, severe+p
			}
			if math.Abs(mild-1) > 1e-9 || math.Abs(severe-1) > 1e-9 {
				return nil, fmt.Errorf("tests: %s %s %s: probabilities add up to %g and %g, not 1", check, r.Cause, r.Mode, mild, severe)
			}
		}
	}
	return t, nil
})

// word draws what a tabulated check shows on the car. With two faults the one
// that shows itself more rarely when sound is asked first.
func (c *Car) word(check string, d draws) string {
	table, err := tests()
	if err != nil {
		panic(err) // the table is embedded and tested
	}
	rows := table[check]
	var sound map[string]float64
	for _, r := range rows {
		if r.Otherwise != nil {
			sound = r.Otherwise
		}
	}
	usual := best(sound)
	for _, f := range c.Faults {
		for _, r := range rows {
			if r.Cause != f.Cause || r.Mode != "" && r.Mode != f.Mode {
				continue
			}
			p := make(map[string]float64, len(r.Shows))
			for w, x := range r.Shows {
				p[w] = x[0] + f.Severity*(x[1]-x[0])
			}
			if w := pick(p, d); w != usual {
				return w
			}
			break
		}
	}
	for _, f := range c.Faults {
		for _, r := range rows {
			if r.Cause == f.Cause && (r.Mode == "" || r.Mode == f.Mode) {
				return usual
			}
		}
	}
	return pick(sound, d)
}

func best(p map[string]float64) string {
	w, most := "", -1.0
	for _, k := range keys(p) {
		if p[k] > most {
			w, most = k, p[k]
		}
	}
	return w
}

func pick(p map[string]float64, d draws) string {
	u := d.rng.Float64()
	list := keys(p)
	for _, k := range list {
		if u -= p[k]; u < 0 {
			return k
		}
	}
	return list[len(list)-1]
}

func keys(p map[string]float64) []string {
	list := make([]string, 0, len(p))
	for k := range p {
		list = append(list, k)
	}
	slices.Sort(list)
	return list
}
