package finish

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"weephole/cause"
	"weephole/cause/sheet"
	"weephole/internal/answer"
	"weephole/internal/job"
	"weephole/lineup"
	"weephole/plan"
	"weephole/quantity"
)

// Depth is how many steps deep the plan is drawn.
const Depth = 3

// WhatIf changes one thing or several about a job, to see what the plan would be
// then. The zero value changes nothing.
type WhatIf struct {
	Finding string // "combustion-gas=turned", or "replace-thermostat=nothing"
	With    string // a tool that is then at hand
	Without string // a tool that is then not
	Quote   string // the quote's price
	Rate    string // the labour rate
	LeaveIn string // the time that the car has left, "90 min"
}

// Plan is what to do from here, as a tree; with a what-if also what it was before.
type Plan struct {
	*answer.Next
	If     []string     `json:"if,omitempty"` // what was changed, in words
	Before *answer.Next `json:"before,omitempty"`
}

// WrongIf is a what-if that cannot be understood.
type WrongIf struct{ Why string }

func (w *WrongIf) Error() string { return "what if: " + w.Why }

func wrongIf(format string, args ...any) error { return &WrongIf{fmt.Sprintf(format, args...)} }

// Plan waits for the plan of a job.
func (f *Finisher) Plan(ctx context.Context, s Subject, what WhatIf) (*Plan, error) {
	return f.plan(s, what).wait(ctx)
}

// PlanNow gives the plan that is at hand, or begins it and says false.
func (f *Finisher) PlanNow(s Subject, what WhatIf) (*Plan, bool, error) {
	r := f.plan(s, what)
	if !r.ready() {
		return nil, false, nil
	}
	return r.out, true, r.err
}

func (f *Finisher) plan(s Subject, what WhatIf) *run[*Plan] {
	return f.plans.begin(&f.wg, fmt.Sprint(s.key(), what), func(ctx context.Context) (*Plan, error) {
		b, err := f.read(ctx, s)
		if err != nil {
			return nil, err
		}
		change, err := f.change(b, s.Units, what)
		if err != nil {
			return nil, err
		}
		l, err := f.lineups.begin(&f.wg, s.key(), func(ctx context.Context) (*lineup.Lineup, error) { return f.weigh(ctx, b.work.Case) }).wait(ctx)
		if err != nil {
			return nil, err
		}
		ask := answer.Ask{Shop: b.work.Shop, Settings: f.cfg.Plan, Units: s.Units, Currency: Currency(b.job), Depth: Depth}
		if q := b.job.Quote; q != nil && q.Presumes != job.Unknown {
			ask.QuotePresumes, ask.QuoteRepair, ask.QuotePrice = q.Presumes, q.Repair, q.Price.Or(quantity.Money{}).Amount
		}
		out := &Plan{If: change.says}
		if out.Next, err = answer.ForNext(ctx, l, ask); err != nil || len(change.says) == 0 {
			return out, err
		}
		out.Before = out.Next
		out.Next, err = change.next(ctx, l, ask)
		return out, err
	})
}

// change is a what-if made ready: what is then found, and what is asked then.
type change struct {
	says   []string
	events []lineup.Event
	edits  []func(*answer.Ask)
}

func (c *change) next(ctx context.Context, l *lineup.Lineup, ask answer.Ask) (*answer.Next, error) {
	for _, ev := range c.events {
		var err error
		if l, err = l.Extend(ctx, ev); err != nil {
			return nil, err
		}
		if k := l.Model().Checks.Check(ev.Check); k != nil {
			ask.Shop.State = plan.After(k, ask.Shop.State)
		}
	}
	for _, edit := range c.edits {
		edit(&ask)
	}
	return answer.ForNext(ctx, l, ask)
}

// change reads a what-if.
func (f *Finisher) change(b *bench, u quantity.Units, w WhatIf) (*change, error) {
	c := &change{}
	edit := func(says string, e func(*answer.Ask)) { c.says, c.edits = append(c.says, says), append(c.edits, e) }
	if w.Finding != "" {
		ev, says, err := f.supposed(w.Finding)
		if err != nil {
			return nil, err
		}
		c.says, c.events = append(c.says, says), append(c.events, ev)
	}
	if w.With != "" {
		name, err := f.tool(w.With)
		if err != nil {
			return nil, err
		}
		edit("with: "+name, func(a *answer.Ask) {
			a.Shop.Lacks = slices.DeleteFunc(slices.Clone(a.Shop.Lacks), func(x string) bool { return x == w.With })
			if a.Shop.Tools != nil {
				a.Shop.Tools = append(slices.Clone(a.Shop.Tools), w.With)
			}
		})
	}
	if w.Without != "" {
		name, err := f.tool(w.Without)
		if err != nil {
			return nil, err
		}
		edit("without: "+name, func(a *answer.Ask) { a.Shop.Lacks = append(slices.Clone(a.Shop.Lacks), w.Without) })
	}
	if w.Quote != "" {
		m, err := quantity.ParseMoney(w.Quote)
		switch {
		case err != nil:
			return nil, wrongIf("the quote's price: %v", err)
		case b.job.Quote == nil:
			return nil, wrongIf("the job has no quote; write it down under car and complaint first")
		}
		edit("quoted: "+u.Money(m), func(a *answer.Ask) { a.QuotePrice = m.Amount })
	}
	if w.Rate != "" {
		r, err := quantity.ParseRate(w.Rate)
		if err != nil {
			return nil, wrongIf("the labour rate: %v", err)
		}
		edit("labour: "+u.Rate(r), func(a *answer.Ask) { a.Shop.Rate = r.PerHour })
	}
	if w.LeaveIn != "" {
		d, err := quantity.ParseDuration(w.LeaveIn)
		if err != nil || d <= 0 {
			return nil, wrongIf("the time left %q: write a time to come, such as 90 min", w.LeaveIn)
		}
		edit("the car leaves in "+u.Duration(d), func(a *answer.Ask) { a.Shop.LeavesIn = float64(d) / secondsPerMinute })
	}
	return c, nil
}

const secondsPerMinute = 60

// supposed reads "check=word" or "repair=changed".
func (f *Finisher) supposed(text string) (lineup.Event, string, error) {
	id, word, _ := strings.Cut(text, "=")
	m := f.cfg.Model
	if k := m.Checks.Check(id); k != nil {
		var words []string
		for _, w := range k.Words {
			if words = append(words, w.Is); w.Is == word {
				return lineup.Event{Check: id, Word: word}, k.Name + ": " + w.Says, nil
			}
		}
		return lineup.Event{}, "", wrongIf("%s does not come out %q%s", id, word, sheet.Instead(word, words))
	}
	if r := m.Causes.Repair(id); r != nil {
		for o, says := range cause.OutcomeWords() {
			if says == word {
				return lineup.Event{Repair: id, Changed: cause.Outcome(o)}, r.Name + ": changed " + word, nil
			}
		}
		return lineup.Event{}, "", wrongIf("a repair changes nothing of the kind %q%s", word, sheet.Instead(word, cause.OutcomeWords()))
	}
	return lineup.Event{}, "", wrongIf("no check or repair is called %q", id)
}

// tool is a tool's name.
func (f *Finisher) tool(id string) (string, error) {
	for _, t := range f.cfg.Model.Causes.Tools {
		if t.ID == id {
			return t.Name, nil
		}
	}
	return "", wrongIf("no tool is called %q", id)
}
