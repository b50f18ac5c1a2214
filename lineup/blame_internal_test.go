package lineup

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"weephole/check"
)

// A heater flap does not make an engine overheat: as the only fault of a car that overheats it
// stands beside the point. A thermostat that stays shut does. Of a car without heat the flap is
// what it came for. The bounds are judgement.
func TestWhatCannotBringAComplaintAboutIsNotWhatTheCarCameFor(t *testing.T) {
	m, err := DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	drawn := make(map[string]*Lineup) // by sign
	for _, sign := range []string{"overheats", "no-heat"} {
		c := check.Complaint{Signs: make([]check.Heard, len(m.Checks.Signs)), Conditions: make([]check.Heard, len(m.Checks.Conditions))}
		c.Signs[m.Checks.SignIndex(sign)] = check.Said
		c.Trouble = m.Checks.Trouble(c.Signs)
		if drawn[sign], err = New(t.Context(), m, Case{Complaint: c}, DrawOptions{Candidates: 6000, Seed: 1, KeepStill: true}); err != nil {
			t.Fatal(err)
		}
	}
	cameFor := func(sign, cause string) (before, after float64) {
		l := drawn[sign]
		w := make([]float64, l.pop.size())
		l.complaintWeights(w)
		all := 0.0
		for i := range w {
			c := &l.pop.cands[i]
			if l.draw.strata[c.stratum].causes == [2]int{m.Causes.Index(cause), -1} {
				before += w[i] * c.explains[0]
				after += w[i] * l.toBlame(c, l.pop.told[i])[0]
				all += w[i]
			}
		}
		return before / all, after / all
	}
	for _, of := range []struct {
		sign, cause string
		brings      bool
	}{
		{"overheats", "thermostat-shut", true},
		{"overheats", "heater-flap", false},
		{"overheats", "thermostat-open", false},
		{"no-heat", "heater-flap", true},
	} {
		before, after := cameFor(of.sign, of.cause)
		t.Logf("%s, %s alone: came for it %.3f, before it is told what for %.3f", of.sign, of.cause, after, before)
		if of.brings && after < 0.9*before || !of.brings && after > 0.5*before {
			t.Errorf("of cars with %s that have %s alone %.3f came for it, %.3f before it is told what for; it brings that about: %v",
				of.sign, of.cause, after, before, of.brings)
		}
	}
}

// What a fault keeps of a complaint and what stands beside the point add up: the weight of an
// engine is e (1 - r) + (1 - e), and its share to blame the first of the two. Worked by hand.
func TestTheAttributablePartAddsUp(t *testing.T) {
	l := few(t)
	k := -1
	for i, s := range l.draw.strata {
		if s.causes[1] < 0 && s.causes[0] != l.model.Causes.NoFault() && s.explains[0] < 1 {
			k = i
			break
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		c := l.pop.cands[l.members[k][0]] // of a cause that can stand beside the point
		sound := rapid.Float64Range(-12, 0).Draw(t, "sound")
		told := rapid.Float64Range(-12, 0).Draw(t, "told")
		of := *l
		of.sound = &sound
		e, r := c.explains[0], (1-l.model.Settings.LeastToBlame.Value)*math.Min(1, math.Exp(sound-told))
		weight := math.Exp(of.logToBlame(&c, told))
		if want := e*(1-r) + 1 - e; math.Abs(weight-want) > 1e-12 {
			t.Errorf("weight %g, by hand %g", weight, want)
		}
		if got, want := of.toBlame(&c, told)[0]*weight, e*(1-r); math.Abs(got-want) > 1e-12 {
			t.Errorf("to blame %g, by hand %g", got, want)
		}
	})
}
