package answers

import (
	"context"
	"fmt"

	"weephole/internal/answer"
	"weephole/margin"
)

// Drive is a drive that is asked about: a trip as [margin.ParseTrip] reads it, "" the
// mechanic's own road test, in outside air of AirC, nil the shop's.
type Drive struct {
	Trip string
	AirC *float64
}

// Drive waits for what a drive with a job's car would be like.
func (c *Cache) Drive(ctx context.Context, s JobState, d Drive) (*answer.TripFacts, error) {
	return c.drive(s, d).wait(ctx)
}

// DriveNow gives what is at hand, or begins it and says false.
func (c *Cache) DriveNow(s JobState, d Drive) (*answer.TripFacts, bool, error) {
	return c.drive(s, d).now()
}

// DriveLeft says how long it is still away.
func (c *Cache) DriveLeft(s JobState, d Drive) Left { return c.drive(s, d).left() }

func (c *Cache) drive(s JobState, d Drive) asked[*answer.TripFacts] {
	air := ""
	if d.AirC != nil {
		air = fmt.Sprint(*d.AirC)
	}
	key := fmt.Sprintf("%s %q in %s", s.carKey(), d.Trip, air)
	return ask(c, c.drives, s, key, func(ctx context.Context) (*answer.TripFacts, error) {
		w, err := c.Open(ctx, s)
		if err != nil {
			return nil, err
		}
		trip, airC := d.Trip, w.Case.Shop.AmbientC
		if d.AirC != nil {
			airC = *d.AirC
		}
		if trip == "" {
			k, err := margin.DefaultCriteria()
			if err != nil {
				return nil, err
			}
			trip = k.RoadTest.Trip
		}
		found, err := w.Drive(ctx, trip, airC)
		if err != nil {
			return nil, err
		}
		return answer.ForDrive(found, answer.StyleOf(w)), nil
	})
}
