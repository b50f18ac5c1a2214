package main

import (
	"weephole/internal/answer"
	"weephole/internal/work"

	"github.com/spf13/cobra"
)

const oddsLong = `Simulates thousands of engines like this one, each with a different fault. It
compares every finding of the job with each of them. Then it says how probable
each cause is, and why.

Each reason says how often the finding is seen with the fault and without it, and
how strong that evidence is. --details adds its weight in decibans (dB): +10 means
ten times as likely with the cause as without it, -10 ten times less.`

const oddsExamples = `  weephole odds hill-climber.yaml
  weephole odds hill-climber.yaml --details --units us
  weephole odds hill-climber.yaml --json | jq '.causes[0]'`

func oddsCommand(env environment) *cobra.Command {
	var f workFlags
	var details bool
	cmd := &cobra.Command{
		Use:     "odds JOB",
		Short:   "say what is probably wrong, and why",
		Long:    oddsLong,
		Example: oddsExamples,
		Args:    oneArgument("a job file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			w, err := f.open(cmd.Context(), env, args[0])
			if err != nil {
				return err
			}
			l, err := w.Lineup(cmd.Context())
			if err != nil {
				return err
			}
			o := answer.ForOdds(work.OddsOf(l), answer.StyleOf(w))
			o.NameLogs(w)
			o.Unweighed = answer.UnweighedOf(w)
			return env.tell(cmd, f.json, o, func(p *answer.Page) { p.Odds(&o, details) })
		},
	}
	f.add(cmd)
	cmd.Flags().BoolVar(&details, "details", false, "add the weight of each finding in decibans")
	return cmd
}
