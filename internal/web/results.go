package web

import (
	"bytes"
	"context"
	"encoding/csv"
	"math"
	"net/http"
	"sort"
	"strconv"
	"strings"
	"sync"

	"weephole/internal/job"
	"weephole/internal/store"
)

// ResultsReply is what a shop's, or an owner's shops', closed jobs came to.
type ResultsReply struct {
	Rows []ResultRow `json:"rows"`
	// Cut: only the jobs that changed last were looked at.
	Cut bool `json:"cut"`
}

// ResultRow is the jobs of one shop that were closed in one month with one cause.
type ResultRow struct {
	Shop      string  `json:"shop"`
	Month     string  `json:"month"` // 2031-05
	Cause     string  `json:"cause"` // "" not written down
	Name      string  `json:"name"`
	Jobs      int     `json:"jobs"`
	Minutes   float64 `json:"minutes"`  // of work written down, on average of the jobs that say
	Quoted    int     `json:"quoted"`   // that came with a quote
	Refuted   int     `json:"refuted"`  // whose quote presumed another cause
	Saved     float64 `json:"saved"`    // quotes less what was charged, of those; where both are known
	Currency  string  `json:"currency"` // of Saved
	Comebacks int     `json:"comebacks"`
}

// mostResults is how many closed jobs of a shop are looked at: judgement, some years
// of a busy shop.
const mostResults = 5000

// result is one closed job.
type result struct {
	seq           int64
	month, cause  string
	minutes       float64
	quoted, wrong bool
	saved         float64
	currency      string
	comebacks     int
}

// results keeps what was made out of closed jobs, so that a page reads only those
// that have changed.
type results struct {
	mu   sync.Mutex
	kept map[string]result
}

// closedJobs reads what a shop's closed jobs came to.
func (jn *journal) closedJobs(ctx context.Context) (list []result, cut bool, err error) {
	all, err := jn.store.Jobs(ctx, store.Query{Archived: true, Limit: mostResults + 1})
	if err != nil {
		return nil, false, err
	}
	if cut = len(all) > mostResults; cut {
		all = all[:mostResults]
	}
	jn.results.mu.Lock()
	defer jn.results.mu.Unlock()
	kept := map[string]result{}
	for _, j := range all {
		if j.Demo {
			continue
		}
		one, there := jn.results.kept[j.ID]
		if !there || one.seq != j.Seq {
			s, err := jn.state(ctx, j.ID)
			if err != nil {
				return nil, false, err
			}
			one = jn.resultOf(s)
		}
		kept[j.ID] = one
		list = append(list, one)
	}
	jn.results.kept = kept
	return list, cut, nil
}

// resultOf is what a closed job came to. What cannot be read says nothing.
func (wo *wording) resultOf(s *store.State) result {
	out := result{seq: s.Seq}
	for _, e := range s.Entries {
		switch e.Kind {
		case store.Archived:
			out.month = e.At.Format("2006-01")
		case store.Reopened:
			out.comebacks++
		}
	}
	document, err := s.Document()
	if err != nil {
		return out
	}
	j, err := job.Read(bytes.NewReader(document), "", wo.words)
	if err != nil {
		return out
	}
	if out.cause = j.Closing.Cause; out.cause == job.Unknown {
		out.cause = ""
	}
	for i := range j.Findings {
		if m := j.Findings[i].Minutes; m.Text != "" && m.Text != job.Unknown {
			out.minutes += m.Value.Minutes()
		}
	}
	presumes := j.Quote.Presumes
	if out.quoted = presumes != "" && presumes != job.Unknown; !out.quoted || out.cause == "" || presumes == out.cause {
		return out
	}
	out.wrong = true
	price, charged := j.Quote.Price.Value, j.Closing.Charged.Value
	if price.Currency != "" && price.Currency == charged.Currency && j.Quote.Price.Text != "" && j.Closing.Charged.Text != "" {
		out.saved, out.currency = price.Amount-charged.Amount, price.Currency
	}
	return out
}

func (ap *shopsAPI) getResults(_ http.ResponseWriter, r *http.Request) (any, error) {
	return ap.resultsOf(r)
}

// resultsOf adds up the closed jobs of the shops that somebody may see as a whole.
func (ap *shopsAPI) resultsOf(r *http.Request) (*ResultsReply, error) {
	shops, err := ap.shopsOf(r)
	if err != nil {
		return nil, err
	}
	out := &ResultsReply{Rows: []ResultRow{}}
	type key struct{ shop, month, cause, currency string }
	at, said := map[key]*ResultRow{}, map[key]int{}
	for _, s := range shops {
		room, err := ap.house.room(r.Context(), s.ID)
		if err != nil {
			return nil, err
		}
		list, cut, err := room.jobs.closedJobs(r.Context())
		if err != nil {
			return nil, err
		}
		out.Cut = out.Cut || cut
		for _, one := range list {
			k := key{s.ID, one.month, one.cause, one.currency}
			row := at[k]
			if row == nil {
				row = &ResultRow{Shop: s.ID, Month: one.month, Cause: one.cause, Name: ap.causeName(one.cause), Currency: one.currency}
				at[k] = row
			}
			row.Jobs++
			row.Comebacks += one.comebacks
			row.Saved += one.saved
			if one.quoted {
				row.Quoted++
			}
			if one.wrong {
				row.Refuted++
			}
			if one.minutes > 0 {
				row.Minutes += one.minutes
				said[k]++
			}
		}
	}
	for k, row := range at {
		if said[k] > 0 {
			row.Minutes = math.Round(row.Minutes / float64(said[k]))
		}
		row.Saved = math.Round(100*row.Saved) / 100
		out.Rows = append(out.Rows, *row)
	}
	sort.Slice(out.Rows, func(i, j int) bool {
		a, b := &out.Rows[i], &out.Rows[j]
		if a.Month != b.Month {
			return a.Month > b.Month
		}
		if a.Jobs != b.Jobs {
			return a.Jobs > b.Jobs
		}
		return a.Shop+a.Cause+a.Currency < b.Shop+b.Cause+b.Currency
	})
	return out, nil
}

// getResultsCSV writes the same as a table for a spreadsheet.
func (ap *shopsAPI) getResultsCSV(w http.ResponseWriter, r *http.Request) (any, error) {
	res, err := ap.resultsOf(r)
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	c := csv.NewWriter(&out)
	rows := [][]string{{"shop", "month", "cause", "name", "jobs", "minutes", "quoted", "refuted", "saved", "currency", "comebacks"}}
	for _, x := range res.Rows {
		rows = append(rows, []string{
			cell(x.Shop), cell(x.Month), cell(x.Cause), cell(x.Name), strconv.Itoa(x.Jobs), strconv.FormatFloat(x.Minutes, 'f', -1, 64),
			strconv.Itoa(x.Quoted), strconv.Itoa(x.Refuted), strconv.FormatFloat(x.Saved, 'f', -1, 64), cell(x.Currency), strconv.Itoa(x.Comebacks),
		})
	}
	if err := c.WriteAll(rows); err != nil {
		return nil, err
	}
	w.Header().Set("Content-Type", "text/csv; charset=utf-8")
	w.Header().Set("Content-Disposition", `attachment; filename="weephole-results.csv"`)
	_, _ = w.Write(out.Bytes()) // the device has gone away
	return nil, nil
}

// cell is a text that no spreadsheet runs as a formula: one that begins like a
// formula gets an apostrophe before it, which spreadsheets take for "this is text".
func cell(text string) string {
	if strings.IndexAny(strings.TrimLeft(text, " \u00a0\ufeff"), "=+-@\t\r\n|%＝＋－＠") == 0 {
		return "'" + text
	}
	return text
}
