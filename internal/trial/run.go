package trial

import (
	"cmp"
	"context"
	"fmt"
	"sync/atomic"

	"golang.org/x/sync/errgroup"

	"weephole/lineup"
	"weephole/parallel"
	"weephole/plan"
)

// RunOptions say how a trial is run.
type RunOptions struct {
	Jobs int
	Seed uint64
	// Workers is the number of cars worked on at once; as many as there are
	// cores if zero. The answer does not depend on it.
	Workers int
	// Banks is how many kinds of vehicle and weather the cars are of; 0 means
	// DefaultBanks, or as many as there are jobs if those are fewer.
	Banks int
	// Candidates of each bank; 0 means DefaultCandidates. Lineups stand still:
	// they are not resampled and moved as for a real job, for speed.
	Candidates int
	// Sample is how many engines stand for the lineup in a plan; 0 means
	// DefaultSample.
	Sample int
	// HandOnFee is what handing a car on costs beside the bill; 0 means the plan's
	// own setting.
	HandOnFee float64
	// Own takes the cars from the lineup's own world; see World.Own.
	Own bool
	// Random makes checks in random order instead of working by the plan, and
	// compares nothing: it shows the beliefs alone.
	Random bool
	// Rounds is how many rounds the plan searches after its first answer; see solve.New.
	Rounds int
	// Compare says on how many of the cars, from the first, the ways that need
	// a lineup of their own are worked too; negative for all.
	Compare int
	// Progress, if not nil, is called with the cars done.
	Progress func(done, total int)
}

// The trial's banks: how many, how many engines each has, and how many of them
// stand for the lineup in a plan. Fewer than a job has, for speed.
const (
	DefaultBanks      = 12
	DefaultCandidates = 6000
	DefaultSample     = 600
)

// The ways of working, as they are called in the report.
const (
	Ours        = "weephole"
	Book        = "textbook"
	Odds        = "probability over cost"
	Information = "information per cost"
	Knowing     = "perfect knowledge"
)

// Ways lists the ways of working, the program first.
func Ways() []string { return []string{Ours, Book, Odds, Information, Knowing} }

// JobResult is one car of the trial and how each way of working fared on it.
type JobResult struct {
	Car    int      `json:"car"`
	Faults []string `json:"faults"` // true causes; empty: nothing is wrong
	Beyond string   `json:"beyond,omitempty"`
	// Severities of the true causes, 0..1.
	Severities []float64          `json:"severities"`
	Trouble    string             `json:"trouble"`
	Tells      float64            `json:"tells"` // how far the most telling check tells it from the same car sound, 0..1
	Beliefs    []Belief           `json:"-"`
	Ways       map[string]*Worked `json:"ways"`
}

// Run runs the trial.
func Run(ctx context.Context, o RunOptions) ([]JobResult, error) {
	o.fill()
	t, w, err := newTurn(&o)
	if err != nil {
		return nil, err
	}
	jobs := make([]JobResult, o.Jobs)
	var done atomic.Int64
	for b := range o.Banks {
		spec := DrawSpec(w, o.Seed, b, o.Banks)
		bank, err := lineup.NewBank(ctx, t.m, spec.Vehicle, spec.Shop, lineup.DrawOptions{
			Candidates: o.Candidates, Seed: o.Seed<<16 + uint64(b), Workers: o.Workers, KeepStill: true,
		})
		if err != nil {
			return nil, fmt.Errorf("trial: %w", err)
		}
		t := t
		t.bank = bank
		g, ctx := errgroup.WithContext(ctx)
		g.SetLimit(o.Workers)
		for i := b; i < o.Jobs; i += o.Banks {
			g.Go(func() error {
				if err := ctx.Err(); err != nil {
					return err
				}
				job, err := t.do(ctx, DrawCar(t.m, w, spec, o.Seed, i))
				if err != nil {
					return fmt.Errorf("trial: %w", err)
				}
				jobs[i] = *job
				if o.Progress != nil {
					o.Progress(int(done.Add(1)), o.Jobs)
				}
				return nil
			})
		}
		if err := g.Wait(); err != nil {
			return nil, err
		}
	}
	return jobs, nil
}

// fill puts the usual values where none are given.
func (o *RunOptions) fill() {
	o.Sample = cmp.Or(o.Sample, DefaultSample)
	o.Candidates = cmp.Or(o.Candidates, DefaultCandidates)
	o.Banks = min(cmp.Or(o.Banks, DefaultBanks), o.Jobs)
	o.Workers = parallel.Workers(o.Workers)
}

// turn is one car's turn: what all cars of a bank share.
type turn struct {
	m      *lineup.Model
	book   *Textbook
	st     *plan.Assumptions
	prices *prices
	o      *RunOptions
	bank   *lineup.Bank
}

// newTurn gathers what all cars share but the bank, and the world they come from.
func newTurn(o *RunOptions) (t turn, w *World, err error) {
	t.o = o
	if t.m, err = lineup.DefaultModel(); err != nil {
		return t, nil, fmt.Errorf("trial: %w", err)
	}
	if w, err = DefaultWorld(); err != nil {
		return t, nil, err
	}
	if o.Own {
		w = w.Own()
	}
	if t.book, err = DefaultTextbook(); err != nil {
		return t, nil, err
	}
	if t.st, err = plan.DefaultAssumptions(); err != nil {
		return t, nil, fmt.Errorf("trial: %w", err)
	}
	t.st.Sample.Value = float64(o.Sample)
	if o.HandOnFee > 0 {
		t.st.HandOnFee.Value = o.HandOnFee
	}
	t.prices, err = newPrices(t.m, t.st)
	return t, w, err
}

// do has one car worked on in all ways.
func (t *turn) do(ctx context.Context, c *TrueCar) (*JobResult, error) {
	job := &JobResult{Car: c.Number, Trouble: c.Case.Complaint.Trouble.String(), Tells: c.tells(), Ways: make(map[string]*Worked)}
	for _, f := range c.Faults {
		job.Faults = append(job.Faults, t.m.Causes.Causes[f.Cause].ID)
		job.Severities = append(job.Severities, f.Severity)
	}
	if c.Beyond >= 0 {
		job.Beyond = c.world.Beyond[c.Beyond].ID
	}
	base, err := t.bank.Lineup(ctx, c.Case)
	if err != nil {
		return nil, err
	}
	ours := t.program(base, false)
	ours.note("complaint")
	if t.o.Random {
		return job, t.atRandom(ctx, job, c, ours)
	}
	if err := t.work(ctx, job, c, Ours, ours); err != nil {
		return nil, err
	}
	ours.note("end")
	job.Beliefs = ours.beliefs
	if t.o.Compare < 0 || c.Number < t.o.Compare {
		if err := t.work(ctx, job, c, Information, t.program(base, true)); err != nil {
			return nil, err
		}
	}
	start, err := plan.ForLineup(ctx, base, t.st, plan.Workshop{})
	if err != nil {
		return nil, err
	}
	for name, w := range map[string]way{Odds: newByOdds(start), Book: newByBook(t.book, c), Knowing: newKnowing(t.prices)} {
		if err := t.work(ctx, job, c, name, w); err != nil {
			return nil, err
		}
	}
	return job, nil
}

func (t *turn) program(base *lineup.Lineup, byInformation bool) *program {
	return &program{
		model: t.m, settings: t.st, prices: t.prices, l: base, rounds: t.o.Rounds, byInformation: byInformation,
	}
}

// atRandom makes the checks in random order. Its last belief counts as that of
// the naming, and its way stands for the ways it is compared with.
func (t *turn) atRandom(ctx context.Context, job *JobResult, c *TrueCar, ours *program) error {
	for i := range t.m.Checks.Checks {
		ours.random = append(ours.random, t.m.Checks.Checks[i].ID)
	}
	c.luck.stream("order", "", 0).Shuffle(len(ours.random), func(i, j int) {
		ours.random[i], ours.random[j] = ours.random[j], ours.random[i]
	})
	if err := t.work(ctx, job, c, Ours, ours); err != nil {
		return err
	}
	ours.note("naming")
	job.Beliefs = ours.beliefs
	job.Ways[Book], job.Ways[Knowing] = job.Ways[Ours], job.Ways[Ours]
	return nil
}

func (t *turn) work(ctx context.Context, job *JobResult, c *TrueCar, name string, w way) error {
	worked, err := work(ctx, c, t.prices, w)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	job.Ways[name] = worked
	return nil
}
