package trial

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mathext"

	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
	"weephole/lineup"
	"weephole/sheet"
)

// TrueCar is one true car of the trial's world, with its owner's complaint, and
// what the job says of it.
type TrueCar struct {
	Number  int
	Vehicle circuit.Vehicle    // as it is
	Faults  []cause.Present    // what the catalogue can name; none: nothing is wrong
	Beyond  int                // index of a fault that the catalogue does not have, or -1
	Shop    circuit.Conditions // as they are
	Road    circuit.Conditions
	Case    lineup.Case // what is told, often a little wrong; no events yet
	Hot     bool        // driven in
	Tries   int         // cars drawn until an owner noticed something

	world     *World
	model     *lineup.Model
	luck      streams
	z         []float64
	shifts    []float64 // by World.Together
	wear      []float64 // by World.Wear
	howBeyond float64
}

// mostTries bounds how often a car is drawn until its owner notices something;
// judgement. Causes that do not show in so many cars are drawn again.
const mostTries = 60

// DrawCar draws car number n of the trial with the given seed, one of those
// that its job would describe by spec.
func DrawCar(m *lineup.Model, w *World, spec *Spec, seed uint64, n int) *TrueCar {
	l := streams{seed, uint64(n)}
	drill := circuit.NewDrill(circuit.Coarse)
	what := l.stream("causes", "", 0)
	kind := w.fanKind(what)
	if spec.Vehicle.FanKind != nil {
		kind = *spec.Vehicle.FanKind
	}
	tries := 0
	for {
		causes, beyond := drawCauses(m, w, kind, what)
		for range mostTries {
			tries++
			c := &TrueCar{Number: n, Beyond: beyond, Tries: tries, world: w, model: m, luck: l}
			if c.draw(l.stream("car", "", tries), drill, spec, kind, causes) {
				return c
			}
		}
	}
}

// drawCauses draws which causes a car has: one in the proportion of the
// catalogue's weights among those that a car with such a fan can have, sometimes
// a second, sometimes one that it does not have.
func drawCauses(m *lineup.Model, w *World, kind circuit.FanKind, rng *rand.Rand) (causes []int, beyond int) {
	cat := m.Causes
	if rng.Float64() < w.Unnamed.Value {
		return nil, pickBy(rng, len(w.Beyond), func(i int) float64 { return w.Beyond[i].Share })
	}
	weight := func(i int) float64 {
		if cat.Causes[i].Anything || !cat.Causes[i].Fits(kind) {
			return 0
		}
		return cat.Causes[i].Weight.Value
	}
	first := pickBy(rng, len(cat.Causes), weight)
	if first == cat.NoFault() {
		return nil, -1
	}
	c := &cat.Causes[first]
	if w.own {
		return ownPair(m, first, weight, rng), -1
	}
	if rng.Float64() >= w.Pairs.Value {
		return []int{first}, -1
	}
	total := cat.TotalWeight()
	second := pickBy(rng, len(cat.Causes), func(i int) float64 {
		if i == first || i == cat.NoFault() || weight(i) == 0 || clash(c, &cat.Causes[i]) {
			return 0
		}
		share := w.PairByChance.Value * weight(i) / total
		for k := range c.LeadsTo {
			if c.LeadsTo[k].Index() == i {
				share += c.LeadsTo[k].Share
			}
		}
		for k := range c.GoesWith {
			if c.GoesWith[k].Index() == i {
				share += c.GoesWith[k].Share
			}
		}
		return share
	})
	return []int{first, second}, -1
}

// ownPair is the first cause with the second that the lineup itself would give
// it: in its company, or by chance.
func ownPair(m *lineup.Model, first int, weight func(int) float64, rng *rand.Rand) []int {
	cat := m.Causes
	c := &cat.Causes[first]
	share := make([]float64, len(cat.Causes))
	left := 1.0
	give := func(j int, p float64) {
		if j == first || j == cat.NoFault() || weight(j) == 0 || clash(c, &cat.Causes[j]) {
			return
		}
		share[j] += math.Min(p, left)
		left -= math.Min(p, left)
	}
	for k := range c.LeadsTo {
		if c.LeadsTo[k].When == "always" {
			give(c.LeadsTo[k].Index(), c.LeadsTo[k].Share)
		}
	}
	for k := range c.GoesWith {
		give(c.GoesWith[k].Index(), c.GoesWith[k].Share)
	}
	others := 0.0
	for j := range cat.Causes {
		if j != first && j != cat.NoFault() {
			others += weight(j)
		}
	}
	chance := m.Settings.SecondFault.Value * left
	for j := range cat.Causes {
		give(j, chance*weight(j)/others)
	}
	share[first] = left
	second := pickBy(rng, len(share), func(i int) float64 { return share[i] })
	if second == first {
		return []int{first}
	}
	return []int{first, second}
}

// clash is true for causes that one car cannot have at once.
func clash(a, b *cause.Cause) bool {
	if a.Place == "thermostat" && b.Place == "thermostat" || a.Fan != "" && b.Fan != "" && a.Fan != b.Fan {
		return true
	}
	for _, x := range a.Acts {
		for _, y := range b.Acts {
			if x.How == cause.Set && y.How == cause.Set && x.Number == y.Number {
				return true
			}
		}
	}
	return false
}

// draw draws the rest of the car; false if its owner notices nothing.
func (c *TrueCar) draw(rng *rand.Rand, drill *circuit.Drill, spec *Spec, kind circuit.FanKind, causes []int) bool {
	for _, i := range causes {
		c.Faults = append(c.Faults, c.present(rng, i))
	}
	c.Vehicle, c.Case.Vehicle = spec.vehicle(rng, c.world, kind), spec.Vehicle
	c.Shop, c.Road = spec.places(rng, c.world)
	c.Case.Shop, c.Case.OnTheRoad = spec.Shop, spec.Shop
	c.z = make([]float64, c.model.Table.Dim())
	for i := range c.z {
		c.z[i] = c.world.Spread.Value * rng.NormFloat64()
	}
	for range c.world.Together {
		c.shifts = append(c.shifts, rng.NormFloat64())
	}
	for range c.world.Wear {
		c.wear = append(c.wear, rng.NormFloat64())
	}
	c.howBeyond = rng.Float64()
	c.Hot = rng.Float64() < c.world.StartsHot.Value

	var road circuit.Record
	circ := c.circuit(c.Faults)
	drill.Run(&circ, c.Road, circuit.AllSituations(), &road)
	return c.complain(rng, c.subject(c.Faults, &road))
}

// present draws how bad, where and in which hidden state a cause is: likelier
// at the ends and in rare states than the catalogue has it.
func (c *TrueCar) present(rng *rand.Rand, index int) cause.Present {
	k := &c.model.Causes.Causes[index]
	f := c.world.SeverityShape.Value
	p := cause.Present{Cause: index, Site: cause.NoSite}
	p.Severity = mathext.InvRegIncBeta(k.Severity.Shape[0]*f, k.Severity.Shape[1]*f, rng.Float64())
	power := c.world.SharePower.Value
	if len(k.Sites) > 0 {
		p.Site = pickBy(rng, len(k.Sites), func(i int) float64 { return math.Pow(k.Sites[i].Share, power) })
	}
	for h := range k.Hidden {
		states := k.Hidden[h].States
		p.Hidden[h] = pickBy(rng, len(states), func(i int) float64 { return math.Pow(states[i].Share, power) })
	}
	return p
}

// circuit is the true circuit with the given faults acting.
func (c *TrueCar) circuit(faults []cause.Present) circuit.Circuit {
	circ := c.model.Table.Draw(c.Vehicle, c.z)
	for i, t := range c.world.Together {
		for _, name := range t.Numbers {
			*circ.Number(name) *= math.Exp(t.SD * c.shifts[i])
		}
	}
	for i, x := range c.world.Wear {
		z := c.wear[i]
		if x.Half {
			z = math.Abs(z)
		}
		*circ.Number(x.Number) += x.SD * z
	}
	for i := range faults {
		f := &faults[i]
		c.model.Causes.Causes[f.Cause].Apply(f.Severity, f.Hidden[:], &circ)
	}
	if c.Beyond >= 0 {
		for _, a := range c.world.Beyond[c.Beyond].Acts {
			a.apply(c.howBeyond, &circ)
		}
	}
	return circ
}

// subject shows the car to a check. What the catalogue does not have shows in
// the run alone.
func (c *TrueCar) subject(faults []cause.Present, r *circuit.Record) *check.Subject {
	if len(faults) == 0 {
		faults = []cause.Present{{Cause: c.model.Causes.NoFault(), Site: cause.NoSite}}
	}
	return &check.Subject{Causes: faults, Record: r}
}

func clamp(x, low, high float64) float64 { return math.Max(low, math.Min(high, x)) }

// complain makes the owner's complaint; false if there is nothing to bring the
// car in for.
func (c *TrueCar) complain(rng *rand.Rand, s *check.Subject) bool {
	w, checks := c.world, c.model.Checks
	talk := w.TalkSD.Value * rng.NormFloat64()
	hear := func(so float64, said, mistaken sheet.Sourced) check.Heard {
		logits := talk + w.MemorySD.Value*rng.NormFloat64()
		p := so*tilted(said.Value, logits) + (1-so)*tilted(mistaken.Value, logits)
		if rng.Float64() < p {
			return check.Said
		}
		if rng.Float64() < w.Asked.Value {
			if rng.Float64() < (1-mistaken.Value)*(1-so)+mistaken.Value*so {
				return check.Denied
			}
			return check.Said
		}
		return check.Silent
	}
	signs := make([]check.Heard, len(checks.Signs))
	for i := range checks.Signs {
		g := &checks.Signs[i]
		if g.Detail { // nobody in these worlds tells details
			continue
		}
		signs[i] = hear(g.So(s), g.Said, g.Mistaken)
	}
	if !slices.Contains(signs, check.Said) {
		return false
	}
	trouble := checks.Trouble(signs)
	conditions := make([]check.Heard, len(checks.Conditions))
	if trouble == check.Hot || trouble == check.Cold {
		for i := range checks.Conditions {
			k := &checks.Conditions[i]
			if k.Detail {
				continue
			}
			conditions[i] = hear(k.So(s, trouble), k.Said, k.Mistaken)
		}
	}
	c.Case.Complaint = check.Complaint{Trouble: trouble, Signs: signs, Conditions: conditions}
	c.history(rng, s.Record)
	return true
}

// history draws what the job says of the car's past.
func (c *TrueCar) history(rng *rand.Rand, road *circuit.Record) {
	w, cat := c.world, c.model.Causes
	hottest, fill := math.Inf(-1), 1.0
	for _, situation := range []circuit.Situation{circuit.HotIdle, circuit.City, circuit.Motorway, circuit.Climb} {
		hottest = math.Max(hottest, float64(road[situation][circuit.Coolant]))
		fill = math.Min(fill, float64(road[situation][circuit.LevelNow]))
	}
	told := func() bool { return rng.Float64() < w.ToldRan.Value }
	c.Case.RanHot = hottest > w.RanHotAbove.Value && told()
	c.Case.LostCoolant = fill < w.LowBelow.Value && told()

	words := cause.WorkWords()
	lately := 0.0 // how many times likelier recent work is with these causes
	odds := make([]float64, len(words))
	for i, word := range words {
		odds[i] = 1 / float64(len(words))
		for _, f := range c.Faults {
			odds[i] *= cat.Causes[f.Cause].AfterOdds(word)
		}
		lately += odds[i]
	}
	share := w.RecentWork.Value
	if rng.Float64() < share*lately/(1-share+share*lately) {
		i := pickBy(rng, len(words), func(i int) float64 { return odds[i] })
		if rng.Float64() < w.WorkTold.Value {
			c.Case.Work = []cause.WorkDone{{Work: words[i]}}
		}
	}
	if rng.Float64() < w.Quoted.Value {
		guess := pickBy(rng, len(cat.Causes), func(i int) float64 {
			if i == cat.NoFault() || cat.Causes[i].Anything {
				return 0
			}
			return cat.Causes[i].Weight.Value
		})
		if len(c.Faults) > 0 && rng.Float64() < w.QuoteRight.Value {
			guess = c.Faults[0].Cause
		}
		c.Case.Presumes = cat.Causes[guess].ID
	}
}
