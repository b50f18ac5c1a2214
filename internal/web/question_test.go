package web_test

import (
	"fmt"
	"strings"
	"testing"

	"weephole/internal/answer"
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

// A question is answered where it is asked, and so is each further one of the same call.
func TestAQuestionToTheOwnerHasAButtonForEachAnswer(t *testing.T) {
	puddle := answer.Step{Do: "ask-puddle", Kind: "question", Name: "a call: is there a puddle?", Asks: "is there a puddle?"}
	for name, test := range map[string]struct {
		round *answer.Round
		signs []string
	}{
		"one": {nil, []string{"puddle"}},
		"a call": {&answer.Round{Questions: []answer.RoundQuestion{{Do: "ask-puddle", Asks: "is there a puddle?"}, {Do: "ask-squeals", Asks: "does it squeal?"}}},
			[]string{"puddle", "squeals"}},
	} {
		t.Run(name, func(t *testing.T) {
			page, err := web.NextPart(&answer.NextFacts{Steps: []answer.Step{puddle}, Round: test.round})
			if err != nil {
				t.Fatal(err)
			}
			if !strings.Contains(page, "<p class=\"row\">Is there a puddle? <button") {
				t.Errorf("the question does not stand beside its buttons:\n%s", page)
			}
			for _, sign := range test.signs {
				for _, told := range []string{"sign", "denied", "not-known"} {
					if want := fmt.Sprintf(`data-told="%s" data-sign="%s"`, told, sign); !strings.Contains(page, want) {
						t.Errorf("no button %s in\n%s", want, page)
					}
				}
			}
			if n := strings.Count(page, "data-told"); n != 3*len(test.signs) {
				t.Errorf("%d buttons, want %d", n, 3*len(test.signs))
			}
		})
	}
	check := answer.Step{Do: "level-cold", Kind: "check", Name: "coolant level, cold"}
	if page, err := web.NextPart(&answer.NextFacts{Steps: []answer.Step{check}}); err != nil || strings.Contains(page, "data-told") {
		t.Errorf("a check has the owner's buttons: %v\n%s", err, page)
	}
}
