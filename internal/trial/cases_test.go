package trial_test

import (
	"bytes"
	"context"
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"weephole/internal/trial"
	"weephole/lineup"
)

const typed = `weephole: 1
complaint: {signs: [overheats], when: [idle], fine: [motorway]}
vehicle: {fan: {kind: electric}}
findings:
  - {check: level-cold, found: full}
  - {check: fan-run, found: still}
closing: {cause: fan-dead}
`

const truth = `cause: [fan-dead]
also-right: [sensor-low]
confidence: sure
shown-by: 2
told-before: no
weight: core
source: made up
readers:
  fields: {fan-dead: 0.6, pump-weak: 0.2}
`

func files(list ...string) fstest.MapFS {
	fs := fstest.MapFS{}
	for i := 0; i < len(list); i += 2 {
		fs[list[i]] = &fstest.MapFile{Data: []byte(list[i+1])}
	}
	return fs
}

func model(t *testing.T) *lineup.Model {
	t.Helper()
	m, err := lineup.DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func TestACaseHoldsNothingFromTheFindingThatShowsItOn(t *testing.T) {
	list, err := trial.ReadCases(model(t), files("a.yaml", typed, "a.outcome.yaml", truth))
	if err != nil {
		t.Fatal(err)
	}
	j := list[0].Job
	if len(j.Findings) != 1 || j.Findings[0].Check != "level-cold" {
		t.Errorf("findings left: %v; want the level alone", j.Findings)
	}
	if j.Closing.Cause != "" {
		t.Errorf("the closing's cause %q is still there", j.Closing.Cause)
	}
}

func TestAWrongCaseIsRefusedWithWhatToWrite(t *testing.T) {
	for _, c := range []struct {
		name, says string
		files      fstest.MapFS
	}{
		{"no truth", "a.outcome.yaml: the truth is missing", files("a.yaml", typed)},
		{"no job", "b.outcome.yaml: the job file b.yaml is missing", files("b.outcome.yaml", truth)},
		{"no case", "a case is a job file", files()},
		{"unknown cause", `cause: "fan-ded" is not a cause`, files("a.yaml", typed, "a.outcome.yaml", strings.Replace(truth, "[fan-dead]", "[fan-ded]", 1))},
		{"no cause", "write at least one", files("a.yaml", typed, "a.outcome.yaml", strings.Replace(truth, "[fan-dead]", "[]", 1))},
		{"beyond the findings", "shown-by: found 9", files("a.yaml", typed, "a.outcome.yaml", strings.Replace(truth, "shown-by: 2", "shown-by: 9", 1))},
		{"strange word", `weight: found "heavy"; write one of: core, minor`, files("a.yaml", typed, "a.outcome.yaml", strings.Replace(truth, "core", "heavy", 1))},
		{"strange key", "shown", files("a.yaml", typed, "a.outcome.yaml", truth+"shown: 3\n")},
		{"odds above one", "write a probability", files("a.yaml", typed, "a.outcome.yaml", strings.Replace(truth, "0.6", "1.6", 1))},
		{"broken job", "fan-run", files("a.yaml", strings.Replace(typed, "still", "stil", 1), "a.outcome.yaml", truth)},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := trial.ReadCases(model(t), c.files)
			if err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("got %v; want it to say %q", err, c.says)
			}
		})
	}
}

func TestCasesAreScoredAlikeOnAnyNumberOfCores(t *testing.T) {
	m := model(t)
	list, err := trial.ReadCases(m, files("a.yaml", typed, "a.outcome.yaml", truth,
		"b.yaml", strings.Replace(typed, "full", "low", 1), "b.outcome.yaml", strings.Replace(truth, "fan-dead]", "coolant-low]", 1)))
	if err != nil {
		t.Fatal(err)
	}
	var pages []string
	for _, workers := range []int{1, 3} {
		r, err := trial.RunCases(context.Background(), m, list, trial.CaseOptions{Seeds: []uint64{1, 2}, Candidates: 500, Workers: workers, KeepStill: true})
		if err != nil {
			t.Fatal(err)
		}
		var page bytes.Buffer
		if err := r.WriteTables(&page); err != nil {
			t.Fatal(err)
		}
		pages = append(pages, page.String())
		if r.Groups[0].Score.Cars != 2 || len(r.Forecasts) != 4 {
			t.Errorf("scored %d cars in %d answers; want 2 in 4", r.Groups[0].Score.Cars, len(r.Forecasts))
		}
	}
	if pages[0] != pages[1] {
		t.Errorf("one core says\n%s\nthree say\n%s", pages[0], pages[1])
	}
}

// The open set of real cars reads with the words of today, and every case says
// where it was told.
func TestTheOpenCasesReadAndNameTheirSource(t *testing.T) {
	list, err := trial.ReadCases(model(t), os.DirFS("../../cases"))
	if err != nil {
		t.Fatal(err)
	}
	sources, err := os.ReadFile("../../cases/SOURCES.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range list {
		if c.Outcome.Source != "SOURCES.md, "+c.Name || !strings.Contains(string(sources), "- "+c.Name+": ") {
			t.Errorf("%s: source %q is not found in cases/SOURCES.md", c.Name, c.Outcome.Source)
		}
	}
}

// So do the made-up stories, and none of them is given out as a real car.
func TestTheMadeUpStoriesReadAndSayThatTheyAre(t *testing.T) {
	list, err := trial.ReadCases(model(t), os.DirFS("../../stories"))
	if err != nil {
		t.Fatal(err)
	}
	if len(list) != 60 {
		t.Errorf("%d stories, want 60", len(list))
	}
	for _, c := range list {
		if want := "told from general experience, " + c.Name; c.Outcome.Source != want {
			t.Errorf("%s: source %q, want %q", c.Name, c.Outcome.Source, want)
		}
	}
}
