package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"weephole/internal/aftercare"
	"weephole/internal/answer"
	"weephole/internal/exit"
	"weephole/internal/tally"
	"weephole/lineup"

	"github.com/adrg/xdg"
	"github.com/spf13/cobra"
)

const tallyLong = `Keeps what closed jobs have taught this shop: how often each cause turns up, and
how far each check is to be trusted. Only jobs count whose repaired cause is
proven gone and whose cause is written down under closing:. Nothing is erased:
undoing a job adds a line that takes it out.

What the tally teaches is written as an overlay sheet, to be read, edited, and
given to the other commands with --overlay.`

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
	cmd.PersistentFlags().StringVar(&file, "file", "", "the tally's file (without it: tally.jsonl in the user's data folder)")
	name := func() string {
		if file != "" {
			return file
		}
		return filepath.Join(xdg.DataHome, "weephole", "tally.jsonl")
	}
	cmd.AddCommand(tallyAdd(env, name), tallyList(env, name), tallyUndo(env, name), tallyExport(env, name))
	return cmd
}

// readTally reads the tally; a file that is not there yet is an empty one.
func readTally(name string) (*tally.Tally, error) {
	data, err := os.ReadFile(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return &tally.Tally{}, nil
	case err != nil:
		return nil, exit.Wrong(err)
	}
	t, err := tally.Read(bytes.NewReader(data), name)
	if err != nil {
		return nil, exit.Wrong(err)
	}
	return t, nil
}

// appendTally writes one line at the end of the tally and waits until it is on the disk.
func appendTally(name string, e tally.Entry) error {
	const private, readable = 0o700, 0o600
	if err := os.MkdirAll(filepath.Dir(name), private); err != nil {
		return exit.Wrong(err)
	}
	f, err := os.OpenFile(name, os.O_APPEND|os.O_CREATE|os.O_WRONLY, readable)
	if err != nil {
		return exit.Wrong(err)
	}
	defer f.Close()
	if err := tally.WriteEntry(f, e); err != nil {
		return err
	}
	if err := f.Sync(); err != nil {
		return fmt.Errorf("write tally: %w", err)
	}
	return nil
}

func tallyAdd(env environment, name func() string) *cobra.Command {
	var f workFlags
	cmd := &cobra.Command{
		Use:     "add JOB",
		Short:   "count a closed job whose repair is proven",
		Example: "  weephole tally add hill-climber.yaml",
		Args:    oneArgument("a job file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			b, err := openBench(cmd.Context(), env, f, args[0])
			if err != nil {
				return err
			}
			e, err := b.closed(cmd.Context(), env)
			if err != nil {
				return exit.Wrong(err)
			}
			t, err := readTally(name())
			if err != nil {
				return err
			}
			if e, err = t.Add(e); err != nil {
				return exit.Wrong(err)
			}
			if err := appendTally(name(), e); err != nil {
				return err
			}
			if f.json {
				return writeJSON(env, e)
			}
			_, err = fmt.Fprintf(env.Out, "counted: %s, %s, with %d findings\n", e.Job, e.Causes[0], len(e.Findings))
			return err
		},
	}
	f.add(cmd)
	return cmd
}

// closed makes the tally's entry of the job.
func (b *bench) closed(ctx context.Context, env environment) (tally.Entry, error) {
	return aftercare.Entry(ctx, b.work, b.job, b.flags.seed, func(ctx context.Context, before lineup.Case) (*lineup.Lineup, error) {
		return b.weigh(ctx, env, before)
	})
}

// tallySummary is the answer of "tally list".
type tallySummary struct {
	File   string        `json:"file"`
	Jobs   []tally.Entry `json:"jobs"`
	Counts []tally.Count `json:"counts"`
	Trusts []tally.Trust `json:"trusts"`
}

func tallyList(env environment, name func() string) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:     "list",
		Short:   "show the jobs that count and what they teach",
		Example: "  weephole tally list --json",
		Args:    noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			t, err := readTally(name())
			if err != nil {
				return err
			}
			s := tallySummary{File: name(), Jobs: t.Standing(), Counts: t.Counts(), Trusts: t.Trusts(tally.DefaultSettings())}
			if asJSON {
				if s.Jobs == nil {
					s.Jobs = []tally.Entry{}
				}
				return writeJSON(env, s)
			}
			p := answer.Page{W: env.Out, Width: env.Width, Color: env.Color(cmd)}
			p.Line("%d closed jobs count (%s)", len(s.Jobs), s.File)
			for _, c := range s.Counts {
				p.Line("%5d  %s", c.Closed, c.Cause)
			}
			for _, e := range s.Jobs {
				p.Line("       %s %s: %s", e.Job, e.When, e.Causes[0])
			}
			for _, x := range s.Trusts {
				p.Line("       %s: %d findings, share as good as random %.3f (catalogue %.3f)", x.Check, x.Findings, x.Blunder, x.Before)
			}
			return p.Err()
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "as a JSON object")
	return cmd
}

func tallyUndo(env environment, name func() string) *cobra.Command {
	var why string
	cmd := &cobra.Command{
		Use:     "undo NAME",
		Short:   "take a job out again, by the name it has in its file",
		Example: `  weephole tally undo hill-climber --why "came back after a week"`,
		Args:    oneArgument("a job's name"),
		RunE: func(_ *cobra.Command, args []string) error {
			t, err := readTally(name())
			if err != nil {
				return err
			}
			e, err := t.Undo(args[0], why)
			if err != nil {
				return exit.Wrong(err)
			}
			if err := appendTally(name(), e); err != nil {
				return err
			}
			_, err = fmt.Fprintf(env.Out, "taken out: %s\n", e.Job)
			return err
		},
	}
	cmd.Flags().StringVar(&why, "why", "", "the reason, kept with it")
	return cmd
}

func tallyExport(env environment, name func() string) *cobra.Command {
	return &cobra.Command{
		Use:     "export",
		Short:   "print what the tally teaches as an overlay sheet",
		Example: "  weephole tally export > shop.yaml",
		Args:    noArguments,
		RunE: func(*cobra.Command, []string) error {
			t, err := readTally(name())
			if err != nil {
				return err
			}
			return t.Overlay(env.Out, tally.DefaultSettings())
		},
	}
}
