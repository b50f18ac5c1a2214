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

// routes is the table.
func (ap *api) routes() []route {
	entry := []param{idempotency, entered, seen}
	return append(slices.Concat(ap.planning(), ap.closingRoutes(), ap.peopling(), ap.logoRoutes()), []route{
		{method: "GET", path: "/api/jobs", name: "listJobs", about: "The jobs in hand, the last changed first.", params: []param{
			{"query", "q", "words that must all occur", "string"}, {"query", "archived", "true: the archived ones instead", "boolean"}, {"query", "from", "so many are left out first: where a further page begins", "integer"},
		}, out: []store.Summary{}, status: 200, do: ap.listJobs},
		{method: "POST", path: "/api/jobs", name: "openJob", about: "Opens a job from a job file.", params: []param{idempotency, entered}, in: jobFile{}, out: Made{}, status: 201, do: ap.openJob},
		{method: "GET", path: "/api/jobs/{id}", name: "getJob", about: "The job as it stands.", out: JobReply{}, status: 200, do: ap.getJob},
		{method: "PUT", path: "/api/jobs/{id}/head", name: "replaceHead", about: "Replaces the job's head: a job file without findings.", params: entry, in: jobFile{}, out: Made{}, status: 200, do: ap.putHead},
		{method: "POST", path: "/api/jobs/{id}/findings", name: "addFinding", about: "Adds a finding, as it stands in a job file.", params: append([]param{
			{"query", "join", "true: readings join the last finding of the same check if that is fresh and lacks them", "boolean"}}, entry...),
			in: finding{}, out: Made{}, status: 201, do: ap.addFinding},
		{method: "PUT", path: "/api/jobs/{id}/findings/{finding}", name: "correctFinding", about: "Corrects a finding; the journal keeps what stood before.", params: entry, in: finding{}, out: Made{}, status: 200, do: ap.correctFinding},
		{method: "DELETE", path: "/api/jobs/{id}/findings/{finding}", name: "strikeFinding", about: "Strikes a finding out; the journal keeps it.", params: append([]param{{"query", "why", "the reason", "string"}}, entry...), out: Made{}, status: 200, do: ap.strikeFinding},
		{method: "POST", path: "/api/jobs/{id}/findings/{finding}/restore", name: "restoreFinding", about: "Takes a struck finding back in.", params: entry, out: Made{}, status: 200, do: ap.restoreFinding},
		{method: "GET", path: "/api/jobs/{id}/findings/{finding}/answer", name: "getAnswered", about: "What was found beside what a healthy engine would show there now, and what the leading causes would.", out: Answered{}, status: 200, do: ap.getAnswered},
		{method: "POST", path: "/api/jobs/{id}/doubts", name: "doubt", about: "Whether a finding's readings may have been meant in another unit; nothing is kept.", in: finding{}, out: Doubts{}, status: 200, do: ap.getDoubts},
		{method: "GET", path: "/api/jobs/{id}/say", name: "say", about: "What a text, as a colleague would say it, may mean: findings to enter, none of them kept yet.", params: []param{{"query", "text", "what was seen", "string"}}, out: SayAnswer{}, status: 200, do: ap.say},
		{method: "POST", path: "/api/jobs/{id}/notes", name: "addNote", about: "Adds a remark.", params: entry, in: Remark{}, out: Made{}, status: 201, do: ap.addNote},
		{method: "POST", path: "/api/jobs/{id}/cool", name: "startCooling", about: "Tells that the engine was switched off just now, at a coolant temperature; a note says when the cap may be opened.", params: entry, in: Cooling{}, out: Made{}, status: 201, do: ap.startCooling},
		{method: "POST", path: "/api/jobs/{id}/archive", name: "archiveJob", about: "Puts the job into the archive.", params: entry, out: Made{}, status: 200, do: ap.archive(store.Archived)},
		{method: "POST", path: "/api/jobs/{id}/reopen", name: "reopenJob", about: "Takes the job out of the archive.", params: entry, out: Made{}, status: 200, do: ap.reopen},
		{method: "GET", path: "/api/jobs/{id}/odds", name: "getOdds", about: "What still fits, most probable first.", params: []param{atLeast, {"query", "stage", "fine: wait for the fine answer", "string"}}, out: OddsReply{}, status: 200, do: ap.getOdds},
		{method: "GET", path: "/api/jobs/{id}/next", name: "getNext", about: "What to do next, the least expected cost first; the quote judged.", params: []param{atLeast}, out: NextReply{}, status: 200, do: ap.getNext},
		{method: "GET", path: "/api/jobs/{id}/margin", name: "getMargin", about: "How much cooling is left in each way of driving, as the car is and after the repair.", params: []param{atLeast}, out: MarginReply{}, status: 200, do: ap.getMargin},
		{method: "GET", path: "/api/jobs/{id}/drive", name: "getDrive", about: "Whether the car gets through a trip as it is, what would help, and where to stop.", params: driven, out: answer.TripFacts{}, status: 200, do: ap.getDrive},
		{method: "GET", path: "/api/jobs/{id}/expected", name: "getExpected", about: "What each check would show now on a healthy engine and under the leading causes.", params: []param{atLeast}, out: []answer.ExpectedFacts{}, status: 200, do: ap.getExpected},
		{method: "GET", path: "/api/jobs/{id}/history", name: "getHistory", about: "Every entry ever made.", params: []param{{"query", "after", "only those after this seq", "integer"}}, out: []store.Entry{}, status: 200, do: ap.getHistory},
		{method: "GET", path: "/api/jobs/{id}/events", name: "listen", about: "Server-sent events: entry, answer.", gives: "text/event-stream", status: 200, do: ap.streams.events},
		{method: "POST", path: "/api/jobs/{id}/files", name: "bringFile", about: "Brings a log or a photo.", params: append([]param{{"query", "name", "the file's name", "string"}}, entry...), takes: "application/octet-stream", out: store.File{}, status: 201, do: ap.bringFile},
		{method: "GET", path: "/api/jobs/{id}/files/{name}", name: "getFile", about: "A file's content.", gives: "application/octet-stream", status: 200, do: ap.getFile},
		{method: "DELETE", path: "/api/jobs/{id}/files/{name}", name: "removeFile", about: "Takes a file's content away; the journal keeps that it was there. A log that a finding rests on stays until the finding is struck out.", params: entry, out: Made{}, status: 200, do: ap.removeFile},
		{method: "GET", path: "/api/jobs/{id}/files/{name}/log", name: "recognise", about: "What a log shows: what it is probably of, its doubts, and what only a person can settle.", out: LogReply{}, status: 200, do: ap.recognise},
		{method: "GET", path: "/api/jobs/{id}/export", name: "exportJob", about: "The job as one zip file, logs and photos inside.", gives: "application/zip", status: 200, do: ap.exportJob},
		{method: "POST", path: "/api/import", name: "importJob", about: "Takes in an exported job.", takes: "application/zip", out: Made{}, status: 201, do: ap.importJob},
		{method: "GET", path: "/api/events", name: "listenAll", about: "Server-sent events of all jobs.", gives: "text/event-stream", status: 200, do: ap.streams.events},
		{method: "GET", path: "/api/settings", name: "getSettings", about: "The shop's settings.", out: ShopInput{}, status: 200, do: ap.getSettings},
		{method: "PUT", path: "/api/settings", name: "setSettings", about: "Sets the shop's settings.", in: ShopInput{}, out: ShopInput{}, status: 200, do: ap.setSettings},
		{method: "POST", path: "/api/demo", name: "addDemo", about: "Opens the demo jobs.", out: []Made{}, status: 201, do: ap.addDemo},
		{method: "DELETE", path: "/api/demo", name: "removeDemo", about: "Removes the demo jobs and all that was done to them.", out: Removed{}, status: 200, do: ap.removeDemo},
	}...)
}

// jobFile and finding stand for the shapes of the job file's own schema.
type jobFile struct{}
type finding struct{}

// api answers programs, and the pages' own script, in JSON.
type api struct {
	*jobs
	*responder
	tallies *tallies
	streams *streams
	house   *house
	openapi []byte
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
	if err := ap.store.Check(r.Context()); err != nil {
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
