package proof

import (
	"math"

	"weephole/circuit"
)

// Noticeable tells whether what is wrong with a circuit makes a difference that its owner
// or the next mechanic could meet. It leaks, or it differs somewhere in the drill from
// the same circuit with nothing wrong: it runs hotter or colder, warms more slowly, heats
// the cabin less, shows another temperature or holds less pressure. A bubble of air that
// changes nothing is no botched repair. Both records must hold the whole drill.
func Noticeable(st *Criteria, circ *circuit.Circuit, is, healthy *circuit.Record) bool {
	if circ.LeakArea > 0 || circ.CombustionGas > 0 {
		return true
	}
	far := func(p circuit.Place, most float64) bool {
		for _, s := range circuit.Situations() {
			a, b := is.At(circuit.Observable{Situation: s, Place: p}), healthy.At(circuit.Observable{Situation: s, Place: p})
			if math.Abs(a-b) > most { // false where one of them is NaN
				return true
			}
		}
		return false
	}
	slow := func() bool {
		a := is.At(circuit.Observable{Situation: circuit.WarmUp, Place: circuit.MinutesTo80})
		b := healthy.At(circuit.Observable{Situation: circuit.WarmUp, Place: circuit.MinutesTo80})
		return a > b*(1+st.NoticeSlower.Value)
	}
	return far(circuit.Coolant, st.NoticeK.Value) || far(circuit.SensorMean, st.NoticeK.Value) || far(circuit.MetalMean, st.NoticeMetalK.Value) ||
		far(circuit.VentAir, st.NoticeVentK.Value) || far(circuit.GaugePeak, st.NoticeGaugeK.Value) ||
		far(circuit.Pressure, st.NoticePressure.Value) || far(circuit.FanShare, st.NoticeFan.Value) || slow()
}

// dropUnnoticeable counts what makes no difference anywhere in the drill as good.
func (p *Proof) dropUnnoticeable() {
	healthy := make(map[int]*circuit.Record)
	for i := range p.list {
		if h := &p.list[i]; h.class == Good {
			healthy[h.engine] = &h.record
		}
	}
	var kept []hypothesis
	var mass [classes]float64
	for i := range p.list {
		h := &p.list[i]
		twin := healthy[h.engine]
		if h.class != Good && h.class != Unnamed && twin != nil && !Noticeable(p.st, &h.circ, &h.record, twin) {
			continue
		}
		kept = append(kept, *h)
		mass[h.class] += h.weight
	}
	for i := range kept {
		kept[i].weight /= mass[kept[i].class]
	}
	for c := range p.prior {
		if Class(c) != Good && Class(c) != Unnamed {
			p.prior[Good] += p.prior[c] * math.Max(0, 1-mass[c])
			p.prior[c] *= mass[c]
		}
	}
	p.list = kept
}
