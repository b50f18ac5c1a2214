package cause

import (
	"math"

	"weephole/circuit"
)

// Apply changes the circuit as the cause with severity s (0..1) and the given
// hidden states does. Hidden may be nil when the cause has none.
func (c *Cause) Apply(s float64, hidden []int, circ *circuit.Circuit) {
	for i := range c.Acts {
		c.Acts[i].apply(s, circ)
	}
	for h := range c.Hidden {
		if h >= len(hidden) || hidden[h] < 0 || hidden[h] >= len(c.Hidden[h].States) {
			continue
		}
		acts := c.Hidden[h].States[hidden[h]].Acts
		for i := range acts {
			acts[i].apply(s, circ)
		}
	}
}

// value is the act's change at severity s: linear between Mild and Severe, or
// linear in the logarithm when Log is set.
func (a *Act) value(s float64) float64 {
	s = math.Min(1, math.Max(0, s))
	if a.Log {
		return a.Mild * math.Pow(a.Severe/a.Mild, s)
	}
	return a.Mild + s*(a.Severe-a.Mild)
}

func (a *Act) apply(s float64, circ *circuit.Circuit) {
	v := a.value(s)
	if a.target.flag != nil {
		*a.target.flag(circ) = v >= 0.5
		return
	}
	p := circ.Number(a.target.name)
	if p == nil {
		return
	}
	switch a.How {
	case Set:
		*p = v
	case Times:
		*p *= v
	case Plus:
		*p += v
	}
}
