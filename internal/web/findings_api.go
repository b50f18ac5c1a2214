package web

import (
	"encoding/json"
	"net/http"
	"slices"
	"time"

	"weephole/internal/job"
	"weephole/internal/store"
)

// joinWithin is how fresh a finding must be for a further reading to join it:
// judgement, one round about the car.
const joinWithin = 30 * time.Minute

// findingsAPI takes findings and remarks, and tells what is to be told at once of them.
type findingsAPI struct {
	*jobs
}

func (ap *findingsAPI) routes() []route {
	return []route{
		{method: "POST", path: "/api/jobs/{id}/findings", name: "addFinding", about: "Adds a finding, as it stands in a job file.", params: append([]param{
			{"query", "join", "true: readings join the last finding of the same check if that is fresh and lacks them", "boolean"}}, entryParams...),
			in: finding{}, out: Made{}, status: 201, do: ap.addFinding},
		{method: "PUT", path: "/api/jobs/{id}/findings/{finding}", name: "correctFinding", about: "Corrects a finding; the journal keeps what stood before.", params: entryParams, in: finding{}, out: Made{}, status: 200, do: ap.correctFinding},
		{method: "DELETE", path: "/api/jobs/{id}/findings/{finding}", name: "strikeFinding", about: "Strikes a finding out; the journal keeps it.", params: append([]param{{"query", "why", "the reason", "string"}}, entryParams...), out: Made{}, status: 200, do: ap.strikeFinding},
		{method: "POST", path: "/api/jobs/{id}/findings/{finding}/restore", name: "restoreFinding", about: "Takes a struck finding back in.", params: entryParams, out: Made{}, status: 200, do: ap.restoreFinding},
		{method: "GET", path: "/api/jobs/{id}/findings/{finding}/answer", name: "getAnswered", about: "What was found beside what a healthy engine would show there now, and what the leading causes would.", out: Answered{}, status: 200, do: ap.getAnswered},
		{method: "POST", path: "/api/jobs/{id}/doubts", name: "doubt", about: "Whether a finding's readings may have been meant in another unit; nothing is kept.", in: finding{}, out: Doubts{}, status: 200, do: ap.getDoubts},
		{method: "GET", path: "/api/jobs/{id}/say", name: "say", about: "What a text, as a colleague would say it, may mean: findings to enter, none of them kept yet.", params: []param{{"query", "text", "what was seen", "string"}}, out: SayAnswer{}, status: 200, do: ap.say},
		{method: "POST", path: "/api/jobs/{id}/notes", name: "addNote", about: "Adds a remark.", params: entryParams, in: Remark{}, out: Made{}, status: 201, do: ap.addNote},
		{method: "DELETE", path: "/api/jobs/{id}/notes/{note}", name: "undoNote", about: "Takes a remark back, or a wait for the cap; the journal keeps it.", params: entryParams, out: Made{}, status: 200, do: ap.undoNote},
		{method: "POST", path: "/api/jobs/{id}/cool", name: "startCooling", about: "Tells that the engine was switched off just now, at a coolant temperature; a note says when the cap may be opened.", params: entryParams, in: Cooling{}, out: Made{}, status: 201, do: ap.startCooling},
	}
}

func (ap *findingsAPI) addFinding(_ http.ResponseWriter, r *http.Request) (any, error) {
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
	defer ap.telling.lock(e.Job)() // two that join at once would each lose the other's reading
	return untilFirst(func() (any, error) { return ap.joinOrAdd(r, e, f) })
}

// joinOrAdd keeps a finding, joined to a fresh one of its check where that is asked.
func (ap *findingsAPI) joinOrAdd(r *http.Request, e store.Entry, f *job.Finding) (any, error) {
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
			e.Kind, e.Finding, e.Body, e.Over = store.Corrected, at.ID, joined, at.Seq
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
func (ap *findingsAPI) join(s *store.State, add *job.Finding) (*store.Finding, json.RawMessage, error) {
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

func (ap *findingsAPI) correctFinding(_ http.ResponseWriter, r *http.Request) (any, error) {
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

func (ap *findingsAPI) strikeFinding(_ http.ResponseWriter, r *http.Request) (any, error) {
	why, err := json.Marshal(map[string]string{"why": clip(r.FormValue("why"), 200)})
	if err != nil {
		return nil, err
	}
	return ap.about(r, store.Struck, why)
}

func (ap *findingsAPI) restoreFinding(_ http.ResponseWriter, r *http.Request) (any, error) {
	return ap.about(r, store.Restored, nil)
}

// about keeps an entry about a finding and answers with the finding's id.
func (ap *findingsAPI) about(r *http.Request, kind store.Kind, body json.RawMessage) (any, error) {
	e, err := entryOf(r, kind, body)
	if err != nil {
		return nil, err
	}
	defer ap.telling.lock(e.Job)()
	return untilFirst(func() (any, error) { return ap.aboutNow(r, e) })
}

func (ap *findingsAPI) aboutNow(r *http.Request, e store.Entry) (any, error) {
	s, err := ap.state(r.Context(), e.Job)
	if err != nil {
		return nil, err
	}
	again := slices.ContainsFunc(s.Entries, func(old store.Entry) bool { return old.ID == e.ID })
	if f := s.Finding(e.Finding); f != nil && !again {
		if err := standsOn(s, &e, f); err != nil {
			return nil, err
		}
		if err := ap.overtaken(&e, f); err != nil {
			return nil, err
		}
		e.Over = f.Seq
	}
	out, err := ap.keep(r, e)
	if m, ok := out.(Made); ok {
		m.ID = e.Finding
		return m, err
	}
	return out, err
}

// standsOn refuses to take a finding back in whose log was removed.
func standsOn(s *store.State, e *store.Entry, f *store.Finding) error {
	name := restsOn(f.Body)
	if e.Kind != store.Restored || name == "" {
		return nil
	}
	gone := false
	for _, n := range s.Notes {
		gone = n.Gone && n.File == name || gone
	}
	if gone {
		return wrong(http.StatusConflict, "%s was removed, so this finding has nothing to rest on. Bring the log again and enter the finding again.", name)
	}
	return nil
}

// Remark is a note in words.
type Remark struct {
	Text string `json:"text"`
}

func (ap *findingsAPI) addNote(_ http.ResponseWriter, r *http.Request) (any, error) {
	var note Remark
	if err := decode(r, &note); err != nil {
		return nil, err
	}
	if note.Text = clip(note.Text, 2000); note.Text == "" {
		return nil, wrong(http.StatusUnprocessableEntity, "the note is empty")
	}
	return ap.keepNote(r, note)
}

// keepNote keeps an entry of the kind Noted.
func (ap *findingsAPI) keepNote(r *http.Request, note any) (any, error) {
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

// undoNote takes a remark back.
func (ap *findingsAPI) undoNote(_ http.ResponseWriter, r *http.Request) (any, error) {
	s, err := ap.state(r.Context(), r.PathValue("id"))
	if err != nil {
		return nil, err
	}
	id := r.PathValue("note")
	if !slices.ContainsFunc(s.Notes, func(n store.Note) bool { return n.ID == id && n.Kind == store.Noted }) {
		return nil, store.ErrUnknown
	}
	return ap.keepNote(r, map[string]string{"undone": id})
}
