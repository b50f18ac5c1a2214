package web_test

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
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

// browser is one for all tests, started by the first that asks for it.
var browser struct {
	once sync.Once
	ctx  context.Context
	stop []context.CancelFunc
	err  error
}

func startBrowser(path string) {
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.Flag("disable-dev-shm-usage", true))
	all, stop := chromedp.NewExecAllocator(context.Background(), opts...)
	ctx, stopFirst := chromedp.NewContext(all)
	browser.ctx, browser.stop = ctx, []context.CancelFunc{stopFirst, stop}
	browser.err = chromedp.Do(ctx, chromedp.Navigate("about:blank"))
}

// stopBrowser ends it; for TestMain.
func stopBrowser() {
	for _, stop := range browser.stop {
		stop()
	}
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

// tab opens a tab that shares nothing with others: what a device keeps is kept apart.
func tab(t *testing.T, s size) *screen {
	t.Helper()
	path := chromium(t)
	browser.once.Do(func() { startBrowser(path) })
	if browser.err != nil {
		t.Fatal(browser.err)
	}
	ctx, stop := chromedp.NewContext(browser.ctx, chromedp.WithNewBrowserContext())
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

// js evaluates an expression that may be a promise. Where the page gives way to the
// next one at that moment, it asks the next one.
func js[T any](s *screen, expression string) T {
	s.t.Helper()
	v, err := chromedp.Run(s.ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	for n := 0; n < 20 && err != nil && strings.Contains(err.Error(), "navigated or closed"); n++ {
		time.Sleep(50 * time.Millisecond)
		v, err = chromedp.Run(s.ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	}
	if err != nil {
		s.t.Fatalf("%s: %s: %v", s.name, expression, err)
	}
	return v
}

// slowWait is from when on a wait is told of: what makes a test slow.
const slowWait = 3 * time.Second

// until waits for an expression to be true.
func (s *screen) until(what, expression string) {
	s.t.Helper()
	began := time.Now()
	for range 3600 { // a machine that others use too may take two minutes for a proof
		if js[bool](s, "!!("+expression+")") {
			if took := time.Since(began); took > slowWait {
				s.t.Logf("%s: waited %v for %s", s.name, took.Round(100*time.Millisecond), what)
			}
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	s.shot("waiting")
	s.t.Fatalf("%s: waited for %s; the page says: %.1500s", s.name, what, js[string](s, `document.querySelector("main, article")?.innerText ?? ""`))
}

// tap taps or clicks. A part that is swapped just then takes its node along, or moves
// it from under the finger; a person would tap again, and so does this.
func (s *screen) tap(selector string) {
	s.t.Helper()
	for try := 0; ; try++ {
		s.until(selector, fmt.Sprintf("document.querySelector(%q)", selector))
		js[chromedp.Void](s, fmt.Sprintf(`(() => {
			window.arrived = false;
			document.addEventListener("click", (ev) => { window.arrived = !!ev.target.closest(%[1]q); }, { capture: true, once: true });
			document.querySelector(%[1]q)?.scrollIntoView({ block: "center" });
		})()`, selector))
		ctx, cancel := context.WithTimeout(s.ctx, 10*time.Second)
		step := chromedp.Click(chromedp.CSS(selector))
		if s.name == phone.name {
			step = chromedp.Tap(chromedp.CSS(selector))
		}
		err := chromedp.Do(ctx, step)
		cancel()
		if err == nil && s.arrived() {
			return
		}
		if try == 5 {
			s.shot("stuck")
			s.t.Fatalf("%s: tap %s: error %v; or the tap arrives elsewhere", s.name, selector, err)
		}
	}
}

// arrived tells whether the last tap came to what it was meant for. On the page that
// followed it nobody knows of it any more.
func (s *screen) arrived() bool {
	for range 20 {
		if js[bool](s, `window.arrived !== false`) {
			return true
		}
		time.Sleep(50 * time.Millisecond)
	}
	return false
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

// shot keeps a picture where somebody wants them: a large page takes seconds to draw.
func (s *screen) shot(name string) {
	s.t.Helper()
	if os.Getenv(artefacts) == "" {
		return
	}
	if data, err := chromedp.Run(s.ctx, chromedp.FullScreenshot(100)); err == nil {
		artefact(s.t, name+"-"+s.name+".png", data)
	}
}

// axe-core's rules: all of WCAG 2.2 A and AA and its best practice, and those of them
// that look at colours.
const (
	allRules   = `["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]`
	ofColours  = `{type: "rule", values: ["color-contrast", "link-in-text-block"]}`
	axeIsThere = `typeof axe === "object"`
)

// axe holds the page as it stands to axe-core's rules, and to the screen's width.
func (s *screen) axe(what string) { s.t.Helper(); s.holds(what, allRules) }

// inBothLights looks at a page by day and by night. By night only colours are other.
func (s *screen) inBothLights(name string) {
	s.t.Helper()
	s.dark(false)
	s.axe(name)
	s.shot(name)
	s.dark(true)
	s.holds(name+"-dark", ofColours)
	s.shot(name + "-dark")
	s.dark(false)
}

func (s *screen) holds(what, rules string) {
	s.t.Helper()
	if !js[bool](s, axeIsThere) {
		source, err := os.ReadFile("testdata/axe/axe.min.js")
		if err != nil {
			s.t.Fatal(err)
		}
		js[chromedp.Void](s, string(source)+";0")
	}
	began := time.Now()
	defer func() {
		if took := time.Since(began); took > slowWait {
			s.t.Logf("%s: %v for the rules on %s", s.name, took.Round(100*time.Millisecond), what)
		}
	}()
	for _, v := range js[[]string](s, `axe.run(document, {runOnly: `+rules+`, resultTypes: ["violations"]}).then(r => r.violations.flatMap(v => v.nodes.map(n => v.id + ": " + n.target.join(" ") + " " + (n.failureSummary || "").split("\n").slice(1, 2).join(""))))`) {
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
