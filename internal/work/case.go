package work

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"weephole/check"
	"weephole/circuit"
	"weephole/internal/job"
	"weephole/lineup"
	"weephole/plan"
	"weephole/trace"
	"weephole/trace/events"
)

// DefaultAmbientC is the air temperature assumed for a job that names none:
// judgement, a mild day.
const DefaultAmbientC = 25.0

// logStep is the length of the stretches a log is cut into, s: judgement;
// shorter than a fan cycle (about 100 s) and longer than the sensor's lag.
const logStep = 20.0

// hotSoak is how far the whole engine shares the coolant's temperature when a
// log begins with a hot engine: judgement.
const hotSoak = 0.85

// prepare turns the job into a case.
func (w *Work) prepare(ctx context.Context) error {
	p := &preparer{m: w.Model, j: w.Job, open: w.options.Open, out: w}
	p.vehicle()
	p.car()
	p.conditions()
	p.complaint()
	p.work()
	if err := p.events(ctx); err != nil {
		return err
	}
	if len(p.problems) > 0 {
		return p.problems
	}
	return nil
}

type preparer struct {
	m        *lineup.Model
	j        *job.Job
	open     Opener
	out      *Work
	problems job.Problems
}

func (p *preparer) problem(path, format string, args ...any) {
	p.problems = append(p.problems, p.j.Problem(path, format, args...))
}

func (p *preparer) vehicle() {
	v, out := &p.j.Vehicle, &p.out.Case.Vehicle
	switch v.Fuel {
	case "petrol":
		out.Fuel = circuit.Petrol
	case "diesel":
		out.Fuel = circuit.Diesel
	}
	out.DisplacementM3 = float64(v.Displacement.Or(0))
	out.PowerW = float64(v.Power.Or(0))
	out.MassKg = float64(v.Mass.Or(0))
	out.Cylinders = v.Cylinders
	out.CoolantVolumeM3 = float64(v.Coolant.Capacity.Or(0))
	out.GlycolVolumeFraction = stated(v.Coolant.Glycol)
	if v.Coolant.Kind == "propylene" {
		out.Glycol = "propylene"
	}
	out.ThermostatC = stated(v.Thermostat.Rating)
	switch v.Thermostat.Sits {
	case "outlet":
		out.ThermostatSits = circuit.OnOutlet
	case "inlet":
		out.ThermostatSits = circuit.OnInlet
	}
	out.FanKind = FanKind(v.Fan.Kind)
	out.FanCount = v.Fan.Count
	out.FanOnC, out.FanOffC = stated(v.Fan.On), stated(v.Fan.Off)
	out.CapPressurePa = stated(v.Cap)
}

// FanKind is the circuit's kind of a job file's word for how the fan is driven; nil
// where it has none.
func FanKind(word string) *circuit.FanKind {
	kind, ok := map[string]circuit.FanKind{
		"electric": circuit.FanElectric, "two-speed": circuit.FanTwoSpeed, "viscous": circuit.FanViscous,
		"electric-clutch": circuit.FanViscous, "hydraulic": circuit.FanViscous, "belt": circuit.FanViscous,
	}[word]
	if !ok {
		return nil
	}
	return &kind
}

// stated is a quantity's number in SI units, nil where it is not known.
func stated[Q ~float64](q job.Said[Q]) *float64 {
	if !q.Known() {
		return nil
	}
	return new(float64(q.Value))
}

func (p *preparer) conditions() {
	j, cs := p.j, &p.out.Case
	shop := float64(j.Shop.Ambient.Or(0))
	road := float64(j.Complaint.Ambient.Or(0))
	told := j.Complaint.Ambient.Known()
	if !told {
		road, told = p.weather()
	}
	switch {
	case !j.Shop.Ambient.Known() && !told:
		shop, road = DefaultAmbientC, DefaultAmbientC
	case !j.Shop.Ambient.Known():
		shop = road
	case !told:
		road = shop
	}
	altitude := float64(j.Shop.Altitude.Or(0))
	cs.Shop = circuit.Conditions{AmbientC: shop, AltitudeM: altitude}
	cs.OnTheRoad = circuit.Conditions{AmbientC: road, AltitudeM: altitude}
	p.out.Shop = plan.Workshop{Tools: j.Shop.Tools, Lacks: j.Shop.Lacks, Pump: j.Vehicle.Pump}
	if j.Shop.Rate.Known() {
		p.out.Shop.Rate = new(j.Shop.Rate.Value.PerHour)
	}
	if len(j.Shop.Tools) == 0 {
		p.out.Shop.Tools = nil
	}
}

func (p *preparer) complaint() {
	m, c, cs := p.m, &p.j.Complaint, &p.out.Case
	said := check.Complaint{
		Signs:      make([]check.Heard, len(m.Checks.Signs)),
		Conditions: make([]check.Heard, len(m.Checks.Conditions)),
	}
	for _, s := range c.Signs {
		if i := m.Checks.SignIndex(s); i >= 0 {
			said.Signs[i] = check.Said
		}
	}
	car := p.described()
	mark := func(list []string, h check.Heard) {
		for _, s := range list {
			if i := m.Checks.ConditionIndex(m.Checks.Meant(car, s)); i >= 0 {
				said.Conditions[i] = h
			}
		}
	}
	mark(c.When, check.Said)
	mark(c.Fine, check.Denied)
	p.details(&said)
	said.Trouble = m.Checks.Trouble(said.Signs)
	cs.Complaint = said
	cs.Brought = strings.TrimSpace(c.Words) != "" || p.j.Quote != nil || tellsCode(p.j)
	cs.RanHot = c.Overheated.Badly == "yes" || c.Overheated.Times.Or(0) > 2
	for _, id := range lostCoolant {
		if i := m.Checks.SignIndex(id); i >= 0 && said.Signs[i] == check.Said {
			cs.LostCoolant = true
		}
	}
	if q := p.j.Quote; q != nil && q.Presumes != job.Unknown {
		cs.Presumes = q.Presumes
	}
}

// events makes each finding into what the lineup is weighed against.
func (p *preparer) events(ctx context.Context) error {
	for i := range p.j.Findings {
		f := &p.j.Findings[i]
		var list []lineup.Event
		switch {
		case f.Remark():
			p.unweighed(i, "a remark")
		case f.NotKnown != "":
			p.unweighed(i, "the owner could not tell")
		case f.Sign+f.Denied == job.Unknown:
			p.unweighed(i, "it is not said which sign")
		case f.Sign != "" || f.Denied != "":
			list = []lineup.Event{{Sign: f.Sign + f.Denied, Denied: f.Denied != "", Slip: p.whose(f).Slip.Value}}
		case f.Repair != "":
			if list = p.repairs(f); len(list) == 0 {
				p.unweighed(i, "it is not said which repair")
			}
		case f.Check == job.Unknown:
			p.unweighed(i, "it is not said which check")
		case p.stated(i, f):
			var err error
			if list, err = p.checked(ctx, i, f); err != nil {
				return err
			}
			list = append(list, p.beside(i, f)...)
		}
		for _, ev := range list {
			p.out.Case.Events = append(p.out.Case.Events, ev)
			p.out.FindingOf = append(p.out.FindingOf, i)
		}
	}
	return nil
}

// checked is what a check showed, with the further trouble codes before it. A check
// that was made and taught nothing gives none.
func (p *preparer) checked(ctx context.Context, i int, f *job.Finding) ([]lineup.Event, error) {
	ev := lineup.Event{Check: f.Check, Weight: new(p.codeWeight(f, f.Found))}
	if f.Trace == "" {
		ev.State, ev.AirCon = f.Engine, f.AirCon == "yes"
	}
	if f.Found != job.Unknown {
		ev.Word = f.Found
	}
	for _, r := range f.Read {
		if r.Known() {
			ev.Readings = append(ev.Readings, lineup.Reading{ID: r.ID, Value: r.Value, Bound: bounds[r.Bound]})
		}
	}
	if f.Ambient.Known() {
		c := p.out.Case.Shop
		c.AmbientC = float64(f.Ambient.Value)
		ev.Conditions = &c
	}
	var tr *trace.Trace
	if f.Trace != "" {
		var err error
		if ev.Log, tr, err = p.log(ctx, f, fmt.Sprintf("findings[%d]", i)); err != nil {
			return nil, err
		}
	}
	list := p.codeEvents(i, f, ev)
	if ev.Word == "" && len(ev.Readings) == 0 && ev.Log == nil {
		return list, nil
	}
	if tr != nil {
		p.out.Traces[len(p.out.Case.Events)+len(list)] = tr
	}
	return append(list, ev), nil
}

// log reads a finding's trace. A log that cannot be read is the job's problem; only the
// end of the context stops the work.
func (p *preparer) log(ctx context.Context, f *job.Finding, path string) (*lineup.Log, *trace.Trace, error) {
	if p.open == nil {
		p.problem(path+".trace", "log %q cannot be opened from here", f.Trace)
		return nil, nil, nil
	}
	r, err := p.open(f.Trace)
	if err != nil {
		p.problem(path+".trace", "log %q cannot be opened: %v", f.Trace, err)
		return nil, nil, nil
	}
	defer r.Close()
	tr, err := trace.Read(ctx, r, f.Trace, trace.ReadOptions{Map: f.Map, Drive: f.Drive})
	switch {
	case ctx.Err() != nil:
		return nil, nil, ctx.Err()
	case err != nil:
		var e *trace.Error
		if errors.As(err, &e) {
			p.problem(path+".trace", "%v", e)
			return nil, nil, nil
		}
		return nil, nil, fmt.Errorf("read %s: %w", f.Trace, err)
	}
	if len(tr.Choices) > 0 {
		p.problem(path+".trace", "log %q does not count yet: %v", f.Trace, tr.Choices[0])
		return nil, nil, nil
	}
	log := Log(tr)
	if len(log.Segments) == 0 {
		p.problem(path+".trace", "log %q holds no stretch with a coolant temperature", f.Trace)
		return nil, nil, nil
	}
	return log, tr, nil
}

// Log makes a trace ready to be weighed.
func Log(tr *trace.Trace) *lineup.Log {
	ev := events.InLog(tr)
	log := &lineup.Log{Segments: tr.Segments(logStep), Soaked: 1, Jumps: ev.Contact.Jumps}
	if ev.Start != nil {
		log.StartC = ev.Start.C
		if ev.Start.Hot {
			log.Soaked = hotSoak
		}
	}
	return log
}

// tellsCode is true for a job with a stored trouble code: a reason to come in.
func tellsCode(j *job.Job) bool {
	return slices.ContainsFunc(j.Findings, func(f job.Finding) bool {
		return f.Check == "trouble-codes" && f.Found != "" && f.Found != "none" && f.Found != job.Unknown
	})
}
