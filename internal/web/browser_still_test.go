package web_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"weephole/internal/web"
)

// watchShifts adds up the page's layout shifts that no input of the last half
// second excuses, and what moved (W3C, Layout Instability; "hadRecentInput").
const watchShifts = `void (window.shifts = {sum: 0, what: []}, new PerformanceObserver(list => { for (const e of list.getEntries()) if (!e.hadRecentInput) {
	shifts.sum += e.value;
	for (const s of e.sources) { const n = s.node?.nodeType === 1 ? s.node : s.node?.parentElement; shifts.what.push([e.value.toFixed(4), n?.tagName, n?.className?.baseVal ?? n?.className, n?.closest("[data-part]")?.dataset.part, s.previousRect.y | 0, s.currentRect.y | 0].join(" ")); }
} }).observe({type: "layout-shift", buffered: false}))`

// targets are the places of all that can be tapped and is seen, outside the two
// parts that say something new: there nothing is where it was, because it is not
// the same any more.
const targets = `Object.fromEntries([...document.querySelectorAll("a, button, input, summary")].filter(e => !e.closest("#strip, [data-part=odds], [data-part=next], #wire, dialog")).map(e => [e, e.getBoundingClientRect()]).filter(([, r]) => r.height && r.bottom > 0 && r.top < innerHeight).map(([e, r]) => [(e.closest("[data-finding]")?.dataset.finding ?? "") + " " + e.tagName + " " + e.id + " " + e.textContent.trim(), Math.round(r.top)]))`

// looks are the parts at whose upper edge somebody looks at the page.
var looks = []string{"drawing", "odds", "next", "findings"}

// Each look is a tab of its own on one job, on a phone and on a desk, while
// somebody else enters three findings: no input of these tabs excuses anything.
func TestNothingJumpsWhenOddsArrive(t *testing.T) {
	l := lay(t, func(c *web.Config) { c.Answers.FineSize = 1200 })
	id := l.job(hotCar)
	for range 3 {
		l.found(id, `{"check":"belt-look","found":"firm"}`)
	}
	var tabs []*looking
	for _, sz := range []size{phone, desktop} {
		for _, look := range looks {
			tabs = append(tabs, lookAt(t, l, id, sz, look))
		}
	}
	for i, f := range []string{`{"check":"level-cold","found":"full"}`, `{"check":"hose-temps","read":{"upper-hose":"104 °C","lower-hose":"38 °C"}}`, `{"check":"fan-run","found":"runs"}`} {
		for _, s := range tabs {
			s.before = js[map[string]int](s.screen, targets)
		}
		l.found(id, f)
		for _, s := range tabs {
			s.stayed(4 + i)
		}
	}
	for _, s := range tabs {
		s.shifted()
	}
}

// looking is a tab that looks at one part of the page.
type looking struct {
	*screen
	look   string
	before map[string]int
}

func lookAt(t *testing.T, l *laid, id string, sz size, look string) *looking {
	s := &looking{screen: tab(t, sz), look: look}
	s.do(chromedp.Navigate(l.server.URL + "/jobs/" + id))
	s.until("the refined answer", `document.querySelector(".strip.settled") && document.querySelector(".step") && document.querySelectorAll(".findings > li").length === 3`)
	// beyond the edge, so that no hair of the part above is in sight
	js[chromedp.Void](s.screen, fmt.Sprintf(`document.querySelector("[data-part=%s]").scrollIntoView({block: "start"}); scrollBy(0, 12)`, look))
	time.Sleep(300 * time.Millisecond) // what the scrolling itself lets go has its height again
	js[chromedp.Void](s.screen, watchShifts)
	return s
}

// stayed looks whether what can be tapped is where it was when there are n findings.
func (s *looking) stayed(n int) {
	s.t.Helper()
	s.until("the finding", fmt.Sprintf(`document.querySelectorAll(".findings > li").length === %d`, n))
	s.until("the refined answer", `document.querySelector(".strip.settled")`)
	after := js[map[string]int](s.screen, targets)
	for key, y := range s.before {
		if now, there := after[key]; there && max(now-y, y-now) > 1 { // one pixel is rounding
			s.t.Errorf("looking at the %s on the %s, after finding %d: %s moved from %d to %d", s.look, s.name, n-3, key, y, now)
		}
	}
}

// shifted looks at what the browser has counted.
func (s *looking) shifted() {
	s.t.Helper()
	s.shot("still-" + s.look)
	sum := js[float64](s.screen, `shifts.sum`)
	s.t.Logf("looking at the %s on the %s: layout shift over three findings and their answers: %.4f", s.look, s.name, sum)
	if sum > 0 { // W3C's and the browsers' "good" is 0.1 in a page's whole life
		s.t.Errorf("the browser counts %.4f as moved; nothing may move under a finger", sum)
		for _, w := range js[[]string](s.screen, `shifts.what`) {
			s.t.Log(w)
		}
	}
}
