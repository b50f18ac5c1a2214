package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"

	"weephole/internal/exit"
	"weephole/internal/letter"
	"weephole/lineup"

	"github.com/spf13/cobra"
)

const letterLong = `Writes the account for the owner from the job alone: what was told, what was
measured, what it was and what it was not and how that is known, what was done,
whether it is proven, what it cost beside what was quoted, and what to watch.

One or two pages. --html and --pdf write files ("-" is the standard output);
--text writes a few lines for a text message. Without any of them those few
lines are printed.`

const letterExamples = `  weephole letter hill-climber.yaml --html letter.html --pdf letter.pdf
  weephole letter hill-climber.yaml --text -`

func letterCommand(env environment) *cobra.Command {
	var f workFlags
	var html, pdf, text string
	cmd := &cobra.Command{
		Use:     "letter JOB",
		Short:   "write the owner's letter, in HTML, PDF or a few lines",
		Long:    letterLong,
		Example: letterExamples,
		Args:    oneArgument("a job file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			b, err := openBench(cmd.Context(), env, f, args[0])
			if err != nil {
				return err
			}
			l, err := b.letter(cmd.Context(), env)
			if err != nil {
				return err
			}
			if f.json {
				return writeJSON(env, l)
			}
			if html == "" && pdf == "" && text == "" {
				text = "-"
			}
			for _, out := range []struct {
				name  string
				write func(io.Writer) error
			}{
				{html, l.HTML},
				{pdf, func(w io.Writer) error { return l.PDF(w, env.Now()) }},
				{text, func(w io.Writer) error { _, err := fmt.Fprintln(w, l.Short); return err }},
			} {
				if err := writeTo(env, out.name, out.write); err != nil {
					return err
				}
			}
			return nil
		},
	}
	f.add(cmd)
	cmd.Flags().StringVar(&html, "html", "", "write the letter as a web page to this file")
	cmd.Flags().StringVar(&pdf, "pdf", "", "write the letter as PDF to this file")
	cmd.Flags().StringVar(&text, "text", "", "write the short version to this file")
	return cmd
}

// writeTo writes to a file, or to the standard output for "-"; an empty name
// writes nothing. Nothing is left of a file that could not be finished.
func writeTo(env environment, name string, write func(io.Writer) error) error {
	if name == "" {
		return nil
	}
	var b bytes.Buffer
	if err := write(&b); err != nil {
		return err
	}
	if name == "-" {
		_, err := env.Out.Write(b.Bytes())
		return err
	}
	const readable = 0o644
	if err := os.WriteFile(name, b.Bytes(), readable); err != nil {
		return exit.Wrong(err)
	}
	return nil
}

// letter makes the owner's letter of the job.
func (b *bench) letter(ctx context.Context, env environment) (*letter.Letter, error) {
	return letter.Compose(ctx, letter.Order{
		Job: b.job, Work: b.work, Model: b.model, Units: b.units, Currency: b.currency, Seed: b.flags.seed,
		Weigh: func(ctx context.Context, cs lineup.Case) (*lineup.Lineup, error) { return b.weigh(ctx, env, cs) },
	})
}

// weigh makes the lineup of another case than the job's whole one, such as what
// was known before its repair.
func (b *bench) weigh(ctx context.Context, env environment, cs lineup.Case) (*lineup.Lineup, error) {
	return b.lineupOf(ctx, env, cs, false)
}

// lineupOf is weigh, where still says not to draw closer (see lineup).
func (b *bench) lineupOf(ctx context.Context, env environment, cs lineup.Case, still bool) (*lineup.Lineup, error) {
	part, work := *b, *b.work
	work.Case = cs
	part.work = &work
	return part.lineup(ctx, env, still)
}
