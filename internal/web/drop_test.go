package web_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// A log that is dropped on the page of the proof lies in its form, whose part is open, and
// one tap keeps it.
func TestALogIsDroppedOnTheProof(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	l.found(id, `{"repair":"replace-thermostat","changed":"unknown"}`)
	s := tab(t, desktop)
	s.do(chromedp.Navigate(l.server.URL + "/jobs/" + id + "/proof"))
	s.until("the form", `document.querySelector(".fold.wired form[data-send=log]")`)
	js[chromedp.Void](s, `void (document.getElementById("run").open = false)`)
	log, err := json.Marshal(warmUp())
	if err != nil {
		t.Fatal(err)
	}
	js[chromedp.Void](s, fmt.Sprintf(`(() => { const d = new DataTransfer(); d.items.add(new File([%s], "after.csv")); for (const kind of ["dragover", "drop"]) document.querySelector("h2.title").dispatchEvent(new DragEvent(kind, {dataTransfer: d, bubbles: true, cancelable: true})); })()`, log))
	if !js[bool](s, `(f => f.elements.file.files[0]?.name === "after.csv" && f.checkVisibility({contentVisibilityAuto: true}) && f.contains(document.activeElement) && !document.querySelector(".dropping"))(document.querySelector("form[data-send=log]"))`) {
		t.Fatalf("the log is not in its form: %s", js[string](s, `document.querySelector("form[data-send=log]").innerText`))
	}
	s.axe("a log was dropped")
	s.tap("form[data-send=log] button.main")
	s.until("that it is kept", `document.querySelector("form[data-send=log] .told").textContent.includes("judged")`)
	entries := l.entries(id)
	if last := entries[len(entries)-1]; !strings.Contains(string(last.Body), "after.csv") {
		t.Errorf("the newest entry is %s", last.Body)
	}
}
