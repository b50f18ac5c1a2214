package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"

	"weephole/internal/answer"
	"weephole/internal/store"
)

// route is one way into the API. From the table the server and the OpenAPI
// description are both made, so they cannot differ.
type route struct {
	method, path string
	name         string // the description's operationId
	about        string
	params       []param
	in, out      any    // a value of the type that comes and goes as JSON; nil none
	takes, gives string // media types where it is not JSON
	status       int    // when it went well
	do           func(http.ResponseWriter, *http.Request) (any, error)
}

type param struct {
	in, name, about string
	kind            string // JSON type
}

// The headers and queries that several routes take.
var (
	idempotency = param{"header", "Idempotency-Key", "the entry's id, made up by the device; the same request with the same id is kept once", "string"}
	entered     = param{"header", "Weephole-Entered", "when it was typed, by the device's clock, RFC 3339", "string"}
	seen        = param{"header", "Weephole-Seen", "seq of the newest entry that its author had before him", "integer"}
	atLeast     = param{"query", "seq", "wait for an answer that knows this entry", "integer"}
)

// Made is the answer to an entry.
type Made struct {
	ID  string `json:"id"`  // of the job, the finding or the entry
	Seq int64  `json:"seq"` // of the entry in the job's journal
	// Kept is false when the same entry had been kept before.
	Kept bool `json:"kept"`
}

// JobReply is a job as it stands.
type JobReply struct {
	store.Summary
	Document json.RawMessage `json:"document"` // the job file, as weephole odds reads it
	Findings []store.Finding `json:"findings"` // the struck ones too
	Notes    []store.Note    `json:"notes"`
	Files    []store.File    `json:"files"`
}

// OddsReply is the shape of "weephole odds --json", and how far it looks.
type OddsReply struct {
	Seq   int64  `json:"seq"`
	Stage string `json:"stage"`
	*answer.OddsFacts
}

// NextReply is the shape of "weephole next --json", and how far it looks.
type NextReply struct {
	Seq   int64  `json:"seq"`
	Stage string `json:"stage"`
	*answer.NextFacts
}

// MarginReply is the shape of "weephole margin --json", and how far it looks.
type MarginReply struct {
	Seq   int64  `json:"seq"`
	Stage string `json:"stage"`
	*answer.MarginFacts
}

// entryParams are those of every entry.
var entryParams = []param{idempotency, entered, seen}

// routes is the table.
func (ap *api) routes() []route {
	return slices.Concat(ap.job.routes(), ap.findings.routes(), ap.answers.routes(), ap.repair.routes(), ap.files.routes(), ap.settings.routes(), ap.tally.routes(), ap.shops.routes(), ap.people.routes(), []route{
		{method: "GET", path: "/api/jobs/{id}/events", name: "listen", about: "Server-sent events: entry, answer.", gives: "text/event-stream", status: 200, do: ap.streams.events},
		{method: "GET", path: "/api/events", name: "listenAll", about: "Server-sent events of all jobs.", gives: "text/event-stream", status: 200, do: ap.streams.events},
	})
}

// jobFile and finding stand for the shapes of the job file's own schema.
type jobFile struct{}
type finding struct{}

// api answers programs, and the pages' own script, in JSON.
type api struct {
	*responder
	jobs    *jobs
	streams *streams
	openapi []byte

	job      jobsAPI
	findings findingsAPI
	answers  answersAPI
	repair   repairAPI
	files    filesAPI
	settings settingsAPI
	tally    tallyAPI
	shops    shopsAPI
	people   peopleAPI
}

func newAPI(js *jobs, ts *tallies, h *house) *api {
	return &api{
		responder: h.re, jobs: js, streams: &streams{h.guard, js},
		job: jobsAPI{js, h}, findings: findingsAPI{js}, answers: answersAPI{js}, repair: repairAPI{js}, files: filesAPI{js},
		settings: settingsAPI{js, h}, tally: tallyAPI{js, ts}, shops: shopsAPI{js, h}, people: peopleAPI{js, h},
	}
}

// route puts the API's routes into the mux.
func (ap *api) route(mux *http.ServeMux) error {
	for _, rt := range ap.routes() {
		mux.HandleFunc(rt.method+" "+rt.path, func(w http.ResponseWriter, r *http.Request) {
			out, err := rt.do(w, r)
			switch {
			case err != nil:
				ap.fail(w, r, err)
			case rt.gives == "":
				writeJSON(w, rt.status, out)
			}
		})
	}
	var err error
	if ap.openapi, err = ap.describe(); err != nil {
		return fmt.Errorf("describe the API: %w", err)
	}
	mux.HandleFunc("GET /api/openapi.json", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "application/json")
		_, _ = w.Write(ap.openapi) // the device has gone away
	})
	mux.HandleFunc("/api/", func(w http.ResponseWriter, r *http.Request) {
		ap.fail(w, r, wrong(http.StatusNotFound, "no such route; /api/openapi.json lists them"))
	})
	mux.HandleFunc("GET /healthz", ap.health)
	return nil
}

// health answers 200 when entries can be kept.
func (ap *api) health(w http.ResponseWriter, r *http.Request) {
	if err := ap.jobs.store.Check(r.Context()); err != nil {
		f := failureOf(err)
		http.Error(w, f.Message, f.Status)
		return
	}
	_, _ = io.WriteString(w, "ok\n") // the asker has gone away
}

// body reads a request's whole body, which the guard has bounded.
func body(r *http.Request) ([]byte, error) {
	var data bytes.Buffer
	if n := r.ContentLength; n > 0 && n <= maxUpload {
		data.Grow(int(n) + bytes.MinRead) // at once: growing would hold it twice
	}
	if _, err := data.ReadFrom(r.Body); err != nil {
		return nil, fmt.Errorf("read the request: %w", err)
	}
	if data.Len() == 0 {
		return nil, wrong(http.StatusBadRequest, "the request is empty")
	}
	return data.Bytes(), nil
}

// decode reads a JSON body strictly.
func decode(r *http.Request, into any) error {
	dec := json.NewDecoder(r.Body)
	dec.DisallowUnknownFields()
	if err := dec.Decode(into); err != nil {
		var big *http.MaxBytesError
		if errors.As(err, &big) {
			return err
		}
		return wrong(http.StatusBadRequest, "the request is no such JSON: %v", err)
	}
	return nil
}
