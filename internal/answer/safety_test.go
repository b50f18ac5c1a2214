package answer_test

import (
	"context"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"weephole/cause"
	"weephole/circuit"
	"weephole/internal/answer"
	"weephole/internal/work"
	"weephole/lineup"
	"weephole/plan"
	"weephole/quantity"
)

var smallLineup = sync.OnceValues(func() (*lineup.Lineup, error) {
	m, err := knowledge()
	if err != nil {
		return nil, err
	}
	l, err := lineup.New(context.Background(), m, lineup.Case{Shop: circuit.Conditions{AmbientC: 25}}, lineup.DrawOptions{Candidates: 800, Seed: 2, KeepStill: true})
	if err != nil {
		return nil, err
	}
	return l, l.Warm(context.Background())
})

// TestWhateverWasFoundNoStepIsUnsafe takes any findings, tools and state of the engine,
// however unlikely together, and holds every step and every branch of the tree to the
// rules that no cost may buy off.
func TestWhateverWasFoundNoStepIsUnsafe(t *testing.T) {
	base, err := smallLineup()
	if err != nil {
		t.Fatal(err)
	}
	m := base.Model()
	st, err := plan.DefaultAssumptions()
	if err != nil {
		t.Fatal(err)
	}
	st.Sample.Value = 150
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 9))
		l, shown := base, map[string]string{}
		if rng.IntN(2) == 0 { // as in scenarios/43: all points at the head, and nothing shows it
			for _, f := range [][2]string{{"level-cold", "low"}, {"pressure-hold", "drops-unseen"}, {"hose-squeeze", "hard"}, {"plug-look", "steamed"}} {
				shown[f[0]] = f[1]
				if l, err = l.Extend(context.Background(), lineup.Event{Check: f[0], Word: f[1]}); err != nil {
					t.Fatal(err)
				}
			}
		}
		for range rng.IntN(4) {
			k := &m.Checks.Checks[rng.IntN(len(m.Checks.Checks))]
			if len(k.Words) == 0 || shown[k.ID] != "" {
				continue
			}
			w := k.Words[rng.IntN(len(k.Words))].Is
			shown[k.ID] = w
			if l, err = l.Extend(context.Background(), lineup.Event{Check: k.ID, Word: w}); err != nil {
				t.Fatal(err)
			}
		}
		ask := work.Ask{Settings: st, Shop: plan.Workshop{State: plan.EngineState(rng.IntN(3))}}
		for _, tool := range m.Causes.Tools {
			if rng.IntN(5) == 0 {
				ask.Shop.Lacks = append(ask.Shop.Lacks, tool.ID)
			}
		}
		if rng.IntN(8) == 0 {
			ask.Depth = 2
		}
		next, err := work.NextOf(context.Background(), l, ask)
		if err != nil {
			t.Fatal(err)
		}
		n := answer.ForNext(next, answer.Style{Units: quantity.Metric()})
		for _, s := range n.Steps {
			rules(t, m, st, ask.Shop, shown, s.Do, s.Engine, s.Wait, s.Cautions, ask.Shop.State)
		}
		if r := n.Round; r != nil {
			for _, q := range r.Questions {
				rules(t, m, st, ask.Shop, shown, q.Do, stateOf(m, q.Do), max(r.Wait, n.Steps[0].Wait), n.Steps[0].Cautions, ask.Shop.State)
			}
		}
		if n.Tree != nil {
			follow(t, m, st, ask.Shop, shown, n.Tree, ask.Shop.State)
		}
	})
}

// stateOf is the state of the engine that a check needs; a question to the owner needs none.
func stateOf(m *lineup.Model, do string) string {
	if k := m.Checks.Check(do); k != nil {
		return k.State
	}
	return "any"
}

// follow holds each branch to the rules, with what its way has shown.
func follow(t *rapid.T, m *lineup.Model, st *plan.Assumptions, shop plan.Workshop, shown map[string]string, p *answer.PlanFacts, state plan.EngineState) {
	engine := "any"
	k := m.Checks.Check(p.Do)
	if r := m.Causes.Repair(p.Do); r != nil {
		engine = r.State
	} else if k != nil {
		engine = k.State
	}
	rules(t, m, st, shop, shown, p.Do, engine, p.Wait, p.Cautions, state)
	for _, w := range p.Ways {
		if w.Then == nil {
			continue
		}
		more, then := map[string]string{}, plan.Hot
		for c, f := range shown {
			more[c] = f
		}
		switch {
		case k != nil:
			more[p.Do] = w.Is
			then = plan.After(k, state)
		case plan.Asks(p.Do) != "":
			then = state
		}
		follow(t, m, st, shop, more, w.Then, then)
	}
}

func rules(t *rapid.T, m *lineup.Model, st *plan.Assumptions, shop plan.Workshop, shown map[string]string, do, engine string, wait float64, cautions []string, state plan.EngineState) {
	hazards := []string{}
	k, r := m.Checks.Check(do), m.Causes.Repair(do)
	if k != nil {
		hazards = k.Hazards
	} else if r != nil {
		hazards = r.Hazards
	}
	if len(cautions) < len(hazards) {
		t.Fatalf("%s has %d hazards and %d cautions", do, len(hazards), len(cautions))
	}
	limit := slices.ContainsFunc(cautions, func(c string) bool { return strings.Contains(c, "Switch the engine off at") })
	if runs := do == "prove-healthy" || k != nil && slices.Contains([]string{"cold-start", "warm", "hot-idle", "hot-off", "road"}, k.State); runs && !limit {
		t.Fatalf("%s runs the engine and names no temperature to stop at: %v", do, cautions)
	}
	opens := slices.Contains([]string{"cold", "cold-start", "open", "drained"}, engine)
	if state == plan.Hot && opens && wait < st.CoolDown.Value {
		t.Fatalf("%s needs a cold engine; the engine is hot, and %.0f min pass before it", do, wait)
	}
	if r == nil || !r.Big {
		return
	}
	signs, err := plan.DirectSigns()
	if err != nil {
		t.Fatal(err)
	}
	within, silent := false, false
	for _, d := range signs {
		if !doneFor(m, r, d) {
			continue
		}
		for _, s := range d.ShownBy {
			if shown[s.Check] == s.Found {
				return // shown directly
			}
			lacking := slices.ContainsFunc(m.Checks.Check(s.Check).Tools, func(x string) bool { return slices.Contains(shop.Lacks, x) })
			within = within || !lacking
			silent = silent || shown[s.Check] != ""
		}
	}
	others := slices.ContainsFunc(r.Cures, func(c cause.Cure) bool {
		return c.Share >= 0.9 && !slices.ContainsFunc(signs, func(d plan.DirectProof) bool { return d.Cause == c.Cause })
	})
	if (within || silent) && !others {
		t.Fatalf("%s is offered, though a direct check could still show its cause and none has: found %v", do, shown)
	}
}

// doneFor is true when a sign shows something that the repair is meant for.
func doneFor(m *lineup.Model, r *cause.Repair, d plan.DirectProof) bool {
	return slices.ContainsFunc(r.Cures, func(c cause.Cure) bool {
		return c.Cause == d.Cause && c.Share >= 0.9 && (d.Site == "" || len(c.Sites) == 0 || slices.Contains(c.Sites, d.Site))
	})
}
