package trial_test

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"weephole/internal/trial"
	"weephole/internal/trial/stranger"
	"weephole/lineup"
)

// Every stage of a stranger's car is a job file that the program takes, and the
// written folder is one of cases.
func TestStrangersAreJobsAndCases(t *testing.T) {
	m, err := lineup.DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	r, err := trial.RunStrangers(context.Background(), m, trial.StrangerOptions{
		Cars: 4, Seed: 2, Library: 14, Write: dir, Stages: []string{"complaint"},
		CaseOptions: trial.CaseOptions{Candidates: 500, KeepStill: true},
	})
	if err != nil {
		t.Fatal(err)
	}
	if r.Cars != 7 || r.Fresh || len(r.Stages) != 1 || len(r.Stages[0].Neighbours) != 4 {
		t.Errorf("cars %d, fresh %v, stages %d", r.Cars, r.Fresh, len(r.Stages))
	}
	var page bytes.Buffer
	if err := r.WriteTables(&page); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(page.String(), "tuning seed 2") {
		t.Errorf("the page does not say that the seed is for tuning:\n%s", page.String())
	}
	cases, err := trial.ReadCases(m, os.DirFS(dir))
	if err != nil {
		t.Fatal(err)
	}
	if len(cases) != 7 {
		t.Errorf("%d cases written; want 7", len(cases))
	}
	logs, err := filepath.Glob(filepath.Join(dir, "*.csv"))
	if err != nil || len(logs) != 7 {
		t.Errorf("%d logs written (%v); want 7", len(logs), err)
	}
}

// The stranger knows the catalogue's causes by name: all but the two that are none.
func TestTheStrangerKnowsEveryCause(t *testing.T) {
	m, err := lineup.DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	ids, err := stranger.Causes()
	if err != nil {
		t.Fatal(err)
	}
	known := make(map[string]bool)
	for _, id := range ids {
		known[id] = true
		if m.Causes.Index(id) < 0 {
			t.Errorf("%q is no cause of the catalogue", id)
		}
	}
	for i := range m.Causes.Causes {
		id := m.Causes.Causes[i].ID
		if !known[id] && id != "no-fault" && id != "something-else" {
			t.Errorf("the stranger has no car with %s", id)
		}
	}
}
