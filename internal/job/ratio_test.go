package job_test

import (
	"strings"
	"testing"

	"weephole/internal/job"
)

// A cap may hold more than its rating; what the check allows decides, not the unit.
func TestAReadingInPerCentMayPassAHundred(t *testing.T) {
	v := vocabulary()
	v.Checks = append(v.Checks, job.CheckWords{ID: "cap-pressure", Readings: []job.ReadingWords{{ID: "held", What: "share", High: 1.5}}})
	file := func(held string) string {
		return "weephole: 1\njob: cap\nfindings:\n  - {check: cap-pressure, read: {held: " + held + "}}\n"
	}
	j, err := job.Read(strings.NewReader(file("105 %")), "cap.yaml", v)
	if err != nil {
		t.Fatal(err)
	}
	if got := j.Findings[0].Read[0].Value; got != 1.05 {
		t.Errorf("105 %% was read as %g", got)
	}
	if _, err := job.Read(strings.NewReader(file("160 %")), "cap.yaml", v); err == nil || !strings.Contains(err.Error(), "150 %") {
		t.Errorf("160 %%: %v", err)
	}
}
