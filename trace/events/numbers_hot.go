package events

import "math"

// climb finds the steepest rise over two minutes when warm, and the steepest
// fall after it.
func (m *measured) climb() {
	lim := limits()
	if m.settled < 0 {
		return
	}
	at, best := -1, nan
	j := m.settled
	for i := m.settled; i < len(m.c); i++ {
		for j < len(m.c)-1 && m.Time[j]-m.Time[i] < lim.SlopeOver.Value {
			j++
		}
		if m.Time[j]-m.Time[i] < lim.SlopeOver.Value*lim.SlopeWhole.Value {
			break
		}
		if !m.on(i) || !m.on(j) || m.Time[j]-m.Time[i] > 2*lim.SlopeOver.Value {
			continue
		}
		if s := m.slope(i, j); !(s <= best) && !math.IsNaN(s) {
			at, best = i, s
		}
	}
	if at < 0 {
		return
	}
	sigma := 60 * slopeSigma(lim.SlopeOver.Value)
	m.set(ClimbRate, best*60, sigma)
	fall := nan
	j = at
	for i := at; i < len(m.c); i++ {
		for j < len(m.c)-1 && m.Time[j]-m.Time[i] < lim.SlopeOver.Value {
			j++
		}
		if m.Time[j]-m.Time[i] < lim.SlopeOver.Value*lim.SlopeWhole.Value {
			break
		}
		if m.Time[j]-m.Time[i] > 2*lim.SlopeOver.Value {
			continue
		}
		if s := m.slope(i, j); m.on(i) && m.on(j) && !(s >= fall) && !math.IsNaN(s) {
			fall = s
		}
	}
	m.set(FallAfter, fall*60, sigma)
}

// fan takes the fan from its column, or from the coolant's teeth at standstill.
func (m *measured) fan() {
	if m.Fan != nil {
		m.fanColumn()
		return
	}
	m.teeth()
}

func (m *measured) fanColumn() {
	lim := limits()
	var on, off, period, pull tallied
	last := nan
	for i := 1; i < len(m.Fan); i++ {
		was, is := m.Fan[i-1] > lim.FanRuns.Value, m.Fan[i] > lim.FanRuns.Value
		c := m.c[i]
		switch {
		case was == is || math.IsNaN(m.Fan[i]) || math.IsNaN(m.Fan[i-1]) || math.IsNaN(c):
		case is:
			on.add(c, 1)
			if !math.IsNaN(last) {
				period.add(m.Time[i]-last, 1)
			}
			last = m.Time[i]
			if p := m.pullAt(i); !math.IsNaN(p) {
				pull.add(p*60, 1)
			}
		default:
			off.add(c, 1)
		}
	}
	m.counted(FanOnC, on, readingStep)
	m.counted(FanOffC, off, readingStep)
	m.counted(FanPeriod, period, 5)
	m.counted(FanPull, pull, 60*math.Sqrt2*slopeSigma(lim.PullOver.Value))
}

// pullAt is the change of the slope in K/s where the fan comes on, if it then
// runs on; the first seconds pass before the cooler coolant comes round.
func (m *measured) pullAt(i int) float64 {
	lim := limits()
	b, a0 := m.back(i, lim.PullOver.Value), m.ahead(i, 10)
	a := m.ahead(a0, lim.PullOver.Value)
	if m.Time[a]-m.Time[a0] < lim.PullOver.Value/2 || m.Time[i]-m.Time[b] < lim.PullOver.Value/2 {
		return nan
	}
	for k := i; k < a; k++ {
		if m.Fan[k] < lim.FanRuns.Value {
			a = k
			break
		}
	}
	if m.Time[a]-m.Time[a0] < 20 {
		return nan
	}
	return m.slope(a0, a) - m.slope(b, i)
}

// counted sets a number from repetitions, each with its own uncertainty.
func (m *measured) counted(k Kind, t tallied, each float64) {
	if t.w > 0 {
		m.set(k, t.mean(), math.Hypot(each, t.deviation())/math.Sqrt(t.w))
	}
}

// teeth finds peaks and troughs of the reading while the car stands warm. One
// tooth is no proof; two are.
func (m *measured) teeth() {
	lim := limits()
	if m.settled < 0 || m.RoadSpeed == nil {
		return
	}
	var on, off, period tallied
	high, low, falling := -1, -1, false
	last := nan
	for i := m.settled; i < len(m.c); i++ {
		c := m.c[i]
		if math.IsNaN(c) {
			continue
		}
		if !m.on(i) || m.RoadSpeed[i] > lim.DriverStill.Value || c < lim.FanWarm.Value-5 {
			high, low, falling, last = -1, -1, false, nan
			continue
		}
		switch {
		case high < 0, !falling && c > m.c[high]:
			high = i
		case !falling && c <= m.c[high]-lim.ToothBy.Value:
			falling, low = true, i
		case falling && c < m.c[low]:
			low = i
		case falling && c >= m.c[low]+lim.ToothBy.Value:
			on.add(m.c[high], 1)
			off.add(m.c[low], 1)
			if !math.IsNaN(last) {
				period.add(m.Time[high]-last, 1)
			}
			last = m.Time[high]
			high, low, falling = i, -1, false
		}
	}
	if on.w >= 2 {
		m.counted(FanOnC, on, readingStep)
		m.counted(FanOffC, off, readingStep)
		m.counted(FanPeriod, period, 5)
	}
}

// top finds the highest reading and how long it stood flat where coolant boils.
func (m *measured) top() {
	lim := limits()
	high := math.Inf(-1)
	for i, c := range m.c {
		if c > high && m.on(i) {
			high = c
		}
	}
	if math.IsInf(high, -1) {
		return
	}
	m.set(HighestC, high, readingStep)
	flat, j := 0.0, 0
	if high >= lim.BoilLeast.Value {
		for i := range m.c {
			for j < len(m.c)-1 && m.Time[j]-m.Time[i] < 60 {
				j++
			}
			if m.c[i] >= math.Max(lim.BoilLeast.Value, high-lim.NearTop.Value) && m.on(i) && m.Time[j]-m.Time[i] >= 40 && math.Abs(m.slope(i, j)) < lim.FlatTop.Value/60 {
				flat += m.width(i)
			}
		}
	}
	m.set(BoilTime, flat, 20)
}

// soak measures the longest stop of the engine after it ran.
func (m *measured) soak() {
	lim := limits()
	if m.EngineSpeed == nil {
		return
	}
	from, to := -1, -1
	for i := m.from; i < len(m.c); i++ {
		if m.on(i) {
			continue
		}
		k := i
		for k < len(m.c)-1 && !m.on(k+1) {
			k++
		}
		if m.Time[k]-m.Time[i] >= lim.SoakLeast.Value && (from < 0 || m.Time[k]-m.Time[i] > m.Time[to]-m.Time[from]) {
			from, to = i, k
		}
		i = k
	}
	if from < 0 || math.IsNaN(m.c[from]) {
		return
	}
	peak := from
	for i := from; i <= to; i++ {
		if m.c[i] > m.c[peak] {
			peak = i
		}
	}
	m.set(SoakRise, m.c[peak]-m.c[from], math.Sqrt2*readingStep)
	if long := m.Time[to] - m.Time[peak]; long >= lim.SoakLeast.Value {
		m.set(SoakRate, 60*m.slope(peak, to), 60*slopeSigma(long))
	}
}

// end reads the last minutes with the engine on.
func (m *measured) end() {
	last := len(m.c) - 1
	for last > m.from && (!m.on(last) || math.IsNaN(m.c[last])) {
		last--
	}
	b := max(m.back(last, 120), m.from)
	if m.Time[last]-m.Time[b] < 30 {
		return
	}
	m.set(EndC, m.mean(b, last+1), readingStep)
	a := max(m.back(last, 240), m.from)
	if long := m.Time[last] - m.Time[a]; long >= 60 {
		m.set(EndSlope, 60*m.slope(a, last), 60*slopeSigma(long))
	}
}
