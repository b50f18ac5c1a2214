package web

import (
	"strings"

	"weephole/internal/job"
)

// storyLine is a part of a closed job's story.
type storyLine struct{ What, Says string }

// story tells a closed job from complaint to bill; nothing while it is open.
func (pg *jobPages) story(s *currentJob, v *jobView) (out []storyLine) {
	if !s.Archived {
		return nil
	}
	add := func(what, says string) {
		if says = strings.TrimSpace(says); says != "" && says != job.Unknown {
			out = append(out, storyLine{what, upperFirst(says)})
		}
	}
	c := &s.Head.Closing
	add("Came in with", v.Complaint)
	if c.Cause != "" && c.Cause != job.Unknown {
		add("It was", pg.causeName(c.Cause))
	}
	add("The part showed", c.Showed)
	add("Done", strings.Join(v.Done, ", "))
	if len(v.Done) > 0 {
		add("Proof", v.Strip.ProofSays)
	}
	if c.Charged.Known() {
		add("The owner paid", c.Charged.Text)
	}
	add("The owner watches", c.Watch)
	add("On", c.When)
	return out
}
