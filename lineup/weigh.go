package lineup

import (
	"context"
	"math"
	"sync/atomic"
	"weephole/cause"

	"weephole/check"
	"weephole/circuit"
	"weephole/parallel"
)

// each calls f for 0..n-1 from the workers, each with a kit of its own.
func (l *Lineup) each(ctx context.Context, n int, f func(k *kit, i int)) error {
	const chunk = 32
	var done atomic.Int64
	return parallel.Each(ctx, l.opts.Workers, n, chunk, l.newKit, func(k *kit, i int) {
		f(k, i)
		if d := int(done.Add(1)); l.opts.Progress != nil && (d%chunk == 0 || d == n) {
			l.opts.Progress(d, n)
		}
	})
}

func (l *Lineup) newKit() *kit {
	most := 2
	for i := range l.model.Checks.Checks {
		most = max(most, len(l.model.Checks.Checks[i].Words))
	}
	return &kit{
		drill:   circuit.NewDrill(circuit.Coarse),
		solver:  circuit.NewSolver(circuit.Coarse),
		records: make([]circuit.Record, len(l.conditions)),
		have:    make([]circuit.Set, len(l.conditions)),
		words:   make([]float64, most),
		petrol:  l.cs.Vehicle.Fuel != circuit.Diesel,
	}
}

// weighed is what weighing one candidate gives.
type weighed struct {
	evidence []float64
	now      faults
	record   *circuit.Record
	have     circuit.Set
	any      float64 // probability that the owner complains of anything
	told     float64 // log likelihood of what he complains of
	misfit   []float32
}

// drive is a log that a candidate has yet to be driven along: the last thing to
// be weighed, because it costs most.
type drive struct {
	evidence int
	faults   faults
	circuit  circuit.Circuit
	misfit   int // where its residuals stand among all
}

// weighOne lives through the case with one candidate: its causes, the findings
// in order, the repairs, and what each piece of evidence says of it. Its logs come
// last, and only where what all the rest says is worth it; ok is false where not.
func (l *Lineup) weighOne(k *kit, c *candidate, worth func(logLikelihood float64) bool) (out weighed, ok bool) {
	out = weighed{evidence: make([]float64, len(l.evidence))}
	drives := l.live(k, c, &out)
	if len(drives) == 0 {
		return out, true
	}
	early := 0.0
	for j := range out.evidence {
		if l.evidence[j].log == nil {
			early += out.evidence[j]
		}
	}
	if !worth(early) {
		return out, false
	}
	for _, d := range drives {
		e := &l.evidence[d.evidence]
		out.evidence[d.evidence] += l.alongLog(k, e, c, &d.faults, &d.circuit)
		copy(out.misfit[d.misfit:], e.log.misfit(k, nil))
	}
	return out, true
}

// live is weighOne but for the logs, which it lists.
func (l *Lineup) live(k *kit, c *candidate, out *weighed) (drives []drive) {
	f := l.draw.before(c)
	gun := c.z[l.draw.gunAt()]
	k.begin()
	was, done := f, visit{} // before the visit, and in its course
	for epoch := range len(l.draw.repairs) + 1 {
		says := 1.0
		if epoch > 0 {
			r := epoch - 1
			before := f
			if !l.draw.repairs[r].joint {
				was, done = f, visit{}
			}
			gone, back := l.draw.after(c, r, &f)
			done.gone, done.back = done.gone+gone, done.back || back
			done.filled = done.filled || l.draw.repairs[r].repair.Fills()
			says = l.says(r, c, &was, &f, done)
			if f != before {
				k.begin()
			}
		}
		l.drillFor(k, epoch, c, &f)
		for j := range l.evidence {
			e := &l.evidence[j]
			if e.epoch != epoch {
				continue
			}
			if e.kind == repairTried {
				out.evidence[j] = l.model.Settings.TriedPower.Value * math.Log(says)
				continue
			}
			s := l.subject(&f, &k.records[e.cond])
			out.evidence[j] = e.logLikelihood(l.model, k, &s, gun)
			out.misfit = e.misfit(l.model.Settings, &s, gun, out.misfit)
			switch {
			case e.log != nil:
				drives = append(drives, drive{j, f, *l.circuitOf(k, c, &f), len(out.misfit)})
				out.misfit = append(out.misfit, make([]float32, e.log.residuals())...)
			case e.complaint != nil:
				if e.needs != 0 {
					_, out.any = e.complaint.logLikelihood(l.model, &s)
				}
				out.told = out.evidence[j]
				if l.shift != nil {
					out.evidence[j] += l.shift[c.stratum] + l.logToBlame(c, out.told)
				}
			}
		}
	}
	record := k.records[0]
	out.now, out.record, out.have = f, &record, k.have[0]
	return drives
}

// alongLog drives a candidate with these faults through the log, and gives the log
// likelihood of its jumps and its windows.
func (l *Lineup) alongLog(k *kit, e *evidence, c *candidate, f *faults, circ *circuit.Circuit) float64 {
	z, cond := c.z[l.draw.logAt[e.logIndex]:], l.conditions[e.cond]
	h := e.log.habits(l.model.Settings, z[latentHeater], z[latentAirCon], cond.AmbientC)
	return l.model.logJumps(e.log.jumps, f) + e.log.logLikelihood(k, circ, cond, h)
}

// visit is what has been done to a candidate since somebody last said how it went.
type visit struct {
	gone   int  // of the causes that were there
	back   bool // one had gone, and is there again
	filled bool
}

// says is the probability of what was said of repair r on a candidate that had
// some causes before it and others after: a cause left behind by the repair
// keeps it from being called a cure. A leak that is still there has been eased by filling:
// a car that is hot at once, full as it is, is hardly hot for want of coolant.
func (l *Lineup) says(r int, c *candidate, was, is *faults, v visit) float64 {
	if v.back {
		return 1 // that is what was said of it
	}
	e := cause.Effect{Gone: v.gone, Eased: v.filled}
	for _, p := range was.present() {
		if p.Cause == l.model.Causes.NoFault() {
			continue
		}
		e.Had++
		e.Eased = e.Eased && (!is.has(p.Cause) || l.model.Causes.Causes[p.Cause].EasedByFilling || l.draw.beside(c, p.Cause))
	}
	if e.Had == 0 {
		e = cause.Effect{Had: 1} // nothing was wrong, and nothing has gone
	}
	if is.n > 0 && e.Gone >= e.Had {
		e.Had = e.Gone + 1
	}
	return l.model.Causes.Tried.Says(l.draw.repairs[r].changed, e)
}

// beside is true for a cause that such cars have, more often than not, beside what they came for.
func (d *drawer) beside(c *candidate, index int) bool {
	s := &d.strata[c.stratum]
	for k, i := range s.causes {
		if i == index {
			return s.explains[k] < 0.5
		}
	}
	return false // a repair left it behind
}

// begin forgets the circuit that the kit holds, and what was seen of it.
func (k *kit) begin() {
	k.built = false
	clear(k.have)
}

// circuitOf is the circuit of the candidate with these faults. It is made when the first
// asks: words alone ask for none.
func (l *Lineup) circuitOf(k *kit, c *candidate, f *faults) *circuit.Circuit {
	if !k.built {
		k.circuit, k.built = l.draw.circuit(c, f), true
	}
	return &k.circuit
}

// drillFor runs what this epoch's evidence needs and the kit does not hold.
func (l *Lineup) drillFor(k *kit, epoch int, c *candidate, f *faults) {
	for cond := range l.conditions {
		var need circuit.Set
		for j := range l.evidence {
			if e := &l.evidence[j]; e.epoch == epoch && e.cond == cond {
				need = need.Union(e.needs)
			}
		}
		if need&^k.have[cond] != 0 {
			k.have[cond] = k.have[cond].Union(need)
			k.drill.Run(l.circuitOf(k, c, f), l.conditions[cond], k.have[cond], &k.records[cond])
		}
	}
}

// subject shows a candidate to a check; one without faults has "no-fault".
func (l *Lineup) subject(f *faults, r *circuit.Record) check.Subject {
	if f.n == 0 {
		f.list[0] = noFault(l.model)
		return check.Subject{Causes: f.list[:1], Record: r}
	}
	return check.Subject{Causes: f.present(), Record: r}
}
