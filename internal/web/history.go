package web

import (
	"encoding/json"
	"net/http"
	"slices"
	"strings"

	"weephole/internal/store"
)

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
	store.Opened: "opened the job", store.HeadChanged: "changed the job", store.Found: "found", store.Corrected: "corrected",
	store.Struck: "struck out", store.Restored: "took back in", store.Noted: "noted", store.Brought: "brought", store.Removed: "removed",
	store.Archived: "archived the job", store.Reopened: "reopened the job",
}

// history shows who did what, when, and what stood there before.
func (pg *pages) history(r *http.Request) (any, error) {
	s, err := pg.state(r.Context(), r.PathValue("id"))
	if err != nil {
		return nil, err
	}
	sum, err := pg.store.Job(r.Context(), s.ID)
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
		case store.Opened, store.HeadChanged:
			key = "head"
		}
		switch e.Kind {
		case store.Opened, store.HeadChanged, store.Found, store.Corrected:
			row.Text, row.Before = readable(e.Body), stood[key]
			stood[key] = row.Text
		case store.Struck, store.Restored:
			row.Text, row.Before = readable(e.Body), stood[key]
		case store.Noted, store.Brought, store.Removed:
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
