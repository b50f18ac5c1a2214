package margin

import (
	"context"
	"fmt"
	"math"
	"slices"

	"weephole/circuit"
	"weephole/lineup"
	"weephole/parallel"
)

// Passage is one engine's trip.
type Passage struct {
	PassedAt float64 // s from the start at which it passed its limit; +Inf if it did not
	Part     int     // of the trip in which it did
	PeakC    float64 // coolant at its highest
	Left     float64 // share of the coolant left at the end
}

// Passed tells whether the limit was passed.
func (p *Passage) Passed() bool { return !math.IsInf(p.PassedAt, 1) }

// Drive takes a circuit along a trip from a warm start, leaks and boiling included. other
// is how other than the model the car is: the zero value is not at all.
func (h *Holder) Drive(c *circuit.Circuit, trip Trip, altitudeM, airC float64, how Manner, other Other) Passage {
	out := Passage{PassedAt: math.Inf(1), PeakC: math.Inf(-1)}
	boilC := BoilingC(c, altitudeM)
	var st circuit.State
	begun := 0.0
	for i, part := range trip {
		pace := how.pace()
		circ := part.Duty.circuit(c, pace)
		part.Duty.deviate(&circ, h.k, other)
		cond := circuit.Conditions{AmbientC: airC - how.CoolerBy + part.Duty.GrilleAir, AltitudeM: altitudeM}
		if i == 0 {
			st = circuit.StateAt(&circ, cond, max(h.k.Start.Value, airC), h.k.StartSoaked.Value)
		}
		seconds := h.fillPart(&circ, part, how)
		h.solver.Run(&circ, cond, &st, h.stages, h.k.ReadEvery.Value, func(t float64, r *circuit.Snapshot) {
			out.PeakC = max(out.PeakC, r.CoolantC)
			if !out.Passed() && (r.Boiling || r.CoolantC > boilC || r.MetalC > h.k.MetalLimit.Value) {
				out.PassedAt, out.Part = begun+t, i
			}
		})
		begun += seconds
	}
	out.Left = st.Fill()
	return out
}

// fillPart fills h.stages with a part of a trip, cut at its end. A slower driver
// takes longer over the same way, one who meets no lights takes less.
func (h *Holder) fillPart(c *circuit.Circuit, p Part, how Manner) (seconds float64) {
	d := p.Duty
	h.stages = d.stages(h.stages[:0], c, how)
	once := slices.Clone(h.stages)
	h.stages = h.stages[:0]
	usual := 0.0
	var driven float64 // s of `once` that take the place of one usual period
	for i := range d.Legs {
		usual += d.Legs[i].Seconds
	}
	for i := range once {
		if once[i].RoadSpeedMS > 0 {
			once[i].Seconds /= how.pace()
		}
		driven += once[i].Seconds
	}
	left := p.Minutes * 60 * driven / usual
	seconds = left
	for left > 0 {
		for _, st := range once {
			if st.Seconds = min(st.Seconds, left); st.Seconds > 0 {
				h.stages = append(h.stages, st)
				left -= st.Seconds
			}
		}
	}
	return seconds
}

// Help is something that spares the engine on the trip, and what it would do.
type Help struct {
	ID     string  `json:"id"`
	Manner Manner  `json:"manner"`
	Chance float64 `json:"chance"` // to pass the limit with it
	Cooler float64 `json:"cooler"` // K by which the coolant's peak is lower, the middle engine
}

// The ids of helps.
const (
	HelpHeater  = "heater"
	HelpAirCon  = "no-air-con"
	HelpSlower  = "slower"
	HelpNoStops = "no-stops"
	HelpEvening = "evening"
	HelpAll     = "all"
)

// Advice is what to do with the car.
type Advice string

// The advices, the safest first.
const (
	Never   Advice = "never"   // it must not run: no coolant, or oil in it
	Carry   Advice = "carry"   // have it carried
	Careful Advice = "careful" // it may be driven, watched
)

// TripReport is how a trip would go.
type TripReport struct {
	Trip     Trip     `json:"trip"`
	AirC     float64  `json:"air"`
	Engines  int      `json:"engines"`
	Distinct int      `json:"distinct"`
	Unnamed  float64  `json:"unnamed"`
	Advice   Advice   `json:"advice"`
	Why      []string `json:"why"`    // reasons for the advice: ids
	Chance   float64  `json:"chance"` // to pass the limit
	Error    float64  `json:"error"`  // standard error of Chance from the size of the sample
	// When the limit is passed, minutes from the start, over the engines that pass
	// it; nil where none does. Part is the part of the trip where most do, from 0.
	When *MiddleRange `json:"when,omitempty"`
	Part int          `json:"part"`
	// StopBy is the minute by which the chance has grown to `stop-before`; -1 if it
	// never does.
	StopBy   float64     `json:"stop_by"`
	StopPart int         `json:"stop_part"`
	Peak     MiddleRange `json:"peak"` // coolant at its hottest, degC
	Dry      float64     `json:"dry"`  // share of engines that start with too little coolant to drive
	Helps    []Help      `json:"helps"`
}

// The reasons for an advice.
const (
	WhyDry     = "dry"     // likelier than not too little coolant
	WhyChance  = "chance"  // the chance to pass the limit is too great
	WhyUnnamed = "unnamed" // too much is not known
	WhyRough   = "rough"   // too few engines fit
)

// driven is one engine on the trip.
type driven struct {
	dry  bool
	ways []Passage // as usual, then with each help
}

// Along asks a lineup how a trip would go.
func Along(ctx context.Context, l *lineup.Lineup, ask Request, trip Trip) (*TripReport, error) {
	k := ask.Criteria
	engines, picks := pick(l, k, ask.Seed)
	if len(picks) == 0 {
		return nil, ErrNoEngines
	}
	distinct := slices.Compact(slices.Clone(picks))
	others := deviates(len(picks), ask.Seed)
	manners := manners(k, trip)
	done := make([]driven, len(picks))
	err := parallel.Each(ctx, ask.Workers, len(picks), 1, func() *Holder { return NewHolder(k) }, func(h *Holder, k int) {
		e := &engines[picks[k]]
		c := e.Circuit(wrong(e.Faults, l.Model().Causes)...)
		d := &done[k]
		d.dry = c.Fill < ask.Criteria.DryFill.Value
		d.ways = append(d.ways, h.Drive(&c, trip, ask.AltitudeM, ask.DayC, Manner{}, others[k]))
		for _, m := range manners {
			d.ways = append(d.ways, h.Drive(&c, trip, ask.AltitudeM, ask.DayC, m.Manner, others[k]))
		}
	})
	if err != nil {
		return nil, fmt.Errorf("margin: %w", err)
	}
	r := &TripReport{Trip: trip, AirC: ask.DayC, Engines: len(picks), Distinct: len(distinct), Unnamed: l.Other(), Helps: manners, StopBy: -1, Why: []string{}}
	r.sum(k, done)
	r.advise(k, l.Odds().Rough)
	return r, nil
}

// sum counts over all engines what became of each.
func (r *TripReport) sum(k *Criteria, done []driven) {
	n := float64(len(done))
	var when, peak []float64
	in := make([]int, len(r.Trip))
	cooler := make([][]float64, len(r.Helps))
	for i := range done {
		d := &done[i]
		w := &d.ways[0]
		peak = append(peak, w.PeakC)
		if w.Passed() {
			r.Chance += 1 / n
			when = append(when, w.PassedAt/60)
			in[w.Part]++
		}
		if d.dry {
			r.Dry += 1 / n
		}
		for m := range r.Helps {
			if d.ways[m+1].Passed() {
				r.Helps[m].Chance += 1 / n
			}
			cooler[m] = append(cooler[m], w.PeakC-d.ways[m+1].PeakC)
		}
	}
	for m := range r.Helps {
		r.Helps[m].Cooler = RangeOf(cooler[m]).Middle
	}
	r.Peak = RangeOf(peak)
	r.Error = math.Sqrt(max(r.Chance*(1-r.Chance), 1/n) / n)
	if len(when) > 0 {
		whens := RangeOf(when)
		r.When = &whens
		r.Part = slices.Index(in, slices.Max(in))
		slices.Sort(when)
		if nth := int(math.Ceil(k.StopBefore.Value * n)); nth <= len(when) {
			r.StopBy = when[max(nth, 1)-1]
			r.StopPart = r.Trip.partAt(r.StopBy)
		}
	}
}

// partAt is the part of the trip in which a minute lies.
func (t Trip) partAt(minute float64) int {
	for i, p := range t {
		if minute -= p.Minutes; minute < 0 {
			return i
		}
	}
	return len(t) - 1
}

// manners lists what may help on this trip.
func manners(k *Criteria, trip Trip) []Help {
	all := Manner{Heater: true, Pace: k.Slower.Value, CoolerBy: k.Evening.Value}
	list := []Help{{ID: HelpHeater, Manner: Manner{Heater: true}}}
	uses := func(f func(*Duty) bool) bool {
		return slices.ContainsFunc(trip, func(p Part) bool { return f(p.Duty) })
	}
	if uses(func(d *Duty) bool { return d.AirCon }) {
		list = append(list, Help{ID: HelpAirCon, Manner: Manner{AirConOff: true}})
		all.AirConOff = true
	}
	moves := func(d *Duty) bool { return slices.ContainsFunc(d.Legs, func(g Leg) bool { return g.Speed > 0 }) }
	if uses(moves) {
		list = append(list, Help{ID: HelpSlower, Manner: Manner{Pace: k.Slower.Value}})
	}
	if uses(func(d *Duty) bool {
		return moves(d) && slices.ContainsFunc(d.Legs, func(g Leg) bool { return g.Speed == 0 })
	}) {
		list = append(list, Help{ID: HelpNoStops, Manner: Manner{NoStops: true}})
		all.NoStops = true
	}
	return append(list, Help{ID: HelpEvening, Manner: Manner{CoolerBy: k.Evening.Value}}, Help{ID: HelpAll, Manner: all})
}

// advise decides; in doubt the car is carried.
func (r *TripReport) advise(k *Criteria, rough bool) {
	if r.Chance+r.Error > k.CarryAbove.Value {
		r.Why = append(r.Why, WhyChance)
	}
	if r.Unnamed > k.UnnamedMost.Value {
		r.Why = append(r.Why, WhyUnnamed)
	}
	if rough {
		r.Why = append(r.Why, WhyRough)
	}
	r.Advice = Careful
	if len(r.Why) > 0 {
		r.Advice = Carry
	}
	if r.Dry > k.DryMost.Value {
		r.Advice, r.Why = Never, []string{WhyDry}
	}
}
