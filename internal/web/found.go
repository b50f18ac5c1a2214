package web

import (
	"encoding/json"
	"strings"

	"weephole/cause"
	"weephole/internal/job"
	"weephole/internal/store"
	"weephole/internal/web/drawing"
	"weephole/quantity"
)

// said is a finding's body as a page reads it.
type said struct {
	Check, Found, Repair, Changed, Note, Trace string
	Read                                       map[string]string
}

// findings puts every finding into words, in the order made: a new one then moves
// none of those that somebody may be about to tap.
func (v *jobView) findings(pg *pages, s *store.State, u quantity.Units) {
	for i := range s.Findings {
		f := &s.Findings[i]
		var x said
		_ = json.Unmarshal(f.Body, &x) // what cannot be read is shown without words
		fv := findingView{Finding: *f, Name: x.Check + x.Repair, Note: x.Note, Check: x.Check, Place: pg.placeOf(x.Check)}
		if k := pg.cfg.Model.Checks.Check(x.Check); k != nil {
			fv.Name = k.Name
			var parts []string
			if w := k.WordIndex(x.Found); w >= 0 {
				parts = append(parts, k.Words[w].Says)
			} else if x.Found != "" {
				parts = append(parts, x.Found)
			}
			for r := range k.Readings {
				if text := x.Read[k.Readings[r].ID]; text != "" {
					parts = append(parts, k.Readings[r].Name+" "+text)
				}
			}
			if x.Trace != "" {
				parts = append(parts, "log "+x.Trace)
			}
			fv.Says = strings.Join(parts, "; ")
		} else if rep := pg.cfg.Model.Causes.Repair(x.Repair); rep != nil {
			fv.Name, fv.Says = "tried: "+rep.Name, "changed: "+orUnknown(x.Changed)
		}
		if f.Struck {
			v.Struck++
		}
		v.Findings = append(v.Findings, fv)
	}
}

// repairs finds the repairs done last in a row, and whether anything was found
// after them.
func (v *jobView) repairs(pg *pages, s *store.State) {
	for _, f := range s.Standing() {
		var x said
		_ = json.Unmarshal(f.Body, &x)
		rep := pg.cfg.Model.Causes.Repair(x.Repair)
		switch {
		case rep == nil:
			v.Seen = len(v.Done) > 0
			continue
		case v.Seen || failed(x.Changed):
			v.Done, v.Seen = nil, false
		}
		if !failed(x.Changed) {
			v.Done = append(v.Done, rep.Name)
		}
	}
}

// failed tells of a repair after which nothing was better: no proof is wanted of
// it, it is a finding like any other (see aftercare.Part).
func failed(changed string) bool {
	return changed == cause.Nothing.String() || changed == cause.Worse.String()
}

func orUnknown(s string) string {
	if s == "" {
		return job.Unknown
	}
	return s
}

// plateText is how much a plate can hold, characters.
const plateText = 11

// onPlate is a text as it stands on a plate: one that is too long says so.
func onPlate(text string) string {
	if short := clip(text, plateText); short == strings.TrimSpace(text) {
		return short
	}
	return clip(text, plateText-1) + "…"
}

// marks tells what each place's plate says.
func (v *jobView) marks(pg *pages, s *store.State) map[string]drawing.Mark {
	marks := map[string]drawing.Mark{}
	for _, f := range s.Standing() {
		var x said
		_ = json.Unmarshal(f.Body, &x)
		k := pg.cfg.Model.Checks.Check(x.Check)
		if k == nil {
			continue
		}
		m := marks[k.Place]
		m.Made++
		if x.Found != "" {
			m.Value = onPlate(strings.ReplaceAll(x.Found, "-", " "))
		} else if x.Trace != "" {
			m.Value = "log"
		}
		marks[k.Place] = m
		for r := range k.Readings {
			rd := &k.Readings[r]
			text := x.Read[rd.ID]
			if text == "" || text == job.Unknown {
				continue
			}
			place := rd.Place
			if place == "" {
				place = k.Place
			}
			m := marks[place]
			if place != k.Place {
				m.Made++
			}
			m.Value = onPlate(text)
			if t, err := quantity.ParseTemperature(text); err == nil && rd.What == "temperature" {
				m.Known, m.TempC = true, float64(t)
			}
			marks[place] = m
		}
	}
	if v.Step != nil && v.Step.Place != "" && !v.Stale {
		m := marks[v.Step.Place]
		m.Next = true
		marks[v.Step.Place] = m
	}
	return marks
}
