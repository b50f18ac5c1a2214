package web_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"weephole/internal/web"
)

// walk is one invented car's job on one bench, worked on a phone and at a desk in turn:
// its odds and proofs take far longer than the pages.
type walk struct {
	*laid
	phone, desk *screen
	url, logs   string
}

// TestAWholeJobOnTheScreens takes one invented car from the complaint to the
// closed job: findings, what comes next, the repair, its proof by a log, the
// owner's letter, the tally. Every page is looked at on both screens.
func TestAWholeJobOnTheScreens(t *testing.T) {
	ledger := &memoryLedger{}
	// With 1,000 engines the verdict of the proof is a matter of luck.
	w := &walk{laid: lay(t, func(c *web.Config) { c.Tally, c.Answers.CoarseSize = ledger, 3000 }), logs: t.TempDir()}
	w.must("PUT", "/api/settings", web.ShopInput{Name: "Saltmarsh Lane Motors", Rate: "$115/h", Units: "us", Ambient: "24 °C", Altitude: "300 m", Coldest: "-10 °F"}, nil)
	for _, name := range []string{"before.csv", "after.csv"} {
		if err := os.WriteFile(filepath.Join(w.logs, name), stuckLog(t, name), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	w.phone, w.desk = tab(t, phone), tab(t, desktop)
	w.complains()
	w.finds()
	w.repairs()
	w.proves()
	w.closes()
}

// both looks at a page of the job on both screens, and on paper too.
func (w *walk) both(path, until, name string) {
	w.Helper()
	for _, s := range []*screen{w.phone, w.desk} {
		s.do(chromedp.Navigate(w.url + path))
		s.until(name, until)
		s.inBothLights(name)
		s.print(name + "-print")
	}
}

// places takes checks at their places, in turn on the one screen and the other.
func (w *walk) places(checks ...[3]string) {
	w.Helper()
	for i, c := range checks {
		s := w.phone
		if i%2 == 1 {
			s = w.desk
		}
		s.tap(s.plate(c[0]))
		s.tap(`#place[open] [data-check=` + c[1] + `] [data-word=` + c[2] + `]`)
		s.answered("", "of 100")
	}
}

func (w *walk) complains() {
	s := w.phone
	s.do(chromedp.Navigate(w.server.URL + "/new"))
	s.types(`[name=car]`, "Quillet Corrie 1.8, invented")
	s.types(`[name=words]`, "It goes into the red after ten minutes.")
	s.tick("sign", "overheats")
	s.tick("sign", "steam")
	for _, when := range []string{"idle", "city", "motorway"} {
		s.tick("when", when)
	}
	s.tap(`.sheet-form > details > summary`)
	for name, text := range map[string]string{"displacement": "1.8 L", "cylinders": "4", "capacity": "6.5 L", "glycol": "50 %", "rating": "82 °C", "cap": "16 psi", "ambient": "24 °C"} {
		s.types(`[name=`+name+`]`, text)
	}
	js[chromedp.Void](s, `void Object.entries({fuel: "petrol", sits: "outlet", fan: "electric", badly: "no"}).forEach(([k, v]) => document.querySelector("[name=" + k + "]").value = v)`)
	s.tap(`button.main`)
	s.until("the first odds", `document.querySelectorAll(".odds [data-cause]").length > 0`)
	w.url = js[string](s, "location.href")
	w.desk.do(chromedp.Navigate(w.url))
}

// finds makes findings, each answered at its place, and looks at how a repair will be
// proven before anything is opened.
func (w *walk) finds() {
	w.places([3]string{"tank", "level-cold", "full"}, [3]string{"neck", "combustion-gas", "stayed"}, [3]string{"upper-hose", "hose-squeeze", "soft"}, [3]string{"fan", "fan-run", "runs"})
	w.desk.do(chromedp.SetUploadFiles(chromedp.CSS(`#bring input`), []string{filepath.Join(w.logs, "before.csv")}))
	w.desk.tap(`#brought button`)
	for _, s := range []*screen{w.phone, w.desk} {
		s.until("five findings", `document.querySelectorAll(".findings > li").length === 5`)
		s.until("what comes next", `document.querySelector(".step")`)
		s.shot("a2-job")
	}
	w.both("/proof?repair=replace-thermostat", `document.querySelector(".runs")`, "a3-proof-before")
}

func (w *walk) repairs() {
	w.both("/repair?repair=replace-thermostat", `document.querySelector(".work .order")`, "a4-repair")
	s := w.desk
	if !js[bool](s, `!!(document.querySelector(".work .cautions").compareDocumentPosition(document.querySelector(".work .order")) & Node.DOCUMENT_POSITION_FOLLOWING)`) {
		w.Error("the cautions do not stand before the first step")
	}
	s.types(`[data-what]`, "9 Nm")
	s.types(`[data-from]`, "workshop manual, section 3")
	s.tap(`[data-send=maker] button`)
	s.until("what was looked up", `document.querySelector("[data-send=maker] .told").textContent.includes("Kept")`)
	s.types(`[name="coolant.drained"]`, "2.2 L")
	s.types(`[name="coolant.went"]`, "the collector's drum")
	s.tap(`[data-send=closing] button`)
	s.until("the coolant's record", `document.querySelector("[data-send=closing] .told").textContent.includes("Kept")`)
	if got := js[string](s, `document.querySelector("[data-what]").value`); got != "9 Nm" {
		w.Errorf("what was looked up: %q", got)
	}
	s = w.phone
	s.types(`[name=minutes]`, "75")
	s.types(`[name=parts]`, "$38")
	s.tap(`[data-send=repair] [value=cured]`)
	s.until("the proof's page", `location.pathname.endsWith("/proof") && document.querySelector("[data-send=log]")`)
}

// proves brings the log of the run after the repair, and makes the checks for what no
// run shows, at their places.
func (w *walk) proves() {
	s := w.phone
	s.do(chromedp.SetUploadFiles(chromedp.CSS(`[data-send=log] input[type=file]`), []string{filepath.Join(w.logs, "after.csv")}))
	s.tap(`[data-send=log] button.main`)
	s.until("the chart of before and after", `document.querySelector("figure")?.textContent.includes("after")`)
	s.shot("a5-proof-log")
	for _, s := range []*screen{w.phone, w.desk} {
		s.do(chromedp.Navigate(w.url))
	}
	w.places([3]string{"tank", "level-cold", "full"}, [3]string{"heater", "heater-output", "hot"}, [3]string{"neck", "pressure-hold", "holds"},
		[3]string{"upper-hose", "hose-by-hand", "turns-hot"}, [3]string{"neck", "neck-bubbles", "none"}, [3]string{"belt", "belt-look", "firm"}, [3]string{"lower-hose", "hose-at-speed", "round"})
	w.both("/proof", `/The cause is gone|Proven/.test(document.querySelector(".verdict-box")?.textContent)`, "a5-proof-after")
	for _, s := range []*screen{w.phone, w.desk} {
		s.until("the proof's age above", `document.querySelector(".strip .age time")`)
		// Both rest on the same engines, so the page says an age of its own at most where it was
		// worked out under an older strip; then it is the same.
		const ages = `[...new Set([...document.querySelectorAll(".strip .age, #worked .age")].map(e => [e.dataset.answer, e.querySelector("time").dateTime, e.textContent.split(",")[0]].join(" ")))]`
		if got := js[[]string](s, ages); len(got) != 1 {
			w.Errorf("%s: after the repair strip and proof are of %q", s.name, got)
		}
	}
}

// closes writes down how it ended, and looks at the letter and the tally.
func (w *walk) closes() {
	w.both("/closing", `document.querySelector("[name=showed]")`, "a6-closing-empty")
	s := w.phone
	js[chromedp.Void](s, `void (document.querySelector("[name=cause]").value = "thermostat-shut", document.querySelector("[name=cause]").dispatchEvent(new Event("change", {bubbles: true})))`)
	s.types(`[name=showed]`, "stayed shut in boiling water")
	s.types(`[name=charged]`, "$198")
	s.tap(`[name=do][value=keep]`)
	s.until("that it is kept", `document.querySelector(".told").textContent === "Kept."`)
	s.inBothLights("a6-closing")

	w.both("/letter", `document.querySelector(".paper table")`, "a7-letter")
	for _, s := range []*screen{w.phone, w.desk} {
		for _, word := range []string{"Saltmarsh Lane Motors", "Quillet Corrie", "stayed shut in boiling water", "$198"} {
			if !js[bool](s, `document.querySelector(".paper").textContent.includes("`+word+`")`) {
				w.Errorf("%s: the letter lacks %q", s.name, word)
			}
		}
		s.tap(`#copy`)
		if said := js[string](s, `document.getElementById("copied").textContent`); said == "" {
			w.Errorf("%s: copying says nothing", s.name)
		}
	}

	s = w.desk
	s.do(chromedp.Navigate(w.url + "/closing"))
	s.tap(`[name=do][value=close]`)
	s.until("the closed job to be counted", `document.getElementById("told-tally").textContent.includes("Counted in the tally.")`)
	w.both("/closing", `document.getElementById("told-tally").textContent.includes("Counted in the tally.")`, "a8-closed")
	for _, s := range []*screen{w.phone, w.desk} {
		s.do(chromedp.Navigate(w.server.URL + "/tally"))
		s.until("the tally", `document.querySelector("#tally li")`)
		s.inBothLights("a9-tally")
		s.do(chromedp.Navigate(w.server.URL + "/?archived=true"))
		s.until("the archived job", `document.querySelector(".jobs li")?.textContent.includes("Quillet Corrie")`)
	}
}

// print looks at a page as paper has it.
func (s *screen) print(name string) {
	s.t.Helper()
	media := func(m string) {
		if _, err := chromedp.Call(s.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: m}); err != nil {
			s.t.Fatal(err)
		}
	}
	media("print")
	if js[bool](s, `[...document.querySelectorAll("button, .top, .tabs")].some(e => e.getClientRects().length)`) {
		s.t.Errorf("%s: the printed page has buttons on it", name)
	}
	s.shot(name)
	media("")
}
