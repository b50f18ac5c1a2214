package web_test

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"weephole/internal/store"
	"weephole/internal/store/pgtest"
	"weephole/internal/web"
)

// awayStore is a store whose server can go away: it then keeps nothing and tells nothing.
type awayStore struct {
	store.Store
	away  atomic.Bool
	asked atomic.Int32 // how often it was asked for a session
}

func (a *awayStore) error(what string) error {
	if a.away.Load() {
		return fmt.Errorf("%s: %w", what, store.ErrAway)
	}
	return nil
}

func (a *awayStore) Session(ctx context.Context, token string, now time.Time) (store.Session, error) {
	a.asked.Add(1)
	if err := a.error("session"); err != nil {
		return store.Session{}, err
	}
	return a.Store.Session(ctx, token, now)
}

func (a *awayStore) Append(ctx context.Context, e store.Entry) (store.Entry, bool, error) {
	if err := a.error("keep an entry"); err != nil {
		return e, false, err
	}
	return a.Store.Append(ctx, e)
}

func (a *awayStore) Entries(ctx context.Context, job string, after int64) ([]store.Entry, error) {
	if err := a.error("read a job"); err != nil {
		return nil, err
	}
	return a.Store.Entries(ctx, job, after)
}

func (a *awayStore) Check(ctx context.Context) error {
	if err := a.error("check"); err != nil {
		return err
	}
	return a.Store.Check(ctx)
}

// withSession gives a client that is logged in, and a bench whose store can go away.
func withSession(t *testing.T, change ...func(*web.Config)) (*laid, *awayStore, []*http.Cookie) {
	t.Helper()
	a := &awayStore{}
	change = append(change, func(c *web.Config) {
		c.Guarded = true
		if err := web.SetPassphrase(t.Context(), c.Store, phrase); err != nil {
			t.Fatal(err)
		}
		a.Store, c.Store = c.Store, a
	})
	l := lay(t, change...)
	l.client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	return l, a, l.login("10.0.0.7", phrase).Cookies()
}

// with sends a request with cookies.
func (l *laid) with(cookies []*http.Cookie, method, path, body string) *http.Response {
	l.Helper()
	req, err := http.NewRequestWithContext(l.Context(), method, l.server.URL+path, strings.NewReader(body))
	if err != nil {
		l.Fatal(err)
	}
	for _, c := range cookies {
		req.AddCookie(c)
	}
	res, err := l.client.Do(req)
	if err != nil {
		l.Fatal(err)
	}
	return res
}

func TestAStoreThatIsAwayLogsNobodyOut(t *testing.T) {
	l, a, cookies := withSession(t)
	a.away.Store(true)
	for _, tt := range []struct{ method, path, body string }{
		{"GET", "/", ""}, {"GET", "/settings", ""}, {"GET", "/api/jobs", ""}, {"GET", "/api/events", ""}, {"POST", "/api/jobs", hotCar}, {"GET", "/join/anything", ""},
	} {
		res := l.with(cookies, tt.method, tt.path, tt.body)
		text, _ := io.ReadAll(res.Body)
		res.Body.Close()
		if res.StatusCode != http.StatusServiceUnavailable || res.Header.Get("Retry-After") == "" || !strings.Contains(string(text), "The database server does not answer") {
			t.Errorf("%s %s: %d, Retry-After %q, to %q: %s", tt.method, tt.path, res.StatusCode, res.Header.Get("Retry-After"), res.Header.Get("Location"), text)
		}
		if strings.Contains(string(text), "<title>Not found") {
			t.Errorf("%s: the page is called not found", tt.path)
		}
	}
	for path, want := range map[string]int{"/login": 200, "/healthz": 503} {
		res := l.with(cookies, "GET", path, "")
		res.Body.Close()
		if res.StatusCode != want {
			t.Errorf("GET %s: %d, want %d", path, res.StatusCode, want)
		}
	}
	a.away.Store(false)
	res := l.with(cookies, "GET", "/api/jobs", "")
	res.Body.Close()
	if res.StatusCode != http.StatusOK {
		t.Errorf("when the store is back: %d", res.StatusCode)
	}
	res = l.with(nil, "GET", "/api/jobs", "")
	res.Body.Close()
	if res.StatusCode != http.StatusUnauthorized {
		t.Errorf("without a session: %d", res.StatusCode)
	}
}

func TestAStreamOutlastsAStoreThatIsAway(t *testing.T) {
	l, a, cookies := withSession(t, web.PingEvery(20*time.Millisecond))
	stream := l.with(cookies, "GET", "/api/events", "")
	defer stream.Body.Close()
	lines := bufio.NewScanner(stream.Body)
	for lines.Scan() && !strings.HasPrefix(lines.Text(), "event: hello") {
	}
	a.away.Store(true)
	asked := a.asked.Load()
	for lines.Scan() { // the session is looked for before each ping
		if strings.HasPrefix(lines.Text(), ": still here") && a.asked.Load() > asked+1 {
			return
		}
	}
	t.Errorf("the stream ended while the store was away: %v", lines.Err())
}

func TestWhatIsTypedWhileTheStoreIsAwayArrivesLater(t *testing.T) {
	l, a, cookies := withSession(t)
	res := l.with(cookies, "POST", "/api/jobs", hotCar)
	var made web.Made
	err := json.NewDecoder(res.Body).Decode(&made)
	res.Body.Close()
	if err != nil {
		t.Fatal(err)
	}
	s := tab(t, desktop)
	s.comesIn(l, "", "", phrase)
	s.do(chromedp.Navigate(l.server.URL + "/jobs/" + made.ID))
	s.tap(s.plate("tank"))
	s.until("the place", `document.querySelector("#place[open] [data-check=level-cold]")`)
	js[bool](s, `window.stayed = true`)
	a.away.Store(true)
	s.tap(`#place [data-check=level-cold] [data-word=full]`)
	s.until("word that it waits", `document.getElementById("wire").textContent.includes("The database server does not answer")`)
	a.away.Store(false)
	s.until("all to be sent", `JSON.parse(localStorage.getItem("weephole-queue") || "[]").length === 0`)
	if !js[bool](s, `window.stayed === true`) {
		t.Errorf("the page was left for %s", js[string](s, `location.href`))
	}
	kept, err := l.keeper.Entries(t.Context(), made.ID, 0)
	if err != nil || len(kept) != 2 {
		t.Errorf("%d entries are kept, want 2: %v", len(kept), err)
	}
}

// The same with a real server, whose connections break while they are in use.
func TestADatabaseServerThatDiesLogsNobodyOut(t *testing.T) {
	server := pgtest.Own(t)
	l := lay(t, web.LookAgain(100*time.Millisecond), onServer(t, server.Database(t)), func(c *web.Config) {
		c.Guarded = true
		if err := web.SetPassphrase(t.Context(), c.Store, phrase); err != nil {
			t.Fatal(err)
		}
	})
	l.client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	known := l.visitor()
	known.enters("", "", phrase)
	cookies := l.login("10.0.0.7", phrase).Cookies()
	status := func(path string) (int, string) {
		res := l.with(cookies, "GET", path, "")
		defer res.Body.Close()
		text, _ := io.ReadAll(res.Body)
		return res.StatusCode, string(text)
	}
	if got, _ := status("/"); got != http.StatusOK {
		t.Fatalf("before: %d", got)
	}
	if err := server.Kill(); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{"/", "/api/jobs", "/login"} {
		if got, text := status(path); got != http.StatusServiceUnavailable || !strings.Contains(text, "The database server does not answer") {
			t.Errorf("GET %s while it is away: %d %s", path, got, text)
		}
	}
	for name, v := range map[string]*visitor{"a stranger": l.visitor(), "a device that was in": known} {
		if got, text := v.do("POST", "/login", url.Values{"who": {"Ada"}, "passphrase": {phrase}}); got != http.StatusServiceUnavailable || !strings.Contains(text, "The database server does not answer") {
			t.Errorf("%s logs in while it is away: %d %s", name, got, text)
		}
	}
	if err := server.Begin(); err != nil {
		t.Fatal(err)
	}
	eventually(t, "the bench to go on", func() bool {
		got, text := status("/")
		return got == http.StatusOK && !strings.Contains(text, "does not answer")
	})
}
