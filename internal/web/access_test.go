package web_test

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"weephole/internal/web"
)

const phrase = "grease and rags"

// guarded lays a bench that asks for the passphrase behind a proxy on this
// machine, with a clock that the test turns and a log that it reads.
func guarded(t *testing.T) (l *laid, turn func(time.Duration), log *syncBuffer) {
	var mu sync.Mutex
	now, log := time.Now(), &syncBuffer{}
	l = lay(t, func(c *web.Config) {
		c.Guarded, c.Hosts = true, []string{"bench.shop"}
		c.Proxies = []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8"), netip.MustParsePrefix("::1/128")}
		c.Log = slog.New(slog.NewTextHandler(log, nil))
		c.Now = func() time.Time { mu.Lock(); defer mu.Unlock(); return now }
		if err := web.SetPassphrase(t.Context(), c.Store, phrase); err != nil {
			t.Fatal(err)
		}
	})
	l.client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	return l, func(d time.Duration) { mu.Lock(); defer mu.Unlock(); now = now.Add(d) }, log
}

type syncBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (s *syncBuffer) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(p)
}
func (s *syncBuffer) String() string { s.mu.Lock(); defer s.mu.Unlock(); return s.b.String() }

// login tries a passphrase as a device with the address.
func (l *laid) login(from, phrase string, h ...string) *http.Response {
	l.Helper()
	req, err := http.NewRequestWithContext(l.Context(), "POST", l.server.URL+"/login", strings.NewReader(url.Values{"passphrase": {phrase}, "who": {"Ada"}}.Encode()))
	if err != nil {
		l.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("X-Forwarded-For", from)
	for i := 0; i+1 < len(h); i += 2 {
		req.Header.Set(h[i], h[i+1])
	}
	res, err := l.client.Do(req)
	if err != nil {
		l.Fatal(err)
	}
	io.Copy(io.Discard, res.Body)
	res.Body.Close()
	return res
}

func TestBehindAProxyThePassphraseIsAskedAndCookiesAreSecure(t *testing.T) {
	l, _, _ := guarded(t)
	req, _ := http.NewRequest("GET", l.server.URL+"/api/jobs", nil)
	req.Host = "bench.shop"
	res, err := l.client.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	res.Body.Close()
	if res.StatusCode != http.StatusUnauthorized {
		t.Errorf("through the proxy without the passphrase: %d", res.StatusCode)
	}
	for proto, secure := range map[string]bool{"https": true, "http": false} {
		for _, c := range l.login("10.0.0.9", phrase, "X-Forwarded-Proto", proto).Cookies() {
			if c.Secure != secure {
				t.Errorf("over %s the cookie %s is secure: %v", proto, c.Name, c.Secure)
			}
		}
	}
}

func TestAProxyThatIsNotNamedIsNotBelieved(t *testing.T) {
	log := &syncBuffer{}
	l := lay(t, func(c *web.Config) {
		c.Guarded, c.Log = true, slog.New(slog.NewTextHandler(log, nil))
		if err := web.SetPassphrase(t.Context(), c.Store, phrase); err != nil {
			t.Fatal(err)
		}
	})
	l.client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	res := l.login("10.0.0.9", phrase, "X-Forwarded-Proto", "https")
	for _, c := range res.Cookies() {
		if c.Secure {
			t.Errorf("the cookie %s is secure on a stranger's word", c.Name)
		}
	}
	if s := log.String(); strings.Contains(s, "10.0.0.9") || !strings.Contains(s, "127.0.0.1") && !strings.Contains(s, "::1") {
		t.Errorf("the log names another sender: %s", s)
	}
}

func TestGuessersAreSlowedAndTheHonestComeIn(t *testing.T) {
	l, turn, log := guarded(t)
	guess := func(i int) string { return fmt.Sprintf("10.0.1.%d", i) }
	for i := range 8 {
		for n := range 3 {
			if res := l.login(guess(i), fmt.Sprintf("guess %d", n)); res.StatusCode != http.StatusUnauthorized {
				t.Fatalf("guess %d of device %d: %d", n, i, res.StatusCode)
			}
		}
		res := l.login(guess(i), phrase) // even the right one: its pause is not over
		if res.StatusCode != http.StatusTooManyRequests || res.Header.Get("Retry-After") == "" {
			t.Errorf("device %d after its guesses: %d, %q", i, res.StatusCode, res.Header.Get("Retry-After"))
		}
	}
	if res := l.login("10.0.0.7", phrase); res.StatusCode != http.StatusSeeOther {
		t.Errorf("an honest device beside the guessers: %d", res.StatusCode)
	}
	turn(2 * time.Second)
	if res := l.login(guess(0), phrase); res.StatusCode != http.StatusSeeOther {
		t.Errorf("a device whose pause is over: %d", res.StatusCode)
	}
	for _, want := range []string{"login refused", "login held back", "logged in", "from=10.0.0.7"} {
		if !strings.Contains(log.String(), want) {
			t.Errorf("the log does not say %q", want)
		}
	}
}

// Each guess comes from another address. What waits is counted in hashes, and not in
// seconds: each wrong guess that was looked at is a line in the log.
func TestADeviceThatWasInBeforeIsNotHeldUpByGuessersOfManyAddresses(t *testing.T) {
	l, _, log := guarded(t)
	var mark string
	for _, c := range l.login("10.0.0.7", phrase).Cookies() {
		if c.Name == "weephole_device" && c.HttpOnly && c.Path == "/login" {
			mark = c.Name + "=" + c.Value
		}
	}
	if mark == "" {
		t.Fatal("the device was given no mark")
	}
	var fresh, crowded atomic.Int32
	var all sync.WaitGroup
	stop := make(chan struct{})
	for range 20 {
		all.Go(func() {
			for {
				select {
				case <-stop:
					return
				default:
				}
				n := fresh.Add(1)
				res := l.login(fmt.Sprintf("10.1.%d.%d", n/250, n%250+1), "a guess")
				if res.StatusCode == http.StatusTooManyRequests && res.Header.Get("Retry-After") != "" {
					crowded.Add(1)
					time.Sleep(10 * time.Millisecond)
				} else if res.StatusCode != http.StatusUnauthorized {
					t.Errorf("a guess: %d", res.StatusCode)
				}
			}
		})
	}
	eventually(t, "a crowd", func() bool { return crowded.Load() > 0 })
	refused := func() int { return strings.Count(log.String(), "login refused") }
	before := refused()
	// It comes from an address where it never was: a phone outside the shop.
	if res := l.login("10.9.9.9", phrase, "Cookie", mark); res.StatusCode != http.StatusSeeOther {
		t.Errorf("the honest device: %d", res.StatusCode)
	}
	if n := refused() - before; n > 5 { // one at work, one before it, and those that end while the answer is on its way
		t.Errorf("it waited for %d guesses", n)
	}
	close(stop)
	all.Wait()
	if res := l.login("10.0.0.8", phrase); res.StatusCode != http.StatusSeeOther {
		t.Errorf("a stranger when the crowd is gone: %d", res.StatusCode)
	}
}

func TestCommonPassphrasesAreRefused(t *testing.T) {
	l := lay(t)
	for _, common := range []string{"password", "password1", "12345678", "qwertyuiop", "letmein123", "weephole1", "aaaaaaaaaa"} {
		if err := web.SetPassphrase(t.Context(), l.keeper, common); err == nil || !strings.Contains(err.Error(), "easy to guess") {
			t.Errorf("%q: %v", common, err)
		}
	}
	if err := web.SetPassphrase(t.Context(), l.keeper, strings.Repeat("long and slow ", 5000)); err != nil {
		t.Errorf("a long one: %v", err)
	}
}

func TestAStreamEndsWithTheSession(t *testing.T) {
	l, _, log := guarded(t)
	cookies := l.login("10.0.0.7", phrase).Cookies()
	do := func(method, path string) *http.Response {
		req, err := http.NewRequestWithContext(t.Context(), method, l.server.URL+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range cookies {
			req.AddCookie(c)
		}
		res, err := l.client.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		return res
	}
	stream := do("GET", "/api/events")
	defer stream.Body.Close()
	lines := bufio.NewScanner(stream.Body)
	for lines.Scan() && !strings.HasPrefix(lines.Text(), "event: hello") {
	}
	do("POST", "/logout").Body.Close()
	for lines.Scan() { // ends by itself, or the test's own time does
	}
	if err := lines.Err(); err != nil && err != io.ErrUnexpectedEOF {
		t.Error(err)
	}
	if !strings.Contains(log.String(), "logged out") {
		t.Error("the log does not say that somebody logged out")
	}
}

func TestOneDeviceListensSoOftenAndNoMore(t *testing.T) {
	l, _, _ := guarded(t)
	cookies := l.login("10.0.0.7", phrase).Cookies()
	refused := 0
	for range 110 {
		req, err := http.NewRequestWithContext(t.Context(), "GET", l.server.URL+"/api/events", nil)
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("X-Forwarded-For", "10.0.0.7")
		for _, c := range cookies {
			req.AddCookie(c)
		}
		res, err := l.client.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		defer res.Body.Close()
		if res.StatusCode == http.StatusServiceUnavailable {
			refused++
		}
	}
	if refused != 10 {
		t.Errorf("%d of 110 streams of one device were refused, want 10", refused)
	}
}

func TestAGuardedBenchLetsNobodyInWithoutThePassphrase(t *testing.T) {
	l := lay(t, func(c *web.Config) {
		c.Guarded = true
		if err := web.SetPassphrase(t.Context(), c.Store, "grease and rags"); err != nil {
			t.Fatal(err)
		}
	})
	noFollow := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	for path, want := range map[string]int{"/": 303, "/jobs/x": 303, "/api/jobs": 401, "/api/openapi.json": 401, "/login": 200, "/healthz": 200} {
		res, err := noFollow.Get(l.server.URL + path)
		if err != nil {
			t.Fatal(err)
		}
		res.Body.Close()
		if res.StatusCode != want {
			t.Errorf("GET %s: %d, want %d", path, res.StatusCode, want)
		}
	}
	try := func(phrase string) *http.Response {
		res, err := noFollow.PostForm(l.server.URL+"/login", map[string][]string{"passphrase": {phrase}, "who": {"Ada"}, "to": {"//elsewhere.example"}})
		if err != nil {
			t.Fatal(err)
		}
		res.Body.Close()
		return res
	}
	if res := try("guess"); res.StatusCode != 401 || len(res.Cookies()) != 0 {
		t.Errorf("a guess: %d, %v", res.StatusCode, res.Cookies())
	}
	res := try("grease and rags")
	if res.StatusCode != 303 || res.Header.Get("Location") != "/" {
		t.Fatalf("the passphrase: %d to %q", res.StatusCode, res.Header.Get("Location"))
	}
	req, _ := http.NewRequest("GET", l.server.URL+"/api/jobs", nil)
	for _, c := range res.Cookies() {
		if c.Name == "weephole_session" && (!c.HttpOnly || c.SameSite != http.SameSiteLaxMode) {
			t.Errorf("the session's cookie: %v", c)
		}
		req.AddCookie(c)
	}
	if res, err := noFollow.Do(req); err != nil || res.StatusCode != 200 {
		t.Errorf("with the session: %v, %v", res, err)
	}
	if err := web.SetPassphrase(t.Context(), l.keeper, "another one now"); err != nil {
		t.Fatal(err)
	}
	if res, err := noFollow.Do(req); err != nil || res.StatusCode != 401 {
		t.Errorf("after a change of passphrase: %v, %v", res, err)
	}
	if err := web.SetPassphrase(t.Context(), l.keeper, "short"); err == nil {
		t.Error("a short passphrase was taken")
	}
}

func TestOtherSitesAndOtherNamesAreRefused(t *testing.T) {
	l := lay(t, func(c *web.Config) { c.Hosts = []string{"bench.shop"} })
	for _, tt := range []struct {
		name   string
		change func(*http.Request)
		want   int
	}{
		{"a post from another site", func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") }, 403},
		{"a post from another origin", func(r *http.Request) { r.Header.Set("Origin", "http://elsewhere.example") }, 403},
		{"a name that is not ours", func(r *http.Request) { r.Host = "elsewhere.example" }, 421},
		{"a name that was given", func(r *http.Request) { r.Host = "bench.shop:8470" }, 201},
		{"a plain address", func(r *http.Request) { r.Host = "192.0.2.7:8470" }, 201},
	} {
		req, _ := http.NewRequest("POST", l.server.URL+"/api/jobs", strings.NewReader(hotCar))
		tt.change(req)
		res, err := l.client.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		res.Body.Close()
		if res.StatusCode != tt.want {
			t.Errorf("%s: %d, want %d", tt.name, res.StatusCode, tt.want)
		}
	}
	big := bytes.Repeat([]byte("x"), 2<<20)
	if status := l.ask("POST", "/api/jobs", big, nil); status != 413 {
		t.Errorf("a job of 2 MB: %d", status)
	}
}
