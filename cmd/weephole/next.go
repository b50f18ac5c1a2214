package main

import (
	"errors"
	"fmt"
	"io"

	"weephole/internal/answer"
	"weephole/internal/exit"
	"weephole/internal/paper"
	"weephole/internal/work"

	"github.com/spf13/cobra"
)

const nextLong = `Ranks everything that could be done next, checks and repairs, by the expected
cost from now to a proven repair: minutes at the shop's labour rate, parts,
waiting for a cold or a hot engine, and what a wrong repair costs. Cautions come
first. Then it says why this step, what each result would change, and when to stop
checking. It draws the plan as a tree.

A costly repair never comes first on probability alone. Its cause must be shown by
a direct check, if the shop has the tools for one; that check is then the next step.

If the job has a quote, it says whether the quoted cause is there, and whether
anything else is wrong. It says what accepting the quote would cost on average, and
what the other shop would have to show.

What if: --if, --with, --without, --quote, --rate and --leave-in change one thing
or several, and print the plan before and after.`

const nextExamples = `  weephole next hill-climber.yaml
  weephole next hill-climber.yaml --if combustion-gas=turned
  weephole next hill-climber.yaml --without gas-test-kit --leave-in 90min
  weephole next hill-climber.yaml --sheet bench.html --svg plan.svg
  weephole next hill-climber.yaml --json | jq '.steps[0].do'`

// nextFlags are how the plan is searched and where it is written.
type nextFlags struct {
	workFlags
	what                 work.WhatIf
	ahead, depth, follow int
	svg, sheet           string
	logo                 logoFlag
}

func nextCommand(env environment) *cobra.Command {
	var f nextFlags
	cmd := &cobra.Command{
		Use:     "next JOB",
		Short:   "say what to check or repair next, and why that",
		Long:    nextLong,
		Example: nextExamples,
		Args:    oneArgument("a job file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			w, err := f.open(cmd.Context(), env, args[0])
			if err != nil {
				return err
			}
			return f.run(cmd, env, w)
		},
	}
	f.add(cmd)
	fl := cmd.Flags()
	fl.IntVar(&f.ahead, "ahead", 1, "how hard to look: 1 answers at once, 3 takes some seconds")
	fl.IntVar(&f.depth, "depth", 2, "how many steps deep to draw the plan, 0 to 5")
	fl.IntVar(&f.follow, "follow", 0, "try the best ways on this many simulated engines, up to 2000")
	fl.StringVar(&f.svg, "svg", "", `draw the plan as a tree into this SVG file ("-": on the output)`)
	fl.StringVar(&f.sheet, "sheet", "", `write a bench sheet of one page into this HTML file ("-": on the output)`)
	f.logo.add(cmd)
	addWhatIf(cmd, &f.what)
	return cmd
}

// run plans the next step, and once more with the change that was asked about.
func (f *nextFlags) run(cmd *cobra.Command, env environment, w *work.Work) error {
	if err := oneAnswer(f.json, f.svg, f.sheet); err != nil {
		return err
	}
	logo, err := f.logo.read("--sheet F", f.sheet)
	if err != nil {
		return err
	}
	ctx := cmd.Context()
	change, err := f.what.Read(w.Model, w.Job.Quote != nil)
	if wrong := (*work.WrongIf)(nil); errors.As(err, &wrong) {
		return exit.Usage(fmt.Errorf("--%w", err))
	} else if err != nil {
		return err
	}
	l, err := w.Lineup(ctx)
	if err != nil {
		return err
	}
	ask, style := w.Ask(), answer.StyleOf(w)
	ask.Rounds, ask.Depth, ask.Follow = min(max(f.ahead, 1), hardest)-1, min(max(f.depth, 0), deepestTree), min(max(f.follow, 0), mostFollowed)
	found, err := work.NextOf(ctx, l, ask)
	if err != nil {
		return err
	}
	n, changed := answer.ForNext(found, style), answer.WhatIf(w.Model, change, style)
	var before *answer.NextFacts
	if len(changed) > 0 {
		if found, err = change.Next(ctx, l, ask); err != nil {
			return err
		}
		before, n = n, answer.ForNext(found, style)
	}
	heading := paper.HeadingOf(w)
	heading.Logo = logo
	printed, err := writeAll(env,
		output{f.svg, func(to io.Writer) error { return paper.PlanSVG(to, n) }},
		output{f.sheet, func(to io.Writer) error { return paper.BenchSheet(to, n, heading) }})
	switch {
	case err != nil || printed:
		return err
	case f.json && before != nil:
		return writeJSON(env, struct {
			*answer.NextFacts
			If     []string          `json:"if"`
			Before *answer.NextFacts `json:"before"`
		}{n, changed, before})
	case f.json:
		return writeJSON(env, n)
	}
	p := env.page(cmd)
	if before != nil {
		p.Changed(before, n, changed)
	}
	p.Next(n)
	return p.Err()
}

// deepestTree is how many steps deep a plan is drawn at most: every step more makes
// three times the work, and nobody plans a day's results that far.
const deepestTree = 5

// mostFollowed is on how many engines a plan is followed at most: their mean is then
// known to about one part in forty, and it takes a minute.
const mostFollowed = 2000

// hardest is the most that --ahead may be: beyond it a plan takes minutes.
const hardest = 4

// addWhatIf adds the flags that change one thing or several.
func addWhatIf(cmd *cobra.Command, w *work.WhatIf) {
	fl := cmd.Flags()
	fl.StringArrayVar(&w.Findings, work.IfFound, nil, "what if this was found, as check=word or repair=change; may be repeated")
	fl.StringArrayVar(&w.With, work.IfWith, nil, "what if we had this tool; may be repeated")
	fl.StringArrayVar(&w.Without, work.IfWithout, nil, "what if we did not have this tool; may be repeated")
	fl.StringVar(&w.Quote, work.IfQuote, "", `what if the quote were this ("$900")`)
	fl.StringVar(&w.Rate, work.IfRate, "", `what if the labour rate were this ("$95/h")`)
	fl.StringVar(&w.LeaveIn, work.IfLeaves, "", `what if the car had to leave in this time ("90min")`)
}
