package web_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"weephole/internal/web"
)

// TestAWholeJobOnTheScreens takes one invented car from the complaint to the
// closed job: findings, what comes next, the repair, its proof by a log, the
// owner's letter, the tally.
func TestAWholeJobOnTheScreens(t *testing.T) {
	for _, sz := range []size{phone, desktop} {
		t.Run(sz.name, func(t *testing.T) {
			b := browser(t)
			ledger := &memoryLedger{}
			l := lay(t, func(c *web.Config) { c.Tally, c.Answers.CoarseSize = ledger, 1000 })
			l.must("PUT", "/api/settings", web.ShopInput{Name: "Saltmarsh Lane Motors", Rate: "$115/h", Units: "us", Ambient: "24 °C", Altitude: "300 m", Coldest: "-10 °F"}, nil)
			logs := t.TempDir()
			for _, name := range []string{"before.csv", "after.csv"} {
				if err := os.WriteFile(filepath.Join(logs, name), stuckLog(t, name), 0o600); err != nil {
					t.Fatal(err)
				}
			}
			s := tab(t, b, sz)

			// The complaint.
			s.do(chromedp.Navigate(l.server.URL + "/new"))
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
			url := js[string](s, "location.href")

			// Findings; each is answered at its place.
			for _, f := range [][3]string{{"tank", "level-cold", "full"}, {"neck", "combustion-gas", "stayed"}, {"upper-hose", "hose-squeeze", "soft"}, {"fan", "fan-run", "runs"}} {
				s.tap(s.plate(f[0]))
				s.tap(`#place[open] [data-check=` + f[1] + `] [data-word=` + f[2] + `]`)
				s.answered("", "of 100")
			}
			s.do(chromedp.SetUploadFiles(chromedp.CSS(`#bring input`), []string{filepath.Join(logs, "before.csv")}))
			s.tap(`#brought button`)
			s.until("five findings", `document.querySelectorAll(".findings > li").length === 5`)
			s.until("the likeliest cause", `document.querySelector("[data-cause]").dataset.cause === "thermostat-shut"`)
			s.until("what comes next", `document.querySelector(".step")`)
			s.shot("a2-job")

			// How it will be proven, before anything is opened.
			s.do(chromedp.Navigate(url + "/proof?repair=replace-thermostat"))
			s.until("the plan of the proof", `document.querySelector(".runs")`)
			s.end("a3-proof-before", sz)

			// The repair.
			s.do(chromedp.Navigate(url + "/repair?repair=replace-thermostat"))
			if !js[bool](s, `!!(document.querySelector(".work .cautions").compareDocumentPosition(document.querySelector(".work .order")) & Node.DOCUMENT_POSITION_FOLLOWING)`) {
				t.Error("the cautions do not stand before the first step")
			}
			s.end("a4-repair", sz)
			s.print("a4-repair-print")
			s.types(`[data-what]`, "9 Nm")
			s.types(`[data-from]`, "workshop manual, section 3")
			s.tap(`[data-send=maker] button`)
			s.until("what was looked up", `document.querySelector("[data-send=maker] .told").textContent.includes("Kept")`)
			s.types(`[name="coolant.drained"]`, "2.2 L")
			s.types(`[name="coolant.went"]`, "the collector's drum")
			s.tap(`[data-send=closing] button`)
			s.until("the coolant's record", `document.querySelector("[data-send=closing] .told").textContent.includes("Kept")`)
			if got := js[string](s, `document.querySelector("[data-what]").value`); got != "9 Nm" {
				t.Errorf("what was looked up: %q", got)
			}
			s.types(`[name=minutes]`, "75")
			s.types(`[name=parts]`, "$38")
			s.tap(`[data-send=repair] [value=cured]`)

			// The run after it.
			s.until("the proof's page", `location.pathname.endsWith("/proof") && document.querySelector("[data-send=log]")`)
			s.do(chromedp.SetUploadFiles(chromedp.CSS(`[data-send=log] input[type=file]`), []string{filepath.Join(logs, "after.csv")}))
			s.tap(`[data-send=log] button.main`)
			s.until("the chart of before and after", `document.querySelector("figure")?.textContent.includes("after")`)
			s.shot("a5-proof-log")

			// Checks for what no run shows, at their places.
			s.do(chromedp.Navigate(url))
			for _, f := range [][3]string{{"tank", "level-cold", "full"}, {"heater", "heater-output", "hot"}, {"neck", "pressure-hold", "holds"}, {"neck", "neck-bubbles", "none"}, {"belt", "belt-look", "firm"}, {"lower-hose", "hose-at-speed", "round"}} {
				s.tap(s.plate(f[0]))
				s.tap(`#place[open] [data-check=` + f[1] + `] [data-word=` + f[2] + `]`)
				s.answered("", "of 100")
			}
			s.do(chromedp.Navigate(url + "/proof"))
			s.until("the verdict", `/The cause is gone|Proven/.test(document.querySelector(".verdict-box")?.textContent)`)
			s.end("a5-proof-after", sz)
			s.print("a5-proof-print")

			// Closing, and the letter.
			s.do(chromedp.Navigate(url + "/closing"))
			js[chromedp.Void](s, `void (document.querySelector("[name=cause]").value = "thermostat-shut", document.querySelector("[name=cause]").dispatchEvent(new Event("change", {bubbles: true})))`)
			s.types(`[name=showed]`, "stayed shut in boiling water")
			s.types(`[name=charged]`, "$198")
			s.tap(`[name=do][value=keep]`)
			s.until("that it is kept", `document.querySelector(".told").textContent === "Kept."`)
			s.end("a6-closing", sz)
			s.do(chromedp.Navigate(url + "/letter"))
			s.until("the letter", `document.querySelector(".paper table")`)
			for _, word := range []string{"Saltmarsh Lane Motors", "Quillet Corrie", "stayed shut in boiling water", "$198"} {
				if !js[bool](s, `document.querySelector(".paper").textContent.includes("`+word+`")`) {
					t.Errorf("the letter lacks %q", word)
				}
			}
			s.end("a7-letter", sz)
			s.tap(`#copy`)
			if said := js[string](s, `document.getElementById("copied").textContent`); said == "" {
				t.Error("copying says nothing")
			}
			s.print("a7-letter-print")

			s.do(chromedp.Navigate(url + "/closing"))
			s.tap(`[name=do][value=close]`)
			s.until("the closed job to be counted", `document.getElementById("told-tally").textContent.includes("Counted in the tally.")`)
			s.end("a8-closed", sz)
			s.do(chromedp.Navigate(l.server.URL + "/tally"))
			s.until("the tally", `document.querySelector("#tally li")`)
			s.end("a9-tally", sz)
			s.do(chromedp.Navigate(l.server.URL + "/?archived=true"))
			s.until("the archived job", `document.querySelector(".jobs li")?.textContent.includes("Quillet Corrie")`)
		})
	}
}

// end looks at a page by day and by night, with axe and for its width.
func (s *screen) end(name string, sz size) {
	s.t.Helper()
	s.axe(name)
	s.shot(name)
	s.dark(true)
	s.axe(name + "-dark")
	s.shot(name + "-dark")
	s.dark(false)
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
