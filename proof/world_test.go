package proof_test

import (
	"context"
	"errors"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mathext"

	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
	"weephole/lineup"
	"weephole/proof"
)

// world makes simulated repairs on cars that differ from those the lineup
// draws: numbers spread wider than the table's, heat and masses off as a whole,
// a wandering error on the log. All its figures are judgement.
type world struct {
	m     *lineup.Model
	st    *proof.Criteria
	seed  uint64
	rng   *rand.Rand       // of the car at hand: the same car for the same seed and number, whatever was done to others
	width float64          // of the differences: 0 makes the world the lineup's own
	bases []*lineup.Lineup // before any finding, by air and then by complaint
}

// complaints are what owners of such cars come with.
var complaints = []string{"overheats", "runs-cold"}

// newWorld draws the lineups that every simulated car starts from.
func newWorld(ctx context.Context, t *testing.T, candidates int, airs []float64, seed uint64) *world {
	t.Helper()
	m, err := lineup.DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	st, err := proof.DefaultCriteria()
	if err != nil {
		t.Fatal(err)
	}
	w := &world{width: *width, m: m, st: st, seed: seed}
	for i, air := range airs {
		cond := circuit.Conditions{AmbientC: air}
		for _, sign := range complaints {
			said := check.Complaint{Signs: make([]check.Heard, len(m.Checks.Signs)), Conditions: make([]check.Heard, len(m.Checks.Conditions))}
			said.Signs[m.Checks.SignIndex(sign)] = check.Said
			said.Trouble = m.Checks.Trouble(said.Signs)
			l, err := lineup.New(ctx, m, lineup.Case{Vehicle: seen(i), Shop: cond, OnTheRoad: cond, Complaint: said},
				lineup.DrawOptions{Candidates: candidates, Seed: seed, KeepStill: true})
			if err != nil {
				t.Fatal(err)
			}
			w.bases = append(w.bases, l)
		}
	}
	return w
}

// outcome is how a simulated repair really came out.
type outcome string

const (
	isGood      outcome = "good"
	isNotDone   outcome = "not done right"
	isWrongPart outcome = "wrong part"
	isLeft      outcome = "left behind"
	isSecond    outcome = "second fault"
	isBeside    outcome = "beside the complaint" // counts as neither
)

// car is a simulated car after its repair, with the proof prepared for it.
type car struct {
	circ       circuit.Circuit
	record     circuit.Record // of the whole drill, once it was run
	drilled    bool
	faults     []cause.Present
	outcome    outcome
	noticeable bool // of a botched repair: that it makes a difference
	cause      string
	repair     string
	today      circuit.Conditions
	proof      *proof.Proof
	signs      []check.Heard  // complained of
	last       map[string]int // by check made after the repair: what it showed
}

// seen is what any mechanic sees of a car: its size, its fan and where the
// thermostat sits. The rest he is not told.
func seen(i int) circuit.Vehicle {
	electric, twoSpeed, viscous := circuit.FanElectric, circuit.FanTwoSpeed, circuit.FanViscous
	return []circuit.Vehicle{
		{Fuel: circuit.Petrol, DisplacementM3: 0.0016, FanKind: &electric, ThermostatSits: circuit.OnOutlet},
		{Fuel: circuit.Petrol, DisplacementM3: 0.0020, FanKind: &twoSpeed, ThermostatSits: circuit.OnInlet},
		{Fuel: circuit.Diesel, DisplacementM3: 0.0025, FanKind: &viscous, ThermostatSits: circuit.OnOutlet},
	}[i]
}

// repaired are the causes that are tried in turn; what else may be wrong is as common as in the
// catalogue.
var repaired = []string{"thermostat-open", "thermostat-shut", "fan-dead", "radiator-clogged", "coolant-low", "pump-weak", "cap-weak",
	"air-pocket", "belt-slipping", "sensor-high", "heater-core-clogged", "radiator-screened"}

// mostTries is how many cars with a cause are looked at until one is repaired for it.
const mostTries = 25

// car is the number-th car that a shop repairs; nil where the cause tried is hardly ever found.
func (w *world) car(ctx context.Context, t *testing.T, number int, only string) *car {
	t.Helper()
	w.rng = rand.New(rand.NewPCG(w.seed, uint64(number)+1))
	if only == "" {
		only = repaired[number/2%len(repaired)]
	}
	for range mostTries {
		if c := w.try(ctx, t, only, number%2 == 0); c != nil {
			return c
		}
	}
	return nil
}

// try draws a car, has it diagnosed by a handful of checks, and repairs it well or badly; nil
// where nothing was found that one would repair.
func (w *world) try(ctx context.Context, t *testing.T, only string, good bool) *car {
	t.Helper()
	m, rng := w.m, w.rng
	air := len(complaints) * rng.IntN(len(w.bases)/len(complaints))
	l := w.bases[air]
	c := &car{today: l.Case().Shop}
	z := make([]float64, m.Table.Dim())
	for i := range z {
		z[i] = (1 + 0.2*w.width) * rng.NormFloat64()
	}
	healthy := m.Table.Draw(l.Case().Vehicle, z)
	heat, mass := 1+w.width*(0.3*rng.Float64()-0.15), 1+w.width*(0.4*rng.Float64()-0.2)
	healthy.IdleHeatShare *= heat
	healthy.LoadHeatShare *= heat
	healthy.MetalHeatCapacity *= mass
	healthy.BlockHeatCapacity *= mass
	if !sellable(&healthy, c.today) {
		return nil
	}
	fault, ok := w.fault(healthy.FanKind, only)
	if !ok {
		return nil
	}
	broken := w.apply(healthy, fault)
	var record circuit.Record
	circuit.NewDrill(circuit.Coarse).Run(&broken, c.today, circuit.AllSituations(), &record)
	subject := check.Subject{Causes: []cause.Present{fault}, Record: &record}
	if l = w.complained(&subject, air); l == nil {
		return nil // nobody comes with it
	}
	repair, l := w.diagnose(ctx, t, l, &subject)
	if repair == nil {
		return nil
	}
	c.repair, c.signs = repair.ID, l.Case().Complaint.Signs
	c.cause = m.Causes.Causes[likeliest(l)].ID
	if good && repair.CureShare(fault) == 0 {
		return nil // the wrong part, and so no good repair
	}
	w.repair(c, healthy, fault, repair, good)
	if !good && !c.noticeable {
		return nil
	}
	var err error
	if c.proof, err = proof.New(ctx, l, w.st, []string{repair.ID}, c.today, rng.Uint64()); errors.Is(err, proof.ErrCannotCure) {
		return nil // a shop would find the other fault first
	} else if err != nil {
		t.Fatal(err)
	}
	return c
}

// complained is the lineup of what the car's owner comes with, or nil.
func (w *world) complained(s *check.Subject, air int) *lineup.Lineup {
	first := w.rng.IntN(len(complaints))
	for k := range complaints {
		k = (k + first) % len(complaints)
		sign := &w.m.Checks.Signs[w.m.Checks.SignIndex(complaints[k])]
		if w.rng.Float64() < check.Said.Probability(sign.So(s), sign.Said.Value, sign.Mistaken.Value) {
			return w.bases[air+k]
		}
	}
	return nil
}

// sellable tells whether an engine with nothing wrong keeps its temperature
// through the whole drill: the spread of the numbers also makes some that no
// maker would sell, and those are not what a good repair leads back to.
func sellable(healthy *circuit.Circuit, air circuit.Conditions) bool {
	var r circuit.Record
	circuit.NewDrill(circuit.Coarse).Run(healthy, air, circuit.AllSituations(), &r)
	for _, s := range circuit.Situations() {
		if r.At(circuit.Observable{Situation: s, Place: circuit.Coolant}) > hottest || r.At(circuit.Observable{Situation: s, Place: circuit.BoilMinutes}) > 0 {
			return false
		}
	}
	return true
}

// hottest coolant of a sound engine in the drill, degC: judgement; fans come on
// by 105, warning lamps at about 115 to 120.
const hottest = 112.0

// repair does the repair, well or badly: the part is bad or the job is not done right, something
// is left behind, or there was another fault all along. A repair that is not for this fault is the
// wrong part.
func (w *world) repair(c *car, healthy circuit.Circuit, fault cause.Present, r *cause.Repair, good bool) {
	rng := w.rng
	switch botch := rng.Float64(); {
	case good:
		c.outcome = isGood
	case r.CureShare(fault) == 0:
		c.outcome, c.faults = isWrongPart, []cause.Present{fault}
	case botch < 1.0/3:
		c.outcome, c.faults = isNotDone, []cause.Present{fault}
		if rng.Float64() < 0.5 {
			c.faults[0].Severity = 0.1 + 0.9*rng.Float64()
		}
	case botch < 2.0/3 && len(r.Disturbs) > 0:
		shares := make([]float64, len(r.Disturbs))
		for i := range shares {
			shares[i] = r.Disturbs[i].Share
		}
		c.outcome, c.faults = isLeft, []cause.Present{w.draw(r.Disturbs[pick(shares, rng.Float64())].Index())}
	default:
		second := fault
		for second.Cause == fault.Cause || r.CureShare(second) > 0 {
			second, _ = w.fault(healthy.FanKind, "")
		}
		c.outcome, c.faults = isSecond, []cause.Present{second}
	}
	c.circ = w.apply(healthy, c.faults...)
	if r.Drained() {
		c.circ.Fill = healthy.Fill // filled up again
	}
	if c.outcome == isGood {
		return
	}
	// What makes no difference to how the car runs is no botched repair.
	var is, should circuit.Record
	drill := circuit.NewDrill(circuit.Coarse)
	drill.Run(&c.circ, c.today, circuit.AllSituations(), &is)
	drill.Run(&healthy, c.today, circuit.AllSituations(), &should)
	c.noticeable = proof.Noticeable(w.st, &c.circ, &is, &should)
	if c.outcome == isSecond && w.accounts(c, &is, &should) < 0.5 {
		c.outcome = isBeside
	}
}

// accounts is the part of the complaint for which what is left wrong would account: the
// attributable fraction.
func (w *world) accounts(c *car, is, should *circuit.Record) float64 {
	faulty := check.Subject{Causes: c.faults, Record: is}
	sound := check.Subject{Causes: []cause.Present{{Cause: w.m.Causes.NoFault(), Site: cause.NoSite}}, Record: should}
	ratio := 1.0
	for i := range w.m.Checks.Signs {
		if s := &w.m.Checks.Signs[i]; c.signs[i] == check.Said {
			ratio *= check.Said.Probability(s.So(&sound), s.Said.Value, s.Mistaken.Value) / check.Said.Probability(s.So(&faulty), s.Said.Value, s.Mistaken.Value)
		}
	}
	return 1 - min(1, ratio)
}

func (w *world) apply(circ circuit.Circuit, faults ...cause.Present) circuit.Circuit {
	for i := range faults {
		w.m.Causes.Causes[faults[i].Cause].Apply(faults[i].Severity, faults[i].Hidden[:], &circ)
	}
	return circ
}

// fault draws one by how common it is; only names a cause if not empty.
func (w *world) fault(fan circuit.FanKind, only string) (p cause.Present, ok bool) {
	list := w.m.Causes.Causes
	weights, total := make([]float64, len(list)), 0.0
	for i := range list {
		if i != w.m.Causes.NoFault() && !list[i].Anything && list[i].Fits(fan) && (only == "" || list[i].ID == only) {
			weights[i] = list[i].Weight.Value
			total += weights[i]
		}
	}
	if total == 0 {
		return p, false
	}
	return w.draw(pick(weights, w.rng.Float64())), true
}

func (w *world) draw(index int) cause.Present {
	c := &w.m.Causes.Causes[index]
	p := cause.Present{Cause: index, Site: cause.NoSite}
	p.Severity = mathext.InvRegIncBeta(c.Severity.Shape[0], c.Severity.Shape[1], w.rng.Float64())
	if w.rng.Float64() < 0.25 {
		p.Severity = 0.15 + 0.85*w.rng.Float64()
	}
	if len(c.Sites) > 0 {
		shares := make([]float64, len(c.Sites))
		for i := range shares {
			shares[i] = c.Sites[i].Share
		}
		p.Site = pick(shares, w.rng.Float64())
	}
	for h := range c.Hidden {
		shares := make([]float64, len(c.Hidden[h].States))
		for i := range shares {
			shares[i] = c.Hidden[h].States[i].Share
		}
		p.Hidden[h] = pick(shares, w.rng.Float64())
	}
	return p
}

func pick(w []float64, u float64) int {
	total := 0.0
	for _, v := range w {
		total += v
	}
	u *= total
	for i, v := range w {
		if u -= v; u < 0 {
			return i
		}
	}
	return len(w) - 1
}
