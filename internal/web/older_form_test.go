package web_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"html"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"weephole/internal/store"
	"weephole/internal/web"
)

// An older form is one whose page was opened before somebody else kept his: it never wins
// without a word, and never takes away what its author did not touch.

// over is what a page's form was made from.
func over(t *testing.T, page, name string) string {
	t.Helper()
	m := regexp.MustCompile(`name="` + name + `" value="([^"]*)"`).FindStringSubmatch(page)
	if m == nil {
		t.Fatalf("the form does not say what it was made from: no %q in\n%.3000s", name, page)
	}
	return html.UnescapeString(m[1])
}

// savedWhole are the forms that show what stands and save it, with the field that says what
// they were made from; "" where the script says so with each entry. The others only add
// something, or do one thing.
var savedWhole = map[string]string{
	`action="/settings"`: "over", `action="/settings/logo"`: "over", `action="/passphrase"`: "over", `action="/people/{{.ID}}/role"`: "was",
	`action="{{if .ID}}/jobs/{{.ID}}/edit{{else}}/new{{end}}"`: "seen", `action="/me/secret"`: "now",
	`data-send="close"`: "", `data-send="closing"`: "", `data-send="maker"`: "", `data-check="{{.ID}}"`: "",
}

var addsOrActs = []string{
	`data-send="repair"`, `data-send="log"`, `data-repairs`, `id="say"`, `id="bring"`, `id="cool"`, `id="note"`, `method="get"`, `method="dialog"`, `class="read-off"`,
	`action="/who"`, `action="/login"`, `action="/logout"`, `action="/demo"`, `action="/me/shop"`, `action="/me/sessions/{{.Token}}/end"`, `action="/sessions/{{.Token}}/end"`,
	`action="/join/{{.Word}}"`, `action="/people/invite"`, `action="/people/{{.ID}}/remove"`, `action="/invitations/{{.Token}}/withdraw"`,
	`action="{{.To}}"`, // of the failure page: it sends once more what another form sent, which says so itself
	`action="/jobs/{{.ID}}/hand"`, `action="/jobs/{{$id}}/files/{{.Name}}/remove"`,
}

func TestEveryFormThatIsSavedWholeSaysWhatItWasMadeFrom(t *testing.T) {
	form := regexp.MustCompile(`(?s)<form[^>]*>.*?</form>`)
	files, err := filepath.Glob("templates/*.html")
	if err != nil {
		t.Fatal(err)
	}
	met := map[string]bool{}
	for _, name := range files {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range form.FindAllString(string(text), -1) {
			known := false
			for mark, field := range savedWhole {
				if head, _, _ := strings.Cut(f, ">"); !strings.Contains(head, mark) {
					continue
				}
				known, met[mark] = true, true
				if field != "" && !strings.Contains(f, `name="`+field+`"`) {
					t.Errorf("%s: the form with %s has no field %q", name, mark, field)
				}
			}
			for _, mark := range addsOrActs {
				known = known || strings.Contains(f, mark)
			}
			if !known {
				t.Errorf("%s: does this form save what stands? Say so in this test, and let it say what it was made from: %.150s", name, f)
			}
		}
	}
	if len(met) != len(savedWhole) {
		t.Errorf("met only %v", met)
	}
}

// posted sends a form as a browser does, and gives the page that it leads to.
func (v *visitor) posted(path string, form url.Values) (int, string) {
	v.Helper()
	status, page := v.do("POST", path, form)
	if status == http.StatusSeeOther {
		to, _, _ := strings.Cut(path, "/logo")
		_, page = v.do("GET", to, nil)
	}
	return status, page
}

func TestAnOlderFormOfTheSettingsTakesNothingAway(t *testing.T) {
	l := lay(t)
	ada, bo := l.visitor(), l.visitor()
	ada.do("POST", "/who", url.Values{"who": {"Ada"}, "to": {"/"}})
	l.must("PUT", "/api/settings", web.ShopInput{Units: "metric", Rate: "€80/h", Tools: []string{"scan-tool"}, Lacks: []string{}}, nil)
	_, adas := ada.do("GET", "/settings", nil)
	_, bos := bo.do("GET", "/settings", nil)
	form := func(page, name, rate string) url.Values {
		f := url.Values{"over": {over(t, page, "over")}, "units": {"metric"}, "name": {name}, "rate": {rate}}
		for _, m := range regexp.MustCompile(`name="tool" value="([^"]+)" checked`).FindAllStringSubmatch(page, -1) {
			f.Add("tool", m[1])
		}
		return f
	}
	// Both change something else: both are kept.
	ada.posted("/settings", form(adas, "", "€90/h"))
	if status, page := bo.posted("/settings", form(bos, "Saltmarsh Lane Motors", "€80/h")); status != http.StatusSeeOther || !strings.Contains(page, `value="€90/h"`) {
		t.Errorf("the rate that another had set is gone: %d", status)
	}
	// Both change the same: the second is shown both, and keeps what he typed.
	ada.posted("/settings", form(adas, "", "€95/h"))
	_, adas = ada.do("GET", "/settings", nil)
	ada.posted("/settings", form(adas, "Saltmarsh Lane Motors", "€95/h"))
	status, page := bo.posted("/settings", form(bos, "Saltmarsh Lane Motors", "€100/h"))
	if status != http.StatusConflict || !strings.Contains(page, "Labour rate: Ada wrote “€95/h” meanwhile, you wrote “€100/h”.") || !strings.Contains(page, `name="rate" value="€100/h"`) {
		t.Fatalf("an older form: %d %.2000s", status, page)
	}
	var now web.ShopInput
	l.must("GET", "/api/settings", nil, &now)
	if now.Rate != "€95/h" || now.Name != "Saltmarsh Lane Motors" || len(now.Tools) != 1 {
		t.Errorf("what stands: %+v; the form knows nothing of tools at hand", now)
	}
	if status, page = bo.posted("/settings", form(page, "Saltmarsh Lane Motors", "€100/h")); status != http.StatusSeeOther || !strings.Contains(page, `value="€100/h"`) {
		t.Errorf("he has seen both and decides: %d", status)
	}
	// A program that says what it saw is treated the same.
	var f web.Failure
	change := web.SettingsChange{ShopInput: web.ShopInput{Rate: "€70/h"}, Over: &web.ShopInput{Rate: "€80/h"}}
	if status := l.ask("PUT", "/api/settings", change, &f); status != http.StatusConflict || !strings.Contains(string(f.Error.Standing), "€100/h") {
		t.Errorf("a program: %d %+v", status, f.Error)
	}
	if err := json.Unmarshal(f.Error.Standing, change.Over); err != nil {
		t.Fatal(err)
	}
	change.ShopInput = *change.Over
	change.Rate = "€70/h"
	l.must("PUT", "/api/settings", change, &now)
	if now.Rate != "€70/h" || now.Name != "Saltmarsh Lane Motors" {
		t.Errorf("it decides: %+v", now)
	}
}

func TestAnOlderFormOfTheLogoTakesNothingAway(t *testing.T) {
	l := lay(t)
	send := func(fields map[string]string, file []byte) (int, string) {
		var b bytes.Buffer
		form := multipart.NewWriter(&b)
		for name, value := range fields {
			_ = form.WriteField(name, value)
		}
		if file != nil {
			w, err := form.CreateFormFile("logo", "logo.png")
			if err != nil {
				t.Fatal(err)
			}
			_, _ = w.Write(file)
		}
		form.Close()
		res, err := l.client.Post(l.server.URL+"/settings/logo", form.FormDataContentType(), &b)
		if err != nil {
			t.Fatal(err)
		}
		defer res.Body.Close()
		var page bytes.Buffer
		_, _ = page.ReadFrom(res.Body)
		return res.StatusCode, page.String()
	}
	logoOver := func(page string) string {
		_, form, _ := strings.Cut(page, `action="/settings/logo"`)
		return over(t, form, "over")
	}
	older := logoOver(l.page("/settings"))
	if status, _ := send(map[string]string{"do": "keep", "over": older}, logoOf(t, 10)); status != http.StatusOK {
		t.Fatal(status)
	}
	stands := l.read("/api/settings/logo")
	status, page := send(map[string]string{"do": "keep", "over": older}, logoOf(t, 200))
	if status != http.StatusConflict || !strings.Contains(page, "Somebody else changed the logo meanwhile") || !bytes.Equal(l.read("/api/settings/logo"), stands) {
		t.Errorf("a picture from an older form: %d", status)
	}
	if status, _ := send(map[string]string{"do": "remove", "over": older}, nil); status != http.StatusConflict || !bytes.Equal(l.read("/api/settings/logo"), stands) {
		t.Errorf("taken away by an older form: %d", status)
	}
	// The picture that he chose is still in the form, and now it goes over the one that he sees.
	own := map[string]string{"do": "own", "over": logoOver(page), "own": over(t, page, "own")}
	if status, _ := send(own, nil); status != http.StatusOK || bytes.Equal(l.read("/api/settings/logo"), stands) {
		t.Errorf("he has seen both and decides: %d", status)
	}
	res, err := l.client.Get(l.server.URL + "/api/settings/logo")
	if err != nil {
		t.Fatal(err)
	}
	res.Body.Close()
	var f web.Failure
	for _, method := range []string{"PUT", "DELETE"} {
		if status := l.ask(method, "/api/settings/logo", logoOf(t, 30), &f, "If-Match", `"older"`); status != http.StatusConflict {
			t.Errorf("a program's %s over another logo: %d", method, status)
		}
	}
	l.must("DELETE", "/api/settings/logo", nil, nil, "If-Match", res.Header.Get("ETag"))
}

func TestAnOlderFormOfThePeopleTakesNothingAway(t *testing.T) {
	l, _, _ := guarded(t)
	owner, ada, bo := l.visitor(), l.visitor(), l.visitor()
	owner.enters("", "Olga", phrase)
	ada.joins(owner, "Ada", store.Owner)
	bo.joins(owner, "Bo", store.Viewer)
	var people []store.Person
	ada.gives("GET", "/api/people", nil, &people)
	role := "/people/" + people[1].ID + "/role"
	ada.posted(role, url.Values{"role": {"mechanic"}, "was": {"viewer"}})
	status, page := owner.do("POST", role, url.Values{"role": {"owner"}, "was": {"viewer"}})
	if status != http.StatusConflict || !strings.Contains(page, "You chose owner") || !strings.Contains(page, `<b>Bo</b>, mechanic`) || !regexp.MustCompile(`w-`+people[1].ID+`">[^/]*<option selected>owner`).MatchString(page) {
		t.Errorf("a role from an older form: %d %.3000s", status, page)
	}
	if status, _ := owner.do("PUT", "/api/people/"+people[1].ID, web.RoleChange{Role: store.Owner, Was: store.Viewer}); status != http.StatusConflict {
		t.Errorf("a program: %d", status)
	}
	if status, _ := owner.do("POST", role, url.Values{"role": {"owner"}, "was": {"mechanic"}}); status != http.StatusSeeOther {
		t.Errorf("she has seen both and decides: %d", status)
	}
	// The passphrase: Bo is an owner by now, and sets one on a page from before Ada's.
	_, page = bo.do("GET", "/people", nil)
	older := over(t, page, "over")
	if status, _ := ada.do("POST", "/passphrase", url.Values{"passphrase": {"sleepy gasket violin"}, "over": {older}}); status != http.StatusSeeOther {
		t.Fatal(status)
	}
	for _, f := range []url.Values{{"passphrase": {"violet dipstick orchard"}, "over": {older}}, {"do": {"drop"}, "over": {older}}} {
		if status, page = bo.do("POST", "/passphrase", f); status != http.StatusConflict || !strings.Contains(page, "Somebody else changed the passphrase meanwhile") {
			t.Errorf("%v on an older form: %d", f, status)
		}
	}
	if status := l.visitor().enters("", "", "sleepy gasket violin"); status != http.StatusSeeOther {
		t.Errorf("Ada's passphrase does not hold: %d", status)
	}
	if status, _ := bo.do("POST", "/passphrase", url.Values{"passphrase": {"violet dipstick orchard"}, "over": {over(t, page, "over")}}); status != http.StatusSeeOther {
		t.Errorf("he has seen it and decides: %d", status)
	}
}

func TestTwoWhoLookUpDifferentDataAreBothKept(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	tell := func(what, says, seen string) (int, web.Failure) {
		var raw json.RawMessage
		var f web.Failure
		status := l.ask("PATCH", "/api/jobs/"+id+"/maker", []web.MakerDatumInput{{What: what, Says: says}}, &raw, "Weephole-Seen", seen)
		_ = json.Unmarshal(raw, &f)
		return status, f
	}
	for _, step := range [][3]string{{"bleed-screws", "two", "1"}, {"a name of our own", "yes", "1"}, {"another", "9 Nm", "1"}} {
		if status, f := tell(step[0], step[1], step[2]); status != http.StatusOK {
			t.Errorf("%v, while others tell other things: %d %s", step, status, f.Error.Message)
		}
	}
	status, f := tell("bleed-screws", "three", "1")
	if status != http.StatusConflict || !strings.Contains(f.Error.Message, "The maker’s data, bleed screws: somebody else wrote “two” meanwhile, you wrote “three”.") || strings.Contains(f.Error.Message, "9 Nm") {
		t.Errorf("the same thing twice: %d %q", status, f.Error.Message)
	}
	if status, f = tell("bleed-screws", "three", fmt.Sprint(f.Error.Seq)); status != http.StatusOK {
		t.Errorf("he has seen both and decides: %d", status)
	}
	var got web.JobReply
	l.must("GET", "/api/jobs/"+id, nil, &got)
	for _, says := range []string{`"three"`, `"yes"`, `"9 Nm"`} {
		if !strings.Contains(string(got.Document), says) {
			t.Errorf("%s is gone: %s", says, got.Document)
		}
	}
}

// The older page decides about the field that both have changed, and nothing else of what
// it shows is put over the other's.
func TestAnOlderPageOfTheClosingSendsOnlyWhatWasTypedIntoIt(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	at := "/api/jobs/" + id
	l.must("PATCH", at+"/closing", `{"showed":"valve stuck","tally":"no"}`, nil)
	s := tab(t, phone)
	s.do(chromedp.Navigate(l.server.URL + "/jobs/" + id + "/closing"))
	s.types(`[name=charged]`, "$250")
	l.must("PATCH", at+"/closing", `{"charged":"$198","watch":"look at the level","cause":"thermostat-shut"}`, nil, "Cookie", "weephole_who=Ada")
	s.tap(`[value=keep]`)
	s.until("both", `document.querySelector(".told").textContent.includes("Ada wrote “$198” meanwhile, you wrote “$250”")`)
	s.tap(`[value=keep]`)
	s.until("that it is kept", `document.querySelector(".told").textContent === "Kept."`)
	s.until("what stands", `document.querySelector("[name=watch]").value === "look at the level"`)
	var got web.JobReply
	l.must("GET", at, nil, &got)
	var doc struct {
		Closing struct{ Charged, Watch, Cause, Showed, Tally string }
	}
	if err := json.Unmarshal(got.Document, &doc); err != nil {
		t.Fatal(err)
	}
	if c := doc.Closing; c.Charged != "$250" || c.Watch != "look at the level" || c.Cause != "thermostat-shut" || c.Showed != "valve stuck" || c.Tally != "no" {
		t.Errorf("closing: %+v", c)
	}
	n := len(l.entries(id))
	s.tap(`[value=keep]`)
	s.until("that it is kept", `document.querySelector(".told").textContent === "Kept."`)
	if now := len(l.entries(id)); now != n {
		t.Errorf("keeping what was not changed made %d entries", now-n)
	}
}
