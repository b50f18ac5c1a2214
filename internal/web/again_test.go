package web_test

import (
	"html"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"weephole/internal/store"
	"weephole/internal/web"
)

// held is the form that a page holds to be sent again.
func held(t *testing.T, page string) (to string, form url.Values) {
	t.Helper()
	m := regexp.MustCompile(`(?s)<form method="post" action="([^"]*)"><p>What you typed.*?</form>`).FindStringSubmatch(page)
	if m == nil {
		return "", nil
	}
	form = url.Values{}
	for _, f := range regexp.MustCompile(`(?s)name="([^"]*)" value="([^"]*)"`).FindAllStringSubmatch(m[0], -1) {
		form.Add(html.UnescapeString(f[1]), html.UnescapeString(f[2]))
	}
	return html.UnescapeString(m[1]), form
}

// A form is sent by the browser itself and does not wait on the device as an entry does.
func TestWhatIsTypedIntoAFormOutlastsAStoreThatCannotKeepIt(t *testing.T) {
	f := &fullStore{}
	l := lay(t, func(c *web.Config) { f.Store, c.Store = c.Store, f })
	v := l.visitor()
	form := url.Values{"entry": {"new-job"}, "car": {`blue "estate" <1.8>`}, "words": {"It boils.\nThen it is fine."}, "sign": {"overheats", "steam"}}
	err := error(store.ErrFull)
	f.err.Store(&err)
	status, page := v.do("POST", "/new", form)
	to, kept := held(t, page)
	if status != http.StatusInsufficientStorage || to != "/new" {
		t.Fatalf("while the disk is full: %d, to %q", status, to)
	}
	for name := range form {
		if !slices.Equal(form[name], kept[name]) {
			t.Errorf("%s: typed %q, and the page holds %q", name, form[name], kept[name])
		}
	}
	f.err.Store(nil)
	for turn := range 2 {
		if status, _ := v.do("POST", to, kept); status != http.StatusSeeOther {
			t.Fatalf("sent again, turn %d: %d", turn, status)
		}
	}
	var jobs []store.Summary
	l.must("GET", "/api/jobs", nil, &jobs)
	if len(jobs) != 1 || jobs[0].Car != `blue "estate" <1.8>` {
		t.Errorf("jobs: %+v", jobs)
	}
}

func TestWhatIsTypedIntoAFormOutlastsALogin(t *testing.T) {
	l, a, cookies := withSession(t)
	v := l.visitor()
	for _, c := range cookies {
		v.client.Jar.SetCookies(nil, []*http.Cookie{c})
	}
	form := url.Values{"car": {"blue estate"}, "entry": {"new-job"}}
	a.away.Store(true)
	if status, page := v.do("POST", "/new", form); status != http.StatusServiceUnavailable || !strings.Contains(page, `value="blue estate"`) {
		t.Errorf("while the store is away: %d", status)
	}
	a.away.Store(false)
	v.do("POST", "/logout", nil)
	status, page := v.do("POST", "/new", form)
	to, kept := held(t, page)
	if status != http.StatusUnauthorized || kept.Get("car") != "blue estate" || !strings.Contains(page, `href="/login"`) {
		t.Fatalf("after logging out: %d %.500s", status, page)
	}
	v.enters("", "", phrase)
	if status, _ := v.do("POST", to, kept); status != http.StatusSeeOther {
		t.Errorf("sent again: %d", status)
	}
	// Nothing secret is ever sent back, and what is no form leads to the login as before.
	v.do("POST", "/logout", nil)
	if _, page := v.do("POST", "/me/secret", url.Values{"now": {ownSecret}, "next": {"another long secret here"}}); strings.Contains(page, ownSecret) {
		t.Error("the page shows a secret")
	}
	if status, _ := v.do("GET", "/new", nil); status != http.StatusSeeOther {
		t.Errorf("a page: %d", status)
	}
}
