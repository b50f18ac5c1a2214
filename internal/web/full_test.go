package web_test

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"weephole/internal/store"
	"weephole/internal/web"
)

// fullStore is a store whose disk can fill up.
type fullStore struct {
	store.Store
	err atomic.Pointer[error]
}

func (f *fullStore) Append(ctx context.Context, e store.Entry) (store.Entry, bool, error) {
	if err := f.err.Load(); err != nil {
		return e, false, fmt.Errorf("keep an entry: %w", *err)
	}
	return f.Store.Append(ctx, e)
}

func (f *fullStore) Take(ctx context.Context, job string, entries []store.Entry, files []store.File, content func(int) ([]byte, error)) (int, error) {
	if err := f.err.Load(); err != nil {
		return 0, fmt.Errorf("take in a job: %w", *err)
	}
	return f.Store.Take(ctx, job, entries, files, content)
}

func (f *fullStore) Check(ctx context.Context) error {
	if err := f.err.Load(); err != nil {
		return *err
	}
	return f.Store.Check(ctx)
}

func TestADiskThatCannotBeWrittenIsToldAndReadingGoesOn(t *testing.T) {
	for _, tt := range []struct {
		name   string
		err    error
		status int
		says   string
	}{
		{"full", store.ErrFull, http.StatusInsufficientStorage, "The disk is full"},
		{"read-only", store.ErrReadOnly, http.StatusInsufficientStorage, "cannot be written to"},
		{"damaged", store.ErrDamaged, http.StatusInsufficientStorage, "The database is damaged"},
		{"gone", store.ErrGone, http.StatusInsufficientStorage, "no longer where the bench opened it"},
		{"failing", store.ErrDisk, http.StatusInsufficientStorage, "The disk failed"},
		{"away", store.ErrAway, http.StatusServiceUnavailable, "The database server does not answer"},
		{"a full server", serversError{store.ErrFull}, http.StatusInsufficientStorage, "the disk is full on the database server"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var s *fullStore
			l := lay(t, web.LookAgain(20*time.Millisecond), func(c *web.Config) { s = &fullStore{Store: c.Store}; c.Store = s })
			id := l.job(hotCar)
			s.err.Store(&tt.err)
			var f web.Failure
			status := l.ask("POST", "/api/jobs/"+id+"/findings", `{"check":"level-cold","found":"low"}`, &f, "Idempotency-Key", "once")
			if status != tt.status || !f.Error.Retry || !strings.Contains(f.Error.Message, tt.says) {
				t.Errorf("the API: %d %+v", status, f)
			}
			res, err := http.PostForm(l.server.URL+"/new", map[string][]string{"car": {"green van"}})
			if err != nil {
				t.Fatal(err)
			}
			page, _ := io.ReadAll(res.Body)
			res.Body.Close()
			if res.StatusCode != tt.status || !strings.Contains(string(page), tt.says) {
				t.Errorf("the page: %d", res.StatusCode)
			}
			for path, want := range map[string]int{"/healthz": tt.status, "/jobs/" + id: 200, "/": 200} {
				if status := l.ask("GET", path, nil, nil); status != want {
					t.Errorf("GET %s: %d, want %d", path, status, want)
				}
			}
			for _, path := range []string{"/", "/jobs/" + id, "/settings", "/jobs/" + id + "/letter"} {
				if page := l.page(path); !strings.Contains(page, tt.says) {
					t.Errorf("GET %s does not say that nothing can be kept", path)
				}
			}
			s.err.Store(nil)
			eventually(t, "the warning to go", func() bool { return !strings.Contains(l.page("/"), tt.says) })
			l.found(id, `{"check":"level-cold","found":"low"}`, "Idempotency-Key", "once")
			if n := len(l.entries(id)); n != 2 {
				t.Errorf("%d entries afterwards", n)
			}
		})
	}
}

func TestABenchThatOpensOnADamagedStoreSaysSoBeforeAnythingIsTyped(t *testing.T) {
	damaged := error(fmt.Errorf("page 3: %w", store.ErrDamaged))
	l := lay(t, func(c *web.Config) {
		s := &fullStore{Store: c.Store}
		s.err.Store(&damaged)
		c.Store = s
	})
	eventually(t, "the warning", func() bool { return strings.Contains(l.page("/"), "The database is damaged") })
}

// The page that tells of a failure does not tell it twice.
func TestAFailureIsToldOnceOnItsOwnPage(t *testing.T) {
	var s *fullStore
	l := lay(t, func(c *web.Config) { s = &fullStore{Store: c.Store}; c.Store = s })
	s.err.Store(&store.ErrFull)
	res, err := http.PostForm(l.server.URL+"/new", map[string][]string{"car": {"green van"}})
	if err != nil {
		t.Fatal(err)
	}
	page, _ := io.ReadAll(res.Body)
	res.Body.Close()
	if n := strings.Count(string(page), "The disk is full"); n != 1 {
		t.Errorf("it is told %d times", n)
	}
}

func TestTheWarningIsReadOnAPhone(t *testing.T) {
	var s *fullStore
	l := lay(t, func(c *web.Config) { s = &fullStore{Store: c.Store}; c.Store = s })
	id := l.job(hotCar)
	s.err.Store(&store.ErrDamaged)
	l.ask("POST", "/api/jobs/"+id+"/findings", `{"check":"level-cold","found":"low"}`, nil)
	for name, path := range map[string]string{"jobs": "/", "job": "/jobs/" + id} {
		screen := tab(t, phone)
		screen.do(chromedp.Navigate(l.server.URL + path))
		screen.until("the warning", `document.querySelector("main > [role=alert]").textContent.includes("The database is damaged")`)
		screen.inBothLights("trouble-" + name)
	}
}

// serversError is an error as a database server's store gives it.
type serversError struct{ error }

func (e serversError) Is(target error) bool { return target == e.error }
func (serversError) InWords() string {
	return "the disk is full on the database server; make room there"
}
