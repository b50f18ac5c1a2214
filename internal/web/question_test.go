package web_test

import (
	"strings"
	"testing"

	"weephole/internal/web"
)

// What the owner was asked about and cannot tell is kept, moves no odds, and is named in
// the history; two things in one finding are refused.
func TestWhatTheOwnerCannotTellIsKept(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	var before, after web.OddsReply
	l.must("GET", "/api/jobs/"+id+"/odds", nil, &before)
	l.found(id, `{"not-known":"puddle"}`)
	l.must("GET", "/api/jobs/"+id+"/odds", nil, &after)
	if len(before.Causes) == 0 || len(after.Causes) == 0 || before.Causes[0].Cause != after.Causes[0].Cause || before.Causes[0].Probability != after.Causes[0].Probability {
		t.Errorf("the odds moved from %+v to %+v", before.Causes[0], after.Causes[0])
	}
	if page := l.page("/jobs/" + id); !strings.Contains(page, "asked, and not known: ") {
		t.Error("the job's page does not tell that the owner was asked")
	}
	var f web.Failure
	if status := l.ask("POST", "/api/jobs/"+id+"/findings", `{"not-known":"puddle","denied":"puddle"}`, &f); status < 400 || status >= 500 {
		t.Errorf("two answers to one question: %d", status)
	}
}
