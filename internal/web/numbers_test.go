package web_test

import (
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"weephole/internal/answer"
	"weephole/internal/paper"
	"weephole/internal/web"
	"weephole/internal/web/answers"
	"weephole/internal/work"
)

// proofNumbers is as much of a proof as is set beside other pages.
type proofNumbers struct {
	Judgement *struct{ Gone float64 }
	Margin    *work.CarMargin
}

// saysIn are the paragraphs under a heading of a letter.
func saysIn(l *paper.Letter, head string) string {
	for _, s := range l.Sections {
		if s.Head == head {
			return strings.Join(s.Paras, " ")
		}
	}
	return ""
}

// agesOn are the different answers that a page shows, each with its engines and its age.
func agesOn(page string) []string {
	var out []string
	for _, m := range regexp.MustCompile(`<p class="age" (data-answer="\d+">From [\d,]+ engines).*?(datetime="[^"]+")`).FindAllStringSubmatch(page, -1) {
		out = append(out, m[1]+", "+m[2])
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// TestAllPagesOfOneStateSayTheSameNumbers looks at a job before its repair and after it.
// Letter, proof and margin each had engines of their own once.
func TestAllPagesOfOneStateSayTheSameNumbers(t *testing.T) {
	l := lay(t, func(c *web.Config) { c.Answers.FineSize = 1200 })
	id := l.job(hotCar)
	at := "/api/jobs/" + id
	for _, f := range []string{`{"check":"fan-run","found":"still"}`} {
		l.found(id, f)
	}
	settled := func() (odds web.OddsReply, letter paper.Letter) {
		t.Helper()
		l.must("GET", at+"/odds?stage=fine", nil, &odds)
		l.must("GET", at+"/letter", nil, &letter)
		return odds, letter
	}

	odds, letter := settled()
	top := odds.Causes[0]
	if top.Probability < 0.5 || top.Probability > 0.99 {
		t.Fatalf("%+v leads: a letter says no figure worth comparing", top)
	}
	if says := saysIn(&letter, "What it was"); !strings.Contains(says, fmt.Sprintf("After our measurements it was %s.", top.Percent)) {
		t.Errorf("the strip says %s, the letter %q", top.Percent, says)
	}
	for _, path := range []string{"", "/letter"} {
		page := l.page("/jobs/" + id + path)
		if !strings.Contains(page, "<b>"+top.Percent+"</b>") {
			t.Errorf("the strip of %q does not say %s", path, top.Percent)
		}
		if got := agesOn(page); len(got) != 1 {
			t.Errorf("before the repair %q rests on %q", path, got)
		}
	}

	l.found(id, `{"repair":"replace-fan","changed":"unknown"}`)
	l.found(id, `{"check":"fan-run","found":"runs"}`)
	_, letter = settled()
	var margin web.MarginReply
	var proved proofNumbers
	l.must("GET", at+"/margin", nil, &margin)
	l.must("GET", at+"/proof", nil, &proved)
	if proved.Judgement == nil || margin.Stage != answers.Fine {
		t.Fatalf("the repair is not judged, or the margin is %s", margin.Stage)
	}
	if a, b := margin.CarMargin.Report.Duties, proved.Margin.Report.Duties; !reflect.DeepEqual(a, b) {
		t.Errorf("how much cooling is left: the job's page says %+v, the proof %+v", a, b)
	}
	for _, path := range []string{"/proof", "/letter"} {
		if got := agesOn(l.page("/jobs/" + id + path)); len(got) != 1 {
			t.Errorf("after the repair %s rests on %q", path, got)
		}
	}
	if says, want := saysIn(&letter, "Proof"), "the cause is gone is "+answer.Percent(proved.Judgement.Gone)+"."; !strings.Contains(says, want) {
		t.Errorf("the proof says %q, the letter %q", want, says)
	}
	if says := saysIn(&letter, "What it was"); !strings.Contains(says, fmt.Sprintf("After our measurements it was %s.", top.Percent)) {
		t.Errorf("before the repair the strip said %s, the letter says %q", top.Percent, says)
	}
}
