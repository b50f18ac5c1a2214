package answer_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weephole/internal/answer"
	"weephole/internal/job"
	"weephole/internal/work"
	"weephole/lineup"
	"weephole/quantity"
)

func odds(standardError float64) work.Diagnosis {
	return work.Diagnosis{Odds: lineup.Odds{
		Candidates: 20000, Effective: 900, Error: standardError, Rough: standardError > 0.02,
		Causes: []lineup.CauseOdds{
			{Cause: "thermostat-shut", Name: "thermostat that does not open", Probability: 0.935, For: []lineup.Reason{
				{Finding: 1, What: "hose temperatures", Decibans: 10, Expected: []lineup.Expectation{
					{Reading: "lower-hose", Kind: "temperature", Read: 40, With: [2]float64{30, 50}, Without: [2]float64{70, 85}}}},
			}},
			{Cause: "pump-weak", Name: "pump that hardly moves the coolant", Probability: 0.065, Against: []lineup.Reason{
				{Finding: 2, What: "cabin heat", Decibans: -6, With: 0.2, Without: 0.8}}},
		},
		Pairs: []lineup.PairOdds{}, Fit: lineup.Fit{Verdict: "fits"},
	}}
}

func TestProbabilitiesAreSaidNoFinerThanTheSimulationTells(t *testing.T) {
	for _, c := range []struct {
		err          float64
		first, other string
	}{{0.001, "94 %", "7 %"}, {0.01, "94 %", "7 %"}, {0.015, "94 %", "6 %"}, {0.04, "95 %", "5 %"}, {0.2, "90 %", "10 %"}} {
		a := answer.ForOdds(odds(c.err), answer.Style{})
		if a.Causes[0].Percent != c.first || a.Causes[1].Percent != c.other {
			t.Errorf("standard error %v: %s and %s, want %s and %s", c.err, a.Causes[0].Percent, a.Causes[1].Percent, c.first, c.other)
		}
	}
}

func TestNothingIsSaidSurerThanItsPrecision(t *testing.T) {
	for _, c := range []struct {
		step answer.Precision
		p    float64
		want string
	}{{0.01, 1, "over 99 %"}, {0.01, 0.994, "99 %"}, {0.01, 0.004, "under 1 %"}, {0.05, 0.99, "over 95 %"}, {0.10, 0.97, "over 90 %"}, {0.10, 0, "under 10 %"}} {
		if got := c.step.Percent(c.p); got != c.want {
			t.Errorf("%g to %g: %s, want %s", c.p, float64(c.step), got, c.want)
		}
	}
}

// Near 0 and 100 a count is said as what it cannot be told from; it is counted alike
// wherever it is said.
func TestOfHundredNeverSaysNoneOrAll(t *testing.T) {
	for p, want := range map[float64]string{0: "fewer than 1 of 100", 0.004: "fewer than 1 of 100", 0.006: "1 of 100",
		0.585: "59 of 100", 0.994: "99 of 100", 0.996: "more than 99 of 100", 1: "more than 99 of 100"} {
		if got := answer.OfHundred(p); got != want {
			t.Errorf("%g: %s, want %s", p, got, want)
		}
	}
}

func TestAnOddFindingIsSaidInPerCent(t *testing.T) {
	w := odds(0.001)
	w.Odds.Fit = lineup.Fit{Verdict: "strained", Odd: []lineup.Oddity{{Finding: 2, What: "cabin heat", Chance: 0.0526}}}
	want := "“cabin heat” does not agree with the other findings. Of the engines that match the others, 5 % would show it. Repeat it before you rely on it."
	if a := answer.ForOdds(w, answer.Style{}); len(a.Warnings) != 1 || a.Warnings[0].Text != want {
		t.Errorf("%v, want %s", a.Warnings, want)
	}
}

func TestFewEnginesAreSaidToBeRough(t *testing.T) {
	a := answer.ForOdds(odds(0.1), answer.Style{})
	if len(a.Warnings) != 1 || a.Warnings[0].Kind != answer.FewEngines {
		t.Errorf("an answer that can be off by 20 %% does not say that it is rough: %v", a.Warnings)
	}
}

func TestReasonsAreToldInTheShopsUnits(t *testing.T) {
	a := answer.ForOdds(odds(0.001), answer.Style{Units: quantity.US()})
	want := "lower hose read 104 °F; expected 86 °F to 122 °F with this fault, 158 °F to 185 °F without: strong evidence"
	if got := a.Causes[0].For[0].Says; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	want = "seen in 20 of 100 cars with this fault, 80 of 100 without: moderate evidence"
	if got := a.Causes[1].Against[0].Says; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

func TestBarsTellByLengthAndNumber(t *testing.T) {
	var b strings.Builder
	p := answer.Page{W: &b, Width: 80}
	a := answer.ForOdds(odds(0.001), answer.Style{Units: quantity.Metric()})
	p.Odds(&a, false)
	if p.Err() != nil {
		t.Fatal(p.Err())
	}
	if text := b.String(); !strings.Contains(text, "94 % █") || strings.Contains(text, "\x1b") {
		t.Errorf("no bar, or colour where none was asked for:\n%s", text)
	}
}

// A cap found dead on a car that came for another fault is told, and not as the cause.
func TestWhatIsBadAndExplainsLittleIsSaidApart(t *testing.T) {
	d := odds(0.001)
	d.Causes = append(d.Causes,
		lineup.CauseOdds{Cause: "cap-weak", Name: "pressure cap that does not hold", Probability: 0.04, Present: 0.97},
		lineup.CauseOdds{Cause: "fan-dead", Name: "fan that does not run", Probability: 0.03, Present: 0.04})
	got := answer.Only(answer.ForOdds(d, answer.Style{}).Lines, answer.AlsoBad)
	want := []string{"Also bad on this car: a pressure cap that does not hold (97 %). It hardly explains the complaint (4 %)."}
	if strings.Join(got, "|") != strings.Join(want, "|") {
		t.Errorf("said %q, want %q", got, want)
	}
}

// What stands in a warning's text is the check's name; the file is known by the finding.
func TestAStrangeLogIsKnownByItsFile(t *testing.T) {
	d := odds(0.001)
	d.Fit = lineup.Fit{Verdict: "strained", Logs: []lineup.StrangeLog{{Finding: 4, What: "a logged warm-up", Chance: 0.9, ApartK: 12}, {Finding: 2, What: "a logged drive", Chance: 0.9, ApartK: 12}}}
	a := answer.ForOdds(d, answer.Style{Units: quantity.Metric()})
	a.NameLogs(&work.Work{Job: &job.Job{Findings: []job.Finding{{Check: "dtc"}, {Trace: "drive.csv"}, {Trace: "warm.csv"}}}, FindingOf: []int{0, 1, 0, 2}})
	var got []string
	for i, s := range a.Strange {
		got = append(got, s.Trace)
		if want := "“" + d.Fit.Logs[i].What + "” does not look like this car."; !strings.HasPrefix(s.Says, want) {
			t.Errorf("%s: %q, want %q", s.Trace, s.Says, want)
		}
	}
	if d := cmp.Diff([]string{"warm.csv", "drive.csv"}, got); d != "" {
		t.Errorf("logs (-want +got):\n%s", d)
	}
}

func TestEachCauseHasTheErrorOfItsSimulation(t *testing.T) {
	w := odds(0.01)
	w.Odds.Causes[0].Error, w.Odds.Causes[0].ErrorBad, w.Odds.Causes[0].Effective = 0.004, 0.006, 412.4
	if c := answer.ForOdds(w, answer.Style{}).Causes[0]; c.Error != 0.004 || c.ErrorBad != 0.006 || c.Effective != 412 {
		t.Errorf("error %g, of being bad %g, effective %g; want 0.004, 0.006, 412", c.Error, c.ErrorBad, c.Effective)
	}
}

func TestWhatIsNotCountedBearsItsNameAndNoId(t *testing.T) {
	m, err := knowledge()
	if err != nil {
		t.Fatal(err)
	}
	w := &work.Work{Model: m, Job: &job.Job{Findings: []job.Finding{{Check: "trouble-codes", Note: "after a jump start"}, {Repair: "replace-cap"}, {NotKnown: "white-smoke"}, {Note: "smells odd"}}}}
	for i := range w.Job.Findings {
		w.Unweighed = append(w.Unweighed, work.Unweighed{Finding: i, Why: "why"})
	}
	var got []string
	for _, u := range answer.UnweighedOf(w) {
		got = append(got, u.Says)
	}
	want := []string{"stored trouble codes “after a jump start”", m.Causes.Repair("replace-cap").Name, "white smoke that smells sweet", "“smells odd”"}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}
