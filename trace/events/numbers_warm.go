package events

import (
	"math"

	"weephole/trace/internal/stat"
)

// start reads the first rows with the engine on.
func (m *measured) start() {
	lim := limits()
	j := m.ahead(m.from, 15)
	at := m.mean(m.from, max(j, m.from+1))
	m.set(StartC, at, readingStep)
	if m.IntakeAir == nil || !(at < lim.ColdStart.Value) {
		return
	}
	// Heat soak warms the intake air soon after the start, so the first
	// minute's coolest reading counts.
	low := math.Inf(1)
	for i := m.from; i <= m.ahead(m.from, 60); i++ {
		if a := m.IntakeAir[i]; a < low {
			low = a
		}
	}
	if !math.IsInf(low, 1) {
		m.set(ColdOffset, at-low, math.Hypot(math.Sqrt2*readingStep, 1.5)) // K; judgement: sensors of one car agree within 1.5
	}
}

// opening finds the end of the first rise: a peak that falls by `opening-fall`
// within four minutes, or a bend to a quarter of the slope before.
func (m *measured) opening() {
	lim := limits()
	first := m.n[StartC].Value
	if first >= lim.HotStart.Value {
		m.settled = m.from
		return
	}
	at := m.firstPeak(first)
	if at < 0 {
		at = m.firstBend(first)
	}
	if at < 0 {
		return
	}
	m.open = at
	m.settled = m.ahead(at, lim.Settle.Value)
	b, a := m.back(at, lim.SlopeOver.Value), m.ahead(at, lim.SlopeOver.Value)
	before, after := m.slope(b, at), m.slope(at, a)
	m.set(OpeningC, m.c[at], math.Hypot(readingStep, math.Max(0, before)*lim.SensorLag.Value))
	m.set(OpeningAt, m.Time[at]-m.Time[m.from], math.Hypot(5, (m.Time[at]-m.Time[m.back(at, 1)])/2))
	m.set(Sharpness, (before-after)*60, math.Sqrt2*60*slopeSigma(lim.SlopeOver.Value))
	if k := m.ahead(m.settled, 180); m.Time[k]-m.Time[m.settled] >= 60 {
		m.set(Overshoot, m.c[at]-m.mean(m.settled, k+1), math.Sqrt2*readingStep)
	}
}

func (m *measured) firstPeak(first float64) int {
	lim := limits()
	high, at := math.Inf(-1), -1
	for i := m.from; i < len(m.c); i++ {
		c := m.c[i]
		if math.IsNaN(c) {
			continue
		}
		if !m.on(i) {
			high, at = math.Inf(-1), -1 // what a stopped engine reads says nothing of its flow
			continue
		}
		switch {
		case c > high:
			high, at = c, i
		case high >= lim.OpeningLow.Value && high > first+lim.WarmedBy.Value && high-c >= lim.OpeningFall.Value && m.Time[i]-m.Time[at] <= lim.FallWithin.Value:
			if m.highest(i, m.ahead(at, lim.LevelFor.Value)) > high+lim.RisesOn.Value {
				continue // the driving's doing: it rises on
			}
			plain := high >= lim.PlainPeak.Value && m.c[at]-m.lowest(at, m.ahead(at, lim.FallWithin.Value)) >= lim.FallSlow.Value
			if !plain && (m.slope(m.back(at, lim.SlopeOver.Value), at) < lim.SlowRise.Value/60 || m.heatFell(at, i)) {
				continue // it had all but stopped rising, or less heat explains the fall
			}
			return at
		}
	}
	return -1
}

// heatFell tells whether much less heat went in from row i to j than before i.
func (m *measured) heatFell(i, j int) bool {
	lim := limits()
	if m.Heat == nil {
		return false
	}
	before, after := stat.Mean(m.Heat[m.back(i, 180):i+1]), stat.Mean(m.Heat[i:j+1])
	return after < lim.HeatKept.Value*before
}

// lowest is the lowest reading of rows i to j with the engine on.
func (m *measured) lowest(i, j int) float64 {
	low := math.Inf(1)
	for ; i <= j && m.on(i); i++ {
		if m.c[i] < low {
			low = m.c[i]
		}
	}
	return low
}

// highest is the highest reading of rows i to j.
func (m *measured) highest(i, j int) float64 {
	top := math.Inf(-1)
	for ; i <= j; i++ {
		if m.c[i] > top {
			top = m.c[i]
		}
	}
	return top
}

func (m *measured) firstBend(first float64) int {
	lim := limits()
	for i := m.from; i < len(m.c); i++ {
		if !(m.c[i] >= lim.LowestBend.Value) || m.c[i] < first+lim.WarmedBy.Value || !m.on(i) {
			continue
		}
		b, a := m.back(i, lim.SlopeOver.Value), m.ahead(i, lim.SlopeOver.Value)
		if m.Time[a]-m.Time[i] < lim.SlopeOver.Value {
			return -1
		}
		before, after := m.slope(b, i), m.slope(i, a)
		if before > lim.QuickRise.Value/60 && after < lim.BendTo.Value*before && math.Abs(after) < 1.0/60 && m.highest(i, m.ahead(i, lim.LevelFor.Value)) <= m.c[i]+1.5*lim.RisesOn.Value && !m.heatFell(i, a) {
			return i
		}
	}
	return -1
}

// warmUp measures the rise through its middle: where it lies between a quarter
// and three quarters of the way from the start to the opening or the end.
func (m *measured) warmUp() {
	lim := limits()
	first := m.n[StartC].Value
	if first >= lim.HotStart.Value {
		return
	}
	end := m.open
	if end < 0 {
		end = m.from
		for i := m.from; i < len(m.c); i++ {
			if m.c[i] > m.c[end] {
				end = i
			}
		}
	}
	rise := m.c[end] - first
	if rise < 12 {
		return
	}
	from, to := -1, -1
	for i := m.from; i < end; i++ {
		if from < 0 && m.c[i] >= first+rise/4 {
			from = i
		}
		if m.c[i] <= first+rise*3/4 {
			to = i
		}
	}
	if from < 0 || to <= from {
		return
	}
	dc, dt := m.c[to]-m.c[from], m.Time[to]-m.Time[from]
	if dc <= 0 {
		return
	}
	rel := math.Sqrt2 * readingStep / dc
	m.set(WarmUpRate, dc/dt*60, rel*dc/dt*60)
	if m.Heat == nil {
		return
	}
	joules := 0.0
	for i := from + 1; i <= to; i++ {
		if h := m.Heat[i]; !math.IsNaN(h) {
			joules += h * (m.Time[i] - m.Time[i-1])
		}
	}
	if joules > 1e5 {
		m.set(WarmUpPerHeat, dc/joules*1e6, rel*dc/joules*1e6)
	}
}

// plateau measures what is held when warm: all in all, standing against moving,
// much heat against little.
func (m *measured) plateau() {
	lim := limits()
	if m.settled < 0 {
		return
	}
	var all, still, moving tallied
	standsSince := nan
	for i := m.settled; i < len(m.c); i++ {
		c := m.c[i]
		if math.IsNaN(c) || !m.on(i) {
			continue
		}
		dt := m.width(i)
		all.add(c, dt)
		if m.RoadSpeed == nil {
			continue
		}
		switch v := m.RoadSpeed[i]; {
		case v < lim.DriverStill.Value:
			if math.IsNaN(standsSince) {
				standsSince = m.Time[i]
			}
			if m.Time[i]-standsSince >= lim.RestingStill.Value {
				still.add(c, dt)
			}
		default:
			standsSince = nan
			if v > lim.DriverMoves.Value {
				moving.add(c, dt)
			}
		}
	}
	if all.w < 60 {
		return
	}
	mid := all.mean()
	sd := all.deviation()
	m.set(PlateauC, mid, math.Hypot(readingStep, sd/math.Sqrt(math.Max(1, all.w/lim.Independent.Value))))
	m.set(PlateauSpread, sd, math.Hypot(readingStep, sd)/math.Sqrt(2*math.Max(1, all.w/lim.Independent.Value)))
	if still.w >= 40 && moving.w >= 40 {
		m.set(StandingGain, still.mean()-moving.mean(), math.Hypot(still.sigma(), moving.sigma()))
	}
	m.loadGain()
}

func (m *measured) loadGain() {
	lim := limits()
	if m.Heat == nil {
		return
	}
	// The heat's running mean over a minute, by a first-order lag.
	var h tallied
	for i := m.settled; i < len(m.c); i++ {
		if m.on(i) && !math.IsNaN(m.Heat[i]) {
			h.add(m.Heat[i], m.width(i))
		}
	}
	if h.w < 120 {
		return
	}
	mid, lagged := h.mean(), h.mean()
	var more, less tallied
	for i := m.settled; i < len(m.c); i++ {
		if !m.on(i) || math.IsNaN(m.Heat[i]) {
			continue
		}
		dt := m.width(i)
		lagged += (m.Heat[i] - lagged) * dt / (lim.HeatOver.Value + dt)
		switch c := m.c[i]; {
		case math.IsNaN(c):
		case lagged > (1+lim.HeatApart.Value)*mid:
			more.add(c, dt)
		case lagged < (1-lim.HeatApart.Value)*mid:
			less.add(c, dt)
		}
	}
	if more.w >= 40 && less.w >= 40 {
		m.set(LoadGain, more.mean()-less.mean(), math.Hypot(more.sigma(), less.sigma()))
	}
}

// width is the time in s that row i stands for, at most half a minute.
func (m *measured) width(i int) float64 {
	if i == 0 {
		return math.Min(m.Time[1]-m.Time[0], 30)
	}
	return math.Min(m.Time[i]-m.Time[i-1], 30)
}

// tallied is a weighted mean and spread on the way; weights are seconds.
type tallied struct{ w, s, ss, base float64 }

func (t *tallied) add(x, w float64) {
	if t.w == 0 {
		t.base = x
	}
	x -= t.base
	t.w += w
	t.s += w * x
	t.ss += w * x * x
}

func (t *tallied) mean() float64 { return t.base + t.s/t.w }

func (t *tallied) deviation() float64 {
	d := t.s / t.w
	return math.Sqrt(math.Max(0, t.ss/t.w-d*d))
}

func (t *tallied) sigma() float64 {
	lim := limits()
	return math.Hypot(readingStep, t.deviation()) / math.Sqrt(math.Max(1, t.w/lim.Independent.Value))
}
