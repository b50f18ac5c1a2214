package web

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"weephole/internal/store"
	"weephole/internal/web/answers"
)

type jobListPage struct {
	Jobs     []jobRow
	Words    string
	Archived bool
	Several  bool   // whoever looks belongs to several shops
	All      bool   // the jobs of all of them are shown
	HasDemo  bool   // demo jobs are there
	Offers   int    // demo jobs that could be opened
	Earlier  string // address of the page with the jobs changed later, "" on the first
	Later    string // of the next page
}

// jobRow is a job in the list, with the words of its columns.
type jobRow struct {
	store.Summary
	In               string // the shop, in a list of several
	Away             bool   // it is another than that in which the device works
	Is, Beside, Next string // Beside stands at the column's edge: per cent, or what is proven
	Age              *age
}

// Rough is true of a first count that a finer one follows.
func (r jobRow) Rough() bool { return r.Verdict.State == store.VerdictRough }

func rowOf(j store.Summary) jobRow {
	v := &j.Verdict
	row := jobRow{Summary: j, Beside: v.Percent, Next: v.Next}
	switch v.State {
	case store.VerdictProblem:
		row.Is = "Cannot be worked out: " + v.Says
	case store.VerdictRough:
		row.Is = "First, rough count"
	case store.VerdictSettled:
		row.Is = v.Name
	case store.VerdictNothingFits:
		row.Is = v.Says
	case store.VerdictRepaired:
		row.Is, row.Next = strings.Join(v.Repairs, ", ")+": done", seeIfItHolds
		if j.Archived && v.Name != "" {
			row.Is = "It was: " + v.Name
		}
		switch v.Proof {
		case store.ProofWhole:
			row.Beside, row.Next = "proven", closeIt
		case store.ProofAsSeen:
			row.Beside, row.Next = "proven, as far as seen", closeIt
		case store.ProofFailed:
			row.Beside, row.Next = "not proven", lookAgain
		}
	}
	if j.Archived {
		row.Next = "" // nothing is next in a closed job
	}
	return row
}

// jobList shows the jobs in hand.
func (pg *pages) jobList(r *http.Request) (any, error) {
	q := pg.query(r)
	p := jobListPage{Words: q.Words, Archived: q.Archived, Offers: len(pg.cfg.Demo)}
	shops, err := pg.guard.house.shopsOf(r)
	if err != nil {
		return nil, err
	}
	p.Several, p.All = len(shops) > 1, len(shops) > 1 && r.FormValue("shops") == "all"
	list, err := pg.guard.house.jobsOf(r, &pg.jobs.shopRecord, q)
	for _, j := range list {
		row := rowOf(j)
		for _, m := range shops {
			if m.Shop.ID == j.Shop {
				row.In, row.Away = named(m.Shop), m.Shop.ID != pg.ofShop()
			}
		}
		row.Age = pg.aged(answers.Origin{Seq: j.Seq, At: j.Verdict.Made})
		p.Jobs = append(p.Jobs, row)
	}
	at := func(from int) string {
		v := url.Values{"from": {strconv.Itoa(from)}}
		if q.Words != "" {
			v.Set("q", q.Words)
		}
		if q.Archived {
			v.Set("archived", "true")
		}
		if p.All {
			v.Set("shops", "all")
		}
		return "/?" + v.Encode()
	}
	if q.From > 0 {
		p.Earlier = at(max(0, q.From-jobsOnPage))
	}
	if len(p.Jobs) == jobsOnPage {
		p.Later = at(q.From + jobsOnPage)
	}
	for _, j := range p.Jobs {
		p.HasDemo = p.HasDemo || j.Demo
	}
	return p, err
}
