package main

import (
	"io"

	"github.com/spf13/cobra"

	"weephole/internal/answer"
	"weephole/internal/job"
	"weephole/internal/planpage"
	"weephole/quantity"
)

const nextLong = `Ranks everything that could be done next, checks and repairs, by the expected
cost from now to a proven repair: minutes at the shop's labour rate, parts,
waiting for a cold or a hot engine, and what a wrong repair costs. Cautions come
first. Then it says why the first step comes first, what each result would do to
the odds and the money, when to stop checking, and draws the plan as a tree.

A costly repair is never put first on odds alone: its cause must have been shown
by a direct check, if one can be made with the tools at hand; that check is then
the next step.

If the job has a quote, says whether its cause is there, whether that is all that
is wrong, what accepting it would cost on average now, or after the plan's checks,
beside following the plan, and what the other shop would have to show.

What if: --if, --with, --without, --quote, --rate and --leave-in change one thing
or several, and print the plan before and after.`

const nextExamples = `  weephole next hill-climber.yaml
  weephole next hill-climber.yaml --if combustion-gas=turned
  weephole next hill-climber.yaml --without gas-test-kit --leave-in 90min
  weephole next hill-climber.yaml --sheet bench.html --svg plan.svg
  weephole next hill-climber.yaml --json | jq '.steps[0].do'`

func nextCommand(env environment) *cobra.Command {
	var f workFlags
	var what answer.WhatIf
	var ahead, depth, follow int
	var svg, sheet string
	cmd := &cobra.Command{
		Use:     "next JOB",
		Short:   "say what to check or repair next, and why that",
		Long:    nextLong,
		Example: nextExamples,
		Args:    oneArgument("a job file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			ctx := cmd.Context()
			b, err := openBench(ctx, env, f, args[0])
			if err != nil {
				return err
			}
			change, err := b.changed(what)
			if err != nil {
				return err
			}
			l, err := b.lineup(ctx, env, false)
			if err != nil {
				return err
			}
			ask := b.ask(min(max(ahead, 1), hardest)-1, min(max(depth, 0), deepestTree))
			ask.Follow = min(max(follow, 0), mostFollowed)
			n, err := answer.ForNext(ctx, l, ask)
			if err != nil {
				return err
			}
			var before *answer.Next
			if len(change.Says) > 0 {
				before = n
				if n, err = change.Next(ctx, l, ask); err != nil {
					return err
				}
			}
			name := b.job.Vehicle.Name
			for _, out := range []struct {
				file  string
				write func(io.Writer) error
			}{
				{svg, func(w io.Writer) error { return planpage.SVG(w, n) }},
				{sheet, func(w io.Writer) error { return planpage.Sheet(w, n, name) }},
			} {
				if err := writeTo(env, out.file, out.write); err != nil {
					return err
				}
			}
			switch {
			case svg == "-" || sheet == "-":
				return nil
			case f.json && before != nil:
				return writeJSON(env, struct {
					*answer.Next
					If     []string     `json:"if"`
					Before *answer.Next `json:"before"`
				}{n, change.Says, before})
			case f.json:
				return writeJSON(env, n)
			}
			p := answer.Page{W: env.Out, Width: env.Width, Color: env.Color(cmd)}
			if before != nil {
				p.Changed(before, n, change.Says)
			}
			p.Next(n)
			return p.Err()
		},
	}
	f.add(cmd)
	fl := cmd.Flags()
	fl.IntVar(&ahead, "ahead", 1, "how hard to look: 1 answers at once, 3 takes some seconds")
	fl.IntVar(&depth, "depth", 2, "how many steps deep to draw the plan, 0 to 5")
	fl.IntVar(&follow, "follow", 0, "follow the best ways to their ends on so many engines, up to 2000")
	fl.StringVar(&svg, "svg", "", `draw the plan as a tree into this SVG file ("-": on the output)`)
	fl.StringVar(&sheet, "sheet", "", `write a bench sheet of one page into this HTML file ("-": on the output)`)
	addWhatIf(cmd, &what)
	return cmd
}

// deepestTree is how many steps deep a plan is drawn at most: every step more makes
// three times the work, and nobody plans a day's results that far.
const deepestTree = 5

// mostFollowed is on how many engines a plan is followed at most: their mean is then
// known to about one part in forty, and it takes a minute.
const mostFollowed = 2000

// ask is what the job asks of the plan.
func (b *bench) ask(rounds, depth int) answer.Ask {
	ask := answer.Ask{Shop: b.work.Shop, Settings: b.settings, Units: b.units, Currency: b.currency, Rounds: rounds, Depth: depth}
	if q := b.job.Quote; q != nil && q.Presumes != job.Unknown {
		ask.QuotePresumes, ask.QuoteRepair = q.Presumes, q.Repair
		ask.QuotePrice = q.Price.Or(quantity.Money{}).Amount
	}
	return ask
}

// hardest is the most that --ahead may be: beyond it a plan takes minutes.
const hardest = 4
