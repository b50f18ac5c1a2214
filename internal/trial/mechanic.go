package trial

import (
	"math"
	"math/rand/v2"

	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
	"weephole/lineup"
)

// mechanic makes the checks on one car, in his own sloppy way.
type mechanic struct {
	car     *TrueCar
	blunder float64
	numbers bool // writes readings down
	bias    float64
	last    map[string]lineup.Event
	times   map[string]int
	buffer  []float64
}

func newMechanic(c *TrueCar) *mechanic {
	rng := c.luck.stream("mechanic", "", 0)
	w := c.world
	return &mechanic{
		car:     c,
		blunder: math.Min(0.5, between(rng, w.Blunder)),
		numbers: rng.Float64() < w.ReadsNumbers.Value,
		bias:    w.InstrumentBias.Value * rng.NormFloat64(),
		last:    make(map[string]lineup.Event), times: make(map[string]int),
	}
}

// answer makes a check on the car as it now is.
func (m *mechanic) answer(k *check.Check, s *check.Subject) lineup.Event {
	n := m.times[k.ID]
	m.times[k.ID]++
	rng := m.car.luck.stream("answer", k.ID, n)
	if before, ok := m.last[k.ID]; ok && rng.Float64() < m.car.world.SameAgain.Value {
		return before
	}
	ev := lineup.Event{Check: k.ID}
	if m.numbers || len(k.Words) == 0 {
		ev.Readings = m.read(rng, k, s)
	}
	if len(ev.Readings) == 0 {
		ev.Word = k.Words[m.word(rng, k, s)].Is
	}
	m.last[k.ID] = ev
	return ev
}

// forget drops what was answered: the engine is another one after a repair.
func (m *mechanic) forget() { clear(m.last) }

// word is the result in words: what the catalogue predicts for the true car,
// bent by this mechanic's tilt on this check, or a blunder.
func (m *mechanic) word(rng *rand.Rand, k *check.Check, s *check.Subject) int {
	w := m.car.world
	if rng.Float64() < m.blunder {
		if rng.Float64() < w.Overlooks.Value {
			for i := range k.Words {
				if !k.Words[i].Alarm {
					return i
				}
			}
		}
		return rng.IntN(len(k.Words))
	}
	if len(m.buffer) < len(k.Words) {
		m.buffer = make([]float64, len(k.Words))
	}
	p := m.buffer[:len(k.Words)]
	k.Shows(s, p)
	loud := 0.0
	for i, v := range p {
		if k.Words[i].Alarm {
			loud += v
		}
	}
	if loud > 0 && loud < 1 {
		tilt := w.TiltSD.Value * m.car.luck.stream("tilt", k.ID, 0).NormFloat64()
		now := tilted(loud, tilt)
		for i := range p {
			if k.Words[i].Alarm {
				p[i] *= now / loud
			} else {
				p[i] *= (1 - now) / (1 - loud)
			}
		}
	}
	return pickBy(rng, len(p), func(i int) float64 { return p[i] })
}

// read writes down the check's readings; none where the car gives none.
func (m *mechanic) read(rng *rand.Rand, k *check.Check, s *check.Subject) []lineup.Reading {
	w := m.car.world
	var list []lineup.Reading
	for i := range k.Readings {
		r := &k.Readings[i]
		mean, sd := r.Expect(s)
		if math.IsNaN(mean) || r.Of == "" {
			continue // what a table predicts is answered in words
		}
		low, high := r.PlausibleSI()
		value := mean + sd*(m.bias+w.ReadingNoise.Value*rng.NormFloat64())
		hose := r.What == "temperature" && (k.Place == "upper-hose" || k.Place == "lower-hose" || r.Place == "upper-hose" || r.Place == "lower-hose")
		blunder := m.blunder
		if w.own {
			blunder = r.Blunder.Share
		}
		switch {
		case rng.Float64() < blunder:
			value = low + rng.Float64()*(high-low)
		case hose && rng.Float64() < w.Shiny.Value:
			value -= rng.Float64() * w.ShinyShare.Value * (value - m.car.Shop.AmbientC)
		case r.What == "temperature" && rng.Float64() < w.WrongScale.Value:
			if f := value*1.8 + 32; f < high {
				value = f
			}
		}
		list = append(list, lineup.Reading{ID: r.ID, Value: clamp(value, low, high)})
	}
	return list
}

// visit is one car in the shop while one way of working works on it.
type visit struct {
	car      *TrueCar
	mechanic *mechanic
	faults   []cause.Present // still there
	beyond   bool            // the fault beyond the catalogue is still there
	record   circuit.Record  // in the shop, with the faults that are still there
	stale    bool
	drill    *circuit.Drill
	repaired map[string]int // how often each repair was done
}

func newVisit(c *TrueCar) *visit {
	return &visit{
		car: c, mechanic: newMechanic(c), faults: append([]cause.Present(nil), c.Faults...),
		beyond: c.Beyond >= 0, stale: true, drill: circuit.NewDrill(circuit.Coarse), repaired: make(map[string]int),
	}
}

// wrong is how many faults are still there.
func (v *visit) wrong() int {
	if v.beyond {
		return len(v.faults) + 1
	}
	return len(v.faults)
}

// cured is true when nothing is wrong (any more).
func (v *visit) cured() bool { return len(v.faults) == 0 && !v.beyond }

// check makes a check.
func (v *visit) check(k *check.Check) lineup.Event {
	if v.stale {
		circ := v.car.circuit(v.faults)
		v.drill.Run(&circ, v.car.Shop, circuit.AllSituations(), &v.record)
		v.stale = false
	}
	return v.mechanic.answer(k, v.car.subject(v.faults, &v.record))
}

// repair does a repair and says how many faults have gone.
func (v *visit) repair(r *cause.Repair) (gone int) {
	n := v.repaired[r.ID]
	v.repaired[r.ID]++
	rng := v.car.luck.stream("repair", r.ID, n)
	cat := v.car.model.Causes
	u := rng.Float64()
	var left []cause.Present
	for _, f := range v.faults {
		if u < r.Succeeds(cat, f) {
			gone++
			continue
		}
		left = append(left, f)
	}
	if v.beyond {
		other := cause.Present{Cause: cat.Unnamed(), Site: cause.NoSite}
		if u < r.Succeeds(cat, other) {
			v.beyond = false
			gone++
		}
	}
	leaves := rng.Float64()
	for k := range r.Disturbs {
		l := &r.Disturbs[k]
		if leaves < l.Share {
			left = append(left, v.car.present(rng, l.Index()))
			break
		}
		leaves -= l.Share
	}
	if gone > 0 || len(left) != len(v.faults) {
		v.stale = true
		v.mechanic.forget()
	}
	v.faults = left
	if !v.beyond && v.car.Beyond >= 0 {
		v.car = v.car.withoutBeyond()
	}
	return gone
}

// withoutBeyond is the car with the fault beyond the catalogue put right.
func (c *TrueCar) withoutBeyond() *TrueCar {
	cured := *c
	cured.Beyond = -1
	return &cured
}
