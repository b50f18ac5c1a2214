package main

import (
	"context"
	"errors"
	"fmt"

	"weephole/internal/aftercare"
	"weephole/internal/answer"
	"weephole/internal/chart"
	"weephole/internal/exit"
	"weephole/lineup"
	"weephole/proof"
	"weephole/quantity"

	"github.com/spf13/cobra"
)

const proofLong = `Before the run: says which way of running the engine can tell, in today's air,
whether the repair has put the cause right, for how many minutes, and which
cannot; and which checks show what no run does.

After it, with the log (and any checks made) written into the job behind the
repair: says whether the repair is proven, not proven, or whether this run could
not tell. "Proven" is said of the whole: the cause gone, nothing left behind by
the repair, no second fault. Of a hundred botched repairs at most two may pass,
of a hundred good ones at most five may be denied; docs/proof.md has the method
and the measured rates.

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
			b, err := openBench(cmd.Context(), env, f, args[0])
			if err != nil {
				return err
			}
			a, err := b.proof(cmd.Context(), env, repairs)
			if err != nil {
				return err
			}
			if f.json {
				return writeJSON(env, a)
			}
			p := answer.Page{W: env.Out, Width: env.Width, Color: env.Color(cmd)}
			proofPage(&p, a, b.units)
			if plot := aftercare.Picture(aftercare.LogBefore(b.work, aftercare.Part(b.work, b.job)), a.Bands, b.units); plot != nil {
				p.Line("\n%s", plot.Text(chart.Terminal{Width: min(env.Width, widestChart), Height: 18, Color: p.Color}))
			}
			return p.Err()
		},
	}
	f.add(cmd)
	cmd.Flags().StringArrayVar(&repairs, "repair", nil, "plan for this repair, where none was done yet (without it: what the odds suggest)")
	return cmd
}

// widestChart keeps a chart readable on a very wide terminal, in characters:
// judgement.
const widestChart = 110

// proof plans or judges the proof of the job's last repair.
func (b *bench) proof(ctx context.Context, env environment, repairs []string) (*aftercare.Answer, error) {
	st, err := proof.DefaultCriteria()
	if err != nil {
		return nil, err
	}
	parted := aftercare.Part(b.work, b.job)
	for _, r := range repairs {
		if b.model.Causes.Repair(r) == nil {
			return nil, exit.Usage(unknownRepair(b.model, r))
		}
	}
	a, err := aftercare.For(ctx, parted, aftercare.Ask{
		Settings: st, Units: b.units, Seed: b.flags.seed, Repairs: repairs,
		Weigh: func(ctx context.Context, cs lineup.Case) (*lineup.Lineup, error) { return b.weigh(ctx, env, cs) },
	})
	if errors.Is(err, aftercare.ErrNothingToProve) || errors.Is(err, proof.ErrCannotCure) {
		return nil, exit.Wrong(err)
	}
	return a, err
}

// unknownRepair names the nearest repair to a word that is none.
func unknownRepair(m *lineup.Model, word string) error {
	var ids []string
	for i := range m.Causes.Repairs {
		ids = append(ids, m.Causes.Repairs[i].ID)
	}
	if near := quantity.Nearest(word, ids); near != "" {
		return fmt.Errorf("--repair %q: no such repair; write %s", word, near)
	}
	return fmt.Errorf("--repair %q: no such repair; \"weephole schema\" lists them", word)
}

func proofPage(p *answer.Page, a *aftercare.Answer, u quantity.Units) {
	if len(a.Cautions) > 0 {
		p.Head("Before the run")
		for _, c := range a.Cautions {
			p.Item("! ", u.InText(c))
		}
	}
	p.Head("The proof")
	for _, s := range a.Says {
		p.Para("", s)
	}
}
