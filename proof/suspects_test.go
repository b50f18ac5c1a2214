package proof_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"weephole/proof"
)

func TestOneNameIsOneSuspect(t *testing.T) {
	got := proof.ByName([]proof.Suspect{
		{Class: proof.Left, Cause: "air-pocket", Name: "air left in", Probability: 0.03},
		{Class: proof.Still, Cause: "fan-dead", Name: "electric fan that does not run", Probability: 0.015},
		{Class: proof.Another, Cause: "fan-dead", Name: "electric fan that does not run", Probability: 0.025},
	})
	want := []proof.Suspect{
		{Class: proof.Another, Cause: "fan-dead", Name: "electric fan that does not run", Probability: 0.04},
		{Class: proof.Left, Cause: "air-pocket", Name: "air left in", Probability: 0.03},
	}
	if d := cmp.Diff(want, got, cmpopts.EquateApprox(0, 1e-12)); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}
