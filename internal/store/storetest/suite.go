package storetest

import (
	"encoding/json"
	"errors"
	"reflect"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"weephole/internal/store"
)

// Clock is a clock that stands still until it is moved.
type Clock struct {
	mu sync.Mutex
	t  time.Time
}

// NewClock gives a clock that stands at some moment.
func NewClock() *Clock { return &Clock{t: time.Date(2031, 5, 6, 7, 8, 9, 0, time.UTC)} }

// Now is the clock's time.
func (c *Clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.t
}

// Move moves the clock on.
func (c *Clock) Move(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.t = c.t.Add(d)
}

// Make makes an empty store with the clock; it is closed by the test's end.
type Make func(t *testing.T, clock *Clock) store.Store

// head is a small job file without findings.
const head = `{"weephole":1,"job":"hill-climber","vehicle":{"name":"blue estate"},"complaint":{"words":"Gets hot on the hill","signs":["overheats"]}}`

// Run holds the store to its interface.
func Run(t *testing.T, make Make) {
	tests := []struct {
		name string
		test func(t *testing.T, s store.Store, clock *Clock)
	}{
		{"a job is opened and read back", opens},
		{"entries are numbered from one and dated by the store", numbers},
		{"an entry sent again is kept once", again},
		{"an id used for something else is refused", taken},
		{"an entry needs its job and its finding", needs},
		{"many writers lose nothing", many},
		{"lists show the last changed first and find words", lists},
		{"findings that stand are counted", counts},
		{"an answer never gives way to a poorer one", answers},
		{"files keep their content and never replace one another", files},
		{"a file comes with the entry that tells of it", brings},
		{"a removed file is gone and its entry stays", removes},
		{"a removal that is taken in removes", func(t *testing.T, s store.Store, clock *Clock) {
			removesElsewhere(t, s, make(t, clock))
		}},
		{"settings are set and read", settings},
		{"a setting is not written over by somebody who saw another", overSettings},
		{"sessions end", sessions},
		{"people come by invitation", comes},
		{"people go at once, with their sessions", goes},
		{"two who accept at once do not both come in", accepts},
		{"only demo jobs can be removed", demo},
		{"a job goes out as one file and comes in elsewhere", func(t *testing.T, s store.Store, clock *Clock) {
			transfers(t, s, make(t, clock))
		}},
		{"nothing newer is written over by somebody who asks not to", overtakes},
		{"a job is taken in whole or not at all", takes},
		{"the tally keeps its lines in order and never twice", lines},
		{"no author's name stops an entry", long},
		{"a list goes on behind its end", pages},
		{"whatever is kept goes out and comes in elsewhere", func(t *testing.T, s store.Store, clock *Clock) {
			roundTrips(t, s, make(t, clock))
		}},
		{"a spoilt export is refused and nothing of it kept", spoilt},
		{"a backup is written while others write", backs},
		{"a healthy store says so", func(t *testing.T, s store.Store, _ *Clock) {
			if err := s.Check(t.Context()); err != nil {
				t.Errorf("Check: %v", err)
			}
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			clock := NewClock()
			tt.test(t, make(t, clock), clock)
		})
	}
}

func open(t *testing.T, s store.Store, job string) store.Entry {
	t.Helper()
	return add(t, s, store.Entry{Job: job, ID: "open-" + job, Who: "Ada", Kind: store.Opened, Body: json.RawMessage(head)})
}

func add(t *testing.T, s store.Store, e store.Entry) store.Entry {
	t.Helper()
	kept, _, err := s.Append(t.Context(), e)
	if err != nil {
		t.Fatalf("append %s %s: %v", e.Kind, e.ID, err)
	}
	return kept
}

func finding(job, id, body string) store.Entry {
	return store.Entry{Job: job, ID: id, Who: "Ada", Kind: store.Found, Body: json.RawMessage(body)}
}

func wantErr(t *testing.T, what string, err, want error) {
	t.Helper()
	if !errors.Is(err, want) {
		t.Errorf("%s: got error %v, want %v", what, err, want)
	}
}

func answers(t *testing.T, s store.Store, _ *Clock) {
	_, err := s.Answer(t.Context(), "j1")
	wantErr(t, "answer of no job", err, store.ErrUnknown)
	open(t, s, "j1")
	if sum, _ := s.Job(t.Context(), "j1"); sum.Verdict.State != store.VerdictNone {
		t.Errorf("without an answer the list shows %+v", sum.Verdict)
	}
	leads := func(cause string) store.Verdict {
		return store.Verdict{State: store.VerdictSettled, Cause: cause, Name: "a “dead”: 5 %\nfan\x00", Percent: "57 %", Step: "fan-12v", Next: "give the fan 12 V"}
	}
	for _, step := range []struct {
		give    store.Answer
		verdict store.Verdict
	}{
		{store.Answer{Seq: 1, Stage: "coarse", Verdict: store.Verdict{State: store.VerdictRough}}, store.Verdict{State: store.VerdictRough}},
		{store.Answer{Seq: 1, Stage: "fine", Verdict: leads("b")}, leads("b")},
		{store.Answer{Seq: 1, Stage: "coarse", Verdict: leads("c")}, leads("b")},
		{store.Answer{Seq: 2, Stage: "coarse", Verdict: leads("d"), Body: json.RawMessage(`{"x":1}`)}, leads("d")},
		{store.Answer{Seq: 1, Stage: "fine", Verdict: leads("e")}, leads("d")},
	} {
		if err := s.KeepAnswer(t.Context(), "j1", step.give); err != nil {
			t.Fatal(err)
		}
		got, err := s.Answer(t.Context(), "j1")
		if err != nil || !reflect.DeepEqual(got.Verdict, step.verdict) {
			t.Errorf("after giving %+v: kept %+v, error %v; want %+v", step.give.Verdict, got.Verdict, err, step.verdict)
		}
	}
	if sum, _ := s.Job(t.Context(), "j1"); !reflect.DeepEqual(sum.Verdict, leads("d")) {
		t.Errorf("the list shows %+v", sum.Verdict)
	}
}

func files(t *testing.T, s store.Store, _ *Clock) {
	open(t, s, "j1")
	put := func(name, content string) store.File {
		t.Helper()
		f, err := s.PutFile(t.Context(), "j1", store.File{Name: name, Type: "text/csv", Who: "Ada"}, []byte(content))
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	a, b, c := put("log.csv", "one"), put("log.csv", "two"), put("log.csv", "one")
	if a.Name != "log.csv" || b.Name != "log-2.csv" || c != a {
		t.Errorf("names %q, %q, %q", a.Name, b.Name, c.Name)
	}
	for _, f := range []store.File{a, b} {
		got, content, err := s.File(t.Context(), "j1", f.Name)
		if err != nil || got != f || store.Sum(content) != f.SHA256 || int64(len(content)) != f.Size {
			t.Errorf("%s: %+v, %q, %v", f.Name, got, content, err)
		}
	}
	list, err := s.Files(t.Context(), "j1")
	if d := cmp.Diff([]store.File{a, b}, list); d != "" || err != nil {
		t.Errorf("list (-want +got), error %v:\n%s", err, d)
	}
	_, _, err = s.File(t.Context(), "j1", "other.csv")
	wantErr(t, "no file", err, store.ErrUnknown)
	_, err = s.PutFile(t.Context(), "nobody", store.File{Name: "x"}, nil)
	wantErr(t, "a file without its job", err, store.ErrUnknown)
	for _, name := range []string{"", "..", "../up", "a/b", `a\b`, "a\x00b", ".hidden"} {
		if _, err := s.PutFile(t.Context(), "j1", store.File{Name: name}, nil); err == nil {
			t.Errorf("a file named %q was kept", name)
		}
	}
}

func settings(t *testing.T, s store.Store, _ *Clock) {
	_, err := s.Setting(t.Context(), "units")
	wantErr(t, "never set", err, store.ErrUnknown)
	for _, v := range []string{"us", "metric", ""} {
		if err := s.Set(t.Context(), "units", v); err != nil {
			t.Fatal(err)
		}
		if got, err := s.Setting(t.Context(), "units"); err != nil || got != v {
			t.Errorf("set %q, got %q, %v", v, got, err)
		}
	}
}

// overSettings holds that of those who change a setting at once one is kept, and the
// others are told.
func overSettings(t *testing.T, s store.Store, _ *Clock) {
	set := func(before, value string) error { return s.SetOver(t.Context(), "shop", before, value) }
	wantErr(t, "over something that was never set", set("a", "b"), store.ErrOvertaken)
	_, err := s.Setting(t.Context(), "shop")
	wantErr(t, "a refused one", err, store.ErrUnknown)
	for _, step := range [][2]string{{"", "a"}, {"a", "b"}, {"b", ""}, {"", "c"}} {
		if err := set(step[0], step[1]); err != nil {
			t.Errorf("%q over %q: %v", step[1], step[0], err)
		}
	}
	wantErr(t, "over nothing, where something stands", set("", "d"), store.ErrOvertaken)
	wantErr(t, "over an older one", set("a", "d"), store.ErrOvertaken)
	if err := set("b", "c"); err != nil {
		t.Errorf("what stands already, as after an answer that was lost: %v", err)
	}
	for _, before := range []string{"c", ""} {
		key, kept := "shop", make(chan string, 8)
		if before == "" {
			key = "new"
		}
		var wg sync.WaitGroup
		for i := range cap(kept) {
			wg.Go(func() {
				value := string(rune('k' + i))
				switch err := s.SetOver(t.Context(), key, before, value); {
				case err == nil:
					kept <- value
				case !errors.Is(err, store.ErrOvertaken):
					t.Errorf("over %q: %v", before, err)
				}
			})
		}
		wg.Wait()
		if got, err := s.Setting(t.Context(), key); err != nil || len(kept) != 1 || got != <-kept {
			t.Errorf("eight at once over %q: %d are told that theirs is kept; %q stands, %v", before, len(kept), got, err)
		}
	}
}

func sessions(t *testing.T, s store.Store, clock *Clock) {
	until := clock.Now().Add(time.Hour)
	for _, token := range []string{"a", "b"} {
		if err := s.PutSession(t.Context(), store.Session{Token: token, Who: "Ada", Expires: until}); err != nil {
			t.Fatal(err)
		}
	}
	if got, err := s.Session(t.Context(), "a", clock.Now()); err != nil || got.Who != "Ada" || got.Role != store.Owner || !got.Began.Equal(clock.Now()) || !got.Expires.Equal(until) {
		t.Errorf("session: %+v, %v", got, err)
	}
	_, err := s.Session(t.Context(), "a", until)
	wantErr(t, "a session that has ended", err, store.ErrUnknown)
	seen := clock.Now().Add(time.Minute)
	list, err := s.Sessions(t.Context(), clock.Now())
	if err != nil || len(list) != 2 {
		t.Fatalf("sessions: %+v, %v", list, err)
	}
	if err := s.SeeSession(t.Context(), "b", list[0].Shop, seen); err != nil {
		t.Fatal(err)
	}
	if list, err = s.Sessions(t.Context(), clock.Now()); err != nil || len(list) != 2 || list[0].Token != "b" || !list[0].Seen.Equal(seen) {
		t.Errorf("after b was seen: %+v, %v", list, err)
	}
	wantErr(t, "see no session", s.SeeSession(t.Context(), "none", "", seen), store.ErrUnknown)
	if err := s.DropSession(t.Context(), "a"); err != nil {
		t.Fatal(err)
	}
	_, err = s.Session(t.Context(), "a", clock.Now())
	wantErr(t, "a session that was dropped", err, store.ErrUnknown)
	if err := s.DropSessions(t.Context()); err != nil {
		t.Fatal(err)
	}
	_, err = s.Session(t.Context(), "b", clock.Now())
	wantErr(t, "after all were dropped", err, store.ErrUnknown)
}

func demo(t *testing.T, s store.Store, _ *Clock) {
	open(t, s, "j1")
	wantErr(t, "remove a job in hand", s.RemoveDemo(t.Context(), "j1"), store.ErrUnknown)
	open(t, s, "d1")
	if err := s.MarkDemo(t.Context(), "d1"); err != nil {
		t.Fatal(err)
	}
	if _, err := s.PutFile(t.Context(), "d1", store.File{Name: "x.csv"}, []byte("1")); err != nil {
		t.Fatal(err)
	}
	if sum, _ := s.Job(t.Context(), "d1"); !sum.Demo {
		t.Error("the mark is not shown")
	}
	if err := s.RemoveDemo(t.Context(), "d1"); err != nil {
		t.Fatal(err)
	}
	_, err := s.Job(t.Context(), "d1")
	wantErr(t, "a removed demo", err, store.ErrUnknown)
	wantErr(t, "mark no job", s.MarkDemo(t.Context(), "d1"), store.ErrUnknown)
	open(t, s, "d1") // it may come back
}
