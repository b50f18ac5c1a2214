package web_test

import (
	"context"
	"fmt"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/chromedp/chromedp"

	"weephole/internal/store"
	"weephole/internal/web"
)

// pickyStore fails to keep corrections, and keeps all else.
type pickyStore struct {
	store.Store
	full atomic.Bool
}

func (p *pickyStore) Append(ctx context.Context, e store.Entry) (store.Entry, bool, error) {
	if e.Kind == store.Corrected && p.full.Load() {
		return e, false, fmt.Errorf("keep an entry: %w", store.ErrFull)
	}
	return p.Store.Append(ctx, e)
}

func TestTheDeviceSaysWhatWaitsBehindWhatAndWhy(t *testing.T) {
	p := &pickyStore{}
	p.full.Store(true)
	l := lay(t, func(c *web.Config) { p.Store, c.Store = c.Store, p })
	id := l.job(hotCar)
	finding, other := l.found(id, `{"check":"level-cold","found":"low"}`).ID, l.found(id, `{"check":"fan-run","found":"runs"}`).ID
	s := tab(t, phone)
	s.do(chromedp.Navigate(l.server.URL + "/jobs/" + id))
	s.until("the page's script", `document.querySelectorAll(".findings > li").length === 2`)
	js[bool](s, fmt.Sprintf(`import(document.querySelector('script[src*="job.js"]').src.replace("job.js", "queue.js")).then((q) => {
		const at = "/api/jobs/%s";
		q.add({ method: "PUT", url: at + "/findings/%s", body: { check: "level-cold", found: "full" }, what: "the correction" });
		q.add({ method: "DELETE", url: at + "/findings/%[2]s?why=wrong+car", what: "strike out" });
		q.add({ method: "DELETE", url: at + "/findings/%s?why=wrong+car", what: "strike the other" });
		q.add({ method: "POST", url: at + "/notes", body: { text: "smells sweet" }, what: "note" });
		return true; })`, id, finding, other))
	s.until("what is held, and why", `document.getElementById("wire").innerText.includes("The correction waits: The disk is full")`)
	s.until("what waits behind it", `document.getElementById("wire").innerText.includes("Strike out waits: “The correction” comes first, because both are about the same.")`)
	s.until("the same in the list of findings", `document.getElementById("unsent").innerText.includes("not sent yet: “The correction” comes first")`)
	kinds := func() string {
		var list []string
		for _, e := range l.entries(id)[3:] {
			list = append(list, string(e.Kind))
		}
		return strings.Join(list, " ")
	}
	eventually(t, "what is about something else", func() bool { return kinds() == "struck noted" })
	s.axe("what waits on the device")
	s.shot("waits-behind")
	p.full.Store(false)
	s.until("all to be sent", `JSON.parse(localStorage.getItem("weephole-queue") || "[]").length === 0`)
	if got := kinds(); got != "struck noted corrected struck" {
		t.Errorf("the bench kept %s", got)
	}
	if text := js[string](s, `document.getElementById("wire").innerText`); text != "" && strings.Contains(text, "Not kept") {
		t.Errorf("the page says %q", text)
	}
}
