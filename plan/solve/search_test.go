package solve_test

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"runtime"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"weephole/plan/solve"
)

// published holds the worked examples of testdata/bayes_decision_troubleshooting.json;
// every case there names its source: textbook exercises, and exact enumeration
// over every policy for the ones of our own construction.
type published struct {
	Troubleshooting []struct {
		ID    string
		Prior map[string]float64
		// Orders of actions that may each fail.
		ActionCost  map[string]float64            `json:"action_cost"`
		PFix        map[string]map[string]float64 `json:"P_fix_given_cause"`
		ECR         float64                       `json:"ECR_A1_A2_A3_A4"`
		Cost        map[string]float64
		Best        []any
		RepairsCost map[string][]any `json:"repairs_cost_cause"`
		TestsCostP  map[string][]any `json:"tests_cost_P_positive"`
		Answers     struct {
			NoTests   float64            `json:"ECR_no_tests"`
			Optimal   float64            `json:"ECR_optimal"`
			FirstStep string             `json:"first_step"`
			TestFirst map[string]float64 `json:"ECR_test_first_then_optimal"`
		}
	}
}

func load(t *testing.T) published {
	t.Helper()
	data, err := os.ReadFile("testdata/bayes_decision_troubleshooting.json")
	if err != nil {
		t.Fatal(err)
	}
	var p published
	if err := json.Unmarshal(data, &p); err != nil {
		t.Fatal(err)
	}
	return p
}

// build makes a problem of single causes, one state, no giving up.
func build(prior map[string]float64) (p solve.Problem, names []string, kind map[string]int) {
	kind = make(map[string]int)
	for name := range prior {
		names = append(names, name)
	}
	sortStrings(names)
	for i, name := range names {
		kind[name] = i
		p.Weight = append(p.Weight, prior[name])
		p.Faults = append(p.Faults, []int{i})
		p.GiveUp = append(p.GiveUp, math.Inf(1))
	}
	p.Kinds, p.States, p.Tries = len(names), 1, 1
	return p, names, kind
}

func sortStrings(s []string) {
	for i := range s {
		for j := i + 1; j < len(s); j++ {
			if s[j] < s[i] {
				s[i], s[j] = s[j], s[i]
			}
		}
	}
}

func rank(t *testing.T, p *solve.Problem, more int) []solve.Action {
	t.Helper()
	if err := p.Validate(); err != nil {
		t.Fatal(err)
	}
	list, err := solve.New(p, more).Rank(context.Background(), 0)
	if err != nil {
		t.Fatal(err)
	}
	return list
}

func TestOrdersOfRepairAloneHaveThePublishedExpectedCost(t *testing.T) {
	for _, c := range load(t).Troubleshooting {
		switch c.ID {
		case "jensen_nielsen_exercise":
			p, _, kind := build(c.Prior)
			for _, a := range []string{"A1", "A2", "A3", "A4"} {
				cures := make([]float64, p.Kinds)
				for name, q := range c.PFix[a] {
					cures[kind[name]] = q
				}
				p.Repairs = append(p.Repairs, solve.RepairAction{Cost: []float64{c.ActionCost[a]}, Then: []int{0}, Cures: cures})
			}
			best := rank(t, &p, 0)[0]
			if math.Abs(best.Expected-c.ECR) > 1e-6 {
				t.Errorf("%s: expected cost %.6f, want %.6f", c.ID, best.Expected, c.ECR)
			}
			if best.Index != 0 {
				t.Errorf("%s: first action %d, want A1", c.ID, best.Index)
			}
		case "single_fault_p_over_c":
			p, names, kind := build(c.Prior)
			for _, name := range names {
				cures := make([]float64, p.Kinds)
				cures[kind[name]] = 1
				p.Repairs = append(p.Repairs, solve.RepairAction{Cost: []float64{c.Cost[name]}, Then: []int{0}, Cures: cures})
			}
			best := rank(t, &p, 0)[0]
			want := c.Best[0].(float64)
			if math.Abs(best.Expected-want) > 1e-6 || names[best.Index] != "c4" {
				t.Errorf("%s: %s first at %.6f, want c4 at %.6f", c.ID, names[best.Index], best.Expected, want)
			}
		}
	}
}

func TestPlansWithChecksHaveTheEnumeratedOptimum(t *testing.T) {
	done := 0
	for _, c := range load(t).Troubleshooting {
		if len(c.RepairsCost) == 0 {
			continue
		}
		done++
		t.Run(c.ID, func(t *testing.T) {
			p, names, kind := build(c.Prior)
			var repairs []string
			for name := range c.RepairsCost {
				repairs = append(repairs, name)
			}
			sortStrings(repairs)
			for _, name := range repairs {
				cures := make([]float64, p.Kinds)
				cures[kind[c.RepairsCost[name][1].(string)]] = 1
				p.Repairs = append(p.Repairs, solve.RepairAction{Cost: []float64{c.RepairsCost[name][0].(float64)}, Then: []int{0}, Cures: cures})
			}
			var tests []string
			for name := range c.TestsCostP {
				tests = append(tests, name)
			}
			sortStrings(tests)
			for _, name := range tests {
				row := c.TestsCostP[name][1].(map[string]any)
				yes, no := make([]float64, p.Kinds), make([]float64, p.Kinds)
				for k, n := range names {
					yes[k] = row[n].(float64)
					no[k] = 1 - yes[k]
				}
				p.Checks = append(p.Checks, solve.CheckAction{Cost: []float64{c.TestsCostP[name][0].(float64)}, Then: []int{0}, P: [][]float64{yes, no}})
			}
			list := rank(t, &p, 2)
			name := func(a solve.Action) string {
				if a.Kind == solve.DoCheck {
					return tests[a.Index]
				}
				return repairs[a.Index]
			}
			if got := name(list[0]); got != c.Answers.FirstStep {
				t.Errorf("first step %s, want %s", got, c.Answers.FirstStep)
			}
			if math.Abs(list[0].Expected-c.Answers.Optimal) > 1e-6*c.Answers.Optimal {
				t.Errorf("expected cost %.4f, want %.4f", list[0].Expected, c.Answers.Optimal)
			}
			for _, a := range list {
				if a.Kind == solve.DoCheck {
					if want := c.Answers.TestFirst[name(a)]; math.Abs(a.Expected-want) > 1e-6*want {
						t.Errorf("%s first: expected cost %.4f, want %.4f", name(a), a.Expected, want)
					}
				}
			}
		})
	}
	if done < 4 {
		t.Fatalf("only %d worked examples with repairs and tests were found", done)
	}
}

// TestOrdersOfTwoHaveThePublishedExpectedCost takes the exercises with two actions:
// weighted completion times divided by the weights' sum are expected costs of repair.
func TestOrdersOfTwoHaveThePublishedExpectedCost(t *testing.T) {
	for _, c := range []struct {
		name         string
		prior, costs [2]float64
		first        int
		want         float64
	}{
		// Kleinberg & Tardos, two jobs (testdata, kleinberg_tardos_two_jobs): 18 / 12.
		{"two jobs", [2]float64{10.0 / 12, 2.0 / 12}, [2]float64{1, 3}, 0, 1.5},
		// Ross, two places (testdata, two_causes_ross): the second first, 33 beside 36.
		{"two places", [2]float64{0.6, 0.4}, [2]float64{30, 15}, 1, 33},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := &solve.Problem{Kinds: 2, States: 1, Tries: 1}
			for k := range 2 {
				cures := make([]float64, 2)
				cures[k] = 1
				p.Weight = append(p.Weight, c.prior[k])
				p.Faults = append(p.Faults, []int{k})
				p.GiveUp = append(p.GiveUp, math.Inf(1))
				p.Repairs = append(p.Repairs, solve.RepairAction{Cost: []float64{c.costs[k]}, Then: []int{0}, Cures: cures})
			}
			best := rank(t, p, 0)[0]
			if best.Index != c.first || math.Abs(best.Expected-c.want) > 1e-9 {
				t.Errorf("%d first at %.4f, want %d at %.4f", best.Index, best.Expected, c.first, c.want)
			}
		})
	}
}

// TestNeedingAColdEngineComesBeforeItIsStarted: two checks of equal worth, one wants
// the engine cold, and waiting for that costs more than either.
func TestNeedingAColdEngineComesBeforeItIsStarted(t *testing.T) {
	const cold, hot = 0, 1
	p := xor(0) // the two checks are only worth something together
	p.States = 2
	for r := range p.Repairs {
		p.Repairs[r].Cost, p.Repairs[r].Then = []float64{100, 100}, []int{hot, hot}
	}
	p.Checks[0].Cost, p.Checks[0].Then = []float64{5, 5}, []int{hot, hot}    // any state, and starts it
	p.Checks[1].Cost, p.Checks[1].Then = []float64{5, 25}, []int{cold, cold} // cold, or 20 to wait
	best := rank(t, p, 0)[0]
	if best.Kind != solve.DoCheck || best.Index != 1 || math.Abs(best.Expected-110) > 1e-9 {
		t.Errorf("%v %d first at %.2f, want the check that needs a cold engine at 110", best.Kind, best.Index, best.Expected)
	}
}

func TestTheAnswerDoesNotDependOnHowManyCoresThereAre(t *testing.T) {
	was := runtime.GOMAXPROCS(1)
	defer runtime.GOMAXPROCS(was)
	var lists [2][]solve.Action
	for i, cores := range []int{1, 4} {
		runtime.GOMAXPROCS(cores)
		lists[i] = rank(t, xor(20), 1)
	}
	if d := cmp.Diff(lists[0], lists[1], cmpopts.IgnoreUnexported(solve.Action{})); d != "" {
		t.Errorf("one core and four (-one +four):\n%s", d)
	}
}

func TestAnAnswerComesAtOnceAndThenBetter(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	rounds, last := 0, math.Inf(1)
	for r, err := range solve.New(xor(30), 0).Better(ctx, 0) {
		if err != nil {
			t.Fatal(err)
		}
		rounds++
		if r.Round != rounds || r.Actions[0].Upper > last*(1+1e-9) {
			t.Errorf("round %d of %d costs %.2f after %.2f", r.Round, rounds, r.Actions[0].Upper, last)
		}
		last = r.Actions[0].Upper
		if rounds == 3 {
			cancel()
		}
	}
	if rounds != 3 {
		t.Errorf("%d rounds; it was told to stop after 3", rounds)
	}
	if _, err := solve.New(xor(1), 0).Rank(ctx, 0); err == nil {
		t.Error("a search that may not begin gives no error")
	}
}

// No minutes left is not the same as no limit.
func TestWithNoTimeLeftNothingThatTakesTimeIsOffered(t *testing.T) {
	p := xor(1)
	for i := range p.Repairs {
		p.Repairs[i].Minutes = []float64{30}
	}
	for i := range p.Checks {
		p.Checks[i].Minutes = []float64{5}
	}
	for _, c := range []struct {
		left *float64
		want bool
	}{{nil, true}, {new(40.0), true}, {new(0.0), false}} {
		p.Left = c.left
		acts := false
		for _, a := range rank(t, p, 0) {
			acts = acts || a.Kind != solve.HandOn
		}
		if acts != c.want {
			t.Errorf("with %v minutes left, something to do is offered: %v", c.left, acts)
		}
	}
}
