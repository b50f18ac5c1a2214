package web_test

import (
	"encoding/xml"
	"net/http"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
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
		if js[bool](s, `!document.querySelector("#what").open`) {
			s.tap(`#what > summary`)
		}
		js[chromedp.Void](s, `void (document.querySelector("[name=if]").selectedIndex = 1)`)
		s.tap(`#end form button.main`)
		s.until("the plan then", `document.querySelector(".verdict-box")?.textContent.includes("Now:") && document.querySelector(".plan")`)
		s.inBothLights("p2-what-if")
	}
}

// mostPlan is how long the plan may be on a phone of 390 by 844: three screens, judgement.
// It was 5,200 px.
const mostPlan = 3 * 844

func TestThePlanOnAPhoneBeginsWithItsNextStepAlone(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	for _, f := range twelve[:3] {
		l.found(id, f)
	}
	l.must("GET", "/api/jobs/"+id+"/plan", nil, nil)
	s := tab(t, size{phone.name, 390, 844, true})
	s.do(chromedp.Navigate(l.server.URL + "/jobs/" + id + "/plan"))
	s.until("the tree", `document.querySelector(".tree .fold.wired")`)
	const steps, shut, seen = `document.querySelectorAll(".tree .fold").length`, `document.querySelectorAll(".tree .fold:not([open])").length`,
		`[...document.querySelectorAll(".tree .needs")].filter(e => e.checkVisibility({contentVisibilityAuto: true})).length`
	n, ways := js[int](s, steps), js[int](s, `document.querySelectorAll(".tree .needs").length`)
	if n == 0 || js[int](s, shut) != n {
		t.Errorf("of %d further steps %d are folded", n, js[int](s, shut))
	}
	if high := js[int](s, `document.documentElement.scrollHeight`); high > mostPlan {
		t.Errorf("the plan is %d px long, at most %d", high, mostPlan)
	} else {
		t.Logf("the plan is %d px long, with %d further steps folded", high, n)
	}
	s.shot("plan-folded")
	s.axe("the folded plan")
	if first := js[int](s, `document.querySelector(".tree > ul:not(.cautions)").children.length`); js[int](s, seen) != first {
		t.Errorf("%d outcomes are in sight, the next step has %d", js[int](s, seen), first)
	}
	// On paper all of it stands, folded or not.
	if _, err := chromedp.Call(s.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"}); err != nil {
		t.Fatal(err)
	}
	if got := js[int](s, seen); got != ways {
		t.Errorf("%d of %d outcomes are printed", got, ways)
	}
	if _, err := chromedp.Call(s.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: ""}); err != nil {
		t.Fatal(err)
	}
	// And every step can be reached by its line.
	for i := 0; js[int](s, shut) > 0 && i <= n; i++ {
		s.tap(`.tree .fold:not([open]) > summary`)
	}
	if got := js[int](s, seen); got != ways {
		t.Errorf("%d of %d outcomes are in sight when all is unfolded", got, ways)
	}
}
