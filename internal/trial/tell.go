package trial

import (
	"math"

	"weephole/circuit"
)

// tellable is the least difference that some check must make for a fault to
// count as one that can be told from none at all: the check answers otherwise
// than on the sound car at least every other time. Judgement.
const tellable = 0.5

// tells is how far the most telling check tells this car from the same car with nothing
// wrong. It is the largest total variation distance (0..1) between what a check's words
// are expected to be on one and on the other, before any mechanic errs. It depends on the
// car and the catalogue alone, not on how it is worked. Whether the fault can be told
// from other faults it does not say.
func (c *TrueCar) tells() float64 {
	drill := circuit.NewDrill(circuit.Coarse)
	var faulty, sound circuit.Record
	broken, whole := c.circuit(c.Faults), c.withoutBeyond().circuit(nil)
	drill.Run(&broken, c.Shop, circuit.AllSituations(), &faulty)
	drill.Run(&whole, c.Shop, circuit.AllSituations(), &sound)
	is, was := c.subject(c.Faults, &faulty), c.subject(nil, &sound)
	most := 0.0
	for i := range c.model.Checks.Checks {
		k := &c.model.Checks.Checks[i]
		p, q := make([]float64, len(k.Words)), make([]float64, len(k.Words))
		k.Shows(is, p)
		k.Shows(was, q)
		apart := 0.0
		for w := range p {
			apart += math.Abs(p[w]-q[w]) / 2
		}
		most = math.Max(most, apart)
	}
	return most
}
