package trial

import (
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"sort"
	"sync/atomic"

	"golang.org/x/sync/errgroup"

	"weephole/internal/job"
	jobs "weephole/internal/work"
	"weephole/lineup"
	"weephole/parallel"
)

// CaseOptions say how real cases are weighed.
type CaseOptions struct {
	Seeds      []uint64 // one answer each
	Candidates int      // engines; lineup.DefaultCandidates if zero
	Workers    int      // cases at once; as many as there are cores if zero
	KeepStill  bool     // see lineup.DrawOptions
	Logs       string   // folder of the logs that the jobs name
	Progress   func(done, total int)
}

// CaseReport is how the program fared on real cases, and readers beside it.
type CaseReport struct {
	Cases  int      `json:"cases"`
	Seeds  []uint64 `json:"seeds"`
	Groups []Scored `json:"groups"`
	// Readers are the readers' scores on the fair cases.
	Readers   []Scored   `json:"readers"`
	Causes    []PerTruth `json:"causes"` // fair cases
	Forecasts []Forecast `json:"forecasts"`
	// Misses are the fair cases whose cause did not lead with the first seed.
	Misses []Miss `json:"misses"`
}

// caseFair is the group that counts: nothing tells the cause beforehand.
const caseFair = "cause not known beforehand"

// Scored is a score with what it is of.
type Scored struct {
	Of    string `json:"of"`
	Score Score  `json:"score"`
}

// Miss is a car whose true cause did not lead.
type Miss struct {
	Car     string   `json:"car"`
	Truths  []string `json:"truths"`
	OnTruth float64  `json:"on_truth"`
	Rank    int      `json:"rank"` // of the first right cause, from 1; 0 if it has no odds
	Leader  string   `json:"leader"`
	Said    float64  `json:"said"`
}

// RunCases weighs every case with every seed and scores what came out.
func RunCases(ctx context.Context, m *lineup.Model, cases []Real, o CaseOptions) (*CaseReport, error) {
	if len(o.Seeds) == 0 {
		o.Seeds = []uint64{1}
	}
	todo := make([]weighed, 0, len(cases)*len(o.Seeds))
	for i := range cases {
		for _, seed := range o.Seeds {
			todo = append(todo, weighed{name: cases[i].Name, job: cases[i].Job, seed: seed,
				truths: cases[i].Outcome.Cause, also: cases[i].Outcome.AlsoRight})
		}
	}
	forecasts, err := weighAll(ctx, m, todo, o)
	if err != nil {
		return nil, err
	}
	return reportOnCases(cases, forecasts, o.Seeds), nil
}

// weighed is one job to be weighed with one seed.
type weighed struct {
	name         string
	job          *job.Job
	open         jobs.Opener // nil: from CaseOptions.Logs
	seed         uint64
	truths, also []string
}

// weighAll weighs jobs on several cores; the answers stand in the order of the
// jobs whatever the number of cores.
func weighAll(ctx context.Context, m *lineup.Model, todo []weighed, o CaseOptions) ([]Forecast, error) {
	o.Workers = parallel.Workers(o.Workers)
	out := make([]Forecast, len(todo))
	var done atomic.Int64
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(o.Workers)
	for i := range todo {
		g.Go(func() error {
			l, err := weigh(ctx, m, &todo[i], o)
			if err != nil {
				return fmt.Errorf("%s: %w", todo[i].name, err)
			}
			odds := make(map[string]float64)
			for i, p := range l.Probabilities() {
				if math.IsNaN(p) {
					// Nothing that can be read: the car counts as missed.
					clear(odds)
					break
				}
				odds[m.Causes.Causes[i].ID] = p
			}
			bad := make(map[string]float64)
			if len(odds) > 0 {
				for i, p := range l.Bad() {
					bad[m.Causes.Causes[i].ID] = p
				}
			}
			out[i] = Forecast{Car: todo[i].name, Truths: todo[i].truths, Also: todo[i].also, Odds: odds, Bad: bad}
			if n := int(done.Add(1)); o.Progress != nil {
				o.Progress(n, len(todo))
			}
			return nil
		})
	}
	return out, g.Wait()
}

func weigh(ctx context.Context, m *lineup.Model, w *weighed, o CaseOptions) (*lineup.Lineup, error) {
	open := w.open
	if open == nil {
		open = func(name string) (io.ReadCloser, error) {
			if !filepath.IsAbs(name) {
				name = filepath.Join(o.Logs, name)
			}
			return os.Open(name)
		}
	}
	opened, err := jobs.New(ctx, m, w.job, jobs.OpenOptions{Open: open, Lineup: lineup.DrawOptions{
		Candidates: o.Candidates, Seed: w.seed, Workers: 1, KeepStill: o.KeepStill,
	}})
	if err != nil {
		return nil, err
	}
	return opened.Lineup(ctx)
}

func reportOnCases(cases []Real, forecasts []Forecast, seeds []uint64) *CaseReport {
	r := &CaseReport{Cases: len(cases), Seeds: seeds, Forecasts: forecasts}
	of := make(map[string]*Real, len(cases))
	for i := range cases {
		of[cases[i].Name] = &cases[i]
	}
	pick := func(list []Forecast, keep func(*Real) bool) (some []Forecast) {
		for _, f := range list {
			if keep(of[f.Car]) {
				some = append(some, f)
			}
		}
		return some
	}
	fair := pick(forecasts, (*Real).fair)
	r.Groups = []Scored{
		{caseFair, ScoreOf(fair)},
		{"the same, also-right answers counted as wrong", ScoreOf(strict(fair))},
		{"of these, core cases", ScoreOf(pick(fair, func(c *Real) bool { return c.Outcome.Weight == "core" }))},
		{"of these, cause seen or cured for sure", ScoreOf(pick(fair, func(c *Real) bool { return c.Outcome.Confidence == "sure" }))},
		{"of these, two causes", ScoreOf(pick(fair, func(c *Real) bool { return len(c.Outcome.Cause) > 1 }))},
		{"cause known beforehand", ScoreOf(pick(forecasts, func(c *Real) bool { return !c.fair() }))},
		{"all cases", ScoreOf(forecasts)},
	}
	readers := make(map[string][]Forecast)
	for i := range cases {
		c := &cases[i]
		if !c.fair() {
			continue
		}
		for who, odds := range c.Outcome.Readers {
			readers[who] = append(readers[who], Forecast{Car: c.Name, Truths: c.Outcome.Cause, Also: c.Outcome.AlsoRight, Odds: odds})
		}
	}
	for who, list := range readers {
		r.Readers = append(r.Readers, Scored{who, ScoreOf(list)},
			Scored{who + ", also-right answers counted as wrong", ScoreOf(strict(list))})
	}
	sort.Slice(r.Readers, func(a, b int) bool { return r.Readers[a].Of < r.Readers[b].Of })
	r.Causes = ScoreByTruth(fair)
	r.Misses = missesOf(fair)
	return r
}

// strict leaves out the answers that also count as right.
func strict(list []Forecast) []Forecast {
	out := slices.Clone(list)
	for i := range out {
		out[i].Also = nil
	}
	return out
}

// missesOf are the cars whose true cause does not lead in their first forecast,
// the surest mistakes first.
func missesOf(list []Forecast) []Miss {
	var out []Miss
	for _, fs := range byCar(list) {
		f := fs[0]
		lead, said := f.leader()
		if f.right(lead) {
			continue
		}
		x := Miss{Car: f.Car, Truths: f.Truths, OnTruth: f.onTruth(), Leader: lead, Said: said}
		for i, c := range f.ranked() {
			if f.right(c) && f.Odds[c] > 0 {
				x.Rank = i + 1
				break
			}
		}
		out = append(out, x)
	}
	sort.SliceStable(out, func(a, b int) bool { return out[a].Said > out[b].Said })
	return out
}
