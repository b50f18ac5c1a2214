package web

import (
	"context"
	"net/http"
	"strconv"
	"time"

	"weephole/internal/store"
	"weephole/internal/web/answers"
)

// longestWait is how long a request waits for an answer: judgement, well above
// the time of drawing a lineup.
const longestWait = 60 * time.Second

// asked has the job worked out, if it is not, and gives the seq that the asker wants.
func (ap *api) asked(r *http.Request) (id string, seq int64, err error) {
	id = r.PathValue("id")
	s, err := ap.state(r.Context(), id)
	if err != nil {
		return "", 0, err
	}
	seq = s.Seq
	if text := r.FormValue("seq"); text != "" {
		if seq, err = strconv.ParseInt(text, 10, 64); err != nil || seq > s.Seq || seq < 0 {
			return "", 0, wrong(http.StatusBadRequest, "seq %q is no entry of this job; it has %d", text, s.Seq)
		}
	}
	return id, min(seq, evidenceSeq(s)), ap.evaluate(r.Context(), s)
}

// answerError turns an answer that is none into an error.
func answerError(a *answers.Answer, err error) error {
	if err == nil && a.Problem != "" {
		return wrong(http.StatusUnprocessableEntity, "%s", a.Problem)
	}
	return err
}

func (ap *api) getOdds(_ http.ResponseWriter, r *http.Request) (any, error) {
	id, seq, err := ap.asked(r)
	if err != nil {
		return nil, err
	}
	stage := r.FormValue("stage")
	if stage != "" && stage != answers.Coarse && stage != answers.Fine {
		return nil, wrong(http.StatusBadRequest, "stage %q: write coarse or fine", stage)
	}
	ctx, cancel := context.WithTimeout(r.Context(), longestWait)
	defer cancel()
	a, err := ap.warm.Answer(ctx, id, seq, stage)
	if err := answerError(a, err); err != nil {
		return nil, err
	}
	return OddsReply{a.Seq, a.Stage, a.Odds}, nil
}

// planned waits for an answer with the next step.
func (ap *api) planned(r *http.Request) (*answers.Answer, error) {
	id, seq, err := ap.asked(r)
	if err != nil {
		return nil, err
	}
	ctx, cancel := context.WithTimeout(r.Context(), longestWait)
	defer cancel()
	a, err := ap.warm.Planned(ctx, id, seq)
	if err := answerError(a, err); err != nil {
		return nil, err
	}
	return a, nil
}

func (ap *api) getNext(_ http.ResponseWriter, r *http.Request) (any, error) {
	a, err := ap.planned(r)
	if err != nil {
		return nil, err
	}
	return NextReply{a.Seq, a.Stage, a.Next}, nil
}

func (ap *api) getMargin(_ http.ResponseWriter, r *http.Request) (any, error) {
	a, err := ap.planned(r)
	if err != nil {
		return nil, err
	}
	if a.Margin == nil {
		return nil, wrong(http.StatusUnprocessableEntity, "no simulated engine fits what was found, so nothing is known of the margin; look at the findings again")
	}
	return MarginReply{a.Seq, a.Stage, a.Margin}, nil
}

func (ap *api) getExpected(_ http.ResponseWriter, r *http.Request) (any, error) {
	a, err := ap.planned(r)
	if err != nil {
		return nil, err
	}
	return a.Expected, nil
}

func (ap *api) getSettings(_ http.ResponseWriter, r *http.Request) (any, error) {
	return ap.settings(r.Context())
}

func (ap *api) setSettings(_ http.ResponseWriter, r *http.Request) (any, error) {
	var s ShopInput
	if err := decode(r, &s); err != nil {
		return nil, err
	}
	if err := ap.keepSettings(r.Context(), &s); err != nil {
		return nil, err
	}
	return s, nil
}

// Removed says how many jobs are gone.
type Removed struct {
	Jobs int `json:"jobs"`
}

// addDemo opens the demo jobs that are not there yet.
func (ap *api) addDemo(_ http.ResponseWriter, r *http.Request) (any, error) {
	out := []Made{}
	for _, d := range ap.cfg.Demo {
		e := store.Entry{ID: "demo-" + d.Name, Who: "the demo", Kind: store.Opened}
		if _, err := ap.store.Job(r.Context(), e.ID); err == nil {
			continue
		}
		made, err := ap.openDemo(r, e, d)
		if err != nil {
			return nil, err
		}
		out = append(out, made)
	}
	return out, nil
}

func (ap *api) openDemo(r *http.Request, e store.Entry, d Demo) (Made, error) {
	made, err := ap.openOnly(r, e, d.Document)
	if err != nil {
		return Made{}, err
	}
	for name, content := range d.Files {
		if _, err := ap.store.PutFile(r.Context(), e.ID, store.File{Name: name, Type: "application/octet-stream", Who: e.Who}, content); err != nil {
			return Made{}, err
		}
	}
	if err := ap.store.MarkDemo(r.Context(), e.ID); err != nil {
		return Made{}, err
	}
	ap.evaluateSoon(e.ID) // now that its logs are there
	return made, nil
}

func (ap *api) removeDemo(_ http.ResponseWriter, r *http.Request) (any, error) {
	n := 0
	for _, archived := range []bool{false, true} {
		list, err := ap.store.Jobs(r.Context(), store.Query{Archived: archived, Limit: 1 << 20})
		if err != nil {
			return nil, err
		}
		for _, j := range list {
			if !j.Demo {
				continue
			}
			if err := ap.store.RemoveDemo(r.Context(), j.ID); err != nil {
				return nil, err
			}
			n++
		}
	}
	return Removed{n}, nil
}
