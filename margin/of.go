package margin

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"weephole/cause"
	"weephole/circuit"
	"weephole/lineup"
	"weephole/parallel"
	"weephole/sample"
)

// Request is what is asked of a lineup.
type Request struct {
	Criteria  *Criteria
	Duties    []*Duty // all of them if none
	AltitudeM float64
	DayC      float64         // outside air of the day that counts
	Repairs   []*cause.Repair // done in one visit; none: no "after"
	Seed      uint64
	Workers   int // as many as there are cores if zero

	notHeld bool // this engine is not held in the day's air
}

// Report is the margin of a car: a range over the engines that still fit.
type Report struct {
	DayC     float64  `json:"day"`
	Engines  int      `json:"engines"`  // tried, each as often as its weight says
	Distinct int      `json:"distinct"` // different ones among them
	Unnamed  float64  `json:"unnamed"`  // probability of a cause that no engine stands for
	Duties   []InDuty `json:"duties"`
	Losses   []Loss   `json:"losses"` // what takes margin after the repair, or now where none is asked about
}

// InDuty is the margin in one duty.
type InDuty struct {
	Duty  *Duty   `json:"duty"`
	Found States  `json:"found"`           // as the car is
	After *States `json:"after,omitempty"` // with the faults gone that the repair cures
	Sound States  `json:"sound"`           // the same engines with nothing wrong
}

// States is how the engines stand.
type States struct {
	Highest         MiddleRange `json:"highest"`          // highest outside air, degC
	InHand          MiddleRange `json:"in_hand"`          // the same less the day's air, K
	Passes          float64     `json:"passes"`           // share of engines that pass their limit on the day
	AirToBoil       float64     `json:"air_to_boil"`      // degC, SAE J1393, from the day's coolant; the middle engine
	LimitingAmbient float64     `json:"limiting_ambient"` // degC, likewise
	Limit           float64     `json:"limit"`            // degC at which the coolant boils; the middle engine
	OneForOne       float64     `json:"one_for_one"`      // share of engines whose limiting ambient temperature is within `one-for-one` of Highest
	ByMetal         float64     `json:"by_metal"`         // share whose metal is the limit
	Never           float64     `json:"never"`            // share that passes its limit in any air
	Always          float64     `json:"always"`           // share that does in none that was looked at
}

// Loss is a fault that takes margin away.
type Loss struct {
	Cause string  `json:"cause"`
	Name  string  `json:"name"`
	Share float64 `json:"share"` // of engines that have it
	Takes float64 `json:"takes"` // K of highest air that it takes from them, on the mean, in the duty where it takes most
	Duty  string  `json:"duty"`
	// Repair is the id of what usually cures it, "" where nothing does.
	Repair string `json:"repair,omitempty"`
}

// tried is one engine of the sample in every duty.
type tried struct {
	found, after, sound []TriedMargin
	left                []cause.Present // what Losses are counted from
}

// TriedMargin is a margin, and the engine in the day's air.
type TriedMargin struct {
	Margin
	DayAirC, DayC float64 // the air, and the coolant leaving the engine in it; NaN: not looked at
}

// Of asks a lineup for its margin.
func Of(ctx context.Context, l *lineup.Lineup, ask Request) (*Report, error) {
	if len(ask.Duties) == 0 {
		for i := range ask.Criteria.Duties {
			ask.Duties = append(ask.Duties, &ask.Criteria.Duties[i])
		}
	}
	engines, picks := pick(l, ask.Criteria, ask.Seed)
	if len(picks) == 0 {
		return nil, ErrNoEngines
	}
	others := deviates(len(picks), ask.Seed)
	all := make([]*tried, len(picks))
	held := max(1, len(picks)/int(ask.Criteria.HeldMost.Value))
	err := parallel.Each(ctx, ask.Workers, len(picks), 1, func() *Holder { return NewHolder(ask.Criteria) }, func(h *Holder, k int) {
		i := picks[k]
		ask := ask
		ask.notHeld = k%held != 0
		all[k] = h.engine(&engines[i], l.Model().Causes, &ask, chance(ask.Seed, k), others[k])
	})
	if err != nil {
		return nil, fmt.Errorf("margin: %w", err)
	}
	distinct := slices.Compact(slices.Clone(picks))
	r := &Report{DayC: ask.DayC, Engines: len(picks), Distinct: len(distinct), Unnamed: l.Other()}
	within := ask.Criteria.OneForOne.Value
	for d := range ask.Duties {
		in := InDuty{Duty: ask.Duties[d]}
		in.Found = states(all, within, func(t *tried) *TriedMargin { return &t.found[d] })
		in.Sound = states(all, within, func(t *tried) *TriedMargin { return &t.sound[d] })
		if len(ask.Repairs) > 0 {
			s := states(all, within, func(t *tried) *TriedMargin { return &t.after[d] })
			in.After = &s
		}
		r.Duties = append(r.Duties, in)
	}
	r.Losses = losses(all, l.Model().Causes, &ask)
	return r, nil
}

// ErrNoEngines says that no engine of the lineup has any weight.
var ErrNoEngines = fmt.Errorf("margin: no simulated engine fits what was found")

// streams of random numbers.
const (
	streamPick = iota + 1
	streamRepair
	streamHeat
	streamGas
)

// pick draws the engines to try, each as often as its weight says.
func pick(l *lineup.Lineup, k *Criteria, seed uint64) ([]lineup.Engine, []int) {
	engines := l.Engines()
	if len(engines) == 0 {
		return nil, nil
	}
	u := rand.New(rand.NewPCG(seed, streamPick)).Float64()
	return engines, sample.Systematic(len(engines), func(i int) float64 { return engines[i].Weight }, int(k.Engines.Value), u)
}

// chance is the luck of the repair of an engine of the sample, 0..1.
func chance(seed uint64, k int) float64 {
	return rand.New(rand.NewPCG(seed, streamRepair<<32+uint64(k))).Float64()
}

// deviates says of n engines how other than the model's real cars are. Each number
// takes the middles of n equal shares of its distribution, dealt out at random, so that
// the sample's size adds no doubt.
func deviates(n int, seed uint64) []Other {
	list := make([]Other, n)
	deal := func(stream uint64, at func(*Other) *float64) {
		order := rand.New(rand.NewPCG(seed, stream)).Perm(n)
		for i := range list {
			*at(&list[i]) = distuv.UnitNormal.Quantile((float64(order[i]) + 0.5) / float64(n))
		}
	}
	deal(streamHeat, func(o *Other) *float64 { return &o.Heat })
	deal(streamGas, func(o *Other) *float64 { return &o.Gas })
	return list
}

// engine tries one engine in all duties, in all its states.
func (h *Holder) engine(e *lineup.Engine, causes *cause.Catalogue, ask *Request, luck float64, other Other) *tried {
	out := &tried{}
	faults := wrong(e.Faults, causes)
	after := faults
	if len(ask.Repairs) > 0 {
		after = repaired(faults, ask.Repairs, causes, luck)
	}
	out.left = after
	found, sound := e.Circuit(faults...), e.Circuit()
	for _, d := range ask.Duties {
		try := func(c circuit.Circuit) TriedMargin {
			d.deviate(&c, ask.Criteria, other)
			t := TriedMargin{h.Highest(&c, d, ask.AltitudeM), ask.DayC, math.NaN()}
			if !ask.notHeld {
				t.DayC = h.CoolantC(&c, d, ask.AltitudeM, ask.DayC)
			}
			return t
		}
		best := try(sound)
		now := best
		if len(faults) > 0 {
			now = try(found)
		}
		out.sound, out.found = append(out.sound, best), append(out.found, now)
		switch {
		case len(after) == 0:
			out.after = append(out.after, best)
		case len(after) == len(faults) && !refills(ask.Repairs):
			out.after = append(out.after, now)
		default:
			c := e.Circuit(after...)
			if refills(ask.Repairs) {
				c.Fill = sound.Fill // a leak is there still, but its loss was made up
			}
			out.after = append(out.after, try(c))
		}
	}
	return out
}

// wrong leaves the healthy engine's one cause out.
func wrong(faults []cause.Present, causes *cause.Catalogue) []cause.Present {
	return slices.DeleteFunc(slices.Clone(faults), func(p cause.Present) bool { return p.Cause == causes.NoFault() })
}

// repaired is what the repairs leave of the faults on an engine of the given luck;
// what a repair may break is not counted.
func repaired(faults []cause.Present, repairs []*cause.Repair, causes *cause.Catalogue, luck float64) []cause.Present {
	return slices.DeleteFunc(slices.Clone(faults), func(p cause.Present) bool {
		fails := 1.0
		for _, r := range repairs {
			fails *= 1 - r.Succeeds(causes, p)
		}
		return luck < 1-fails
	})
}

// refills tells whether the repairs end with a full system.
func refills(repairs []*cause.Repair) bool {
	return slices.ContainsFunc(repairs, (*cause.Repair).Drained)
}

// states sums up how the engines stand; within is how near one for one must come to
// count, K.
func states(all []*tried, within float64, of func(*tried) *TriedMargin) States {
	var s States
	n := float64(len(all))
	var highest, boil, limiting, limit []float64
	agree := 0
	for _, t := range all {
		m := of(t)
		highest = append(highest, m.HighestC)
		limit = append(limit, m.BoilingC)
		if !math.IsNaN(m.DayC) {
			limitingC := LimitingAmbientC(m.BoilingC, m.DayC, m.DayAirC)
			boil, limiting = append(boil, AirToBoilC(m.DayC, m.DayAirC)), append(limiting, limitingC)
			if m.Beyond == 0 && math.Abs(limitingC-m.HighestC) <= within {
				agree++
			}
		}
		for _, c := range []struct {
			is  bool
			sum *float64
		}{
			{m.HighestC < m.DayAirC || m.Beyond < 0, &s.Passes}, {m.ByMetal, &s.ByMetal}, {m.Beyond < 0, &s.Never}, {m.Beyond > 0, &s.Always},
		} {
			if c.is {
				*c.sum += 1 / n
			}
		}
	}
	dayC := all[0].found[0].DayAirC
	s.OneForOne = float64(agree) / float64(max(len(boil), 1))
	s.Highest = RangeOf(highest)
	s.InHand = s.Highest
	s.InHand.Low, s.InHand.Middle, s.InHand.High = s.Highest.Low-dayC, s.Highest.Middle-dayC, s.Highest.High-dayC
	s.AirToBoil, s.LimitingAmbient, s.Limit = RangeOf(boil).Middle, RangeOf(limiting).Middle, RangeOf(limit).Middle
	return s
}

// losses lists the faults that are left and take margin, those that take most from
// most engines first. An engine with two counts for both.
func losses(all []*tried, causes *cause.Catalogue, ask *Request) []Loss {
	list := []Loss{}
	for c := range causes.Causes {
		n, takes := 0, make([]float64, len(ask.Duties))
		for _, t := range all {
			if !slices.ContainsFunc(t.left, func(p cause.Present) bool { return p.Cause == c }) {
				continue
			}
			n++
			for d := range takes {
				takes[d] += t.sound[d].HighestC - t.after[d].HighestC
			}
		}
		if n == 0 {
			continue
		}
		e := Loss{Cause: causes.Causes[c].ID, Name: causes.Causes[c].Name, Share: float64(n) / float64(len(all))}
		for d := range takes {
			if k := takes[d] / float64(n); k > e.Takes {
				e.Takes, e.Duty = k, ask.Duties[d].ID
			}
		}
		if r := causes.UsualRepair(cause.Present{Cause: c, Site: cause.NoSite}); r >= 0 {
			e.Repair = causes.Repairs[r].ID
		}
		if e.Takes > 0 {
			list = append(list, e)
		}
	}
	slices.SortStableFunc(list, func(a, b Loss) int {
		switch x, y := a.Share*a.Takes, b.Share*b.Takes; {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	return list
}
