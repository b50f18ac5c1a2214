package proof_test

import (
	"context"
	"math/rand/v2"
	"slices"
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
	rng   *rand.Rand
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
	w := &world{width: *width, m: m, st: st, rng: rand.New(rand.NewPCG(seed, 1))}
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
	isGood       outcome = "good"
	isWrongPart  outcome = "wrong part"
	isWrongCause outcome = "wrong cause"
	isLeft       outcome = "left behind"
	isSecond     outcome = "second fault"
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
	signs      []check.Heard // complained of
	odds       float64       // of the cause before the repair
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

// telling are causes whose repair a run can often prove; each as common as in the
// catalogue. Cars that the shop finds to have another cause are left out.
var telling = []string{"thermostat-open", "thermostat-shut", "thermostat-late", "thermostat-misfitted", "fan-dead",
	"fan-clutch-slipping", "radiator-clogged", "radiator-screened", "pump-weak", "belt-slipping", "sensor-high", "sensor-low"}

func (w *world) car(ctx context.Context, t *testing.T, only string) *car {
	t.Helper()
	for {
		if c := w.try(ctx, t, only); c != nil {
			return c
		}
	}
}

// try draws a car, has it diagnosed by a handful of checks, and repairs it; nil
// where nothing was found that one would repair.
func (w *world) try(ctx context.Context, t *testing.T, only string) *car {
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
	drill := circuit.NewDrill(circuit.Coarse)
	var record circuit.Record
	drill.Run(&broken, c.today, circuit.AllSituations(), &record)
	subject := check.Subject{Causes: []cause.Present{fault}, Record: &record}
	if l = w.complained(&subject, air); l == nil {
		return nil // nobody comes with it
	}

	// What was found: the checks that tell most about such causes.
	for _, id := range []string{"level-cold", "hose-temps", "fan-run", "pressure-hold", "combustion-gas", "cap-pressure", "warm-up-log", "face-sweep", "second-thermometer", "heater-output", "belt-look", "airflow-look", "freeze-point", "uv-dye", "weep-look", "gauge-look"} {
		k := m.Checks.Check(id)
		p := make([]float64, len(k.Words))
		k.Shows(&subject, p)
		var err error
		if l, err = l.Extend(ctx, lineup.Event{Check: id, Word: k.Words[pick(p, rng.Float64())].Is}); err != nil {
			t.Fatal(err)
		}
	}
	said, odds := likeliest(l)
	top := said.Cause
	r := m.Causes.UsualRepair(said)
	if top == m.Causes.NoFault() || m.Causes.Causes[top].Anything || r < 0 {
		return nil
	}
	repair := &m.Causes.Repairs[r]
	if only == "telling" && !slices.Contains(telling, m.Causes.Causes[top].ID) {
		return nil
	}
	if odds < max(0.9, repair.NeedOdds.Value) {
		return nil // a careful shop looks further first
	}
	c.cause, c.repair, c.odds = m.Causes.Causes[top].ID, repair.ID, odds
	c.signs = l.Case().Complaint.Signs
	w.repair(c, healthy, fault, repair)
	var err error
	if c.proof, err = proof.New(ctx, l, w.st, []string{repair.ID}, c.today, rng.Uint64()); err != nil {
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

// likeliest is the likeliest cause at its likeliest site, and its odds.
func likeliest(l *lineup.Lineup) (said cause.Present, odds float64) {
	byCause, bySite := make(map[int]float64), make(map[[2]int]float64)
	for _, e := range l.Engines() {
		if len(e.Faults) == 0 {
			byCause[l.Model().Causes.NoFault()] += e.Weight
		}
		for _, f := range e.Faults {
			byCause[f.Cause] += e.Weight
			bySite[[2]int{f.Cause, f.Site}] += e.Weight
		}
	}
	said = cause.Present{Site: cause.NoSite}
	for c := range l.Model().Causes.Causes {
		if v := byCause[c] * (1 - l.Other()); v > odds {
			said.Cause, odds = c, v
		}
	}
	best := 0.0
	for k := range l.Model().Causes.Causes[said.Cause].Sites {
		if v := bySite[[2]int{said.Cause, k}]; v > best {
			said.Site, best = k, v
		}
	}
	return said, odds
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

// repair does the repair, half of the time badly.
func (w *world) repair(c *car, healthy circuit.Circuit, fault cause.Present, r *cause.Repair) {
	rng := w.rng
	switch botch := rng.Float64(); {
	case r.CureShare(fault) == 0:
		c.outcome, c.faults = isWrongCause, []cause.Present{fault}
	case botch < 0.5:
		c.outcome = isGood
	case botch < 0.5+0.5/3:
		c.outcome, c.faults = isWrongPart, []cause.Present{fault}
		if rng.Float64() < 0.5 {
			c.faults[0].Severity = 0.1 + 0.9*rng.Float64()
		}
	case botch < 0.5+1.0/3 && len(r.Disturbs) > 0:
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
}

func (w *world) apply(circ circuit.Circuit, faults ...cause.Present) circuit.Circuit {
	for i := range faults {
		w.m.Causes.Causes[faults[i].Cause].Apply(faults[i].Severity, faults[i].Hidden[:], &circ)
	}
	return circ
}

// fault draws one by how common it is; only names a cause if not empty, or "telling".
func (w *world) fault(fan circuit.FanKind, only string) (p cause.Present, ok bool) {
	list := w.m.Causes.Causes
	weights, total := make([]float64, len(list)), 0.0
	for i := range list {
		if i != w.m.Causes.NoFault() && !list[i].Anything && list[i].Fits(fan) && (only == "" || list[i].ID == only || only == "telling" && slices.Contains(telling, list[i].ID)) {
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
