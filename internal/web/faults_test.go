package web_test

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// TestEachMistakeStandsAtItsField enters something wrong in each kind of form. What is
// wrong has to stand at the field, in words, with its part of the form open and all that
// was typed still there.
func TestEachMistakeStandsAtItsField(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	l.found(id, `{"repair":"replace-thermostat","changed":"unknown"}`)
	s := tab(t, phone)
	for _, form := range []struct{ path, form, field, wrong, other, typed, submit string }{
		{"/repair", "[data-send=repair]", "[name=parts]", "a lot", "[name=note]", "new seal too", "button[value=unknown]"},
		{"/repair", "[data-send=repair]", "[name=minutes]", "long", "[name=part]", "T 82", "button[value=unknown]"},
		{"/repair", "[data-send=closing]", `[name="coolant.mix"]`, "strong", `[name="coolant.looked"]`, "rusty", "button"},
		{"/closing", "[data-send=close]", "[name=charged]", "much", "[name=watch]", "the level", "button[value=close]"},
		{"/places/upper-hose", "[data-check=hose-temps]", "[data-reading=upper-hose]", "warm", "[data-note]", "by the clip", "button.main"},
		{"/places/upper-hose", "[data-check=hose-temps]", "[data-reading=upper-hose]", "", "[data-note]", "by the clip", "button.main"},
		{"", "#cool", "[name=coolant]", "hot", "", "", "button"},
	} {
		s.do(chromedp.Navigate(l.server.URL + "/jobs/" + id + form.path))
		field, other := form.form+" "+form.field, form.form+" "+form.other
		s.until("the form", fmt.Sprintf(`document.querySelector('%s')`, field))
		if form.path == "/repair" {
			s.until("the sheet to be wired", `!document.querySelector(".fold:not(.wired)")`)
		}
		js[chromedp.Void](s, fmt.Sprintf(`void (document.querySelector('%s').value = %q)`, field, form.wrong))
		if form.other != "" {
			js[chromedp.Void](s, fmt.Sprintf(`void (document.querySelector('%s').value = %q)`, other, form.typed))
		}
		js[chromedp.Void](s, fmt.Sprintf(`document.querySelector('%s').requestSubmit(document.querySelector('%s %s'))`, form.form, form.form, form.submit))
		s.until("what is wrong with "+field, fmt.Sprintf(`document.querySelector('%s .problem, %s .told:not(:empty)')`, form.form, form.form))
		got := js[struct {
			At, Says, Told, Value, Other string
			Seen, Focused                bool
		}](s, fmt.Sprintf(`(f => ({at: document.getElementById(f.getAttribute("aria-describedby"))?.textContent ?? "", says: document.querySelector('%s .problem')?.textContent ?? "",
			told: document.querySelector('%s .told').textContent, value: f.value, other: document.querySelector('%s')?.value ?? "", seen: f.checkVisibility({contentVisibilityAuto: true}), focused: f === document.activeElement}))(document.querySelector('%s'))`, form.form, form.form, strings.TrimSuffix(other, " "), field))
		if got.At == "" || got.At != got.Says || got.Told != "" || got.Value != form.wrong || form.other != "" && got.Other != form.typed || !got.Seen || !got.Focused {
			t.Errorf("%s, %s: %+v", form.path, form.field, got)
		}
		if key := regexp.MustCompile(`\bread\.|closing\.|coolant\.[a-z]|upper-hose`).FindString(got.At); key != "" {
			t.Errorf("%s speaks of %q: %s", form.path, key, got.At)
		}
		s.shot("wrong" + strings.ReplaceAll(form.path, "/", "-"))
	}
	s.axe("a form with a mistake")

	for path, want := range map[string][]string{
		"/drive?town=soon&climb=x&air=warm": {"town", "climb", "air"},
		"/drive?town=5&air=90":              {"air"},
		"/plan?rate=cheap&leave-in=90+min":  {"rate"},
		"/plan?leave-in=soon":               {"leave-in"},
	} {
		page := l.page("/jobs/" + id + path + "&wait=1")
		for _, name := range want {
			if !regexp.MustCompile(`name="` + name + `"[^>]*aria-invalid="true"[^>]*><span class="problem" id="w-` + name + `">[A-Z"“]`).MatchString(strings.ReplaceAll(page, "&#34;", `"`)) {
				t.Errorf("%s: nothing stands at %s", path, name)
			}
		}
		if n := strings.Count(page, `class="problem"`); n != len(want) {
			t.Errorf("%s: %d lines of what is wrong", path, n)
		}
	}
}
