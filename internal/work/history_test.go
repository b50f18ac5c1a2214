package work_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weephole/internal/work"
)

func TestTheLastRepairsInARowAreTheOnesToProve(t *testing.T) {
	m, err := wholeModel()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, findings   string
		repairs          []string
		before, evidence int
	}{
		{"no repair yet", "- {check: level-cold, found: full}", nil, 1, 0},
		{"one, with a check after it", "- {check: level-cold, found: full}\n- {repair: replace-fan}\n- {check: fan-run, found: runs}", []string{"replace-fan"}, 1, 1},
		{"two in one go, and what they changed", "- {check: level-cold, found: low}\n- {repair: replace-hose}\n- {repair: bleed-and-refill, changed: cured}", []string{"replace-hose", "bleed-and-refill"}, 1, 1},
		{"one that changed nothing is a finding like any other", "- {repair: replace-thermostat, changed: nothing}\n- {check: level-cold, found: full}", nil, 2, 0},
		{"what nobody knows teaches nothing", "- {check: unknown, found: low}\n- {repair: unknown}\n- {check: level-cold, found: full}", nil, 1, 0},
		{"only the one after it", "- {repair: replace-thermostat, changed: nothing}\n- {check: fan-run, found: still}\n- {repair: replace-fan}", []string{"replace-fan"}, 2, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, err := work.Open(t.Context(), m, strings.NewReader("weephole: 1\nfindings:\n"+c.findings+"\n"), "job.yaml", work.OpenOptions{})
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(c.repairs, p.Repairs); d != "" {
				t.Errorf("repairs (-want +got):\n%s", d)
			}
			if len(p.Before.Events) != c.before || len(p.BeforeOf) != c.before || len(p.Evidence) != c.evidence || len(p.EvidenceOf) != c.evidence {
				t.Errorf("%d events before and %d after, want %d and %d", len(p.Before.Events), len(p.Evidence), c.before, c.evidence)
			}
		})
	}
}
