package web

import (
	"encoding/json"
	"errors"
	"net/http"
	"slices"
	"strings"

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
	Over      string        // the settings that the form's fields follow from, as JSON
	Logo      *paper.Logo   // nil: none was given
	LogoOver  string        // the mark of the logo that is shown
	OwnLogo   string        // a picture that was not kept, because somebody else was quicker; base64
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
	p, err := pg.settingsForm(r, *s)
	p.Over, p.Saved = string(mustJSON(s)), r.FormValue("saved") != ""
	return p, err
}

// settingsForm is the page with settings in its form, and all else as it stands.
func (pg *settingsPages) settingsForm(r *http.Request, s ShopInput) (settingsPage, error) {
	p := settingsPage{ShopInput: s, Tools: pg.tools(), Addresses: pg.addresses(), wrongFields: wrongFields{}}
	logo, text, err := pg.keptLogo(r.Context())
	p.Logo, p.LogoOver = logo, mark(text)
	return p, err
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

// change is what the settings' form says, over the settings that it was made of: the
// form does not know all that settings can say.
func (pg *settingsPages) change(r *http.Request) (SettingsChange, error) {
	c := SettingsChange{Over: &ShopInput{}}
	if text := r.FormValue("over"); text != "" {
		if err := json.Unmarshal([]byte(text), c.Over); err != nil {
			return c, wrong(http.StatusBadRequest, "The form cannot be read. Open the settings again.")
		}
	}
	s := *c.Over
	s.Name, s.Units, s.Rate = clip(r.FormValue("name"), 80), r.FormValue("units"), clip(r.FormValue("rate"), 40)
	s.Altitude, s.Ambient, s.Coldest = clip(r.FormValue("altitude"), 40), clip(r.FormValue("ambient"), 40), clip(r.FormValue("coldest"), 40)
	s.Photos, s.Pool = clip(r.FormValue("photos"), 10), clip(r.FormValue("pool"), 10)
	s.Lacks = nil
	for _, t := range pg.tools() {
		if !slices.Contains(r.Form["tool"], t.ID) {
			s.Lacks = append(s.Lacks, t.ID)
		}
	}
	c.ShopInput = s
	return c, nil
}

// postSettings keeps the settings, or shows them again with what is wrong, or with what
// somebody else has changed meanwhile.
func (pg *settingsPages) postSettings(w http.ResponseWriter, r *http.Request) {
	c, err := pg.change(r)
	if err != nil {
		pg.fail(w, r, err)
		return
	}
	s, err := pg.api.settings.keepSettings(r, c)
	var ps job.Problems
	var m *mistake
	switch {
	case err == nil:
		http.Redirect(w, r, "/settings?saved=1", http.StatusSeeOther)
		return
	case errors.As(err, &ps):
	case errors.As(err, &m) && m.status == http.StatusConflict:
	default:
		pg.fail(w, r, err)
		return
	}
	p, err2 := pg.settingsForm(r, s)
	if err2 != nil {
		pg.fail(w, r, err2)
		return
	}
	p.Over = string(mustJSON(c.Over))
	if m != nil {
		p.Over, p.Problems = string(m.standing), strings.Split(m.message, "\n")
	}
	for _, x := range ps {
		if slices.Contains(settingsFields, x.Path) {
			p.wrongFields[x.Path] = wrongHere(x)
		} else {
			p.Problems = append(p.Problems, plain(x))
		}
	}
	pg.page(w, r, failureOf(err).Status, "settings", p)
}
