package proof

import (
	"context"
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

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
	Changed *cause.Change

	Conditions *circuit.Conditions // where they differ from today's
}

// logLikelihoods holds the log likelihood of each hypothesis, and its course along
// the last log.
type logLikelihoods struct {
	ll     []float64      // of everything so far
	missed []float64      // probability that all of it would have missed the hypothesis, if it were so
	word   map[string]int // by check: what it showed last
	times  map[string]int // by check: how often it was made
	looks  [][]float64    // of each look and the owner's word: what it added to ll
	course []mark         // along the log just weighed; nil after a check
	step   float64        // s, length of its stretches
}

func (p *Proof) newLogLikelihoods() *logLikelihoods {
	w := &logLikelihoods{ll: make([]float64, len(p.list)), missed: make([]float64, len(p.list)), word: make(map[string]int), times: make(map[string]int)}
	for i := range w.missed {
		w.missed[i] = 1
	}
	return w
}

// addEvidence adds one piece of evidence.
func (p *Proof) addEvidence(ctx context.Context, w *logLikelihoods, e *Evidence) error {
	w.course = nil
	if e.Log != nil {
		return p.addLog(ctx, w, e)
	}
	if e.Changed != nil {
		p.addOwner(w, *e.Changed)
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
	if word >= 0 {
		p.addWords(w, p.showsNow(w, c), word)
		w.word[c.ID] = word
		w.times[c.ID]++
	}
	for i := range p.list {
		h := &p.list[i]
		s := p.subject(h)
		for k, m := range models {
			if h.class == Unnamed { // anything may come of it
				low, high := m.PlausibleSI()
				w.ll[i] -= math.Log(high - low)
				continue
			}
			w.ll[i] += m.LogLikelihood(&s, e.Readings[k].Value)
		}
	}
	return nil
}

// showsNow is shows, of a check that may have been made before. The same result once more is
// hardly another finding: it counts by the check's repeat share, and what is left goes to the other
// results as they stand to one another.
func (p *Proof) showsNow(w *logLikelihoods, c *check.Check) [][]float64 {
	shows := p.shows(c)
	before, again := w.word[c.ID]
	if !again {
		return shows
	}
	for i := range shows {
		one := shows[i][before]
		same := math.Pow(one, c.Repeat.Share)
		for k := range shows[i] {
			if k != before {
				shows[i][k] = math.Max(tiny, (1-same)*shows[i][k]/math.Max(tiny, 1-one))
			}
		}
		shows[i][before] = same
	}
	return shows
}

// tiny keeps a probability of zero from being divided by.
const tiny = 1e-9

// shows is the probability of each of a check's words on each hypothesis. The
// drill must have been run.
func (p *Proof) shows(c *check.Check) [][]float64 {
	n := len(c.Words)
	flat := make([]float64, len(p.list)*n)
	out := make([][]float64, len(p.list))
	for i := range p.list {
		out[i] = flat[i*n : (i+1)*n : (i+1)*n]
		if h := &p.list[i]; h.class == Unnamed { // anything may come of it
			for k := range out[i] {
				out[i][k] = 1 / float64(n)
			}
		} else {
			s := p.subject(h)
			c.Shows(&s, out[i])
		}
	}
	if c.ID == p.st.Level {
		p.filled(c, out)
	}
	return out
}

// filled sets right what the look at the level shows after a repair. Of all cars one in seven is
// low and nothing leaks; not so a car whose level the shop has just looked at. With q of the low
// ones without a fault, 1 - p(full) = 1 - (1 - q)(1 - leaks): the fault's own share stays.
func (p *Proof) filled(c *check.Check, shows [][]float64) {
	full := c.WordIndex(p.st.LevelFull)
	usual := make([]float64, len(c.Words))
	sound := check.Subject{Causes: []cause.Present{{Cause: p.model.Causes.NoFault(), Site: cause.NoSite}}}
	c.Shows(&sound, usual)
	for i := range shows {
		if p.list[i].class == Unnamed {
			continue
		}
		was := shows[i][full]
		now := math.Min(1, was/usual[full]) * (1 - p.st.FilledLow.Value)
		for k := range shows[i] {
			if k != full {
				shows[i][k] *= (1 - now) / (1 - was)
			}
		}
		shows[i][full] = now
	}
}

// addWords adds a result to the log likelihoods, and to each hypothesis the
// probability that this way of looking would have missed it.
func (p *Proof) addWords(w *logLikelihoods, shows [][]float64, word int) {
	good := p.goodShows(shows)
	added := make([]float64, len(p.list))
	w.looks = append(w.looks, added)
	for i := range p.list {
		added[i] = math.Log(shows[i][word])
		w.ll[i] += added[i]
		found := 0.0
		for k, v := range shows[i] {
			if v >= p.st.TellingRatio.Value*good[k] {
				found += v
			}
		}
		w.missed[i] *= 1 - found
	}
}

// owner is what the owner may say of the repair after some days, on each hypothesis. He
// speaks as of a car that is cured, or as of one on which nothing has changed. How likely
// each is follows from the probability that what he complained of would show again. A
// fault that nobody feels leaves an owner content.
func (p *Proof) owner() [][]float64 {
	outcomes := len(cause.ChangeWords())
	out := make([][]float64, len(p.list))
	for i := range p.list {
		h := &p.list[i]
		felt := 0.5
		if h.class != Unnamed {
			s := p.subject(h)
			felt = p.felt(&s)
		}
		out[i] = make([]float64, outcomes)
		for o := range out[i] {
			t := &p.model.Causes.Tried
			out[i][o] = felt*t.Says(cause.Change(o), cause.Effect{Had: 1}) + (1-felt)*t.Says(cause.Change(o), cause.Effect{Had: 1, Gone: 1})
		}
	}
	return out
}

// felt is the probability that one of the signs complained of is there; where
// none was named, the owner's word says nothing.
func (p *Proof) felt(s *check.Subject) float64 {
	not, named := 1.0, false
	for i, h := range p.complaint {
		if h == check.Said {
			not *= 1 - p.model.Checks.Signs[i].So(s)
			named = true
		}
	}
	if !named {
		return 0.5
	}
	return 1 - not
}

// addOwner weighs the owner's word.
func (p *Proof) addOwner(w *logLikelihoods, o cause.Change) {
	p.addWords(w, p.owner(), int(o))
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

// addLog drives every hypothesis along a logged run.
func (p *Proof) addLog(ctx context.Context, w *logLikelihoods, e *Evidence) error {
	y := coolantOf(e.Log)
	if len(y) == 0 {
		return errors.New("the log holds no stretch with a coolant temperature")
	}
	sims, err := p.simulate(ctx, e, func(Class) bool { return true })
	if err != nil {
		return err
	}
	along := p.along(e)
	cond := p.conditions(e)
	off := p.off(len(y), func(c *circuit.Circuit) []float64 { return along.Readings(c, cond, nil) })
	cut := p.windows(y, along.Step())
	y = cut.means(y)
	for i := range sims {
		sims[i] = cut.means(sims[i])
	}
	for k := range off {
		off[k] = cut.means(off[k])
	}
	w.step = cut.seconds
	fits, flat, blunder := along.Errors()
	s := p.newLikelihood(sims, off, len(y), func(k int) bool { return math.IsNaN(y[k]) }, w.step, cut.errs(fits), cut.errs(flat), blunder, marksEvery(len(y), 1))
	if w.course, err = p.course(ctx, s, y, sims, w.ll); err != nil {
		return err
	}
	copy(w.ll, w.course[len(w.course)-1].ll)
	p.missedBy(w, s, sims)
	return nil
}

// missedBy adds the probability that a log would have missed each hypothesis.
// Against the same engine with nothing wrong, the log likelihood ratio of a log
// of the hypothesis is normal with mean d/2 and variance d, d the square of the
// distance between their runs in the likelihood's measure.
func (p *Proof) missedBy(w *logLikelihoods, s *likelihood, sims [][]float64) {
	twin := make(map[int]int)
	for i := range p.list {
		if p.list[i].class == Good {
			twin[p.list[i].engine] = i
		}
	}
	for i := range p.list {
		h := &p.list[i]
		g, ok := twin[h.engine]
		if h.class.well() || h.class == Unnamed || !ok {
			continue
		}
		d := s.apart(sims[i], sims[g])
		found := 0.0
		if d > 0 {
			found = distuv.UnitNormal.CDF((d/2 - math.Log(p.st.TellingRatio.Value)) / math.Sqrt(d))
		}
		w.missed[i] *= 1 - found
	}
}

// simulate runs the hypotheses of the classes asked for along a log.
func (p *Proof) simulate(ctx context.Context, e *Evidence, wanted func(Class) bool) ([][]float64, error) {
	cond := p.conditions(e)
	sims := make([][]float64, len(p.list))
	err := each(ctx, p, func() *lineup.Along { return p.along(e) }, func(a *lineup.Along, i int) {
		if h := &p.list[i]; wanted(h.class) {
			sims[i] = a.Readings(&h.circ, cond, nil)
		}
	})
	return sims, err
}

// conditions are those in which a piece of evidence was met.
func (p *Proof) conditions(e *Evidence) circuit.Conditions {
	if e.Conditions != nil {
		return *e.Conditions
	}
	return p.shop
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
