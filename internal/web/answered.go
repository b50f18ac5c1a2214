package web

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"strconv"
	"time"

	"weephole/check"
	"weephole/internal/answer"
	"weephole/internal/job"
	"weephole/internal/store"
	"weephole/internal/web/answers"
	"weephole/quantity"
)

// Answered is what a place answers to a finding: what was found, what a healthy
// engine would show there now, and what the leading causes would.
type Answered struct {
	Finding string        `json:"finding"`
	Check   string        `json:"check"`
	Name    string        `json:"name"`
	Knows   int64         `json:"knows"` // seq of the newest entry that the answer takes into account
	Rows    []AnsweredRow `json:"rows"`
	// Says is what cannot be said, and why; "" when there is nothing to excuse.
	Says string `json:"says,omitempty"`
}

// AnsweredRow is the answer to one reading or to the word.
type AnsweredRow struct {
	What string `json:"what"` // the reading's name; "" for the word
	Read string `json:"read"` // as it was entered
	// Beside puts it beside a healthy engine in words; "" when that is not known.
	Beside  string              `json:"beside,omitempty"`
	Healthy *answer.ShownFacts  `json:"healthy,omitempty"`
	Leading []answer.ShownFacts `json:"leading"`

	value   float64 // SI, temperatures in degC; NaN for a word
	healthy span
	leading []span
	at      string // where the reading is on the strips
}

// span is a range on a line, in per cent of its length.
type span struct{ From, Width string }

// soonEnough is how long a page waits for an answer that knows its entry before
// it answers with the one before: judgement; it usually takes a tenth of that.
const soonEnough = 3 * time.Second

func (ap *findingsAPI) getAnswered(_ http.ResponseWriter, r *http.Request) (any, error) {
	return ap.answeredTo(r, longestWait)
}

// answeredTo answers a finding; it waits so long for the engines that still fit.
func (ap *findingsAPI) answeredTo(r *http.Request, wait time.Duration) (*Answered, error) {
	ctx, id := r.Context(), r.PathValue("id")
	s, err := ap.state(ctx, id)
	if err != nil {
		return nil, err
	}
	f := s.Finding(r.PathValue("finding"))
	if f == nil {
		return nil, store.ErrUnknown
	}
	if err := ap.evaluate(ctx, s); err != nil {
		return nil, err
	}
	var a *answers.Answer
	waiting, cancel := context.WithTimeout(ctx, wait)
	defer cancel()
	if a, err = ap.warm.Planned(waiting, id, f.Seq); err != nil {
		if a, err = ap.answer(ctx, id); err != nil {
			return nil, err
		}
	}
	now, err := ap.currentOf(ctx, s)
	if err != nil {
		return nil, err
	}
	return ap.beside(f, a, now.units())
}

// beside puts a finding beside what an answer expects.
func (ap *findingsAPI) beside(f *store.Finding, a *answers.Answer, u quantity.Units) (*Answered, error) {
	found, err := job.ReadFinding(f.Body, job.Shop{}, ap.words)
	if err != nil {
		return nil, err
	}
	out := &Answered{Finding: f.ID, Check: found.Check, Rows: []AnsweredRow{}}
	if a != nil {
		out.Knows = a.Seq
	}
	k := ap.cfg.Model.Checks.Check(found.Check)
	switch {
	case k == nil:
		if rep := ap.cfg.Model.Causes.Repair(found.Repair); rep != nil {
			out.Name = rep.Name
		}
		out.Says = "A repair counts with everything else; it has no reading to compare."
		return out, nil
	case found.Trace != "":
		out.Says = "A log is judged as a whole: its chart stands below the drawing, with the band of the engines that still fit."
	}
	out.Name = k.NameMade()
	if a == nil || a.Problem != "" || len(a.Expected) == 0 {
		out.Says = "What a healthy engine would show here is not known yet: the engines are still being run."
		if a != nil && a.Problem != "" {
			out.Says = "What a healthy engine would show here cannot be said, because the job cannot be worked out: " + a.Problem
		}
		a = &answers.Answer{}
	}
	for _, rd := range found.Read {
		if m := reading(k, rd.ID); m != nil && rd.Known() {
			row := AnsweredRow{What: m.Name, Read: rd.Text, value: rd.Value}
			row.expect(a.Expected, k.ID, rd.ID, "")
			row.inUnits(asTyped(rd.Text, u), m.What)
			out.Rows = append(out.Rows, row)
		}
	}
	if w := k.WordIndex(found.Found); w >= 0 {
		row := AnsweredRow{Read: k.Words[w].Says, value: math.NaN()}
		row.expect(a.Expected, k.ID, "", found.Found)
		out.Rows = append(out.Rows, row)
	}
	if out.Says == "" {
		out.Says = out.whyNothing(f.Seq)
	}
	return out, nil
}

func reading(k *check.Check, id string) *check.ReadingModel {
	for i := range k.Readings {
		if k.Readings[i].ID == id {
			return &k.Readings[i]
		}
	}
	return nil
}

// expect takes from what is expected what belongs to the row.
func (row *AnsweredRow) expect(all []answer.ExpectedFacts, check, reading, word string) {
	row.Leading = []answer.ShownFacts{}
	for i := range all {
		e := &all[i]
		if e.Check == check && e.Reading == reading && e.Word == word {
			row.Healthy, row.Leading = e.Healthy, e.Leading
		}
	}
	if math.IsNaN(row.value) {
		return
	}
	if row.Healthy != nil {
		row.Beside = besideHealthy(row.value, row.Healthy)
	}
	row.scale()
}

// inUnits says the row's ranges in the units in which the reading was typed.
func (row *AnsweredRow) inUnits(u quantity.Units, kind string) {
	say := func(x answer.ShownFacts) answer.ShownFacts {
		x.Says = answer.Span(u, kind, [2]float64{x.Low, x.High})
		return x
	}
	if row.Healthy != nil {
		h := say(*row.Healthy)
		row.Healthy = &h
	}
	leading := make([]answer.ShownFacts, len(row.Leading))
	for i := range row.Leading {
		leading[i] = say(row.Leading[i])
	}
	row.Leading = leading
}

// besideHealthy says how a reading lies to a healthy engine's, whose range is
// one standard deviation either way. Two of them: the edge. Judgement.
func besideHealthy(v float64, h *answer.ShownFacts) string {
	middle, half := (h.Low+h.High)/2, (h.High-h.Low)/2
	way := "higher"
	if v < middle {
		way = "lower"
	}
	switch d := math.Abs(v - middle); {
	case d <= half:
		return "as on a healthy engine"
	case d <= 2*half:
		return way + " than most healthy engines, but not by much"
	default:
		return way + " than a healthy engine would be"
	}
}

// scale lays the ranges and the reading on one line.
func (row *AnsweredRow) scale() {
	low, high := row.value, row.value
	all := row.Leading
	if row.Healthy != nil {
		all = append([]answer.ShownFacts{*row.Healthy}, all...)
	}
	for _, s := range all {
		low, high = min(low, s.Low), max(high, s.High)
	}
	if high <= low {
		return
	}
	const margin = 0.04 // of the line at either end, so that nothing sticks to it
	wide := (high - low) / (1 - 2*margin)
	at := func(v float64) float64 { return 100 * (margin + (v-low)/wide) }
	lay := func(s answer.ShownFacts) span {
		return span{fmt.Sprintf("%.1f%%", at(s.Low)), fmt.Sprintf("%.1f%%", max(0.5, at(s.High)-at(s.Low)))}
	}
	row.at = strconv.FormatFloat(at(row.value), 'f', 1, 64) + "%"
	if row.Healthy != nil {
		row.healthy = lay(*row.Healthy)
	}
	for _, s := range row.Leading {
		row.leading = append(row.leading, lay(s))
	}
}

// whyNothing says plainly what could not be said.
func (a *Answered) whyNothing(seq int64) string {
	var healthy, leading int
	for _, row := range a.Rows {
		if row.Healthy == nil {
			healthy++
		}
		if len(row.Leading) == 0 {
			leading++
		}
	}
	switch {
	case len(a.Rows) == 0:
		return "There is nothing to compare in this entry."
	case healthy > 0:
		return "What a healthy engine would show here is not known: too few of the simulated ones get into this state."
	case leading > 0:
		return "What the leading causes would show here is not known: too few of the simulated engines get into this state."
	case a.Knows < seq:
		return "The causes are those from before this entry; the new ones are still being worked out."
	}
	return ""
}

// At is where the reading is on the strips; "" where there are none.
func (row AnsweredRow) At() string { return row.at }

// Lines are the row's strips as the page draws them.
func (row AnsweredRow) Lines() (out []answeredLine) {
	one := func(name string, s answer.ShownFacts, i int, all []span) {
		l := answeredLine{Name: name, Says: s.Says}
		if i < len(all) {
			l.span = all[i]
		}
		out = append(out, l)
	}
	if row.Healthy != nil {
		one("A healthy engine", *row.Healthy, 0, []span{row.healthy})
	}
	for i, s := range row.Leading {
		one("With "+answer.Article(s.Name), s, i, row.leading)
	}
	return out
}

type answeredLine struct {
	Name, Says string
	span
}

type answeredPage struct {
	*Answered
	Strip     *strip
	ID, Place string
}

// HasRanges is whether there is a reading among the rows.
func (a *Answered) HasRanges() bool {
	for _, row := range a.Rows {
		if row.at != "" {
			return true
		}
	}
	return false
}

// HasCounts is whether there is a word with something to count among the rows.
func (a *Answered) HasCounts() bool {
	for _, row := range a.Rows {
		if math.IsNaN(row.value) && (row.Healthy != nil || len(row.Leading) > 0) {
			return true
		}
	}
	return false
}

// PageTitle is the title of the answer's own page.
func (p answeredPage) PageTitle() string { return "Found: " + p.Name }

// answeredPage is the answer as a page of its own and as a part of the place.
func (pg *jobPages) answeredPage(r *http.Request) (any, error) {
	a, err := pg.api.findings.answeredTo(r, soonEnough)
	if err != nil {
		return nil, err
	}
	s, err := pg.state(r.Context(), r.PathValue("id"))
	if err != nil {
		return nil, err
	}
	top, err := pg.stripFor(r, s)
	return answeredPage{a, top, s.ID, pg.placeOf(a.Check)}, err
}
