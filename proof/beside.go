package proof

import (
	"context"

	"weephole/check"
	"weephole/circuit"
	"weephole/lineup"
)

// partBeside parts another fault that bears on the complaint from one that is beside the point.
//
// One car in twenty has a cap that does not hold its rating, and one in twenty-five has lost its
// air dam. Neither is what a car came for that runs cold, and neither makes the new thermostat a
// bad repair. Of the probability of a second fault the part counts against the repair by which it
// would account for the complaint: the attributable fraction 1 - P(complaint | sound) / P(complaint
// | fault) (Pearl 2009, ch. 9), by which the lineup blames faults. The rest goes to the class Beside.
// A fault in place of the repaired one counts wholly: the owner came for something.
func (p *Proof) partBeside(ctx context.Context, c *lineup.Case) error {
	told, err := p.told(ctx, c)
	if err != nil || told == nil {
		return err
	}
	sound := make(map[int]float64)
	for i := range p.list {
		if h := &p.list[i]; h.class == Good {
			sound[h.engine] = told[i]
		}
	}
	var aside []hypothesis
	for i := range p.list {
		h := &p.list[i]
		twin, known := sound[h.engine]
		if h.class != Another || !h.second || !known {
			continue
		}
		bears := 1 - min(1, twin/told[i])
		other := *h
		other.class, other.weight = Beside, h.weight*(1-bears)
		h.weight *= bears
		if other.weight > 0 {
			aside = append(aside, other)
		}
	}
	p.list = append(p.list, aside...)
	p.share()
	return nil
}

// share shares the probability of another fault with those beside the point by their weights, and
// lets the weights of each class sum to one again.
func (p *Proof) share() {
	var mass [classes]float64
	kept := p.list[:0]
	for _, h := range p.list {
		if h.weight > 0 {
			mass[h.class] += h.weight
			kept = append(kept, h)
		}
	}
	p.list = kept
	for i := range p.list {
		p.list[i].weight /= mass[p.list[i].class]
	}
	if mass[Beside] > 0 {
		p.prior[Beside] = p.prior[Another] * mass[Beside] / (mass[Another] + mass[Beside])
		p.prior[Another] -= p.prior[Beside]
	}
}

// told is the probability of each sound engine and each with a second fault to be complained of as
// this car was, in the air in which that was; nil where the owner named no sign.
func (p *Proof) told(ctx context.Context, c *lineup.Case) ([]float64, error) {
	out, named := make([]float64, len(p.list)), false
	for _, h := range p.complaint {
		named = named || h == check.Said
	}
	if !named {
		return nil, nil
	}
	then := c.OnTheRoad != p.shop
	err := each(ctx, p, func() *circuit.Drill { return circuit.NewDrill(circuit.Coarse) }, func(d *circuit.Drill, i int) {
		h := &p.list[i]
		if h.class != Good && !h.second {
			return
		}
		s := p.subject(h)
		if then {
			var there circuit.Record
			d.Run(&h.circ, c.OnTheRoad, circuit.AllSituations(), &there)
			s.Record = &there
		}
		out[i] = 1
		for k, heard := range p.complaint {
			if sign := &p.model.Checks.Signs[k]; heard == check.Said {
				out[i] *= heard.Probability(sign.So(&s), sign.Said.Value, sign.Mistaken.Value)
			}
		}
	})
	return out, err
}
