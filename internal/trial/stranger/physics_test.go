package stranger

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

func sound(t *testing.T, seed uint64, i int) (*Car, draws) {
	t.Helper()
	r, err := DefaultRanges()
	if err != nil {
		t.Fatal(err)
	}
	d := draws{r, rand.New(rand.NewPCG(seed, uint64(i)))}
	return drawCar(d), d
}

func TestHeatBalanceCloses(t *testing.T) {
	for i := range 8 {
		c, _ := sound(t, 7, i)
		s := c.start(22, 100, 22)
		before := s.stored()
		for _, l := range []leg{
			{name: "idle", seconds: 600}, {name: "city", seconds: 400, blower: 1}, {name: "motorway", seconds: 400},
			{name: "climb", seconds: 300, grade: 0.06}, {name: "idle", seconds: 300, air: true}, {name: "idle", seconds: 300, off: true},
		} {
			s.drive(l, 1, nil)
		}
		gap := s.books.in - s.books.out - s.books.lost - (s.stored() - before)
		if math.Abs(gap) > 2e-3*s.books.in {
			t.Errorf("car %d: %.3g J of %.3g J unaccounted for", i, gap, s.books.in)
		}
	}
}

// Expected: water at the standard atmosphere; 50 % by volume of ethylene glycol
// open and under 15 psi (103 kPa) by ideal Raoult with IAPWS-IF97 water, which
// agrees with the maker's vapour-pressure constants within 0.1 K.
func TestBoilingPoints(t *testing.T) {
	for _, c := range []struct {
		what           string
		glycol, pa, at float64
		within         float64
	}{
		{"water", 0, 101325, 100.0, 0.3},
		{"half glycol, open", 0.5, 101325, 107.7, 1.0},
		{"half glycol, 15 psi cap", 0.5, 101325 + 103421, 129.65, 1.0},
	} {
		if got := mixed(c.glycol).boils(c.pa); math.Abs(got-c.at) > c.within {
			t.Errorf("%s boils at %.2f degC; published %.2f", c.what, got, c.at)
		}
	}
	m := mixed(0.5)
	for p := 0.8e5; p < 3e5; p += 0.2e5 {
		if back := m.vapour(m.boils(p)); math.Abs(back/p-1) > 0.01 {
			t.Errorf("vapour pressure at the boiling point of %.0f Pa is %.0f Pa", p, back)
		}
	}
}

func median(x []float64) float64 { slices.Sort(x); return x[len(x)/2] }

// A 1.5 L petrol car idling from 26-32 degC: 60 degC after 159-214 s, 80 after
// 375-532 s (sixteen starts in the open logs carOBD; Silva Neto et al. 2019). One
// car is no range of cars: the median of such cars must lie near its span.
func TestIdleWarmUpIsLikeOpenLogs(t *testing.T) {
	var to60, to80 []float64
	for i := 0; len(to60) < 25; i++ {
		c, _ := sound(t, 11, i)
		if c.Diesel || c.Litres < 1.2 || c.Litres > 1.9 {
			continue
		}
		s := c.start(29, 0, 29)
		r := s.drive(leg{name: "idle", seconds: 1200}, 1, nil)
		to60, to80 = append(to60, r.to60), append(to80, r.to80)
	}
	if m := median(to60); m < 120 || m > 270 {
		t.Errorf("60 degC after %.0f s; logs: 159-214", m)
	}
	if m := median(to80); m < 300 || m > 640 {
		t.Errorf("80 degC after %.0f s; logs: 375-532", m)
	}
	t.Logf("60 degC after %.0f s, 80 after %.0f s", median(to60), median(to80))
}

// Twelve cold starts of a healthy compact diesel (KIT, CC BY 4.0; the table in
// docs/traces.md): the opening shows as a peak of 91-95 degC after 9-19 min of
// driving from -1 to 24 degC outside, and it then holds 88-94 degC.
func TestDieselsOpenLikeOpenLogs(t *testing.T) {
	var minutes, peaks, holds []float64
	for i := 0; len(peaks) < 20; i++ {
		c, d := sound(t, 13, i)
		if !c.Diesel || c.Litres > 2.3 || c.RatedC < 86 || c.RatedC > 89 {
			continue
		}
		s := c.start(d.between(-1, 24), 100, d.between(10, 35))
		s.drive(leg{name: "city", seconds: 600}, 1, nil)
		var log []row
		s.drive(leg{name: "motorway", seconds: 1200}, 1, &log)
		opened := slices.IndexFunc(log, func(r row) bool { return r.reading > c.RatedC })
		if opened < 0 {
			peaks, minutes, holds = append(peaks, s.sense.reading), append(minutes, 99), append(holds, s.sense.reading)
			continue
		}
		minutes = append(minutes, log[opened].second/60)
		top := 0.0
		for _, r := range log {
			top = math.Max(top, r.reading)
		}
		peaks, holds = append(peaks, top), append(holds, log[len(log)-1].reading)
	}
	for _, c := range []struct {
		what      string
		x         []float64
		low, high float64
	}{{"opens after, min", minutes, 9, 22}, {"peak, degC", peaks, 89, 96}, {"holds, degC", holds, 86, 94}} {
		if m := median(c.x); m < c.low || m > c.high {
			t.Errorf("%s: %.1f; want %g to %g", c.what, m, c.low, c.high)
		} else {
			t.Logf("%s: %.1f", c.what, m)
		}
	}
}

// Against an eighth of the step. Momentary differences are larger where a valve
// opens a few seconds earlier; the mean tells whether it is the same car.
func TestTheStepIsSmallEnough(t *testing.T) {
	for i := range 4 {
		c, _ := sound(t, 17, i)
		coarse, fine := c.start(20, 0, 20), c.start(20, 0, 20)
		l := leg{name: "city", seconds: 1500}
		sum := 0.0
		const n = 3000
		for k := range n {
			at := float64(k) * dt
			coarse.step(l.at(at), dt)
			for j := range 8 {
				fine.step(l.at(at+float64(j)*dt/8), dt/8)
			}
			sum += math.Abs(coarse.sense.reading-fine.sense.reading) / n
		}
		if sum > 1.5 {
			t.Errorf("car %d: readings with an eighth of the step differ by %.1f K in the mean", i, sum)
		}
	}
}

// What a fault must do to a car on a hot day, in the trade's words.
func TestFaultsDoWhatTheTradeSays(t *testing.T) {
	table, err := kinds()
	if err != nil {
		t.Fatal(err)
	}
	run := func(c *Car, l leg) record {
		s := c.start(33, 0, 33)
		s.drive(leg{name: "city", seconds: 900}, 1, nil)
		return s.drive(l, 1, nil)
	}
	hill := leg{name: "climb", seconds: 480, grade: 0.06}
	idle := leg{name: "idle", seconds: 900, air: true}
	fast := leg{name: "motorway", seconds: 600}
	for _, c := range []struct {
		cause string
		l     leg
		more  float64 // K over the sound car, median
		less  float64
	}{
		{"thermostat-shut", fast, 12, 99}, {"fan-dead", idle, 8, 99}, {"fan-dead", fast, -2, 2}, {"radiator-clogged", hill, 4, 99},
		{"radiator-screened", hill, 4, 99}, {"pump-weak", hill, 4, 99}, {"fan-clutch-slipping", idle, 1, 99}, {"fan-reversed", idle, 8, 99},
	} {
		var k *kind
		for i := range table {
			if table[i].Cause == c.cause {
				k = &table[i]
			}
		}
		var more []float64
		for i := 0; len(more) < 15; i++ {
			car, d := sound(t, 19, i)
			if !car.may(k) || !car.AirCon {
				continue
			}
			was := run(car, c.l)
			car.suffers(k, d)
			more = append(more, run(car, c.l).readTop-was.readTop)
		}
		if m := median(more); m < c.more || m > c.less {
			t.Errorf("%s, %s: %.1f K over the sound car; want %g to %g", c.cause, c.l.name, m, c.more, c.less)
		}
	}
}
