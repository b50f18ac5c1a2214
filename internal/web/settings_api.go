package web

import (
	"net/http"

	"weephole/internal/store"
)

// settingsAPI is about the shop's settings and the demo jobs.
type settingsAPI struct {
	*jobs
	house *house
}

func (ap *settingsAPI) routes() []route {
	return append(ap.logoRoutes(), []route{
		{method: "GET", path: "/api/settings", name: "getSettings", about: "The shop's settings.", out: ShopInput{}, status: 200, do: ap.getSettings},
		{method: "PUT", path: "/api/settings", name: "setSettings", about: "Sets the shop's settings. With over they are a change of the settings that their author saw: what others changed since is kept, and what both changed is refused and told.", in: SettingsChange{}, out: ShopInput{}, status: 200, do: ap.setSettings},
		{method: "POST", path: "/api/demo", name: "addDemo", about: "Opens the demo jobs.", out: []Made{}, status: 201, do: ap.addDemo},
		{method: "DELETE", path: "/api/demo", name: "removeDemo", about: "Removes the demo jobs and all that was done to them.", out: Removed{}, status: 200, do: ap.removeDemo},
	}...)
}

func (ap *settingsAPI) getSettings(_ http.ResponseWriter, r *http.Request) (any, error) {
	return ap.settings(r.Context())
}

func (ap *settingsAPI) setSettings(_ http.ResponseWriter, r *http.Request) (any, error) {
	var c SettingsChange
	if err := decode(r, &c); err != nil {
		return nil, err
	}
	return ap.keepSettings(r, c)
}

// Removed says how many jobs are gone.
type Removed struct {
	Jobs int `json:"jobs"`
}

// addDemo opens the demo jobs that are not there yet.
func (ap *settingsAPI) addDemo(_ http.ResponseWriter, r *http.Request) (any, error) {
	out := []Made{}
	for _, d := range ap.cfg.Demo {
		e := store.Entry{ID: "demo-" + d.Name, Who: "the demo", Kind: store.Opened}
		if _, err := ap.store.Job(r.Context(), e.ID); err == nil {
			continue
		}
		made, err := ap.openDemo(r, e, d)
		if err != nil {
			return nil, err
		}
		out = append(out, made)
	}
	return out, nil
}

func (ap *settingsAPI) openDemo(r *http.Request, e store.Entry, d Demo) (Made, error) {
	made, err := ap.openOnly(r, e, d.Document)
	if err != nil {
		return Made{}, err
	}
	for name, content := range d.Files {
		if _, err := ap.store.PutFile(r.Context(), e.ID, store.File{Name: name, Type: "application/octet-stream", Who: e.Who}, content); err != nil {
			return Made{}, err
		}
	}
	if err := ap.store.MarkDemo(r.Context(), e.ID); err != nil {
		return Made{}, err
	}
	ap.evaluateSoon(e.ID) // now that its logs are there
	return made, nil
}

func (ap *settingsAPI) removeDemo(_ http.ResponseWriter, r *http.Request) (any, error) {
	n := 0
	for _, archived := range []bool{false, true} {
		list, err := ap.store.Jobs(r.Context(), store.Query{Archived: archived, Limit: 1 << 20})
		if err != nil {
			return nil, err
		}
		for _, j := range list {
			if !j.Demo {
				continue
			}
			if err := ap.store.RemoveDemo(r.Context(), j.ID); err != nil {
				return nil, err
			}
			n++
		}
	}
	return Removed{n}, nil
}

// keepSettings keeps the shop's settings; whether it takes part in the group's tally
// holds at once.
func (ap *settingsAPI) keepSettings(r *http.Request, c SettingsChange) (ShopInput, error) {
	s, err := ap.jobs.keepSettings(r.Context(), c, who(r))
	ap.house.pooling.Lock()
	defer ap.house.pooling.Unlock()
	ap.house.pooled = nil
	return s, err
}
