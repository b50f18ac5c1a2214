package web_test

import (
	"encoding/xml"
	"net/http"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"weephole/internal/web"
	"weephole/internal/web/answers"
)

func TestThePlanIsToldDeepAndWhatIfChangesIt(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	at := "/api/jobs/" + id
	var plan answers.PlanReply
	l.must("GET", at+"/plan", nil, &plan)
	if plan.Tree == nil || len(plan.Steps) < 2 || plan.Before != nil {
		t.Fatalf("plan: %+v", plan)
	}
	deep := 0
	for p := plan.Tree; p != nil; deep++ {
		if len(p.Ways) == 0 {
			break
		}
		p = p.Ways[0].Then
	}
	if deep < 2 {
		t.Errorf("the tree is %d steps deep", deep)
	}
	var after answers.PlanReply
	l.must("GET", at+"/plan?if=combustion-gas%3Dturned", nil, &after)
	if after.Before == nil || len(after.If) != 1 || after.Quote == nil || after.Quote.Presumed <= plan.Quote.Presumed {
		t.Errorf("a gas test that turned does not lift the gasket: %v, quote %+v before %+v", after.If, after.Quote, plan.Quote)
	}
	for query, says := range map[string]string{"if=combustion-gas%3Dblue": "blue", "if=gearbox%3Dloud": "gearbox", "without=spoon": "spoon", "rate=lots": "labour rate", "leave-in=soon": "time left"} {
		var f web.Failure
		if status := l.ask("GET", at+"/plan?"+query, nil, &f); status != http.StatusUnprocessableEntity || !strings.Contains(f.Error.Message, says) {
			t.Errorf("%s: %d %s", query, status, f.Error.Message)
		}
	}
	if err := xml.Unmarshal(l.read(at+"/plan.svg"), new(struct{})); err != nil {
		t.Error(err)
	}
	if sheet := string(l.read(at + "/sheet.html")); !strings.Contains(sheet, "blue estate") || !strings.Contains(sheet, "caution") {
		t.Errorf("the bench sheet has no car or no caution: %.300s", sheet)
	}
}

func TestThePlanOnTheScreens(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	for _, s := range []*screen{tab(t, phone), tab(t, desktop)} { // the plan is worked out once for both
		s.do(chromedp.Navigate(l.server.URL + "/jobs/" + id + "/plan"))
		s.until("the tree", `document.querySelector(".plan") && document.querySelector(".tree")`)
		s.inBothLights("p1-plan")
		s.print("p1-plan-print")
		js[chromedp.Void](s, `void (document.querySelector("[name=if]").selectedIndex = 1)`)
		s.tap(`#end form button.main`)
		s.until("the plan then", `document.querySelector(".verdict-box")?.textContent.includes("Now:") && document.querySelector(".plan")`)
		s.inBothLights("p2-what-if")
	}
}
