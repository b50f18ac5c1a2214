package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"weephole/internal/atomicfile"
	"weephole/internal/exit"
	"weephole/internal/trial"
	"weephole/lineup"

	"github.com/spf13/cobra"
)

const trialLong = `Works simulated cars from the complaint to the proven repair. It measures how often
the percentages were right and what the work cost. Four other ways of working are
compared: a fixed textbook order, repairs by probability over cost, information per
cost, and perfect knowledge.

The simulated cars vary more than the program assumes. They have other heat shares and
masses, worn radiators and drifting sensors. Owners forget, and mechanics err. Some
cars have two faults at once, or a fault that the catalogue does not have.

The same seed gives the same cars and the same answer on any number of cores.
Seeds from 100000 on are for reports; lower ones are for tuning.

With --cases it scores real cars instead. The folder has job files NAME.yaml, typed as
they would have been before the cause was known. The truth is in NAME.outcome.yaml.

With --world stranger the cars come from a second simulator. It shares no equation and
no number with the program's own.`

const trialExamples = `  weephole trial --jobs 40 --seed 7 --table
  weephole trial --jobs 300 --seed 100001 --compare 40 --table --plots docs/calibration > own.md
  weephole trial --jobs 200 --seed 100002 --json
  weephole trial --cases cases --seeds 1,2,3
  weephole trial --cases cases --candidates 5000 --json
  weephole trial --cases cases --steps --still --candidates 6000
  weephole trial --world stranger --cars 40 --seed 1 --stages "all tests and log"
  weephole trial --world stranger --cars 40 --seed 1 --write /tmp/strangers`

// trialFlags are what a trial is told: which world, and in which form the answer is wanted.
type trialFlags struct {
	own               trial.RunOptions
	json, table       bool
	plots, link, page string
	cases             caseFlags
	strangers         strangerFlags
	beside            []string
}

func trialCommand(env environment) *cobra.Command {
	var f trialFlags
	cmd := &cobra.Command{
		Use:     "trial [flags]",
		Short:   "measure on simulated cars whether the percentages are right",
		Long:    trialLong,
		Example: trialExamples,
		Args:    noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if cmd.Flags().Changed("candidates") {
				f.cases.candidates = f.own.Candidates
			}
			return f.run(cmd.Context(), env)
		},
	}
	fl := cmd.Flags()
	fl.IntVar(&f.own.Jobs, "jobs", 40, "how many cars")
	fl.Uint64Var(&f.own.Seed, "seed", 1, "seed of every random number")
	fl.IntVar(&f.own.Candidates, "candidates", trial.DefaultCandidates, "engines in each bank")
	fl.IntVar(&f.own.Banks, "banks", trial.DefaultBanks, "kinds of vehicle and weather that the cars share")
	fl.IntVar(&f.own.Compare, "compare", -1, "on how many of the cars information per cost is worked too; -1 for all")
	fl.IntVar(&f.own.Workers, "workers", 0, "cars worked on at once; 0 for as many as there are cores")
	fl.BoolVar(&f.json, "json", false, "as a JSON object")
	fl.BoolVar(&f.table, "table", false, "as a Markdown page with tables (the usual form)")
	fl.StringVar(&f.cases.dir, "cases", "", "folder of real cases to score instead")
	fl.UintSliceVar(&f.cases.seeds, "seeds", nil, "with --cases or --world: seeds of the program, each answers every case")
	fl.BoolVar(&f.cases.still, "still", false, "with --cases or --world: one round of engines only; quicker and coarser")
	fl.StringArrayVar(&f.beside, "side-by-side", nil, "a report written with --json, may be given again: all worlds side by side")
	fl.StringVar(&f.strangers.world, "world", "", "another world instead: stranger, a second and independent simulator")
	fl.IntVar(&f.strangers.cars, "cars", 40, "with --world: cars with one fault; half as many with two")
	fl.IntVar(&f.strangers.library, "library", 1400, "with --world: cars for the nearest neighbours; 0 for none")
	fl.StringSliceVar(&f.strangers.stages, "stages", nil, `with --world: what is told, such as "complaint,all tests and log" (default: all)`)
	fl.StringVar(&f.strangers.write, "write", "", "with --world: folder to write job files, logs and truths into")
	fl.BoolVar(&f.cases.learn, "learn", false, "with --cases: fit the causes' weights, and judge the fit on cases left out")
	fl.BoolVar(&f.cases.steps, "steps", false, "with --cases: after how many steps of the plan a check could show the true cause")
	fl.StringVar(&f.plots, "plots", "", "folder to write SVG pictures into")
	fl.StringVar(&f.page, "page", "", "file to write the Markdown page into as well")
	fl.StringVar(&f.link, "plots-link", "calibration", "that folder's name in the page's links")
	return cmd
}

// run works the world that was asked for.
func (f *trialFlags) run(ctx context.Context, env environment) error {
	switch {
	case f.own.Jobs < 1:
		return exit.Usage(fmt.Errorf("--jobs: found %d; write how many cars, at least 1", f.own.Jobs))
	case f.json && f.table:
		return exit.Usage(errors.New("--json and --table are two forms of one answer; give one of them"))
	}
	if err := f.apart(); err != nil {
		return err
	}
	f.cases.workers = f.own.Workers
	switch {
	case len(f.beside) > 0:
		return sideBySide(env, f.beside)
	case f.cases.dir != "":
		if len(f.cases.seeds) == 0 {
			f.cases.seeds = []uint{uint(f.own.Seed)}
		}
		return f.cases.run(ctx, env, f.json)
	case f.strangers.world == "stranger":
		return f.strangers.run(ctx, env, f.own.Seed, f.cases, f.json)
	case f.strangers.world != "":
		return exit.Usage(fmt.Errorf("--world: found %q; write stranger, or leave it out for the trial's own world", f.strangers.world))
	}
	return f.ownWorld(ctx, env)
}

// apart refuses flags of which one would be ignored.
func (f *trialFlags) apart() error {
	type flag struct {
		name string
		set  bool
	}
	page, plots := flag{"--page", f.page != ""}, flag{"--plots", f.plots != ""}
	for _, g := range []struct {
		one    flag
		others []flag
	}{
		{flag{"--side-by-side", len(f.beside) > 0}, []flag{{"--json", f.json}, {"--cases", f.cases.dir != ""}, {"--world", f.strangers.world != ""}, page, plots}},
		{flag{"--learn", f.cases.learn}, []flag{{"--json", f.json}, {"--steps", f.cases.steps}}},
		{flag{"--cases", f.cases.dir != ""}, []flag{{"--world", f.strangers.world != ""}, page, plots}},
		{flag{"--world", f.strangers.world != ""}, []flag{page, plots}},
	} {
		for _, other := range g.others {
			if g.one.set && other.set {
				return exit.Usage(fmt.Errorf("%s and %s do not go together; leave one out", g.one.name, other.name))
			}
		}
	}
	return nil
}

// ownWorld works the cars of the trial's own world and prints what was measured.
func (f *trialFlags) ownWorld(ctx context.Context, env environment) error {
	o := f.own
	if env.ErrIsTerminal {
		o.Progress = func(done, total int) { fmt.Fprintf(env.Err, "\r%d of %d cars", done, total) }
		defer fmt.Fprintln(env.Err)
	}
	m, err := lineup.DefaultModel()
	if err != nil {
		return err
	}
	jobs, err := trial.Run(ctx, o)
	if err != nil {
		return err
	}
	measured := trial.Measure(m.Causes, o.Seed, jobs)
	if f.plots != "" {
		if err := measured.WritePlots(f.plots); err != nil {
			return err
		}
	}
	if f.page != "" {
		if err := writePage(measured, f.page, f.link); err != nil {
			return err
		}
	}
	if f.json {
		enc := json.NewEncoder(env.Out)
		enc.SetIndent("", "  ")
		return enc.Encode(struct {
			*trial.Measured
			Goals []trial.Goal `json:"goals"`
		}{measured, measured.Goals()})
	}
	return measured.WritePage(env.Out, f.link)
}

// writePage writes the trial's own page into a file.
func writePage(m *trial.Measured, name, link string) error {
	return atomicfile.Write(name, 0o644, func(w io.Writer) error { return m.WritePage(w, link) })
}
