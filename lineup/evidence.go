package lineup

import (
	"fmt"
	"math"

	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
)

// kind is what a piece of evidence is.
type kind int

const (
	complained kind = iota
	quoted
	signSeen
	checked
	repairTried
)

// evidence is one piece of a case, made ready to be weighed against any
// candidate: a column of the lineup's log likelihoods.
type evidence struct {
	kind  kind
	label string
	event int // index in Case.Events; of neither the complaint nor the quote
	epoch int // how many repairs had been tried before it
	cond  int // index of its conditions
	needs circuit.Set

	complaint *complaintWeigher
	sign      *check.Sign // seen instead of a check made
	heard     check.Heard
	slip      float64 // of whose word it is
	invents   float64 // likewise: check.Invents
	check     *check.Check
	worded    bool    // a word was found
	word      int     // its index
	weight    float64 // of the result: below 1 for a repeat
	readings  []reading
	log       *replay
	logIndex  int // order among the case's logs
	repair    int // order of a repair that was tried
	presumes  int // cause presumed by a quote
}

// finding is the order of the piece in the job, from 1; 0 for the complaint, -1 for the
// quote.
func (e *evidence) finding() int {
	switch e.kind {
	case complained:
		return 0
	case quoted:
		return -1
	}
	return e.event + 1
}

type reading struct {
	model *check.ReadingModel
	value float64
	bound check.Bound
}

// kit is what one worker needs to weigh candidates; nothing in it is shared.
type kit struct {
	drill   *circuit.Drill
	solver  *circuit.Solver
	records []circuit.Record
	have    []circuit.Set
	words   []float64
	stages  []circuit.Stage
	reads   []float64 // of the candidate along a log, degC
	swings  []float64 // of the same to either side, K: a sensor in gas
	misses  []float64 // of its windows
	petrol  bool      // air flow tells fuel power only where the mixture is stoichiometric
	circuit circuit.Circuit
	built   bool // circuit is that of the candidate and its faults of now
}

// compiler turns the events of a case, one by one, into evidence.
type compiler struct {
	m          *Model
	list       []evidence
	conditions []circuit.Conditions // distinct ones, the shop's first
	repairs    []tried
	seen       map[string]int // by check: its word, since the engine was changed last
}

// prepare compiles the case into evidence, the distinct conditions it was met
// in (the shop's first), and the repairs tried. Errors name the event.
func prepare(m *Model, cs *Case) (list []evidence, conditions []circuit.Conditions, repairs []tried, err error) {
	c := &compiler{m: m, conditions: []circuit.Conditions{cs.Shop}, seen: make(map[string]int)}
	c.list = append(c.list, evidence{
		kind: complained, label: "the complaint", cond: c.condition(cs.OnTheRoad, m.Settings.ComplaintAir.Value),
		complaint: newComplaintWeigher(m, &cs.Complaint), needs: complaintNeeds(m, &cs.Complaint),
	})
	if cs.Presumes != "" {
		i := m.Causes.Index(cs.Presumes)
		if i < 0 {
			return nil, nil, nil, fmt.Errorf("quote: no cause %q in the catalogue", cs.Presumes)
		}
		c.list = append(c.list, evidence{kind: quoted, label: "the other shop's quote", presumes: i})
	}
	for i := range cs.Events {
		ev := &cs.Events[i]
		e := evidence{event: i, epoch: len(c.repairs)}
		switch {
		case ev.Repair != "":
			err = c.tried(e, ev)
		case ev.Sign != "":
			err = c.signSeen(e, ev)
		default:
			err = c.checked(e, ev)
		}
		if err != nil {
			return nil, nil, nil, fmt.Errorf("event %d: %w", i+1, err)
		}
	}
	return c.list, c.conditions, c.repairs, nil
}

// condition is the index of conditions like these.
func (c *compiler) condition(of circuit.Conditions, airK float64) int {
	for i, have := range c.conditions {
		if c.m.Settings.alike(have, of, airK) {
			return i
		}
	}
	c.conditions = append(c.conditions, of)
	return len(c.conditions) - 1
}

// tried adds a repair, and what it changed where that is known.
func (c *compiler) tried(e evidence, ev *Event) error {
	r := c.m.Causes.Repair(ev.Repair)
	if r == nil {
		return fmt.Errorf("no repair %q in the catalogue", ev.Repair)
	}
	c.repairs = append(c.repairs, tried{repair: r, changed: ev.Changed, known: !ev.Unknown, joint: ev.Joint})
	for k := len(c.repairs) - 1; ev.Changed == cause.CameBack && k >= 0; k-- {
		c.repairs[k].back = true // all of the visit
		if !c.repairs[k].joint {
			break
		}
	}
	if !ev.Unknown {
		e.kind, e.label, e.epoch, e.repair = repairTried, label(ev, r.Name), len(c.repairs), len(c.repairs)-1
		c.list = append(c.list, e)
	}
	if ev.Unknown || !ev.Changed.Failed() {
		c.seen = make(map[string]int) // the engine is another one now
	}
	return nil
}

// signSeen adds a sign that was seen or denied.
func (c *compiler) signSeen(e evidence, ev *Event) error {
	k := c.m.Checks.SignIndex(ev.Sign)
	if k < 0 {
		return fmt.Errorf("no sign %q in the catalogue", ev.Sign)
	}
	sign := &c.m.Checks.Signs[k]
	e.kind, e.label, e.sign, e.heard, e.slip, e.needs = signSeen, label(ev, sign.Name), sign, check.Said, ev.Slip, sign.Situations()
	e.invents = c.m.Checks.Invents(sign, ev.Slip)
	if ev.Denied {
		e.heard, e.label = check.Denied, "not so: "+e.label
	}
	if ev.Conditions != nil {
		e.cond = c.condition(*ev.Conditions, c.m.Settings.FindingAir.Value)
	}
	c.list = append(c.list, e)
	return nil
}

// checked adds what a check showed: a word, readings, a log, or several of them.
func (c *compiler) checked(e evidence, ev *Event) error {
	k := c.m.Checks.Check(ev.Check)
	if k == nil {
		return fmt.Errorf("no check %q in the catalogue", ev.Check)
	}
	if k = k.In(ev.State, ev.AirCon); k == nil {
		return fmt.Errorf("check %s says nothing with the engine in the state %q", ev.Check, ev.State)
	}
	e.kind, e.label, e.check, e.weight = checked, label(ev, k.NameMade()), k, 1
	if ev.Weight != nil {
		e.weight = *ev.Weight
	}
	if ev.Conditions != nil {
		e.cond = c.condition(*ev.Conditions, c.m.Settings.FindingAir.Value)
	}
	if ev.Word != "" {
		if e.word = k.WordIndex(ev.Word); e.word < 0 {
			return fmt.Errorf("check %s has no result %q", ev.Check, ev.Word)
		}
		e.worded, e.needs = true, k.Situations()
		if again, ok := c.seen[ev.Check]; ok && again == e.word {
			e.weight *= k.Repeat.Share
		}
		c.seen[ev.Check] = e.word
	}
	for _, r := range ev.Readings {
		i := k.ReadingIndex(r.ID)
		if i < 0 {
			return fmt.Errorf("check %s has no reading %q", ev.Check, r.ID)
		}
		e.readings = append(e.readings, reading{&k.Readings[i], r.Value, r.Bound})
		e.needs = e.needs.Union(k.Situations())
	}
	if ev.Log != nil {
		e.log, e.logIndex = newReplay(c.m.Settings, ev.Log), len(logsOf(c.list))
	}
	c.list = append(c.list, e)
	return nil
}

func label(ev *Event, name string) string {
	if ev.Label != "" {
		return ev.Label
	}
	return name
}

// alike tells whether one drill serves both: the air may differ by airK.
func (s *Settings) alike(a, b circuit.Conditions, airK float64) bool {
	return math.Abs(a.AmbientC-b.AmbientC) <= airK && math.Abs(a.AltitudeM-b.AltitudeM) <= s.AlikeAltitude.Value &&
		a.HeaterOn == b.HeaterOn && a.HoodOpen == b.HoodOpen
}

// logLikelihood weighs one piece against a candidate in the state in which it
// was found: log of the probability (density) that this candidate shows it, read with a
// gun that errs by so many standard deviations. A
// log is weighed apart, since it must be driven through.
func (e *evidence) logLikelihood(m *Model, k *kit, s *check.Subject, gun float64) float64 {
	sum := 0.0
	switch {
	case e.kind == complained:
		log, _ := e.complaint.logLikelihood(m, s)
		return log
	case e.kind == quoted:
		odds := 1.0
		for _, p := range s.Causes {
			odds = math.Max(odds, m.Checks.QuoteOdds(e.presumes, p))
		}
		return math.Log(odds)
	case e.kind == signSeen:
		return m.Settings.FindingPower.Value * math.Log(check.Seen(e.heard, e.sign.So(s), e.slip, e.invents))
	case e.worded:
		p := k.words[:len(e.check.Words)]
		e.check.Shows(s, p)
		sum += e.weight * math.Log(p[e.word])
	}
	for _, r := range e.readings {
		sum += r.model.LogBounded(s, r.value-gun*r.model.GunSD(), r.bound, m.Checks.About.Value)
	}
	return m.Settings.FindingPower.Value * sum
}

// logsOf is the places of the logged runs among the evidence.
func logsOf(list []evidence) []int {
	var at []int
	for j := range list {
		if list[j].log != nil {
			at = append(at, j)
		}
	}
	return at
}

// misfit appends how far the readings lie from what the candidate would give,
// in standard deviations: what the proposals are fitted to.
func (e *evidence) misfit(set *Settings, s *check.Subject, gun float64, into []float32) []float32 {
	root, far := math.Sqrt(set.FindingPower.Value), set.FarMiss.Value
	for _, r := range e.readings {
		mean, sd := r.model.Expect(s)
		mean += gun * r.model.GunSD()
		sd = math.Sqrt(sd*sd - r.model.GunSD()*r.model.GunSD())
		miss := 0.0 // a candidate that does not give the reading tells nothing of its slope
		if !math.IsNaN(mean) && sd > 0 {
			miss = math.Max(-far, math.Min(far, (r.value-mean)/sd))
		}
		into = append(into, float32(root*miss))
	}
	return into
}
