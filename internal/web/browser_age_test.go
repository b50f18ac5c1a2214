package web_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"weephole/internal/web"
)

// shownAge is what a page says of its answer's age.
type shownAge struct {
	Answer, Text, At string
	Live             bool // within a live region, which would be read out at every change
	Cut              bool
}

// agesOf are the ages on a page.
const agesOf = `[...document.querySelectorAll(".age, .made")].filter(e => e.querySelector("time")).map(e => ({answer: e.dataset.answer ?? "", text: e.textContent, at: e.querySelector("time").dateTime,
	live: !!e.closest("[aria-live]:not([aria-live=off]), [role=status], [role=alert], [role=log], [aria-busy]"), cut: e.scrollWidth > e.clientWidth + 1}))`

// TestEveryPageOfAJobSaysHowOldItsAnswerIs looks at each page of one job: all say the
// same of the one answer, on the narrowest phone whole, and go on saying it rightly.
func TestEveryPageOfAJobSaysHowOldItsAnswerIs(t *testing.T) {
	var ahead atomic.Int64 // seconds that the bench's clock is put forward
	l := lay(t, func(c *web.Config) {
		c.Now = func() time.Time { return time.Now().Add(time.Duration(ahead.Load()) * time.Second) }
	})
	id := l.job(hotCar)
	first := ""
	for _, f := range twelve[:3] {
		if m := l.found(id, f); first == "" {
			first = m.ID
		}
	}
	l.must("GET", "/api/jobs/"+id+"/next", nil, nil)
	ahead.Store(12*60 + 30) // 12 min 30 s: no test takes the half minute that a minute more would need

	s := tab(t, phone)
	at := "/jobs/" + id
	var one shownAge
	for _, path := range []string{"", "/plan", "/repair", "/proof?repair=replace-thermostat", "/letter", "/closing", "/history", "/edit", "/findings/" + first} {
		s.do(chromedp.Navigate(l.server.URL + at + path))
		s.until("the age", `document.querySelector(".strip .age time")`)
		got := js[[]shownAge](s, agesOf)[0]
		if path == "" {
			one = got
			if !strings.HasPrefix(got.Text, "From ") || !strings.Contains(got.Text, " engines, ± ") || !strings.HasSuffix(got.Text, ", worked out 12 min ago") || got.Answer != "4" {
				t.Errorf("the answer to entry 4, 12 min old: %+v", got)
			}
		}
		if got != one {
			t.Errorf("%s says %+v, the job's page %+v", path, got, one)
		}
		if got.Live || got.Cut {
			t.Errorf("%s: %+v", path, got)
		}
	}
	// Without a script the words are the bench's own.
	if page := l.page(at); !strings.Contains(page, ">12 min ago</time>") {
		t.Error("without a script the page says no age")
	}
	s.do(chromedp.Navigate(l.server.URL + "/"))
	if got := js[[]shownAge](s, agesOf); len(got) != 1 || !strings.Contains(got[0].Text, "worked out 12 min ago") || got[0].Cut {
		t.Errorf("the list of jobs: %+v", got)
	}

	// This bench settles no answer, so its letter has other engines than the strip, and says so.
	l.must("GET", "/api/jobs/"+id+"/letter", nil, nil)
	s.do(chromedp.Navigate(l.server.URL + at + "/letter"))
	s.until("the letter", `document.querySelector("#worked .age time")`)
	if got := js[string](s, `document.querySelector("#worked .age").textContent`); strings.HasPrefix(got, strings.SplitAfter(one.Text, "engines")[0]) || !strings.HasSuffix(got, " engines, worked out 12 min ago") {
		t.Errorf("the letter, which has other engines, says %q, the strip %q", got, one.Text)
	}
}

// TestAnAgeGrowsWithoutMovingAnything puts the device's clock forward, as a phone that
// slept does, and looks at the words, the layout and what a screen reader is told.
func TestAnAgeGrowsWithoutMovingAnything(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	l.must("GET", "/api/jobs/"+id+"/next", nil, nil)
	for _, sz := range []size{phone, desktop} {
		s := tab(t, sz)
		s.do(chromedp.Navigate(l.server.URL + "/jobs/" + id))
		s.until("the age", `document.querySelector(".strip .age time")?.textContent === "under 1 min ago" && document.querySelector(".step")`)
		// what the page fetches by itself at first is there
		s.until("its parts", `["/strip?", "/parts", "/panels"].every(n => performance.getEntriesByType("resource").some(r => r.name.includes(n)))`)
		time.Sleep(300 * time.Millisecond) // and in its place
		js[chromedp.Void](s, watchShifts)
		const box = `JSON.stringify([...document.querySelectorAll("#strip *")].filter(e => !e.closest(".age")).map(e => e.getBoundingClientRect()))`
		before := js[string](s, box)
		for _, x := range []struct {
			ahead time.Duration
			says  string
		}{{9 * time.Minute, "9 min ago"}, {59*time.Minute + 5*time.Second, "59 min ago"}, {23*time.Hour + time.Minute, "23 h ago"}, {47 * time.Hour, "1 day ago"}, {100 * time.Hour, "4 days ago"}} {
			js[chromedp.Void](s, fmt.Sprintf(`void (window.trueNow ??= Date.now, Date.now = () => trueNow() + %d, document.dispatchEvent(new Event("visibilitychange")))`, x.ahead.Milliseconds()))
			if got := js[string](s, `document.querySelector(".strip .age time").textContent`); got != x.says {
				t.Errorf("after %v the page says %q, want %q", x.ahead, got, x.says)
			}
			if js[bool](s, `(e => e.scrollWidth > e.clientWidth + 1)(document.querySelector(".strip .age"))`) {
				t.Errorf("%s: %q is cut", s.name, js[string](s, `document.querySelector(".strip .age").textContent`))
			}
		}
		if after := js[string](s, box); after != before {
			t.Error("the strip moved while an age grew")
		}
		if sum := js[float64](s, `shifts.sum`); sum > 0 {
			t.Errorf("layout shift %.4f: %v", sum, js[[]string](s, `shifts.what`))
		}
		s.do(chromedp.Navigate(l.server.URL + "/"))
		const made = `JSON.stringify([...document.querySelectorAll(".jobs li, .jobs .when, .jobs time")].map(e => [e.getBoundingClientRect().x, e.getBoundingClientRect().y, e.tagName === "TIME" || e.getBoundingClientRect().height]))`
		young := js[string](s, made)
		js[chromedp.Void](s, watchShifts)
		js[chromedp.Void](s, `void (window.trueNow = Date.now, Date.now = () => trueNow() + 5 * 60000, document.dispatchEvent(new Event("visibilitychange")))`)
		if old := js[string](s, `document.querySelector(".jobs time").textContent`); old != "5 min ago" || js[string](s, made) != young || js[float64](s, `shifts.sum`) > 0 {
			t.Errorf("%s: in the list %q moved what stands there", s.name, old)
		}
	}
}

func TestTheScriptAndTheBenchSayAnAgeInTheSameWords(t *testing.T) {
	l := lay(t)
	s := tab(t, phone)
	s.do(chromedp.Navigate(l.server.URL + "/"))
	src := js[string](s, `document.querySelector("script[type=module]").src.replace("joblist.js", "age.js")`)
	ages := []time.Duration{0, 59 * time.Second, time.Minute, 119 * time.Second, time.Hour - time.Second, time.Hour, 24*time.Hour - time.Second, 24 * time.Hour, 48*time.Hour - time.Second, 48 * time.Hour, 1000 * time.Hour}
	var seconds []float64
	var want []string
	for _, a := range ages {
		seconds, want = append(seconds, a.Seconds()), append(want, web.Ago(a))
	}
	list, err := json.Marshal(seconds)
	if err != nil {
		t.Fatal(err)
	}
	got := js[[]string](s, fmt.Sprintf(`import(%q).then(m => %s.map(m.ago))`, src, list))
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("%v: the bench says %q, the script %q", ages[i], want[i], got[i])
		}
	}
}
