package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"reflect"
	"slices"
	"strings"

	"weephole/internal/job"
	"weephole/internal/store"
)

// overtaken refuses a change of a finding by somebody who had not seen what stands
// there by now. He is told both, and keeps what he typed.
func (wo *wording) overtaken(e *store.Entry, f *store.Finding) error {
	if e.Seen == 0 || e.Seen >= f.Seq {
		return nil
	}
	stands := "it was struck out"
	if !f.Struck {
		stands = "it says " + wo.quoted(f.Body)
	}
	m := &mistake{status: http.StatusConflict, standing: f.Body, seq: f.Seq}
	m.message = fmt.Sprintf("%s changed this meanwhile: %s.", upperFirst(byName(f.Who)), stands)
	if typed := wo.quoted(e.Body); e.Kind == store.Corrected {
		m.message += fmt.Sprintf(" You typed: %s. Nothing of yours was kept yet. Look at both, then enter what is right.", typed)
	}
	return m
}

// quoted says what a finding's body says.
func (wo *wording) quoted(body json.RawMessage) string {
	f, err := job.ReadFinding(body, job.Shop{}, wo.words)
	if err != nil {
		return "something that this version cannot read"
	}
	_, says := wo.inWords(f)
	if f.Note != "" {
		says = strings.TrimPrefix(says+"; "+f.Note, "; ")
	}
	return "“" + says + "”"
}

// clash is a field that two people have changed at once.
type clash struct {
	path         string
	mine, theirs any
}

// merged3 puts one person's changes over another's, both made to the same base. A
// field that both have changed in different ways is a clash; mine stands in it.
// Lists are taken as a whole, but for those whose parts say what they are about.
func merged3(base, mine, theirs any, path string, clashes *[]clash) any {
	if reflect.DeepEqual(mine, theirs) || reflect.DeepEqual(base, theirs) {
		return mine
	}
	if reflect.DeepEqual(base, mine) {
		return theirs
	}
	m, ok1 := mine.(object)
	t, ok2 := theirs.(object)
	b, _ := base.(object)
	if ok1 && ok2 {
		out := object{}
		for _, key := range slices.Compact(slices.Sorted(func(yield func(string) bool) {
			for _, doc := range []object{m, t} {
				for k := range doc {
					if !yield(k) {
						return
					}
				}
			}
		})) {
			if v := merged3(b[key], m[key], t[key], strings.TrimPrefix(path+"."+key, "."), clashes); v != nil {
				out[key] = v
			}
		}
		return out
	}
	mList, ok1 := byWhat(mine)
	tList, ok2 := byWhat(theirs)
	bList, ok3 := byWhat(base)
	if !ok1 || !ok2 || !ok3 {
		*clashes = append(*clashes, clash{path, mine, theirs})
		return mine
	}
	out := []any{}
	for _, one := range append(slices.Clone(tList), mList...) { // theirs first, then what is new
		what := one["what"]
		if slices.ContainsFunc(out, func(o any) bool { return o.(object)["what"] == what }) {
			continue
		}
		if v := merged3(part(bList, what), part(mList, what), part(tList, what), fmt.Sprintf("%s[%s]", path, what), clashes); v != nil {
			out = append(out, v)
		}
	}
	return out
}

// byWhat is a list whose parts each say what they are about, no two of them the same: the
// maker's data, recent work. No list is an empty one.
func byWhat(v any) (list []object, ok bool) {
	all, isList := v.([]any)
	if !isList {
		return nil, v == nil
	}
	about := map[string]bool{}
	for _, one := range all {
		doc, _ := one.(object)
		what, ok := doc["what"].(string)
		if !ok || about[what] {
			return nil, false
		}
		about[what], list = true, append(list, doc)
	}
	return list, true
}

// part is the part of such a list that is about something; nil where there is none.
func part(list []object, what any) any {
	for _, one := range list {
		if one["what"] == what {
			return one
		}
	}
	return nil
}

// headAt is the head that somebody who has seen so many entries has seen, and the
// newest with who told it. 0 has seen the newest.
func headAt(s *store.State, seen int64) (base, newest json.RawMessage, told store.Entry) {
	for _, e := range s.Entries {
		if e.Kind != store.Opened && e.Kind != store.HeadChanged {
			continue
		}
		if seen == 0 || e.Seq <= seen || base == nil {
			base = e.Body
		}
		newest, told = e.Body, e
	}
	return base, newest, told
}

// mergeHead keeps a head that was changed from the one its author had seen: his
// changes are put over those of others. Where both have changed the same field he
// is told both and nothing is kept; merged is then the head with his words.
func (js *jobs) mergeHead(r *http.Request, change func(base object) (json.RawMessage, error)) (out any, merged object, err error) {
	defer js.telling.lock(r.PathValue("id"))()
	out, err = untilFirst(func() (out any, err error) {
		out, merged, err = js.changeHead(r, change)
		return out, err
	})
	return out, merged, err
}

// mostTries is how often something is written over while others are quicker:
// judgement.
const mostTries = 8

// untilFirst does what writes over something until nobody was quicker. Within a
// bench one waits for the other; another bench may write to the same store.
func untilFirst(do func() (any, error)) (out any, err error) {
	for range mostTries {
		if out, err = do(); !errors.Is(err, store.ErrOvertaken) {
			break
		}
	}
	return out, err
}

func (js *jobs) changeHead(r *http.Request, change func(base object) (json.RawMessage, error)) (out any, merged object, err error) {
	e, err := entryOf(r, store.HeadChanged, nil)
	if err != nil {
		return nil, nil, err
	}
	s, err := js.state(r.Context(), e.Job)
	if err != nil {
		return nil, nil, err
	}
	for _, old := range s.Entries {
		if old.ID == e.ID { // sent again; the head may have changed meanwhile
			return Made{ID: old.ID, Seq: old.Seq}, nil, nil
		}
	}
	before, newest, told := headAt(s, e.Seen)
	var base, theirs, mine object
	if err := json.Unmarshal(before, &base); err != nil {
		return nil, nil, err
	}
	if err := json.Unmarshal(newest, &theirs); err != nil {
		return nil, nil, err
	}
	raw, err := change(copied(base))
	if err != nil {
		return nil, nil, err
	}
	document, err := js.read(raw)
	if err != nil {
		return nil, nil, err
	}
	head, _, err := store.Split(document)
	if err != nil {
		return nil, nil, err
	}
	if err := json.Unmarshal(head, &mine); err != nil {
		return nil, nil, err
	}
	var clashes []clash
	merged, _ = merged3(base, mine, theirs, "", &clashes).(object)
	if len(clashes) > 0 {
		return nil, merged, &mistake{status: http.StatusConflict, message: clashesSay(clashes, told.Who), standing: newest, seq: told.Seq}
	}
	if raw, err = json.Marshal(merged); err != nil {
		return nil, nil, err
	}
	if document, err = js.read(raw); err != nil { // together they may say what cannot be
		return nil, merged, err
	}
	if e.Body, _, err = store.Split(document); err != nil {
		return nil, nil, err
	}
	e.Over = told.Seq
	out, err = js.keep(r, e)
	return out, merged, err
}

// copied is a copy of a document that may be changed.
func copied(doc object) object {
	out := object{}
	for k, v := range doc {
		if inner, ok := v.(object); ok {
			v = copied(inner)
		}
		out[k] = v
	}
	return out
}

// clashesSay tells both sides of what two people have changed at once.
func clashesSay(list []clash, who string) string {
	who = byName(who)
	var lines []string
	for _, c := range list {
		lines = append(lines, fmt.Sprintf("%s: %s wrote %s meanwhile, you wrote %s.", fieldName(c.path), who, plainly(c.theirs), plainly(c.mine)))
	}
	return strings.Join(append(lines, "Nothing of yours was kept yet. Look at both, then keep what is right."), "\n")
}

// byName is who changed something, as others are told.
func byName(who string) string {
	if who == "" || who == nobody {
		return "somebody else"
	}
	return who
}

// plainly is a value of a job file as it is said.
func plainly(v any) string {
	switch x := v.(type) {
	case nil:
		return "nothing"
	case string:
		return "“" + x + "”"
	case []any:
		var words []string
		for _, item := range x {
			words = append(words, strings.Trim(plainly(item), "“”"))
		}
		return "“" + strings.ReplaceAll(strings.Join(words, ", "), "-", " ") + "”"
	case object:
		var words []string
		for key, value := range x {
			words = append(words, strings.ReplaceAll(key, "-", " ")+": "+plainly(value))
		}
		slices.Sort(words)
		return strings.Join(words, ", ")
	}
	return fmt.Sprint(v)
}

func mustJSON(v any) json.RawMessage {
	raw, err := json.Marshal(v)
	if err != nil {
		panic(err) // it came from JSON
	}
	return raw
}
