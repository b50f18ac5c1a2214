package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"time"

	"weephole/internal/job"
	"weephole/internal/store"
	"weephole/quantity"
	"weephole/trace/events"
)

// joinWithin is how fresh a finding must be for a further reading to join it:
// judgement, one round about the car.
const joinWithin = 30 * time.Minute

func (ap *api) addFinding(_ http.ResponseWriter, r *http.Request) (any, error) {
	raw, err := body(r)
	if err != nil {
		return nil, err
	}
	f, err := ap.readFinding(r.Context(), raw)
	if err != nil {
		return nil, err
	}
	e, err := found(r, store.Found, f)
	if err != nil {
		return nil, err
	}
	s, err := ap.state(r.Context(), e.Job)
	if err != nil {
		return nil, err
	}
	for _, old := range s.Entries {
		if old.ID == e.ID { // sent again; a joined one differs from what was sent
			id := old.Finding
			if old.Kind == store.Found {
				id = old.ID
			}
			return Made{ID: id, Seq: old.Seq}, nil
		}
	}
	if r.FormValue("join") == "true" {
		at, joined, err := ap.join(s, f)
		if err != nil {
			return nil, err
		}
		if at != nil {
			e.Kind, e.Finding, e.Body = store.Corrected, at.ID, joined
			out, err := ap.keep(r, e)
			if m, ok := out.(Made); ok {
				m.ID = at.ID
				return m, err
			}
			return out, err
		}
	}
	return ap.keep(r, e)
}

// found is the entry that keeps a finding.
func found(r *http.Request, kind store.Kind, f *job.Finding) (store.Entry, error) {
	body, err := json.Marshal(f)
	if err != nil {
		return store.Entry{}, err
	}
	return entryOf(r, kind, body)
}

// join puts a finding's readings into the last finding of the same check, if
// that is fresh, stands, and says nothing yet of what the new one says.
func (ap *api) join(s *store.State, add *job.Finding) (*store.Finding, json.RawMessage, error) {
	if add.Check == "" || len(add.Read) == 0 || add.Found != "" || add.Trace != "" {
		return nil, nil, nil
	}
	for i := len(s.Findings) - 1; i >= 0; i-- {
		last := &s.Findings[i]
		old, err := job.ReadFinding(last.Body, job.Shop{}, ap.words)
		if err != nil || old.Check != add.Check || last.Struck {
			continue
		}
		if ap.cfg.Now().Sub(last.At) > joinWithin || old.Trace != "" {
			return nil, nil, nil
		}
		for _, x := range add.Read {
			if old.Reading(x.ID).Text != "" {
				return nil, nil, nil
			}
		}
		old.Read = append(old.Read, add.Read...)
		joined, err := json.Marshal(old)
		if err != nil {
			return nil, nil, err
		}
		if _, err := job.ReadFinding(joined, job.Shop{}, ap.words); err != nil {
			return nil, nil, nil // together they are not possible: two findings then
		}
		return last, joined, nil
	}
	return nil, nil, nil
}

func (ap *api) correctFinding(_ http.ResponseWriter, r *http.Request) (any, error) {
	raw, err := body(r)
	if err != nil {
		return nil, err
	}
	f, err := ap.readFinding(r.Context(), raw)
	if err != nil {
		return nil, err
	}
	body, err := json.Marshal(f)
	if err != nil {
		return nil, err
	}
	return ap.about(r, store.Corrected, body)
}

func (ap *api) strikeFinding(_ http.ResponseWriter, r *http.Request) (any, error) {
	why, err := json.Marshal(map[string]string{"why": clip(r.FormValue("why"), 200)})
	if err != nil {
		return nil, err
	}
	return ap.about(r, store.Struck, why)
}

func (ap *api) restoreFinding(_ http.ResponseWriter, r *http.Request) (any, error) {
	return ap.about(r, store.Restored, nil)
}

// about keeps an entry about a finding and answers with the finding's id.
func (ap *api) about(r *http.Request, kind store.Kind, body json.RawMessage) (any, error) {
	e, err := entryOf(r, kind, body)
	if err != nil {
		return nil, err
	}
	out, err := ap.keep(r, e)
	if m, ok := out.(Made); ok {
		m.ID = e.Finding
		return m, err
	}
	return out, err
}

// Remark is a note in words.
type Remark struct {
	Text string `json:"text"`
}

func (ap *api) addNote(_ http.ResponseWriter, r *http.Request) (any, error) {
	var note Remark
	if err := decode(r, &note); err != nil {
		return nil, err
	}
	if note.Text = clip(note.Text, 2000); note.Text == "" {
		return nil, wrong(http.StatusUnprocessableEntity, "the note is empty")
	}
	body, err := json.Marshal(note)
	if err != nil {
		return nil, err
	}
	e, err := entryOf(r, store.Noted, body)
	if err != nil {
		return nil, err
	}
	return ap.keep(r, e)
}

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

// startCooling foretells when the cap may be opened, from one reading and what
// is usual. It is a help to plan by: the caution stays, and so does the hand on
// the hose.
func (ap *api) startCooling(_ http.ResponseWriter, r *http.Request) (any, error) {
	var c Cooling
	if err := decode(r, &c); err != nil {
		return nil, err
	}
	t, err := quantity.ParseTemperature(c.Coolant)
	if err != nil {
		return nil, wrong(http.StatusUnprocessableEntity, "coolant: %v", err)
	}
	if t < -40 || t > 150 { // degC; judgement, as in a job file's readings
		return nil, wrong(http.StatusUnprocessableEntity, "coolant: %s is no coolant temperature; write one from -40 °C to 150 °C", c.Coolant)
	}
	air := events.Estimate{Value: 25, Sigma: 8} // degC; judgement: a shop that has not said
	if c.Ambient != "" {
		a, err := quantity.ParseTemperature(c.Ambient)
		if err != nil {
			return nil, wrong(http.StatusUnprocessableEntity, "ambient: %v", err)
		}
		air = events.Estimate{Value: float64(a), Sigma: 3}
	}
	in := events.Cooldown([]float64{0}, []float64{float64(t)}, air)
	if math.IsNaN(in.Value) {
		return nil, wrong(http.StatusUnprocessableEntity, "at this air temperature the coolant does not cool to %v °C", events.SafeC)
	}
	now := ap.cfg.Now()
	note := cooled{SafeAt: now.Add(seconds(in.Value)), Sure: now.Add(seconds(in.Value + 2*in.Sigma))}
	note.Text = fmt.Sprintf("Engine off at %s. The cap is likely safe in %.0f min, nearly surely in %.0f. Feel the upper hose before you touch it.",
		c.Coolant, in.Value/60, (in.Value+2*in.Sigma)/60)
	body, err := json.Marshal(note)
	if err != nil {
		return nil, err
	}
	e, err := entryOf(r, store.Noted, body)
	if err != nil {
		return nil, err
	}
	return ap.keep(r, e)
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

// lastCooling is the newest cooling that a job's notes tell of, nil if none.
func lastCooling(s *store.State) *cooled {
	for i := len(s.Notes) - 1; i >= 0; i-- {
		var c cooled
		if bytes.Contains(s.Notes[i].Body, []byte(`"safe_at"`)) && json.Unmarshal(s.Notes[i].Body, &c) == nil && !c.SafeAt.IsZero() {
			return &c
		}
	}
	return nil
}
