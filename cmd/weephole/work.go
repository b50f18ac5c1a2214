package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"
	"time"

	"weephole/internal/answer"
	"weephole/internal/atomicfile"
	"weephole/internal/exit"
	"weephole/internal/job"
	"weephole/internal/work"
	"weephole/lineup"
	"weephole/proof"

	"github.com/spf13/cobra"
	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
)

// workFlags are the flags of every command that works a job.
type workFlags struct {
	json       bool
	units      string
	seed       uint64
	candidates int
	overlay    []string
}

func (f *workFlags) add(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&f.json, "json", false, "print a JSON object")
	f.addWork(cmd)
}

// addWork adds the flags without --json, for a command that has no answer of one object.
func (f *workFlags) addWork(cmd *cobra.Command) {
	fl := cmd.Flags()
	fl.StringVar(&f.units, "units", "", `units to print in, "us" or "metric" (default: the job's)`)
	fl.Uint64Var(&f.seed, "seed", 1, "seed of all random numbers: the same seed gives the same answer")
	fl.IntVar(&f.candidates, "candidates", lineup.DefaultCandidates, "how many engines to simulate")
	fl.StringArrayVar(&f.overlay, "overlay", nil, "the shop's own sheet of causes, checks or counts; may be repeated")
}

// Bounds of --candidates: fewer say nothing, more fill the memory of a small
// machine (about 2 kB each); judgement.
const (
	minCandidates = 500
	maxCandidates = 2_000_000
)

// open reads the knowledge and a job file, or the job on standard input when the
// name is "-". A mistake in either is the input's (status 2).
func (f *workFlags) open(ctx context.Context, env environment, name string) (*work.Work, error) {
	m, err := env.knowledge(f.overlay)
	if err != nil {
		return nil, err
	}
	if name == "-" {
		return f.openFrom(ctx, env, m, env.In, "standard input", logsIn("."))
	}
	file, err := os.Open(name)
	if err != nil {
		return nil, exit.Wrong(err)
	}
	defer file.Close()
	if info, err := file.Stat(); err == nil && info.IsDir() {
		return nil, exit.Wrong(fmt.Errorf("%s is a folder; give a job file", name))
	}
	return f.openFrom(ctx, env, m, file, name, logsIn(filepath.Dir(name)))
}

// workMemory is where the collector begins to work harder, bytes: one job holds some
// 150 MB, and without a limit as much again waits to be collected.
const workMemory = 240 << 20

func (f *workFlags) openFrom(ctx context.Context, env environment, m *lineup.Model, r io.Reader, name string, logs work.Opener) (*work.Work, error) {
	if f.candidates < minCandidates || f.candidates > maxCandidates {
		return nil, exit.Usage(fmt.Errorf("--candidates %d: write a number from %d to %d", f.candidates, minCandidates, maxCandidates))
	}
	if f.candidates <= lineup.DefaultCandidates && os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(workMemory)
	}
	o := work.OpenOptions{Open: logs, Units: f.units, Share: env.Share, Lineup: lineup.DrawOptions{Candidates: f.candidates, Seed: f.seed}}
	if env.ErrIsTerminal && !f.json {
		o.Watch = func() (func(done, total int), func()) { return progress(env) }
	}
	w, err := work.Open(ctx, m, r, name, o)
	switch ps := (job.Problems)(nil); {
	case errors.Is(err, work.ErrUnits):
		return nil, exit.Usage(fmt.Errorf("--%w", err))
	case errors.As(err, &ps):
		return nil, exit.Wrong(err)
	}
	return w, err
}

// logsIn opens the logs that a job file in a folder names.
func logsIn(dir string) work.Opener {
	return func(log string) (io.ReadCloser, error) {
		if !filepath.IsAbs(log) {
			log = filepath.Join(dir, log)
		}
		return os.Open(log)
	}
}

// knowledge reads the embedded sheets and lays the shop's own over them.
func (env environment) knowledge(overlay []string) (*lineup.Model, error) {
	m, err := env.Model()
	if err != nil {
		return nil, err
	}
	for _, name := range overlay {
		data, err := os.ReadFile(name)
		if err != nil {
			return nil, exit.Wrong(fmt.Errorf("overlay: %w", err))
		}
		if m, err = m.Overlay(name, data); err != nil {
			return nil, exit.Wrong(err)
		}
	}
	return m, nil
}

// progressAfter is how long a run may take before a bar appears: judgement.
const progressAfter = 300 * time.Millisecond

// progress draws the share of candidates run, where it takes long enough to wonder. How many sampling rounds there will
// be is not known beforehand, so the bar starts again for each round.
func progress(env environment) (report func(done, total int), stop func()) {
	p := mpb.New(mpb.WithOutput(env.Err), mpb.WithWidth(min(60, env.Width)), mpb.WithAutoRefresh())
	bar := p.AddBar(1, mpb.BarRemoveOnComplete(), mpb.PrependDecorators(decor.Name("engines ")), mpb.AppendDecorators(decor.Percentage()))
	start := env.Now()
	return func(done, total int) {
			if env.Now().Sub(start) > progressAfter {
				bar.SetTotal(int64(total), false)
				bar.SetCurrent(int64(done))
			}
		}, func() {
			bar.Abort(true)
			p.Wait()
		}
}

// wrongAsk marks what a person asked for and cannot have as a mistake of the
// input.
func wrongAsk(err error) error {
	var unknown *work.UnknownRepair
	switch {
	case errors.As(err, &unknown):
		return exit.Usage(fmt.Errorf("--repair: %w", err))
	case errors.Is(err, work.ErrNothingToProve), errors.Is(err, proof.ErrCannotCure):
		return exit.Wrong(err)
	}
	return err
}

// page is the answer for people.
func (env environment) page(cmd *cobra.Command) *answer.Page {
	return &answer.Page{W: env.Out, Width: env.Width, Color: env.Color(cmd)}
}

// tell prints an answer as an object, or as a page for people.
func (env environment) tell(cmd *cobra.Command, asJSON bool, v any, page func(*answer.Page)) error {
	if asJSON {
		return writeJSON(env, v)
	}
	p := env.page(cmd)
	page(p)
	return p.Err()
}

// writeJSON writes an answer as an indented object.
func writeJSON(env environment, v any) error {
	enc := json.NewEncoder(env.Out)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

// output is a form of an answer and the file that it goes to.
type output struct {
	name  string // "-": the standard output; "": nowhere
	write func(io.Writer) error
}

// oneAnswer refuses a page on the standard output beside the JSON object.
func oneAnswer(json bool, pages ...string) error {
	if json && slices.Contains(pages, "-") {
		return exit.Usage(errors.New(`--json prints to the standard output; name a file instead of "-"`))
	}
	return nil
}

// writeAll writes each output, and tells whether one went to the standard output.
func writeAll(env environment, list ...output) (printed bool, err error) {
	for _, o := range list {
		switch o.name {
		case "":
		case "-":
			printed = true
			err = o.write(env.Out)
		default:
			const readable = 0o644
			if err = atomicfile.Write(o.name, readable, o.write); err != nil {
				err = exit.Wrong(err)
			}
		}
		if err != nil {
			return printed, err
		}
	}
	return printed, nil
}
