package trial

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"golang.org/x/sync/errgroup"

	"weephole/internal/atomicfile"
	"weephole/internal/job"
	"weephole/internal/trial/stranger"
	jobs "weephole/internal/work"
	"weephole/lineup"
	"weephole/parallel"
)

// StrangerOptions say which cars of the stranger's world are met, and how they
// are weighed.
type StrangerOptions struct {
	Cars    int // single faults; pairs and healthy cars are a half and a quarter as many
	Seed    uint64
	Library int    // cars of the nearest-neighbour method to compare with; none if zero
	Write   string // folder to write job files, logs and truths into; none if empty
	Stages  []string
	CaseOptions
}

// FreshFrom is the first seed that is kept for reports: lower ones are for
// tuning, and what was tuned on is not what is reported.
const FreshFrom = 100000

// StrangerReport is how the program fared in the stranger's world.
type StrangerReport struct {
	Cars  int    `json:"cars"`
	Seed  uint64 `json:"seed"`
	Fresh bool   `json:"fresh"` // no number was tuned on this seed
	// Stages are what was told of each car, from the complaint to all of it.
	Stages []StageReport `json:"stages"`
}

// StageReport is one stage.
type StageReport struct {
	Told   string   `json:"told"`
	Groups []Scored `json:"groups"` // single faults, pairs, healthy, all
	Drives []Scored `json:"drives"` // single faults, by drive
	// Neighbours are the forecasts of the nearest neighbours in the stranger's own runs.
	Neighbours []Scored   `json:"neighbours"`
	Causes     []PerTruth `json:"causes"` // single faults
	Misses     []Miss     `json:"misses"`
	// PairsBoth is the share of pairs with both causes among the first three.
	PairsBoth Mean `json:"pairs_both"`
	// PairsBad is the same among the first three held to be bad, whatever they explain.
	PairsBad  Mean       `json:"pairs_bad"`
	Forecasts []Forecast `json:"forecasts"`
}

// MeetStrangers makes the cars: singles, then pairs, then healthy ones.
func MeetStrangers(ctx context.Context, seed uint64, singles, pairs, healthy int) ([]*stranger.Case, error) {
	list := make([]*stranger.Case, singles+pairs+healthy)
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(parallel.Workers(0))
	for i := range list {
		want := stranger.Single
		switch {
		case i >= singles+pairs:
			want = stranger.Healthy
		case i >= singles:
			want = stranger.Pair
		}
		g.Go(func() (err error) {
			list[i], err = stranger.Meet(ctx, seed, i, want)
			return err
		})
	}
	return list, g.Wait()
}

// RunStrangers meets the cars, weighs what is told of them, and scores it.
func RunStrangers(ctx context.Context, m *lineup.Model, o StrangerOptions) (*StrangerReport, error) {
	cars, err := MeetStrangers(ctx, o.Seed, o.Cars, o.Cars/2, o.Cars/4)
	if err != nil {
		return nil, err
	}
	if o.Write != "" {
		if err := writeStrangers(o.Write, cars); err != nil {
			return nil, err
		}
	}
	var library []*stranger.Case
	if o.Library > 0 {
		// The cars of the nearest-neighbour method are others than those that are judged.
		if library, err = MeetStrangers(ctx, ^o.Seed, o.Library*4/7, o.Library*2/7, o.Library/7); err != nil {
			return nil, err
		}
	}
	r := &StrangerReport{Cars: len(cars), Seed: o.Seed, Fresh: o.Seed >= FreshFrom}
	for _, st := range stranger.Stages() {
		if len(o.Stages) > 0 && !contains(o.Stages, st.Name) {
			continue
		}
		todo, err := strangersToScore(m, cars, st, o.Seeds)
		if err != nil {
			return nil, err
		}
		forecasts, err := weighAll(ctx, m, todo, o.CaseOptions)
		if err != nil {
			return nil, err
		}
		r.Stages = append(r.Stages, reportOnStage(st, cars, forecasts, neighbours(cars, library, st)))
	}
	return r, nil
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

func strangersToScore(m *lineup.Model, cars []*stranger.Case, st stranger.Stage, seeds []uint64) ([]weighed, error) {
	if len(seeds) == 0 {
		seeds = []uint64{1}
	}
	words := jobs.Vocabulary(m)
	var todo []weighed
	for _, k := range cars {
		j, err := job.Read(bytes.NewReader(k.YAML(st, stranger.LogName)), k.Name+".yaml", words)
		if err != nil {
			return nil, fmt.Errorf("the stranger's job is not one: %w", err)
		}
		log := k.CSV()
		open := func(string) (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(log)), nil }
		for _, seed := range seeds {
			todo = append(todo, weighed{name: k.Name, job: j, open: open, seed: seed, truths: k.Truths()})
		}
	}
	return todo, nil
}

func reportOnStage(st stranger.Stage, cars []*stranger.Case, forecasts, beside []Forecast) StageReport {
	r := StageReport{Told: st.Name, Forecasts: forecasts}
	of := make(map[string]*stranger.Case, len(cars))
	var drives []string
	for _, k := range cars {
		of[k.Name] = k
		if !contains(drives, k.Drive) {
			drives = append(drives, k.Drive)
		}
	}
	pick := func(list []Forecast, keep func(*stranger.Case) bool) (some []Forecast) {
		for _, f := range list {
			if keep(of[f.Car]) {
				some = append(some, f)
			}
		}
		return some
	}
	groups := func(list []Forecast) (g []Scored) {
		for _, want := range []stranger.Want{stranger.Single, stranger.Pair, stranger.Healthy} {
			g = append(g, Scored{want.String(), ScoreOf(pick(list, func(k *stranger.Case) bool { return k.Want == want }))})
		}
		return append(g, Scored{"all", ScoreOf(list)})
	}
	single := pick(forecasts, func(k *stranger.Case) bool { return k.Want == stranger.Single })
	r.Groups = groups(forecasts)
	r.PairsBoth = r.Groups[1].Score.AllThree
	pairs := pick(forecasts, func(k *stranger.Case) bool { return k.Want == stranger.Pair })
	r.PairsBad = meanOverCars(byCar(pairs), func(f *Forecast) float64 { return f.allBad(3) })
	for _, d := range drives {
		r.Drives = append(r.Drives, Scored{"one fault, " + d, ScoreOf(pick(single, func(k *stranger.Case) bool { return k.Drive == d }))})
	}
	if len(beside) > 0 {
		r.Neighbours = groups(beside)
	}
	r.Causes = ScoreByTruth(single)
	r.Misses = missesOf(single)
	return r
}

func writeStrangers(dir string, cars []*stranger.Case) error {
	whole := stranger.Stages()[len(stranger.Stages())-1]
	for _, k := range cars {
		log := k.Name + ".csv"
		truth := "cause: [" + join(k.Truths()) + "]\nconfidence: sure\ntold-before: no\nweight: core\nsource: the stranger's world\nnote: \"" + k.Tells() + "\"\n"
		for name, data := range map[string][]byte{
			k.Name + ".yaml": k.YAML(whole, log), log: k.CSV(), k.Name + outcomeSuffix: []byte(truth),
		} {
			if err := os.MkdirAll(dir, 0o755); err != nil {
				return err
			}
			if err := atomicfile.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
				return err
			}
		}
	}
	return nil
}

func join(list []string) string {
	s := ""
	for i, x := range list {
		if i > 0 {
			s += ", "
		}
		s += x
	}
	return s
}
