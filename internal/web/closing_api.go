package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"

	"weephole/internal/job"
	"weephole/internal/store"
	"weephole/internal/tally"
	"weephole/internal/web/answers"
	"weephole/internal/work"
	"weephole/proof"
)

// ClosingInput is what is written down when the work is done, in the words of a job
// file's "closing". What is not sent stays; an empty word takes away.
type ClosingInput struct {
	Cause   *string           `json:"cause,omitempty"`
	Showed  *string           `json:"showed,omitempty"`
	Charged *string           `json:"charged,omitempty"`
	Coolant *UsedCoolantInput `json:"coolant,omitempty"`
	When    *string           `json:"when,omitempty"`
	Watch   *string           `json:"watch,omitempty"`
	Tally   *string           `json:"tally,omitempty"` // "no" keeps the job out of the tally
}

// UsedCoolantInput is the record of the coolant that came out.
type UsedCoolantInput struct {
	Drained *string `json:"drained,omitempty"`
	Filled  *string `json:"filled,omitempty"`
	Mix     *string `json:"mix,omitempty"`
	Looked  *string `json:"looked,omitempty"`
	Went    *string `json:"went,omitempty"`
}

// inUnits gives bare numbers the shop's units and currency.
func (c *ClosingInput) inUnits(shop *job.Shop) {
	say := func(text **string, units [2]string) {
		if *text != nil {
			f := field{units: units}
			said := f.said(**text, shop)
			*text = &said
		}
	}
	say(&c.Charged, [2]string{money, money})
	if u := c.Coolant; u != nil {
		say(&u.Drained, [2]string{"L", "qt"})
		say(&u.Filled, [2]string{"L", "qt"})
		say(&u.Mix, [2]string{"%", "%"})
	}
}

// MakerDatumInput is one thing that only the maker's data can tell.
type MakerDatumInput struct {
	What string `json:"what"` // its id on the repair sheet, its name there, or a name of one's own
	Says string `json:"says"` // "" takes it away
	From string `json:"from,omitempty"`
}

// subject is a job made ready to be finished.
func (jn *journal) subject(ctx context.Context, s *store.State, repairs ...string) (answers.JobState, error) {
	stands, err := jn.currentOf(ctx, s)
	if err != nil {
		return answers.JobState{}, err
	}
	for _, id := range repairs {
		if jn.cfg.Model.Causes.Repair(id) == nil {
			return answers.JobState{}, wrong(http.StatusBadRequest, "repair %q is not in the catalogue", id)
		}
	}
	return answers.JobState{Job: s.ID, Seq: evidenceSeq(s), Document: stands.Document, Open: jn.opener(s.ID), Repairs: repairs}, nil
}

// closingRequest reads which job, and which repair of it, a request is about.
func (jn *journal) closingRequest(r *http.Request) (*store.State, answers.JobState, error) {
	s, err := jn.state(r.Context(), r.PathValue("id"))
	if err != nil {
		return nil, answers.JobState{}, err
	}
	var repairs []string
	if id := r.FormValue("repair"); id != "" {
		repairs = append(repairs, id)
	}
	sub, err := jn.subject(r.Context(), s, repairs...)
	return s, sub, err
}

// closingError puts why a job cannot be finished into the bench's own words.
func closingError(err error) error {
	var what *work.WrongIf
	switch {
	case errors.As(err, &what):
		return wrongAt(what.Part, fmt.Sprintf("What if: %s %q", whatIfPart(what.Part), what.Found), "%v", what.Err)
	case errors.Is(err, work.ErrNothingToProve):
		return wrong(http.StatusUnprocessableEntity, "There is nothing to prove yet: no repair was done, and the odds suggest none. Go on finding out, or choose a repair.")
	case errors.Is(err, proof.ErrCannotCure):
		return wrong(http.StatusUnprocessableEntity, "This repair leaves a fault in every engine that fits what was found, so no run can prove it.")
	case errors.Is(err, tally.ErrUnproven):
		return wrong(http.StatusUnprocessableEntity, "The repair is not proven yet. Only jobs whose repair is proven count in the tally.")
	case errors.Is(err, tally.ErrNoCause):
		return wrong(http.StatusUnprocessableEntity, "The job does not say what it turned out to be.")
	case errors.Is(err, tally.ErrKeptOut):
		return wrong(http.StatusUnprocessableEntity, "The job is to be kept out of the tally.")
	case errors.Is(err, tally.ErrTwice):
		return wrong(http.StatusConflict, "The job is in the tally already.")
	case errors.Is(err, tally.ErrAbsent):
		return wrong(http.StatusNotFound, "The job is not in the tally.")
	}
	return err
}

// repairParam says which repair is meant.
var repairParam = param{"query", "repair", "plan for this repair, where none was done yet", "string"}

// repairAPI is about a job's end: sheet, proof, letter, closing.
type repairAPI struct {
	*jobs
}

func (ap *repairAPI) routes() []route {
	return []route{
		{method: "GET", path: "/api/jobs/{id}/repair", name: "getRepair", about: "The sheets of the repair asked for, or of those done last, or of the one that the odds suggest.", params: []param{repairParam}, out: sheetList{}, status: 200, do: ap.getRepair},
		{method: "GET", path: "/api/jobs/{id}/proof", name: "getProof", about: "Which run can prove the repair, and what the run after it proves. Takes some seconds the first time.", params: []param{repairParam}, out: answers.ProofReply{}, status: 200, do: ap.getProof},
		{method: "GET", path: "/api/jobs/{id}/letter", name: "getLetter", about: "The owner's letter as data.", out: letterBody{}, status: 200, do: ap.getLetter},
		{method: "GET", path: "/api/jobs/{id}/letter.html", name: "getLetterPage", about: "The owner's letter as a page of its own.", gives: "text/html", status: 200, do: ap.letterAs("html")},
		{method: "GET", path: "/api/jobs/{id}/letter.pdf", name: "getLetterPDF", about: "The owner's letter as PDF.", gives: "application/pdf", status: 200, do: ap.letterAs("pdf")},
		{method: "GET", path: "/api/jobs/{id}/letter.txt", name: "getLetterText", about: "The owner's letter in a few lines, for a text message.", gives: "text/plain", status: 200, do: ap.letterAs("txt")},
		{method: "PATCH", path: "/api/jobs/{id}/closing", name: "setClosing", about: "Says what it turned out to be, what was charged, and where the coolant went. What is not sent stays.", params: entryParams, in: ClosingInput{}, out: Made{}, status: 200, do: ap.putClosing},
		{method: "PATCH", path: "/api/jobs/{id}/maker", name: "setMakerData", about: "Says what the maker's data say. What is not sent stays.", params: entryParams, in: []MakerDatumInput{}, out: Made{}, status: 200, do: ap.putMakerData},
	}
}

func (ap *repairAPI) getRepair(_ http.ResponseWriter, r *http.Request) (any, error) {
	_, sub, err := ap.closingRequest(r)
	if err != nil {
		return nil, err
	}
	return ap.sheets(r.Context(), sub)
}

// sheets are those asked for, of the repairs done last, or of the one suggested.
func (dg *diagnosis) sheets(ctx context.Context, sub answers.JobState) (sheetList, error) {
	w, err := dg.cache.Open(ctx, sub)
	if err != nil {
		return nil, err
	}
	dg.asSuggested(ctx, &sub, w)
	return w.Sheets(sub.Repairs)
}

// asSuggested has a job's sheet and its proof be about the repair that the answer at hand
// suggests, where none was asked for and none was done.
func (dg *diagnosis) asSuggested(ctx context.Context, sub *answers.JobState, w *work.Work) {
	if w == nil || len(sub.Repairs) > 0 || len(w.Repairs) > 0 {
		return
	}
	if id := dg.suggested(ctx, sub.Job); id != "" {
		sub.Repairs = []string{id}
	}
}

func (ap *repairAPI) getProof(_ http.ResponseWriter, r *http.Request) (any, error) {
	_, sub, err := ap.closingRequest(r)
	if err != nil {
		return nil, err
	}
	if w, err := ap.cache.Open(r.Context(), sub); err == nil { // else the proof says why
		ap.asSuggested(r.Context(), &sub, w)
	}
	ctx, cancel := context.WithTimeout(r.Context(), longestWait)
	defer cancel()
	p, err := ap.cache.Proof(ctx, sub)
	return p, closingError(err)
}

func (ap *repairAPI) getLetter(_ http.ResponseWriter, r *http.Request) (any, error) {
	_, sub, err := ap.closingRequest(r)
	if err != nil {
		return nil, err
	}
	ctx, cancel := context.WithTimeout(r.Context(), longestWait)
	defer cancel()
	l, err := ap.cache.Letter(ctx, sub)
	if err != nil {
		return nil, closingError(err)
	}
	return l.Letter, nil
}

// letterAs gives the letter as a file to read, print or send.
func (ap *repairAPI) letterAs(kind string) func(http.ResponseWriter, *http.Request) (any, error) {
	return func(w http.ResponseWriter, r *http.Request) (any, error) {
		s, sub, err := ap.closingRequest(r)
		if err != nil {
			return nil, err
		}
		ctx, cancel := context.WithTimeout(r.Context(), longestWait)
		defer cancel()
		got, err := ap.cache.Letter(ctx, sub)
		if err != nil {
			return nil, closingError(err)
		}
		l := *got.Letter // kept for others: the logo is put into this one alone
		if l.Logo, err = ap.logo(ctx); err != nil {
			return nil, err
		}
		var out bytes.Buffer // whole, so that a failure is an error and not half a letter
		h := w.Header()
		switch kind {
		case "html":
			h.Set("Content-Type", "text/html; charset=utf-8")
			h.Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
			err = l.HTML(&out)
		case "pdf":
			h.Set("Content-Type", "application/pdf")
			err = l.PDF(&out, s.Changed)
		default:
			h.Set("Content-Type", "text/plain; charset=utf-8")
			_, err = io.WriteString(&out, l.Short+"\n")
		}
		if err != nil {
			return nil, err
		}
		if r.FormValue("keep") != "" {
			h.Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", "letter-"+asciiName(s.ID)+"."+kind))
		}
		_, _ = w.Write(out.Bytes()) // the device has gone away
		return nil, nil
	}
}

func (ap *repairAPI) putClosing(_ http.ResponseWriter, r *http.Request) (any, error) {
	var c ClosingInput
	if err := decode(r, &c); err != nil {
		return nil, err
	}
	shop, err := ap.shop(r.Context())
	if err != nil {
		return nil, err
	}
	c.inUnits(shop)
	change, err := asObject(c)
	if err != nil {
		return nil, err
	}
	return ap.changePart(r, func(doc object) {
		closing, _ := doc["closing"].(object)
		doc["closing"] = merged(closing, change)
	})
}

func (ap *repairAPI) putMakerData(_ http.ResponseWriter, r *http.Request) (any, error) {
	var list []MakerDatumInput
	if err := decode(r, &list); err != nil {
		return nil, err
	}
	sheets, err := work.DefaultSheetData()
	if err != nil {
		return nil, err
	}
	return ap.changePart(r, func(doc object) {
		kept, _ := dig(doc, "vehicle.maker").([]any)
		for _, d := range list {
			kept = withDatum(sheets, kept, d)
		}
		if kept == nil {
			kept = []any{}
		}
		put(doc, "vehicle.maker", kept)
	})
}

// withDatum puts what the maker says in the place of what stood for it, by its id or in
// older jobs by its name.
func withDatum(sheets *work.SheetData, list []any, d MakerDatumInput) []any {
	idOf := func(what string) string {
		if known := sheets.Datum(what); known != nil {
			return string(known.ID)
		}
		return what
	}
	out, id := []any{}, idOf(d.What)
	var one object // nil takes it away
	if says := strings.TrimSpace(d.Says); says != "" {
		one = object{"what": clip(id, 200), "says": clip(says, 200)}
		if from := clip(d.From, 200); from != "" {
			one["from"] = from
		}
	}
	for _, x := range list {
		m, _ := x.(object)
		if what, ok := m["what"].(string); !ok || idOf(what) != id {
			out = append(out, x)
		} else if one != nil {
			out, one = append(out, one), nil
		}
	}
	if one != nil {
		out = append(out, one)
	}
	return out
}

// changePart replaces a job's head with one in which a part is changed. Changes of
// different parts made at the same moment are all kept.
func (js *jobs) changePart(r *http.Request, change func(doc object)) (any, error) {
	out, _, err := js.mergeHead(r, func(base object) (json.RawMessage, error) {
		change(base)
		return json.Marshal(base)
	})
	return out, err
}

// merged puts a change over what stood; an empty word takes away.
func merged(before, change object) object {
	out := object{}
	for k, v := range before {
		out[k] = v
	}
	for k, v := range change {
		switch x := v.(type) {
		case object:
			inner, _ := out[k].(object)
			out[k] = merged(inner, x)
		case string:
			if x = strings.TrimSpace(x); x == "" {
				delete(out, k)
			} else {
				out[k] = x
			}
		}
	}
	return out
}

func asObject(v any) (object, error) {
	raw, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	var out object
	return out, json.Unmarshal(raw, &out)
}
