package work_test

import (
	"context"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"weephole/cause"
	"weephole/internal/answer"
	"weephole/internal/work"
	"weephole/lineup"
	"weephole/lineup/lineuptest"
	"weephole/plan"
)

var show = flag.Bool("show", false, "print what is said of every scenario")

// Size and seed of the lineups of all scenarios. They begin with a quarter of the program's
// engines and end sooner: shares are known to a few in a hundred.
const (
	scenarioCandidates = 1500
	scenarioSeed       = 1
)

// Both models are read once for all tests; nobody changes them.
var (
	coarseModel = sync.OnceValues(lineuptest.Coarse)
	wholeModel  = sync.OnceValues(lineup.DefaultModel)
)

func model(t testing.TB) *lineup.Model {
	t.Helper()
	m, err := coarseModel()
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// TestScenarios runs every file of scenarios/: the lineup of its job must say
// what the file asks.
func TestScenarios(t *testing.T) {
	files, err := filepath.Glob("../../scenarios/*.txt")
	if err != nil {
		t.Fatal(err)
	}
	if len(files) < 36 {
		t.Errorf("%d scenarios, want 36 or more", len(files))
	}
	m := model(t)
	settings, err := plan.DefaultAssumptions()
	if err != nil {
		t.Fatal(err)
	}
	words, said := work.Vocabulary(m), vocabularyOf(m)
	for _, file := range files {
		name := filepath.Base(file)
		t.Run(strings.TrimSuffix(name, ".txt"), func(t *testing.T) {
			t.Parallel()
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			s, err := parseScenario(name, string(text), words, said)
			if err != nil {
				t.Fatal(err)
			}
			a := say(t, m, settings, s)
			failed := false
			for _, st := range s.must {
				switch ok, found := a.holds(st); {
				case st.open && ok:
					t.Logf("%s:%d: %s; holds now: take \"not yet\" away", name, st.line, st.text)
				case st.open:
					t.Logf("%s:%d: %s; found %s", name, st.line, st.text, found)
				case !ok:
					failed = true
					t.Errorf("%s:%d: %s; found %s", name, st.line, st.text, found)
				}
			}
			if failed || *show {
				t.Logf("%s\n%s", s.reason, a)
			}
		})
	}
}

// verdict is what the program says of a scenario.
type verdict struct {
	causes *cause.Catalogue
	odds   lineup.Odds
	next   *answer.NextFacts // nil where nothing is asked of the plan
}

func say(t *testing.T, m *lineup.Model, settings *plan.Assumptions, s *scenario) verdict {
	t.Helper()
	ctx := context.Background()
	w, err := work.New(ctx, m, s.job, work.OpenOptions{Plan: settings, Lineup: lineup.DrawOptions{Candidates: scenarioCandidates, Seed: scenarioSeed, Workers: 1}})
	if err != nil {
		t.Fatal(err)
	}
	l, err := w.Lineup(ctx)
	if err != nil {
		t.Fatal(err)
	}
	out := verdict{causes: m.Causes, odds: l.Odds()}
	if !slices.ContainsFunc(s.must, func(st statement) bool { return st.key == "next" || st.key == "quote" }) && !*show {
		return out
	}
	ask := w.Ask()
	ask.SayOn = 0 // statements are of order, not of cost
	n, err := work.NextOf(ctx, l, ask)
	if err != nil {
		t.Fatal(err)
	}
	out.next = answer.ForNext(n, answer.StyleOf(w))
	return out
}

// holds tells whether a statement is true, and what was found.
func (a verdict) holds(s statement) (bool, string) {
	lead := a.odds.Causes[0].Cause
	switch s.key {
	case "first":
		return slices.Contains(s.words, lead) != s.not, lead
	case "among":
		for _, w := range s.words {
			if k := a.place(w); k >= s.n {
				return false, fmt.Sprintf("%s in place %d", w, k+1)
			}
		}
		return true, ""
	case "at least":
		p := a.present(s.words[0])
		return 100*p >= float64(s.n), per100(p)
	case "at most":
		p := a.present(s.words[0])
		return 100*p <= float64(s.n), per100(p)
	case "both":
		if len(a.odds.Pairs) == 0 {
			return false, "no pair"
		}
		pair := a.odds.Pairs[0].Causes
		return slices.Contains(pair[:], s.words[0]) && slices.Contains(pair[:], s.words[1]), strings.Join(pair[:], " and ")
	case "fit":
		return slices.Contains(s.words, a.odds.Fit.Verdict), a.odds.Fit.Verdict
	case "site":
		found := a.site()
		return slices.Contains(s.words, found), found
	case "next":
		if len(a.next.Steps) == 0 {
			return false, "no step"
		}
		do := a.next.Steps[0].Do
		if s.not {
			return !slices.Contains(s.words, do), do
		}
		for _, step := range a.next.Steps {
			if step.ExpectedCost <= (1+planError)*a.next.Steps[0].ExpectedCost && slices.Contains(s.words, step.Do) {
				return true, ""
			}
		}
		return false, fmt.Sprintf("%s, and none of them as good to %.0f of 100", do, 100*planError)
	case "quote":
		q := a.next.Quote
		if q == nil {
			return false, "no quote in the job"
		}
		p, need := a.presumed(q)
		return (p >= need) != s.not, fmt.Sprintf("%s presumed, %s needed", per100(p), per100(need))
	}
	return false, "a statement that nothing knows"
}

// planError is how far apart two steps' expected costs may be and still be
// the same to a plan made on a sample of engines.
const planError = 0.03

// presumed is the probability that a quote has its cause right, at a site that
// its repair is for, and the one that the catalogue asks of such a repair before
// it may be recommended.
func (a verdict) presumed(q *answer.QuoteFacts) (p, need float64) {
	repair, presumes := a.causes.Repair(q.Repair), a.causes.Cause(q.Presumes)
	if len(presumes.Sites) == 0 {
		return q.Presumed, repair.NeedOdds.Value
	}
	for _, s := range presumes.Sites {
		if s.Repair == repair.ID {
			p += a.share(q.Presumes + "@" + s.ID)
		}
	}
	return p, repair.NeedOdds.Value
}

func per100(p float64) string { return fmt.Sprintf("%.1f of 100", 100*p) }

func (a verdict) place(cause string) int {
	return slices.IndexFunc(a.odds.Causes, func(c lineup.CauseOdds) bool { return c.Cause == cause })
}

func (a verdict) probability(cause string) float64 {
	if k := a.place(cause); k >= 0 {
		return a.odds.Causes[k].Probability
	}
	return math.NaN()
}

// present is the probability that the cause is bad on this car, whatever it explains.
func (a verdict) present(cause string) float64 {
	if k := a.place(cause); k >= 0 {
		return a.odds.Causes[k].Present
	}
	return math.NaN()
}

// site is the likeliest site of the likeliest cause that has any.
func (a verdict) site() string {
	for _, c := range a.odds.Causes {
		if len(c.Sites) > 0 {
			return c.Sites[0].Site
		}
	}
	return "none"
}

func (a verdict) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "fit %s, something else %s, effective %.0f\n", a.odds.Fit.Verdict, per100(a.odds.Fit.SomethingElse), a.odds.Effective)
	for _, c := range a.odds.Causes[:min(7, len(a.odds.Causes))] {
		fmt.Fprintf(&b, "  %5.1f %s", 100*c.Probability, c.Cause)
		for k, s := range c.Sites {
			if k < 3 {
				fmt.Fprintf(&b, ", %s %.1f", s.Site, 100*s.Probability)
			}
		}
		b.WriteByte('\n')
	}
	for _, p := range a.odds.Pairs[:min(3, len(a.odds.Pairs))] {
		fmt.Fprintf(&b, "  %5.1f %s and %s\n", 100*p.Probability, p.Causes[0], p.Causes[1])
	}
	for _, o := range a.odds.Fit.Odd {
		fmt.Fprintf(&b, "  odd: finding %d, %s, %.3f\n", o.Finding, o.What, o.Chance)
	}
	if a.next != nil {
		for _, s := range a.next.Steps[:min(4, len(a.next.Steps))] {
			fmt.Fprintf(&b, "  next %s: %.0f now, %.0f expected\n", s.Do, s.Cost, s.ExpectedCost)
		}
		if q := a.next.Quote; q != nil {
			fmt.Fprintf(&b, "  quote: cures %s, accepted %.0f, by the plan %.0f\n", per100(q.Cures), q.IfAccepted, q.ByPlan)
		}
	}
	return b.String()
}

// TestScenariosLeaveNothingOut: every cause, sign and condition, either fuel,
// each kind of fan, both places of a thermostat and both kinds of units is met
// in some scenario.
func TestScenariosLeaveNothingOut(t *testing.T) {
	files, err := filepath.Glob("../../scenarios/*.txt")
	if err != nil {
		t.Fatal(err)
	}
	m := model(t)
	words, said := work.Vocabulary(m), vocabularyOf(m)
	met := make(map[string]bool)
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		s, err := parseScenario(filepath.Base(file), string(text), words, said)
		if err != nil {
			t.Fatal(err)
		}
		v, c := &s.job.Vehicle, &s.job.Complaint
		for _, w := range slices.Concat(c.Signs, c.When, []string{v.Fuel, v.Fan.Kind, v.Thermostat.Sits, s.job.Shop.Units}) {
			met[w] = true
		}
		for _, st := range s.must {
			if st.key != "at most" && st.key != "next" && !st.not {
				for _, w := range st.words {
					met[w] = true
				}
			}
		}
	}
	// Details that people tell beside the main thing are met in cases/.
	mains := func(ids []string, detail func(id string) bool) (list []string) {
		for _, id := range ids {
			if !detail(id) {
				list = append(list, id)
			}
		}
		return list
	}
	checks := model(t).Checks
	signs := mains(words.Signs, func(id string) bool { return checks.Signs[checks.SignIndex(id)].Detail })
	when := mains(words.When, func(id string) bool { return checks.Conditions[checks.ConditionIndex(id)].Detail })
	want := slices.Concat(signs, when, said["site"],
		[]string{"petrol", "diesel", "electric", "two-speed", "viscous", "outlet", "inlet", "us", "metric"})
	for _, id := range words.Causes {
		if id != "something-else" { // what fits nothing is asked for by its fit
			want = append(want, id)
		}
	}
	for _, w := range want {
		if !met[w] {
			t.Errorf("no scenario has %s", w)
		}
	}
}
