package answer

import (
	"strings"
	"testing"
)

// Only where a repair comes first is it said to do the repair: a check that comes first
// beside another that saves less than the estimate's error is no repair.
func TestDoTheRepairIsSaidOnlyOfARepair(t *testing.T) {
	look := Step{Do: "fan-command", Kind: "check", Name: "fan commanded", ExpectedCost: 600}
	for _, c := range []struct {
		first Step
		want  bool
	}{
		{Step{Do: "live-data", Kind: "check", Name: "live data", ExpectedCost: 700}, false},
		{Step{Do: "replace-fan", Kind: "repair", Name: "replace the fan", ExpectedCost: 700}, true},
	} {
		n := &NextFacts{Steps: []Step{c.first, look}, Currency: "USD"}
		said := n.why()
		if !strings.Contains(said, "fan commanded") || strings.Contains(said, "Do the repair") != c.want {
			t.Errorf("%s first: %s", c.first.Kind, said)
		}
	}
}
