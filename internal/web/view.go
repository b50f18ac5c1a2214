package web

import (
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strings"
	"time"

	"weephole/internal/answer"
	"weephole/internal/store"
	"weephole/internal/web/answers"
	"weephole/internal/web/drawing"
	"weephole/plan"
	"weephole/quantity"
)

// jobView is everything the page of a job shows.
type jobView struct {
	Strip              *strip
	ID, Car, Complaint string
	Signs              []string
	Seq                int64
	Archived, Demo     bool
	Drawing            template.HTML
	Before             template.HTML // the drawing before the repair; "" where none was done
	Answer             *answers.Answer
	Stale              bool // the answer does not know the newest entry yet
	Causes             []causeView
	More               int // causes that are not shown
	Step               *stepView
	Others             []answer.Step
	Quote              *answer.QuoteFacts
	Bars               []moneyBar
	Margin             template.HTML // picture of how much cooling is left; "" while it is not known
	MarginSays         []answer.Line // the sentences under it
	Rough              bool          // a finer answer follows
	Fold               string        // what the causes that are not shown are less likely than
	Tried              string        // id of the repair that is next or suggested
	Currency           string
	Findings           []findingView
	Struck             int
	Notes              []store.Note
	Photos, Sounds     []store.File
	Traces             []traceView
	Cap                *capWait
	HotUnit            string      // the shop's unit of temperature
	HotCoolant         string      // an engine at its usual heat, in the shop's units
	Done               []string    // names of the repairs done last
	Story              []storyLine // of a closed job
	Seen               bool        // something was found after them
}

// NamesNone tells that the next step is not shown yet: it is a repair, and a rough count
// names no part.
func (v *jobView) NamesNone() bool { return v.Rough && v.Step != nil && v.Step.Kind == "repair" }

// hotCoolant is an example of what the coolant reads when a hot engine has just
// been switched off, °C; judgement.
const hotCoolant quantity.Temperature = 98

// PageTitle is the title of the job's page.
func (v *jobView) PageTitle() string {
	if v.Car != "" {
		return v.Car
	}
	return "Job"
}

type causeView struct {
	answer.Cause
	Open bool
}

// moneyBar is one of the bills that a quote is set beside.
type moneyBar struct {
	Name, Amount, Width string
	Ours                bool
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

// beside says what has changed its column, so that all end together. Margin and Quote
// stand in the column of few findings. Beside many Why leaves it, and Quote takes its place.
type beside struct{ Margin, Quote, Why bool }

// Up to so many findings, margin and quote fill the findings' column, and the reasons are
// kept in it. A log is as high as some findings and stands in the other one. Judgement,
// from the columns' lengths on three screens (TestTheColumnsOfTheJobEndTogether). It is
// settled when the page is opened: while somebody works on it nothing changes its column.
const (
	quoteBeside  = 1
	whyKept      = 8
	marginBeside = 16
	findingsHigh = 4
)

// Beside is what has changed its column.
func (v *jobView) Beside() beside {
	long := len(v.Findings) - findingsHigh*len(v.Traces)
	return beside{Margin: long <= marginBeside, Quote: long <= quoteBeside || long > whyKept, Why: long > whyKept}
}

// jobPage gathers a job's page from the disk. It works out nothing and waits for
// nothing; it only asks for an answer where the answer kept is old.
func (pg *jobPages) jobPage(r *http.Request) (any, error) {
	ctx, id := r.Context(), r.PathValue("id")
	s, err := pg.current(ctx, id)
	if err != nil {
		return nil, err
	}
	sum, err := pg.store.Job(ctx, id)
	if err != nil {
		return nil, err
	}
	files, err := pg.store.Files(ctx, id)
	if err != nil {
		return nil, err
	}
	a, err := pg.answer(ctx, id)
	if err != nil {
		return nil, err
	}
	pg.evaluateAfterPaint(s.State)
	v := &jobView{
		ID: id, Car: sum.Car, Complaint: sum.Complaint, Seq: s.Seq, Archived: s.Archived, Demo: sum.Demo,
		Answer: a, Stale: a == nil || a.Seq < evidenceSeq(s.State), Cap: capWaitOf(s.State, pg.cfg.Now()), Notes: s.Notes,
	}
	v.Signs = s.Head.Complaint.Signs
	v.HotUnit = s.units().TemperatureIn
	v.HotCoolant = s.units().Temperature(hotCoolant)
	if v.Strip, err = pg.stripOf(r, s, "job"); err != nil {
		return nil, err
	}
	v.repairs(&pg.wording, s)
	v.answers(s.units())
	v.Rough = a != nil && (pg.rough(a) || v.Stale)
	if v.Stale && len(v.Done) > 0 { // they are of the car before its repair
		v.Margin, v.MarginSays, v.Quote, v.Bars = "", nil, nil, nil
	}
	v.Tried = pg.suggested(ctx, id)
	v.findings(&pg.wording, s)
	for _, f := range files {
		if strings.HasPrefix(f.Type, "image/") {
			v.Photos = append(v.Photos, f)
		}
		if strings.HasPrefix(f.Type, "audio/") {
			v.Sounds = append(v.Sounds, f)
		}
	}
	v.Traces = pg.traces(r, s, files, a)
	if s.Archived {
		v.Story = pg.story(s, v.Strip, v.Done)
	}
	if v.Step != nil {
		v.Step.Place = pg.placeOf(v.Step.Do)
	}
	place := func(place string) string { return "/jobs/" + id + "/places/" + place }
	now, before := v.marks(&pg.wording, s)
	if before != nil {
		v.Before = drawing.Small(carOf(s, before), before.at, place, "before")
	}
	v.Drawing, err = drawing.SVG(carOf(s, now), now.at, place)
	return v, err
}

// carOf is what the drawing shows of a car, and of what was found on it.
func carOf(s *currentJob, m *marks) drawing.CarView {
	car := &s.Head.Vehicle
	return drawing.CarView{
		Inlet: car.Thermostat.Sits == "inlet", Fan: car.Fan.Kind, Fans: car.Fan.Count, Cylinders: car.Cylinders, Pump: car.Pump, Tank: car.Tank, Radiator: car.Radiator,
		Flow: m.flow, Heater: m.heats, Air: m.air, Level: m.level, US: s.units().TemperatureIn == "°F",
	}
}

// paintFirst is how long a page that was asked for is left to be painted before
// its job is worked out, where both are done by the same machine: judgement.
const paintFirst = 200 * time.Millisecond

// evaluateAfterPaint has a job worked out when its page has been painted. It is asked even
// when the answer is new: the lineup is then warm for the next finding. An answer
// of the same seq is not made twice.
func (dg *diagnosis) evaluateAfterPaint(s *store.State) {
	dg.behind(func() {
		select {
		case <-time.After(paintFirst):
		case <-dg.life.Done():
			return
		}
		if !dg.mine(dg.life, s) {
			return // another bench is at it; its answer is told and kept, or this one looks after it
		}
		if err := dg.evaluate(dg.life, s); err != nil && dg.life.Err() == nil {
			dg.cfg.Log.Warn("a job could not be worked out", "job", s.ID, "error", err)
		}
	})
}

// answers lays the answer out.
func (v *jobView) answers(units quantity.Units) {
	a := v.Answer
	if a == nil {
		return
	}
	if a.Odds != nil {
		for i, c := range a.Odds.Causes {
			if i >= causesShown || i > 0 && c.Probability < foldBelow {
				v.More = folded(a.Odds)
				break
			}
			v.Causes = append(v.Causes, causeView{c, i == 0})
		}
		v.Fold = answer.Percent(foldBelow)
	}
	if m := a.Margin; m != nil {
		// Our own drawing, its texts escaped there.
		v.Margin = template.HTML(answer.MarginPicture(m.CarMargin, units).SVG())
		v.MarginSays = append(slices.Clone(m.Warnings), m.Lines...)
	}
	if a.Next != nil {
		v.Quote, v.Currency = a.Next.Quote, a.Next.Currency
		v.bars()
		if len(a.Next.Steps) > 0 {
			v.Step = &stepView{Step: a.Next.Steps[0]}
			v.Others = a.Next.Steps[1:min(len(a.Next.Steps), 1+othersShown)]
		}
	}
}

// bars sets the quote beside what the same takes here, and beside the plan.
func (v *jobView) bars() {
	q := v.Quote
	if q == nil {
		return
	}
	most := max(q.Price, q.Here, q.ByPlan, 1)
	bar := func(name string, x float64, ours bool) {
		if x > 0 {
			v.Bars = append(v.Bars, moneyBar{name, answer.Money(x, v.Currency), fmt.Sprintf("%.1f%%", 100*x/most), ours})
		}
	}
	bar("Quoted", q.Price, false)
	bar("The same, done here", q.Here, false)
	if len(v.Done) == 0 { // after a repair the plan's cost is that of the rest
		bar("Looking first, on average", q.ByPlan, true)
	}
}

// Why is what the plan says of its first step besides the cautions, the step
// itself and what each result would do, which stand on the page already.
func (v *jobView) Why() []string {
	if v.Step == nil {
		return nil
	}
	return answer.Texts(v.Answer.Next.Lines, answer.Caution, answer.Doing, answer.Lacking, answer.Support, answer.Withheld, answer.AskOwner, answer.Result)
}

// askedView is a question to the owner that the next step asks.
type askedView struct{ Sign, Asks string }

// Asked are the questions of the next step, the further ones of the same call among them.
func (v *jobView) Asked() (list []askedView) {
	if v.Step == nil || plan.Asks(v.Step.Do) == "" {
		return nil
	}
	if r := v.Answer.Next.Round; r != nil {
		for _, q := range r.Questions {
			list = append(list, askedView{plan.Asks(q.Do), q.Asks})
		}
		return list
	}
	return []askedView{{plan.Asks(v.Step.Do), v.Step.Asks}}
}

// Money prints an amount of the answer.
func (v *jobView) Money(x float64) string { return answer.Money(x, v.Currency) }

// placeOf is where a check is made, "" for anything else.
func (wo *wording) placeOf(check string) string {
	if k := wo.model.Checks.Check(check); k != nil {
		return k.Place
	}
	return ""
}

// placePage is one place's panel as a page of its own, for a browser without a
// script and for a link.
func (pg *jobPages) placePage(r *http.Request) (any, error) {
	v, err := pg.panelsFor(r, r.PathValue("place"))
	if err != nil {
		return nil, err
	}
	if len(v.Panels) == 0 {
		return nil, store.ErrUnknown
	}
	s, err := pg.current(r.Context(), v.ID)
	if err != nil {
		return nil, err
	}
	v.Was = pg.historyAt(s.Entries, r.PathValue("place"))
	v.Strip, err = pg.stripOf(r, s, "")
	return v, err
}

func (pg *jobPages) panels(r *http.Request) (any, error) { return pg.panelsFor(r, "") }
