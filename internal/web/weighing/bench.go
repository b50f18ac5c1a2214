package weighing

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"

	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
	"weephole/internal/answer"
	"weephole/internal/casework"
	"weephole/internal/job"
	"weephole/lineup"
	"weephole/plan"
	"weephole/quantity"
)

// bench is a job read and made ready to be weighed.
type bench struct {
	job      *job.Job
	work     *casework.Casework
	units    quantity.Units
	currency string
	seed     uint64
	key      string            // of all that the base lineup depends on
	findings []json.RawMessage // as the document has them
}

func (w *Weigher) read(ctx context.Context, s *Subject) (*bench, error) {
	j, err := job.Read(bytes.NewReader(s.Document), "", casework.Vocabulary(w.cfg.Model))
	if err != nil {
		return nil, err
	}
	b := &bench{job: j, units: s.Units, currency: "USD", seed: w.cfg.Seed}
	if b.work, err = casework.Prepare(ctx, w.cfg.Model, j, s.Open); err != nil {
		return nil, err
	}
	if j.Shop.Rate.Known() && j.Shop.Rate.Value.Currency != "" {
		b.currency = j.Shop.Rate.Value.Currency
	}
	var doc struct{ Findings []json.RawMessage }
	if err := json.Unmarshal(s.Document, &doc); err != nil {
		return nil, fmt.Errorf("job file: %w", err)
	}
	b.findings = doc.Findings
	cs := b.work.Case
	cs.Events = nil
	b.key = keyOf(cs)
	return b, nil
}

// eventKey names event i of the case.
func (b *bench) eventKey(i int) string { return string(b.findings[b.work.FindingOf[i]]) }

// odds puts a lineup's odds into words.
func (b *bench) odds(l *lineup.Lineup) *answer.Odds {
	var over *lineup.Overturn
	if o, ok := l.Overturn(); ok {
		over = &o
	}
	o := answer.ForOdds(l.Odds(), over, b.units, nil)
	return &o
}

// ask is the question for the next step.
func (b *bench) ask(st *plan.Assumptions) answer.Ask {
	a := answer.Ask{Shop: b.work.Shop, Settings: st, Units: b.units, Currency: b.currency}
	if q := b.job.Quote; q != nil && q.Presumes != job.Unknown {
		a.QuotePresumes, a.QuoteRepair = q.Presumes, q.Repair
		a.QuotePrice = q.Price.Or(quantity.Money{}).Amount
	}
	return a
}

// Expected is what a check would show now: on a healthy engine like this one,
// and on engines that still fit and have one of the leading causes.
type Expected struct {
	Check   string  `json:"check"`
	Reading string  `json:"reading,omitempty"` // a reading, or
	Word    string  `json:"word,omitempty"`    // a word
	Healthy *Shows  `json:"healthy,omitempty"`
	Leading []Shows `json:"leading"`
}

// Shows is what engines of one kind would show.
type Shows struct {
	Cause string  `json:"cause,omitempty"` // "" for the healthy ones
	Name  string  `json:"name,omitempty"`
	Low   float64 `json:"low,omitempty"` // of a reading, SI, temperatures in degC: mean less one standard deviation
	High  float64 `json:"high,omitempty"`
	Says  string  `json:"says"` // in the shop's units, or "87 of 100"
}

const (
	expectedSample  = 240  // engines that still fit, for what is expected: judgement
	healthySample   = 24   // healthy ones
	leadingCauses   = 3    // how many causes a place answers for
	leadingAtLeast  = 0.02 // probability below which a cause is not worth a line
	enoughToForesee = 4    // engines below which nothing is foretold
)

// group is engines of one kind.
type group struct {
	cause, name string
	subjects    []check.Subject
}

// expected foretells every reading and word.
func (b *bench) expected(m *lineup.Model, well []check.Subject, sample *lineup.Sample, odds *answer.Odds) []Expected {
	healthy := group{subjects: well}
	var leading []group
	for _, c := range odds.Causes {
		if len(leading) == leadingCauses || c.Probability < leadingAtLeast {
			break
		}
		if i := m.Causes.Index(c.Cause); i != m.Causes.NoFault() {
			if g := having(m, sample, i); len(g.subjects) >= enoughToForesee {
				leading = append(leading, g)
			}
		}
	}
	var out []Expected
	for i := range m.Checks.Checks {
		k := &m.Checks.Checks[i]
		for r := range k.Readings {
			e := Expected{Check: k.ID, Reading: k.Readings[r].ID, Leading: []Shows{}}
			if s, ok := healthy.read(&k.Readings[r], b.units); ok {
				e.Healthy = &s
			}
			for g := range leading {
				if s, ok := leading[g].read(&k.Readings[r], b.units); ok {
					e.Leading = append(e.Leading, s)
				}
			}
			out = append(out, e)
		}
		words := make([]Expected, len(k.Words))
		for w := range words {
			words[w] = Expected{Check: k.ID, Word: k.Words[w].Is, Leading: []Shows{}}
		}
		for w, p := range healthy.show(k) {
			words[w].Healthy = &Shows{Says: per100(p)}
		}
		for g := range leading {
			for w, p := range leading[g].show(k) {
				words[w].Leading = append(words[w].Leading, Shows{Cause: leading[g].cause, Name: leading[g].name, Says: per100(p)})
			}
		}
		out = append(out, words...)
	}
	return out
}

// having picks the sample's engines with the cause.
func having(m *lineup.Model, sample *lineup.Sample, index int) group {
	g := group{cause: m.Causes.Causes[index].ID, name: m.Causes.Causes[index].Name}
	for i, faults := range sample.Faults {
		for _, f := range faults {
			if f.Cause == index {
				g.subjects = append(g.subjects, check.Subject{Causes: faults, Record: sample.Records[i]})
				break
			}
		}
	}
	return g
}

// healthy gives healthy engines like the job's, drawn once for the car and the
// air.
func (d *desk) healthy(m *lineup.Model, b *bench) []check.Subject {
	if d.wellOf != b.key {
		d.well, d.wellOf = b.healthy(m), b.key
	}
	return d.well
}

// healthy draws engines like this one with nothing wrong and runs them.
func (b *bench) healthy(m *lineup.Model) []check.Subject {
	drill := circuit.NewDrill(circuit.Coarse)
	none := []cause.Present{{Cause: m.Causes.NoFault(), Site: cause.NoSite}}
	out := make([]check.Subject, healthySample)
	z := make([]float64, m.Table.Dim())
	for i := range out {
		rng := rand.New(rand.NewPCG(b.seed, uint64(i)))
		for d := range z {
			z[d] = rng.NormFloat64()
		}
		circ, rec := m.Table.Draw(b.work.Case.Vehicle, z), new(circuit.Record)
		drill.Run(&circ, b.work.Case.Shop, circuit.AllSituations(), rec)
		out[i] = check.Subject{Causes: none, Record: rec}
	}
	return out
}

// read is the reading's range on the group: the mean of the engines' means,
// less and plus one standard deviation of all together.
func (g *group) read(r *check.ReadingModel, u quantity.Units) (Shows, bool) {
	var n, sum, squares, own float64
	for i := range g.subjects {
		mean, sd := r.Expect(&g.subjects[i])
		if math.IsNaN(mean) {
			continue
		}
		n, sum, squares, own = n+1, sum+mean, squares+mean*mean, own+sd*sd
	}
	if n < enoughToForesee {
		return Shows{}, false
	}
	mean := sum / n
	sd := math.Sqrt(max(0, squares/n-mean*mean) + own/n)
	low, high := r.PlausibleSI()
	s := Shows{Cause: g.cause, Name: g.name, Low: max(low, mean-sd), High: min(high, mean+sd)}
	s.Says = answer.Span(u, r.What, [2]float64{s.Low, s.High})
	return s, true
}

// show is the mean probability of each of the check's words on the group.
func (g *group) show(k *check.Check) []float64 {
	if len(g.subjects) < enoughToForesee || len(k.Words) == 0 {
		return nil
	}
	out, p := make([]float64, len(k.Words)), make([]float64, len(k.Words))
	for i := range g.subjects {
		k.Shows(&g.subjects[i], p)
		for w := range p {
			out[w] += p[w] / float64(len(g.subjects))
		}
	}
	return out
}

func per100(p float64) string {
	switch n := int(math.Round(100 * p)); n {
	case 0:
		return "fewer than 1 of 100"
	default:
		return fmt.Sprintf("%d of 100", n)
	}
}
