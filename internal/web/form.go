package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"weephole/internal/job"
	"weephole/internal/store"
)

// formPage is the form of a job's head, new or changed.
type formPage struct {
	Strip    *strip // nil for a new job
	ID       string // "" for a new job
	Seen     int64  // newest entry that the form's fields follow from
	EntryID  string // made up beforehand, so that a form sent twice makes one job
	Values   url.Values
	Signs    []tickable
	When     []tickable
	Work     []string
	Causes   []choice
	Problems []string
	wrongFields
}

// tickable is a sign or condition that can be ticked. Details are offered only where
// they are said already: there are too many of them for a form.
type tickable struct {
	ID, Name string
	Detail   bool
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

func (pg *formPages) blankForm() formPage {
	p := formPage{Values: url.Values{}, EntryID: newID(), Work: pg.words.Work}
	for i := range pg.cfg.Model.Checks.Signs {
		s := &pg.cfg.Model.Checks.Signs[i]
		p.Signs = append(p.Signs, tickable{s.ID, s.Name, s.Detail})
	}
	for i := range pg.cfg.Model.Checks.Conditions {
		c := &pg.cfg.Model.Checks.Conditions[i]
		p.When = append(p.When, tickable{c.ID, c.Name, c.Detail})
	}
	for i := range pg.cfg.Model.Causes.Causes {
		c := &pg.cfg.Model.Causes.Causes[i]
		p.Causes = append(p.Causes, choice{c.ID, c.Name})
	}
	return p
}

func (pg *formPages) newForm(*http.Request) (any, error) { return pg.blankForm(), nil }

// field ties a form's field to its place in the job file.
// A bare number in a quantity's field takes the shop's unit, first metric, then US.
type field struct {
	name, path string
	units      [2]string
}

// fieldNames are the fields of a head in words, by path.
var fieldNames = map[string]string{
	"vehicle.name": "Car", "vehicle.fuel": "Fuel", "vehicle.displacement": "Engine size", "vehicle.power": "Power",
	"vehicle.coolant.capacity": "Coolant in all", "vehicle.coolant.glycol": "Antifreeze", "vehicle.coolant.kind": "Kind of antifreeze",
	"vehicle.thermostat.rating": "Thermostat opens at", "vehicle.thermostat.sits": "Where the thermostat sits", "vehicle.fan.kind": "Fan",
	"vehicle.fan.count": "How many fans", "vehicle.cap": "Cap rating", "vehicle.pump": "What drives the pump", "vehicle.tank": "Tank", "vehicle.radiator": "Radiator", "vehicle.year": "Year", "vehicle.cylinders": "Cylinders",
	"vehicle.maker": "The maker’s data", "complaint.words": "What the owner says", "complaint.signs": "What happens",
	"complaint.when": "When it happens", "complaint.fine": "When it is fine", "complaint.ambient": "Outside air when it happens",
	"complaint.overheated.badly": "Driven on while hot", "recent-work": "Worked on lately", "quote": "The quote",
	"quote.presumes": "What the quote presumes", "quote.price": "The quote’s price", "quote.by": "Who made the quote",
	"closing.cause": "What it turned out to be", "closing.showed": "What the old part showed", "closing.charged": "What the owner pays",
	"closing.when": "The day", "closing.watch": "What the owner is to watch", "closing.tally": "Count this job in the tally",
	"closing.coolant.drained": "What came out", "closing.coolant.filled": "What was filled in", "closing.coolant.mix": "Its mix",
	"shop.name": "The shop", "shop.rate": "Labour rate", "shop.units": "Units", "shop.altitude": "Height above sea level", "shop.ambient": "Usual air in the shop",
	"shop.coldest": "Coldest night", "shop.lacks": "Tools not at hand", "quote.repair": "What was quoted", "complaint.overheated": "Driven on while hot",
	"closing.coolant.looked": "How the coolant looked", "closing.coolant.went": "Where the coolant went",
}

// fieldName is a field of a head in words.
func fieldName(path string) string {
	if name, ok := fieldNames[path]; ok {
		return name
	}
	if list, part, ok := strings.Cut(path, "["); ok { // "vehicle.maker[bleed-screws].says"
		what, key, _ := strings.Cut(part, "]")
		name := fieldName(list) + ", " + strings.ReplaceAll(what, "-", " ")
		return strings.TrimSuffix(name+strings.ReplaceAll(strings.ReplaceAll(key, ".", ", "), "-", " "), ", says")
	}
	return strings.NewReplacer("-", " ", ".", ", ").Replace(path)
}

var textFields = []field{
	{name: "car", path: "vehicle.name"}, {name: "fuel", path: "vehicle.fuel"}, {"displacement", "vehicle.displacement", [2]string{"L", "L"}}, {"power", "vehicle.power", [2]string{"kW", "hp"}},
	{"capacity", "vehicle.coolant.capacity", [2]string{"L", "qt"}}, {"glycol", "vehicle.coolant.glycol", [2]string{"%", "%"}}, {name: "coolant", path: "vehicle.coolant.kind"},
	{"rating", "vehicle.thermostat.rating", [2]string{"°C", "°F"}}, {name: "sits", path: "vehicle.thermostat.sits"}, {name: "fan", path: "vehicle.fan.kind"}, {"cap", "vehicle.cap", [2]string{"bar", "psi"}},
	{name: "pump", path: "vehicle.pump"}, {name: "tank", path: "vehicle.tank"}, {name: "radiator", path: "vehicle.radiator"},
	{name: "words", path: "complaint.words"}, {"ambient", "complaint.ambient", [2]string{"°C", "°F"}}, {name: "badly", path: "complaint.overheated.badly"},
	{name: "presumes", path: "quote.presumes"}, {"price", "quote.price", [2]string{money, money}}, {name: "by", path: "quote.by"},
}

// money stands for the shop's currency among units.
const money = "$"

var countFields = []field{{name: "year", path: "vehicle.year"}, {name: "cylinders", path: "vehicle.cylinders"}, {name: "fans", path: "vehicle.fan.count"}}

// said gives a bare number the shop's unit or currency.
func (f *field) said(text string, shop *job.Shop) string {
	i := 0
	if shop.Units == "us" {
		i = 1
	}
	unit := f.units[i]
	if unit == "" || !bareNumber.MatchString(text) {
		return text
	}
	if unit != money {
		return text + " " + unit
	}
	currency := "USD"
	if shop.Rate.Known() && shop.Rate.Value.Currency != "" {
		currency = shop.Rate.Value.Currency
	}
	return text + " " + currency
}

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
func (pg *formPages) head(before object, v url.Values, shop *job.Shop) (json.RawMessage, error) {
	doc := before
	doc["weephole"] = job.Version
	for _, f := range textFields {
		if text := clip(v.Get(f.name), 500); text != "" {
			put(doc, f.path, f.said(text, shop))
		} else if dig(doc, f.path) != nil {
			put(doc, f.path, job.Unknown)
		}
	}
	for _, f := range countFields {
		if n, err := strconv.Atoi(strings.TrimSpace(v.Get(f.name))); err == nil {
			put(doc, f.path, n)
		} else if text := strings.TrimSpace(v.Get(f.name)); text != "" {
			put(doc, f.path, text) // the reader says what is wrong with it
		} else if dig(doc, f.path) != nil {
			put(doc, f.path, nil)
		}
	}
	lists := map[string][]string{"complaint.signs": v["sign"], "complaint.when": v["when"], "complaint.fine": v["fine"]}
	for path, list := range lists {
		if list == nil {
			list = []string{}
		}
		put(doc, path, list)
	}
	work := []any{}
	for _, w := range v["work"] {
		work = append(work, knownWork(doc, w))
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

// knownWork is a piece of recent work with what the job said of it before.
func knownWork(doc object, what string) any {
	list, _ := doc["recent-work"].([]any)
	for _, one := range list {
		if m, ok := one.(object); ok && m["what"] == what {
			return m
		}
	}
	return object{"what": what}
}

func (pg *formPages) editForm(r *http.Request) (any, error) {
	s, err := pg.state(r.Context(), r.PathValue("id"))
	if err != nil {
		return nil, err
	}
	var doc object
	if err := json.Unmarshal(s.Head, &doc); err != nil {
		return nil, err
	}
	p := pg.blankForm()
	p.ID, p.Seen, p.Values = s.ID, s.Seq, valuesOf(doc)
	p.Strip, err = pg.stripFor(r, s)
	return p, err
}

// valuesOf are a head's values as the form's fields have them.
func valuesOf(doc object) url.Values {
	values := url.Values{}
	for _, f := range append(textFields, countFields...) {
		switch x := dig(doc, f.path).(type) {
		case string:
			if x != job.Unknown {
				values.Set(f.name, x)
			}
		case float64:
			values.Set(f.name, strconv.FormatFloat(x, 'f', -1, 64))
		}
	}
	for path, name := range map[string]string{"complaint.signs": "sign", "complaint.when": "when", "complaint.fine": "fine"} {
		for _, x := range anyList(dig(doc, path)) {
			values.Add(name, x)
		}
	}
	if list, ok := doc["recent-work"].([]any); ok {
		for _, w := range list {
			if m, ok := w.(object); ok {
				if what, ok := m["what"].(string); ok {
					values.Add("work", what)
				}
			}
		}
	}
	return values
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
func (pg *formPages) postForm(w http.ResponseWriter, r *http.Request) {
	if err := r.ParseForm(); err != nil {
		pg.fail(w, r, wrong(http.StatusBadRequest, "the form cannot be read: %v", err))
		return
	}
	id, merged, err := pg.formEntry(r)
	if err == nil {
		http.Redirect(w, r, "/jobs/"+id, http.StatusSeeOther)
		return
	}
	f := failureOf(err)
	var ps job.Problems
	if !errors.As(err, &ps) && f.Status != http.StatusConflict {
		pg.fail(w, r, err)
		return
	}
	p := pg.blankForm()
	p.ID, p.Values = r.PathValue("id"), r.PostForm
	if p.wrongFields, p.Problems = atFields(ps); ps == nil {
		p.Problems = []string{f.Message}
	}
	p.Seen, _ = strconv.ParseInt(r.PostForm.Get("seen"), 10, 64) // it was given by this page
	if merged != nil {
		p.Values = valuesOf(merged)
		p.Seen = max(p.Seen, f.Seq)
	}
	if p.ID != "" {
		s, err := pg.state(r.Context(), p.ID)
		if err == nil {
			p.Strip, err = pg.stripFor(r, s)
		}
		if err != nil {
			pg.fail(w, r, err)
			return
		}
	}
	pg.page(w, r, f.Status, "form", p)
}

// atFields parts problems into those that stand at a field of the form and others.
func atFields(ps job.Problems) (at wrongFields, others []string) {
	at = wrongFields{}
	for _, p := range ps {
		said := wrongHere(p)
		i := slices.IndexFunc(append(textFields, countFields...), func(f field) bool { return f.path == p.Path })
		if i < 0 {
			others = append(others, strings.TrimPrefix(fieldName(p.Path)+": "+said, ": "))
			continue
		}
		at[append(textFields, countFields...)[i].name] = said
	}
	return at, others
}

// wrongHere is a problem as it stands at its field.
func wrongHere(p *job.Problem) string {
	if p.Nearest != "" {
		return fmt.Sprintf("%s; did you mean %q?", upperFirst(p.Message), p.Nearest)
	}
	return upperFirst(p.Message)
}

// formEntry keeps what the form says. Where somebody else was quicker, merged is
// the head with both sides' changes.
func (pg *formPages) formEntry(r *http.Request) (id string, merged object, err error) {
	shop, err := pg.shop(r.Context())
	if err != nil {
		return "", nil, err
	}
	if id = r.PathValue("id"); id != "" {
		if seen := r.PostForm.Get("seen"); seen != "" {
			r.Header.Set("Weephole-Seen", seen)
		}
		_, merged, err = pg.mergeHead(r, func(base object) (json.RawMessage, error) { return pg.head(base, r.PostForm, shop) })
		return id, merged, err
	}
	raw, err := pg.head(object{}, r.PostForm, shop)
	if err != nil {
		return "", nil, err
	}
	e := store.Entry{ID: clip(r.PostForm.Get("entry"), 64), Who: who(r), Kind: store.Opened}
	if e.ID == "" {
		e.ID = newID()
	}
	_, err = pg.openFrom(r, e, raw)
	return e.ID, nil, err
}

// otherFan is a kind of fan that the form has no line of its own for, so that keeping
// the form changes nothing.
func otherFan(kind string) []string {
	if slices.Contains([]string{"", "electric", "two-speed", "viscous", "belt", "hydraulic", "none"}, kind) {
		return nil
	}
	return []string{kind}
}
