package web

import (
	"strings"

	"weephole/internal/job"
)

// storyLine is a part of a closed job's story.
type storyLine struct{ What, Says string }

// story tells a job from complaint to bill, as far as it has come.
func (wo *wording) story(s *currentJob, st *strip, done []string) (out []storyLine) {
	add := func(what, says string) {
		if says = strings.TrimSpace(says); says != "" && says != job.Unknown {
			out = append(out, storyLine{what, upperFirst(says)})
		}
	}
	c := &s.Head.Closing
	add("Came in with", st.Words)
	if c.Cause != "" && c.Cause != job.Unknown {
		add("It was", wo.causeName(c.Cause))
	}
	add("The part showed", c.Showed)
	add("Done", strings.Join(done, ", "))
	if len(done) > 0 {
		add("Proof", st.ProofSays)
	}
	if c.Charged.Known() {
		add("The owner paid", c.Charged.Text)
	}
	add("The owner watches", c.Watch)
	add("On", c.When)
	return out
}
