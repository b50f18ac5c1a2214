package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"github.com/google/uuid"

	"weephole/internal/job"
	"weephole/internal/store"
)

// read reads a job file strictly and gives it back in its one JSON form.
func (jn *journal) read(document []byte) (json.RawMessage, error) {
	j, err := job.Read(bytes.NewReader(document), "", jn.words)
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	if err := job.WriteJSON(&out, j); err != nil {
		return nil, fmt.Errorf("write the job file: %w", err)
	}
	return out.Bytes(), nil
}

// readFinding reads one finding as a job file would.
func (jn *journal) readFinding(ctx context.Context, raw []byte) (*job.Finding, error) {
	if !json.Valid(raw) {
		return nil, wrong(http.StatusBadRequest, "a finding is a JSON object as in a job file")
	}
	shop, err := jn.shop(ctx)
	if err != nil {
		return nil, err
	}
	return job.ReadFinding(inMoney(raw, "parts", shop), *shop, jn.words)
}

// inMoney gives a bare number under a key of a JSON object the shop's currency.
func inMoney(raw []byte, key string, shop *job.Shop) []byte {
	var doc map[string]json.RawMessage
	var text string
	if json.Unmarshal(raw, &doc) != nil || json.Unmarshal(doc[key], &text) != nil || !bareNumber.MatchString(text) {
		return raw // the reader says what is wrong with it, if anything
	}
	price := field{units: [2]string{money, money}}
	doc[key] = mustJSON(price.said(text, shop))
	return mustJSON(doc)
}

// newID makes an id: time-ordered, so that lists keep the order (RFC 9562, v7).
func newID() string {
	id, err := uuid.NewV7()
	if err != nil {
		panic(err) // the system has no randomness: nothing can be kept apart
	}
	return id.String()
}

// entryOf is the entry that a request wants, with what its headers say.
func entryOf(r *http.Request, kind store.Kind, body json.RawMessage) (store.Entry, error) {
	e := store.Entry{Job: r.PathValue("id"), ID: r.Header.Get("Idempotency-Key"), Who: who(r), Kind: kind, Finding: r.PathValue("finding"), Body: body}
	if e.ID == "" {
		e.ID = newID()
	}
	if len(e.ID) > 64 {
		return e, wrong(http.StatusBadRequest, "Idempotency-Key is longer than 64 characters")
	}
	e.ID = store.PlainID(e.ID) // an id stands in addresses, a key need not
	if s := r.Header.Get("Weephole-Seen"); s != "" {
		n, err := strconv.ParseInt(s, 10, 64)
		if err != nil || n < 0 {
			return e, wrong(http.StatusBadRequest, "Weephole-Seen %q is no count of entries", s)
		}
		e.Seen = n
	}
	if s := r.Header.Get("Weephole-Entered"); s != "" {
		t, err := time.Parse(time.RFC3339, s)
		if err != nil {
			return e, wrong(http.StatusBadRequest, "Weephole-Entered %q is no RFC 3339 time", s)
		}
		e.Entered = t
	}
	return e, nil
}

// keep keeps a request's entry and has the job worked out where that matters.
func (js *jobs) keep(r *http.Request, e store.Entry) (any, error) {
	kept, added, err := js.store.Append(r.Context(), e)
	if err != nil {
		return nil, err
	}
	js.keptOne(kept, added)
	return Made{ID: kept.ID, Seq: kept.Seq, Kept: added}, nil
}

// keptOne tells everybody of an entry that was kept, and has the job worked out.
func (js *jobs) keptOne(kept store.Entry, added bool) {
	if !added {
		return
	}
	js.live.publish(kept.Job, event{Name: "entry", Seq: kept.Seq, Who: kept.Who})
	if evidence(kept.Kind) {
		js.evaluateSoon(kept.Job)
	}
}

// jobsAPI opens jobs, lists them and changes their heads.
type jobsAPI struct {
	*jobs
	house *house
}

func (ap *jobsAPI) routes() []route {
	return []route{
		{method: "GET", path: "/api/jobs", name: "listJobs", about: "The jobs in hand, the last changed first.", params: []param{
			{"query", "q", "words that must all occur", "string"}, {"query", "archived", "true: the archived ones instead", "boolean"}, {"query", "shops", "all: of every shop that the person who asks belongs to", "string"}, {"query", "from", "so many are left out first: where a further page begins", "integer"},
		}, out: []store.Summary{}, status: 200, do: ap.listJobs},
		{method: "POST", path: "/api/jobs", name: "openJob", about: "Opens a job from a job file.", params: []param{idempotency, entered}, in: jobFile{}, out: Made{}, status: 201, do: ap.openJob},
		{method: "GET", path: "/api/jobs/{id}", name: "getJob", about: "The job as it stands.", out: JobReply{}, status: 200, do: ap.getJob},
		{method: "PUT", path: "/api/jobs/{id}/head", name: "replaceHead", about: "Replaces the job's head: a job file without findings.", params: entryParams, in: jobFile{}, out: Made{}, status: 200, do: ap.putHead},
		{method: "POST", path: "/api/jobs/{id}/archive", name: "archiveJob", about: "Puts the job into the archive.", params: entryParams, out: Made{}, status: 200, do: ap.archive(store.Archived)},
		{method: "GET", path: "/api/jobs/{id}/history", name: "getHistory", about: "Every entry ever made.", params: []param{{"query", "after", "only those after this seq", "integer"}}, out: []store.Entry{}, status: 200, do: ap.getHistory},
	}
}

func (ap *jobsAPI) listJobs(_ http.ResponseWriter, r *http.Request) (any, error) {
	return ap.house.jobsOf(r, &ap.jobs.shopRecord, ap.query(r))
}

func (ap *jobsAPI) openJob(_ http.ResponseWriter, r *http.Request) (any, error) {
	raw, err := body(r)
	if err != nil {
		return nil, err
	}
	e, err := entryOf(r, store.Opened, nil)
	if err != nil {
		return nil, err
	}
	return ap.openFrom(r, e, raw)
}

// openFrom opens a job from a job file, findings and all. The job's id is the
// entry's, so that a repeated request finds the same job.
func (js *jobs) openFrom(r *http.Request, e store.Entry, raw []byte) (any, error) {
	made, err := js.openOnly(r, e, raw)
	if err == nil {
		js.evaluateSoon(made.ID)
	}
	return made, err
}

// openOnly opens a job and leaves the answer for later.
func (js *jobs) openOnly(r *http.Request, e store.Entry, raw []byte) (Made, error) {
	document, err := js.read(raw)
	if err != nil {
		return Made{}, err
	}
	head, findings, err := store.Split(document)
	if err != nil {
		return Made{}, err
	}
	e.Job, e.Body = e.ID, head
	entries := []store.Entry{e}
	for i, f := range findings {
		entries = append(entries, store.Entry{Job: e.Job, ID: fmt.Sprintf("%s-%d", e.ID, i+1), Who: e.Who, Entered: e.Entered, Kind: store.Found, Body: f})
	}
	added, err := js.store.Take(r.Context(), e.Job, entries, nil, nil) // whole or not at all
	if err != nil {
		return Made{}, err
	}
	s, err := js.state(r.Context(), e.Job)
	if err != nil {
		return Made{}, err
	}
	if added > 0 {
		js.live.publish(e.Job, event{Name: "entry", Seq: s.Seq, Who: e.Who})
	}
	return Made{ID: e.Job, Seq: s.Seq, Kept: added > 0}, nil
}

func (ap *jobsAPI) getJob(_ http.ResponseWriter, r *http.Request) (any, error) {
	id := r.PathValue("id")
	s, err := ap.state(r.Context(), id)
	if err != nil {
		return nil, err
	}
	sum, err1 := ap.store.Job(r.Context(), id)
	files, err2 := ap.store.Files(r.Context(), id)
	document, err3 := s.Document()
	if err := errors.Join(err1, err2, err3); err != nil {
		return nil, err
	}
	out := JobReply{Summary: sum, Document: document, Findings: s.Findings, Notes: s.Notes, Files: files}
	if out.Findings == nil {
		out.Findings = []store.Finding{}
	}
	if out.Notes == nil {
		out.Notes = []store.Note{}
	}
	return out, nil
}

func (ap *jobsAPI) putHead(_ http.ResponseWriter, r *http.Request) (any, error) {
	raw, err := body(r)
	if err != nil {
		return nil, err
	}
	return ap.setHead(r, raw)
}

// setHead keeps a new head.
func (js *jobs) setHead(r *http.Request, raw []byte) (any, error) {
	out, _, err := js.mergeHead(r, func(object) (json.RawMessage, error) { return raw, nil })
	return out, err
}

func (js *jobs) archive(kind store.Kind) func(http.ResponseWriter, *http.Request) (any, error) {
	return func(_ http.ResponseWriter, r *http.Request) (any, error) {
		e, err := entryOf(r, kind, nil)
		if err != nil {
			return nil, err
		}
		return js.keep(r, e)
	}
}

func (ap *jobsAPI) getHistory(_ http.ResponseWriter, r *http.Request) (any, error) {
	after, _ := strconv.ParseInt(r.FormValue("after"), 10, 64) // anything else is from the beginning
	list, err := ap.store.Entries(r.Context(), r.PathValue("id"), after)
	if list == nil {
		list = []store.Entry{}
	}
	return list, err
}
