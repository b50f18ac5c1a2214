package web_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"weephole/internal/web"
)

// mostTaps is how many taps and keys-in a newcomer may need from the empty list
// to three findings that are answered: new job, a sign, when, open, and three
// for each finding (the step's button, what it shows, on to the next step).
const mostTaps = 4 + 3*3

// TestANewcomerWorksAJobWithoutReading goes only by what the page offers largest:
// the new job's button, and then whatever the next step is.
func TestANewcomerWorksAJobWithoutReading(t *testing.T) {
	l := lay(t)
	s := tab(t, phone)
	taps := 0
	tap := func(selector string) { taps++; s.tap(selector) }
	s.do(chromedp.Navigate(l.server.URL + "/"))
	tap(`a.button.main`)
	s.until("the form", `document.activeElement?.name === "car"`) // the first field waits for the words
	s.do(chromedp.SendKeys(chromedp.CSS(`[name=car]`), "the green van"), chromedp.SendKeys(chromedp.CSS(`[name=words]`), "gets hot in town"))
	tap(`label:has(> [name=sign][value=overheats])`)
	tap(`label:has(> [name=when][value=city])`)
	if !js[bool](s, `(r => r.top >= 0 && r.bottom <= innerHeight)(document.querySelector("button.main").getBoundingClientRect())`) {
		t.Error("the button that opens the job is not on the screen")
	}
	s.shot("first-run-form")
	t.Logf("the new job's form is %d px high on a screen of 740", js[int](s, `document.documentElement.scrollHeight`))
	tap(`button.main`)
	for n := 1; n <= 3; n++ {
		s.until("the next step", `document.querySelector("#strip .go[data-check]")`)
		check := js[string](s, `document.querySelector("#strip .go").dataset.check`)
		if !js[bool](s, `!document.querySelector("#strip .warn") || !!(document.querySelector("#strip .warn").compareDocumentPosition(document.querySelector("#strip .go")) & Node.DOCUMENT_POSITION_FOLLOWING)`) {
			t.Errorf("%s: the cautions come after the button", check)
		}
		tap(`#strip .go`)
		s.until("the place", fmt.Sprintf(`document.querySelector("#place[open] [data-check=%s]")`, check))
		if js[bool](s, fmt.Sprintf(`!document.querySelector("#place [data-check=%s] .word")`, check)) {
			t.Skipf("the next step, %s, is a reading; this walk taps words", check)
		}
		tap(fmt.Sprintf(`#place [data-check=%s] .word:nth-child(1)`, check))
		s.until("the answer", `document.querySelector("#place[open] .answered")`)
		s.until("the finding", fmt.Sprintf(`document.querySelectorAll(".findings > li").length === %d`, n))
		if n == 1 {
			s.shot("first-run-answer")
		}
		tap(`.answer-bar .on`)
	}
	s.shot("first-run")
	t.Logf("%d taps and two lines typed from the empty list to three findings", taps)
	if taps > mostTaps {
		t.Errorf("%d taps; at most %d", taps, mostTaps)
	}
}

// TestTheSmallThingsWork tries what stands around the drawing: settings, notes,
// photos, the wait for the cap, search, archive, a job as one file.
func TestTheSmallThingsWork(t *testing.T) {
	l := lay(t, func(c *web.Config) { c.Addresses = []string{"http://192.168.1.20:8470/"} })
	s := tab(t, desktop)

	// Settings: a wrong one is told and nothing typed is lost; a right one counts.
	s.do(chromedp.Navigate(l.server.URL + "/settings"))
	s.do(chromedp.SendKeys(chromedp.CSS(`[name=name]`), "Saltmarsh Lane Motors"), chromedp.SendKeys(chromedp.CSS(`[name=rate]`), "much"))
	s.tap(`[name=units][value=us]`)
	s.tap(`[name=tool][value=infrared]`)
	s.tap(`button.main`)
	s.until("the problem", `document.querySelector("#w-rate")?.textContent.includes("much")`)
	if got := js[string](s, `document.querySelector("[name=name]").value`); got != "Saltmarsh Lane Motors" {
		t.Errorf("the name typed became %q", got)
	}
	s.axe("settings with a problem")
	s.do(chromedp.SetValue(chromedp.CSS(`[name=rate]`), "€90/h"))
	s.tap(`button.main`)
	s.until("that they are kept", `document.querySelector("[role=status].said")`)
	if js[bool](s, `document.querySelector("[name=tool][value=infrared]").checked`) {
		t.Error("the tool that was taken away is at hand again")
	}
	s.axe("settings")
	s.shot("s1-settings")

	id := l.job(strings.Replace(hotCar, `"units":"metric"`, `"altitude":"300 m"`, 1))
	s.do(chromedp.Navigate(l.server.URL + "/jobs/" + id))
	s.until("the next step in the shop's money", `document.querySelector("[data-part=next]").textContent.includes("€")`)
	s.tap(s.plate("upper-hose"))
	s.until("readings in the shop's units", `document.querySelector("#place[open] [data-check=hose-temps] [data-unit]")?.value === "°F"`)
	s.tap(`[data-close]`)

	// A note, a photo, the wait for the cap.
	s.do(chromedp.SendKeys(chromedp.CSS(`#note input`), "smells of marzipan"))
	s.tap(`#note button`)
	s.until("the note", `document.querySelector(".notes").textContent.includes("marzipan")`)
	file := filepath.Join(t.TempDir(), "valve.png")
	if err := os.WriteFile(file, photo(t), 0o600); err != nil {
		t.Fatal(err)
	}
	s.do(chromedp.SetUploadFiles(chromedp.CSS(`#bring input`), []string{file}))
	s.until("the photo", `document.querySelector(".photos img")`)
	js[chromedp.Void](s, `document.querySelector(".photos").scrollIntoView()`)
	s.until("the photo's pixels", `document.querySelector(".photos img").naturalWidth === 64`)
	s.do(chromedp.SendKeys(chromedp.CSS(`#cool input`), "208 °F"))
	s.tap(`#cool button`)
	s.until("the wait for the cap", `/leave it shut: \d+ min/.test(document.querySelector(".cap-wait .count")?.textContent)`)
	if !js[bool](s, `document.querySelector(".cap-wait small").textContent.includes("Never open a hot system")`) {
		t.Error("the wait has no caution")
	}
	s.until("the wait at the cap of the drawing", `document.querySelector("#plate-cap-desk, #plate-cap-phone").textContent.match(/shut \d+ min/) && document.querySelector(".cap-left path").getAttribute("d")`)
	if !js[bool](s, `[...document.querySelectorAll("#cap-wait .pie path, .cap-left path")].filter((p) => p.closest("svg").checkVisibility()).every((p) => p.getBBox().width > 30)`) {
		t.Error("a wait that has just begun is no full pie")
	}
	s.axe("job with a wait")
	// When it is over, the device rings. The page then asks the bench, which knows of no
	// end, so what stood there is read at the ring.
	js[chromedp.Void](s, `void (navigator.vibrate = () => { window.rang = { says: document.querySelector(".cap-says").textContent, over: !!document.querySelector(".cap-wait.over") }; }, document.querySelectorAll(".cap-wait, .cap-left").forEach((x) => { x.dataset.left = "0"; }))`)
	s.until("that it rings", `window.rang`)
	if !js[bool](s, `window.rang.over && window.rang.says === "feel hose"`) {
		t.Error("it rang, and neither the wait nor the drawing said why")
	}
	s.shot("s2-job-wait")

	// Search finds the note; the archive takes the job and gives it back.
	find := func(query string) int {
		s.do(chromedp.Navigate(l.server.URL + "/?" + query))
		s.until("the list of jobs", `document.getElementById("joblist")`)
		return js[int](s, `document.querySelectorAll(".jobs > li").length`)
	}
	if n := find("q=marzipan"); n != 1 {
		t.Errorf("search finds %d jobs by a word of its note", n)
	}
	if n := find("q=gearbox"); n != 0 {
		t.Errorf("search finds %d jobs by a word that is nowhere", n)
	}
	s.do(chromedp.Navigate(l.server.URL + "/jobs/" + id))
	s.tap(`#archive`)
	s.until("the list of jobs", `location.pathname === "/" && document.getElementById("joblist")`)
	if n, archived := find(""), find("archived=true"); n != 0 || archived != 1 {
		t.Errorf("%d in hand, %d in the archive", n, archived)
	}
	s.do(chromedp.Navigate(l.server.URL + "/jobs/" + id))
	s.tap(`#archive`)
	s.until("the list of jobs", `location.pathname === "/" && document.getElementById("joblist")`)
	if n := find(""); n != 1 {
		t.Errorf("%d in hand after it was taken out", n)
	}

	// The job as one file, taken in by another bench with its photo.
	zip := filepath.Join(t.TempDir(), "job.zip")
	if err := os.WriteFile(zip, l.read("/api/jobs/"+id+"/export"), 0o600); err != nil {
		t.Fatal(err)
	}
	other := lay(t)
	s.do(chromedp.Navigate(other.server.URL + "/"))
	s.tap(`.import summary`)
	s.do(chromedp.SetUploadFiles(chromedp.CSS(`#import`), []string{zip}))
	s.until("the job on the other bench", `location.pathname.startsWith("/jobs/") && document.querySelector(".photos img")`)
	if !js[bool](s, `document.querySelector(".notes").textContent.includes("marzipan")`) {
		t.Error("the note was lost on the way")
	}
}

// On a device that was in use before, what was read stands by the cautions' texts.
func TestACautionThatWasReadInAJobStaysOneLine(t *testing.T) {
	l := lay(t)
	s := tab(t, phone)
	id := l.job(hotCar)
	const panel = `document.querySelector("#place[open] [data-check=hose-squeeze]")`
	read := func(of string) {
		js[chromedp.Void](s, fmt.Sprintf(`void localStorage.setItem("weephole-read-%s", JSON.stringify([...%s.querySelectorAll("[data-cautions] li")].map(li => %s)))`, id, panel, of))
	}
	whole := func(when string, want bool) {
		s.do(chromedp.Navigate(l.server.URL + "/jobs/" + id))
		s.tap(s.plate("upper-hose"))
		s.until("the place", panel)
		if got := js[bool](s, panel+`.querySelector("[data-cautions]").open`); got != want {
			t.Errorf("%s, the cautions stand whole: %v", when, got)
		}
	}
	whole("never read", true)
	read(`li.textContent`)
	whole("read and kept by their texts", false)
	read(`"another"`)
	whole("another one read", true)
	s.tap(`#place [data-check=hose-squeeze] .word:nth-child(2)`)
	s.until("the answer", `document.querySelector("#place[open] .answered")`)
	if got := js[string](s, fmt.Sprintf(`localStorage.getItem("weephole-read-%s")`, id)); got != `["another","moving-parts","fan","exhaust-gas"]` {
		t.Errorf("kept as read: %s", got)
	}
	whole("read and kept by their hazards", false)
}

// What was entered by mistake is taken back by one tap, without a question.
func TestAnEntryIsUndoneByOneTap(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	s := tab(t, phone)
	s.do(chromedp.Navigate(l.server.URL+"/jobs/"+id), chromedp.SendKeys(chromedp.CSS("#say-text"), "fan does not run"), chromedp.SendKeys(chromedp.CSS("#say-text"), "\r"))
	s.tap("#offers button")
	s.until("that it can be undone", `document.querySelector("[data-undo]")?.textContent.startsWith("Undo")`)
	s.tap("[data-undo]")
	s.until("that it is struck out", `document.querySelector(".findings > li.struck")`)
	if js[bool](s, `document.querySelector("#strike").open`) {
		t.Error("a question is asked")
	}

	// A note, and the wait for the cap, which stands among the notes.
	s.types("#note input", "smells of marzipan")
	s.tap("#note button")
	s.tap("[data-undo-note]")
	s.until("that the note is taken back", `document.querySelector(".notes li.struck")?.textContent.includes("marzipan")`)
	s.types("#cool input", "98")
	s.tap("#cool button")
	s.until("the wait", `document.querySelector(".cap-wait")`)
	s.tap("[data-undo-note]")
	s.until("that the wait is gone", `!document.querySelector(".cap-wait") && !document.querySelector(".cap-left")`)
	if page := l.page("/jobs/" + id + "/history"); !strings.Contains(page, "took a note back</b>: smells of marzipan") && !strings.Contains(page, "Took a note back</b>: smells of marzipan") {
		t.Error("the history does not say that the note was taken back")
	}

	// A further reading joins the finding of its check, and a correction changes it: each
	// gives back what stood before.
	first := l.found(id, `{"check":"hose-temps","read":{"upper-hose":"92 °C"}}`)
	row := fmt.Sprintf(`document.querySelector("[data-finding='%s']")`, first.ID)
	s.until("the first reading", row)
	s.do(chromedp.SendKeys(chromedp.CSS("#say-text"), "lower hose 41 °C"), chromedp.SendKeys(chromedp.CSS("#say-text"), "\r"))
	s.tap("#offers button")
	s.until("the joined reading", row+`.textContent.match(/41.°C/)`)
	s.tap("[data-undo]")
	s.until("that the first reading stands alone", `!`+row+`.textContent.match(/41.°C/) && `+row+`.textContent.match(/92.°C/) && !`+row+`.classList.contains("struck")`)
	s.tap("[data-finding='" + first.ID + "'] [data-correct]")
	s.until("the form", `document.querySelector("#place[open] [data-reading=upper-hose]")?.value === "92"`)
	s.until("the history of the place", `document.querySelectorAll("#place .at-place li").length === 3`)
	js[chromedp.Void](s, `(f => { f.querySelector("[data-reading=upper-hose]").value = "29"; f.requestSubmit(f.querySelector("button.main")); })(document.querySelector("#place form[data-check]"))`)
	s.until("the correction, or a doubt about it", `document.querySelector("#place .answer-box, #place .doubt button")`)
	js[chromedp.Void](s, `[...document.querySelectorAll("#place .doubt button")].find(b => b.textContent.includes("is right"))?.click()`)
	s.until("the correction", `document.querySelector("#place .answer-box") && `+row+`.textContent.match(/29.°C/)`)
	s.tap(".answer-bar button.main")
	s.tap("[data-undo]")
	s.until("that the correction is taken back", row+`.textContent.match(/92.°C/) && !`+row+`.classList.contains("struck")`)
	if n := len(l.entries(id)); n != 12 { // the job; fan, note and wait, each undone; a reading; one joined and one corrected, each undone
		t.Errorf("%d entries", n)
	}
}
