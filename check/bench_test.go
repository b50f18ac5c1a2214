package check_test

import (
	"strings"
	"testing"
	"weephole/cause"
	"weephole/check"
)

func TestShowsAllocatesNothing(t *testing.T) {
	c := builtin(t)
	record := healthyRecord(t)
	s := &check.Subject{Causes: []cause.Present{
		{Cause: c.Causes().Index("combustion-leak"), Site: cause.NoSite, Severity: 0.5},
		{Cause: c.Causes().Index("coolant-low"), Severity: 0.5},
	}, Record: record}
	p := make([]float64, 16)
	if n := testing.AllocsPerRun(100, func() {
		for i := range c.Checks {
			c.Checks[i].Shows(s, p)
			for j := range c.Checks[i].Readings {
				c.Checks[i].Readings[j].LogLikelihood(s, 80)
			}
		}
	}); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

// BenchmarkShows measures one check's words on one candidate, over all checks.
func BenchmarkShows(b *testing.B) {
	c := builtin(b)
	s := &check.Subject{Causes: []cause.Present{
		{Cause: c.Causes().Index("combustion-leak"), Site: cause.NoSite, Severity: 0.5},
		{Cause: c.Causes().Index("thermostat-shut"), Site: cause.NoSite, Severity: 0.5},
	}, Record: healthyRecord(b)}
	p := make([]float64, 16)
	i := 0
	for b.Loop() {
		c.Checks[i%len(c.Checks)].Shows(s, p)
		i++
	}
}

// BenchmarkOverlay measures laying a small sheet over the built-in catalogues.
func BenchmarkOverlay(b *testing.B) {
	c := builtin(b)
	for b.Loop() {
		if _, err := c.Overlay(strings.NewReader("counts: [{cause: pump-weak, closed: 2}]\n"), "shop.yaml"); err != nil {
			b.Fatal(err)
		}
	}
}
