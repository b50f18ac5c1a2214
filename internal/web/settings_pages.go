package web

import (
	"errors"
	"net/http"
	"slices"

	"weephole/internal/job"
	"weephole/internal/paper"
)

type settingsPage struct {
	ShopInput
	Tools []choice
	Saved bool
	wrongFields
	Problems  []string      // what is wrong with none of them
	Addresses []addressView // by which other devices reach the bench
	Logo      *paper.Logo   // nil: none was given
}

// choice is one of several words with its name in full.
type choice struct{ ID, Name string }

func (wo *wording) tools() (list []choice) {
	for _, t := range wo.model.Causes.Tools {
		list = append(list, choice{t.ID, t.Name})
	}
	return list
}

func (pg *settingsPages) settingsPage(r *http.Request) (any, error) {
	s, err := pg.settings(r.Context())
	if err != nil {
		return nil, err
	}
	logo, err := pg.logo(r.Context())
	if err != nil {
		return nil, err
	}
	return settingsPage{ShopInput: *s, Tools: pg.tools(), Saved: r.FormValue("saved") != "", Addresses: pg.addresses(), Logo: logo}, nil
}

// settingsFields are the fields that a person types into, named as in a job file.
var settingsFields = []string{"name", "rate", "altitude", "ambient", "coldest"}

// HasTool is whether a tool is at hand: one that was never denied is.
func (p settingsPage) HasTool(id string) bool {
	for _, l := range p.Lacks {
		if l == id {
			return false
		}
	}
	return true
}

// postSettings keeps the settings, or shows them again with what is wrong.
func (pg *settingsPages) postSettings(w http.ResponseWriter, r *http.Request) {
	s := ShopInput{Name: clip(r.FormValue("name"), 80), Units: r.FormValue("units"), Rate: clip(r.FormValue("rate"), 40),
		Altitude: clip(r.FormValue("altitude"), 40), Ambient: clip(r.FormValue("ambient"), 40),
		Coldest: clip(r.FormValue("coldest"), 40), Photos: clip(r.FormValue("photos"), 10), Pool: clip(r.FormValue("pool"), 10)}
	at := map[string]bool{}
	for _, t := range r.Form["tool"] {
		at[t] = true
	}
	for _, t := range pg.tools() {
		if !at[t.ID] {
			s.Lacks = append(s.Lacks, t.ID)
		}
	}
	err := pg.api.settings.keepSettings(r.Context(), &s)
	var ps job.Problems
	switch {
	case err == nil:
		http.Redirect(w, r, "/settings?saved=1", http.StatusSeeOther)
	case errors.As(err, &ps):
		p := settingsPage{ShopInput: s, Tools: pg.tools(), Addresses: pg.addresses(), wrongFields: wrongFields{}}
		for _, x := range ps {
			if slices.Contains(settingsFields, x.Path) {
				p.wrongFields[x.Path] = wrongHere(x)
			} else {
				p.Problems = append(p.Problems, plain(x))
			}
		}
		pg.page(w, r, failureOf(err).Status, "settings", p)
	default:
		pg.fail(w, r, err)
	}
}
