package margin

import (
	"fmt"
	"regexp"
	"strings"

	"weephole/quantity"
)

// Trip is a drive made of parts, each in one duty.
type Trip []Part

// Part is a duty driven for so many minutes.
type Part struct {
	Minutes float64 `json:"minutes"`
	Duty    *Duty   `json:"duty"`
}

// Minutes is how long the trip takes.
func (t Trip) Minutes() (sum float64) {
	for _, p := range t {
		sum += p.Minutes
	}
	return sum
}

// String is the trip as ParseTrip reads it.
func (t Trip) String() string {
	var parts []string
	for _, p := range t {
		parts = append(parts, fmt.Sprintf("%g min %s", p.Minutes, p.Duty.ID))
	}
	return strings.Join(parts, ", ")
}

// stretch is a time and a duty: "10 min town", "1.5 h motorway".
var stretch = regexp.MustCompile(`^(.*\S)\s+([a-z][a-z-]*)$`)

// ParseTrip reads "10 min town, 25 min motorway, 6 min climb".
func ParseTrip(text string, k *Criteria) (Trip, error) {
	const example = `"10 min town, 25 min motorway, 6 min climb"`
	if strings.TrimSpace(text) == "" {
		return nil, fmt.Errorf("the trip is empty; write it as %s", example)
	}
	var trip Trip
	for i, part := range strings.Split(text, ",") {
		part = strings.TrimSpace(part)
		m := stretch.FindStringSubmatch(strings.ToLower(part))
		if m == nil {
			return nil, fmt.Errorf("part %d of the trip, %q, is no time and duty; write it as %s", i+1, part, example)
		}
		took, err := quantity.ParseDuration(m[1])
		if err != nil {
			return nil, fmt.Errorf("part %d of the trip: %w", i+1, err)
		}
		if took <= 0 {
			return nil, fmt.Errorf("part %d of the trip, %q, takes no time; write a time above zero, such as 10 min", i+1, part)
		}
		d, err := k.Duty(m[2])
		if err != nil {
			return nil, fmt.Errorf("part %d of the trip: %w", i+1, err)
		}
		trip = append(trip, Part{took.Minutes(), d})
	}
	if all, most := trip.Minutes(), k.TripMost.Value; all > most {
		return nil, fmt.Errorf("the trip takes %.0f min; give one of at most %g min", all, most)
	}
	return trip, nil
}
