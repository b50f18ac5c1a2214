package web_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// small are the smallest screens that must lose nothing: a narrow phone, and a desk's
// 1440 by 900 at 200 % zoom, which leaves half as many CSS pixels (WCAG 2.2, 1.4.4 and
// 1.4.10).
var small = []size{{phone.name, 360, 640, true}, {"zoomed", 720, 450, false}}

// cutText are the texts of which something is hidden: whose lines reach out of an
// ancestor that hides what overflows. A line of two pixels is rounding and the tail of a
// letter. What is hidden on purpose is told in another
// way: the first caution stands whole in the list that its line opens.
const cutText = `(() => {
	const out = [], walker = document.createTreeWalker(document.querySelector("body"), NodeFilter.SHOW_TEXT);
	for (let n; n = walker.nextNode();) {
		const e = n.parentElement;
		if (!n.textContent.trim() || e.closest(".hidden, svg, script, select, option, .skip, .tabs .state, .worked, .first-caution, dialog:not([open])") || !e.checkVisibility({contentVisibilityAuto: true, visibilityProperty: true, opacityProperty: true})) continue;
		const range = document.createRange(); range.selectNodeContents(n);
		const r = range.getBoundingClientRect();
		if (!r.width) continue;
		for (let p = e; p && p !== document.body; p = p.parentElement) {
			const st = getComputedStyle(p), b = p.getBoundingClientRect();
			if (["auto", "scroll"].includes(st.overflowX) || ["auto", "scroll"].includes(st.overflowY)) break;
			if (st.overflowX === "visible") continue;
			if (r.right > b.right + 2 || r.left < b.left - 2 || r.bottom > b.bottom + 4 || r.top < b.top - 4) { out.push((p.className?.baseVal ?? p.className ?? p.tagName) + ": " + n.textContent.trim().slice(0, 60)); break; }
		}
	}
	return out;
})()`

// overlapping are pairs of targets that lie over one another. A bar that stays at an
// edge is scrolled away from; the drawing's names have a test of their own.
const overlapping = `(() => {
	const stays = (e) => { for (; e; e = e.parentElement) if (["fixed", "sticky"].includes(getComputedStyle(e).position)) return true; return false; };
	const all = [...document.querySelectorAll("a, button, input, select, textarea, summary")].filter(e => !e.closest("svg, dialog:not([open]), .skip") && !(e.type === "hidden") && e.checkVisibility({opacityProperty: true, visibilityProperty: true}) && !stays(e)).map(e => [e, e.getBoundingClientRect()]).filter(([, r]) => r.width > 1 && r.height > 1);
	const out = [];
	all.forEach(([a, r], i) => { for (const [b, q] of all.slice(i + 1)) {
		const w = Math.min(r.right, q.right) - Math.max(r.left, q.left), h = Math.min(r.bottom, q.bottom) - Math.max(r.top, q.top);
		if (w > 1 && h > 1 && !a.contains(b) && !b.contains(a)) out.push([a, b].map(e => e.tagName + " " + (e.textContent.trim() || e.name || e.id).slice(0, 30)).join(" / ") + " by " + Math.round(w) + "x" + Math.round(h));
	} });
	return out;
})()`

// pagesOfAJob are all pages of one job, and what each waits for.
var pagesOfAJob = []struct{ path, until string }{
	{"", `document.querySelector(".step")`}, {"/plan", `document.querySelector(".tree")`},
	{"/repair?repair=replace-thermostat", `document.querySelector(".work .order")`}, {"/proof?repair=replace-thermostat&wait=1", `document.querySelector(".verdict-box")`},
	{"/letter?wait=1", `document.querySelector(".paper")`}, {"/closing", `document.querySelector("[data-send=close]")`}, {"/edit", `document.querySelector("[name=car]")`},
	{"/history", `document.querySelector(".history")`}, {"/files", `document.querySelector("h2")`}, {"/places/upper-hose", `document.querySelector(".check")`},
	{"/drive?idle=10&air=30&wait=1", `document.querySelector("#worked")`}, {"/logs/run.csv", `document.querySelector(".log-page svg")`},
}

func TestASmallScreenAndADoubleZoomLoseNothing(t *testing.T) {
	l := lay(t)
	id := l.job(strings.NewReplacer("blue estate, 1.8 petrol", "Quillet Corrie 1.8 estate, automatic", "Gets hot in town", "Gets hot in town, fine on the motorway").Replace(hotCar))
	l.must("POST", "/api/jobs/"+id+"/files?name=run.csv", []byte(warmUp()), nil)
	finding := ""
	for _, f := range twelve[:3] {
		finding = l.found(id, f).ID
	}
	l.must("GET", "/api/jobs/"+id+"/next", nil, nil)
	for _, sz := range small {
		s := tab(t, sz)
		for _, p := range pagesOfAJob {
			t.Run(fmt.Sprintf("%s %dx%d", strings.SplitN(p.path, "?", 2)[0], sz.width, sz.height), func(t *testing.T) {
				s.t = t
				s.do(chromedp.Navigate(l.server.URL + "/jobs/" + id + p.path))
				s.until("the page", p.until)
				s.shot("fit" + strings.NewReplacer("/", "-", "?", "-", "&", "-").Replace(p.path) + fmt.Sprint("-", sz.width))
				s.losesNothing()
			})
		}
		for _, path := range otherPages {
			t.Run(fmt.Sprintf("%s %dx%d", path, sz.width, sz.height), func(t *testing.T) {
				s.t = t
				s.do(chromedp.Navigate(l.server.URL + strings.NewReplacer("{job}", "/jobs/"+id, "{finding}", finding).Replace(path)))
				s.until("the page", `document.readyState === "complete" && document.querySelector("main").textContent.trim()`)
				s.losesNothing()
			})
		}
		s.t = t
		s.do(chromedp.Navigate(l.server.URL + "/jobs/" + id))
		if !js[bool](s, `document.querySelector("#strip .warn li").textContent === document.querySelector("#strip .first-caution").textContent`) {
			t.Error("the list of cautions does not begin with the line that is cut")
		}
	}
	// A wide screen is used for more, and not left empty.
	for _, sz := range kept[3:] {
		s := tab(t, sz)
		for _, p := range pagesOfAJob {
			if !strings.Contains(" /repair /proof /letter /closing /drive", " "+strings.SplitN(p.path, "?", 2)[0]) || p.path == "" {
				continue
			}
			s.do(chromedp.Navigate(l.server.URL + "/jobs/" + id + p.path))
			s.until("the page", p.until)
			s.shot("wide" + strings.NewReplacer("/", "-", "?", "-", "&", "-").Replace(p.path) + fmt.Sprint("-", sz.width))
			if got := js[width](s, usedWidth); got.Left > wideMargin || int(sz.width)-got.Right > wideMargin {
				t.Errorf("%s, %d px wide: what is read and entered reaches from %d to %d", p.path, sz.width, got.Left, got.Right)
			}
			s.losesNothing()
		}
		s.do(chromedp.Navigate(l.server.URL + "/jobs/" + id + "/repair?repair=replace-thermostat"))
		s.until("the sheet", `document.querySelector(".work .order")`)
		if !js[bool](s, `[...document.querySelectorAll(".work .cautions, .done .word")].every(e => e.getBoundingClientRect().bottom <= innerHeight)`) {
			t.Errorf("%d px wide: cautions, or what was done, are below the first screen", sz.width)
		}
	}
}

// usedWidth is from where to where a page's columns have text and fields.
const usedWidth = `(() => {
	const parts = [...document.querySelectorAll(".cols :is(p, li, td, input, select, summary, h2, h3)")].filter(e => e.checkVisibility()).map(e => e.getBoundingClientRect()).filter(r => r.width > 1);
	return {left: Math.round(Math.min(...parts.map(r => r.left))), right: Math.round(Math.max(...parts.map(r => r.right)))};
})()`

type width struct{ Left, Right int }

// wideMargin is how much of a wide screen may be empty at either side, px: judgement, the
// page's own margin and the frame of a letter.
const wideMargin = 60

// losesNothing holds a page to its screen's width, its texts to their boxes and its
// targets apart.
func (s *screen) losesNothing() {
	s.t.Helper()
	if wide := js[int](s, `document.documentElement.scrollWidth - innerWidth`); wide > 0 {
		s.t.Errorf("the page is %d px wider than the screen", wide)
	}
	for _, x := range js[[]string](s, cutText) {
		s.t.Errorf("cut: %s", x)
	}
	for _, x := range js[[]string](s, overlapping) {
		s.t.Errorf("over one another: %s", x)
	}
}

// otherPages are those that are no page of a job, or one of a finding in it.
var otherPages = []string{"/", "/?q=nothing-like-it", "/new", "/settings", "/tally", "/people", "/me", "/login", "/results", "/nothing-there", "{job}/findings/{finding}"}

// roomIn are the empty places of the job's columns: for each column the largest gap
// between two of its parts, and how far its end lies above that of the longest column.
const roomIn = `(() => {
	const parts = [...document.querySelectorAll(".say, .drawing, .side > *, .extra > *, .under > *, .rest > [data-part], .filed > *")].map(e => [e, e.getBoundingClientRect()]).filter(([, r]) => r.height > 1);
	const end = Math.max(...parts.map(([, r]) => r.bottom)), cols = new Map();
	const top = document.querySelector(".sheet").getBoundingClientRect().top;
	const lefts = [...new Set(parts.map(([, r]) => Math.round(r.left)))].sort((a, b) => a - b);
	for (const x of lefts) cols.set(x, parts.filter(([, r]) => r.left - 2 <= x && r.right > x + 100).map(([e, r]) => [r.top, r.bottom, e.dataset.part || e.id || e.className]).sort((a, b) => a[0] - b[0]));
	return [...cols].map(([x, list]) => {
		let at = list[0][1], gap = list[0][0] - top, where = "above " + list[0][2];
		for (const [t, b, name] of list.slice(1)) { if (t - at > gap) { gap = t - at; where = "above " + name; } at = Math.max(at, b); }
		return {x, gap: Math.round(gap), where, short: Math.round(end - at)};
	});
})()`

// mostGap is how much may be empty between two parts of a column, px: judgement, a heading
// with a line or two. Below a column that is shorter than the longest it is a third of the
// screen's height. How many causes and reasons an answer names moves the end of its
// column by 80 px, so a quarter cannot be kept.
const mostGap = 90

type column struct {
	X, Gap, Short int
	Where         string
}

func TestTheColumnsOfTheJobEndTogether(t *testing.T) {
	l := lay(t)
	noQuote := hotCar[:strings.Index(hotCar, ",\n\"quote\"")] + "}"
	for i, n := range []int{0, 3, 12, 3} {
		id := l.job([]string{hotCar, hotCar, hotCar, noQuote}[i])
		for _, f := range twelve[:n] {
			l.found(id, f)
		}
		l.must("GET", "/api/jobs/"+id+"/next", nil, nil)
		for _, sz := range kept[1:] {
			s := tab(t, sz)
			s.do(chromedp.Navigate(l.server.URL + "/jobs/" + id))
			s.until("the answer", `document.querySelector(".strip.settled") && document.querySelector(".step") && document.querySelector(".margin")`)
			s.shot(fmt.Sprintf("columns-%d-%d-%d", i, n, sz.width))
			for _, c := range js[[]column](s, roomIn) {
				if c.Gap > mostGap {
					t.Errorf("%d findings, %d px wide: %d px are empty %s", n, sz.width, c.Gap, c.Where)
				}
				if c.Short > int(sz.height)/3 {
					t.Errorf("%d findings, %d px wide: the column at %d ends %d px before the longest", n, sz.width, c.X, c.Short)
				}
				t.Logf("%d findings, %d px: the column at %d has %d px %s, ends %d px early", n, sz.width, c.X, c.Gap, c.Where, c.Short)
			}
		}
	}
}
