package web_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"weephole/internal/web"
)

func TestAJobIsWorkedOnTheScreens(t *testing.T) {
	for _, sz := range []size{phone, desktop} {
		t.Run(sz.name, func(t *testing.T) {
			l := lay(t, func(c *web.Config) { c.Answers.FineSize = 1200 })
			s := tab(t, sz)
			s.do(chromedp.Navigate(l.server.URL + "/"))
			s.shot("1-jobs-empty")
			s.tap(`a.button.main`)
			s.until("the form", `document.querySelector("[name=car]")`)
			s.do(chromedp.SendKeys(chromedp.CSS(`[name=car]`), "green van, 2.0"), chromedp.SendKeys(chromedp.CSS(`[name=words]`), "Runs hot in town"))
			s.tick("sign", "overheats")
			s.tick("when", "idle")
			s.shot("2-new")
			s.tap(`button.main`)
			s.until("the first odds", `document.querySelectorAll(".odds li").length > 0`)
			s.until("the next step", `document.querySelector(".step")`)
			s.shot("3-job-new")

			// A word, by a big button.
			s.tap(s.plate("tank"))
			s.until("the place", `document.querySelector("#place[open] [data-check=level-cold]")`)
			s.shot("4-place-words")
			s.tap(`#place [data-check=level-cold] [data-word=full]`)
			s.answered("5-answer-word", "of 100")
			s.until("the finding", `document.querySelectorAll(".findings > li").length === 1`)

			// Readings, by the large keys.
			s.tap(s.plate("upper-hose"))
			s.until("the readings", `document.querySelector("#place[open] [data-check=hose-temps]")`)
			s.key(`[data-check=hose-temps] [data-reading=upper-hose]`, "104")
			s.key(`[data-check=hose-temps] [data-reading=lower-hose]`, "38")
			s.shot("5-place-keys")
			s.axe("place")
			s.tap(`#place [data-check=hose-temps] button.main`)
			s.answered("5-answer-reading", "°C to")
			s.until("two findings", `document.querySelectorAll(".findings > li").length === 2`)
			s.until("the value on the drawing", `document.querySelector("#plate-upper-hose-desk .rd").textContent.includes("104")`)
			s.until("odds that know it", `document.querySelector("[data-cause]").dataset.cause === "thermostat-shut"`)
			s.until("the refined answer", `document.querySelector(".strip.settled")`)
			s.shot("6-job-worked")

			// The place now says what was to be expected.
			s.tap(s.plate("upper-hose"))
			s.until("the expected", `[...document.querySelectorAll("#place .expected")].some(e => e.textContent.includes("healthy"))`)
			s.shot("7-place-expected")
			s.tap(`[data-close]`)

			// A correction and a strike; both stay in the history.
			s.tap(`.findings > li:first-child [data-correct]`)
			s.until("the correction's panel", `document.querySelector("#place[open] [data-word=low]")`)
			s.tap(`#place [data-word=low]`)
			s.answered("", "of 100")
			s.until("the correction", `document.querySelector(".findings > li:first-child .what").textContent.includes("below")`)
			s.until("the page to come to rest", `document.querySelector(".strip.settled")`)
			s.tap(`.findings > li:first-child [data-strike]:not([data-undo])`) // for ten seconds it undoes the correction
			s.until("the question", `document.querySelector("#strike[open]")`)
			s.tap(`#strike button[value=strike]`)
			s.until("the strike", `document.querySelector(".findings > li:first-child.struck")`)

			// A log.
			log := filepath.Join(t.TempDir(), "run.csv")
			if err := os.WriteFile(log, []byte(warmUp()), 0o600); err != nil {
				t.Fatal(err)
			}
			s.do(chromedp.SetUploadFiles(chromedp.CSS(`#bring input`), []string{log}))
			s.until("the log's chart", `document.querySelector("[data-part=traces] figure svg")`)
			s.tap(`#brought button`)
			s.until("the log's finding", `document.querySelectorAll(".findings > li").length === 3`)
			s.until("the band", `document.querySelector("[data-part=traces]").textContent.includes("still fits")`)
			s.shot("8-job-log")

			if _, err := chromedp.Call(s.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"}); err != nil {
				t.Fatal(err)
			}
			if js[bool](s, `[...document.querySelectorAll("button, form, .top")].some(e => e.getClientRects().length)`) {
				t.Error("the printed page has buttons on it")
			}
			if !js[bool](s, `!document.querySelector("#strip .warn") || document.querySelector("#strip .warn li").getClientRects().length > 0`) {
				t.Error("the printed step has no cautions")
			}
			s.shot("8-print")

			url := js[string](s, "location.href")
			for _, page := range []struct{ name, path string }{
				{"job", url}, {"jobs", l.server.URL + "/"}, {"new", l.server.URL + "/new"}, {"settings", l.server.URL + "/settings"},
				{"history", url + "/history"}, {"compare", js[string](s, `document.querySelector(".findings a").href`)}, {"car", url + "/edit"}, {"place-page", url + "/places/upper-hose"}, {"nothing", l.server.URL + "/nothing"}, {"login", l.server.URL + "/login"},
			} {
				s.do(chromedp.Navigate(page.path))
				s.inBothLights("9-" + page.name)
			}
		})
	}
}

// warmUp is a made-up log: a thermostat that opens near 90 °C.
func warmUp() string {
	var b strings.Builder
	b.WriteString("time (s),coolant (°C),engine speed (rpm),vehicle speed (km/h)\n")
	c := 20.0
	for i := range 900 {
		if c < 90 {
			c += 0.13
		}
		fmt.Fprintf(&b, "%d,%.0f,%d,%d\n", i, c, 1500+i%7*40, 35+i%11)
	}
	return b.String()
}

func TestTwoDevicesSeeOneAnother(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	first := tab(t, desktop)
	first.do(chromedp.Navigate(l.server.URL + "/jobs/" + id))
	second := tab(t, phone)
	second.do(chromedp.Navigate(l.server.URL + "/jobs/" + id))
	for _, s := range []*screen{first, second} {
		s.until("the panels", `performance.getEntriesByType("resource").some(r => r.name.endsWith("/panels"))`)
	}
	began := time.Now()
	l.found(id, `{"check":"level-cold","found":"low"}`)
	for _, s := range []*screen{first, second} {
		s.until("the other's finding", `document.querySelectorAll(".findings > li").length === 1`)
	}
	t.Logf("both devices showed it after %v", time.Since(began))

	// Both at once: both are kept.
	for i, s := range []*screen{first, second} {
		s.tap(s.plate([]string{"belt", "pump"}[i]))
	}
	first.tap(`#place [data-check=belt-look] [data-word=firm]`)
	second.tap(`#place [data-check=weep-look] [data-word=dry]`)
	for _, s := range []*screen{first, second} {
		s.until("both findings", `document.querySelectorAll(".findings > li").length === 3`)
	}
}

// gate is a network that can be cut.
type gate struct {
	next http.Handler
	cut  atomic.Bool
}

func (g *gate) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if g.cut.Load() {
		panic(http.ErrAbortHandler) // the line goes dead
	}
	g.next.ServeHTTP(w, r)
}

func TestAPhoneThatLosesTheNetworkKeepsAndSends(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	g := &gate{next: l.bench.Handler()}
	net := httptest.NewServer(g)
	t.Cleanup(net.Close)
	s := tab(t, phone)
	s.do(chromedp.Navigate(net.URL + "/jobs/" + id))
	s.until("the panels", `performance.getEntriesByType("resource").some(r => r.name.endsWith("/panels"))`)

	g.cut.Store(true)
	net.CloseClientConnections()
	for _, tap := range [][2]string{{s.plate("tank"), "#place [data-check=level-cold] [data-word=low]"}, {s.plate("belt"), "#place [data-check=belt-look] [data-word=firm]"}} {
		s.tap(tap[0])
		s.tap(tap[1])
		s.until("the place to close", `!document.querySelector("#place[open]")`)
	}
	s.until("the word that entries wait", `document.getElementById("wire").textContent.includes("2 entries wait")`)
	s.axe("job while away")
	s.shot("away")
	if n := len(l.entries(id)); n != 1 {
		t.Fatalf("%d entries went through a dead line", n)
	}
	// The phone's page is even closed and opened again meanwhile.
	g.cut.Store(false)
	s.do(chromedp.Navigate(net.URL + "/jobs/" + id))
	s.until("what waited", `document.querySelectorAll(".findings > li").length === 2`)
	s.until("silence", `document.getElementById("wire").textContent === ""`)
	if n := len(l.entries(id)); n != 3 {
		t.Errorf("%d entries; want 3", n)
	}
}
