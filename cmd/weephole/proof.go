package main

import (
	"weephole/internal/answer"
	"weephole/internal/chart"

	"github.com/spf13/cobra"
)

const proofLong = `Before the run: says how to run the engine, in today's air, to see whether the
repair removed the fault, and for how many minutes. It also says which runs cannot
tell, and which checks show what no run does.

After the run, with its log (and any checks) written into the job after the repair:
says whether the repair is proven, not proven, or whether this run could not tell.
"Proven" means the whole car: the fault gone, nothing left behind by the repair, no
second fault. At most 2 % of failed repairs may pass, and at most 5 % of good ones
may be refused. docs/proof.md has the method and the measured rates.

Never open a hot system. Keep clear of belts, and of fans that start by
themselves. Stop the run when the gauge climbs towards the red.`

const proofExamples = `  weephole proof hill-climber.yaml
  weephole proof hill-climber.yaml --repair replace-thermostat --units us
  weephole proof hill-climber.yaml --json | jq '.judgement.verdict'`

func proofCommand(env environment) *cobra.Command {
	var f workFlags
	var repairs []string
	cmd := &cobra.Command{
		Use:     "proof JOB",
		Short:   "say which run can prove the repair, and judge it",
		Long:    proofLong,
		Example: proofExamples,
		Args:    oneArgument("a job file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			w, err := f.open(cmd.Context(), env, args[0])
			if err != nil {
				return err
			}
			found, err := w.Proof(cmd.Context(), repairs)
			if err != nil {
				return wrongAsk(err)
			}
			a := answer.ForProof(found, answer.StyleOf(w))
			return env.tell(cmd, f.json, a, func(p *answer.Page) {
				p.Proof(a)
				if plot := answer.Picture(w.LogBefore(), a.Bands, w.Units); plot != nil {
					p.Line("\n%s", plot.Text(chart.Terminal{Width: min(env.Width, widestChart), Height: 18, Color: p.Color}))
				}
			})
		},
	}
	f.add(cmd)
	cmd.Flags().StringArrayVar(&repairs, "repair", nil, "plan for this repair, if none was done yet (default: what the odds suggest)")
	return cmd
}

// widestChart keeps a chart readable on a very wide terminal, in characters:
// judgement.
const widestChart = 110
