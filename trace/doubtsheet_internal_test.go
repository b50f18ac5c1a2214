package trace

import "testing"

func TestLimitsOfReadingsAreThoseOfSignals(t *testing.T) {
	seen := map[Signal]bool{}
	for _, r := range doubts().Readings {
		s, err := SignalOf(r.Signal)
		if err != nil || seen[s] || r.Low >= r.High {
			t.Errorf("%s, %g to %g: %v, or written twice, or the wrong way round", r.Signal, r.Low, r.High, err)
		}
		seen[s] = true
	}
	if r := doubts().readable(Barometer); r == nil || r.High != 1.2e5 {
		t.Errorf("the air outside reads up to 120 kPa: %+v", r)
	}
}
