package plan

import (
	_ "embed"
	"fmt"
	"math"
	"slices"
	"sort"

	"weephole/check"
	"weephole/plan/solve"
	"weephole/sheet"
)

//go:embed rounds.yaml
var roundsYAML []byte

// Visit is a visit to the engine in which several checks are made together.
type Visit struct {
	ID     string       `sheet:"id,required"`
	Name   string       `sheet:"name,required"`
	From   string       `sheet:"from,required"`
	Checks []VisitCheck `sheet:"checks,required"`
}

// VisitCheck is a check of a visit. Alongside are the minutes that it takes while
// another check of the visit has the engine warming up; 0 where it is not made so.
type VisitCheck struct {
	Check     string  `sheet:"check,required"`
	Alongside float64 `sheet:"alongside"`
	// Begins is true where it is the first thing of the warm-up only.
	Begins bool `sheet:"begins"`
}

func visits() ([]Visit, error) {
	var s struct {
		Rounds []Visit `sheet:"rounds,required"`
	}
	if err := sheet.Embedded("rounds.yaml", roundsYAML, &s); err != nil {
		return nil, fmt.Errorf("visits to the engine: %w", err)
	}
	return s.Rounds, nil
}

// alongside is how many minutes a check takes in a warm-up that another has begun.
func (s *Assumptions) alongside(check string) (minutes float64, ok bool) {
	for _, v := range s.visits {
		for _, x := range v.Checks {
			if x.Check == check && x.Alongside > 0 {
				return x.Alongside, true
			}
		}
	}
	return 0, false
}

// begins is true for a check that begins the warm-up of a visit, with the cap shut and
// the engine left running.
func (s *Assumptions) begins(id string) bool {
	return slices.ContainsFunc(s.visits, func(v Visit) bool {
		i := v.has(id)
		return i >= 0 && (v.Checks[i].Begins || v.Checks[i].Alongside > 0)
	})
}

// has is the place of a check in a visit, or -1.
func (v *Visit) has(check string) int {
	return slices.IndexFunc(v.Checks, func(x VisitCheck) bool { return x.Check == check })
}

// visitOf is the number of the first visit that holds a check, or -1.
func (s *Assumptions) visitOf(check string) int {
	return slices.IndexFunc(s.visits, func(v Visit) bool { return v.has(check) >= 0 })
}

// order ranks each check by state of the engine, from 1, by the visit that it belongs
// to; 0 for what belongs to none, takes long, wants the engine to cool, or a tool that lacks.
func (c *CarProblem) order() [][]int {
	out := make([][]int, engineStates)
	for state := range engineStates {
		out[state] = make([]int, len(c.Checks))
		for i, k := range c.Checks {
			if len(c.Lacking[i]) > 0 || k.Minutes.Typical > c.Settings.QuickLook.Value || coolsDown(k, state) {
				continue
			}
			out[state][i] = c.Settings.visitOf(k.ID) + 1
		}
	}
	return out
}

// atOnce says by state of which checks the answer is there in a few minutes, with the
// tools at hand and the engine as it stands.
func (c *CarProblem) atOnce() [][]bool {
	out := make([][]bool, engineStates)
	for state := range engineStates {
		out[state] = make([]bool, len(c.Checks))
		for i, k := range c.Checks {
			out[state][i] = len(c.Lacking[i]) == 0 && k.Minutes.Typical <= c.Settings.QuickLook.Value && c.Wait(k, EngineState(state)) == 0
		}
	}
	return out
}

// Visit is the number, from 1, of the visit that a check belongs to; 0 for none.
func (s *Assumptions) Visit(check string) int { return s.visitOf(check) + 1 }

// visited counts, by visit from 1, the checks that were made already.
func (s *Assumptions) visited(made map[string]earlier) map[int]int {
	out := make(map[int]int)
	for id := range made {
		out[s.visitOf(id)+1]++
	}
	return out
}

// visit is the visit that a check belongs to; nil for none.
func (c *CarProblem) visit(i int) *Visit {
	if v := c.Settings.visitOf(c.Checks[i].ID); v >= 0 {
		return &c.Settings.visits[v]
	}
	return nil
}

// VisitName says what the visit is whose checks a round asks.
func (c *CarProblem) VisitName(round []solve.Action) string {
	if len(round) < 2 {
		return ""
	}
	if Asks(c.Checks[round[0].Index].ID) != "" {
		return "a word with the owner"
	}
	return c.visit(round[0].Index).Name
}

// Round is the first action of a ranking with what is asked in the same visit to the
// engine: checks that need no further wait, and whose answers are worth their minutes
// there. They stand in the order in which they are made, each with its cost in the visit. A check that
// belongs to no visit, a repair and handing on stand alone.
func (c *CarProblem) Round(s *solve.Search, list []solve.Action, state int) []solve.Action {
	alone := list[:min(1, len(list))]
	if len(list) == 0 || list[0].Kind != solve.DoCheck {
		return alone
	}
	if Asks(c.Checks[list[0].Index].ID) != "" {
		return c.call(s, list, state)
	}
	v := c.visit(list[0].Index)
	if v == nil || len(c.Lacking[list[0].Index]) > 0 {
		return alone
	}
	type member struct {
		solve.Action
		worth float64
	}
	var also []member
	for _, a := range list[1:] {
		if a.Kind != solve.DoCheck || v.has(c.Checks[a.Index].ID) < 0 || len(c.Lacking[a.Index]) > 0 {
			continue
		}
		if w := s.Worth(a.Index, c.inVisit(c.Checks[a.Index]), state); w >= c.Settings.RoundWorth.Value {
			also = append(also, member{a, w})
		}
	}
	sort.SliceStable(also, func(i, j int) bool { return also[i].worth > also[j].worth })
	out := c.inOrder([]solve.Action{list[0]}, state)
	for _, m := range also {
		more := c.inOrder(append(slices.Clone(out), m.Action), state)
		if len(more) > len(out) && len(more) <= int(c.Settings.RoundMost.Value) {
			out = more
		}
	}
	return out
}

// inVisit is what the minutes of a check cost in its visit.
func (c *CarProblem) inVisit(k *check.Check) float64 {
	minutes := k.Minutes.Typical
	if x, ok := c.Settings.alongside(k.ID); ok {
		minutes = x
	}
	return minutes/60*c.Rate + k.Consumables.Value
}

// inOrder puts checks in the order in which a visit makes them, those that tell most first
// where it is all one: with the engine off, at the cold start, running hot, just
// stopped. Each is priced as the engine then stands. What would want the engine to
// cool, or would not fit into the time left, is left out.
func (c *CarProblem) inOrder(list []solve.Action, state int) []solve.Action {
	moment := func(a solve.Action) int {
		k := c.Checks[a.Index]
		if k.State == "cold-start" && c.Settings.begins(k.ID) {
			if _, ok := c.Settings.alongside(k.ID); !ok {
				return 1
			}
		}
		return max(0, slices.Index(moments, k.State)) // what needs no state comes with the looks
	}
	sort.SliceStable(list, func(i, j int) bool { return moment(list[i]) < moment(list[j]) })
	var out []solve.Action
	left := math.Inf(1)
	if c.Problem.Left != nil {
		left = *c.Problem.Left
	}
	for i, a := range list {
		ch := &c.Problem.Checks[a.Index]
		if i > 0 && (left < ch.Minutes[state] || coolsDown(c.Checks[a.Index], EngineState(state))) {
			continue
		}
		left -= ch.Minutes[state]
		a.Cost = ch.Cost[state]
		state = ch.Then[state]
		out = append(out, a)
	}
	return out
}

// moments are the states of the engine in the order in which a visit passes them; the
// second place is for what must be the first of a warm-up.
var moments = []string{"cold", "", "cold-start", "warm", "hot-idle", "road", "hot-off"}
