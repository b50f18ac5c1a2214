package web

import (
	"fmt"
	"net/http"

	"weephole/cause"
	"weephole/internal/job"
	"weephole/internal/tally"
	"weephole/internal/web/answers"
	"weephole/internal/work"
)

type closingPage struct {
	endTab
	Closing job.Closing
	Causes  []choice
	Likely  string // id of the cause that the repair done is for, or that the odds name first
	Done    bool   // a repair was done
	Tally   bool   // the bench keeps one
	Counted bool
	Told    string // what came of counting it
	Story   []storyLine
}

func (pg *endPages) closingPage(r *http.Request) (any, error) {
	base, s, _, err := pg.endOf(r, "closing")
	if err != nil {
		return nil, err
	}
	p := closingPage{endTab: base, Tally: pg.cfg.Tally != nil}
	for i := range pg.cfg.Model.Causes.Causes {
		c := &pg.cfg.Model.Causes.Causes[i]
		p.Causes = append(p.Causes, choice{c.ID, c.Name})
	}
	if p.open != nil {
		p.Closing, p.Done = p.open.Job.Closing, len(repairsOf(p.open)) > 0
	}
	now, err := pg.currentOf(r.Context(), s)
	if err != nil {
		return nil, err
	}
	p.Story = pg.story(now, base.Strip, base.Done)
	if p.Closing.Cause == "" {
		if a, err := pg.answer(r.Context(), s.ID); err == nil && a != nil && a.Odds != nil {
			p.Likely = pg.likely(a, repairsOf(p.open))
		}
	}
	for _, n := range s.Notes {
		if n.Who == "the bench" {
			p.Told = n.Text
		}
	}
	t, err := pg.tallies.ledger()
	if err != nil {
		return nil, err
	}
	for _, e := range t.Standing() {
		p.Counted = p.Counted || e.Job == s.ID
	}
	return p, nil
}

// likely is the cause that the job was probably about. Once a repair was done it is one
// that this repair cures, for the odds after it are of the car as it is now; of several,
// the one that the odds hold likeliest.
func (pg *endPages) likely(a *answers.Answer, repairs []string) string {
	cures := func(index int) bool {
		for _, id := range repairs {
			if rep := pg.cfg.Model.Causes.Repair(id); rep.CureShare(cause.Present{Cause: index, Site: cause.NoSite}) >= mostlyCures {
				return true
			}
		}
		return len(repairs) == 0
	}
	for _, c := range a.Odds.Causes {
		if index := pg.cfg.Model.Causes.Index(c.Cause); index != pg.cfg.Model.Causes.NoFault() && index >= 0 && cures(index) {
			return c.Cause
		}
	}
	return ""
}

// mostlyCures is how often a repair must cure a cause to be taken as done for it:
// judgement.
const mostlyCures = 0.5

type tallyPage struct {
	TallyReply
	Rows      []tallyRow
	CauseRows []choice // how many, and of what
	CheckRows []trustRow
	Group     *GroupTallyReply // nil where the store holds one shop
}

type tallyRow struct {
	ID, Key, Car, Cause, When string // ID is "" where the job was counted from a file
}

type trustRow struct {
	Name string
	tally.Trust
}

// tallyPage shows what closed jobs have taught.
func (pg *endPages) tallyPage(r *http.Request) (any, error) {
	out, err := pg.api.tally.getTally(nil, r)
	if err != nil {
		return nil, err
	}
	p := tallyPage{TallyReply: out.(TallyReply)}
	if identityOf(r).Group {
		if p.Group, err = pg.api.shops.groupTally(r.Context()); err != nil {
			return nil, err
		}
	}
	for _, e := range p.Jobs {
		row := tallyRow{ID: e.Job, Key: e.Job, Car: e.Job, When: e.When}
		if j, err := pg.store.Job(r.Context(), e.Job); err == nil {
			row.Car = j.Car
		} else {
			row.ID = ""
		}
		if len(e.Causes) > 0 {
			row.Cause = pg.causeName(e.Causes[0])
		}
		p.Rows = append(p.Rows, row)
	}
	for _, c := range p.Counts {
		p.CauseRows = append(p.CauseRows, choice{fmt.Sprint(c.Closed), pg.causeName(c.Cause)})
	}
	for _, t := range p.Trusts {
		row := trustRow{t.Check, t}
		if k := pg.cfg.Model.Checks.Check(t.Check); k != nil {
			row.Name = k.NameMade()
		}
		p.CheckRows = append(p.CheckRows, row)
	}
	return p, nil
}

// causeName is a cause in words.
func (wo *wording) causeName(id string) string {
	if i := wo.model.Causes.Index(id); i >= 0 {
		return wo.model.Causes.Causes[i].Name
	}
	return id
}

// repairsOf are the repairs done last in a job; none where it cannot be read.
func repairsOf(w *work.Work) []string {
	if w == nil {
		return nil
	}
	return w.Repairs
}
