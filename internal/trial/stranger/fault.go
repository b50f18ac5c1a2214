package stranger

import (
	"bytes"
	_ "embed"
	"fmt"
	"math"
	"sync"

	"github.com/goccy/go-yaml"
)

//go:embed faults.yaml
var faultsData []byte

// Fault is something wrong with a car.
type Fault struct {
	Cause    string  `json:"cause"` // an id of the catalogue; nothing else of it is known here
	Mode     string  `json:"mode"`
	Severity float64 `json:"severity"` // 0 mild, 1 severe
}

// kind is a fault as the table has it.
type kind struct {
	Cause string  `yaml:"cause"`
	Often float64 `yaml:"often"`
	Needs string  `yaml:"needs"`
	Modes []struct {
		Name  string                `yaml:"name"`
		Often float64               `yaml:"often"`
		Does  map[string][2]float64 `yaml:"does"`
	} `yaml:"modes"`
}

var kinds = sync.OnceValues(func() ([]kind, error) {
	var list []kind
	if err := yaml.NewDecoder(bytes.NewReader(faultsData), yaml.Strict()).Decode(&list); err != nil {
		return nil, fmt.Errorf("faults: %w", err)
	}
	for i := range list {
		for _, m := range list[i].Modes {
			for name := range m.Does {
				e := none()
				if e.at(name) == nil {
					return nil, fmt.Errorf("faults: %s: no effect %q", list[i].Cause, name)
				}
			}
		}
	}
	return list, nil
})

// Causes lists the causes that the stranger's cars may have.
func Causes() ([]string, error) {
	list, err := kinds()
	if err != nil {
		return nil, err
	}
	var ids []string
	for _, k := range list {
		ids = append(ids, k.Cause)
	}
	return ids, nil
}

// effects is what faults do to a car; none() is a car as it was built.
type effects struct {
	maxLift, minLift, opensLater, closesLater, waxSlower, waxAstray float64
	missing, trapped, leak                                          float64 // L, L, mm2
	cap, deadTubes, screened                                        float64
	fanLost, lowLost, grip, shroud, drawsBack, reversed             float64
	impeller, slip, sucked                                          float64
	gas, gasLoad, gasHot                                            float64 // mL/s of free gas at idle, or at full load
	glycol                                                          float64 // below 0: as filled
	sensorParallel, sensorSeries, sensorOhms, sensorOpen            float64 // kOhm, kOhm, factor
	needle, needleWanders, needleDead                               float64 // shares of the scale
	ram, fanStuck, flap                                             float64
	heater, gasHotter, wasted, drag, film, passages                 float64
}

func none() effects {
	return effects{maxLift: 1, waxSlower: 1, cap: 1, grip: 1, shroud: 1, impeller: 1, glycol: -1, sensorOhms: 1,
		ram: 1, heater: 1, gasHotter: 1, wasted: 1, film: 1, passages: 1}
}

func (e *effects) at(name string) *float64 {
	p, ok := map[string]*float64{
		"max-lift": &e.maxLift, "min-lift": &e.minLift, "opens-later": &e.opensLater, "closes-later": &e.closesLater,
		"wax-slower": &e.waxSlower, "wax-astray": &e.waxAstray,
		"missing": &e.missing, "trapped": &e.trapped, "leak": &e.leak,
		"cap": &e.cap, "dead-tubes": &e.deadTubes, "screened": &e.screened,
		"fan-lost": &e.fanLost, "low-lost": &e.lowLost, "grip": &e.grip, "shroud": &e.shroud, "draws-back": &e.drawsBack, "reversed": &e.reversed,
		"impeller": &e.impeller, "slip": &e.slip, "sucked": &e.sucked,
		"gas": &e.gas, "gas-load": &e.gasLoad, "gas-hot": &e.gasHot, "glycol": &e.glycol,
		"sensor-parallel": &e.sensorParallel, "sensor-series": &e.sensorSeries, "sensor-ohms": &e.sensorOhms, "sensor-open": &e.sensorOpen,
		"needle": &e.needle, "needle-wanders": &e.needleWanders, "needle-dead": &e.needleDead,
		"ram": &e.ram, "fan-stuck": &e.fanStuck, "flap": &e.flap,
		"heater": &e.heater, "gas-hotter": &e.gasHotter, "wasted": &e.wasted, "drag": &e.drag, "film": &e.film, "passages": &e.passages,
	}[name]
	if !ok {
		return nil
	}
	return p
}

// suffers gives the car a fault of a cause, with a mode and a severity drawn.
func (c *Car) suffers(k *kind, d draws) {
	total := 0.0
	for _, m := range k.Modes {
		total += m.Often
	}
	u := d.rng.Float64() * total
	i := 0
	for ; i < len(k.Modes)-1; i++ {
		if u -= k.Modes[i].Often; u < 0 {
			break
		}
	}
	f := Fault{Cause: k.Cause, Mode: k.Modes[i].Name, Severity: d.rng.Float64()}
	if f.Mode == "low-step" && c.FanKind != TwoSpeed {
		f.Mode = "supply"
		c.is.fanLost = 1
	}
	for name, of := range k.Modes[i].Does {
		if name == "low-lost" && c.FanKind != TwoSpeed {
			continue
		}
		p := c.is.at(name)
		x := of[0] + f.Severity*(of[1]-of[0])
		switch p {
		case &c.is.missing, &c.is.trapped: // two losses add up
			x += *p
		case &c.is.heater, &c.is.maxLift, &c.is.impeller: // the worse of two
			x = math.Min(x, *p)
		case &c.is.screened, &c.is.waxAstray, &c.is.minLift:
			x = math.Max(x, *p)
		}
		*p = x
	}
	c.Faults = append(c.Faults, f)
}

// has tells whether the car has a cause.
func (c *Car) has(cause string) *Fault {
	for i := range c.Faults {
		if c.Faults[i].Cause == cause {
			return &c.Faults[i]
		}
	}
	return nil
}

// may tells whether a car can have a fault of a kind.
func (c *Car) may(k *kind) bool {
	switch k.Needs {
	case "electric":
		return c.FanKind != Viscous
	case "viscous":
		return c.FanKind == Viscous
	}
	return true
}
