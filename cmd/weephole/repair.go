package main

import (
	"io"

	"weephole/internal/aftercare"
	"weephole/internal/answer"
	"weephole/internal/exit"
	"weephole/internal/sheetwork"

	"github.com/spf13/cobra"
)

const repairLong = `Prints what a repair takes on this car: cautions first, what only the maker's
data can tell (never guessed: look it up and keep it in the job), the order of
work, what to look at while it is open, how much coolant drains, what mix to fill
in for the coldest night, how far that is from boiling at this altitude, how to
bleed, and the record of the used coolant.

The maker's data and local rules come first, here as everywhere.`

const repairExamples = `  weephole repair hill-climber.yaml
  weephole repair hill-climber.yaml --repair replace-thermostat --units metric
  weephole repair hill-climber.yaml --html sheet.html
  weephole repair hill-climber.yaml --json | jq '.[0].fill'`

func repairCommand(env environment) *cobra.Command {
	var f workFlags
	var repairs []string
	var html string
	cmd := &cobra.Command{
		Use:     "repair JOB",
		Short:   "print the repair sheet: cautions, order of work, coolant, bleeding",
		Long:    repairLong,
		Example: repairExamples,
		Args:    oneArgument("a job file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			ctx := cmd.Context()
			b, err := openBench(ctx, env, f, args[0])
			if err != nil {
				return err
			}
			if len(repairs) == 0 {
				repairs = aftercare.Part(b.work, b.job).Repairs
			}
			if len(repairs) == 0 {
				l, err := b.lineup(ctx, env, false)
				if err != nil {
					return err
				}
				if repairs = aftercare.Suggested(l); len(repairs) == 0 {
					return exit.Wrong(aftercare.ErrNothingToProve)
				}
			}
			sheets, err := b.sheets(repairs)
			if err != nil {
				return err
			}
			if f.json {
				return writeJSON(env, sheets)
			}
			if html != "" {
				return writeTo(env, html, func(w io.Writer) error { return b.sheetPage(w, sheets) })
			}
			p := answer.Page{W: env.Out, Width: env.Width, Color: env.Color(cmd)}
			for _, s := range sheets {
				s.Write(&p, b.units, b.currency)
			}
			return p.Err()
		},
	}
	f.add(cmd)
	cmd.Flags().StringArrayVar(&repairs, "repair", nil, "the repair (without it: those done last, or what the odds suggest)")
	cmd.Flags().StringVar(&html, "html", "", "write the sheet as a page to print to this file")
	return cmd
}

// sheets makes the sheet of each repair.
func (b *bench) sheets(repairs []string) ([]*sheetwork.Sheet, error) {
	d, err := sheetwork.DefaultData()
	if err != nil {
		return nil, err
	}
	v := b.work.Case.Vehicle
	car := sheetwork.Car{Vehicle: v, Typical: b.model.Table.Typical(v), AltitudeM: b.work.Case.Shop.AltitudeM}
	var out []*sheetwork.Sheet
	for _, id := range repairs {
		r := b.model.Causes.Repair(id)
		if r == nil {
			return nil, exit.Usage(unknownRepair(b.model, id))
		}
		s, err := sheetwork.For(d, b.model.Causes, r, car, b.job)
		if err != nil {
			return nil, err
		}
		out = append(out, s)
	}
	return out, nil
}

// sheetPage writes the sheets as a page to print.
func (b *bench) sheetPage(w io.Writer, sheets []*sheetwork.Sheet) error {
	h := sheetwork.Heading{Shop: b.job.Shop.Name, Car: b.job.Vehicle.Name, Job: b.job.Name}
	return sheetwork.HTML(w, h, sheets, b.units, b.currency)
}
