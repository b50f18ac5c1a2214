package web

import (
	"net/http"
	"slices"

	"weephole/internal/job"
	"weephole/internal/store"
)

// atPlace is what was entered at a place, the newest first.
type atPlace struct{ Rows []historyRow }

// placesOf are the places that a finding is of: that of its check, and those of its readings.
func (wo *wording) placesOf(f *job.Finding) (list []string) {
	k := wo.model.Checks.Check(f.Check)
	if k == nil {
		return nil
	}
	list = append(list, k.Place)
	for _, x := range f.Read {
		if rd := reading(k, x.ID); rd != nil && rd.Place != "" && x.Known() {
			list = append(list, rd.Place)
		}
	}
	return list
}

// historyAt tells what was entered at a place, and what became of it. A finding that was of
// the place once belongs to it, whatever it was corrected to.
func (wo *wording) historyAt(entries []store.Entry, place string) (p atPlace) {
	here := map[string]bool{}
	of := func(e *store.Entry) string {
		if e.Kind == store.Found {
			return e.ID
		}
		return e.Finding
	}
	for i := range entries {
		e := &entries[i]
		if e.Kind != store.Found && e.Kind != store.Corrected {
			continue
		}
		if f, err := job.ReadFinding(e.Body, job.Shop{}, wo.words); err == nil && slices.Contains(wo.placesOf(f), place) {
			here[of(e)] = true
		}
	}
	for _, row := range wo.historyRows(entries) {
		if here[of(&row.Entry)] {
			p.Rows = append(p.Rows, row)
		}
	}
	slices.Reverse(p.Rows)
	return p
}

// placeHistory is the history of a place alone, for the sheet of the place.
func (pg *jobPages) placeHistory(r *http.Request) (any, error) {
	s, err := pg.state(r.Context(), r.PathValue("id"))
	if err != nil {
		return nil, err
	}
	return pg.historyAt(s.Entries, r.PathValue("place")), nil
}
