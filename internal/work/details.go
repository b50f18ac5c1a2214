package work

import (
	"cmp"
	"fmt"
	"slices"

	"weephole/cause"
	"weephole/check"
	"weephole/internal/job"
	"weephole/lineup"
)

// Unweighed is a finding that the odds leave out, and why.
type Unweighed struct {
	Finding int    // index in Job.Findings
	Why     string // one sentence without a full stop
}

// details adds to the complaint what the job says in numbers and under keys of
// their own: the needle's degrees, after how long, since when, topped up.
func (p *preparer) details(said *check.Complaint) {
	m, c := p.m.Checks, &p.j.Complaint
	sign := func(i int) {
		if i >= 0 && said.Signs[i] == check.Silent {
			said.Signs[i] = check.Said
		}
	}
	for _, s := range c.Denied {
		if i := m.SignIndex(s); i >= 0 {
			said.Signs[i] = check.Denied
		}
	}
	scale := func(name string, value float64) {
		b := m.OnScale(name, value, said)
		if b == nil {
			return
		}
		sign(m.SignIndex(b.Sign))
		if i := m.ConditionIndex(b.When); i >= 0 && said.Conditions[i] == check.Silent {
			said.Conditions[i] = check.Said
		}
	}
	if c.Needle.Known() {
		scale("needle", float64(c.Needle.Value))
	}
	if c.After.Known() {
		scale("after", p.minutes(c.After.Value))
	}
	sign(m.SignOfWord("since", c.Since))
	for _, word := range []string{c.ToppedUp.Every, c.ToppedUp.With, c.ToppedUp.Changed} {
		sign(m.SignOfWord("topped-up", word))
	}
}

// beside is what a reading says of the trouble itself, where the trouble is there whenever
// the engine runs and nothing was repaired before the reading. A thermometer that says 82
// degrees under a needle that always stands in the red speaks of the needle; the reading by
// itself says only what an engine does at a hot idle.
func (p *preparer) beside(i int, f *job.Finding) (events []lineup.Event) {
	if slices.ContainsFunc(p.j.Findings[:i], func(g job.Finding) bool { return g.Repair != "" }) {
		return nil
	}
	for _, r := range f.Read {
		if !r.Known() || bounds[r.Bound] == check.Above {
			continue
		}
		if b := p.m.Checks.OnScale(f.Check+"."+r.ID, r.Value, &p.out.Case.Complaint); b != nil && b.Sign != "" {
			events = append(events, lineup.Event{Sign: b.Sign, Slip: p.whose(f).Slip.Value})
		}
	}
	return events
}

// minutes makes minutes of a time, or of a way driven.
func (p *preparer) minutes(s job.Span) float64 {
	if s.Distance > 0 {
		return float64(s.Distance) / 1000 / p.m.Checks.RoadSpeed.Value * 60
	}
	return float64(s.Time) / 60
}

// lostCoolant are the signs of an engine that has run low.
var lostCoolant = []string{"loses-coolant", "gone-at-once", "tops-up-often", "burst-part"}

// weather is the outside air of the complaint where only a word of the weather
// is said.
func (p *preparer) weather() (celsius float64, told bool) {
	for _, w := range p.j.Complaint.When {
		if c, ok := p.m.Checks.WeatherC(w); ok {
			celsius, told = c, true
		}
	}
	return celsius, told
}

// described is the car in the words that the catalogue of checks looks at.
func (p *preparer) described() check.Described {
	v := &p.j.Vehicle
	return check.Described{
		Words: map[string]string{
			"fan": cmp.Or(v.Fan.Kind, "unknown"), "pump": v.Pump, "thermostat": thermostatKind(&v.Thermostat), "tank": v.Tank,
			"radiator": v.Radiator, "air-con": v.AirCon, "kind": v.Kind, "hybrid": v.Hybrid,
		},
		MileageKm: float64(v.Mileage.Or(0)) / 1000, Year: v.Year,
	}
}

// car makes what the job says of the car into factors on the odds of causes.
func (p *preparer) car() {
	d := p.described()
	p.out.Case.Odds, p.out.Case.States = p.m.Checks.CarOdds(d)
	if share, known := p.m.Checks.EngineFan(d); known && d.Words["fan"] == "unknown" {
		p.out.Case.Vehicle.EngineFan = &share
	}
}

// thermostatKind is how the thermostat works, as far as the odds know of it: one of a
// stamped rating is "rated" where no more is said.
func thermostatKind(t *job.Thermostat) string {
	if t.Kind == "" && t.Rating.Known() {
		return "rated"
	}
	return t.Kind
}

// work lists the kinds of recent work. Work that stands among the repairs tried
// as well is one job and counts once, as the repair; again: yes says that it was
// done twice.
func (p *preparer) work() {
	tried := map[string]bool{}
	for i := range p.j.Findings {
		f := &p.j.Findings[i]
		if f.Repair == "" || f.Again == "yes" {
			continue
		}
		for _, r := range append([]string{f.Repair}, f.Also...) {
			tried[p.m.Checks.WorkOf(r)], tried[r] = true, true // work may be told under its own name
		}
	}
	for i := range p.j.Recent {
		w := &p.j.Recent[i]
		for _, what := range append([]string{w.What}, w.Also...) {
			if what == "" || what == "none" || what == job.Unknown || tried[what] {
				continue
			}
			days, known := ageInDays(w.When, p.m.Checks.RoadADay.Value)
			if !known {
				days = p.m.Causes.Fades.Untold.Value
			}
			p.reshared(what, days)
			p.out.Case.Work = append(p.out.Case.Work, cause.WorkDone{Work: what, Days: days})
		}
	}
}

// reshared makes work into factors on the odds of hidden states among those of their
// cause: a new thermostat that opens wrong is hardly a worn one.
func (p *preparer) reshared(what string, days float64) {
	for i := range p.m.Causes.Causes {
		c := &p.m.Causes.Causes[i]
		for h := range c.Hidden {
			for s := range c.Hidden[h].States {
				state := &c.Hidden[h].States[s]
				factor := p.m.Causes.StateOddsAged(state, what, days)
				if factor == 1 {
					continue
				}
				if p.out.Case.States == nil {
					p.out.Case.States = make(map[string]float64)
				}
				id := c.ID + "." + state.Is
				if had, ok := p.out.Case.States[id]; ok {
					factor *= had // 0 stays 0: this car has no such part
				}
				p.out.Case.States[id] = factor
			}
		}
	}
}

// whose weighs whose word a finding is.
func (p *preparer) whose(f *job.Finding) *check.Whose {
	if w := p.m.Checks.WhoseWord(f.By); w != nil {
		return w
	}
	return p.m.Checks.WhoseWord("here")
}

// unweighed notes a finding that is kept and does not count.
func (p *preparer) unweighed(i int, format string, args ...any) {
	p.out.Unweighed = append(p.out.Unweighed, Unweighed{i, fmt.Sprintf(format, args...)})
}

// repairs are the events of a repair tried, one for each part of the visit.
func (p *preparer) repairs(f *job.Finding) (events []lineup.Event) {
	changed, known := outcome(f, &p.j.Complaint)
	list := slices.DeleteFunc(append([]string{f.Repair}, f.Also...), func(r string) bool { return r == job.Unknown })
	for k, r := range list {
		ev := lineup.Event{Repair: r, Changed: changed, Unknown: !known, Joint: k > 0}
		if k < len(list)-1 { // the visit is judged when all of it is done
			ev.Changed, ev.Unknown = cause.Nothing, true
		}
		events = append(events, ev)
	}
	return events
}

// outcome is what a repair changed. One that cured a part of what is complained of
// made it better.
func outcome(f *job.Finding, c *job.Complaint) (changed cause.Change, known bool) {
	k := slices.Index(cause.ChangeWords(), f.Changed)
	switch {
	case f.BackAfter != "":
		return cause.CameBack, true
	case k < 0:
		return cause.Nothing, false
	case cause.Change(k) == cause.Cured && len(f.Of) > 0 && !coversAll(f.Of, c.Signs):
		return cause.Better, true
	}
	return cause.Change(k), true
}

func coversAll(some, all []string) bool {
	for _, s := range all {
		if !slices.Contains(some, s) {
			return false
		}
	}
	return true
}

// bounds are the words of a job's readings for what a number is.
var bounds = map[string]check.Bound{"": check.Exact, "about": check.About, "below": check.Below, "above": check.Above}

// stated looks whether a check says anything in the state it was made in; false
// where it is kept but not counted.
func (p *preparer) stated(i int, f *job.Finding) bool {
	c := p.m.Checks.Check(f.Check)
	if c == nil {
		return true
	}
	if f.Trace == "" && c.In(f.Engine, f.AirCon == "yes") == nil {
		p.unweighed(i, "it is for an engine in the state %s; what it shows in the state %s is not known", c.State, f.Engine)
		return false
	}
	if c.Situation == "hot-idle-ac" && f.AirCon == "no" && f.Trace == "" {
		if w := c.WordIndex(f.Found); w < 0 || c.Words[w].Alarm {
			p.unweighed(i, "it is made with the air conditioning on; without it, what was found says nothing")
			return false
		}
	}
	return true
}

// codeEvents are the further words that the codes of a finding stand for, each
// an event of its own.
func (p *preparer) codeEvents(i int, f *job.Finding, first lineup.Event) (events []lineup.Event) {
	c := p.m.Checks.Check(f.Check)
	if c == nil || len(f.Codes) == 0 {
		return nil
	}
	seen := []string{first.Word}
	for _, text := range f.Codes {
		number, _ := job.Code(text)
		w := c.CodeWord(number)
		switch {
		case w < 0:
			p.unweighed(i, "the code %s is not in the catalogue", number)
		case !slices.Contains(seen, c.Words[w].Is):
			seen = append(seen, c.Words[w].Is)
			ev := first
			ev.Word, ev.Readings, ev.Log = c.Words[w].Is, nil, nil
			ev.Weight = new(p.codeWeight(f, c.Words[w].Is))
			events = append(events, ev)
		}
	}
	return events
}

// codeWeight is how much a word counts that codes stand for: less where all of
// them are only pending.
func (p *preparer) codeWeight(f *job.Finding, word string) float64 {
	weight := p.whose(f).Weight.Value
	c := p.m.Checks.Check(f.Check)
	pending := false
	for _, text := range f.Codes {
		number, isPending := job.Code(text)
		if w := c.CodeWord(number); w >= 0 && c.Words[w].Is == word {
			if !isPending {
				return weight
			}
			pending = true
		}
	}
	if pending {
		weight *= p.m.Checks.Pending.Value
	}
	return weight
}
