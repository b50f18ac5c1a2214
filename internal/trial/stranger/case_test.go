package stranger

import (
	"bytes"
	"context"
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
