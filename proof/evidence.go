package proof

import (
	"context"
	"errors"
	"fmt"
	"math"

	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
	"weephole/lineup"
)

// Evidence is one thing seen after the repair: a logged run, or what a check
// showed.
type Evidence struct {
	Label string // how to call it; the check's or run's name if empty

	Log    *lineup.Log // a logged run
	AirCon bool        // air conditioning was on in it

	Check    string // id, instead of a log
	Word     string // what it showed
	Readings []lineup.Reading

	// Changed is what the owner or mechanic says that the repair changed, instead
	// of a log or a check: a word of a job file's repair.
	Changed *cause.Outcome

	Conditions *circuit.Conditions // where they differ from today's
}

// weighing holds the log likelihood of each hypothesis, and its course along
// the last log.
type weighing struct {
	ll     []float64 // of everything so far
	course []mark    // along the log just weighed; nil after a check
	step   float64   // s, length of its stretches
}

// weigh adds one piece of evidence.
func (p *Proof) weigh(ctx context.Context, w *weighing, e *Evidence) error {
	w.course = nil
	if e.Log != nil {
		return p.weighLog(ctx, w, e)
	}
	if e.Changed != nil {
		p.weighWord(w, *e.Changed)
		return nil
	}
	c := p.model.Checks.Check(e.Check)
	if c == nil {
		return fmt.Errorf("no check %q in the catalogue", e.Check)
	}
	word := -1
	if e.Word != "" {
		if word = c.WordIndex(e.Word); word < 0 {
			return fmt.Errorf("check %s has no result %q", e.Check, e.Word)
		}
	}
	var models []*check.ReadingModel
	for _, r := range e.Readings {
		k := c.ReadingIndex(r.ID)
		if k < 0 {
			return fmt.Errorf("check %s has no reading %q", e.Check, r.ID)
		}
		models = append(models, &c.Readings[k])
	}
	if err := p.drill(ctx, c.Situations(), e.Conditions); err != nil {
		return err
	}
	probabilities := make([]float64, len(c.Words))
	for i := range p.list {
		h := &p.list[i]
		if h.class == Unnamed { // anything may come of it
			if word >= 0 {
				w.ll[i] -= math.Log(float64(len(c.Words)))
			}
			for _, m := range models {
				low, high := m.PlausibleSI()
				w.ll[i] -= math.Log(high - low)
			}
			continue
		}
		s := p.subject(h)
		if word >= 0 {
			c.Shows(&s, probabilities)
			w.ll[i] += math.Log(probabilities[word])
		}
		for k, m := range models {
			w.ll[i] += m.LogLikelihood(&s, e.Readings[k].Value)
		}
	}
	return nil
}

// weighWord weighs the word on a repair, by how many of the faults are gone.
func (p *Proof) weighWord(w *weighing, o cause.Outcome) {
	for i := range p.list {
		had, gone := 2, 1 // something is still wrong
		switch p.list[i].class {
		case Good:
			gone = had
		case Still, Unnamed:
			gone = 0
		}
		w.ll[i] += math.Log(p.model.Causes.Tried.Says(o, had, gone))
	}
}

// subject shows a hypothesis to a check.
func (p *Proof) subject(h *hypothesis) check.Subject {
	if len(h.faults) == 0 {
		return check.Subject{Causes: []cause.Present{{Cause: p.model.Causes.NoFault(), Site: cause.NoSite}}, Record: &h.record}
	}
	return check.Subject{Causes: h.faults, Record: &h.record}
}

// drill runs every hypothesis through the situations asked for, in today's air
// or the one given.
func (p *Proof) drill(ctx context.Context, need circuit.Set, other *circuit.Conditions) error {
	cond, again := p.shop, other != nil && *other != p.shop
	if again {
		cond = *other
	}
	return each(ctx, p, func() *circuit.Drill { return circuit.NewDrill(circuit.Coarse) }, func(d *circuit.Drill, i int) {
		h := &p.list[i]
		if !again && need&^h.have == 0 {
			return
		}
		if h.have = h.have.Union(need); again {
			h.have = 0 // of other air: not to be taken for today's
		}
		d.Run(&h.circ, cond, need.Union(h.have), &h.record)
	})
}

// weighLog drives every hypothesis along a logged run.
func (p *Proof) weighLog(ctx context.Context, w *weighing, e *Evidence) error {
	y := coolantOf(e.Log)
	if len(y) == 0 {
		return errors.New("the log holds no stretch with a coolant temperature")
	}
	sims, err := p.simulate(ctx, e, func(Class) bool { return true })
	if err != nil {
		return err
	}
	along := p.along(e)
	fits, flat, blunder := along.Errors()
	w.step = along.Step()
	marks := marksEvery(len(y), max(1, int(courseEvery/w.step)))
	s := p.newYardstick(sims, len(y), func(k int) bool { return math.IsNaN(y[k]) }, w.step, fits, flat, blunder, marks)
	if w.course, err = p.course(ctx, s, y, sims, w.ll); err != nil {
		return err
	}
	copy(w.ll, w.course[len(w.course)-1].ll)
	return nil
}

// simulate runs the hypotheses of the classes asked for along a log.
func (p *Proof) simulate(ctx context.Context, e *Evidence, wanted func(Class) bool) ([][]float64, error) {
	cond := p.shop
	if e.Conditions != nil {
		cond = *e.Conditions
	}
	sims := make([][]float64, len(p.list))
	err := each(ctx, p, func() *lineup.Along { return p.along(e) }, func(a *lineup.Along, i int) {
		if h := &p.list[i]; wanted(h.class) {
			sims[i] = a.Readings(&h.circ, cond, nil)
		}
	})
	return sims, err
}

func coolantOf(log *lineup.Log) []float64 {
	y := make([]float64, len(log.Segments))
	for k := range y {
		y[k] = log.Segments[k].CoolantC
	}
	return y
}

func (p *Proof) along(e *Evidence) *lineup.Along {
	a := lineup.NewAlong(p.model.Settings, e.Log, p.petrol)
	a.AirCon = e.AirCon
	return a
}
