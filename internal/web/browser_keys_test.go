package web_test

import (
	"fmt"
	"testing"

	"github.com/chromedp/chromedp"
)

// mostTabs is how often somebody may have to press Tab to reach what he wants: judgement.
const mostTabs = 120

// press presses keys; "\t" is Tab, "\r" Enter.
func (s *screen) press(keys string) {
	s.t.Helper()
	s.do(chromedp.KeyEvent(keys))
}

// tabTo goes by Tab to what a selector names, and fails where the focus is lost.
func (s *screen) tabTo(selector string) {
	s.t.Helper()
	s.until(selector, fmt.Sprintf("document.querySelector(%q)", selector))
	for n := range mostTabs {
		if js[bool](s, fmt.Sprintf("!!document.activeElement?.matches(%q)", selector)) {
			s.t.Logf("%d tabs to %s", n, selector)
			return
		}
		s.press("\t")
	}
	s.shot("lost")
	s.t.Fatalf("%d tabs did not reach %s; the focus is on %s", mostTabs, selector, js[string](s, "document.activeElement?.outerHTML.slice(0, 120)"))
}

// focused waits until something has the focus, and fails where nothing gets it: whoever
// works by keys would start at the top of the page again.
func (s *screen) focused(after string) {
	s.t.Helper()
	s.until("the focus after "+after, `document.activeElement && document.activeElement !== document.body`)
}

// TestAWholeJobByKeyboard works a job from the empty list to its closing without a
// pointer.
func TestAWholeJobByKeyboard(t *testing.T) {
	l := lay(t)
	s := tab(t, desktop)
	s.do(chromedp.Navigate(l.server.URL + "/"))
	s.tabTo(`a.button.main`)
	s.press("\r")
	s.until("the form", `document.activeElement?.name === "car"`)
	s.press("the green van\tgets hot in town")
	s.tabTo(`[name=sign][value=overheats]`)
	s.press(" ")
	s.tabTo(`[name=when][value=city]`)
	s.press(" ")
	s.tabTo(`button.main`)
	s.press("\r")
	for n := 1; n <= 3; n++ {
		s.until("the next step", `document.querySelector(".strip.settled, .strip.rough") && document.querySelector("#strip .go[data-check]")`)
		check := js[string](s, `document.querySelector("#strip .go").dataset.check`)
		s.tabTo(`#strip .go`)
		s.press("\r")
		s.until("the place", fmt.Sprintf(`document.querySelector("#place[open] [data-check=%s]")`, check))
		s.focused("the place opened")
		s.tabTo(fmt.Sprintf(`#place [data-check=%s] .word`, check))
		s.press("\r")
		s.until("the answer", `document.querySelector("#place[open] .answered")`)
		s.focused("the entry")
		s.tabTo(`.answer-bar button.main`)
		s.press("\r")
		s.until("the place to close", `!document.querySelector("#place[open]")`)
		s.until("the finding", fmt.Sprintf(`document.querySelectorAll(".findings > li").length === %d`, n))
		s.focused("the place closed")
	}
	s.tabTo(`.tabs a[href$="/repair"]`)
	s.press("\r")
	s.tabTo(`[data-send=repair] [name=changed][value=cured]`)
	s.press("\r")
	s.until("the proof", `location.pathname.endsWith("/proof")`)
	s.tabTo(`.tabs a[href$="/closing"]`)
	s.press("\r")
	s.tabTo(`[name=charged]`)
	s.press("$198")
	s.tabTo(`button[value=close]`)
	s.press("\r")
	s.until("the job to close", `document.querySelector("#strip .tag")?.textContent === "archived"`)
	s.until("that it is said", `document.querySelector("[data-send=close] .told").textContent`)
	s.focused("closing")
}
