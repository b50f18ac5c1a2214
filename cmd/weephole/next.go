package main

import (
	"weephole/internal/answer"

	"github.com/spf13/cobra"
)

const nextLong = `Ranks everything that could be done next, checks and repairs, by the expected
cost from now to a proven repair: minutes at the shop's labour rate, parts,
waiting for a cold or a hot engine, and what a wrong repair costs. Cautions come
first. If the job has a quote, says how likely it cures the car, and what
accepting it would cost on average beside following the plan.`

const nextExamples = `  weephole next hill-climber.yaml
  weephole next hill-climber.yaml --ahead 2
  weephole next hill-climber.yaml --json | jq '.steps[0].do'`

// beamWidth is how many checks are looked at below each outcome when the plan
// looks further ahead; judgement, see docs/method.md.
const beamWidth = 4

func nextCommand(env environment) *cobra.Command {
	var f workFlags
	var ahead int
	cmd := &cobra.Command{
		Use:     "next JOB",
		Short:   "say what to check or repair next, and why that",
		Long:    nextLong,
		Example: nextExamples,
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
			n, err := b.next(cmd.Context(), l, beams(ahead))
			if err != nil {
				return err
			}
			if f.json {
				return writeJSON(env, n)
			}
			p := answer.Page{W: env.Out, Width: env.Width, Color: env.Color(cmd)}
			p.Next(n)
			return p.Err()
		},
	}
	f.add(cmd)
	cmd.Flags().IntVar(&ahead, "ahead", 1, "how many checks to look ahead, 1 to 3")
	return cmd
}

// beams turns a number of checks to look ahead into the search's widths.
func beams(ahead int) []int {
	var b []int
	for range min(max(ahead, 1), 3) - 1 {
		b = append(b, beamWidth)
	}
	return b
}
