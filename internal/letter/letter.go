package letter

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"weephole/internal/aftercare"
	"weephole/internal/answer"
	"weephole/internal/chart"
	"weephole/internal/job"
	"weephole/lineup"
	"weephole/proof"
	"weephole/quantity"
	"weephole/trace"
)

// Letter is the account, ready to be set.
type Letter struct {
	Title    string    `json:"title"`
	From     string    `json:"from"` // the shop
	Date     string    `json:"date"`
	Car      string    `json:"car"`
	Sections []Section `json:"sections"`
	Short    string    `json:"short"` // for a text message
}

// Section is one part of the letter; parts that are empty are not set.
type Section struct {
	Head  string      `json:"head"`
	Paras []string    `json:"paras,omitempty"`
	Rows  [][2]string `json:"rows,omitempty"` // what, and what it showed
	Items []string    `json:"items,omitempty"`
	Chart *chart.Plot `json:"-"`
}

// Facts is what a letter is made from.
type Facts struct {
	Job      *job.Job
	Model    *lineup.Model
	Units    quantity.Units
	Currency string
	Odds     lineup.Odds       // as they stood before the repair
	Proof    *aftercare.Answer // nil or undone when nothing was repaired
	Parted   *aftercare.Parted
	Before   *trace.Trace // a log from before the repair, or nil
}

// shown are bounds of what a letter says; judgement.
const (
	ruledOut  = 0.05 // odds at or under which a cause counts as ruled out
	wasLikely = 0.04 // odds at the start from which it is worth a word
	mostRuled = 4
	supported = 0.5 // odds from which a quote's cause is supported
)

// Write makes the letter.
func Write(f Facts) *Letter {
	w := &writer{Facts: f}
	w.found()
	l := &Letter{Title: "About your car and its cooling system", From: f.Job.Shop.Name, Date: f.Job.Closing.When, Car: f.Job.Vehicle.Name}
	if l.Car == "" {
		l.Car = f.Job.Name
	}
	for _, s := range []Section{w.told(), w.measured(), w.was(), w.wasNot(), w.quote(), w.done(), w.proof(), w.cost(), w.watch(), w.cautions()} {
		if len(s.Paras)+len(s.Items)+len(s.Rows) > 0 || s.Chart != nil {
			l.Sections = append(l.Sections, s)
		}
	}
	l.Short = w.short()
	return l
}

type writer struct {
	Facts
	cause string // what it was, by id; "" if nobody can say
	sure  bool   // the repair is proven, or the shop has written the cause down
}

// found settles what the letter says it was: what the shop wrote down at the
// closing, else what the odds say by more than half.
func (w *writer) found() {
	if c := w.Job.Closing.Cause; c != "" && c != job.Unknown {
		w.cause, w.sure = c, true
		return
	}
	if len(w.Odds.Causes) > 0 && w.Odds.Causes[0].Probability >= 0.5 && w.Odds.Causes[0].Cause != "something-else" {
		w.cause = w.Odds.Causes[0].Cause
	}
}

func (w *writer) odds(id string) *lineup.CauseOdds {
	for i := range w.Odds.Causes {
		if w.Odds.Causes[i].Cause == id {
			return &w.Odds.Causes[i]
		}
	}
	return nil
}

func (w *writer) name(id string) string {
	if c := w.Model.Causes.Cause(id); c != nil {
		return withArticle(c.Name)
	}
	return id
}

func (w *writer) told() Section {
	s := Section{Head: "What you told us"}
	c := &w.Job.Complaint
	if c.Words != "" {
		s.Paras = append(s.Paras, "“"+strings.TrimSpace(c.Words)+"”")
	}
	var signs, when, fine []string
	for _, id := range c.Signs {
		if i := w.Model.Checks.SignIndex(id); i >= 0 {
			signs = append(signs, w.Model.Checks.Signs[i].Name)
		}
	}
	conditions := func(ids []string) (out []string) {
		for _, id := range ids {
			if i := w.Model.Checks.ConditionIndex(id); i >= 0 {
				out = append(out, w.Model.Checks.Conditions[i].Name)
			}
		}
		return out
	}
	when, fine = conditions(c.When), conditions(c.Fine)
	var b strings.Builder
	if len(signs) > 0 {
		b.WriteString("In our words: " + and(signs) + ".")
	}
	if len(when) > 0 {
		b.WriteString(" It happens: " + and(when) + ".")
	}
	if len(fine) > 0 {
		b.WriteString(" It does not happen: " + and(fine) + ".")
	}
	if b.Len() > 0 {
		s.Paras = append(s.Paras, strings.TrimSpace(b.String()))
	}
	return s
}

// measured lists the findings made before the repair, and draws the run after it.
func (w *writer) measured() Section {
	s := Section{Head: "What we measured"}
	last := len(w.Job.Findings)
	if n := len(w.Parted.RepairOf); n > 0 {
		last = w.Parted.RepairOf[0]
	}
	for i := range w.Job.Findings[:last] {
		if what, showed := w.finding(&w.Job.Findings[i]); what != "" {
			s.Rows = append(s.Rows, [2]string{what, showed})
		}
	}
	var bands []aftercare.Band
	if w.Proof != nil {
		bands = w.Proof.Bands
	}
	if s.Chart = aftercare.Picture(w.Before, bands, w.Units); s.Chart != nil {
		s.Chart.Standalone = true
	}
	return s
}

// Finding says a finding of a job in two phrases: what was done, and what it
// showed.
func Finding(m *lineup.Model, u quantity.Units, f *job.Finding) (what, showed string) {
	w := writer{Facts: Facts{Model: m, Units: u}}
	return w.finding(f)
}

// finding says a finding in two phrases.
func (w *writer) finding(f *job.Finding) (what, showed string) {
	if f.Repair != "" {
		if r := w.Model.Causes.Repair(f.Repair); r != nil {
			changed := map[string]string{"nothing": "changed nothing", "better": "made it better", "worse": "made it worse", "cured": "seemed to cure it"}[f.Changed]
			return "Tried: " + r.Name, changed
		}
		return "", ""
	}
	c := w.Model.Checks.Check(f.Check)
	if c == nil {
		return "", ""
	}
	var says []string
	if f.Found != "" && f.Found != job.Unknown {
		if i := c.WordIndex(f.Found); i >= 0 {
			says = append(says, c.Words[i].Says)
		}
	}
	for _, r := range f.Read {
		if k := c.ReadingIndex(r.ID); k >= 0 && r.Known() {
			says = append(says, c.Readings[k].Name+" "+answer.Amount(w.Units, c.Readings[k].What, r.Value))
		}
	}
	if f.Trace != "" {
		says = append(says, w.logged(f.Trace))
	}
	if len(says) == 0 {
		return "", ""
	}
	return sentence(c.Name), strings.Join(says, "; ")
}

// logged says of a log how hot it got, where it is at hand.
func (w *writer) logged(name string) string {
	if w.Before == nil || w.Before.Name != name {
		return "logged"
	}
	hottest := math.Inf(-1)
	for _, c := range w.Before.Signals[trace.Coolant] {
		if c > hottest { // false for a gap
			hottest = c
		}
	}
	if math.IsInf(hottest, 0) {
		return "logged"
	}
	return "logged; the hottest was " + w.Units.Temperature(quantity.Temperature(hottest))
}

func (w *writer) was() Section {
	s := Section{Head: "What it was"}
	o := w.odds(w.cause)
	if o == nil {
		s.Paras = append(s.Paras, "We could not find it out with certainty. What was measured fits several causes; none of them reaches even odds.")
		return s
	}
	c := w.Model.Causes.Cause(w.cause)
	says := sentence(w.name(w.cause)) + "."
	if !w.sure {
		says = "Most likely: " + w.name(w.cause) + "."
	}
	s.Paras = append(s.Paras, says+" "+c.Tells)
	s.Paras = append(s.Paras, fmt.Sprintf("How we know: we compared your car with %d simulated engines like it, each with something else wrong. From what you told us, %s of every 200 that would act like yours had this; after what we measured, %s of 200.%s",
		w.Odds.Candidates, count(o.Before, 200), count(o.Probability, 200), w.rest(o)))
	for _, r := range o.For[:min(3, len(o.For))] {
		if r.Finding > 0 {
			s.Items = append(s.Items, "What spoke for it: "+w.reason(r)+".")
		}
	}
	for i := range w.Odds.Causes {
		x := &w.Odds.Causes[i]
		if x.Cause != w.cause && x.Probability >= supported && x.Cause != "no-fault" && x.Cause != "something-else" {
			s.Paras = append(s.Paras, fmt.Sprintf("It also had %s: %s of 200.", w.name(x.Cause), count(x.Probability, 200)))
		}
	}
	if w.Job.Closing.Showed != "" {
		s.Paras = append(s.Paras, "When it was open we saw: "+w.Job.Closing.Showed+".")
	}
	return s
}

// rest names what most of the other engines had, where they are many.
func (w *writer) rest(o *lineup.CauseOdds) string {
	if o.Probability >= 0.8 {
		return ""
	}
	for i := range w.Odds.Causes {
		x := &w.Odds.Causes[i]
		if x.Cause == o.Cause || x.Probability < 0.1 {
			continue
		}
		return fmt.Sprintf(" Most of the others had %s.", w.name(x.Cause))
	}
	return ""
}

// reason says a reason with what was found.
func (w *writer) reason(r lineup.Reason) string {
	times := math.Pow(10, math.Abs(r.Decibans)/10)
	much := "somewhat more"
	switch {
	case times >= 50:
		much = "very much more"
	case times >= 8:
		much = "much more"
	}
	if r.Decibans < 0 {
		much = strings.Replace(much, "more", "less", 1)
	}
	what := r.What
	if i := r.Finding - 1; i >= 0 && i < len(w.findingOf()) {
		if a, b := w.finding(&w.Job.Findings[w.findingOf()[i]]); a != "" {
			what = lower(a) + " (" + b + ")"
		}
	}
	return fmt.Sprintf("%s. One sees that %s often on cars with this fault than on others", what, much)
}

// findingOf maps the events of the case before the repair to findings.
func (w *writer) findingOf() []int { return w.Parted.BeforeOf }

func (w *writer) wasNot() Section {
	s := Section{Head: "What it was not, and how we know"}
	list := slices.Clone(w.Odds.Causes)
	slices.SortStableFunc(list, func(a, b lineup.CauseOdds) int {
		switch {
		case a.Before > b.Before:
			return -1
		case a.Before < b.Before:
			return 1
		}
		return 0
	})
	for i := range list {
		o := &list[i]
		if o.Cause == w.cause || o.Probability > ruledOut || o.Before < wasLikely || o.Cause == "something-else" || len(s.Items) == mostRuled {
			continue
		}
		if o.Cause == "no-fault" {
			continue
		}
		why := ""
		for _, r := range o.Against {
			if r.Finding > 0 {
				why = " What spoke against it: " + w.reason(r) + "."
				break
			}
		}
		s.Items = append(s.Items, fmt.Sprintf("Not %s: %s of every 200 engines that fit have it; at first it was %s.%s",
			w.name(o.Cause), count(o.Probability, 200), count(o.Before, 200), why))
	}
	return s
}

func (w *writer) quote() Section {
	s := Section{Head: "The repair that was quoted"}
	q := w.Job.Quote
	if q == nil {
		return s
	}
	by := q.By
	if by == "" {
		by = "another shop"
	}
	what := "a repair"
	if r := w.Model.Causes.Repair(q.Repair); r != nil {
		what = "to " + r.Name
	}
	price := ""
	if q.Price.Known() {
		price = " for " + w.Units.Money(q.Price.Value)
	}
	s.Paras = append(s.Paras, fmt.Sprintf("You brought a quote from %s: %s%s.", by, what, price))
	o := w.odds(q.Presumes)
	if o == nil {
		s.Paras = append(s.Paras, "It does not say which cause it is for, so we cannot weigh it.")
		return s
	}
	n := count(o.Probability, 200)
	switch {
	case q.Presumes == w.cause:
		s.Paras = append(s.Paras, fmt.Sprintf("They were right about the cause: it was %s. Our own measurements say the same.", w.name(q.Presumes)))
	case o.Probability >= supported:
		s.Paras = append(s.Paras, fmt.Sprintf("What we measured supports it: of every 200 engines that fit, %s have %s.", n, w.name(q.Presumes)))
	case o.Probability > ruledOut:
		s.Paras = append(s.Paras, fmt.Sprintf("What we measured neither supports it nor rules it out: of every 200 engines that fit, %s have %s. That is too few to begin with the dearest repair.", n, w.name(q.Presumes)))
	default:
		s.Paras = append(s.Paras, fmt.Sprintf("What we measured does not support it: of every 200 engines that fit, %s have %s. From what you told them it was not a foolish guess (%s of 200 at that point); it takes measurements to tell.", n, w.name(q.Presumes), count(o.Before, 200)))
	}
	return s
}

func (w *writer) done() Section {
	s := Section{Head: "What was done"}
	for _, i := range w.Parted.RepairOf {
		f := &w.Job.Findings[i]
		r := w.Model.Causes.Repair(f.Repair)
		if r == nil {
			continue
		}
		line := sentence(r.Name)
		if f.Part != "" {
			line += ": " + f.Part
		}
		if f.Minutes.Known() {
			line += ", " + w.Units.Duration(f.Minutes.Value)
		}
		s.Items = append(s.Items, line+".")
	}
	u := &w.Job.Closing.Coolant
	if u.Filled.Known() {
		line := "Coolant filled in: " + w.Units.Volume(u.Filled.Value)
		if u.Mix.Known() {
			line += " of a mix with " + w.Units.Share(u.Mix.Value) + " antifreeze"
		}
		s.Items = append(s.Items, line+".")
	}
	if u.Drained.Known() && u.Went != "" {
		s.Items = append(s.Items, fmt.Sprintf("The old coolant (%s) went to: %s.", w.Units.Volume(u.Drained.Value), u.Went))
	}
	return s
}

func (w *writer) proof() Section {
	s := Section{Head: "Proof"}
	if w.Proof == nil || !w.Proof.Done {
		return s
	}
	j := w.Proof.Judgement
	if j == nil {
		s.Paras = []string{"Nothing was measured after the repair that could prove it. Please have us run the car once more before you rely on it."}
		return s
	}
	switch {
	case j.Verdict == proof.Proven:
		s.Paras = append(s.Paras, "We ran the car afterwards in a way in which the fault would have shown itself, and it did not. By our bounds fewer than 2 of 100 repairs that are not right would have passed this.")
	case j.AsFarAsSeen() == proof.Proven:
		how := "We ran the car and checked it afterwards."
		if len(w.Proof.Bands) == 0 {
			how = "We checked the car afterwards."
		}
		s.Paras = append(s.Paras, how+" The fault would have shown itself, and it did not; nor did any other fault that these runs and checks would have shown. What they cannot show stands below.")
	case j.Verdict == proof.NotProven && j.Cause == proof.Proven:
		s.Paras = append(s.Paras, "The cause that we repaired is gone. But what was measured afterwards says that something else is wrong, and we are not finished.")
	case j.Verdict == proof.NotProven:
		s.Paras = append(s.Paras, "What was measured afterwards says that it is not right yet. We are not finished.")
	case j.Cause == proof.Proven || j.CauseSeen == proof.Proven:
		s.Paras = append(s.Paras, "We looked afterwards in ways in which this fault would have shown itself, and it did not: the cause is gone. What they cannot show we cannot exclude by them.")
	default:
		s.Paras = append(s.Paras, "The run afterwards would have looked much the same with or without the fault, so by itself it proves nothing.")
	}
	s.Paras = append(s.Paras, fmt.Sprintf("In numbers: of every 200 such cars that looked like this afterwards, in %s the cause is gone, and in %s nothing else is wrong either.",
		count(j.Gone, 200), count(j.Clean, 200)))
	open, head := j.Unsettled, "What could still come: "
	if j.AsFarAsSeen() == proof.Proven {
		open, head = j.Unseen, "What could not be shown, and could still come: "
		if j.Cause != proof.Proven && j.Verdict != proof.Proven {
			s.Paras = append(s.Paras, fmt.Sprintf("A small rest of the fault, too small to show itself, may be left in %s of 200.", count(j.Rest, 200)))
		}
	}
	if j.Verdict != proof.Proven && len(open) > 0 {
		var names []string
		for _, u := range open[:min(3, len(open))] {
			names = append(names, fmt.Sprintf("%s (%s of 200)", withArticle(u.Name), count(u.Probability, 200)))
		}
		s.Paras = append(s.Paras, head+and(names)+".")
	}
	w.after(&s)
	return s
}

// after lists what was looked at after the repair, each kind of looking once
// with its last result and how often.
func (w *writer) after(s *Section) {
	times := make(map[string]int)
	var order []string
	last := make(map[string]string)
	from := len(w.Job.Findings)
	if n := len(w.Parted.RepairOf); n > 0 {
		from = w.Parted.RepairOf[n-1] + 1
	}
	for i := from; i < len(w.Job.Findings); i++ {
		what, showed := w.finding(&w.Job.Findings[i])
		if what == "" {
			continue
		}
		if times[what]++; times[what] == 1 {
			order = append(order, what)
		}
		last[what] = showed
	}
	for _, what := range order {
		showed := last[what]
		if n := times[what]; n > 1 {
			showed += fmt.Sprintf(" (looked at %d times)", n)
		}
		s.Rows = append(s.Rows, [2]string{what, showed})
	}
}

func (w *writer) cost() Section {
	s := Section{Head: "What it cost"}
	c := w.Job.Closing.Charged
	q := w.Job.Quote
	switch {
	case c.Known() && q != nil && q.Price.Known():
		s.Rows = [][2]string{{"The quote you had", w.Units.Money(q.Price.Value)}, {"What you pay here", w.Units.Money(c.Value)}}
		if c.Value.Currency == q.Price.Value.Currency {
			d := q.Price.Value
			d.Amount -= c.Value.Amount
			switch {
			case d.Amount > 0:
				s.Rows = append(s.Rows, [2]string{"Less than quoted by", w.Units.Money(d)})
			case d.Amount < 0:
				d.Amount = -d.Amount
				s.Rows = append(s.Rows, [2]string{"More than quoted by", w.Units.Money(d)})
			}
		}
	case c.Known():
		s.Rows = [][2]string{{"What you pay", w.Units.Money(c.Value)}}
	}
	return s
}

func (w *writer) watch() Section {
	s := Section{Head: "What to watch"}
	if w.Job.Closing.Watch != "" {
		s.Items = append(s.Items, sentence(strings.TrimSuffix(w.Job.Closing.Watch, "."))+".")
	}
	s.Items = append(s.Items,
		"Look at the coolant level in a week and in a month, engine cold. If it has fallen, come back: a slow loss shows in no run.",
		"If the needle leaves its usual place, stop as soon as it is safe, switch off, and let it cool before anything else.",
		"If the heater blows cold with a warm engine, do not drive on: the engine may be short of coolant.")
	return s
}

func (w *writer) cautions() Section {
	return Section{Head: "Please be careful", Items: []string{
		"Never open the cap of a hot engine: scalding coolant shoots out. Wait until the upper hose is cool to hold.",
		"Coolant is poisonous and tastes sweet to children and animals. Wipe it up.",
		"An electric fan can start by itself, even with the engine off.",
	}}
}

// short is for a text message: about three of them at most.
func (w *writer) short() string {
	var b strings.Builder
	if w.Job.Shop.Name != "" {
		b.WriteString(w.Job.Shop.Name + ": ")
	}
	if w.cause != "" {
		b.WriteString("it was " + w.name(w.cause) + ". ")
	} else {
		b.WriteString("the cause is not certain yet. ")
	}
	for _, i := range w.Parted.RepairOf {
		if r := w.Model.Causes.Repair(w.Job.Findings[i].Repair); r != nil {
			b.WriteString("Done: " + r.Name + ". ")
		}
	}
	if w.Proof != nil && w.Proof.Judgement != nil {
		j := w.Proof.Judgement
		switch {
		case j.Verdict == proof.Proven:
			b.WriteString("Proven by a run afterwards. ")
		case j.AsFarAsSeen() == proof.NotProven:
			b.WriteString("The run afterwards says it is not right yet. ")
		case j.AsFarAsSeen() == proof.Proven:
			b.WriteString("Proven afterwards, as far as a run and checks can show. ")
		case j.Cause == proof.Proven || j.CauseSeen == proof.Proven:
			b.WriteString("The run afterwards shows the cause is gone. ")
		default:
			b.WriteString("Not proven yet: one more run is needed. ")
		}
	}
	if c := w.Job.Closing.Charged; c.Known() {
		b.WriteString("To pay: " + w.Units.Money(c.Value))
		if q := w.Job.Quote; q != nil && q.Price.Known() {
			b.WriteString(" (quoted before: " + w.Units.Money(q.Price.Value) + ")")
		}
		b.WriteString(". ")
	}
	b.WriteString("Please look at the coolant level in a week, engine cold.")
	return b.String()
}

// withArticle puts "a" or "an" before a name that wants one.
func withArticle(name string) string {
	for _, bare := range []string{"a ", "an ", "the ", "no ", "air ", "deposits ", "wrong ", "too ", "something "} {
		if strings.HasPrefix(name, bare) {
			return name
		}
	}
	if name != "" && strings.ContainsRune("aeio", rune(name[0])) {
		return "an " + name
	}
	return "a " + name
}

// count says a share as a count.
func count(p float64, of int) string {
	n := int(math.Round(p * float64(of)))
	switch {
	case n == 0:
		return "fewer than 1"
	case n == of:
		return "more than " + fmt.Sprint(of-1)
	}
	return fmt.Sprint(n)
}

func and(list []string) string {
	if len(list) < 2 {
		return strings.Join(list, "")
	}
	return strings.Join(list[:len(list)-1], ", ") + " and " + list[len(list)-1]
}

func sentence(s string) string {
	r := []rune(s)
	if len(r) > 0 {
		r[0] = []rune(strings.ToUpper(string(r[0])))[0]
	}
	return string(r)
}

func lower(s string) string {
	r := []rune(s)
	if len(r) > 1 && (r[1] >= 'a' && r[1] <= 'z' || strings.HasPrefix(s, "A ")) {
		r[0] = []rune(strings.ToLower(string(r[0])))[0]
	}
	return string(r)
}
