package main

import (
	"context"
	"fmt"
	"os"

	"weephole/internal/exit"
	"weephole/internal/trial"
	"weephole/lineup"
)

// caseFlags say which real cases to score, and how.
type caseFlags struct {
	dir        string
	seeds      []uint
	still      bool
	learn      bool
	steps      bool // walk the plan instead
	candidates int  // 0: as many as a job gets
	workers    int
}

// learnSpread is how far a judged weight is thought to be off, as the standard
// deviation of its log: judgement, a factor of 1.6 either way.
const learnSpread = 0.5

// run scores the program on real cases, or fits the weights of the causes to them.
func (f *caseFlags) run(ctx context.Context, env environment, asJSON bool) error {
	m, err := lineup.DefaultModel()
	if err != nil {
		return err
	}
	cases, err := trial.ReadCases(m, os.DirFS(f.dir))
	if err != nil {
		return exit.Wrong(fmt.Errorf("--cases %s: %w", f.dir, err))
	}
	o := trial.CaseOptions{Candidates: f.candidates, Workers: f.workers, KeepStill: f.still, Logs: f.dir}
	for _, s := range f.seeds {
		o.Seeds = append(o.Seeds, uint64(s))
	}
	if env.ErrIsTerminal {
		o.Progress = func(done, total int) { fmt.Fprintf(env.Err, "\r%d of %d answers", done, total) }
		defer fmt.Fprintln(env.Err)
	}
	if f.learn {
		learned, err := trial.Learn(ctx, m, cases, learnSpread, o)
		if err != nil {
			return err
		}
		return learned.WriteTable(env.Out)
	}
	if f.steps {
		walks, err := trial.WalkCases(ctx, m, cases, o)
		switch {
		case err != nil:
			return err
		case asJSON:
			return writeJSON(env, walks)
		}
		return walks.WriteTables(env.Out)
	}
	report, err := trial.RunCases(ctx, m, cases, o)
	if err != nil {
		return err
	}
	if asJSON {
		return writeJSON(env, report)
	}
	return report.WriteTables(env.Out)
}

// sideBySide prints reports that were written before as one table.
func sideBySide(env environment, files []string) error {
	var sides []trial.Side
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			return exit.Wrong(err)
		}
		list, err := trial.ReadReport(data)
		if err != nil {
			return exit.Wrong(fmt.Errorf("%s: %w", name, err))
		}
		sides = append(sides, list...)
	}
	return trial.WriteWorlds(env.Out, sides)
}
