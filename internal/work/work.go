package work

import (
	"context"
	"errors"
	"fmt"
	"io"

	"weephole/internal/job"
	"weephole/lineup"
	"weephole/plan"
	"weephole/quantity"
	"weephole/trace"
)

// Work is a job opened for questions. It is for one goroutine.
type Work struct {
	Model    *lineup.Model
	Job      *job.Job
	Units    quantity.Units // in which to print
	Currency string         // in which the shop counts, an ISO 4217 code
	Shop     plan.Workshop
	Case     lineup.Case
	Traces   map[int]*trace.Trace // logs, by index in Case.Events
	// FindingOf tells which finding of the job each event of the case is.
	FindingOf []int
	// Unweighed are findings that are kept and do not count.
	Unweighed []Unweighed
	History

	options OpenOptions
	before  *lineup.Lineup // drawn once
}

// Opener opens a log that a job names, by the name it has in the job.
type Opener func(name string) (io.ReadCloser, error)

// Sharing gives a lineup of the case that somebody else had drawn in the same way, or draws it.
type Sharing func(ctx context.Context, m *lineup.Model, cs lineup.Case, o lineup.DrawOptions, draw func(context.Context) (*lineup.Lineup, error)) (*lineup.Lineup, error)

// OpenOptions say how a job is opened and how its lineups are drawn.
type OpenOptions struct {
	Open  Opener // nil: a job with logs is refused
	Units string // "us", "metric" or a mixture; "" means the job's own, or metric
	// Plan is nil for the default settings.
	Plan *plan.Assumptions
	// Lineup is how lineups are drawn. Keep is where they are kept for more than one
	// question: it gives the one that it has of a case, or draws it. Watch is told of
	// each drawing as it begins, and gives what to call as it goes on and when it ends.
	// Share may spare a drawing whoever asks for it. Each may be nil.
	Lineup lineup.DrawOptions
	Share  Sharing
	Keep   func(ctx context.Context, cs lineup.Case, draw func(context.Context) (*lineup.Lineup, error)) (*lineup.Lineup, error)
	Watch  func() (progress func(done, total int), ended func())
}

// ErrUnits marks units that cannot be read.
var ErrUnits = errors.New("units")

// Open reads a job from a file of the given name and opens it. Mistakes in the
// job are job.Problems, all of them at once.
func Open(ctx context.Context, m *lineup.Model, r io.Reader, name string, o OpenOptions) (*Work, error) {
	j, err := job.Read(r, name, Vocabulary(m))
	if err != nil {
		return nil, err
	}
	return New(ctx, m, j, o)
}

// New opens a job that has been read.
func New(ctx context.Context, m *lineup.Model, j *job.Job, o OpenOptions) (*Work, error) {
	w := &Work{Model: m, Job: j, Currency: "USD", Traces: make(map[int]*trace.Trace), options: o}
	if c := j.Shop.Rate.Value.Currency; j.Shop.Rate.Known() && c != "" {
		w.Currency = c
	}
	units := o.Units
	if units == "" {
		units = j.Shop.Units
	}
	if units == "" {
		units = "metric"
	}
	var err error
	if w.Units, err = quantity.ParseUnits(units); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrUnits, err)
	}
	if w.options.Plan == nil {
		if w.options.Plan, err = plan.DefaultAssumptions(); err != nil {
			return nil, err
		}
	}
	if err := w.prepare(ctx); err != nil {
		return nil, err
	}
	w.History = split(w)
	return w, nil
}

// Lineup draws the lineup of the job as it stands.
func (w *Work) Lineup(ctx context.Context) (*lineup.Lineup, error) { return w.kept(ctx, w.Case) }

// LineupOf draws another one, with so many candidates, 1 and more.
func (w *Work) LineupOf(ctx context.Context, candidates int) (*lineup.Lineup, error) {
	o := w.options.Lineup
	o.Candidates = candidates
	return w.draw(ctx, w.Case, o)
}

// LineupBeforeOf is LineupOf for the job as it stood before the repairs to be proven.
func (w *Work) LineupBeforeOf(ctx context.Context, candidates int) (*lineup.Lineup, error) {
	o := w.options.Lineup
	o.Candidates = candidates
	return w.draw(ctx, w.Before, o)
}

// Rough draws a first, rough lineup of the job as if these were all its events.
func (w *Work) Rough(ctx context.Context, events []lineup.Event) (*lineup.Lineup, error) {
	cs, o := w.Case, w.options.Lineup
	cs.Events, o.KeepStill = events, true
	return w.draw(ctx, cs, o)
}

// LineupBefore is the lineup of the job as it stood before the repairs to be
// proven, drawn when it is first asked for.
func (w *Work) LineupBefore(ctx context.Context) (*lineup.Lineup, error) {
	if w.before == nil {
		l, err := w.kept(ctx, w.Before)
		if err != nil {
			return nil, err
		}
		w.before = l
	}
	return w.before, nil
}

// UseBefore takes a lineup that has come about in another way as the one before
// the repair.
func (w *Work) UseBefore(l *lineup.Lineup) { w.before = l }

func (w *Work) kept(ctx context.Context, cs lineup.Case) (*lineup.Lineup, error) {
	draw := func(ctx context.Context) (*lineup.Lineup, error) { return w.draw(ctx, cs, w.options.Lineup) }
	if w.options.Keep != nil {
		return w.options.Keep(ctx, cs, draw)
	}
	return draw(ctx)
}

func (w *Work) draw(ctx context.Context, cs lineup.Case, o lineup.DrawOptions) (*lineup.Lineup, error) {
	draw := func(ctx context.Context) (*lineup.Lineup, error) {
		o := o
		if w.options.Watch != nil {
			progress, ended := w.options.Watch()
			defer ended()
			o.Progress = progress
		}
		return lineup.New(ctx, w.Model, cs, o)
	}
	if w.options.Share != nil {
		return w.options.Share(ctx, w.Model, cs, o, draw)
	}
	return draw(ctx)
}

// Diagnosis are how the weight of a lineup is spread over the causes, and which single
// finding would change the leading cause (nil: none).
type Diagnosis struct {
	lineup.Odds
	Overturn *lineup.Overturn
	Instead  string // the result that would have changed it, in the catalogue's words
}

// OddsOf asks a lineup for its odds.
func OddsOf(l *lineup.Lineup) Diagnosis {
	o := Diagnosis{Odds: l.Odds()}
	if over, ok := l.Overturn(); ok {
		o.Overturn, o.Instead = &over, over.Instead
		if k := l.Model().Checks.Check(l.Case().Events[over.Finding-1].Check); k != nil {
			o.Instead = k.Words[k.WordIndex(over.Instead)].Says
		}
	}
	return o
}
