package web_test

import (
	"strings"
	"testing"

	"weephole/internal/store"
	"weephole/internal/web"
)

func TestARowOfTheListSaysAVerdictInItsColumns(t *testing.T) {
	for _, c := range []struct {
		name      string
		verdict   store.Verdict
		has, lack []string
	}{
		{"nothing is known yet", store.Verdict{}, []string{`class="is none">Being worked out<`}, []string{"Next:"}},
		{"a rough count", store.Verdict{State: store.VerdictRough}, []string{`class="is rough">First, rough count<`}, []string{"Next:"}},
		// The name and the step have what the old lines were parted at.
		{"a cause leads", store.Verdict{State: store.VerdictSettled, Name: "fan: dead at 100 %", Percent: "57 %", Next: "give it 12 V: 2 min"},
			[]string{`class="is">Fan: dead at 100 % <b>57 %</b>`, "Next: </i>Give it 12 V: 2 min<"}, []string{"rough"}},
		{"nothing fits", store.Verdict{State: store.VerdictNothingFits, Says: "No known cause explains this.", Next: "look again"},
			[]string{"No known cause explains this.", "Look again"}, []string{"<b>"}},
		{"repaired", store.Verdict{State: store.VerdictRepaired, Repairs: []string{"replace the cap", "flush"}},
			[]string{"Replace the cap, flush: done", "See whether the repair holds"}, []string{"<b>"}},
		{"repaired and proven", store.Verdict{State: store.VerdictRepaired, Repairs: []string{"replace the cap"}, Proof: store.ProofAsSeen},
			[]string{"Replace the cap: done <b>proven, as far as seen</b>", "Close the job"}, nil},
		{"repaired, and the fault is still there", store.Verdict{State: store.VerdictRepaired, Repairs: []string{"replace the cap"}, Proof: store.ProofFailed},
			[]string{"Replace the cap: done <b>not proven</b>", "Look again"}, nil},
		{"a problem", store.Verdict{State: store.VerdictProblem, Says: "line 3"}, []string{"Cannot be worked out: line 3"}, []string{"Next:"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			row, err := web.ListRow(c.verdict)
			if err != nil {
				t.Fatal(err)
			}
			for _, s := range c.has {
				if !strings.Contains(row, s) {
					t.Errorf("no %q in:\n%s", s, row)
				}
			}
			for _, s := range c.lack {
				if strings.Contains(row, s) {
					t.Errorf("%q in:\n%s", s, row)
				}
			}
		})
	}
}

func TestAClosedJobsRowSaysWhatItWas(t *testing.T) {
	v := store.Verdict{State: store.VerdictRepaired, Repairs: []string{"replace the cap"}, Cause: "cap-weak", Name: "weak pressure cap", Proof: store.ProofWhole}
	row, err := web.ListRowOf(store.Summary{ID: "a", Car: "blue estate", Archived: true, Verdict: v})
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(row, "It was: weak pressure cap <b>proven</b>") || strings.Contains(row, "Next:") {
		t.Errorf("row:\n%s", row)
	}
}
