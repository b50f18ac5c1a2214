package lineup

import (
	"slices"
	"sort"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"

	"weephole/cause"
	"weephole/circuit"
)

// maxFaults is how many faults one candidate can have at once: two from the
// start and one that a repair left behind.
const maxFaults = 3

// Latents of a candidate beside the circuit's own numbers, each an independent
// standard normal. Discrete states are decided by thresholds on theirs, so the
// whole candidate but its set of causes is one Gaussian vector.
const (
	latentSeverity = iota
	latentSite
	latentHidden
	latentsPerFault = latentHidden + cause.MaxHidden
)

// Latents of each repair that was tried.
const (
	latentSuccess = iota
	latentLeaves
	latentLeavesSeverity // of what it leaves, which is seldom anything; and how full its filling still is
	latentsPerRepair
)

// Latents of each log: what its driver did.
const (
	latentHeater = iota
	latentAirCon
	latentsPerLog
)

// candidate is one simulated copy of the engine: which causes it has, and the
// latent numbers from which everything else about it follows.
type candidate struct {
	stratum int
	drawn   int // its number among all draws of the lineup: what its random streams hang on
	z       []float64
	// explains is the probability, before the evidence, that each cause of its stratum is what
	// the car came for.
	explains [2]float64
}

// faults are the causes present in one candidate at one time.
type faults struct {
	list [maxFaults]cause.Present
	n    int
	full float64 // of what a leak had let out, the share that a repair has filled in again; 0..1
}

func (f *faults) present() []cause.Present { return f.list[:f.n] }

func (f *faults) drop(i int) {
	copy(f.list[i:], f.list[i+1:f.n])
	f.n--
}

// drawer turns latents into candidates for one vehicle and what happened to it.
type drawer struct {
	model    *Model
	vehicle  circuit.Vehicle
	strata   []stratum
	severity []quantiles                    // by cause
	states   map[*cause.HiddenState]float64 // factors on their shares
	dim      int                            // numbers of the circuit

	repairs  []tried
	repairAt []int // where each repair's latents begin
	logAt    []int // where each log's latents begin
	size     int   // of the latent vector
}

// tried is a repair that was done, in order.
type tried struct {
	repair  *cause.Repair
	changed cause.Change
	known   bool // the outcome was said
	joint   bool // in one visit with the repair before it, which has the same outcome
	back    bool // the visit helped for a time, and then the trouble was back
}

func newDrawer(m *Model, v circuit.Vehicle, list []stratum) *drawer {
	d := &drawer{model: m, vehicle: v, strata: list, dim: m.Table.Dim()}
	d.size = d.gunAt() + 1
	d.severity = make([]quantiles, len(m.Causes.Causes))
	known := make(map[[2]float64]quantiles) // many causes have one shape, and a table takes its time
	for i := range m.Causes.Causes {
		shape := m.Causes.Causes[i].Severity.Shape
		if known[shape] == nil {
			known[shape] = betaQuantiles(shape[0], shape[1])
		}
		d.severity[i] = known[shape]
	}
	return d
}

// extended is the drawer with room for what the evidence adds to a candidate:
// the luck of each repair, the driver's habits in each log, in their order.
func (d *drawer) extended(list []evidence, repairs []tried) *drawer {
	n := *d
	n.repairs, n.repairAt, n.logAt = repairs, nil, nil
	n.size = d.gunAt() + 1
	at := make([]int, len(repairs))
	for i := range at {
		at[i] = -1
	}
	done := 0
	grow := func(until int) {
		for ; done < until; done++ {
			at[done] = n.size
			n.size += latentsPerRepair
		}
	}
	for i := range list {
		grow(list[i].epoch)
		if list[i].log != nil {
			n.logAt = append(n.logAt, n.size)
			n.size += latentsPerLog
		}
	}
	grow(len(repairs))
	n.repairAt = at
	return &n
}

// gunAt is where the latent of the shop's infrared gun stands: what it errs by in
// all readings of the job.
func (d *drawer) gunAt() int { return d.dim + 2*latentsPerFault }

// blocks are the lengths of the parts of a latent vector that come to it one
// after the other: the engine itself, then each repair and log.
func (d *drawer) blocks() []int {
	starts := append(append([]int{0}, d.repairAt...), d.logAt...)
	sort.Ints(starts)
	var out []int
	for i, s := range starts {
		end := d.size
		if i+1 < len(starts) {
			end = starts[i+1]
		}
		out = append(out, end-s)
	}
	return out
}

// before gives the causes that the candidate had before any repair.
func (d *drawer) before(c *candidate) faults {
	var f faults
	for k, index := range d.strata[c.stratum].causes {
		if index < 0 {
			continue
		}
		z := c.z[d.dim+k*latentsPerFault:]
		f.list[f.n] = d.present(index, z[latentSeverity], z[latentSite], z[latentHidden:latentHidden+cause.MaxHidden])
		f.n++
	}
	return f
}

// severities are those of the candidate's causes, each as a rank in [0,1] among all of its kind.
func (d *drawer) severities(c *candidate) (u [2]float64) {
	for k, index := range d.strata[c.stratum].causes {
		if index >= 0 {
			u[k] = distuv.UnitNormal.CDF(c.z[d.dim+k*latentsPerFault+latentSeverity])
		}
	}
	return u
}

// present makes a cause with severity, site and hidden states from latents.
func (d *drawer) present(index int, severity, site float64, hidden []float64) cause.Present {
	c := &d.model.Causes.Causes[index]
	p := cause.Present{Cause: index, Site: cause.NoSite}
	p.Severity = d.severity[index].at(distuv.UnitNormal.CDF(severity))
	if len(c.Sites) > 0 {
		p.Site = pick(distuv.UnitNormal.CDF(site), len(c.Sites), func(i int) float64 { return c.Sites[i].Share })
	}
	for h := range c.Hidden {
		states := c.Hidden[h].States
		p.Hidden[h] = pick(distuv.UnitNormal.CDF(hidden[h]), len(states), func(i int) float64 {
			if f, ok := d.states[&states[i]]; ok {
				return f * states[i].Share
			}
			return states[i].Share
		})
	}
	return p
}

// reshare takes what the case says of hidden states.
func (d *drawer) reshare(cs *Case) {
	if len(cs.States) == 0 {
		return
	}
	d.states = make(map[*cause.HiddenState]float64)
	for i := range d.model.Causes.Causes {
		c := &d.model.Causes.Causes[i]
		for h := range c.Hidden {
			for s := range c.Hidden[h].States {
				state := &c.Hidden[h].States[s]
				if f, ok := cs.States[c.ID+"."+state.Is]; ok {
					d.states[state] = f
				}
			}
		}
	}
}

// after changes the faults as repair r (by order) does on this candidate: it
// may take causes away, and it may leave one behind. It returns how many went.
func (d *drawer) after(c *candidate, r int, f *faults) (gone int, back bool) {
	z := c.z[d.repairAt[r]:]
	repair := d.repairs[r].repair
	u := distuv.UnitNormal.CDF(z[latentSuccess])
	for i := f.n - 1; i >= 0; i-- {
		cures := repair.Succeeds(d.model.Causes, f.list[i])
		switch lasts := cures * (1 - d.model.Causes.Relapse.Value); {
		case u >= cures:
		case d.repairs[r].back && u >= lasts && !d.beside(c, f.list[i].Cause):
			back = true
		default:
			f.drop(i)
			gone++
		}
	}
	if f.n < maxFaults {
		left := distuv.UnitNormal.CDF(z[latentLeaves])
		for k := range repair.Disturbs {
			l := &repair.Disturbs[k]
			if left < l.Share && !f.has(l.Index()) {
				f.list[f.n] = d.present(l.Index(), z[latentLeavesSeverity], 0, make([]float64, cause.MaxHidden))
				f.n++
				break
			}
			left -= l.Share
		}
	}
	if repair.Fills() {
		f.full = d.filled(f, distuv.UnitNormal.CDF(z[latentLeavesSeverity]))
	}
	return gone, back
}

// filled is how much of what had leaked out is still in at the checks that follow a
// filling. Nobody says how long after it they were made: full the same day, as on arrival
// a week later, so that all shares are equally likely. Judgement.
func (d *drawer) filled(f *faults, share float64) float64 {
	if slices.ContainsFunc(f.present(), func(p cause.Present) bool { return d.model.Causes.Causes[p.Cause].EasedByFilling }) {
		return share
	}
	return 0 // nothing had run out: its circuit is what it was
}

func (f *faults) has(index int) bool {
	for i := range f.n {
		if f.list[i].Cause == index {
			return true
		}
	}
	return false
}

// circuit is the candidate's cooling circuit with the given faults acting.
func (d *drawer) circuit(c *candidate, f *faults) circuit.Circuit {
	circ := d.model.Table.Draw(d.vehicle, c.z[:d.dim])
	for i := range f.n {
		p, fill := &f.list[i], circ.Fill
		harm := &d.model.Causes.Causes[p.Cause]
		harm.Apply(p.Severity, p.Hidden[:], &circ)
		if harm.EasedByFilling {
			circ.Fill += f.full * (fill - circ.Fill)
		}
	}
	return circ
}

// pick finds the index whose share of the total holds u in [0,1).
func pick(u float64, n int, share func(int) float64) int {
	total := 0.0
	for i := range n {
		total += share(i)
	}
	u *= total
	for i := range n {
		u -= share(i)
		if u < 0 {
			return i
		}
	}
	return n - 1
}

// quantiles tabulates a distribution function's inverse on 0..1.
type quantiles []float64

// betaQuantiles tabulates the inverse of the Beta(a, b) distribution function
// (regularised incomplete beta, gonum) at 257 points; between them it is linear.
func betaQuantiles(a, b float64) quantiles {
	const points = 257
	q := make(quantiles, points)
	for i := range q {
		p := (float64(i) + 0.5) / points
		q[i] = mathext.InvRegIncBeta(a, b, p)
	}
	sort.Float64s(q)
	return q
}

func (q quantiles) at(u float64) float64 {
	x := min(max(u*float64(len(q))-0.5, 0), float64(len(q)-1))
	i := min(int(x), len(q)-2)
	f := x - float64(i)
	return q[i] + f*(q[i+1]-q[i])
}

// fits is true for a candidate whose causes its fan can have.
func (d *drawer) fits(c *candidate) bool {
	causes := d.strata[c.stratum].causes
	var picky bool
	for _, i := range causes {
		picky = picky || i >= 0 && d.model.Causes.Causes[i].Fan != ""
	}
	if !picky {
		return true
	}
	kind := d.model.Table.FanKind(d.vehicle, c.z[:d.dim])
	for _, i := range causes {
		if i >= 0 && !d.model.Causes.Causes[i].Fits(kind) {
			return false
		}
	}
	return true
}

// noFault is the healthy engine's one cause.
func noFault(m *Model) cause.Present {
	return cause.Present{Cause: m.Causes.NoFault(), Site: cause.NoSite}
}
