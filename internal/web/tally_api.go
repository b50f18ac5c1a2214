package web

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"sync"
	"time"

	"weephole/internal/store"
	"weephole/internal/tally"
)

// TallyKeeper is where the tally is kept: lines that are only ever added to.
type TallyKeeper interface {
	Read() (*tally.Tally, error)
	Append(tally.Entry) error
}

// tallies counts closed jobs.
type tallies struct {
	*jobs
	counting sync.Mutex // one adds to the tally at a time
}

// TallyReply is what closed jobs have taught.
type TallyReply struct {
	Jobs   []tally.Entry      `json:"jobs"`
	Counts []tally.CauseCount `json:"counts"`
	Trusts []tally.Trust      `json:"trusts"`
}

// tallyAPI closes jobs and is about what they have taught.
type tallyAPI struct {
	*jobs
	tallies *tallies
}

func (ap *tallyAPI) routes() []route {
	return []route{
		{method: "POST", path: "/api/jobs/{id}/reopen", name: "reopenJob", about: "Takes the job out of the archive.", params: entryParams, out: Made{}, status: 200, do: ap.reopen},
		{method: "POST", path: "/api/jobs/{id}/close", name: "closeJob", about: "Closes the job: puts it into the archive and, where its repair is proven, counts it in the tally; a note says which.", params: entryParams, out: Made{}, status: 200, do: ap.closeJob},
		{method: "POST", path: "/api/jobs/{id}/tally", name: "countJob", about: "Counts a job in the tally.", out: tally.Entry{}, status: 200, do: ap.countJob},
		{method: "DELETE", path: "/api/jobs/{id}/tally", name: "uncountJob", about: "Takes a job out of the tally; the tally keeps both lines.", params: []param{{"query", "why", "the reason", "string"}}, out: tally.Entry{}, status: 200, do: ap.uncountJob},
		{method: "GET", path: "/api/tally", name: "getTally", about: "What closed jobs have taught.", out: TallyReply{}, status: 200, do: ap.getTally},
	}
}

func (ap *tallyAPI) getTally(http.ResponseWriter, *http.Request) (any, error) {
	t, err := ap.tallies.ledger()
	if err != nil {
		return nil, err
	}
	out := TallyReply{Jobs: t.Standing(), Counts: t.Counts(), Trusts: t.Trusts(tally.DefaultTrustRules())}
	if out.Jobs == nil {
		out.Jobs = []tally.Entry{}
	}
	return out, nil
}

// ledger reads the tally; a bench without one has an empty one.
func (ts *tallies) ledger() (*tally.Tally, error) {
	if ts.cfg.Tally == nil {
		return &tally.Tally{}, nil
	}
	return ts.cfg.Tally.Read()
}

// count puts a job as it stands into the tally.
func (ts *tallies) count(ctx context.Context, id string) (tally.Entry, error) {
	if ts.cfg.Tally == nil {
		return tally.Entry{}, wrong(http.StatusNotFound, "This bench keeps no tally.")
	}
	s, err := ts.state(ctx, id)
	if err != nil {
		return tally.Entry{}, err
	}
	if t, err := ts.cfg.Tally.Read(); err != nil {
		return tally.Entry{}, err
	} else if err := t.Lacks(id); err != nil {
		return tally.Entry{}, err
	}
	sub, err := ts.subject(ctx, s)
	if err != nil {
		return tally.Entry{}, err
	}
	e, err := ts.cache.Entry(ctx, sub, id)
	if err != nil {
		return e, err
	}
	ts.counting.Lock()
	defer ts.counting.Unlock()
	t, err := ts.cfg.Tally.Read()
	if err != nil {
		return e, err
	}
	if e, err = t.Add(e); err != nil {
		return e, err
	}
	return e, ts.cfg.Tally.Append(e)
}

// uncount takes a job out of the tally.
func (ts *tallies) uncount(id, why string) (tally.Entry, error) {
	ts.counting.Lock()
	defer ts.counting.Unlock()
	t, err := ts.ledger()
	if err != nil {
		return tally.Entry{}, err
	}
	e, err := t.Undo(id, why)
	if err != nil {
		return e, err
	}
	return e, ts.cfg.Tally.Append(e)
}

func (ap *tallyAPI) countJob(_ http.ResponseWriter, r *http.Request) (any, error) {
	ctx, cancel := context.WithTimeout(r.Context(), longestWait)
	defer cancel()
	e, err := ap.tallies.count(ctx, r.PathValue("id"))
	return e, closingError(err)
}

func (ap *tallyAPI) uncountJob(_ http.ResponseWriter, r *http.Request) (any, error) {
	e, err := ap.tallies.uncount(r.PathValue("id"), clip(r.FormValue("why"), 200))
	return e, closingError(err)
}

// closeJob archives a job and has it counted behind the author's back: what came
// of that is noted in the job.
func (ap *tallyAPI) closeJob(_ http.ResponseWriter, r *http.Request) (any, error) {
	e, err := entryOf(r, store.Archived, nil)
	if err != nil {
		return nil, err
	}
	out, err := ap.keep(r, e)
	if made, ok := out.(Made); ok && made.Kept && ap.cfg.Tally != nil {
		ap.behind(func() { ap.tallies.countClosed(e.Job, e.ID) })
	}
	return out, err
}

// longestCount is how long counting a closed job may take: judgement, a proof
// with others waiting before it.
const longestCount = 5 * time.Minute

// countClosed counts a job that was closed and notes what came of it.
func (ts *tallies) countClosed(id, entry string) {
	ctx, cancel := context.WithTimeout(ts.life, longestCount)
	defer cancel()
	_, err := ts.count(ctx, id)
	text := "Counted in the tally."
	if err != nil {
		var m *mistake
		if !errors.As(closingError(err), &m) {
			if ts.life.Err() == nil {
				ts.cfg.Log.Warn("a closed job could not be counted", "job", id, "error", err)
			}
			return
		}
		text = "Not counted in the tally. " + m.message
	}
	if err := ts.note(ctx, id, entry+"-tally", text); err != nil {
		ts.cfg.Log.Warn("a note could not be kept", "job", id, "error", err)
	}
}

// note keeps a remark that the bench itself makes.
func (js *jobs) note(ctx context.Context, id, entry, text string) error {
	body, err := json.Marshal(Remark{Text: text})
	if err != nil {
		return err
	}
	kept, added, err := js.store.Append(ctx, store.Entry{Job: id, ID: entry, Who: "the bench", Kind: store.Noted, Body: body})
	if err == nil && added {
		js.live.publish(kept.Job, event{Name: "entry", Seq: kept.Seq, Who: kept.Who})
	}
	return err
}

// reopen takes a job out of the archive, and out of the tally if it was counted:
// a car that came back teaches otherwise than it was thought to.
func (ap *tallyAPI) reopen(w http.ResponseWriter, r *http.Request) (any, error) {
	out, err := ap.archive(store.Reopened)(w, r)
	if err != nil || ap.cfg.Tally == nil {
		return out, err
	}
	id := r.PathValue("id")
	switch _, err := ap.tallies.uncount(id, "the job was opened again"); {
	case err == nil:
		err = ap.note(r.Context(), id, newID(), "Taken out of the tally, because the job was opened again.")
		return out, err
	case !errors.Is(err, tally.ErrAbsent):
		return out, err
	}
	return out, nil
}
