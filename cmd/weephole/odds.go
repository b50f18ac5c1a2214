package main

import (
	"encoding/json"

	"weephole/internal/answer"

	"github.com/spf13/cobra"
)

const oddsLong = `Simulates thousands of engines like this one, each with something else wrong,
weighs every finding of the job against each of them, and says what is left
standing: how many of those that still fit have which cause, and why.

The weight of each finding is given in decibans (dB): +10 means ten times
likelier with the cause than without it, +3 about twice, -10 ten times less.`

const oddsExamples = `  weephole odds hill-climber.yaml
  weephole odds hill-climber.yaml --units us
  weephole odds hill-climber.yaml --json | jq '.causes[0]'`

func oddsCommand(env environment) *cobra.Command {
	var f workFlags
	cmd := &cobra.Command{
		Use:     "odds JOB",
		Short:   "say what is probably wrong, and why",
		Long:    oddsLong,
		Example: oddsExamples,
		Args:    oneArgument("a job file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			b, err := openBench(cmd.Context(), env, f, args[0])
			if err != nil {
				return err
			}
			l, err := b.lineup(cmd.Context(), env, false)
			if err != nil {
				return err
			}
			o := b.odds(l)
			if f.json {
				return writeJSON(env, o)
			}
			p := answer.Page{W: env.Out, Width: env.Width, Color: env.Color(cmd)}
			p.Odds(&o)
			return p.Err()
		},
	}
	f.add(cmd)
	return cmd
}

// writeJSON writes an answer as an indented object.
func writeJSON(env environment, v any) error {
	enc := json.NewEncoder(env.Out)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}
