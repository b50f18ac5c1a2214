package paper

import (
	"fmt"
	"slices"
	"strings"

	"weephole/cause"
	"weephole/internal/answer"
	"weephole/proof"
)

func (w *writer) done() Section {
	s := Section{Head: "What was done"}
	for _, i := range w.History.RepairOf {
		f := &w.Job.Findings[i]
		r := w.Model.Causes.Repair(f.Repair)
		if r == nil {
			continue
		}
		line := answer.Sentence(r.Name)
		if f.Part != "" {
			line += ": " + f.Part
		}
		if f.Minutes.Known() {
			line += ", " + w.Style.Units.Duration(f.Minutes.Value)
		}
		s.Items = append(s.Items, line+".")
	}
	u := &w.Job.Closing.Coolant
	if u.Filled.Known() {
		line := "Coolant filled in: " + w.Style.Units.Volume(u.Filled.Value)
		if u.Mix.Known() {
			line += " of a mix with " + w.Style.Units.Share(u.Mix.Value) + " antifreeze"
		}
		s.Items = append(s.Items, line+".")
	}
	if u.Drained.Known() && u.Went != "" {
		s.Items = append(s.Items, fmt.Sprintf("The old coolant (%s) went to: %s.", w.Style.Units.Volume(u.Drained.Value), u.Went))
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
		s.Paras = []string{"Nothing was measured after the repair that could prove it. Please let us run the car once more before you rely on it."}
		return s
	}
	switch {
	case j.Verdict == proof.Proven:
		s.Paras = append(s.Paras, "We ran the car afterwards in a way that would have shown the fault, and it did not appear. Fewer than 2 % of failed repairs would pass this test.")
	case j.AsFarAsSeen() == proof.Proven:
		how := "We ran the car and checked it afterwards."
		if len(w.Proof.Bands) == 0 {
			how = "We checked the car afterwards."
		}
		s.Paras = append(s.Paras, how+" That would have shown the fault, and it did not appear. Nor did any other fault that these runs and checks can show. What they cannot show is listed below.")
	case j.Verdict == proof.NotProven && j.Cause == proof.Proven:
		s.Paras = append(s.Paras, "The cause that we repaired is gone. But the measurements afterwards say that something else is wrong. We are not finished.")
	case j.Verdict == proof.NotProven:
		s.Paras = append(s.Paras, "The measurements afterwards say that it is not right yet. We are not finished.")
	case j.Cause == proof.Proven || j.CauseSeen == proof.Proven:
		s.Paras = append(s.Paras, "We checked afterwards in ways that would have shown this fault, and it did not appear: the cause is gone. These checks cannot show everything.")
	default:
		s.Paras = append(s.Paras, w.open(j))
	}
	s.Paras = append(s.Paras, fmt.Sprintf("In numbers: the probability that the cause is gone is %s. That nothing else is wrong either: %s.",
		answer.Percent(j.Gone), answer.Percent(j.Clean)))
	open, head := j.Suspects, "What may still turn up: "
	if j.AsFarAsSeen() == proof.Proven {
		open, head = j.Unseen, "What could not be shown, and may still turn up: "
		if j.Cause != proof.Proven && j.Verdict != proof.Proven {
			s.Paras = append(s.Paras, fmt.Sprintf("A small remainder of the fault, too small to show, is possible (%s).", answer.Percent(j.Rest)))
		}
	}
	if j.Verdict != proof.Proven && len(open) > 0 {
		var names []string
		open = proof.ByName(open)
		for _, u := range open[:min(3, len(open))] {
			names = append(names, fmt.Sprintf("%s (%s)", answer.Article(u.Name), answer.Percent(u.Probability)))
		}
		s.Paras = append(s.Paras, head+answer.And(names)+".")
	}
	w.after(&s)
	return s
}

// open says that a repair is not proven yet, why, and what would prove it.
func (w *writer) open(j *proof.Judgement) string {
	text := "It is not proven yet that the fault is gone."
	switch {
	case answer.SpeaksFor(j):
		text += " What we saw afterwards speaks for the repair, but not clearly enough."
	case answer.SpeaksAgainst(j):
		text += " What we saw afterwards looks more like a car that still has the fault."
	case len(w.Proof.Bands) > 0:
		text += " The run afterwards would have looked much the same with and without the fault."
	default:
		text += " What we saw afterwards would have looked much the same with and without the fault."
	}
	if j.Seen == proof.Proven {
		text += " No other fault shows."
	}
	p := w.Proof.Plan
	if p == nil {
		return text + " One more run or check is needed."
	}
	var proves []string
	if len(p.Runs) > 0 && !p.Settled && (p.Runs[0].Tells || p.Runs[0].FindsOut) {
		proves = append(proves, "a run ("+p.Runs[0].Name+")")
	}
	for i := range p.Checks {
		if len(proves) < mostProves {
			proves = append(proves, p.Checks[i].Name)
		}
	}
	if len(proves) == 0 {
		return text + " One more run or check is needed."
	}
	return text + " What would prove it: " + strings.Join(proves, "; ") + "."
}

// margin says how much cooling was left before the repair, and is now.
func (w *writer) margin() Section {
	s := Section{Head: "How much cooling is left"}
	if w.Proof == nil || !w.Proof.Done || w.Proof.Margin == nil {
		return s
	}
	m := answer.AfterRepair(w.Proof.Margin, w.Style)
	s.Paras = append(s.Paras, m.Gains...)
	for _, text := range []string{m.Enough, m.Little, m.Eats} {
		if text != "" {
			s.Paras = append(s.Paras, text)
		}
	}
	if len(s.Paras) > 0 {
		s.Paras = append(s.Paras, "These are outside air temperatures, worked out from what was found on your car. They are not promises.")
	}
	return s
}

// after lists what was looked at after the repair, each kind of looking once
// with its last result and how often.
func (w *writer) after(s *Section) {
	times := make(map[string]int)
	var order []string
	last := make(map[string]string)
	from := len(w.Job.Findings)
	if n := len(w.History.RepairOf); n > 0 {
		from = w.History.RepairOf[n-1] + 1
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
			showed += fmt.Sprintf(" (checked %d times)", n)
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
		s.Rows = [][2]string{{"The quote you had", w.Style.Units.Money(q.Price.Value)}, {"Total to pay here", w.Style.Units.Money(c.Value)}}
		if c.Value.Currency == q.Price.Value.Currency {
			d := q.Price.Value
			d.Amount -= c.Value.Amount
			switch {
			case d.Amount > 0:
				s.Rows = append(s.Rows, [2]string{"Less than quoted by", w.Style.Units.Money(d)})
			case d.Amount < 0:
				d.Amount = -d.Amount
				s.Rows = append(s.Rows, [2]string{"More than quoted by", w.Style.Units.Money(d)})
			}
		}
	case c.Known():
		s.Rows = [][2]string{{"Total to pay", w.Style.Units.Money(c.Value)}}
	}
	return s
}

func (w *writer) watch() Section {
	s := Section{Head: "What to watch"}
	if w.Job.Closing.Watch != "" {
		s.Items = append(s.Items, answer.Sentence(strings.TrimSuffix(w.Job.Closing.Watch, "."))+".")
	}
	s.Items = append(s.Items,
		"Check the coolant level in a week and in a month, with the engine cold. If it has fallen, come back: no run shows a slow loss.",
		"If the needle leaves its usual place, stop as soon as it is safe. Switch off, and let the engine cool before you do anything else.",
		"If the heater blows cold with a warm engine, do not drive on. The engine may be short of coolant.")
	return s
}

func (w *writer) cautions() Section {
	return Section{Head: "Please be careful", Items: []string{
		"Never open the cap of a hot engine: scalding coolant shoots out. Wait until the upper hose is cool to hold.",
		"Coolant is poisonous and tastes sweet to children and animals. Wipe it up.",
		"An electric fan can start by itself, even with the engine off.",
	}}
}

// short is for a text message: what it was, what was done, whether it holds, what it costs.
func (w *writer) short() string {
	var b strings.Builder
	if w.Job.Shop.Name != "" {
		b.WriteString(w.Job.Shop.Name + ": ")
	}
	b.WriteString(w.shortCause())
	for _, i := range w.History.RepairOf {
		f := &w.Job.Findings[i]
		r := w.Model.Causes.Repair(f.Repair)
		switch {
		case r == nil:
		case f.Part != "":
			b.WriteString("New part: " + f.Part + ". ")
		case r.Part != "":
			b.WriteString("New " + r.Part + " fitted. ")
		default:
			b.WriteString("Done: " + r.Name + ". ")
		}
	}
	b.WriteString(w.shortProof())
	if c := w.Job.Closing.Charged; c.Known() {
		b.WriteString(w.Style.Units.Money(c.Value))
		if q := w.Job.Quote; q != nil && q.Price.Known() {
			b.WriteString(" (quoted before: " + w.Style.Units.Money(q.Price.Value) + ")")
		}
		b.WriteString(". ")
	}
	b.WriteString("Please check the coolant level in a week, engine cold.")
	return b.String()
}

// shortCause names the part that was renewed, where the repair renews one and the shop
// knows that it was the fault; else the cause.
func (w *writer) shortCause() string {
	if w.cause == "" {
		return "The cause is not certain yet. "
	}
	k := w.Model.Causes.Index(w.cause)
	for _, i := range w.History.RepairOf {
		r := w.Model.Causes.Repair(w.Job.Findings[i].Repair)
		if !w.sure || r == nil || r.Part == "" || !slices.ContainsFunc(r.Cures, func(c cause.Cure) bool { return c.Cause == w.Model.Causes.Causes[k].ID }) {
			continue
		}
		return "It was the " + r.Part + ". "
	}
	switch {
	case !w.sure && len(w.History.RepairOf) == 0:
		return "Most likely it is " + w.name(w.cause) + ". " // nobody has looked inside yet
	case !w.sure:
		return "Most likely it was " + w.name(w.cause) + ". "
	}
	return "It was " + w.name(w.cause) + ". "
}

// shortProof says what the run and the checks afterwards showed.
func (w *writer) shortProof() string {
	if w.Proof == nil || w.Proof.Judgement == nil {
		return ""
	}
	run := "Checked afterwards"
	for _, b := range w.Proof.Bands {
		if n := len(b.Time); n > 0 {
			run = fmt.Sprintf("Checked on a %.0f-minute run", b.Time[n-1]/60)
		}
	}
	switch j := w.Proof.Judgement; {
	case j.Verdict == proof.Proven:
		return run + ": good. "
	case j.AsFarAsSeen() == proof.NotProven:
		return run + ": not right yet. "
	case j.AsFarAsSeen() == proof.Proven:
		return run + ": good, as far as that can show. "
	case j.Cause == proof.Proven || j.CauseSeen == proof.Proven:
		return run + ": the fault is gone. "
	case j.Seen == proof.Proven:
		return run + ": nothing wrong shows, but it is not proven yet. "
	}
	return "Not proven yet: one more run or check is needed. "
}
