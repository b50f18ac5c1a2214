package trial

import (
	"context"
	"fmt"
	"hash/fnv"
	"io"
	"maps"
	"math"
	"slices"
	"sync"

	"golang.org/x/sync/errgroup"
	"gonum.org/v1/gonum/optimize"

	"weephole/lineup"
	"weephole/parallel"
)

// Learned are weights of the causes fitted to cases whose truth is known, by penalised
// likelihood. That is the sum over the cases of the log probability of a right answer,
// less the squares of the logs of the factors over twice the square of Spread. It is what
// a Bayesian with a log-normal prior of that spread about the judged weights would take
// as the most probable.
type Learned struct {
	Cases  int
	Spread float64 // standard deviation of the log of a factor that is thought likely beforehand
	// Factor is by how much each cause's judged weight is multiplied.
	Factor map[string]float64
	// Before and After are the mean log probabilities of a right answer, nats, as
	// judged and as fitted; Held is that of cases left out of the fit, each fold
	// in its turn.
	Before, After, Held float64
	// HeldForecasts are the forecasts of the cases left out.
	HeldForecasts []Forecast
}

// folds is into how many parts the cases are split for judging a fit; common
// practice, no source.
const folds = 10

// learnable is one case with what the evidence but the priors says of it.
type learnable struct {
	forecast Forecast
	standing lineup.Standing
	fitted   []float64 // logs of the factors that the standing was weighed with
	right    []int     // catalogue indexes of the right answers
	fold     int
}

// Learn fits the weights of the causes to the cases.
func Learn(ctx context.Context, m *lineup.Model, cases []Real, spread float64, o CaseOptions) (*Learned, error) {
	list, err := standings(ctx, m, cases, o)
	if err != nil {
		return nil, err
	}
	// Factors are on the judged weights, whatever was fitted before.
	fitted := make([]float64, len(m.Causes.Causes))
	for i := range fitted {
		fitted[i] = math.Log(m.Causes.Causes[i].Prior() / m.Causes.Causes[i].Weight.Value)
	}
	for i := range list {
		list[i].fitted = fitted
	}
	n := len(m.Causes.Causes)
	fit := func(use func(*learnable) bool) []float64 { return fitFactors(list, use, n, spread) }
	all := fit(func(*learnable) bool { return true })
	l := &Learned{Cases: len(list), Spread: spread, Factor: make(map[string]float64)}
	for i, v := range all {
		l.Factor[m.Causes.Causes[i].ID] = math.Exp(v)
	}
	none := make([]float64, n)
	l.Before, l.After = meanLog(list, none), meanLog(list, all)
	held := make([][]float64, folds)
	var wg sync.WaitGroup
	for f := range folds {
		wg.Go(func() { held[f] = fit(func(c *learnable) bool { return c.fold != f }) })
	}
	wg.Wait()
	for i := range list {
		c := &list[i]
		l.Held += c.log(held[c.fold]) / float64(len(list))
		forecast := c.forecast
		forecast.Odds = make(map[string]float64)
		for k, p := range c.under(held[c.fold]) {
			forecast.Odds[m.Causes.Causes[k].ID] = p
		}
		l.HeldForecasts = append(l.HeldForecasts, forecast)
	}
	return l, nil
}

func standings(ctx context.Context, m *lineup.Model, cases []Real, o CaseOptions) ([]learnable, error) {
	var list []learnable
	var todo []weighed
	for i := range cases {
		c := &cases[i]
		if !c.fair() {
			continue
		}
		h := fnv.New32a()
		h.Write([]byte(c.Name))
		k := learnable{forecast: Forecast{Car: c.Name, Truths: c.Outcome.Cause, Also: c.Outcome.AlsoRight}, fold: int(h.Sum32() % folds)}
		for _, id := range slices.Concat(c.Outcome.Cause, c.Outcome.AlsoRight) {
			if at := m.Causes.Index(id); at >= 0 {
				k.right = append(k.right, at)
			}
		}
		list = append(list, k)
		todo = append(todo, weighed{name: c.Name, job: c.Job, seed: o.Seeds[0]})
	}
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(parallel.Workers(o.Workers))
	for i := range todo {
		g.Go(func() error {
			l, err := weigh(ctx, m, &todo[i], o)
			if err != nil {
				return fmt.Errorf("%s: %w", todo[i].name, err)
			}
			list[i].standing = l.Standing()
			return nil
		})
	}
	return list, g.Wait()
}

func (c *learnable) under(logs []float64) []float64 {
	return c.standing.Under(func(i int) float64 { return math.Exp(logs[i] - c.fitted[i]) })
}

// log is the log probability of the likeliest right answer.
func (c *learnable) log(logs []float64) float64 {
	p := c.under(logs)
	best := leastHeld
	for _, i := range c.right {
		best = math.Max(best, p[i])
	}
	return math.Log(best)
}

// leastHeld keeps one hopeless case from ruling the fit; judgement.
const leastHeld = 0.003

func meanLog(list []learnable, logs []float64) float64 {
	sum := 0.0
	for i := range list {
		sum += list[i].log(logs)
	}
	return sum / float64(len(list))
}

func fitFactors(list []learnable, use func(*learnable) bool, n int, spread float64) []float64 {
	problem := optimize.Problem{
		Func: func(x []float64) float64 {
			sum := 0.0
			for i := range list {
				if use(&list[i]) {
					sum -= list[i].log(x)
				}
			}
			for _, v := range x {
				sum += v * v / (2 * spread * spread)
			}
			return sum
		},
	}
	problem.Grad = func(grad, x []float64) {
		const h = 1e-4
		y := slices.Clone(x)
		for i := range y {
			y[i] = x[i] + h
			up := problem.Func(y)
			y[i] = x[i] - h
			grad[i] = (up - problem.Func(y)) / (2 * h)
			y[i] = x[i]
		}
	}
	result, err := optimize.Minimize(problem, make([]float64, n), &optimize.Settings{MajorIterations: 40}, &optimize.LBFGS{})
	if err != nil && result == nil {
		return make([]float64, n)
	}
	return result.X
}

// WriteTable writes what was fitted as the lines that the catalogue takes, and
// how well it holds on cases left out.
func (l *Learned) WriteTable(w io.Writer) error {
	held := ScoreOf(l.HeldForecasts)
	fmt.Fprintf(w, "# %d cases; mean log probability of a right answer, nats: %.3f as judged, %.3f fitted, %.3f on cases left out.\n", l.Cases, l.Before, l.After, l.Held)
	fmt.Fprintf(w, "# Left out: right answer first %.0f %%, among the first three %.0f %%, mean probability on it %.2f.\n", 100*held.First.Value, 100*held.Three.Value, held.OnTruth.Value)
	for _, id := range slices.Sorted(maps.Keys(l.Factor)) {
		if _, err := fmt.Fprintf(w, "%s: {value: %.2f, source: \"fitted to cases/, %d cases\"}\n", id, l.Factor[id], l.Cases); err != nil {
			return err
		}
	}
	return nil
}
