package web

import (
	"encoding/json"
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strings"
	"time"

	"weephole/cause"
	"weephole/internal/answer"
	"weephole/internal/job"
	"weephole/internal/store"
	"weephole/internal/web/drawing"
	"weephole/internal/web/weighing"
	"weephole/quantity"
)

// jobView is everything the page of a job shows.
type jobView struct {
	ID, Car, Complaint string
	Signs              []string
	Seq                int64
	Archived, Demo     bool
	Drawing            template.HTML
	Answer             *weighing.Answer
	Stale              bool // the answer does not know the newest entry yet
	Causes             []causeView
	More               int // causes that are not shown
	Step               *stepView
	Others             []answer.Step
	Quote              *answer.Quote
	Currency           string
	Findings           []findingView
	Struck             int
	Notes              []store.Note
	Photos             []store.File
	Traces             []traceView
	Timer              *cooled
	Done               []string // names of the repairs done last
	Seen               bool     // something was found after them
}

// PageTitle is the title of the job's page.
func (v *jobView) PageTitle() string {
	if v.Car != "" {
		return v.Car
	}
	return "Job"
}

type causeView struct {
	answer.Cause
	Of    int
	Width string // of its bar, per cent
	Open  bool
}

type stepView struct {
	answer.Step
	Place string
}

type findingView struct {
	store.Finding
	Name, Says, Note, Place, Check string
}

const (
	causesShown = 6 // judgement: what fits a phone without scrolling far
	othersShown = 4
)

func countOf(n, of int) string { return fmt.Sprintf("%d of %d", n, of) }

// jobPage gathers a job's page from the disk. It weighs nothing and waits for
// nothing; it only asks for a weighing where the answer kept is old.
func (b *Bench) jobPage(r *http.Request) (any, error) {
	ctx, id := r.Context(), r.PathValue("id")
	s, err := b.state(ctx, id)
	if err != nil {
		return nil, err
	}
	sum, err := b.store.Job(ctx, id)
	if err != nil {
		return nil, err
	}
	set, err := b.settings(ctx)
	if err != nil {
		return nil, err
	}
	document, err := b.document(ctx, s)
	if err != nil {
		return nil, err
	}
	files, err := b.store.Files(ctx, id)
	if err != nil {
		return nil, err
	}
	a, err := b.answer(ctx, id)
	if err != nil {
		return nil, err
	}
	b.weighAfter(s)
	v := &jobView{
		ID: id, Car: sum.Car, Complaint: sum.Complaint, Seq: s.Seq, Archived: s.Archived, Demo: sum.Demo,
		Answer: a, Stale: a == nil || a.Seq < s.Seq, Timer: lastCooling(s), Notes: s.Notes,
	}
	var words struct {
		Complaint struct{ Signs []string }
		Vehicle   struct {
			Cylinders  int
			Thermostat struct{ Sits string }
			Fan        struct {
				Kind  string
				Count int
			}
		}
	}
	_ = json.Unmarshal(document, &words) // what it does not say is drawn as usual
	v.Signs = words.Complaint.Signs
	v.answers()
	v.findings(b, s, set.units(document))
	v.repairs(b, s)
	for _, f := range files {
		if strings.HasPrefix(f.Type, "image/") {
			v.Photos = append(v.Photos, f)
		}
	}
	var bands []weighing.Band
	if a != nil {
		bands = a.Bands
	}
	v.Traces = b.traces(r, id, files, set.units(document), bands)
	if v.Step != nil {
		v.Step.Place = b.placeOf(v.Step.Do)
	}
	v.Drawing, err = drawing.SVG(drawing.Car{
		Inlet: words.Vehicle.Thermostat.Sits == "inlet", Fan: words.Vehicle.Fan.Kind, Fans: words.Vehicle.Fan.Count, Cylinders: words.Vehicle.Cylinders,
	}, v.marks(b, s), func(place string) string { return "/jobs/" + id + "/places/" + place })
	return v, err
}

// paintFirst is how long a page that was asked for is left to be painted before
// its job is weighed, where both are done by the same machine: judgement.
const paintFirst = 200 * time.Millisecond

// weighAfter has a job weighed when its page has been painted. It is asked even
// when the answer is new: the lineup is then warm for the next finding. An answer
// of the same seq is not made twice.
func (b *Bench) weighAfter(s *store.State) {
	b.background.Go(func() {
		select {
		case <-time.After(paintFirst):
		case <-b.life.Done():
			return
		}
		if err := b.weigh(b.life, s); err != nil && b.life.Err() == nil {
			b.cfg.Log.Warn("a job could not be weighed", "job", s.ID, "error", err)
		}
	})
}

// answers lays the answer out.
func (v *jobView) answers() {
	a := v.Answer
	if a == nil {
		return
	}
	if a.Odds != nil {
		for i, c := range a.Odds.Causes {
			if i >= causesShown || c.Count == 0 && i > 0 {
				v.More = len(a.Odds.Causes) - i
				break
			}
			v.Causes = append(v.Causes, causeView{c, a.Odds.Of, fmt.Sprintf("%.1f%%", max(0.5, 100*min(1, c.Probability))), i == 0})
		}
	}
	if a.Next != nil {
		v.Quote, v.Currency = a.Next.Quote, a.Next.Currency
		if len(a.Next.Steps) > 0 {
			v.Step = &stepView{Step: a.Next.Steps[0]}
			v.Others = a.Next.Steps[1:min(len(a.Next.Steps), 1+othersShown)]
		}
	}
}

// Why is what the plan says of its first step besides the cautions, the step
// itself and what each result would do, which stand on the page already.
func (v *jobView) Why() (out []string) {
	if v.Step == nil {
		return nil
	}
	for _, line := range v.Answer.Next.Says[min(len(v.Answer.Next.Says), len(v.Step.Cautions)+1):] {
		if !strings.HasPrefix(line, "If ") && !slices.ContainsFunc(v.Answer.Next.Waiting, func(w answer.Waiting) bool { return w.Says == line }) {
			out = append(out, line)
		}
	}
	return out
}

// Money prints an amount of the answer.
func (v *jobView) Money(x float64) string { return answer.Money(x, v.Currency) }

// Percent prints a probability as a count out of a hundred.
func (v *jobView) Percent(p float64) string { return fmt.Sprintf("%.0f of 100", 100*p) }

// said is a finding's body as a page reads it.
type said struct {
	Check, Found, Repair, Changed, Note, Trace string
	Read                                       map[string]string
}

// findings puts every finding into words, in the order made: a new one then moves
// none of those that somebody may be about to tap.
func (v *jobView) findings(b *Bench, s *store.State, u quantity.Units) {
	for i := range s.Findings {
		f := &s.Findings[i]
		var x said
		_ = json.Unmarshal(f.Body, &x) // what cannot be read is shown without words
		fv := findingView{Finding: *f, Name: x.Check + x.Repair, Note: x.Note, Check: x.Check, Place: b.placeOf(x.Check)}
		if k := b.cfg.Model.Checks.Check(x.Check); k != nil {
			fv.Name = k.Name
			var parts []string
			if w := k.WordIndex(x.Found); w >= 0 {
				parts = append(parts, k.Words[w].Says)
			} else if x.Found != "" {
				parts = append(parts, x.Found)
			}
			for r := range k.Readings {
				if text := x.Read[k.Readings[r].ID]; text != "" {
					parts = append(parts, k.Readings[r].Name+" "+text)
				}
			}
			if x.Trace != "" {
				parts = append(parts, "log "+x.Trace)
			}
			fv.Says = strings.Join(parts, "; ")
		} else if rep := b.cfg.Model.Causes.Repair(x.Repair); rep != nil {
			fv.Name, fv.Says = "tried: "+rep.Name, "changed: "+orUnknown(x.Changed)
		}
		if f.Struck {
			v.Struck++
		}
		v.Findings = append(v.Findings, fv)
	}
}

// repairs finds the repairs done last in a row, and whether anything was found
// after them.
func (v *jobView) repairs(b *Bench, s *store.State) {
	for _, f := range s.Standing() {
		var x said
		_ = json.Unmarshal(f.Body, &x)
		rep := b.cfg.Model.Causes.Repair(x.Repair)
		switch {
		case rep == nil:
			v.Seen = len(v.Done) > 0
			continue
		case v.Seen || failed(x.Changed):
			v.Done, v.Seen = nil, false
		}
		if !failed(x.Changed) {
			v.Done = append(v.Done, rep.Name)
		}
	}
}

// failed tells of a repair after which nothing was better: no proof is wanted of
// it, it is a finding like any other (see aftercare.Part).
func failed(changed string) bool {
	return changed == cause.Nothing.String() || changed == cause.Worse.String()
}

func orUnknown(s string) string {
	if s == "" {
		return job.Unknown
	}
	return s
}

// plateText is how much a plate can hold, characters.
const plateText = 11

// marks tells what each place's plate says.
func (v *jobView) marks(b *Bench, s *store.State) map[string]drawing.Mark {
	marks := map[string]drawing.Mark{}
	for _, f := range s.Standing() {
		var x said
		_ = json.Unmarshal(f.Body, &x)
		k := b.cfg.Model.Checks.Check(x.Check)
		if k == nil {
			continue
		}
		m := marks[k.Place]
		m.Made++
		if x.Found != "" {
			m.Value = clip(strings.ReplaceAll(x.Found, "-", " "), plateText)
		} else if x.Trace != "" {
			m.Value = "log"
		}
		marks[k.Place] = m
		for r := range k.Readings {
			rd := &k.Readings[r]
			text := x.Read[rd.ID]
			if text == "" || text == job.Unknown {
				continue
			}
			place := rd.Place
			if place == "" {
				place = k.Place
			}
			m := marks[place]
			if place != k.Place {
				m.Made++
			}
			m.Value = clip(text, plateText)
			if t, err := quantity.ParseTemperature(text); err == nil && rd.What == "temperature" {
				m.Known, m.TempC = true, float64(t)
			}
			marks[place] = m
		}
	}
	if v.Step != nil && v.Step.Place != "" && !v.Stale {
		m := marks[v.Step.Place]
		m.Next = true
		marks[v.Step.Place] = m
	}
	return marks
}

// placeOf is where a check is made, "" for anything else.
func (b *Bench) placeOf(check string) string {
	if k := b.cfg.Model.Checks.Check(check); k != nil {
		return k.Place
	}
	return ""
}

type historyView struct {
	ID, Car string
	Rows    []historyRow
}

// PageTitle is the title of the history.
func (v historyView) PageTitle() string { return "History of " + v.Car }

type historyRow struct {
	store.Entry
	What, Text, Before string
}

var kindWords = map[store.Kind]string{
	store.Opened: "opened the job", store.Told: "told the job anew", store.Found: "found", store.Corrected: "corrected",
	store.Struck: "struck out", store.Restored: "took back in", store.Noted: "noted", store.Brought: "brought",
	store.Archived: "archived the job", store.Reopened: "reopened the job",
}

// history shows who did what, when, and what stood there before.
func (b *Bench) history(r *http.Request) (any, error) {
	s, err := b.state(r.Context(), r.PathValue("id"))
	if err != nil {
		return nil, err
	}
	sum, err := b.store.Job(r.Context(), s.ID)
	if err != nil {
		return nil, err
	}
	v := historyView{ID: s.ID, Car: sum.Car}
	stood := map[string]string{}
	for _, e := range s.Entries {
		row := historyRow{Entry: e, What: kindWords[e.Kind]}
		key := e.Finding
		switch e.Kind {
		case store.Found:
			key = e.ID
		case store.Opened, store.Told:
			key = "head"
		}
		switch e.Kind {
		case store.Opened, store.Told, store.Found, store.Corrected:
			row.Text, row.Before = readable(e.Body), stood[key]
			stood[key] = row.Text
		case store.Struck, store.Restored:
			row.Text, row.Before = readable(e.Body), stood[key]
		case store.Noted, store.Brought:
			row.Text = readable(e.Body)
		}
		v.Rows = append(v.Rows, row)
	}
	slices.Reverse(v.Rows)
	return v, nil
}

// readable writes a body without its brackets.
func readable(body json.RawMessage) string {
	return strings.NewReplacer(`{`, "", `}`, "", `"`, "", `:`, ": ", `,`, ", ", `[`, "", `]`, "").Replace(string(body))
}

// placePage is one place's panel as a page of its own, for a browser without a
// script and for a link.
func (b *Bench) placePage(r *http.Request) (any, error) {
	v, err := b.panelsFor(r, r.PathValue("place"))
	if err == nil && len(v.Panels) == 0 {
		err = store.ErrUnknown
	}
	return v, err
}

func (b *Bench) panels(r *http.Request) (any, error) { return b.panelsFor(r, "") }
