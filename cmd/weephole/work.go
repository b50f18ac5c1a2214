package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"
	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"

	"weephole/internal/answer"
	"weephole/internal/casework"
	"weephole/internal/exit"
	"weephole/internal/job"
	"weephole/lineup"
	"weephole/plan"
	"weephole/quantity"
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
	fl := cmd.Flags()
	fl.BoolVar(&f.json, "json", false, "as a JSON object")
	fl.StringVar(&f.units, "units", "", `units to print in, "us" or "metric"; the job's if not given`)
	fl.Uint64Var(&f.seed, "seed", 1, "seed of all random numbers: the same seed gives the same answer")
	fl.IntVar(&f.candidates, "candidates", lineup.DefaultCandidates, "how many engines to simulate")
	fl.StringArrayVar(&f.overlay, "overlay", nil, "the shop's own sheet of causes, checks or counts; may be given again")
}

// bench is a job on the bench: read, made ready, and the knowledge to weigh it.
type bench struct {
	flags    workFlags
	model    *lineup.Model
	settings *plan.Assumptions
	job      *job.Job
	work     *casework.Casework
	units    quantity.Units
	currency string
}

// openBench reads the knowledge and the job; a mistake in either is the
// input's (status 2).
func openBench(ctx context.Context, env environment, f workFlags, name string) (*bench, error) {
	m, err := knowledge(f.overlay)
	if err != nil {
		return nil, err
	}
	j, dir, err := readJob(env, m, name)
	if err != nil {
		return nil, err
	}
	return newBench(ctx, m, f, j, func(log string) (io.ReadCloser, error) {
		if !filepath.IsAbs(log) {
			log = filepath.Join(dir, log)
		}
		return os.Open(log)
	})
}

func newBench(ctx context.Context, m *lineup.Model, f workFlags, j *job.Job, open casework.Opener) (*bench, error) {
	if f.candidates < minCandidates || f.candidates > maxCandidates {
		return nil, exit.Usage(fmt.Errorf("--candidates %d: write a number from %d to %d", f.candidates, minCandidates, maxCandidates))
	}
	b := &bench{flags: f, model: m, job: j, currency: "USD"}
	var err error
	if b.settings, err = plan.DefaultAssumptions(); err != nil {
		return nil, err
	}
	if b.work, err = casework.Prepare(ctx, m, j, open); err != nil {
		var ps job.Problems
		if errors.As(err, &ps) {
			return nil, exit.Wrong(err)
		}
		return nil, err
	}
	if j.Shop.Rate.Known() && j.Shop.Rate.Value.Currency != "" {
		b.currency = j.Shop.Rate.Value.Currency
	}
	words := f.units
	if words == "" {
		words = j.Shop.Units
	}
	if words == "" {
		words = "metric"
	}
	if b.units, err = quantity.ParseUnits(words); err != nil {
		return nil, exit.Usage(fmt.Errorf("--units: %w", err))
	}
	return b, nil
}

// Bounds of --candidates: fewer say nothing, more fill the memory of a small
// machine (about 2 kB each); judgement.
const (
	minCandidates = 500
	maxCandidates = 2_000_000
)

// knowledge reads the embedded sheets and lays the shop's own over them.
func knowledge(overlay []string) (*lineup.Model, error) {
	m, err := lineup.DefaultModel()
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

// readJob reads a job file, or the job on standard input when the name is "-".
func readJob(env environment, m *lineup.Model, name string) (j *job.Job, dir string, err error) {
	words := casework.Vocabulary(m)
	if name == "-" {
		j, err = job.Read(env.In, "standard input", words)
		if err != nil {
			return nil, "", exit.Wrong(err)
		}
		return j, ".", nil
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, "", exit.Wrong(err)
	}
	defer f.Close()
	if info, err := f.Stat(); err == nil && info.IsDir() {
		return nil, "", exit.Wrong(fmt.Errorf("%s is a folder; give a job file", name))
	}
	if j, err = job.Read(f, name, words); err != nil {
		return nil, "", exit.Wrong(err)
	}
	return j, filepath.Dir(name), nil
}

// lineup draws and weighs the candidates, with a progress bar on a terminal
// where it takes long enough to wonder. A still one is not drawn closer where
// few fit: quicker, and coarser.
func (b *bench) lineup(ctx context.Context, env environment, still bool) (*lineup.Lineup, error) {
	o := lineup.Options{Candidates: b.flags.candidates, Seed: b.flags.seed, KeepStill: still}
	done := func() {}
	if env.ErrIsTerminal && !b.flags.json {
		o.Progress, done = progress(env)
	}
	l, err := lineup.New(ctx, b.model, b.work.Case, o)
	done()
	return l, err
}

// progressAfter is how long a run may take before a bar appears: judgement.
const progressAfter = 300 * time.Millisecond

// progress draws the share of candidates run. The runs of a moved lineup come
// on top, so the bar starts anew for each pass.
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

// odds answers "what is it?".
func (b *bench) odds(l *lineup.Lineup) answer.Odds {
	var over *lineup.Overturn
	if o, ok := l.Overturn(); ok {
		over = &o
	}
	return answer.ForOdds(l.Odds(), over, b.units, nil)
}

// next answers "what do I do now?".
func (b *bench) next(ctx context.Context, l *lineup.Lineup, rounds int) (*answer.Next, error) {
	ask := answer.Ask{Shop: b.work.Shop, Settings: b.settings, Units: b.units, Currency: b.currency, Rounds: rounds}
	if q := b.job.Quote; q != nil && q.Presumes != job.Unknown {
		ask.QuotePresumes, ask.QuoteRepair = q.Presumes, q.Repair
		ask.QuotePrice = q.Price.Or(quantity.Money{}).Amount
	}
	n, err := answer.ForNext(ctx, l, ask)
	if err != nil {
		return nil, err
	}
	for i := range n.Steps {
		for k, c := range n.Steps[i].Cautions {
			n.Steps[i].Cautions[k] = b.units.InText(c)
		}
	}
	return n, nil
}
