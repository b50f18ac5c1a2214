package web_test

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"weephole/internal/web"
)

// The screens are tried in a real Chromium. Where none is found these tests are
// skipped, unless WEEPHOLE_BROWSER=must says that there has to be one.
func chromium(t *testing.T) string {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	if os.Getenv("WEEPHOLE_BROWSER") == "must" {
		t.Fatal("no Chromium was found, and WEEPHOLE_BROWSER=must asks for one")
	}
	t.Skip("no Chromium was found; install the Debian package chromium to try the screens")
	return ""
}

// browser starts a browser for one test.
func browser(t *testing.T) context.Context {
	t.Helper()
	path := chromium(t)
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.Flag("disable-dev-shm-usage", true))
	ctx, stop := chromedp.NewExecAllocator(context.Background(), opts...)
	t.Cleanup(stop)
	return ctx
}

// screen is one tab of a certain size.
type screen struct {
	t    *testing.T
	ctx  context.Context
	name string
}

type size struct {
	name          string
	width, height int64
	touch         bool
}

var (
	phone   = size{"phone", 360, 740, true}
	desktop = size{"desktop", 1920, 1080, false}
)

// tab opens a tab; a browser's first tab starts the browser.
func tab(t *testing.T, browser context.Context, s size) *screen {
	t.Helper()
	ctx, stop := chromedp.NewContext(browser)
	t.Cleanup(stop)
	sc := &screen{t, ctx, s.name}
	opts := []chromedp.EmulateViewportOption{}
	if s.touch {
		opts = append(opts, chromedp.EmulateTouch, chromedp.EmulateMobile)
	}
	sc.do(chromedp.EmulateViewport(s.width, s.height, opts...))
	return sc
}

func (s *screen) do(steps ...chromedp.Action[chromedp.Void]) {
	s.t.Helper()
	for _, step := range steps {
		done := make(chan error, 1)
		go func() { done <- chromedp.Do(s.ctx, step) }()
		select {
		case err := <-done:
			if err != nil {
				s.t.Fatalf("%s: %v", s.name, err)
			}
		case <-time.After(60 * time.Second):
			s.shot("stuck")
			s.t.Fatalf("%s: a step takes more than a minute", s.name)
		}
	}
}

// plate is a place of the drawing as this screen shows it.
func (s *screen) plate(place string) string {
	// After a repair the desk shows two drawings side by side, each as on a phone.
	if s.name == phone.name || js[bool](s, `!!document.querySelector("#plate-`+place+`-desk") && !document.querySelector("#plate-`+place+`-desk").getClientRects().length`) {
		return "#plate-" + place + "-phone .hit"
	}
	return "#plate-" + place + "-desk .hit"
}

// js evaluates an expression that may be a promise.
func js[T any](s *screen, expression string) T {
	s.t.Helper()
	v, err := chromedp.Run(s.ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		s.t.Fatalf("%s: %s: %v", s.name, expression, err)
	}
	return v
}

// until waits for an expression to be true.
func (s *screen) until(what, expression string) {
	s.t.Helper()
	for range 1800 { // a machine that others use too may take a minute for a proof
		if js[bool](s, "!!("+expression+")") {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	s.shot("waiting")
	s.t.Fatalf("%s: waited for %s", s.name, what)
}

// tap taps or clicks. A part that is swapped just then takes its node along;
// a person would tap again, and so does this.
func (s *screen) tap(selector string) {
	s.t.Helper()
	for try := 0; ; try++ {
		s.until(selector, fmt.Sprintf("document.querySelector(%q)", selector))
		js[chromedp.Void](s, fmt.Sprintf("document.querySelector(%q)?.scrollIntoView({block:'center'})", selector))
		ctx, cancel := context.WithTimeout(s.ctx, 10*time.Second)
		step := chromedp.Click(chromedp.CSS(selector))
		if s.name == phone.name {
			step = chromedp.Tap(chromedp.CSS(selector))
		}
		err := chromedp.Do(ctx, step)
		cancel()
		if err == nil {
			return
		}
		if try == 5 {
			s.shot("stuck")
			s.t.Fatalf("%s: tap %s: %v", s.name, selector, err)
		}
	}
}

// types types into a field. As a tap does, it looks for the field again where the
// page put a fresh one in its place at that very moment, as it may until
// somebody types.
func (s *screen) types(selector, text string) {
	s.t.Helper()
	for try := 0; ; try++ {
		s.until(selector, fmt.Sprintf("document.querySelector(%q)", selector))
		ctx, cancel := context.WithTimeout(s.ctx, 10*time.Second)
		err := chromedp.Do(ctx, chromedp.SendKeys(chromedp.CSS(selector), text))
		cancel()
		if err == nil {
			return
		}
		if try == 5 {
			s.shot("stuck")
			s.t.Fatalf("%s: type into %s: %v", s.name, selector, err)
		}
		js[chromedp.Void](s, fmt.Sprintf("void (document.querySelector(%q).value = '')", selector))
	}
}

func (s *screen) shot(name string) {
	s.t.Helper()
	if data, err := chromedp.Run(s.ctx, chromedp.FullScreenshot(100)); err == nil {
		artefact(s.t, name+"-"+s.name+".png", data)
	}
}

// axe runs axe-core's WCAG 2.2 A and AA rules over the page as it stands.
func (s *screen) axe(what string) {
	s.t.Helper()
	source, err := os.ReadFile("testdata/axe/axe.min.js")
	if err != nil {
		s.t.Fatal(err)
	}
	js[chromedp.Void](s, string(source)+";0")
	for _, v := range js[[]string](s, `axe.run(document, {runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}).then(r => r.violations.flatMap(v => v.nodes.map(n => v.id + ": " + n.target.join(" ") + " " + (n.failureSummary || "").split("\n").slice(1, 2).join(""))))`) {
		s.t.Errorf("%s, %s: %s", what, s.name, v)
	}
	if js[bool](s, "document.documentElement.scrollWidth > innerWidth") {
		s.t.Errorf("%s, %s: the page is wider than the screen by %d", what, s.name, js[int](s, "document.documentElement.scrollWidth - innerWidth"))
	}
}

func (s *screen) dark(on bool) {
	s.t.Helper()
	value := "light"
	if on {
		value = "dark"
	}
	if _, err := chromedp.Call(s.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: value}, {Name: "prefers-reduced-motion", Value: "reduce"}},
	}); err != nil {
		s.t.Fatal(err)
	}
}

func TestAJobIsWorkedOnTheScreens(t *testing.T) {
	for _, sz := range []size{phone, desktop} {
		t.Run(sz.name, func(t *testing.T) {
			b := browser(t)
			l := lay(t, func(c *web.Config) { c.Answers.FineSize = 1200 })
			s := tab(t, b, sz)
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
			s.tap(`.findings > li:first-child [data-strike]`)
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
				for _, dark := range []bool{false, true} {
					s.dark(dark)
					s.do(chromedp.Navigate(page.path))
					name := page.name
					if dark {
						name += "-dark"
					}
					s.axe(name)
					s.shot("9-" + name)
				}
			}
		})
	}
}

// tick taps the label of a box in a form.
func (s *screen) tick(name, value string) {
	s.t.Helper()
	s.tap(fmt.Sprintf(`label:has(> [name=%s][value=%s])`, name, value))
	s.until("the tick", fmt.Sprintf(`document.querySelector("[name=%s][value=%s]").checked`, name, value))
}

// answered waits for the place's answer, looks at it and goes back.
func (s *screen) answered(shot, must string) {
	s.t.Helper()
	s.until("the place's answer", fmt.Sprintf(`document.querySelector("#place[open] .answered dl")?.textContent.includes("healthy engine") && document.querySelector(".answered").textContent.includes(%q)`, must))
	if shot != "" {
		s.axe(shot)
		s.shot(shot)
	}
	s.tap(`.answer-bar button.main`)
	s.until("the place to close", `!document.querySelector("#place[open]")`)
}

// key types a reading with the large keys.
func (s *screen) key(selector, text string) {
	s.t.Helper()
	s.tap(selector)
	for _, r := range text {
		js[chromedp.Void](s, fmt.Sprintf(`[...document.querySelectorAll(".keys button")].find(b => b.textContent === %q).click()`, string(r)))
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
	b := browser(t)
	l := lay(t)
	id := l.job(hotCar)
	first := tab(t, b, desktop)
	first.do(chromedp.Navigate(l.server.URL + "/jobs/" + id))
	second := tab(t, first.ctx, phone)
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
	b := browser(t)
	l := lay(t)
	id := l.job(hotCar)
	g := &gate{next: l.bench.Handler()}
	net := httptest.NewServer(g)
	t.Cleanup(net.Close)
	s := tab(t, b, phone)
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
