package web_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"weephole/internal/web"
)

// firstScreens are the sizes on which the verdict and the next step must be seen
// without scrolling.
var firstScreens = []size{{phone.name, 390, 844, true}, {"desktop", 1440, 900, false}}

// twelve are findings of a job whose fan does not run.
var twelve = []string{
	`{"check":"level-cold","found":"full"}`, `{"check":"hose-temps","read":{"upper-hose":"92 °C","lower-hose":"71 °C"}}`, `{"check":"fan-run","found":"still"}`,
	`{"check":"belt-look","found":"firm"}`, `{"check":"coolant-look","found":"clean"}`, `{"check":"hose-squeeze","found":"soft"}`, `{"check":"pressure-hold","found":"holds"}`,
	`{"check":"airflow-look","found":"clear"}`, `{"check":"shroud-look","found":"whole"}`, `{"check":"trouble-codes","found":"none"}`, `{"check":"neck-bubbles","found":"none"}`,
	`{"check":"combustion-gas","found":"stayed","note":"the fluid was proved on the tailpipe first"}`,
}

func TestVerdictAndNextStepStandInTheFirstScreen(t *testing.T) {
	l := lay(t)
	for _, sz := range firstScreens {
		s := tab(t, sz)
		for _, n := range []int{0, 3, 12} {
			id := l.job(hotCar)
			for _, f := range twelve[:n] {
				l.found(id, f)
			}
			l.must("GET", "/api/jobs/"+id+"/next", nil, nil)
			s.do(chromedp.Navigate(l.server.URL + "/jobs/" + id))
			s.until("the verdict", `document.querySelector(".strip.settled")`)
			for what, selector := range map[string]string{
				"the car": ".carline h1", "the verdict": ".leads .first", "its bar": ".strip .len", "the next step": ".now .do", "its button": "#strip .go", "the line to type": "#say-text",
			} {
				// what the tabs cover is not seen
				low := js[float64](s, fmt.Sprintf(`(() => { const bar = document.querySelector(".tabs"), r = document.querySelector(%q).getBoundingClientRect(); const end = getComputedStyle(bar).position === "fixed" ? bar.getBoundingClientRect().top : innerHeight; return r.height && r.top >= 0 ? r.bottom - end : 9999; })()`, selector))
				if low > 0 {
					t.Errorf("%dx%d, %d findings: %s ends %.0f px below the first screen", sz.width, sz.height, n, what, low)
				}
			}
			if sz.width > 1000 { // on a desk nothing needed for the next finding lies below
				if low := js[float64](s, `document.querySelector(".circuit.desk").getBoundingClientRect().bottom - innerHeight`); low > 0 {
					t.Errorf("%d findings: the drawing ends %.0f px below the first screen", n, low)
				}
			}
		}
	}
}

// newcomersWords are what somebody types who has read nothing: 63 characters in all.
var newcomersWords = [2]string{"white van, about ten years old", "boils in traffic, fine when driving"}

func TestANewcomerMeetsNoErrorMessage(t *testing.T) {
	if n := len(newcomersWords[0]+newcomersWords[1]) - 2; n > 63 {
		t.Fatalf("%d characters", n)
	}
	l := lay(t)
	s := tab(t, phone)
	s.do(chromedp.Navigate(l.server.URL + "/new"))
	s.types(`[name=car]`, newcomersWords[0])
	s.types(`[name=words]`, newcomersWords[1])
	s.tick("sign", "overheats")
	s.tap(`.sheet-form > details summary`)
	s.types(`[name=price]`, "420")
	s.tap(`.sheet-form > button.main`)
	s.until("the job", `document.querySelector("#strip .go[data-check]")`)
	for n, say := range []string{"level low", "fan runs", "upper hose 95"} {
		s.types(`#say-text`, say)
		s.tap(`#say button`)
		s.until("the offer", `document.querySelector("#offers button")`)
		s.tap(`#offers button`)
		s.until("the finding", fmt.Sprintf(`document.querySelectorAll(".findings > li").length === %d`, n+1))
		if wrong := js[string](s, `[...document.querySelectorAll(".problem, .told, [role=alert], #offers")].map(x => x.textContent.trim()).join("")`); wrong != "" {
			t.Errorf("after %q: %q", say, wrong)
		}
	}
	if page := l.page(js[string](s, "location.pathname")); !strings.Contains(page, "420") {
		t.Error("the quote is not on the page")
	}
}

func TestTheOtherPagesPassAxe(t *testing.T) {
	l := lay(t, func(c *web.Config) { c.Tally = &memoryLedger{} })
	id := l.job(hotCar)
	l.must("POST", "/api/jobs/"+id+"/files?name=run.csv", []byte(warmUp()), nil)
	l.must("POST", "/api/jobs/"+id+"/files?name=other.csv", []byte(warmUp()), nil)
	l.found(id, `{"check":"warm-up-log","trace":"run.csv"}`)
	l.must("GET", "/api/jobs/"+id+"/next", nil, nil)
	at := "/jobs/" + id
	for _, sz := range []size{phone, desktop} {
		s := tab(t, sz)
		for _, path := range []string{at + "/logs/run.csv", at + "/logs/run.csv?with=other.csv", at + "/files", at + "/history", at + "/places/tank", at + "/drive?idle=10&air=30&wait=1", at + "/hand", "/people", "/tally", "/results", "/?archived=true"} {
			s.do(chromedp.Navigate(l.server.URL + path))
			s.inBothLights(strings.ReplaceAll(strings.Replace(path, id, "ID", 1), "/", "-"))
		}
	}
}
