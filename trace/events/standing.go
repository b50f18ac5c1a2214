package events

import (
	"math"

	"weephole/trace/internal/stat"
)

// findStops splits the engine's stops into pauses and soaks.
func (r *run) findStops() {
	lim := limits()
	if r.n == nil {
		return
	}
	e := r.events
	begun := false
	for i := 0; i < len(r.on); i++ {
		if r.on[i] {
			begun = true
			continue
		}
		k := i
		for k < len(r.on)-1 && !r.on[k+1] {
			k++
		}
		from, to := r.time[i], r.time[k]
		switch {
		case !begun: // key on, engine not yet started
		case to-from > lim.PauseLimit.Value:
			e.Soaks = append(e.Soaks, r.soak(i, k))
		case k == len(r.on)-1 && to-from < 5: // the log's own end
		default:
			e.Pauses = append(e.Pauses, Span{from, to})
		}
		i = k
	}
}

func (r *run) soak(i, k int) Soak {
	s := Soak{Span: Span{r.time[i], r.time[k]}, FromC: nan, PeakC: math.Inf(-1), EndC: nan}
	for j := i; j <= k; j++ {
		if c := r.c[j]; !math.IsNaN(c) {
			if math.IsNaN(s.FromC) {
				s.FromC = c
			}
			s.PeakC, s.EndC = math.Max(s.PeakC, c), c
		}
	}
	s.SafeIn = Estimate{nan, nan}
	if k == len(r.time)-1 {
		s.SafeIn = Cooldown(r.time[i:k+1], r.c[i:k+1], r.events.ambientOr())
	}
	return s
}

// ambientOr is the ambient temperature known so far.
func (e *Events) ambientOr() Estimate {
	if math.IsNaN(e.Ambient.Value) {
		return Estimate{15, 12}
	}
	return e.Ambient
}

func (r *run) standing(i int) bool { return r.v == nil || r.v[i] < limits().Standstill.Value }

// findFan takes the fan from its column, or from the coolant's teeth at standstill.
func (r *run) findFan() {
	lim := limits()
	u := &FanUse{OnC: Estimate{nan, nan}, OffC: Estimate{nan, nan}, Period: Estimate{nan, nan}}
	if r.fan != nil {
		u.Logged = true
		r.fanColumn(u)
	} else {
		r.fanTeeth(u)
	}
	var on, off, period []float64
	for i, c := range u.Cycles {
		on, off = append(on, c.OnC), append(off, c.OffC)
		if i > 0 {
			period = append(period, c.From-u.Cycles[i-1].From)
		}
	}
	if len(on) > 0 {
		u.OnC, u.OffC, u.Period = estimate(on), estimate(off), estimate(period)
	} else {
		// Warm minutes at standstill, without any rise that would call for it.
		stand := 0.0
		for i := 1; i < len(r.c); i++ {
			if r.v != nil && r.on[i] && r.c[i] > lim.FanWarm.Value && r.v[i] < lim.Standstill.Value {
				stand += math.Min(r.time[i]-r.time[i-1], 5)
			}
		}
		calm := r.events.Plateau != nil && r.topAfter(r.events.Plateau.From) < r.events.Plateau.C.Value+lim.CalmBy.Value
		u.Never = u.Logged || (stand >= lim.StandingLong.Value && calm)
		if !u.Never {
			return // nothing is known
		}
	}
	r.events.Fan = u
}

// topAfter is the highest smoothed coolant from time s on.
func (r *run) topAfter(s float64) float64 {
	top := math.Inf(-1)
	for i := range r.s {
		if r.time[i] >= s && r.s[i] > top {
			top = r.s[i]
		}
	}
	return top
}

func estimate(x []float64) Estimate {
	if len(x) == 0 {
		return Estimate{nan, nan}
	}
	s := stat.Deviation(x)
	if math.IsNaN(s) {
		s = 1
	}
	return Estimate{stat.Mean(x), math.Hypot(readingStep, s/math.Sqrt(float64(len(x))))}
}

func (r *run) fanColumn(u *FanUse) {
	for i := 0; i < len(r.fan); i++ {
		if !(r.fan[i] > 0.05) {
			continue
		}
		k := i
		for k < len(r.fan)-1 && (r.fan[k+1] > 0.05 || math.IsNaN(r.fan[k+1])) {
			k++
		}
		u.Cycles = append(u.Cycles, FanCycle{Span{r.time[i], r.time[k]}, r.c[i], r.c[k]})
		i = k
	}
}

// fanTeeth finds regular peaks and troughs while the car stands. One tooth is
// no proof; two alike are.
func (r *run) fanTeeth(u *FanUse) {
	lim := limits()
	var teeth []FanCycle
	high, low, falling := -1, -1, false
	reset := func() { high, low, falling = -1, -1, false }
	close := func() {
		if falling && high >= 0 && low >= 0 && r.s[high]-r.s[low] >= lim.FanTooth.Value {
			teeth = append(teeth, FanCycle{Span{r.time[high], r.time[low]}, math.Round(r.s[high]*10) / 10, math.Round(r.s[low]*10) / 10})
		}
	}
	from := 0
	if r.events.Opening != nil {
		for from < len(r.time) && r.time[from] < r.events.Opening.At.Value+lim.Settle.Value {
			from++
		}
	} else if !r.events.Start.Hot {
		return
	}
	for i := from; i < len(r.s); i++ {
		if math.IsNaN(r.s[i]) || !r.on[i] || !r.standing(i) || r.s[i] < lim.FanWarm.Value-5 {
			close()
			reset()
			continue
		}
		switch {
		case high < 0:
			high = i
		case !falling && r.s[i] > r.s[high]:
			high = i
		case !falling && r.s[i] < r.s[high]-lim.FanTooth.Value/2:
			falling, low = true, i
		case falling && r.s[i] < r.s[low]:
			low = i
		case falling && r.s[i] > r.s[low]+lim.FanTooth.Value/2:
			close()
			high, low, falling = i, -1, false
		}
	}
	close()
	for i, a := range teeth {
		for k, b := range teeth {
			if i != k && math.Abs(a.OnC-b.OnC) < 3 && math.Abs(a.OffC-b.OffC) < 3 && a.OnC > lim.FanWarm.Value {
				u.Cycles = append(u.Cycles, a)
				break
			}
		}
	}
}

// findClimbs notes rises out of the plateau that last.
func (r *run) findClimbs() {
	lim := limits()
	e := r.events
	if e.Plateau == nil {
		return
	}
	limit := e.Plateau.C.Value + lim.ClimbBy.Value
	for i := 0; i < len(r.s); i++ {
		if r.time[i] < e.Plateau.From || !(r.s[i] > limit) || !r.on[i] {
			continue
		}
		k := i
		for k < len(r.s)-1 && r.s[k+1] > limit {
			k++
		}
		if r.time[k]-r.time[i] >= lim.ClimbFor.Value && (e.Fan == nil || len(e.Fan.Cycles) == 0 || stat.Max(r.s[i:k+1]) > e.Fan.OnC.Value+lim.ClimbBy.Value) {
			a := i
			for a > 0 && r.s[a-1] > e.Plateau.C.Value && r.s[a-1] <= r.s[a]+lim.ClimbDip.Value {
				a--
			}
			c := Climb{Span: Span{r.time[a], r.time[k]}, FromC: r.s[a], ToC: stat.Max(r.s[i : k+1]), SpeedMS: nan}
			if r.v != nil {
				c.SpeedMS = stat.Mean(r.v[a : k+1])
				c.Standing = c.SpeedMS < lim.ClimbStands.Value
			}
			e.Climbs = append(e.Climbs, c)
		}
		i = k
	}
}

// findBoiling looks for a flat top well above where the thermostat holds.
func (r *run) findBoiling() {
	lim := limits()
	e := r.events
	if e.MaxC.Value < lim.BoilLeast.Value || (e.Plateau != nil && e.MaxC.Value < e.Plateau.C.Value+lim.BoilOver.Value) {
		return
	}
	if e.Fan != nil && len(e.Fan.Cycles) > 1 && e.MaxC.Value < e.Fan.OnC.Value+lim.ClimbBy.Value {
		return
	}
	from, to := -1, -1
	for i := range r.s {
		if r.on[i] && r.s[i] > e.MaxC.Value-lim.BoilTop.Value {
			if from < 0 {
				from = i
			}
			to = i
		} else if from >= 0 && r.time[to]-r.time[from] < lim.BoilFor.Value {
			from = -1
		}
	}
	if from < 0 || r.time[to]-r.time[from] < lim.BoilFor.Value || stat.Deviation(r.s[from:to+1]) > lim.BoilSpread.Value {
		return
	}
	if k := r.before(from, lim.BoilRises.Value); r.s[k] > r.s[from]-lim.BoilBy.Value {
		return // it did not rise to its top
	}
	e.Boiling = &Boiling{Span: Span{r.time[from], r.time[to]}, C: Estimate{stat.Mean(r.s[from : to+1]), lim.BoilSpread.Value}}
}
