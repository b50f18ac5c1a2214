package work

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"weephole/cause"
	"weephole/lineup"
	"weephole/plan"
	"weephole/quantity"
	"weephole/sheet"
)

// WhatIf changes one thing or several about a job, to see what the plan would be
// then. The zero value changes nothing.
type WhatIf struct {
	Findings []string // "combustion-gas=turned", or "replace-thermostat=nothing"
	With     []string // tools that are then at hand
	Without  []string // tools that are then not
	Quote    string   // the quote's price, "$900"
	Rate     string   // the labour rate, "$95/h"
	LeaveIn  string   // the time that the car has left, "90 min"
}

// The parts of a what-if, as a WrongIf names them.
const (
	IfFound   = "if"
	IfWith    = "with"
	IfWithout = "without"
	IfQuote   = "quote"
	IfRate    = "rate"
	IfLeaves  = "leave-in"
)

// WrongIf is a what-if that cannot be understood: which part, what stood there,
// and what to write instead.
type WrongIf struct {
	Part  string
	Found string
	Err   error
}

func (w *WrongIf) Error() string { return fmt.Sprintf("%s %q: %v", w.Part, w.Found, w.Err) }

func (w *WrongIf) Unwrap() error { return w.Err }

// Hypothetical is a what-if made ready: what is then found, and what is asked then.
type Hypothetical struct {
	Parts  []Changed // none when nothing is changed
	events []lineup.Event
	edits  []func(*Ask)
}

// Changed is one thing that a what-if changes.
type Changed struct {
	Part  string       // IfFound, ...
	Event lineup.Event // what is found, of IfFound
	Tool  string       // name, of IfWith and IfWithout
	Price quantity.Money
	Rate  quantity.Rate
	Time  quantity.Duration
}

// Read makes the what-if ready for a job that has a quote or not. Its error is a
// *WrongIf.
func (w WhatIf) Read(m *lineup.Model, quoted bool) (*Hypothetical, error) {
	c := &Hypothetical{}
	edit := func(part Changed, e func(*Ask)) { c.Parts, c.edits = append(c.Parts, part), append(c.edits, e) }
	for _, text := range w.Findings {
		ev, err := supposed(m, text)
		if err != nil {
			return nil, &WrongIf{IfFound, text, err}
		}
		c.Parts, c.events = append(c.Parts, Changed{Part: IfFound, Event: ev}), append(c.events, ev)
	}
	for _, id := range w.With {
		name, err := toolName(m, id)
		if err != nil {
			return nil, &WrongIf{IfWith, id, err}
		}
		edit(Changed{Part: IfWith, Tool: name}, func(a *Ask) {
			a.Shop.Lacks = slices.DeleteFunc(slices.Clone(a.Shop.Lacks), func(x string) bool { return x == id })
			if a.Shop.Tools != nil {
				a.Shop.Tools = append(slices.Clone(a.Shop.Tools), id)
			}
		})
	}
	for _, id := range w.Without {
		name, err := toolName(m, id)
		if err != nil {
			return nil, &WrongIf{IfWithout, id, err}
		}
		edit(Changed{Part: IfWithout, Tool: name}, func(a *Ask) { a.Shop.Lacks = append(slices.Clone(a.Shop.Lacks), id) })
	}
	if w.Quote != "" {
		price, err := quantity.ParseMoney(w.Quote)
		if err == nil && !quoted {
			err = errors.New("the job has no quote; write it down with the car and the complaint first")
		}
		if err != nil {
			return nil, &WrongIf{IfQuote, w.Quote, err}
		}
		edit(Changed{Part: IfQuote, Price: price}, func(a *Ask) { a.QuotePrice = price.Amount })
	}
	if w.Rate != "" {
		rate, err := quantity.ParseRate(w.Rate)
		if err != nil {
			return nil, &WrongIf{IfRate, w.Rate, err}
		}
		edit(Changed{Part: IfRate, Rate: rate}, func(a *Ask) { a.Shop.Rate = &rate.PerHour })
	}
	if w.LeaveIn != "" {
		d, err := quantity.ParseDuration(w.LeaveIn)
		if err == nil && d <= 0 {
			err = errors.New("write a time above zero, such as 90 min")
		}
		if err != nil {
			return nil, &WrongIf{IfLeaves, w.LeaveIn, err}
		}
		edit(Changed{Part: IfLeaves, Time: d}, func(a *Ask) { a.Shop.LeavesIn = new(d.Minutes()) })
	}
	return c, nil
}

// Next plans with the change. The lineup stays as it was.
func (c *Hypothetical) Next(ctx context.Context, l *lineup.Lineup, ask Ask) (*Next, error) {
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
	return NextOf(ctx, l, ask)
}

// supposed reads "check=word" or "repair=changed".
func supposed(m *lineup.Model, text string) (lineup.Event, error) {
	id, word, ok := strings.Cut(text, "=")
	id, word = strings.TrimSpace(id), strings.TrimSpace(word)
	if !ok || word == "" {
		return lineup.Event{}, errors.New("write a check and what it showed, such as combustion-gas=turned")
	}
	if k := m.Checks.Check(id); k != nil {
		if k.WordIndex(word) >= 0 {
			return lineup.Event{Check: id, Word: word}, nil
		}
		var words []string
		for _, w := range k.Words {
			words = append(words, w.Is)
		}
		return lineup.Event{}, fmt.Errorf("%s has no result %q%s", id, word, sheet.Instead(word, words))
	}
	if m.Causes.Repair(id) != nil {
		if o := slices.Index(cause.ChangeWords(), word); o >= 0 {
			return lineup.Event{Repair: id, Changed: cause.Change(o)}, nil
		}
		return lineup.Event{}, fmt.Errorf("a repair has no result %q%s", word, sheet.Instead(word, cause.ChangeWords()))
	}
	var ids []string
	for i := range m.Checks.Checks {
		ids = append(ids, m.Checks.Checks[i].ID)
	}
	for i := range m.Causes.Repairs {
		ids = append(ids, m.Causes.Repairs[i].ID)
	}
	return lineup.Event{}, fmt.Errorf("no check or repair is called %q%s", id, sheet.Instead(id, ids))
}

// toolName is the name of a tool of the catalogue.
func toolName(m *lineup.Model, id string) (string, error) {
	var ids []string
	for _, t := range m.Causes.Tools {
		if t.ID == id {
			return t.Name, nil
		}
		ids = append(ids, t.ID)
	}
	return "", fmt.Errorf("no such tool%s", sheet.Instead(id, ids))
}
