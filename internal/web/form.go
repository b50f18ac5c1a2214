package web

import (
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"weephole/internal/job"
	"weephole/internal/store"
)

// formPage is the form of a job's head, new or told anew.
type formPage struct {
	ID       string // "" for a new job
	EntryID  string // made up beforehand, so that a form sent twice makes one job
	Values   url.Values
	Signs    []choice
	When     []choice
	Work     []string
	Causes   []choice
	Problems []string
}

// PageTitle is the title of the form.
func (p formPage) PageTitle() string {
	if p.ID == "" {
		return "New job"
	}
	return "Car and complaint"
}

// V is what stands in a field.
func (p formPage) V(key string) string { return p.Values.Get(key) }

// In tells whether a word is among a field's.
func (p formPage) In(key, word string) bool {
	for _, v := range p.Values[key] {
		if v == word {
			return true
		}
	}
	return false
}

func (pg *pages) blankForm() formPage {
	p := formPage{Values: url.Values{}, EntryID: newID(), Work: pg.words.Work}
	for i := range pg.cfg.Model.Checks.Signs {
		s := &pg.cfg.Model.Checks.Signs[i]
		p.Signs = append(p.Signs, choice{s.ID, s.Name})
	}
	for i := range pg.cfg.Model.Checks.Conditions {
		c := &pg.cfg.Model.Checks.Conditions[i]
		p.When = append(p.When, choice{c.ID, c.Name})
	}
	for i := range pg.cfg.Model.Causes.Causes {
		c := &pg.cfg.Model.Causes.Causes[i]
		p.Causes = append(p.Causes, choice{c.ID, c.Name})
	}
	return p
}

func (pg *pages) newForm(*http.Request) (any, error) { return pg.blankForm(), nil }

// field ties a form's field to its place in the job file.
type field struct{ name, path string }

var textFields = []field{
	{"car", "vehicle.name"}, {"fuel", "vehicle.fuel"}, {"displacement", "vehicle.displacement"}, {"power", "vehicle.power"},
	{"capacity", "vehicle.coolant.capacity"}, {"glycol", "vehicle.coolant.glycol"}, {"coolant", "vehicle.coolant.kind"},
	{"rating", "vehicle.thermostat.rating"}, {"sits", "vehicle.thermostat.sits"}, {"fan", "vehicle.fan.kind"}, {"cap", "vehicle.cap"},
	{"words", "complaint.words"}, {"ambient", "complaint.ambient"}, {"badly", "complaint.overheated.badly"},
	{"presumes", "quote.presumes"}, {"price", "quote.price"}, {"by", "quote.by"},
}

var countFields = []field{{"year", "vehicle.year"}, {"cylinders", "vehicle.cylinders"}, {"fans", "vehicle.fan.count"}}

// put sets a value deep in a document, making what is on the way.
func put(doc object, path string, v any) {
	keys := strings.Split(path, ".")
	for _, k := range keys[:len(keys)-1] {
		inner, ok := doc[k].(object)
		if !ok {
			inner = object{}
			doc[k] = inner
		}
		doc = inner
	}
	doc[keys[len(keys)-1]] = v
}

// dig finds a value deep in a document.
func dig(doc object, path string) any {
	var at any = doc
	for _, k := range strings.Split(path, ".") {
		m, ok := at.(object)
		if !ok {
			return nil
		}
		at = m[k]
	}
	return at
}

// head makes a job file of the form's values, over what the job said before
// (the form does not know all that a job file can say).
func (pg *pages) head(before object, v url.Values) ([]byte, error) {
	doc := before
	doc["weephole"] = job.Version
	for _, f := range textFields {
		if text := clip(v.Get(f.name), 500); text != "" {
			put(doc, f.path, text)
		} else if dig(doc, f.path) != nil {
			put(doc, f.path, job.Unknown)
		}
	}
	for _, f := range countFields {
		if n, err := strconv.Atoi(strings.TrimSpace(v.Get(f.name))); err == nil {
			put(doc, f.path, n)
		} else if text := strings.TrimSpace(v.Get(f.name)); text != "" {
			put(doc, f.path, text) // the reader says what is wrong with it
		}
	}
	lists := map[string][]string{"complaint.signs": v["sign"], "complaint.when": v["when"], "complaint.fine": v["fine"]}
	for path, list := range lists {
		if list == nil {
			list = []string{}
		}
		put(doc, path, list)
	}
	work := []object{}
	for _, w := range v["work"] {
		work = append(work, object{"what": w})
	}
	if len(work) > 0 || doc["recent-work"] != nil {
		doc["recent-work"] = work
	}
	if dig(doc, "complaint.words") == job.Unknown {
		put(doc, "complaint.words", "")
	}
	if dig(doc, "vehicle.name") == job.Unknown {
		put(doc, "vehicle.name", "")
	}
	return json.Marshal(doc)
}

func (pg *pages) editForm(r *http.Request) (any, error) {
	s, err := pg.state(r.Context(), r.PathValue("id"))
	if err != nil {
		return nil, err
	}
	p := pg.blankForm()
	p.ID = s.ID
	var doc object
	if err := json.Unmarshal(s.Head, &doc); err != nil {
		return nil, err
	}
	for _, f := range append(textFields, countFields...) {
		switch x := dig(doc, f.path).(type) {
		case string:
			if x != job.Unknown {
				p.Values.Set(f.name, x)
			}
		case float64:
			p.Values.Set(f.name, strconv.FormatFloat(x, 'f', -1, 64))
		}
	}
	for _, x := range anyList(dig(doc, "complaint.signs")) {
		p.Values.Add("sign", x)
	}
	for path, name := range map[string]string{"complaint.when": "when", "complaint.fine": "fine"} {
		for _, x := range anyList(dig(doc, path)) {
			p.Values.Add(name, x)
		}
	}
	if list, ok := doc["recent-work"].([]any); ok {
		for _, w := range list {
			if m, ok := w.(object); ok {
				if what, ok := m["what"].(string); ok {
					p.Values.Add("work", what)
				}
			}
		}
	}
	return p, nil
}

func anyList(v any) (out []string) {
	list, _ := v.([]any)
	for _, x := range list {
		if s, ok := x.(string); ok {
			out = append(out, s)
		}
	}
	return out
}

// postForm opens or tells a job, or shows the form again with what is wrong.
func (pg *pages) postForm(w http.ResponseWriter, r *http.Request) {
	if err := r.ParseForm(); err != nil {
		pg.fail(w, r, wrong(http.StatusBadRequest, "the form cannot be read: %v", err))
		return
	}
	id, err := pg.formEntry(r)
	if err == nil {
		http.Redirect(w, r, "/jobs/"+id, http.StatusSeeOther)
		return
	}
	f := failureOf(err)
	var ps job.Problems
	if !errors.As(err, &ps) {
		pg.fail(w, r, err)
		return
	}
	p := pg.blankForm()
	p.ID, p.Values, p.Problems = r.PathValue("id"), r.PostForm, strings.Split(f.Message, "\n")
	pg.page(w, r, f.Status, "form", p)
}

func (pg *pages) formEntry(r *http.Request) (id string, err error) {
	before := object{}
	if id = r.PathValue("id"); id != "" {
		s, err := pg.state(r.Context(), id)
		if err != nil {
			return "", err
		}
		if err := json.Unmarshal(s.Head, &before); err != nil {
			return "", err
		}
	}
	raw, err := pg.head(before, r.PostForm)
	if err != nil {
		return "", err
	}
	if id != "" {
		_, err := pg.tell(r, raw)
		return id, err
	}
	e := store.Entry{ID: clip(r.PostForm.Get("entry"), 64), Who: who(r), Kind: store.Opened}
	if e.ID == "" {
		e.ID = newID()
	}
	_, err = pg.openFrom(r, e, raw)
	return e.ID, err
}
