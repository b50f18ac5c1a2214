package web_test

import (
	"github.com/chromedp/chromedp"

	"regexp"
	"strings"
	"testing"
	"time"

	"weephole/internal/answer"
	"weephole/internal/demo"
	"weephole/internal/web"
	"weephole/internal/web/answers"
)

// plateOf is what the drawing says at a place, on a desk.
func plateOf(page, place string) string {
	_, after, _ := strings.Cut(page, `id="plate-`+place+`-desk"`)
	plate, _, _ := strings.Cut(after, "</a>")
	return plate
}

func TestALaterLookTakesNoReadingAndNoFaultFromTheDrawing(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	for _, f := range []string{
		`{"check":"hose-temps","read":{"upper-hose":"92 °C","lower-hose":"71 °C"}}`, `{"check":"hose-squeeze","found":"soft"}`,
		`{"check":"fan-run","found":"still"}`, `{"check":"shroud-look","found":"whole"}`,
	} {
		l.found(id, f)
	}
	page := l.page("/jobs/" + id)
	if hose := plateOf(page, "upper-hose"); !strings.Contains(hose, "92 °C") {
		t.Errorf("the upper hose was squeezed after it was measured: %s", hose)
	}
	if fan := plateOf(page, "fan"); !strings.Contains(fan, "does not run") || !strings.Contains(fan, `class="x1"`) {
		t.Errorf("a whole shroud makes no fan run: %s", fan)
	}
	l.found(id, `{"check":"fan-run","found":"runs"}`)
	if fan := plateOf(l.page("/jobs/"+id), "fan"); strings.Contains(fan, `class="x1"`) {
		t.Errorf("the fan runs by now: %s", fan)
	}
}

// A plate says its healthy range in the unit of the reading that stands on it; the heater
// has arrows only while it is found to heat.
func TestTheDrawingSaysWhatWasMeasuredAsItWasTyped(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar) // a shop with °C
	l.found(id, `{"check":"hose-temps","read":{"upper-hose":"198 °F","lower-hose":"71 °C"}}`)
	l.must("GET", "/api/jobs/"+id+"/next", nil, nil)
	page := l.page("/jobs/" + id)
	for place, units := range map[string][2]string{"upper-hose": {"°F", "°C"}, "lower-hose": {"°C", "°F"}} {
		if plate := plateOf(page, place); !regexp.MustCompile(`>healthy \d+ `+units[0]+` to \d+ `+units[0]+`<`).MatchString(plate) || strings.Contains(plate, units[1]) {
			t.Errorf("%s: %s", place, plate)
		}
	}
	for _, x := range []struct {
		finding string
		flows   bool
	}{{`{"check":"level-cold","found":"full"}`, false}, {`{"check":"heater-hoses","found":"both-hot"}`, true}, {`{"check":"heater-output","found":"cold"}`, false}, {`{"check":"heater-output","read":{"vent":"140 °F"}}`, true}} {
		l.found(id, x.finding)
		if flows := strings.Contains(l.page("/jobs/"+id), "through-heater"); flows != x.flows {
			t.Errorf("after %s arrows to the heater: %t", x.finding, flows)
		}
	}
}

// inFileWords are paths of a job file, which nobody on the page has seen.
var inFileWords = regexp.MustCompile(`findings\[|vehicle\.|complaint\.|closing\.[a-z]`)

func TestWhatIsWrongIsSaidWithoutTheFilesWords(t *testing.T) {
	l := lay(t)
	id := l.job(strings.Replace(hotCar, `"quote"`, `"findings":[{"check":"drive-log","trace":"gone.csv"}],"quote"`, 1))
	l.ask("GET", "/api/jobs/"+id+"/next", nil, nil)
	for range 500 { // the list goes by the answer that is kept, which is a moment later
		if strings.Contains(l.page("/"), "gone.csv") {
			break
		}
		time.Sleep(20 * time.Millisecond)
	}
	for _, path := range []string{"/jobs/" + id, "/", "/jobs/" + id + "/plan?wait=1", "/jobs/" + id + "/proof?wait=1"} {
		page := l.page(path)
		if !strings.Contains(page, "gone.csv") {
			t.Errorf("%s does not say which log is missing", path)
		}
		if bad := inFileWords.FindString(page); bad != "" {
			t.Errorf("%s speaks of %q", path, bad)
		}
	}
	for _, f := range []struct{ method, path, body string }{
		{"POST", "/api/jobs/" + id + "/findings", `{"check":"hose-temps","read":{"upper-hose":"900 °C"}}`}, {"POST", "/api/jobs", `{"weephole":1,"vehicle":{"cylinders":"four"}}`},
		{"POST", "/api/jobs/" + id + "/findings", `{"check":"level-cold","found":"lowish"}`},
	} {
		var fail web.Failure
		if l.ask(f.method, f.path, f.body, &fail); fail.Error.Message == "" || inFileWords.MatchString(fail.Error.Message) || strings.Contains(fail.Error.Message, "read.") {
			t.Errorf("%s: %q", f.body, fail.Error.Message)
		}
		if len(fail.Error.Problems) == 0 || fail.Error.Problems[0].Path == "" {
			t.Errorf("%s: a program is not told which field", f.body)
		}
	}
}

func TestDemoJobsHaveTheirLogsWhenTheyAreWorkedOut(t *testing.T) {
	document, err := demo.Bytes("1-hill.yaml")
	if err != nil {
		t.Fatal(err)
	}
	log, err := demo.Bytes("hill-before.csv.gz")
	if err != nil {
		t.Fatal(err)
	}
	l := lay(t, func(c *web.Config) {
		c.Demo = []web.Demo{{Name: "hill", Document: document, Files: map[string][]byte{"hill-before.csv.gz": log}}}
	})
	l.must("POST", "/api/demo", nil, nil)
	l.must("GET", "/api/jobs/demo-hill/odds", nil, nil)
}

func TestALogFromBeforeTheRepairIsNotSetBesideTheEnginesSince(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	l.must("POST", "/api/jobs/"+id+"/files?name=run.csv", []byte(warmUp()), nil)
	l.found(id, `{"check":"warm-up-log","trace":"run.csv"}`)
	l.must("GET", "/api/jobs/"+id+"/next", nil, nil)
	if !strings.Contains(l.page("/jobs/"+id), "still fits") {
		t.Fatal("a log of the car as it is has no band")
	}
	l.found(id, `{"repair":"replace-fan","changed":"cured"}`)
	l.must("GET", "/api/jobs/"+id+"/next", nil, nil)
	if page := l.page("/jobs/" + id); strings.Contains(page, "still fits") || strings.Contains(page, "Looking first, on average") {
		t.Error("after the repair the page goes by what was true before it")
	}
}

func TestOneCostIsSaidEverywhere(t *testing.T) {
	l := lay(t, func(c *web.Config) { c.Answers.FineSize = 1200 })
	id := l.job(hotCar)
	l.found(id, `{"check":"level-cold","found":"full"}`)
	l.must("GET", "/api/jobs/"+id+"/odds?stage=fine", nil, nil)
	var next web.NextReply
	var plan answers.PlanReply
	l.must("GET", "/api/jobs/"+id+"/next", nil, &next)
	l.must("GET", "/api/jobs/"+id+"/plan", nil, &plan)
	first := next.Steps[0]
	if next.Stage != answers.Fine || plan.Steps[0].Do != first.Do || plan.Steps[0].ExpectedCost != first.ExpectedCost || plan.Tree == nil {
		t.Errorf("next, %s: %s for %v; plan: %s for %v", next.Stage, first.Do, first.ExpectedCost, plan.Steps[0].Do, plan.Steps[0].ExpectedCost)
	}
	var supposed answers.PlanReply
	l.must("GET", "/api/jobs/"+id+"/plan?rate=%2495%2Fh", nil, &supposed)
	if b := supposed.Before; b == nil || b.Steps[0].Do != first.Do || b.Steps[0].ExpectedCost != first.ExpectedCost {
		t.Errorf("a what-if says %+v before, the strip %s for %v", b, first.Do, first.ExpectedCost)
	}
	if next.Quote == nil || next.Quote.ByPlan != first.ExpectedCost {
		t.Errorf("the quote is set beside %+v, the step says %v", next.Quote, first.ExpectedCost)
	}
	cost := answer.Money(first.ExpectedCost, next.Currency)
	for _, path := range []string{"/jobs/" + id, "/jobs/" + id + "/plan"} {
		if !strings.Contains(l.page(path), cost) {
			t.Errorf("%s does not say %s", path, cost)
		}
	}
}

// Nobody leaves this bench alone for an hour, so only who waits for a settled answer gets one.
func TestThePlanWaitsForTheAnswerOfTheOtherPages(t *testing.T) {
	l := lay(t, func(c *web.Config) { c.Answers.FineSize, c.Answers.Quiet = 1200, time.Hour })
	id := l.job(hotCar)
	l.found(id, `{"check":"level-cold","found":"full"}`)
	l.must("GET", "/api/jobs/"+id+"/next", nil, nil)
	if page := l.page("/jobs/" + id + "/plan"); !strings.Contains(page, "data-working") || strings.Contains(page, `class="tree"`) {
		t.Error("before the answer is settled the page has a plan of its own")
	}
	page := l.page("/jobs/" + id + "/plan?wait=1")
	var next web.NextReply
	var plan answers.PlanReply
	l.must("GET", "/api/jobs/"+id+"/next", nil, &next)
	l.must("GET", "/api/jobs/"+id+"/plan", nil, &plan)
	if next.Stage != answers.Fine || plan.Tree == nil || plan.Steps[0].Do != next.Steps[0].Do || plan.Steps[0].ExpectedCost != next.Steps[0].ExpectedCost {
		t.Errorf("next, %s: %s; plan: %s", next.Stage, next.Steps[0].Do, plan.Steps[0].Do)
	}
	if !strings.Contains(page, `class="strip settled"`) || !strings.Contains(page, answer.Money(next.Steps[0].ExpectedCost, next.Currency)) {
		t.Errorf("the plan's page has another answer than the strip: %.2000s", page)
	}
}

// What a reader sees of a rough count: a page's text without what is hidden until the
// settled one is there. The page is of Chromium's own text, so it needs the browser.
func TestARoughCountNamesNoPart(t *testing.T) {
	l := lay(t, func(c *web.Config) { c.Answers.FineSize, c.Answers.Quiet = 1200, time.Hour })
	id := l.job(hotCar)
	for _, f := range []string{`{"check":"fan-run","found":"still"}`, `{"check":"fan-fuse","found":"good"}`} {
		l.found(id, f)
	}
	l.must("GET", "/api/jobs/"+id+"/next", nil, nil)
	m, err := knowledge()
	if err != nil {
		t.Fatal(err)
	}
	s := tab(t, desktop)
	s.do(chromedp.Navigate(l.server.URL + "/jobs/" + id))
	s.until("the rough answer", `document.querySelector(".strip.rough") && document.querySelector(".odds")`)
	text := strings.ToLower(js[string](s, `document.querySelector("main").innerText`))
	for i := range m.Causes.Causes {
		if name := strings.ToLower(m.Causes.Causes[i].Name); strings.Contains(text, name) {
			t.Errorf("a rough count names %q", name)
		}
	}
	for i := range m.Causes.Repairs {
		if name := strings.ToLower(m.Causes.Repairs[i].Name); strings.Contains(text, name) {
			t.Errorf("a rough count asks to %s", name)
		}
	}
}
