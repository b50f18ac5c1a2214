package main

import (
	"io"

	"weephole/internal/answer"
	"weephole/internal/paper"
	"weephole/internal/work"

	"github.com/spf13/cobra"
)

const repairLong = `Prints what a repair takes on this car. The cautions come first. Then comes what
only the maker's data can tell; it is never guessed: look it up and keep it in the
job. Then come the order of work, and what to look at while it is open.

It says how much coolant drains, which mix to fill in for the coldest night, and
how far that is from boiling at this altitude. At the end it says how to bleed, and
has the record of the used coolant.

The maker's data and local rules come first.`

const repairExamples = `  weephole repair hill-climber.yaml
  weephole repair hill-climber.yaml --repair replace-thermostat --units metric
  weephole repair hill-climber.yaml --html sheet.html
  weephole repair hill-climber.yaml --json | jq '.[0].fill'`

func repairCommand(env environment) *cobra.Command {
	var f workFlags
	var repairs []string
	var html string
	var logo logoFlag
	cmd := &cobra.Command{
		Use:     "repair JOB",
		Short:   "print the repair sheet: cautions, order of work, coolant, bleeding",
		Long:    repairLong,
		Example: repairExamples,
		Args:    oneArgument("a job file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := oneAnswer(f.json, html); err != nil {
				return err
			}
			picture, err := logo.read("--html F", html)
			if err != nil {
				return err
			}
			ctx := cmd.Context()
			w, err := f.open(ctx, env, args[0])
			if err != nil {
				return err
			}
			if len(repairs) == 0 && len(w.Repairs) == 0 {
				l, err := w.Lineup(ctx)
				if err != nil {
					return err
				}
				if repairs = work.Suggested(l); len(repairs) == 0 {
					return wrongAsk(work.ErrNothingToProve)
				}
			}
			sheets, err := w.Sheets(repairs)
			if err != nil {
				return wrongAsk(err)
			}
			style, head := answer.StyleOf(w), paper.HeadingOf(w)
			head.Logo = picture
			_, err = writeAll(env, output{html, func(to io.Writer) error { return paper.RepairSheet(to, head, sheets, style) }})
			switch {
			case err != nil:
				return err
			case f.json:
				return writeJSON(env, sheets)
			case html != "":
				return nil
			}
			p := env.page(cmd)
			for _, s := range sheets {
				paper.WriteSheet(p, s, style, false)
			}
			return p.Err()
		},
	}
	f.add(cmd)
	logo.add(cmd)
	cmd.Flags().StringArrayVar(&repairs, "repair", nil, "the repair (default: those done last, or what the odds suggest)")
	cmd.Flags().StringVar(&html, "html", "", "write the sheet as a page to print to this file")
	return cmd
}
