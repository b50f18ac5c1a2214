package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"weephole/internal/job"
	"weephole/internal/store"
	"weephole/internal/work"
)

type historyView struct {
	Strip   *strip
	ID, Car string
	Rows    []historyRow
}

// PageTitle is the title of the history.
func (v historyView) PageTitle() string { return "History of " + v.Car }

type historyRow struct {
	store.Entry
	What, Text, Before string
	Parts, Were        []string // of a head: each field that changed, and what it was
}

var kindWords = map[store.Kind]string{
	store.Opened: "opened the job", store.HeadChanged: "changed the car or the complaint", store.Found: "found", store.Corrected: "corrected",
	store.Struck: "struck out", store.Restored: "took back in", store.Noted: "noted", store.Brought: "brought", store.Removed: "removed",
	store.Archived: "archived the job", store.Reopened: "reopened the job",
}

// history shows who did what, when, and what stood there before.
func (pg *recordPages) history(r *http.Request) (any, error) {
	s, sum, err := pg.stateAndSummary(r)
	if err != nil {
		return nil, err
	}
	v := historyView{ID: s.ID, Car: sum.Car, Rows: pg.historyRows(s.Entries)}
	slices.Reverse(v.Rows)
	v.Strip, err = pg.stripFor(r, s)
	return v, err
}

// historyRows tell a journal's entries in words, the oldest first.
func (wo *wording) historyRows(entries []store.Entry) (rows []historyRow) {
	stood := map[string]string{}
	var head object // as it stood before
	for _, e := range entries {
		row := historyRow{Entry: e, What: kindWords[e.Kind]}
		switch e.Kind {
		case store.Opened, store.HeadChanged:
			var now object
			if err := json.Unmarshal(e.Body, &now); err == nil {
				row.Parts, row.Were = wo.changedHead(head, now)
				head = now
			}
		case store.Found:
			row.Text = wo.foundInWords(e.Body)
			stood[e.ID] = row.Text
		case store.Corrected:
			row.Text, row.Before = wo.foundInWords(e.Body), stood[e.Finding]
			stood[e.Finding] = row.Text
		case store.Struck, store.Restored:
			row.Text, row.Before = bodyText(e.Body, "why"), stood[e.Finding]
		case store.Noted:
			row.Text = bodyText(e.Body, "text")
			if id := bodyText(e.Body, "undone"); id != "" {
				row.What, row.Text = "took a note back", stood[id]
			}
			stood[e.ID] = row.Text
		case store.Brought, store.Removed:
			row.Text = bodyText(e.Body, "file")
		}
		rows = append(rows, row)
	}
	return rows
}

// foundInWords is a finding as a colleague would say it.
func (wo *wording) foundInWords(body json.RawMessage) string {
	f, err := job.ReadFinding(body, job.Shop{}, wo.words)
	if err != nil {
		return "a finding that cannot be read any more"
	}
	name, says := wo.inWords(f)
	text := upperFirst(name)
	for _, more := range []string{says, f.Note} {
		if more != "" {
			text += ": " + more
		}
	}
	return text
}

// bodyText is a text under a key of an entry's body.
func bodyText(body json.RawMessage, key string) string {
	var doc map[string]any
	if json.Unmarshal(body, &doc) != nil {
		return ""
	}
	text, _ := doc[key].(string)
	return text
}

// changedHead says what a head says otherwise than the one before, and what that said.
func (wo *wording) changedHead(before, now object) (says, said []string) {
	was, is := wo.flat("", before), wo.flat("", now)
	var paths []string
	for path := range is {
		paths = append(paths, path)
	}
	for path := range was {
		if _, there := is[path]; !there {
			paths = append(paths, path)
		}
	}
	slices.Sort(paths)
	for _, path := range paths {
		if is[path] == was[path] || path == "weephole" || path == "job" || path == "findings" {
			continue
		}
		name := fieldName(path)
		if is[path] == "" {
			says = append(says, name+": taken out")
		} else {
			says = append(says, name+": "+valueInWords(path, is[path]))
		}
		if was[path] != "" {
			said = append(said, name+": "+valueInWords(path, was[path]))
		}
	}
	return says, said
}

// unitsInWords is what the form of the settings calls each choice of units.
var unitsInWords = map[string]string{"metric": "°C, bar, litres", "us": "°F, psi, quarts"}

// valueInWords is a head's value as the forms say it.
func valueInWords(path, value string) string {
	if path == "shop.units" && unitsInWords[value] != "" {
		return unitsInWords[value]
	}
	return value
}

// nameOf is the name of what a head knows by an id: a cause, a repair, a sign, a
// condition, something of the maker's data; anything else is what it is.
func (wo *wording) nameOf(word string) string {
	m := wo.model
	if i := m.Causes.Index(word); i >= 0 {
		return m.Causes.Causes[i].Name
	}
	if rep := m.Causes.Repair(word); rep != nil {
		return rep.Name
	}
	for i := range m.Checks.Signs {
		if m.Checks.Signs[i].ID == word {
			return m.Checks.Signs[i].Name
		}
	}
	for i := range m.Checks.Conditions {
		if m.Checks.Conditions[i].ID == word {
			return m.Checks.Conditions[i].Name
		}
	}
	if sheets, err := work.DefaultSheetData(); err == nil { // the sheet is embedded and tested
		if d := sheets.Datum(word); d != nil {
			return d.Name
		}
	}
	return word
}

// flat lays a document's values out by their paths, as text.
func (wo *wording) flat(under string, doc object) map[string]string {
	out := map[string]string{}
	for key, v := range doc {
		path := strings.TrimPrefix(under+"."+key, ".")
		switch x := v.(type) {
		case object:
			for p, text := range wo.flat(path, x) {
				out[p] = text
			}
		case []any:
			var list []string
			for _, one := range x {
				if m, ok := one.(object); ok {
					one = m["what"]
				}
				list = append(list, wo.nameOf(fmt.Sprint(one)))
			}
			if len(list) > 0 {
				out[path] = strings.Join(list, ", ")
			}
		case nil:
		default:
			out[path] = wo.nameOf(fmt.Sprint(x))
		}
	}
	return out
}
