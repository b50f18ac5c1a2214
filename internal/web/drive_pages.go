package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"weephole/internal/answer"
	"weephole/internal/web/answers"
	"weephole/internal/work"
	"weephole/margin"
	"weephole/quantity"
)

// driven are the parameters of a drive that is asked about.
var driven = []param{
	{"query", "trip", `times and ways of driving, such as "10 min town, 25 min motorway, 6 min climb"; left out: the mechanic's own road test`, "string"},
	{"query", "air", `outside air, such as "30 °C"; left out: the shop's`, "string"},
}

// driveOf reads the outside air; a bare number is in the shop's unit.
func driveOf(trip, air, unit string) (answers.Drive, error) {
	d := answers.Drive{Trip: trip}
	if air != "" {
		t, err := quantity.ParseTemperature(inUnit(air, unit))
		if err != nil {
			return d, wrongAt("air", "Outside air", "%v", err)
		}
		d.AirC = new(t.Celsius())
	}
	return d, nil
}

// driveError puts why a drive cannot be judged into the bench's words.
func driveError(err error) error {
	var trip *work.WrongTrip
	switch {
	case errors.Is(err, work.ErrAir):
		return wrongAt("air", "Outside air", "%s", strings.TrimPrefix(err.Error(), work.ErrAir.Error()+": "))
	case errors.As(err, &trip):
		return wrong(http.StatusUnprocessableEntity, "%s", answer.Sentence(err.Error()))
	case errors.Is(err, margin.ErrNoEngines):
		return wrong(http.StatusUnprocessableEntity, "No simulated engine fits what was found, so nothing is known of a drive. In doubt have the car carried.")
	}
	return err
}

func (ap *answersAPI) getDrive(_ http.ResponseWriter, r *http.Request) (any, error) {
	_, sub, err := ap.closingRequest(r)
	if err != nil {
		return nil, err
	}
	s, err := ap.current(r.Context(), r.PathValue("id"))
	if err != nil {
		return nil, err
	}
	d, err := driveOf(clip(r.FormValue("trip"), 200), clip(r.FormValue("air"), 40), s.units().TemperatureIn)
	if err != nil {
		return nil, err
	}
	ctx, cancel := context.WithTimeout(r.Context(), longestWait)
	defer cancel()
	a, err := ap.cache.Drive(ctx, sub, d)
	return a, driveError(err)
}

// drivePage asks whether the car gets through a drive.
type drivePage struct {
	endTab
	Parts []drivePart
	Air   string // as it was typed
	Usual string // the shop's air
	Asked bool
	Trip  *answer.TripFacts
}

// drivePart is one way of driving in the form.
type drivePart struct {
	ID, Name, Minutes string
}

// drivePartsOf reads the minutes of each way of driving.
func drivePartsOf(r *http.Request, k *margin.Criteria) (list []drivePart, trip string, wrong wrongFields) {
	wrong = wrongFields{}
	var says []string
	for i := range k.Duties {
		d := &k.Duties[i]
		p := drivePart{d.ID, answer.Sentence(d.Name), strings.TrimSpace(clip(r.FormValue(d.ID), 10))}
		list = append(list, p)
		if p.Minutes == "" {
			continue
		}
		if n, err := strconv.ParseFloat(strings.Replace(p.Minutes, ",", ".", 1), 64); err != nil || !(n > 0) {
			wrong[d.ID] = fmt.Sprintf("%q is no time; write minutes, such as 10", p.Minutes)
		} else {
			says = append(says, fmt.Sprintf("%g min %s", n, d.ID))
		}
	}
	return list, strings.Join(says, ", "), wrong
}

func (pg *endPages) drivePage(r *http.Request) (any, error) {
	base, _, sub, err := pg.endOf(r, "drive")
	if err != nil {
		return nil, err
	}
	p := drivePage{endTab: base, Air: clip(r.FormValue("air"), 40)}
	k, err := margin.DefaultCriteria()
	if err != nil {
		return nil, err
	}
	var trip string
	p.Parts, trip, p.wrongFields = drivePartsOf(r, k)
	if p.open == nil {
		return p, nil
	}
	u := answer.StyleOf(p.open).Units
	p.Usual = u.Temperature(quantity.Temperature(p.open.Case.Shop.AmbientC))
	p.Asked = trip != "" || r.FormValue("do") == "road-test"
	if r.FormValue("do") == "road-test" {
		trip = ""
	}
	d, err := driveOf(trip, p.Air, u.TemperatureIn)
	if err := p.showError(err); err != nil {
		return nil, err
	}
	if p.Faulty() || !p.Asked {
		return p, nil
	}
	err = pg.driveWorked(r, &p, sub, d)
	return p, err
}

// driveWorked puts what is known of the drive into its page.
func (pg *endPages) driveWorked(r *http.Request, p *drivePage, sub answers.JobState, d answers.Drive) error {
	got, there, err := pg.cache.DriveNow(sub, d)
	if r.FormValue("wait") != "" && !there {
		ctx, cancel := context.WithTimeout(r.Context(), longestWait)
		defer cancel()
		got, err = pg.cache.Drive(ctx, sub, d)
		there = true
	}
	if err := p.showError(driveError(err)); err != nil {
		return err
	}
	p.Waits, p.Working, p.Trip = pg.cache.DriveLeft(sub, d), !there, got
	return nil
}

// Cautions come before the advice, Verdict is the advice, and Helps what makes it
// likelier to get there.
func (p drivePage) Cautions() []string { return answer.Only(p.Trip.Lines, answer.Caution) }

// Verdict is the advice.
func (p drivePage) Verdict() []string { return answer.Only(p.Trip.Lines, answer.Verdict) }

// Says is why.
func (p drivePage) Says() []string {
	return answer.Texts(p.Trip.Lines, answer.Caution, answer.Verdict, answer.Switch)
}

// Helps is what would help.
func (p drivePage) Helps() []string { return answer.Only(p.Trip.Lines, answer.Switch) }
