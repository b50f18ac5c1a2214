package stranger

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"testing"
)

func TestTheSameSeedGivesTheSameCase(t *testing.T) {
	whole := Stages()[len(Stages())-1]
	a, err := Meet(context.Background(), 5, 2, Single)
	if err != nil {
		t.Fatal(err)
	}
	b, err := Meet(context.Background(), 5, 2, Single)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(a.YAML(whole, LogName), b.YAML(whole, LogName)) || !bytes.Equal(a.CSV(), b.CSV()) {
		t.Error("the same seed gave two cases")
	}
	if len(a.Features(whole)) != len(b.Features(whole)) || len(a.Features(whole)) < 100 {
		t.Errorf("features: %d and %d", len(a.Features(whole)), len(b.Features(whole)))
	}
}

func TestHealthyCarsHaveNothing(t *testing.T) {
	k, err := Meet(context.Background(), 5, 0, Healthy)
	if err != nil {
		t.Fatal(err)
	}
	if len(k.Faults) != 0 || k.Truths()[0] != "no-fault" || len(k.Complaint.Signs) == 0 {
		t.Errorf("faults %v, truths %v, signs %v", k.Faults, k.Truths(), k.Complaint.Signs)
	}
}

func TestTablesThatCannotBeAreRefused(t *testing.T) {
	for _, c := range []string{"a: {low: 1, high: 2}", "a: {low: 2, high: 1, source: x}", "a: {low: 0, high: 1, log: true, source: x}", "a: {lo: 0}"} {
		if _, err := ReadRanges([]byte(c)); err == nil {
			t.Errorf("%q was taken", c)
		}
	}
	if _, err := tests(); err != nil {
		t.Error(err)
	}
}

// Every number of the tables is used, by its name, in the package.
func TestEveryNumberIsUsed(t *testing.T) {
	sources, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	var all []byte
	for _, name := range sources {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, data...)
	}
	r, err := DefaultRanges()
	if err != nil {
		t.Fatal(err)
	}
	h, err := habits()
	if err != nil {
		t.Fatal(err)
	}
	used := func(name string) {
		if !bytes.Contains(all, []byte(`"`+name+`"`)) {
			t.Errorf("%s is not used", name)
		}
	}
	for name := range r {
		used(name)
	}
	for name := range h {
		used(name)
	}
}
