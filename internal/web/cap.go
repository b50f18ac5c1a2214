package web

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"time"

	"weephole/internal/store"
	"weephole/quantity"
	"weephole/trace/events"
)

// Cooling is an engine switched off.
type Cooling struct {
	Coolant string `json:"coolant"`           // temperature now, with its unit
	Ambient string `json:"ambient,omitempty"` // air around the car
}

// cooled is the body of the note that startCooling makes.
type cooled struct {
	Text   string    `json:"text"`
	SafeAt time.Time `json:"safe_at"` // likely
	Sure   time.Time `json:"sure"`    // two standard deviations later
}

// The air where nobody has said what it is, degC, and how far off what was said
// may be, K: judgement.
const (
	usualAir      = 25.0
	usualAirSigma = 8.0
	saidAirSigma  = 3.0
)

// startCooling predicts when the cap may be opened, from one reading and what
// is usual. It is a help to plan by: the caution stays, and so does the hand on
// the hose.
func (ap *findingsAPI) startCooling(_ http.ResponseWriter, r *http.Request) (any, error) {
	var c Cooling
	if err := decode(r, &c); err != nil {
		return nil, err
	}
	s, err := ap.current(r.Context(), r.PathValue("id"))
	if err != nil {
		return nil, err
	}
	t, err := quantity.ParseTemperature(inUnit(c.Coolant, s.units().TemperatureIn))
	if err != nil {
		return nil, wrongAt("coolant", "The coolant", "%v", err)
	}
	if t < -40 || t > 150 { // degC; judgement, as in a job file's readings
		return nil, wrongAt("coolant", "The coolant", "%s is no coolant temperature; write one from -40 °C to 150 °C", c.Coolant)
	}
	air := events.Estimate{Value: usualAir, Sigma: usualAirSigma}
	if said := s.Head.Shop.Ambient; said.Known() {
		air = events.Estimate{Value: float64(said.Value), Sigma: saidAirSigma}
	}
	if c.Ambient != "" {
		a, err := quantity.ParseTemperature(inUnit(c.Ambient, s.units().TemperatureIn))
		if err != nil {
			return nil, wrongAt("ambient", "The outside air", "%v", err)
		}
		air = events.Estimate{Value: float64(a), Sigma: saidAirSigma}
	}
	in := events.Cooldown([]float64{0}, []float64{float64(t)}, air)
	if math.IsNaN(in.Value) {
		return nil, wrong(http.StatusUnprocessableEntity, "at this air temperature the coolant does not cool to %v °C", events.SafeC)
	}
	now := ap.cfg.Now()
	note := cooled{SafeAt: now.Add(seconds(in.Value)), Sure: now.Add(seconds(in.Value + 2*in.Sigma))}
	note.Text = fmt.Sprintf("Engine off at %s. Leave the cap alone for %.0f min. Then feel the upper hose before you touch it.",
		s.units().Temperature(t), math.Ceil((in.Value+2*in.Sigma)/60))
	return ap.keepNote(r, note)
}

// inUnit gives a bare number the unit that the shop speaks in.
func inUnit(text, unit string) string {
	if bareNumber.MatchString(text) {
		return text + " " + unit
	}
	return text
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

// capWait is the wait for the cap as a page shows it.
type capWait struct {
	Left int       // whole seconds until the cap is nearly surely safe; 0 it is
	Of   int       // seconds that the whole wait takes
	At   time.Time // when that is
}

// Minutes are the whole minutes left.
func (c *capWait) Minutes() int { return (c.Left + 59) / 60 }

// capWaitOf is the longest wait that a job's notes tell of, nil if none: in doubt
// the longer time. The page counts down from the seconds left, because a device's
// clock may be wrong.
func capWaitOf(s *store.State, now time.Time) *capWait {
	var longest *capWait
	for i := range s.Notes {
		var c cooled
		if s.Notes[i].Undone || json.Unmarshal(s.Notes[i].Body, &c) != nil || c.Sure.IsZero() || longest != nil && c.Sure.Before(longest.At) {
			continue
		}
		longest = &capWait{At: c.Sure, Left: max(0, int(math.Ceil(c.Sure.Sub(now).Seconds()))), Of: int(c.Sure.Sub(s.Notes[i].At).Seconds())}
	}
	if longest != nil && now.Sub(longest.At) > capForgotten {
		return nil
	}
	return longest
}

// capForgotten is how long after it has cooled an engine is taken to have been
// started again: judgement.
const capForgotten = 4 * time.Hour
