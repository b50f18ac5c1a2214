package check

import (
	"slices"
	"strings"

	"weephole/cause"
	"weephole/sheet"
)

// Whose is a kind of person whose word a job file gives.
type Whose struct {
	At   sheet.At `sheet:",at"`
	ID   string   `sheet:"id,required"`
	Name string   `sheet:"name,required"`
	// Slip is the probability that such a person misses what is so; how often he says
	// that something is so when it is not tells Checklist.Invents.
	Slip sheet.Sourced `sheet:"slip,required"`
	// Weight is how much of the weight of evidence of a check counts that such a
	// person made; 1 is all of it.
	Weight sheet.Sourced `sheet:"weight,required"`
}

// Scale turns a number that an owner tells into a sign: the needle's degrees. It does the
// same for what a check read, where the job says that the trouble is there whenever the
// engine runs: whoever read it then stood before the trouble.
type Scale struct {
	At    sheet.At    `sheet:",at"`
	ID    string      `sheet:"id,required"` // a key of the complaint, or check.reading
	Of    string      `sheet:"of"`          // kind of trouble that must be complained of, or nothing
	When  string      `sheet:"when"`        // condition that must be told of it, or nothing
	Bands []ScaleBand `sheet:"bands,required"`
	of    Trouble
}

// suits tells whether the scale counts for what is complained of.
func (s *Scale) suits(c *Checklist, said *Complaint) bool {
	if s.Of != "" && s.of != said.Trouble {
		return false
	}
	return s.When == "" || said.Conditions[c.ConditionIndex(s.When)] == Said
}

// ScaleBand is a part of a scale: from the band before it up to Below.
type ScaleBand struct {
	At     sheet.At `sheet:",at"`
	Below  *float64 `sheet:"below"` // °C or minutes; nil: without end
	Sign   string   `sheet:"sign"`  // or nothing
	When   string   `sheet:"when"`  // condition, or nothing
	Source string   `sheet:"source,required"`
}

// Weather is the outside air that a condition of the weather stands for, where
// no figure is given.
type Weather struct {
	At      sheet.At      `sheet:",at"`
	ID      string        `sheet:"id,required"` // of the condition
	Ambient sheet.Sourced `sheet:"ambient,required"`
}

// SignWord says which sign a word under some other key of a job file stands for.
type SignWord struct {
	At   sheet.At `sheet:",at"`
	ID   string   `sheet:"id,required"` // key and word: "since.weeks"
	Sign string   `sheet:"sign,required"`
}

// Same says which kind of recent work a repair is.
type Same struct {
	At   sheet.At `sheet:",at"`
	ID   string   `sheet:"id,required"` // of the repair
	Work string   `sheet:"work,required"`
}

// WorkOf is the kind of recent work that a repair is, "" when there is none.
func (c *Checklist) WorkOf(repair string) string {
	for i := range c.Works {
		if c.Works[i].ID == repair {
			return c.Works[i].Work
		}
	}
	return ""
}

// CarOdds says how what the car is changes the odds of a cause, or of one hidden state
// among those of its cause ("pump-weak@electric").
type CarOdds struct {
	At     sheet.At    `sheet:",at"`
	Cause  sheet.Words `sheet:"cause,required"`
	Odds   float64     `sheet:"odds,required"` // 0: such a car cannot have it
	Source string      `sheet:"source,required"`
	// MileageAbove and MileageBelow are in km, YearBefore a model year.
	MileageAbove *float64 `sheet:"mileage-above"`
	MileageBelow *float64 `sheet:"mileage-below"`
	YearBefore   *float64 `sheet:"year-before"`
	// Is are further keys: what the job file says of the car ("fan") and the
	// word that it must say there.
	Is sheet.RestWords `sheet:",rest"`
}

// Described is what a job file says of a car, as far as the odds know of it.
type Described struct {
	Words     map[string]string // "fan": "belt"
	MileageKm float64           // 0: not said
	Year      int               // 0: not said
}

// CarOdds are the factors on the odds of causes that come from what the car is, by the
// cause's id, and those on the shares of hidden states, by cause and state ("pump-weak.electric").
// Both are nil where nothing is said that matters.
func (c *Checklist) CarOdds(d Described) (causes, states map[string]float64) {
	times := func(m *map[string]float64, id string, odds float64) {
		if *m == nil {
			*m = make(map[string]float64)
		}
		if had, ok := (*m)[id]; ok {
			odds *= had
		}
		(*m)[id] = odds
	}
	for i := range c.Cars {
		k := &c.Cars[i]
		if !k.suits(d) {
			continue
		}
		for _, name := range k.Cause {
			if id, state, named := strings.Cut(name, "@"); named {
				times(&states, id+"."+state, k.Odds)
			} else {
				times(&causes, id, k.Odds)
			}
		}
	}
	return causes, states
}

// Meaning says that a condition told of such a car comes to another one.
type Meaning struct {
	At     sheet.At        `sheet:",at"`
	When   string          `sheet:"when,required"`  // condition as told
	Means  string          `sheet:"means,required"` // condition that it comes to
	Source string          `sheet:"source,required"`
	Is     sheet.RestWords `sheet:",rest"` // as in CarOdds
}

// Meant is the condition that one told of such a car comes to: mostly itself.
func (c *Checklist) Meant(d Described, when string) string {
	for i := range c.Meanings {
		if k := &c.Meanings[i]; k.When == when && d.is(k.Is) {
			return k.Means
		}
	}
	return when
}

// EngineFan says how likely the engine itself turns the fan of such cars, by belt,
// clutch or oil, where nobody has said how it is driven.
type EngineFan struct {
	At         sheet.At        `sheet:",at"`
	Share      float64         `sheet:"share,required"` // of such cars, 0 to 1
	Source     string          `sheet:"source,required"`
	YearBefore *float64        `sheet:"year-before"` // model year
	Is         sheet.RestWords `sheet:",rest"`       // as in CarOdds
}

// EngineFan is the probability that the engine turns the fan of a car of which no more
// is known: that of the last row that suits it. known is false where none does.
func (c *Checklist) EngineFan(d Described) (share float64, known bool) {
	for i := range c.EngineFans {
		f := &c.EngineFans[i]
		if d.is(f.Is) && d.before(f.YearBefore) {
			share, known = f.Share, true
		}
	}
	return share, known
}

func (k *CarOdds) suits(d Described) bool {
	switch {
	case k.MileageAbove != nil && !(d.MileageKm > *k.MileageAbove):
		return false
	case k.MileageBelow != nil && !(d.MileageKm > 0 && d.MileageKm < *k.MileageBelow):
		return false
	}
	return d.is(k.Is) && d.before(k.YearBefore)
}

// is says whether each of these words stands where the sheet's row wants it.
func (d Described) is(words sheet.RestWords) bool {
	return !slices.ContainsFunc(words, func(w sheet.RestWord) bool { return d.Words[w.Key] != w.Word })
}

// before says whether the car is known to be older than that; nil is any car.
func (d Described) before(year *float64) bool {
	return year == nil || d.Year > 0 && float64(d.Year) < *year
}

// WhoseWord is the kind of person with the id, or nil.
func (c *Checklist) WhoseWord(id string) *Whose {
	for i := range c.Whose {
		if c.Whose[i].ID == id {
			return &c.Whose[i]
		}
	}
	return nil
}

// OnScale is the band of the scale that a number falls into; nil where there is no such
// scale, or where it does not suit what is complained of.
func (c *Checklist) OnScale(scale string, value float64, said *Complaint) *ScaleBand {
	for i := range c.Scales {
		if c.Scales[i].ID != scale || !c.Scales[i].suits(c, said) {
			continue
		}
		for k := range c.Scales[i].Bands {
			b := &c.Scales[i].Bands[k]
			if b.Below == nil || value < *b.Below {
				return b
			}
		}
	}
	return nil
}

// SignOfWord is the index of the sign that a word under a key stands for, or -1.
func (c *Checklist) SignOfWord(key, word string) int {
	for i := range c.SignWords {
		if c.SignWords[i].ID == key+"."+word {
			return c.SignIndex(c.SignWords[i].Sign)
		}
	}
	return -1
}

// WeatherC is the outside air (°C) that a condition of the weather stands for.
func (c *Checklist) WeatherC(condition string) (float64, bool) {
	for i := range c.Weather {
		if c.Weather[i].ID == condition {
			return c.Weather[i].Ambient.Value, true
		}
	}
	return 0, false
}

// Seen is the probability of hearing of a sign that somebody looked for or came upon: so is
// the probability that it is so, slip that the person misses it, invents that he
// says so of a car on which it is not so.
func Seen(h Heard, so, slip, invents float64) float64 {
	if h == Denied {
		return (1-so)*(1-invents) + so*slip
	}
	return so*(1-slip) + (1-so)*invents
}

// mostInvented keeps a word from counting against itself: at worst it is the toss of a
// coin; judgement.
const mostInvented = 0.5

// Invents is the probability that somebody who errs with probability slip says that a
// sign was seen on a car on which it is not so. Of hundreds of signs he names this
// one: the owner errs by the sign's own share of mistakes among what is said of it,
// mistaken/said, and others by as much less as they err less than he.
func (c *Checklist) Invents(g *Sign, slip float64) float64 {
	return min(mostInvented, g.Mistaken.Value/g.Said.Value*slip/c.WhoseWord("owner").Slip.Value)
}

// signWords resolves what job files say beside signs and conditions.
func (r *resolver) signWords() {
	signs, conditions := r.signIDs(), r.conditionIDs()
	for i := range r.c.Whose {
		w := &r.c.Whose[i]
		r.share(w.At, "slip.value", w.Slip.Value)
		r.share(w.At, "weight.value", w.Weight.Value)
		if w.Slip.Value <= 0 {
			r.bad(w.At, "slip.value", "found %g; it is above 0: everybody errs now and then", w.Slip.Value)
		}
	}
	for i := range r.c.Scales {
		r.scale(&r.c.Scales[i], signs, conditions)
	}
	for i := range r.c.Weather {
		r.word(r.c.Weather[i].At, "id", r.c.Weather[i].ID, conditions)
	}
	for i := range r.c.SignWords {
		r.word(r.c.SignWords[i].At, "sign", r.c.SignWords[i].Sign, signs)
	}
	var repairs []string
	for i := range r.causes.Repairs {
		repairs = append(repairs, r.causes.Repairs[i].ID)
	}
	for i := range r.c.Works {
		r.word(r.c.Works[i].At, "id", r.c.Works[i].ID, repairs)
		r.word(r.c.Works[i].At, "work", r.c.Works[i].Work, cause.WorkWords())
	}
	for i := range r.c.Cars {
		k := &r.c.Cars[i]
		for _, name := range k.Cause {
			id, state, named := strings.Cut(name, "@")
			r.word(k.At, "cause", id, causeIDs(r.causes))
			if of := r.causes.Cause(id); named && of != nil {
				if _, _, ok := of.FindState(state); !ok {
					r.bad(k.At, "cause", "%s has no state \"%s\"%s", id, state, sheet.Instead(state, of.StateWords()))
				}
			}
		}
		if k.Odds < 0 {
			r.bad(k.At, "odds", "found %g; odds are 0 or more", k.Odds)
		}
		if len(k.Is) == 0 && k.MileageAbove == nil && k.MileageBelow == nil && k.YearBefore == nil {
			r.bad(k.At, "", "say which cars: fan, pump, thermostat, tank, kind, mileage-above, ...")
		}
	}
	for i := range r.c.Meanings {
		k := &r.c.Meanings[i]
		r.word(k.At, "when", k.When, conditions)
		r.word(k.At, "means", k.Means, conditions)
		if len(k.Is) == 0 {
			r.bad(k.At, "", "say of which cars: kind, fan, ...")
		}
	}
	for i := range r.c.EngineFans {
		f := &r.c.EngineFans[i]
		if !(f.Share >= 0 && f.Share <= 1) {
			r.bad(f.At, "share", "found %g; a share is from 0 to 1", f.Share)
		}
		if len(f.Is) == 0 && f.YearBefore == nil {
			r.bad(f.At, "", "say which cars: kind, year-before, ...")
		}
	}
	r.aboveZero("road-speed.value", r.c.RoadSpeed)
	r.aboveZero("road-a-day.value", r.c.RoadADay)
	if r.c.About.Value < 1 && r.c.About.Source != "" {
		r.bad(sheet.At{File: r.c.sheets[0].Name}, "about.value", "found %g; it is 1 or more", r.c.About.Value)
	}
}

// toldScales are the keys of a complaint that hold a number with a scale.
var toldScales = []string{"needle", "after"}

func (r *resolver) scale(s *Scale, signs, conditions []string) {
	id, reading, read := strings.Cut(s.ID, ".")
	k := r.c.Check(id)
	switch {
	case !read:
		r.word(s.At, "id", s.ID, toldScales)
		if s.Of+s.When != "" {
			r.bad(s.At, "id", "found \"of\" or \"when\" with \"%s\"; they are for what a check reads, such as second-thermometer.thermometer", s.ID)
		}
	case k == nil || k.ReadingIndex(reading) < 0:
		r.bad(s.At, "id", "no check has the reading \"%s\"; write check.reading, such as second-thermometer.thermometer", s.ID)
	}
	if s.Of != "" {
		if t := r.word(s.At, "of", s.Of, troubleWords[:]); t >= 0 {
			s.of = Trouble(t)
		}
	}
	if s.When != "" {
		r.word(s.At, "when", s.When, conditions)
	}
	for k := range s.Bands {
		b := &s.Bands[k]
		if b.Sign != "" {
			r.word(b.At, "sign", b.Sign, signs)
		}
		switch {
		case b.When != "" && read:
			r.bad(b.At, "when", "found \"%s\"; what a check reads stands for a sign alone", b.When)
		case b.When != "":
			r.word(b.At, "when", b.When, conditions)
		}
	}
}

// aboveZero wants it of a number that is there.
func (r *resolver) aboveZero(key string, n sheet.Sourced) {
	if n.Source != "" && !(n.Value > 0) {
		r.bad(sheet.At{File: r.c.sheets[0].Name}, key, "found %g; it is above 0", n.Value)
	}
}

func (r *resolver) signIDs() []string {
	ids := make([]string, len(r.c.Signs))
	for i := range ids {
		ids[i] = r.c.Signs[i].ID
	}
	return ids
}

func (r *resolver) conditionIDs() []string {
	ids := make([]string, len(r.c.Conditions))
	for i := range ids {
		ids[i] = r.c.Conditions[i].ID
	}
	return ids
}

// CarOddsKeys are the keys of Described.Words that the catalogue looks at.
func (c *Checklist) CarOddsKeys() []string {
	var keys []string
	seen := map[string]bool{}
	add := func(words sheet.RestWords) {
		for _, w := range words {
			if !seen[w.Key] {
				seen[w.Key] = true
				keys = append(keys, w.Key)
			}
		}
	}
	for i := range c.Cars {
		add(c.Cars[i].Is)
	}
	for i := range c.Meanings {
		add(c.Meanings[i].Is)
	}
	return keys
}
