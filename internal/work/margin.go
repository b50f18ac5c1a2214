package work

import (
	"context"
	"errors"
	"fmt"

	"weephole/cause"
	"weephole/check"
	"weephole/lineup"
	"weephole/margin"
)

// MarginAsk is what is asked about a job's margin.
type MarginAsk struct {
	DayC    *float64 // outside air of the day that counts, degC; nil: a hot summer day
	Duty    string   // "": all of them
	Repairs []string // to work out "after" for; none: those done, else what the odds suggest
	Engines int      // tried; 0: as many as the sheet of duties says
}

// CarMargin is how much cooling a job's car has left, before and after its repair.
type CarMargin struct {
	*margin.Report
	Repairs  []string `json:"repairs"` // ids; none: nothing to repair is known
	Names    []string `json:"names"`
	Done     bool     `json:"done"` // false: the repair is still to be done
	Rough    bool     `json:"rough"`
	Altitude float64  `json:"altitude"` // m
	// Bills are what it would cost here to repair each of the Losses; 0: not known.
	Bills    []float64 `json:"bills"`
	Bans     []string  `json:"bans"` // why the engine must not be run now; none: nothing known
	Cautions []string  `json:"cautions"`
}

// UnknownDuty is a duty that is not in the sheet.
type UnknownDuty struct{ Err error }

func (e *UnknownDuty) Error() string { return e.Err.Error() }

// WrongTrip is a trip that cannot be read.
type WrongTrip struct{ Err error }

func (e *WrongTrip) Error() string { return e.Err.Error() }

// ErrAir marks outside air that no place on earth has.
var ErrAir = errors.New("outside air")

// Outside air that can be asked about, degC: judgement.
const (
	coldestDay = -40
	hottestDay = 60
)

// Margin works out how much cooling the car has left. Where a repair was done,
// "found" is from what was known before it, and "after" from all that is known now.
func (w *Work) Margin(ctx context.Context, ask MarginAsk) (*CarMargin, error) {
	q, err := w.marginAsk(ask)
	if err != nil {
		return nil, err
	}
	now, err := w.Lineup(ctx)
	if err != nil {
		return nil, err
	}
	return w.marginOn(ctx, now, w.LineupBefore, ask, q)
}

// MarginOn is Margin from the lineup of the job as it stands; before gives that from
// before the repair, and is asked only where one was done.
func (w *Work) MarginOn(ctx context.Context, now *lineup.Lineup, before func(context.Context) (*lineup.Lineup, error), ask MarginAsk) (*CarMargin, error) {
	q, err := w.marginAsk(ask)
	if err != nil {
		return nil, err
	}
	return w.marginOn(ctx, now, before, ask, q)
}

// marginAsk looks through what is asked, before anything costly is begun.
func (w *Work) marginAsk(ask MarginAsk) (q margin.Request, err error) {
	k, day, err := w.marginCriteria(ask.DayC)
	if err != nil {
		return q, err
	}
	q = margin.Request{Criteria: k, AltitudeM: w.Case.Shop.AltitudeM, DayC: day, Seed: w.options.Lineup.Seed, Workers: w.options.Lineup.Workers}
	if ask.Engines > 0 {
		k.Engines.Value = float64(ask.Engines)
	}
	if ask.Duty != "" {
		d, err := k.Duty(ask.Duty)
		if err != nil {
			return q, &UnknownDuty{err}
		}
		q.Duties = []*margin.Duty{d}
	}
	for _, id := range ask.Repairs {
		if w.Model.Causes.Repair(id) == nil {
			return q, &UnknownRepair{id, w.Model}
		}
	}
	return q, nil
}

func (w *Work) marginOn(ctx context.Context, now *lineup.Lineup, before func(context.Context) (*lineup.Lineup, error), ask MarginAsk, q margin.Request) (out *CarMargin, err error) {
	out = &CarMargin{Repairs: ask.Repairs, Names: []string{}, Altitude: q.AltitudeM, Rough: now.Odds().Rough, Bans: w.bans(q.Criteria), Cautions: w.cautions()}
	if len(w.Repairs) > 0 && len(ask.Repairs) == 0 {
		out.Repairs, out.Done = w.Repairs, true
		out.Report, err = marginDone(ctx, now, before, q)
	} else {
		if len(out.Repairs) == 0 {
			out.Repairs = Suggested(now)
		}
		q.Repairs = w.catalogued(out.Repairs)
		out.Report, err = margin.Of(ctx, now, q)
	}
	if err != nil {
		return nil, err
	}
	for _, id := range out.Repairs {
		out.Names = append(out.Names, w.Model.Causes.Repair(id).Name)
	}
	out.Bills = make([]float64, len(out.Losses))
	for i := range out.Losses {
		if r := w.Model.Causes.Repair(out.Losses[i].Repair); r != nil {
			out.Bills[i] = w.options.Plan.Bill(r, w.Shop)
		}
	}
	return out, nil
}

// marginDone joins the margin from before a repair with the one of today.
func marginDone(ctx context.Context, now *lineup.Lineup, lineupBefore func(context.Context) (*lineup.Lineup, error), q margin.Request) (*margin.Report, error) {
	l, err := lineupBefore(ctx)
	if err != nil {
		return nil, err
	}
	before, err := margin.Of(ctx, l, q)
	if err != nil {
		return nil, err
	}
	after, err := margin.Of(ctx, now, q)
	if err != nil {
		return nil, err
	}
	for d := range after.Duties {
		s := after.Duties[d].Found
		after.Duties[d].After, after.Duties[d].Found = &s, before.Duties[d].Found
	}
	return after, nil
}

func (w *Work) catalogued(ids []string) (list []*cause.Repair) {
	for _, id := range ids {
		list = append(list, w.Model.Causes.Repair(id))
	}
	return list
}

func (w *Work) marginCriteria(day *float64) (*margin.Criteria, float64, error) {
	k, err := margin.DefaultCriteria()
	if err != nil {
		return nil, 0, err
	}
	if day == nil {
		return k, k.Day.Value, nil
	}
	if !(*day >= coldestDay && *day <= hottestDay) {
		return nil, 0, fmt.Errorf("%w: found %g °C; write air from %d to %d °C", ErrAir, *day, coldestDay, hottestDay)
	}
	return k, *day, nil
}

// TripForecast is how a trip with a job's car would go.
type TripForecast struct {
	*margin.TripReport
	Bans     []string `json:"bans"` // why the engine must not be run at all
	Cautions []string `json:"cautions"`
}

// Drive works out whether the car gets through a trip, as it stands now, in outside
// air of airC.
func (w *Work) Drive(ctx context.Context, text string, airC float64) (*TripForecast, error) {
	k, day, err := w.marginCriteria(&airC)
	if err != nil {
		return nil, err
	}
	trip, err := margin.ParseTrip(text, k)
	if err != nil {
		return nil, &WrongTrip{err}
	}
	l, err := w.Lineup(ctx)
	if err != nil {
		return nil, err
	}
	r, err := margin.Along(ctx, l, margin.Request{
		Criteria: k, AltitudeM: w.Case.Shop.AltitudeM, DayC: day,
		Seed: w.options.Lineup.Seed, Workers: w.options.Lineup.Workers,
	}, trip)
	if err != nil {
		return nil, err
	}
	out := &TripForecast{TripReport: r, Bans: w.bans(k), Cautions: w.cautions()}
	if len(out.Bans) > 0 {
		out.Advice = margin.Never
	}
	return out, nil
}

// bans lists what was found with which the engine must not be run. A repair lifts
// what was found before it; the complaint is from before all repairs.
func (w *Work) bans(k *margin.Criteria) []string {
	out := []string{}
	say := func(text string) {
		for _, s := range out {
			if s == text {
				return
			}
		}
		out = append(out, text)
	}
	events := w.Case.Events[len(w.Before.Events):]
	for i := range k.Bans {
		b := &k.Bans[i]
		if len(w.Repairs) == 0 && b.Sign != "" {
			if s := w.Model.Checks.SignIndex(b.Sign); s >= 0 && w.Case.Complaint.Signs[s] == check.Said {
				say(b.Says)
			}
		}
		list := events
		if len(w.Repairs) == 0 {
			list = w.Case.Events
		}
		stands := false
		for e := range list {
			ev := &list[e]
			switch {
			case b.Sign != "" && ev.Sign == b.Sign:
				stands = !ev.Denied
			case b.Check != "" && ev.Check == b.Check && ev.Word != "":
				stands = ev.Word == b.Word
			}
		}
		if stands {
			say(b.Says)
		}
	}
	return out
}

// driveHazards are those of a drive with an engine that may get hot.
var driveHazards = []string{"scald", "road"}

func (w *Work) cautions() []string {
	out := []string{}
	for _, c := range w.Model.Causes.Cautions(driveHazards, w.Case.Vehicle.FanKind) {
		out = append(out, w.Units.InText(c))
	}
	return out
}
