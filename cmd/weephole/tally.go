package main

import (
	"context"
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"weephole/internal/answer"
	"weephole/internal/exit"
	"weephole/internal/tally"
)

const tallyLong = `Keeps what closed jobs have taught this shop: how often each cause turns up, and
how often each check is wrong. A job counts only if its repair is proven and its
cause is written down under closing:. Nothing is erased: undoing a job adds a line
that takes it out.

"tally export" prints this as an overlay sheet. You can read it, edit it, and give
it to the other commands with --overlay.`

const tallyExamples = `  weephole tally add hill-climber.yaml
  weephole tally list
  weephole tally undo hill-climber --why "came back after a week"
  weephole tally export > shop.yaml && weephole odds next.yaml --overlay shop.yaml`

func tallyCommand(env environment) *cobra.Command {
	var file string
	cmd := &cobra.Command{
		Use:     "tally COMMAND",
		Short:   "keep, show, undo and export what closed jobs have taught",
		Long:    tallyLong,
		Example: tallyExamples,
		Args:    noArguments,
		RunE:    func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.PersistentFlags().StringVar(&file, "file", "", "the tally's file (without it: that of the user's data folder)")
	book := func(ctx context.Context) (tallyBook, error) {
		name := file
		if name == "" {
			name = filepath.Join(defaultData(), tallyName)
		}
		return openTally(ctx, env, name)
	}
	cmd.AddCommand(tallyAdd(env, book), tallyList(env, book), tallyUndo(env, book), tallyExport(env, book))
	return cmd
}

func tallyAdd(env environment, open func(context.Context) (tallyBook, error)) *cobra.Command {
	var f workFlags
	cmd := &cobra.Command{
		Use:     "add JOB",
		Short:   "count a closed job whose repair is proven",
		Example: "  weephole tally add hill-climber.yaml",
		Args:    oneArgument("a job file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			w, err := f.open(cmd.Context(), env, args[0])
			if err != nil {
				return err
			}
			lacks := func(_ tallyBook, t *tally.Tally) error { return exit.Wrong(t.Lacks(w.Job.Name)) }
			if err := withBook(cmd.Context(), open, lacks); err != nil {
				return err
			}
			e, err := tally.EntryOf(cmd.Context(), w)
			if err != nil {
				return exit.Wrong(err)
			}
			return withBook(cmd.Context(), open, func(book tallyBook, t *tally.Tally) error {
				if e, err = t.Add(e); err != nil {
					return exit.Wrong(err)
				}
				if err := book.Append(e); err != nil {
					return err
				}
				return env.tell(cmd, f.json, e, func(p *answer.Page) {
					fmt.Fprintf(p.W, "counted: %s, %s, with %d findings\n", e.Job, e.Causes[0], len(e.Findings))
				})
			})
		},
	}
	f.add(cmd)
	return cmd
}

// share says a small share with one decimal, since checks are seldom wrong.
func share(v float64) string { return fmt.Sprintf("%.1f %%", 100*v) }

// tallySummary is the answer of "tally list".
type tallySummary struct {
	File   string             `json:"file"`
	Jobs   []tally.Entry      `json:"jobs"`
	Counts []tally.CauseCount `json:"counts"`
	Trusts []tally.Trust      `json:"trusts"`
}

func (s tallySummary) print(p *answer.Page) {
	p.Line("closed jobs that count: %d (%s)", len(s.Jobs), s.File)
	for _, c := range s.Counts {
		p.Line("%5d  %s", c.Closed, c.Cause)
	}
	for _, e := range s.Jobs {
		p.Line("       %s %s: %s", e.Job, e.When, e.Causes[0])
	}
	for _, x := range s.Trusts {
		p.Line("       %s: wrong in %s of %d findings (the catalogue assumes %s)", x.Check, share(x.Blunder), x.Findings, share(x.Before))
	}
}

// withBook opens the book, reads it, and does something with it.
func withBook(ctx context.Context, open func(context.Context) (tallyBook, error), do func(tallyBook, *tally.Tally) error) error {
	book, err := open(ctx)
	if err != nil {
		return err
	}
	defer book.Close() // each line is on the disk already
	t, err := book.Read()
	if err != nil {
		return err
	}
	return do(book, t)
}

func tallyList(env environment, open func(context.Context) (tallyBook, error)) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:     "list",
		Short:   "show the jobs that count and what they teach",
		Example: "  weephole tally list --json",
		Args:    noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return withBook(cmd.Context(), open, func(book tallyBook, t *tally.Tally) error {
				s := tallySummary{File: book.Name(), Jobs: t.Standing(), Counts: t.Counts(), Trusts: t.Trusts(tally.DefaultTrustRules())}
				if asJSON && s.Jobs == nil {
					s.Jobs = []tally.Entry{}
				}
				return env.tell(cmd, asJSON, s, s.print)
			})
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print a JSON object")
	return cmd
}

func tallyUndo(env environment, open func(context.Context) (tallyBook, error)) *cobra.Command {
	var why string
	cmd := &cobra.Command{
		Use:     "undo NAME",
		Short:   "take a job out again, by the name it has in its file",
		Example: `  weephole tally undo hill-climber --why "came back after a week"`,
		Args:    oneArgument("a job's name"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return withBook(cmd.Context(), open, func(book tallyBook, t *tally.Tally) error {
				e, err := t.Undo(args[0], why)
				if err != nil {
					return exit.Wrong(err)
				}
				if err := book.Append(e); err != nil {
					return err
				}
				_, err = fmt.Fprintf(env.Out, "taken out: %s\n", e.Job)
				return err
			})
		},
	}
	cmd.Flags().StringVar(&why, "why", "", "the reason, kept with it")
	return cmd
}

func tallyExport(env environment, open func(context.Context) (tallyBook, error)) *cobra.Command {
	return &cobra.Command{
		Use:     "export",
		Short:   "print the tally as an overlay sheet",
		Example: "  weephole tally export > shop.yaml",
		Args:    noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return withBook(cmd.Context(), open, func(_ tallyBook, t *tally.Tally) error {
				return t.Overlay(env.Out, tally.DefaultTrustRules())
			})
		},
	}
}
