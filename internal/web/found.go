package web

import (
	"slices"
	"strings"

	"weephole/cause"
	"weephole/check"
	"weephole/internal/answer"
	"weephole/internal/job"
	"weephole/internal/web/drawing"
	"weephole/quantity"
)

// findings puts every finding into words, in the order made: a new one then moves
// none of those that somebody may be about to tap.
func (v *jobView) findings(wo *wording, s *currentJob) {
	for i := range s.Findings {
		fv := findingView{Finding: s.Findings[i], Name: "a finding that cannot be read"}
		if f := s.Said[i]; f != nil {
			fv.Name, fv.Says = wo.inWords(f)
			fv.Note, fv.Check, fv.Place = f.Note, f.Check, wo.placeOf(f.Check)
		}
		if fv.Struck {
			v.Struck++
		}
		v.Findings = append(v.Findings, fv)
	}
}

// inWords says what a finding is of, and what it showed.
func (wo *wording) inWords(f *job.Finding) (name, says string) {
	k := wo.model.Checks.Check(f.Check)
	if k == nil {
		if rep := wo.model.Causes.Repair(f.Repair); rep != nil {
			return "tried: " + rep.Name, answer.Changed(f.Changed)
		}
		return wo.saidBy(f), ""
	}
	var parts []string
	if w := k.WordIndex(f.Found); w >= 0 {
		parts = append(parts, k.Words[w].Says)
	} else if f.Found != "" {
		parts = append(parts, f.Found)
	}
	for r := range k.Readings {
		if text := f.Reading(k.Readings[r].ID).Text; text != "" {
			parts = append(parts, k.Readings[r].Name+" "+text)
		}
	}
	if f.Trace != "" {
		parts = append(parts, "log "+f.Trace)
	}
	return k.NameMade(), strings.Join(parts, "; ")
}

// saidBy says what a finding passes on that somebody said.
func (wo *wording) saidBy(f *job.Finding) string {
	name := func(id string) string {
		for i := range wo.model.Checks.Signs {
			if s := &wo.model.Checks.Signs[i]; s.ID == id {
				return s.Name
			}
		}
		return id
	}
	switch {
	case f.Sign != "":
		return "said: " + name(f.Sign)
	case f.Denied != "":
		return "said: not " + name(f.Denied)
	case f.NotKnown != "":
		return "asked, and not known: " + name(f.NotKnown)
	}
	return "a remark"
}

// repairs finds the repairs done last in a row, and whether anything was found
// after them.
func (v *jobView) repairs(wo *wording, s *currentJob) {
	for i, f := range s.Said {
		if f == nil || s.Findings[i].Struck {
			continue
		}
		rep := wo.model.Causes.Repair(f.Repair)
		switch {
		case rep == nil:
			v.Seen = len(v.Done) > 0
			continue
		case v.Seen || failed(f.Changed):
			v.Done, v.Seen = nil, false
		}
		if !failed(f.Changed) {
			v.Done = append(v.Done, rep.Name)
		}
	}
}

// failed tells of a repair after which nothing was better: no proof is wanted of
// it, it is a finding like any other (see work.History).
func failed(changed string) bool {
	return changed == cause.Nothing.String() || changed == cause.Worse.String()
}

// plateText is how much a plate can hold, characters.
const plateText = check.ShortMost

// onPlate is a text as it stands on a plate: one that is too long says so.
func onPlate(text string) string {
	if short := clip(text, plateText); short == strings.TrimSpace(text) {
		return short
	}
	return clip(text, plateText-1) + "…"
}

// marks are what the drawing shows of what was found.
type marks struct {
	at    map[string]drawing.Mark
	words map[string][]placeWord // what each check's newest word says of its place
	flow  drawing.Flow
	heats bool // the heater gives heat
	air   drawing.Air
	level drawing.Level
}

func newMarks() *marks {
	return &marks{at: map[string]drawing.Mark{}, words: map[string][]placeWord{}}
}

// placeWord is what one check's newest word says of a place.
type placeWord struct {
	check, word string
	state       drawing.State
}

// say takes in a word; a newer one of the same check stands in for the older.
func (m *marks) say(place string, w placeWord) {
	m.words[place] = append(slices.DeleteFunc(m.words[place], func(o placeWord) bool { return o.check == w.check }), w)
}

// settle gives each place the worst that any check said of it, the newest first: a
// later look at another part of the place takes no fault back. A reading keeps the
// place's value; the word then stands beside its name.
func (m *marks) settle() *marks {
	rank := map[drawing.State]int{drawing.Fine: 0, drawing.Doubtful: 1, drawing.Bad: 2}
	for place, words := range m.words {
		worst := words[0]
		for _, w := range words {
			if rank[w.state] >= rank[worst.state] {
				worst = w
			}
		}
		at := m.at[place]
		at.State = worst.state
		switch {
		case at.Value == "":
			at.Value = worst.word
		case worst.state != drawing.Fine:
			at.Word = worst.word
		}
		m.at[place] = at
	}
	return m
}

// marks tells what each place's plate says now, and what it said before the repairs
// done last; before is nil where none was done.
func (v *jobView) marks(wo *wording, s *currentJob) (now, before *marks) {
	now = newMarks()
	for i, f := range s.Said {
		if f == nil || s.Findings[i].Struck {
			continue
		}
		if f.Repair != "" && !failed(f.Changed) && len(v.Done) > 0 {
			if len(now.at) > 0 {
				before = now.settle()
			}
			now = newMarks() // what was found before is of another car
			continue
		}
		v.mark(now, f, wo.model.Checks.Check(f.Check), s.units())
	}
	if c := v.Cap; c != nil && !v.Archived {
		at := now.at["cap"]
		at.Wait = &drawing.Wait{Left: c.Left, Of: c.Of}
		now.at["cap"] = at
		now.say("cap", placeWord{check: "the wait", word: at.Wait.Word()})
	}
	now.settle()
	if v.Step != nil && v.Step.Place != "" && !v.Stale && len(v.Done) == 0 {
		m := now.at[v.Step.Place]
		m.Next = true
		now.at[v.Step.Place] = m
	}
	return now, before
}

// mark writes what a finding showed at its places.
func (v *jobView) mark(all *marks, f *job.Finding, k *check.Check, u quantity.Units) {
	if k == nil {
		return
	}
	m := all.at[k.Place]
	m.Made++
	if w := k.WordIndex(f.Found); w >= 0 {
		all.tell(k.ID, f.Found)
		said := placeWord{k.ID, onPlate(k.Words[w].InShort()), standing(&k.Words[w])}
		if k.ID == levelCheck {
			said.state = drawing.Fine // the level itself is drawn
		}
		all.say(k.Place, said)
	} else if f.Trace != "" {
		all.say(k.Place, placeWord{check: k.ID, word: "log"})
	}
	all.at[k.Place] = m
	for i := range k.Readings {
		rd := &k.Readings[i]
		x := f.Reading(rd.ID)
		if !x.Known() {
			continue
		}
		place := rd.Place
		if place == "" {
			place = k.Place
		}
		m := all.at[place]
		if place != k.Place {
			m.Made++
		}
		m.Value = onPlate(x.Text)
		if rd.What == "temperature" {
			m.Known, m.TempC, m.Healthy = true, x.Value, v.healthy(k.ID, rd.ID, asTyped(x.Text, u))
		}
		if k.ID == heaterCheck {
			all.heats = x.Value >= heats
		}
		all.at[place] = m
	}
}

// levelCheck is the check whose words the drawing shows as a level.
const levelCheck = "level-cold"

// heaterCheck is the check whose reading tells that coolant goes through the heater: from
// the air, degC, from which on its words call it hot (heater-output of the catalogue).
const (
	heaterCheck = "heater-output"
	heats       = 50
)

// tell takes from a word what the whole drawing shows.
func (m *marks) tell(check, word string) {
	switch check + " " + word {
	case "level-cold full":
		m.level = drawing.LevelFull
	case "level-cold low":
		m.level = drawing.LevelLow
	case "level-cold empty":
		m.level = drawing.LevelEmpty
	case "fan-run runs", "fan-command obeys":
		m.air = drawing.AirMoves
	case "fan-run still", "fan-command dead", "fan-command only-fed":
		m.air = drawing.AirStill
	case "heater-hoses both-hot", "heater-output hot":
		m.heats = true
	case "heater-hoses both-cool", "heater-hoses one-cold", "heater-output cold", "heater-output lukewarm":
		m.heats = false
	case "pot-test shut":
		m.flow = drawing.ThroughBypass
	case "pot-test open":
		m.flow = drawing.ThroughRadiator
	}
}

// standing is how a part stands by a word that was found there: a word that shows the
// fault itself makes it bad, one that gives the alarm makes it doubtful.
func standing(w *check.Word) drawing.State {
	switch {
	case len(w.Direct) > 0:
		return drawing.Bad
	case w.Alarm:
		return drawing.Doubtful
	}
	return drawing.Fine
}

// healthy is what a healthy engine reads, in given units; nil if that is not known.
func (v *jobView) healthy(check, reading string, u quantity.Units) *drawing.Range {
	e := v.expected(check, reading, "")
	if e == nil || e.Healthy == nil {
		return nil
	}
	return &drawing.Range{LowC: e.Healthy.Low, HighC: e.Healthy.High, Says: answer.Span(u, "temperature", [2]float64{e.Healthy.Low, e.Healthy.High})}
}

func (v *jobView) expected(check, reading, word string) *answer.ExpectedFacts {
	if v.Answer == nil {
		return nil
	}
	for i := range v.Answer.Expected {
		if e := &v.Answer.Expected[i]; e.Check == check && e.Reading == reading && e.Word == word {
			return e
		}
	}
	return nil
}
