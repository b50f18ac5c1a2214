package cause_test

import (
	"math"
	"strings"
	"testing"

	"weephole/cause"
)

func TestAnAttemptDoesInPartWhatRepairsDo(t *testing.T) {
	c := builtin(t)
	slips := cause.Present{Cause: c.Index("belt-slipping"), Site: cause.NoSite}
	part, whole := c.Repair("belt-tension"), c.Repair("replace-belt")
	if got, want := part.CureShare(slips), 0.7*whole.CureShare(slips); math.Abs(got-want) > 1e-12 {
		t.Errorf("tensioned it is cured in %.3f, want 0.7 of a new belt's %.3f", got, want)
	}
	if part.Planned() || !whole.Planned() || c.RepairIndex("belt-tension") >= 0 {
		t.Error("an attempt is planned as a repair")
	}
	if other := c.Repair("other"); other == nil || other.CureShare(slips) != 0 {
		t.Errorf("other work: %+v; it puts nothing right", other)
	}
	_, err := c.Overlay(strings.NewReader("attempts:\n  - {id: prayer, as: replace-belt, share: {value: 1, source: judgement}}\n"), "ours.yaml")
	if err == nil || !strings.Contains(err.Error(), "ours.yaml:2") {
		t.Errorf("an attempt that is no kind of work: %v", err)
	}
}
