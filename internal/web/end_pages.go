package web

import (
	"context"
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"strings"

	"weephole/cause"
	"weephole/internal/answer"
	"weephole/internal/job"
	"weephole/internal/paper"
	"weephole/internal/store"
	"weephole/internal/web/answers"
	"weephole/internal/work"
	"weephole/proof"
	"weephole/quantity"
)

type sheetList []*work.Sheet

type letterBody = paper.Letter

// endTab is what the pages of a job's end have in common.
type endTab struct {
	Strip       *strip
	ID, Car     string
	Seq         int64
	At          string // which of them
	Archived    bool
	Repair      string // asked for; "" what was done or is suggested
	Repairs     []choice
	Done        []string   // names of the repairs done last
	Changed     []string   // words for what a repair changed
	open        *work.Work // nil where there is a Problem
	Problem     string     // why it cannot be shown
	Working     bool       // it is being worked out
	Waits       answers.Left
	wrongFields      // of the page's own form
	Age         *age // of what is worked out for this page alone; nil where it shows the strip's answer
}

// Doing says what is being worked out.
func (p endTab) Doing() string {
	return map[string]string{
		"plan": "The plan is being worked out.", "proof": "Repaired and unrepaired engines are being run.",
		"drive":  "The engines that still fit are driven.",
		"letter": "The job is worked out as it stood before the repair, and the letter is written.",
	}[p.At]
}

// PageTitle is the title of a page of a job's end.
func (p endTab) PageTitle() string {
	title := map[string]string{"plan": "Plan", "drive": "Drive", "repair": "Repair sheet", "proof": "Proof", "letter": "Letter", "closing": "Closing"}[p.At]
	if p.Car != "" {
		title += ", " + p.Car
	}
	return title
}

// endOf gathers what the pages of a job's end have in common.
func (pg *endPages) endOf(r *http.Request, at string) (endTab, *store.State, answers.JobState, error) {
	s, sub, err := pg.closingRequest(r)
	if err != nil {
		return endTab{}, nil, sub, err
	}
	now, err := pg.currentOf(r.Context(), s)
	if err != nil {
		return endTab{}, nil, sub, err
	}
	top, err := pg.stripOf(r, now, at)
	if err != nil {
		return endTab{}, nil, sub, err
	}
	_, car, _ := store.Headline(s.Head)
	p := endTab{Strip: top, ID: s.ID, Car: car, Seq: s.Seq, At: at, Archived: s.Archived, wrongFields: wrongFields{}, Repair: r.FormValue("repair"), Changed: append(cause.ChangeWords(), job.Unknown)}
	for i := range pg.cfg.Model.Causes.Repairs {
		rep := &pg.cfg.Model.Causes.Repairs[i]
		p.Repairs = append(p.Repairs, choice{rep.ID, rep.Name})
	}
	if p.open, err = pg.cache.Open(r.Context(), sub); err != nil {
		var ps job.Problems
		if !errors.As(err, &ps) {
			return p, s, sub, err
		}
		p.Problem = failureOf(err).Message
		return p, s, sub, nil
	}
	for _, id := range p.open.Repairs {
		p.Done = append(p.Done, pg.cfg.Model.Causes.Repair(id).Name)
	}
	return p, s, sub, nil
}

// showError puts an error that people can mend into the page.
func (p *endTab) showError(err error) error {
	if err == nil {
		return nil
	}
	if f := failureOf(closingError(err)); f.Status == http.StatusUnprocessableEntity {
		if !p.put(f) {
			p.Problem = f.Message
		}
		return nil
	}
	return err
}

// Signed gives each caution the sign and the name of its hazard. One that a repair or a run
// has of its own is signed as a caution and has no name.
func (t endTab) Signed(cautions []string) []cautionView {
	out := make([]cautionView, len(cautions))
	for i, says := range cautions {
		out[i] = cautionView{Hazard: "caution", Says: says}
	}
	if t.open == nil {
		return out
	}
	u := answer.StyleOf(t.open).Units
	for _, h := range t.open.Model.Causes.Hazards {
		// Some pages have put the shop's units into the sentence already.
		for i, says := range cautions {
			if says == h.Caution || says == u.InText(h.Caution) {
				out[i].Hazard, out[i].Name = h.ID, h.Name
			}
		}
	}
	return out
}

type repairPage struct {
	endTab
	Sheets []sheetView
}

// sheetView is a repair's sheet in the shop's units.
type sheetView struct {
	work.Sheet
	Takes    string
	Coolant  []string
	Drained  string
	Filled   string
	Mix      string
	Proposed bool // nothing was done yet: the odds suggest it
}

// LookedUp is how much of the maker's data is written down.
func (v sheetView) LookedUp() (n int) {
	for _, a := range v.Ask {
		if a.Says != "" {
			n++
		}
	}
	return n
}

func (pg *endPages) repairPage(r *http.Request) (any, error) {
	base, _, sub, err := pg.endOf(r, "repair")
	if err != nil {
		return nil, err
	}
	p := repairPage{endTab: base}
	list, err := pg.sheets(r.Context(), sub)
	if err := p.showError(err); err != nil {
		return nil, err
	}
	for _, sheet := range list {
		v := viewOf(sheet, answer.StyleOf(base.open))
		v.Proposed = base.Repair == "" && len(base.Done) == 0
		p.Sheets = append(p.Sheets, v)
	}
	if p.Repair == "" && len(list) > 0 {
		p.Repair = list[len(list)-1].Repair
	}
	return p, nil
}

func viewOf(sheet *work.Sheet, s answer.Style) sheetView {
	u := s.Units
	v := sheetView{Sheet: *sheet}
	in := func(list []string) []string {
		out := make([]string, len(list))
		for i, text := range list {
			out[i] = u.InText(text)
		}
		return out
	}
	v.How, v.Cautions, v.Order, v.Look = u.InText(v.How), in(v.Cautions), in(v.Order), in(v.Look)
	for _, list := range []*[]work.Bleeding{&v.Bleed, &v.Thermostat} {
		*list = append([]work.Bleeding(nil), *list...)
		for i := range *list {
			(*list)[i].Order = in((*list)[i].Order)
		}
	}
	v.Takes = fmt.Sprintf("Usually %s to %s, most often %s.", answer.Time(v.Minutes[0]), answer.Time(v.Minutes[2]), answer.Time(v.Minutes[1]))
	if v.Parts[2] > 0 {
		v.Takes += fmt.Sprintf(" Parts %s to %s.", answer.Money(v.Parts[0], s.Currency), answer.Money(v.Parts[2], s.Currency))
	}
	if len(v.Tools) > 0 {
		v.Takes += " Tools: " + strings.Join(v.Tools, ", ") + "."
	}
	volume := func(x *float64) string {
		if x == nil {
			return ""
		}
		return u.Volume(quantity.Volume(*x))
	}
	v.Drained, v.Filled = volume(v.Used.DrainedM3), volume(v.Used.FilledM3)
	if v.Used.Mix != nil {
		v.Mix = u.Share(quantity.Share(*v.Used.Mix))
	}
	for _, part := range paper.Parts(sheet, s) {
		if part.Kind == paper.SheetCoolant {
			for _, item := range part.Items {
				v.Coolant = append(v.Coolant, item.Text)
			}
		}
	}
	return v
}

// proofWide is the width of the proof's chart, CSS px: it stands beside what it shows, and
// its letters are not drawn smaller there. Judgement.
const proofWide = 720

type proofPage struct {
	endTab
	Proof   *answers.ProofReply
	Chart   template.HTML
	Narrow  template.HTML // for a phone
	Verdict string        // in a few words
	Said    []string      // what the proof says, but for the looks
	Looks   []proofLook   // the one that rules out most first
	Logs    []choice      // checks that a log after the repair counts as
}

// proofLook is a look that the proof asks for, and where it is entered.
type proofLook struct {
	proof.CheckPower
	Job, Place string // on the drawing
}

// looksFirst is how many looks a phone shows without a tap: judgement.
const looksFirst = 3

// First are the looks that are worth most.
func (p proofPage) First() []proofLook { return p.Looks[:min(len(p.Looks), looksFirst)] }

// Further are the others.
func (p proofPage) Further() []proofLook { return p.Looks[min(len(p.Looks), looksFirst):] }

// Settled is true where another run is not what is missing.
func (p proofPage) Settled() bool {
	return p.Proof != nil && p.Proof.Judgement != nil && p.Proof.Judgement.AsFarAsSeen() == proof.Proven
}

func (pg *endPages) proofPage(r *http.Request) (any, error) {
	base, _, sub, err := pg.endOf(r, "proof")
	if err != nil {
		return nil, err
	}
	pg.asSuggested(r.Context(), &sub, base.open)
	p := proofPage{endTab: base, Logs: []choice{{"warm-up-log", "a warm-up from cold"}, {"drive-log", "a drive, warm"}}}
	if p.Problem != "" {
		return p, nil
	}
	got, there, err := pg.cache.ProofNow(sub)
	if r.FormValue("wait") != "" && !there {
		ctx, cancel := context.WithTimeout(r.Context(), longestWait)
		defer cancel()
		got, err = pg.cache.Proof(ctx, sub)
		there = true
	}
	if err := p.showError(err); err != nil {
		return nil, err
	}
	p.Waits = pg.cache.ProofLeft(sub)
	if p.Working = !there; got == nil {
		return p, nil
	}
	p.Proof, p.Verdict, p.Age = got, got.Short(), pg.aged(got.Made).unlike(base.Strip.Age)
	for _, l := range got.Lines {
		if l.Kind != answer.Checks {
			p.Said = append(p.Said, l.Text)
		}
	}
	if got.Plan != nil {
		for _, c := range got.Plan.Checks {
			p.Looks = append(p.Looks, proofLook{c, base.ID, pg.cfg.Model.Checks.Check(c.Check).Place})
		}
	}
	if got.Chart != nil {
		c := *got.Chart
		c.Width, c.Height, c.Lettering = proofWide, 340, deskText
		p.Chart = template.HTML(c.SVG()) // our own drawing, its texts escaped there
		c.Width, c.Height, c.Lettering = narrowWide, 300, narrowText
		p.Narrow = template.HTML(c.SVG())
	}
	return p, nil
}

type letterPage struct {
	endTab
	Letter   *paper.Letter
	Logo     *paper.Logo // nil: none
	Sections []sectionView
}

type sectionView struct {
	paper.Section
	Picture template.HTML
	Narrow  template.HTML // for a phone
	Desc    string
}

func (pg *endPages) letterPage(r *http.Request) (any, error) {
	base, _, sub, err := pg.endOf(r, "letter")
	if err != nil {
		return nil, err
	}
	p := letterPage{endTab: base}
	if p.Problem != "" {
		return p, nil
	}
	got, there, err := pg.cache.LetterNow(sub)
	if r.FormValue("wait") != "" && !there {
		ctx, cancel := context.WithTimeout(r.Context(), longestWait)
		defer cancel()
		got, err = pg.cache.Letter(ctx, sub)
		there = true
	}
	if err := p.showError(err); err != nil {
		return nil, err
	}
	p.Waits = pg.cache.LetterLeft(sub)
	if p.Working = !there; got == nil {
		return p, nil
	}
	if p.Logo, err = pg.logo(r.Context()); err != nil {
		return nil, err
	}
	p.Letter, p.Age = got.Letter, pg.aged(got.Made).unlike(base.Strip.Age)
	for _, s := range got.Sections {
		v := sectionView{Section: s}
		if s.Chart != nil {
			v.Picture, v.Desc = template.HTML(s.Chart.SVG()), s.Chart.Desc // our own drawing, its texts escaped there
			c := *s.Chart
			c.Width, c.Height, c.Lettering = narrowWide, 300, narrowText
			v.Narrow = template.HTML(c.SVG())
		}
		p.Sections = append(p.Sections, v)
	}
	return p, nil
}

// suggested is the repair that the answer at hand suggests, "" when it suggests
// none: the one that is to be done next, or the usual one of the likeliest cause.
func (dg *diagnosis) suggested(ctx context.Context, id string) string {
	a, err := dg.answer(ctx, id)
	if err != nil || a == nil {
		return ""
	}
	if a.Next != nil && len(a.Next.Steps) > 0 && a.Next.Steps[0].Kind == "repair" {
		return a.Next.Steps[0].Do
	}
	if a.Odds == nil || len(a.Odds.Causes) == 0 {
		return ""
	}
	top, site := &a.Odds.Causes[0], ""
	if len(top.Sites) > 0 {
		site = top.Sites[0].Site
	}
	return work.UsualRepair(dg.cfg.Model.Causes, top.Cause, site)
}
