package tally_test

import (
	"bytes"
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"weephole/check"
	"weephole/circuit"
	"weephole/internal/job"
	"weephole/internal/tally"
	"weephole/lineup"
	"weephole/proof"
)

func closed(name, cause string) tally.Entry {
	return tally.Entry{Job: name, Causes: []string{cause}, Gone: 0.99}
}

func TestAJobIsCountedOnceAndCanBeUndone(t *testing.T) {
	var list tally.Tally
	if _, err := list.Add(closed("a", "fan-dead")); err != nil {
		t.Fatal(err)
	}
	if _, err := list.Add(closed("a", "fan-dead")); !errors.Is(err, tally.ErrTwice) {
		t.Errorf("the same job twice: %v", err)
	}
	if _, err := list.Add(closed("b", "thermostat-shut")); err != nil {
		t.Fatal(err)
	}
	if _, err := list.Undo("a", "it came back"); err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff([]tally.CauseCount{{Cause: "thermostat-shut", Closed: 1}}, list.Counts()); d != "" {
		t.Errorf("after undoing (-want +got):\n%s", d)
	}
	if len(list.Entries) != 3 {
		t.Errorf("%d lines are left of 3: something was erased", len(list.Entries))
	}
	if _, err := list.Undo("a", ""); !errors.Is(err, tally.ErrAbsent) {
		t.Errorf("undone twice: %v", err)
	}
	if _, err := list.Add(closed("a", "cap-weak")); err != nil {
		t.Errorf("counting it again after undoing: %v", err)
	}
}

// deadFan is a small lineup of a car whose fan stands still.
func deadFan(t *testing.T) (*lineup.Lineup, lineup.Case) {
	t.Helper()
	m, err := lineup.DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	electric, air := circuit.FanElectric, circuit.Conditions{AmbientC: 24}
	cs := lineup.Case{
		Vehicle: circuit.Vehicle{FanKind: &electric}, Shop: air, OnTheRoad: air,
		Complaint: check.Complaint{Signs: make([]check.Heard, len(m.Checks.Signs)), Conditions: make([]check.Heard, len(m.Checks.Conditions))},
		Events:    []lineup.Event{{Check: "fan-run", Word: "still"}},
	}
	l, err := lineup.New(t.Context(), m, cs, lineup.DrawOptions{Candidates: 600, Seed: 1, KeepStill: true})
	if err != nil {
		t.Fatal(err)
	}
	return l, cs
}

func TestOnlyProvenRepairsTeach(t *testing.T) {
	l, cs := deadFan(t)
	proven := &proof.Judgement{Verdict: proof.CouldNotTell, Cause: proof.Proven, Gone: 0.995}
	for _, c := range []struct {
		name  string
		close job.Closing
		judge *proof.Judgement
		want  error
	}{
		{"a proven cause", job.Closing{Cause: "fan-dead"}, proven, nil},
		{"nothing seen after the repair", job.Closing{Cause: "fan-dead"}, nil, tally.ErrUnproven},
		{"a run that could not tell", job.Closing{Cause: "fan-dead"}, &proof.Judgement{Verdict: proof.CouldNotTell, Cause: proof.CouldNotTell}, tally.ErrUnproven},
		{"the cause gone but something else wrong", job.Closing{Cause: "fan-dead"}, &proof.Judgement{Verdict: proof.NotProven, Cause: proof.Proven}, tally.ErrUnproven},
		{"gone as far as could be seen, and likely so", job.Closing{Cause: "fan-dead"}, &proof.Judgement{Verdict: proof.CouldNotTell, Cause: proof.CouldNotTell, CauseSeen: proof.Proven, Gone: 0.99}, nil},
		{"gone as far as could be seen, but a rest is likely", job.Closing{Cause: "fan-dead"}, &proof.Judgement{Verdict: proof.CouldNotTell, Cause: proof.CouldNotTell, CauseSeen: proof.Proven, Gone: 0.9}, tally.ErrUnproven},
		{"no cause written down", job.Closing{}, proven, tally.ErrNoCause},
		{"kept out by the shop", job.Closing{Cause: "fan-dead", Tally: "no"}, proven, tally.ErrKeptOut},
	} {
		t.Run(c.name, func(t *testing.T) {
			x := tally.Closed{Job: &job.Job{Name: "j", Closing: c.close}, Judgement: c.judge, Lineup: l, Before: cs}
			e, err := x.Entry(t.Context())
			if !errors.Is(err, c.want) {
				t.Fatalf("got %v, want %v", err, c.want)
			}
			if err == nil && (len(e.Findings) != 1 || e.Findings[0].Likelihood < 0.5) {
				t.Errorf("the finding was not taken as one that a dead fan predicts: %+v", e)
			}
		})
	}
}

func TestLinesAreReadBackAsWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := tally.Entry{Version: 1, Job: rapid.StringMatching(`[a-z]{1,12}`).Draw(t, "job"), When: rapid.String().Draw(t, "when"),
			Causes: []string{"fan-dead"}, Gone: rapid.Float64Range(0.01, 1).Draw(t, "gone"),
			Findings: []tally.Result{{Check: "fan-run", Word: "still", Words: 4, Likelihood: rapid.Float64Range(0, 1).Draw(t, "likelihood"), Blunder: 0.03}}}
		e.When = strings.ToValidUTF8(e.When, "")
		var b bytes.Buffer
		if err := tally.WriteEntry(&b, e); err != nil {
			t.Fatal(err)
		}
		got, err := tally.Read(&b, "t")
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff([]tally.Entry{e}, got.Entries); d != "" {
			t.Error(d)
		}
	})
}

func TestATornLineIsLeftOutAndNamed(t *testing.T) {
	good := `{"tally":1,"job":"a","causes":["fan-dead"]}`
	for _, bad := range []string{"{", good[:20], "\x00\x00\x00", `{"tally":1,"causes":["x"]}`, `{"tally":1,"job":"a"}`, `{"tally":1,"job":"a","cause":"x"}`, good[:9] + good, good + good, strings.Repeat("x", 2<<20)} {
		for _, text := range []string{good + "\n" + bad + "\n" + good + "\n", good + "\r\n" + bad + "\r\n" + good} {
			list, err := tally.Read(strings.NewReader(text), "shop.tally")
			if err != nil || len(list.Entries) != 2 || len(list.Torn) != 1 || list.Torn[0].Line != 2 || list.Torn[0].Why == "" {
				t.Errorf("%.40s: %+v, %v", bad, list, err)
			}
		}
	}
}

func TestALineOfANewerProgramIsRefused(t *testing.T) {
	_, err := tally.Read(strings.NewReader("\n"+`{"tally":3,"job":"a","causes":["x"],"more":1}`), "shop.tally")
	if err == nil || !strings.HasPrefix(err.Error(), "shop.tally:2: ") {
		t.Errorf("got %v", err)
	}
}

// With two results, a model that predicts each with certainty and a flat prior
// (Beta(1,1): share 0.5 worth 2 findings), n hits give the posterior density
// (1-e/2)^n, whose mean is by hand
//
//	for n = 1: (1/2 - 1/6) / (1 - 1/4) = 4/9.
func TestTrustIsTheMeanWorkedOutByHand(t *testing.T) {
	list := tally.Tally{Entries: []tally.Entry{{Version: 1, Job: "a", Causes: []string{"x"},
		// 0.75 with half of the results random means certainty without blunders.
		Findings: []tally.Result{{Check: "c", Word: "w", Words: 2, Likelihood: 0.75, Blunder: 0.5}}}}}
	got := list.Trusts(tally.TrustRules{SeedFindings: 2, LeastFindings: 1})
	if len(got) != 1 || math.Abs(got[0].Blunder-4.0/9) > 1e-4 {
		t.Errorf("got %+v, want a share of 4/9", got)
	}
}

func TestTheOverlayIsReadByTheCatalogues(t *testing.T) {
	m, err := lineup.DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	var list tally.Tally
	for i := range 6 {
		e := closed(string(rune('a'+i)), "fan-dead")
		e.Findings = []tally.Result{{Check: "fan-run", Word: "runs", Words: 4, Likelihood: 0.05, Blunder: m.Checks.Check("fan-run").Blunder.Share}}
		if _, err := list.Add(e); err != nil {
			t.Fatal(err)
		}
	}
	var b bytes.Buffer
	if err := list.Overlay(&b, tally.DefaultTrustRules()); err != nil {
		t.Fatal(err)
	}
	taught, err := m.Overlay("tally.yaml", b.Bytes())
	if err != nil {
		t.Fatalf("%v\n%s", err, b.String())
	}
	if was, is := m.Causes.Cause("fan-dead").Prior(), taught.Causes.Cause("fan-dead").Prior(); math.Abs(is-was-6) > 1e-9 {
		t.Errorf("six closed jobs took the weight from %g to %g", was, is)
	}
	if was, is := m.Checks.Check("fan-run").Blunder.Share, taught.Checks.Check("fan-run").Blunder.Share; !(is > was) {
		t.Errorf("six results that the cause hardly predicts took the blunder share from %g to %g", was, is)
	}
}

// A result has a likelihood and nothing else that the form does not know; a line of
// a later form is an error and not left out.
func TestALineIsReadAndWrittenAlike(t *testing.T) {
	line := func(version, key string) string {
		return `{"tally":` + version + `,"job":"a","causes":["fan-dead"],"findings":[{"check":"fan-run","word":"still","words":4,"` + key + `":0.9,"blunder":0.03}]}` + "\n"
	}
	list, err := tally.Read(strings.NewReader(line("1", "likelihood")), "t")
	if err != nil || len(list.Entries) != 1 {
		t.Fatalf("%d entries, %v, %v", len(list.Entries), list.Torn, err)
	}
	if got := list.Entries[0].Findings[0].Likelihood; got != 0.9 {
		t.Errorf("likelihood %g", got)
	}
	var b bytes.Buffer
	if err := tally.WriteEntry(&b, list.Entries[0]); err != nil || b.String() != line("1", "likelihood") {
		t.Errorf("written again as %q, %v", b.String(), err)
	}
	if list, err := tally.Read(strings.NewReader(line("1", "chance")), "t"); err != nil || len(list.Torn) != 1 {
		t.Errorf("an unknown key: %v, torn %v", err, list.Torn)
	}
	if _, err := tally.Read(strings.NewReader(line("2", "likelihood")), "t"); err == nil {
		t.Error("a line of version 2 was read")
	}
}

// Whatever a file holds, reading it gives entries that can be counted, and names
// what it left out.
func FuzzRead(f *testing.F) {
	f.Add([]byte(`{"tally":1,"job":"a","causes":["fan-dead"],"findings":[{"check":"fan-run","word":"still","words":4,"likelihood":0.9,"blunder":0.03}]}` + "\n" + `{"tally":1,"job":"a","undone":true}`))
	f.Add([]byte("{\n\x00\n"))
	f.Add([]byte("{\"tally\":1,\"job\":\"a\",\"causes\":[\"x\"]}\n\n{\"tally\":1,\"job\":\"a\",\"undone\":true,\"why\":\"came back\"}"))
	f.Fuzz(func(t *testing.T, data []byte) {
		list, err := tally.Read(bytes.NewReader(data), "t")
		if err != nil {
			return
		}
		if n := bytes.Count(data, []byte("\n")) + 1; len(list.Entries)+len(list.Torn) > n {
			t.Errorf("%d entries and %d torn lines of %d", len(list.Entries), len(list.Torn), n)
		}
		for _, x := range list.Trusts(tally.TrustRules{SeedFindings: 20, LeastFindings: 1}) {
			if !(x.Blunder > 0 && x.Blunder < 1) {
				t.Errorf("a blunder share of %g", x.Blunder)
			}
		}
		var back bytes.Buffer
		for _, e := range list.Entries {
			if err := tally.WriteEntry(&back, e); err != nil {
				t.Fatal(err)
			}
		}
		again, err := tally.Read(&back, "t")
		if err != nil || len(again.Entries) != len(list.Entries) || len(again.Torn) != 0 {
			t.Errorf("read back %d of %d entries, %v", len(again.Entries), len(list.Entries), err)
		}
	})
}
