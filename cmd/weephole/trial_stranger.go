package main

import (
	"context"
	"fmt"

	"weephole/internal/exit"
	"weephole/internal/trial"
	"weephole/internal/trial/stranger"
	"weephole/lineup"
)

// strangerFlags say which cars of another world are met.
type strangerFlags struct {
	world   string
	cars    int
	library int
	stages  []string
	write   string
}

// run scores the program on cars of the stranger's world.
func (f *strangerFlags) run(ctx context.Context, env environment, seed uint64, c caseFlags, asJSON bool) error {
	if f.cars < 1 {
		return exit.Usage(fmt.Errorf("--cars: found %d; write how many cars, at least 1", f.cars))
	}
	known := map[string]bool{}
	for _, st := range stranger.Stages() {
		known[st.Name] = true
	}
	for _, st := range f.stages {
		if !known[st] {
			return exit.Usage(fmt.Errorf("--stages: found %q; write some of: complaint, complaint and log, tests without log, all tests and log", st))
		}
	}
	m, err := lineup.DefaultModel()
	if err != nil {
		return err
	}
	o := trial.StrangerOptions{Cars: f.cars, Seed: seed, Library: f.library, Write: f.write, Stages: f.stages,
		CaseOptions: trial.CaseOptions{Candidates: c.candidates, Workers: c.workers, KeepStill: c.still}}
	for _, s := range c.seeds {
		o.Seeds = append(o.Seeds, uint64(s))
	}
	if env.ErrIsTerminal {
		o.Progress = func(done, total int) { fmt.Fprintf(env.Err, "\r%d of %d answers", done, total) }
		defer fmt.Fprintln(env.Err)
	}
	report, err := trial.RunStrangers(ctx, m, o)
	if err != nil {
		return err
	}
	if asJSON {
		return writeJSON(env, report)
	}
	return report.WriteTables(env.Out)
}
