package answers_test

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"weephole/internal/web/answers"
	"weephole/lineup/lineuptest"
	"weephole/plan"
)

var knowledge = sync.OnceValues(lineuptest.Coarse)

func live(t *testing.T, change func(*answers.LiveConfig)) *answers.Live {
	t.Helper()
	m, err := knowledge()
	if err != nil {
		t.Fatal(err)
	}
	cfg := answers.Defaults()
	cfg.Model, cfg.CoarseSize, cfg.FineSize, cfg.Quiet = m, 500, 0, time.Millisecond
	if cfg.Plan, err = plan.DefaultAssumptions(); err != nil {
		t.Fatal(err)
	}
	if change != nil {
		change(&cfg)
	}
	w := answers.NewLive(cfg)
	t.Cleanup(w.Close)
	return w
}

var found = []string{
	`{"check":"level-cold","found":"full"}`,
	`{"check":"hose-temps","read":{"upper-hose":"104 °C","lower-hose":"38 °C"}}`,
	`{"check":"belt-look","found":"firm"}`,
	`{"check":"fan-run","found":"runs"}`,
}

func stands(name string, seq int64, findings ...string) answers.JobState {
	doc := fmt.Sprintf(`{"weephole":1,"vehicle":{"displacement":"1.8 L"},"complaint":{"signs":["overheats"],"when":["idle"]},"findings":[%s]}`, strings.Join(findings, ","))
	return answers.JobState{Job: name, Seq: seq, Document: json.RawMessage(doc)}
}

func odds(t *testing.T, w *answers.Live, s answers.JobState) map[string]float64 {
	t.Helper()
	w.Ask(s)
	a, err := w.Answer(t.Context(), s.Job, s.Seq, answers.Coarse)
	if err != nil {
		t.Fatal(err)
	}
	if a.Problem != "" {
		t.Fatal(a.Problem)
	}
	out := map[string]float64{}
	for _, c := range a.Odds.Causes {
		out[c.Cause] = math.Round(c.Probability*1e9) / 1e9 // two ways to the same sum
	}
	return out
}

func TestAChainOfFindingsGivesWhatAllAtOnceGive(t *testing.T) {
	w := live(t, nil)
	for n := range len(found) + 1 {
		chain := odds(t, w, stands("chain", int64(n+1), found[:n]...))
		once := odds(t, w, stands(fmt.Sprint("once ", n), 1, found[:n]...))
		if d := cmp.Diff(once, chain); d != "" {
			t.Errorf("%d findings (-at once +one by one):\n%s", n, d)
		}
	}
	// Struck out in the middle, corrected, and with a repair between.
	for i, list := range [][]string{
		{found[0], found[2], found[3]},
		{`{"check":"level-cold","found":"low"}`, found[2]},
		{found[0], `{"repair":"replace-thermostat","changed":"nothing"}`, found[2]},
		{found[0], `{"repair":"replace-thermostat","changed":"nothing"}`, found[2], found[3]},
		{found[0]},
	} {
		chain := odds(t, w, stands("chain", int64(10+i), list...))
		once := odds(t, w, stands(fmt.Sprint("again ", i), 1, list...))
		if d := cmp.Diff(once, chain); d != "" {
			t.Errorf("change %d (-at once +changed):\n%s", i, d)
		}
	}
}

func TestTheNextStepAndWhatIsExpectedFollow(t *testing.T) {
	w := live(t, nil)
	w.Ask(stands("j", 3, found[:2]...))
	a, err := w.Planned(t.Context(), "j", 3)
	if err != nil {
		t.Fatal(err)
	}
	if len(a.Next.Steps) == 0 {
		t.Fatal("no step")
	}
	for _, e := range a.Expected {
		if e.Check == "hose-temps" && e.Reading == "lower-hose" {
			if e.Healthy == nil || e.Healthy.Low >= e.Healthy.High || len(e.Leading) == 0 {
				t.Errorf("lower hose: %+v", e)
			}
			return
		}
	}
	t.Error("no reading is expected at the lower hose")
}

// What a place answers is what a fault shows. After a fan was found still, the
// engines that are left have a dead fan, whatever else they have; what a leak alone
// would have shown there is the same as before the fan was looked at.
func TestAPlaceSaysWhatAFaultWouldShowAndNotWhatIsLeft(t *testing.T) {
	shows := func(findings ...string) map[string]float64 {
		w := live(t, nil)
		w.Ask(stands("j", 3, findings...))
		a, err := w.Planned(t.Context(), "j", 3)
		if err != nil {
			t.Fatal(err)
		}
		out := map[string]float64{}
		for _, e := range a.Expected {
			if e.Check == "fan-run" && e.Word == "still" {
				for _, l := range e.Leading {
					out[l.Cause] = l.Probability
				}
			}
		}
		return out
	}
	before, after := shows(`{"check":"level-cold","found":"low"}`), shows(`{"check":"level-cold","found":"low"}`, `{"check":"fan-run","found":"still"}`)
	both := 0
	for id, p := range after {
		if was, there := before[id]; there {
			both++
			if was != p {
				t.Errorf("%s: %.3f of such engines show a still fan before it was looked at, %.3f after", id, was, p)
			}
		}
		if id != "fan-dead" && p >= after["fan-dead"] {
			t.Errorf("%s shows a still fan as often as a dead fan does: %v", id, after)
		}
	}
	if both == 0 {
		t.Errorf("no cause is answered for twice: %v, %v", before, after)
	}
}

func TestTheFineAnswerComesLast(t *testing.T) {
	var mu sync.Mutex
	var told []string
	w := live(t, func(c *answers.LiveConfig) {
		c.FineSize = 700
		c.Tell = func(_ string, a *answers.Answer) {
			mu.Lock()
			defer mu.Unlock()
			told = append(told, a.Stage)
		}
	})
	w.Ask(stands("j", 2, found[0]))
	a, err := w.Answer(t.Context(), "j", 2, answers.Fine)
	if err != nil || a.Stage != answers.Fine || a.Next == nil {
		t.Fatalf("%+v, %v", a, err)
	}
	w.Close()
	if d := cmp.Diff([]string{"coarse", "coarse", "fine"}, told); d != "" {
		t.Errorf("told (-want +got):\n%s", d)
	}
}

func TestAnOlderSubjectChangesNothing(t *testing.T) {
	w := live(t, nil)
	odds(t, w, stands("j", 5, found[:2]...))
	w.Ask(stands("j", 4, found[0]))
	a, err := w.Answer(t.Context(), "j", 5, answers.Coarse)
	if err != nil || a.Seq != 5 {
		t.Errorf("%+v, %v", a, err)
	}
	// Nor one that comes while the newer is still being worked out.
	w.Ask(stands("k", 5, found[:2]...))
	time.Sleep(20 * time.Millisecond) // it has begun, and takes longer
	w.Ask(stands("k", 4, found[0]))
	if a, err := w.Planned(t.Context(), "k", 5); err != nil || a.Seq != 5 {
		t.Fatalf("%+v, %v", a, err)
	}
	time.Sleep(100 * time.Millisecond)
	if a := w.Latest("k"); a.Seq != 5 {
		t.Errorf("the answer went back to entry %d", a.Seq)
	}
}

func TestAJobThatCannotBeWeighedSaysWhy(t *testing.T) {
	w := live(t, nil)
	w.Ask(stands("j", 2, `{"check":"warm-up-log","trace":"gone.csv"}`))
	a, err := w.Answer(t.Context(), "j", 2, answers.Fine)
	if err != nil || !strings.Contains(a.Problem, "gone.csv") {
		t.Errorf("%+v, %v", a, err)
	}
	if b, err := w.Planned(t.Context(), "j", 2); err != nil || b.Problem == "" {
		t.Errorf("planned: %+v, %v", b, err)
	}
}

func TestIdleJobsMakeRoom(t *testing.T) {
	w := live(t, func(c *answers.LiveConfig) { c.Warm, c.Share = 2, shelf.Share }) // all jobs are one car's
	for i := range 5 {
		s := stands(fmt.Sprint("job ", i), 1)
		odds(t, w, s)
		if _, err := w.Planned(t.Context(), s.Job, 1); err != nil {
			t.Fatal(err)
		}
	}
	warm := 0
	for i := range 5 {
		if w.Latest(fmt.Sprint("job ", i)) != nil {
			warm++
		}
	}
	if warm > 3 { // the one just asked may still be at work
		t.Errorf("%d jobs are kept warm", warm)
	}
	odds(t, w, stands("job 0", 1)) // drawn again
}
