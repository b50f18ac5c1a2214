package main

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"weephole/cause"
	"weephole/cause/sheet"
	"weephole/internal/answer"
	"weephole/internal/exit"
	"weephole/lineup"
	"weephole/plan"
	"weephole/quantity"

	"github.com/spf13/cobra"
)

// whatIf are the flags that change one thing or several.
type whatIf struct {
	findings, with, without []string
	quote, rate, leave      string
}

func (w *whatIf) add(cmd *cobra.Command) {
	fl := cmd.Flags()
	fl.StringArrayVar(&w.findings, "if", nil, "what if this was found, as check=word or repair=change; may be given again")
	fl.StringArrayVar(&w.with, "with", nil, "what if this tool were at hand; may be given again")
	fl.StringArrayVar(&w.without, "without", nil, "what if this tool were not at hand; may be given again")
	fl.StringVar(&w.quote, "quote", "", `what if the quote's price were this ("$900")`)
	fl.StringVar(&w.rate, "rate", "", `what if the labour rate were this ("$95/h")`)
	fl.StringVar(&w.leave, "leave-in", "", `what if the car must leave in this time ("90min")`)
}

// change is what-if made ready: what to do to the case and to the question.
type change struct {
	events []lineup.Event
	shop   func(*answer.Ask)
	says   []string
}

// read checks the words; nil when nothing is to change.
func (w *whatIf) read(b *bench) (*change, error) {
	c := &change{}
	var edits []func(*answer.Ask)
	edit := func(says string, f func(*answer.Ask)) {
		c.says = append(c.says, says)
		edits = append(edits, f)
	}
	for _, text := range w.findings {
		ev, says, err := b.finding(text)
		if err != nil {
			return nil, exit.Usage(fmt.Errorf("--if %q: %w", text, err))
		}
		c.events = append(c.events, ev)
		c.says = append(c.says, says)
	}
	for _, t := range []struct {
		flag  string
		tools []string
		have  bool
	}{{"--with", w.with, true}, {"--without", w.without, false}} {
		for _, id := range t.tools {
			name, err := b.tool(id)
			if err != nil {
				return nil, exit.Usage(fmt.Errorf("%s %q: %w", t.flag, id, err))
			}
			if t.have {
				edit("with: "+name, func(a *answer.Ask) {
					a.Shop.Lacks = slices.DeleteFunc(slices.Clone(a.Shop.Lacks), func(x string) bool { return x == id })
					if a.Shop.Tools != nil {
						a.Shop.Tools = append(slices.Clone(a.Shop.Tools), id)
					}
				})
			} else {
				edit("without: "+name, func(a *answer.Ask) { a.Shop.Lacks = append(slices.Clone(a.Shop.Lacks), id) })
			}
		}
	}
	if w.quote != "" {
		m, err := quantity.ParseMoney(w.quote)
		if err != nil {
			return nil, exit.Usage(fmt.Errorf("--quote: %w", err))
		}
		if b.job.Quote == nil {
			return nil, exit.Usage(fmt.Errorf("--quote %q: the job has no quote; write one under \"quote:\" in the job file", w.quote))
		}
		edit("quoted: "+m.String(), func(a *answer.Ask) { a.QuotePrice = m.Amount })
	}
	if w.rate != "" {
		r, err := quantity.ParseRate(w.rate)
		if err != nil {
			return nil, exit.Usage(fmt.Errorf("--rate: %w", err))
		}
		edit("labour: "+w.rate, func(a *answer.Ask) { a.Shop.Rate = r.PerHour })
	}
	if w.leave != "" {
		d, err := quantity.ParseDuration(w.leave)
		if err != nil {
			return nil, exit.Usage(fmt.Errorf("--leave-in: %w", err))
		}
		if d <= 0 {
			return nil, exit.Usage(fmt.Errorf("--leave-in %q: write a time to come, such as 90min", w.leave))
		}
		edit("the car leaves in "+b.units.Duration(d), func(a *answer.Ask) { a.Shop.LeavesIn = float64(d) / secondsPerMinute })
	}
	if len(c.says) == 0 {
		return nil, nil
	}
	c.shop = func(a *answer.Ask) {
		for _, f := range edits {
			f(a)
		}
	}
	return c, nil
}

const secondsPerMinute = 60

// next plans with the change.
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
	c.shop(&ask)
	return answer.ForNext(ctx, l, ask)
}

// finding reads "check=word" or "repair=changed".
func (b *bench) finding(text string) (lineup.Event, string, error) {
	id, word, ok := strings.Cut(text, "=")
	id, word = strings.TrimSpace(id), strings.TrimSpace(word)
	if !ok || word == "" {
		return lineup.Event{}, "", fmt.Errorf("write a check and what it showed, such as combustion-gas=turned")
	}
	if k := b.model.Checks.Check(id); k != nil {
		i := k.WordIndex(word)
		if i < 0 {
			var words []string
			for _, w := range k.Words {
				words = append(words, w.Is)
			}
			return lineup.Event{}, "", fmt.Errorf("%s does not come out %q%s", id, word, sheet.Instead(word, words))
		}
		return lineup.Event{Check: id, Word: word}, fmt.Sprintf("%s: %s", k.Name, k.Words[i].Says), nil
	}
	if r := b.model.Causes.Repair(id); r != nil {
		for o, says := range cause.OutcomeWords() {
			if says == word {
				return lineup.Event{Repair: id, Changed: cause.Outcome(o)}, fmt.Sprintf("%s: changed %s", r.Name, word), nil
			}
		}
		return lineup.Event{}, "", fmt.Errorf("a repair changes nothing of the kind %q%s", word, sheet.Instead(word, cause.OutcomeWords()))
	}
	var ids []string
	for i := range b.model.Checks.Checks {
		ids = append(ids, b.model.Checks.Checks[i].ID)
	}
	for i := range b.model.Causes.Repairs {
		ids = append(ids, b.model.Causes.Repairs[i].ID)
	}
	return lineup.Event{}, "", fmt.Errorf("no check or repair is called %q%s", id, sheet.Instead(id, ids))
}

// tool is the name of a tool of the catalogue.
func (b *bench) tool(id string) (string, error) {
	var ids []string
	for _, t := range b.model.Causes.Tools {
		if t.ID == id {
			return t.Name, nil
		}
		ids = append(ids, t.ID)
	}
	return "", fmt.Errorf("no such tool%s", sheet.Instead(id, ids))
}
