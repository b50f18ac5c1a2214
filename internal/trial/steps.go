package trial

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"sync/atomic"

	"golang.org/x/sync/errgroup"

	"weephole/lineup"
	"weephole/parallel"
	"weephole/plan"
	"weephole/plan/solve"
)

// mostWalked is how many steps of a plan are walked; judgement: an owner who has paid
// for five has lost patience.
const mostWalked = 5

// Walk is how the plan walked on one real car towards its true cause.
type Walk struct {
	Car    string   `json:"car"`
	Truths []string `json:"truths"`
	Steps  []string `json:"steps"` // each with its checks
	// Shown is the number, from 1, of the step with a check that could show a true
	// cause, or with the repair that cures it; 0: none of the steps. AtCheck is the
	// same with every check counted by itself.
	Shown   int     `json:"shown"`
	AtCheck int     `json:"at_check"`
	Cost    float64 `json:"cost"` // of the steps walked, US$
}

// Walks is how the plan walked on real cars.
type Walks struct {
	Walks []Walk `json:"walks"`
	// Within is by 1, 3 and 5: the share of cars where the cause could be seen in so
	// many steps; Checks the same by checks.
	Within, Checks map[int]Share
	Cost           Mean `json:"cost"`
}

// countedSteps are after how many steps it is asked whether the cause could be seen.
var countedSteps = []int{1, 3, 5}

// WalkCases follows the plan on every fair case from where its job file stands. A
// check that could not show the true cause comes out as is likeliest with it; a repair
// that does not cure it changes nothing.
func WalkCases(ctx context.Context, m *lineup.Model, cases []Real, o CaseOptions) (*Walks, error) {
	cases = slices.DeleteFunc(slices.Clone(cases), func(c Real) bool { return !c.fair() })
	o.Workers = parallel.Workers(o.Workers)
	st, err := plan.DefaultAssumptions()
	if err != nil {
		return nil, err
	}
	seed := uint64(1)
	if len(o.Seeds) > 0 {
		seed = o.Seeds[0]
	}
	r := &Walks{Walks: make([]Walk, len(cases))}
	var done atomic.Int64
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(o.Workers)
	for i := range cases {
		g.Go(func() error {
			c := &cases[i]
			l, err := weigh(ctx, m, &weighed{name: c.Name, job: c.Job, seed: seed}, o)
			if err == nil {
				r.Walks[i], err = walkCase(ctx, l, st, c)
			}
			if err != nil {
				return fmt.Errorf("%s: %w", c.Name, err)
			}
			if n := int(done.Add(1)); o.Progress != nil {
				o.Progress(n, len(cases))
			}
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		return nil, err
	}
	r.count()
	return r, nil
}

func (r *Walks) count() {
	r.Within, r.Checks = map[int]Share{}, map[int]Share{}
	for _, n := range countedSteps {
		steps, checks := 0, 0
		for _, w := range r.Walks {
			if w.Shown > 0 && w.Shown <= n {
				steps++
			}
			if w.AtCheck > 0 && w.AtCheck <= n {
				checks++
			}
		}
		r.Within[n], r.Checks[n] = ShareOf(steps, len(r.Walks)), ShareOf(checks, len(r.Walks))
	}
	r.Cost = bootstrap(len(r.Walks), func(cars []int) float64 {
		sum := 0.0
		for _, i := range cars {
			sum += r.Walks[i].Cost
		}
		return sum / float64(max(1, len(cars)))
	})
}

// walkCase walks the plan on one car.
func walkCase(ctx context.Context, l *lineup.Lineup, st *plan.Assumptions, c *Real) (Walk, error) {
	w := Walk{Car: c.Name, Truths: c.Outcome.Cause}
	car, err := plan.ForLineup(ctx, l, st, plan.Workshop{})
	if err != nil {
		return w, err
	}
	causes := make([]int, 0, len(c.Outcome.Cause))
	for _, id := range c.Outcome.Cause {
		causes = append(causes, l.Model().Causes.Index(id))
	}
	state, checks := 0, 0
	for len(w.Steps) < mostWalked && w.Shown == 0 {
		search := car.Search(0)
		list, err := search.Rank(ctx, state)
		if err != nil {
			return w, err
		}
		if len(list) == 0 || list[0].Kind == solve.HandOn {
			w.Steps = append(w.Steps, "hand-on")
			break
		}
		step := car.Round(search, list, state)
		var names []string
		for _, a := range step {
			if w.AtCheck == 0 {
				checks++
			}
			w.Cost += a.Cost
			name, shown, outcome := walked(car, a, causes)
			names = append(names, name)
			if shown {
				w.Shown = len(w.Steps) + 1
				if w.AtCheck == 0 {
					w.AtCheck = checks
				}
			}
			if shown {
				break // it is settled: the rest of the visit is not made
			}
			car.Problem, state = car.Problem.After(a, outcome, state)
		}
		w.Steps = append(w.Steps, strings.Join(names, " + "))
	}
	return w, nil
}

// walked says what an action is, whether it could show or cure one of the causes, and which
// outcome is likeliest with them.
func walked(car *plan.CarProblem, a solve.Action, causes []int) (name string, shown bool, outcome int) {
	p := car.Problem
	if a.Kind == solve.DoRepair {
		for kind, f := range car.Kinds {
			shown = shown || p.Repairs[a.Index].Cures[kind] > 0.5 && slices.Contains(causes, f.Cause)
		}
		if r := car.Repairs[a.Index]; r != nil {
			return r.ID, shown, 1
		}
		return "prove-healthy", shown, 1
	}
	best := -1.0
	for o, row := range p.Checks[a.Index].P {
		with := 0.0
		for h, kinds := range p.Faults {
			if slices.ContainsFunc(kinds, func(k int) bool { return slices.Contains(causes, car.Kinds[k].Cause) }) {
				with += p.Weight[h] * row[h]
			}
		}
		if with > best {
			best, outcome = with, o
		}
	}
	return car.Checks[a.Index].ID, car.Shows(a.Index, causes), outcome
}

// WriteTables writes the walks as Markdown.
func (r *Walks) WriteTables(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "The plan walked on %d real cars, from where each job file stands; $%.0f a car (%.0f to %.0f).\n\n",
		len(r.Walks), r.Cost.Value, r.Cost.Low, r.Cost.High)
	t := newMarkdown("a check that could show the true cause is among", "steps", "checks counted one by one")
	for _, n := range countedSteps {
		t.row(fmt.Sprintf("the first %d", n), r.Within[n].text(), r.Checks[n].text())
	}
	b.WriteString(t.b.String())
	t = newMarkdown("car", "true", "shown at step", "at check", "walk")
	for _, x := range r.Walks {
		t.row(x.Car, strings.Join(x.Truths, ", "), fmt.Sprint(x.Shown), fmt.Sprint(x.AtCheck), strings.Join(x.Steps, "; "))
	}
	b.WriteString("\n" + t.b.String())
	_, err := io.WriteString(w, b.String())
	return err
}
