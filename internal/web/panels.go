package web

import (
	"net/http"

	"weephole/cause"
	"weephole/check"
	"weephole/internal/web/drawing"
	"weephole/internal/work"
)

// panelsView is the panels of places: what can be entered there.
type panelsView struct {
	Strip   *strip // of a place's own page
	ID      string
	Panels  []panel
	Repairs []choice
	Changed []string
	Was     atPlace // of a place's own page
}

// PageTitle is the title of a place's own page.
func (v panelsView) PageTitle() string {
	if len(v.Panels) == 1 {
		return drawing.Name(v.Panels[0].Place)
	}
	return "Places"
}

type panel struct {
	Place  string
	Checks []checkView
}

type checkView struct {
	*check.Check
	Cautions    []cautionView
	Inputs      []input
	Needs       string // the engine state, in words
	How         string // in the shop's units, as the cautions are
	Tools       []choice
	Instruments []choice
}

// means is what a check is made with: a shape and a word.
type means struct{ Icon, Word string }

// Means is the tool that says most of a check: hand tools only where there is no other, and
// eyes and hands where there is none.
func (c checkView) Means() means {
	out := means{"eye", "eyes and hands"}
	for _, t := range c.Tools {
		if icon := meansIcons[t.ID]; out.Icon == "eye" || out.Icon == "spanner" {
			out = means{icon, t.Name}
		}
	}
	return out
}

// cautionView is a caution in the shop's units, and what it is about in a word or two.
type cautionView struct{ Hazard, Name, Says string }

type input struct {
	*check.ReadingModel
	Units []string // the shop's first
	Here  bool     // this place's own reading
}

// unitsOf are the units in which a kind of reading may be typed.
var unitsOf = map[string][2][]string{ // metric, us
	"temperature":            {{"°C", "°F"}, {"°F", "°C"}},
	"temperature-difference": {{"K", "°F"}, {"°F", "K"}},
	"pressure":               {{"bar", "kPa", "psi"}, {"psi", "bar", "kPa"}},
	"duration":               {{"min", "s"}, {"min", "s"}},
	"share":                  {{"%"}, {"%"}},
}

var stateWords = map[string]string{
	"any": "engine in any state", "cold": "engine cold", "cold-start": "started cold, first minutes", "warm": "engine warm",
	"hot-idle": "engine hot, idling", "fast-idle": "engine hot, held at 2,500 rev/min", "hot-off": "engine hot, switched off", "road": "on the road", "open": "parts off the car",
}

// instruments are the tools that read temperatures, of which a reading may say
// which one it was.
var instruments = []string{"infrared", "probe", "scan-tool"}

// panelsFor makes the panel of one place, or of all when place is empty.
func (pg *jobPages) panelsFor(r *http.Request, place string) (panelsView, error) {
	s, err := pg.current(r.Context(), r.PathValue("id"))
	if err != nil {
		return panelsView{}, err
	}
	v := panelsView{ID: s.ID, Changed: append(cause.ChangeWords(), "unknown")}
	for i := range pg.cfg.Model.Causes.Repairs {
		rep := &pg.cfg.Model.Causes.Repairs[i]
		v.Repairs = append(v.Repairs, choice{rep.ID, rep.Name})
	}
	for _, p := range drawing.Places() {
		if place != "" && p != place {
			continue
		}
		one := panel{Place: p}
		for i := range pg.cfg.Model.Checks.Checks {
			if c, here := pg.checkView(&pg.cfg.Model.Checks.Checks[i], p, s); here {
				one.Checks = append(one.Checks, c)
			}
		}
		v.Panels = append(v.Panels, one)
	}
	return v, nil
}

// checkView is a check as the panel of a place shows it, and whether it belongs
// there.
func (pg *jobPages) checkView(k *check.Check, place string, s *currentJob) (checkView, bool) {
	u, us := s.units(), 0
	if u.TemperatureIn == "°F" {
		us = 1
	}
	c := checkView{Check: k, Needs: stateWords[k.State], How: u.InText(k.How)}
	here := k.Place == place
	reads := false
	for i := range k.Readings {
		rd := &k.Readings[i]
		at := rd.Place
		if at == "" {
			at = k.Place
		}
		here = here || at == place
		reads = reads || rd.What == "temperature" || rd.What == "temperature-difference"
		c.Inputs = append(c.Inputs, input{rd, unitsOf[rd.What][us], at == place})
	}
	for _, h := range pg.cfg.Model.Causes.HazardsOn(k.Hazards, work.FanKind(s.Head.Vehicle.Fan.Kind)) {
		c.Cautions = append(c.Cautions, cautionView{h.ID, h.Name, u.InText(h.Caution)})
	}
	for _, t := range pg.tools() {
		for _, id := range k.Tools {
			if id == t.ID {
				c.Tools = append(c.Tools, t)
			}
		}
		for _, id := range instruments {
			if reads && id == t.ID {
				c.Instruments = append(c.Instruments, t)
			}
		}
	}
	return c, here
}
