package storetest

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"
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
		{"sessions end", sessions},
		{"people come by invitation and go at once", people},
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

func opens(t *testing.T, s store.Store, clock *Clock) {
	e := open(t, s, "j1")
	got, err := s.Entries(t.Context(), "j1", 0)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff([]store.Entry{e}, got); d != "" {
		t.Errorf("entries (-kept +read):\n%s", d)
	}
	sum, err := s.Job(t.Context(), "j1")
	if err != nil {
		t.Fatal(err)
	}
	want := store.Summary{ID: "j1", Name: "hill-climber", Car: "blue estate", Complaint: "Gets hot on the hill", Seq: 1, Changed: clock.Now()}
	if d := cmp.Diff(want, sum); d != "" {
		t.Errorf("summary (-want +got):\n%s", d)
	}
	_, err = s.Entries(t.Context(), "nobody", 0)
	wantErr(t, "entries of no job", err, store.ErrUnknown)
	_, err = s.Job(t.Context(), "nobody")
	wantErr(t, "summary of no job", err, store.ErrUnknown)
}

func numbers(t *testing.T, s store.Store, clock *Clock) {
	open(t, s, "j1")
	clock.Move(time.Minute)
	entered := clock.Now().Add(-20 * time.Minute)
	e := finding("j1", "f1", `{"check":"level-cold","found":"low"}`)
	e.Entered = entered
	got := add(t, s, e)
	if got.Seq != 2 || !got.At.Equal(clock.Now()) || !got.Entered.Equal(entered) {
		t.Errorf("second entry: seq %d, at %v, entered %v", got.Seq, got.At, got.Entered)
	}
	after, err := s.Entries(t.Context(), "j1", 1)
	if err != nil || len(after) != 1 || after[0].ID != "f1" {
		t.Errorf("entries after 1: %v, %v", after, err)
	}
	none, err := s.Entries(t.Context(), "j1", 2)
	if err != nil || len(none) != 0 {
		t.Errorf("entries after the last: %v, %v", none, err)
	}
}

func again(t *testing.T, s store.Store, clock *Clock) {
	open(t, s, "j1")
	first := add(t, s, finding("j1", "f1", `{"check":"level-cold","found":"low"}`))
	clock.Move(time.Hour)
	e, added, err := s.Append(t.Context(), finding("j1", "f1", `{"check": "level-cold", "found": "low"}`))
	if err != nil || added {
		t.Fatalf("sent again: added %v, error %v", added, err)
	}
	if d := cmp.Diff(first, e); d != "" {
		t.Errorf("sent again (-first +second):\n%s", d)
	}
	if _, added, err := s.Append(t.Context(), store.Entry{Job: "j1", ID: "open-j1", Who: "Ada", Kind: store.Opened, Body: json.RawMessage(head)}); err != nil || added {
		t.Errorf("opened again: added %v, error %v", added, err)
	}
	if sum, _ := s.Job(t.Context(), "j1"); sum.Findings != 1 || sum.Seq != 2 {
		t.Errorf("after sending again: %+v", sum)
	}
}

func taken(t *testing.T, s store.Store, _ *Clock) {
	open(t, s, "j1")
	add(t, s, finding("j1", "f1", `{"check":"level-cold","found":"low"}`))
	_, _, err := s.Append(t.Context(), finding("j1", "f1", `{"check":"level-cold","found":"full"}`))
	wantErr(t, "another finding under the id", err, store.ErrTaken)
	_, _, err = s.Append(t.Context(), store.Entry{Job: "j1", ID: "open-again", Who: "Bo", Kind: store.Opened, Body: json.RawMessage(head)})
	wantErr(t, "another job under the id", err, store.ErrTaken)
	open(t, s, "j2")
	add(t, s, finding("j2", "f1", `{"check":"level-cold","found":"full"}`)) // ids are unique in a job only
}

func needs(t *testing.T, s store.Store, _ *Clock) {
	_, _, err := s.Append(t.Context(), finding("nobody", "f1", `{}`))
	wantErr(t, "a finding without its job", err, store.ErrUnknown)
	open(t, s, "j1")
	for _, kind := range []store.Kind{store.Corrected, store.Struck, store.Restored} {
		_, _, err := s.Append(t.Context(), store.Entry{Job: "j1", ID: "x", Who: "Ada", Kind: kind, Finding: "f9"})
		wantErr(t, string(kind)+" without its finding", err, store.ErrUnknown)
	}
	if sum, _ := s.Job(t.Context(), "j1"); sum.Seq != 1 {
		t.Errorf("refused entries used up numbers: %+v", sum)
	}
	if _, _, err := s.Append(t.Context(), store.Entry{Job: "j1", Kind: store.Noted}); err == nil {
		t.Error("an entry without an id was kept")
	}
}

func many(t *testing.T, s store.Store, _ *Clock) {
	open(t, s, "j1")
	const writers, each = 8, 12
	var wg sync.WaitGroup
	for w := range writers {
		wg.Go(func() {
			for i := range each {
				e := finding("j1", fmt.Sprintf("f%d-%d", w, i), `{"check":"level-cold","found":"low"}`)
				if _, _, err := s.Append(t.Context(), e); err != nil {
					t.Errorf("writer %d: %v", w, err)
				}
			}
		})
	}
	wg.Wait()
	got, err := s.Entries(t.Context(), "j1", 0)
	if err != nil || len(got) != 1+writers*each {
		t.Fatalf("%d entries, error %v; want %d", len(got), err, 1+writers*each)
	}
	for i, e := range got {
		if e.Seq != int64(i+1) {
			t.Fatalf("entry %d has seq %d", i, e.Seq)
		}
	}
}

func lists(t *testing.T, s store.Store, clock *Clock) {
	for i, job := range []string{"j1", "j2", "j3"} {
		clock.Move(time.Minute)
		body := fmt.Sprintf(`{"weephole":1,"vehicle":{"name":"car %d"},"complaint":{"words":"Runs HOT"}}`, i+1)
		add(t, s, store.Entry{Job: job, ID: "o", Who: "Ada", Kind: store.Opened, Body: json.RawMessage(body)})
	}
	clock.Move(time.Minute)
	add(t, s, store.Entry{Job: "j1", ID: "n", Who: "Bo", Kind: store.Noted, Body: json.RawMessage(`{"text":"Smells sweet"}`)})
	add(t, s, store.Entry{Job: "j3", ID: "a", Who: "Bo", Kind: store.Archived})
	ids := func(q store.Query) []string {
		list, err := s.Jobs(t.Context(), q)
		if err != nil {
			t.Fatal(err)
		}
		out := []string{}
		for _, j := range list {
			out = append(out, j.ID)
		}
		return out
	}
	for _, tt := range []struct {
		name string
		q    store.Query
		want []string
	}{
		{"in hand", store.Query{}, []string{"j1", "j2"}},
		{"one word, any case", store.Query{Words: "hot"}, []string{"j1", "j2"}},
		{"all words", store.Query{Words: "HOT 2"}, []string{"j2"}},
		{"a note", store.Query{Words: "sweet"}, []string{"j1"}},
		{"nothing", store.Query{Words: "cold"}, []string{}},
		{"signs of patterns are letters", store.Query{Words: "%"}, []string{}},
		{"archived", store.Query{Archived: true}, []string{"j3"}},
		{"at most", store.Query{Limit: 1}, []string{"j1"}},
	} {
		if d := cmp.Diff(tt.want, ids(tt.q)); d != "" {
			t.Errorf("%s (-want +got):\n%s", tt.name, d)
		}
	}
	add(t, s, store.Entry{Job: "j3", ID: "r", Who: "Bo", Kind: store.Reopened})
	add(t, s, store.Entry{Job: "j2", ID: "t", Who: "Bo", Kind: store.HeadChanged, Body: json.RawMessage(`{"weephole":1,"vehicle":{"name":"green van"}}`)})
	if d := cmp.Diff([]string{"j2"}, ids(store.Query{Words: "green van"})); d != "" {
		t.Errorf("head replaced (-want +got):\n%s", d)
	}
	add(t, s, store.Entry{Job: "j2", ID: "c", Who: "Bo", Kind: store.HeadChanged, Body: json.RawMessage(`{"weephole":1,"vehicle":{"name":"green van"},"closing":{"cause":"fan-dead","showed":"worn brushes","charged":"$345"}}`)})
	for words, want := range map[string]string{"comeback": "j3", "fan-dead worn": "j2", "$345": "j2"} {
		if d := cmp.Diff([]string{want}, ids(store.Query{Words: words})); d != "" {
			t.Errorf("a search for %q (-want +got):\n%s", words, d)
		}
	}
	if got := ids(store.Query{}); len(got) != 3 {
		t.Errorf("reopened: %v", got)
	}
}

func counts(t *testing.T, s store.Store, _ *Clock) {
	open(t, s, "j1")
	add(t, s, finding("j1", "f1", `{"check":"level-cold","found":"low"}`))
	add(t, s, finding("j1", "f2", `{"check":"belt-look","found":"fine"}`))
	n := 0
	do := func(kind store.Kind, want int) {
		t.Helper()
		n++
		add(t, s, store.Entry{Job: "j1", ID: fmt.Sprint("e", n), Who: "Bo", Kind: kind, Finding: "f1"})
		if sum, err := s.Job(t.Context(), "j1"); err != nil || sum.Findings != want {
			t.Errorf("after %s: %d findings stand, error %v; want %d", kind, sum.Findings, err, want)
		}
	}
	do(store.Struck, 1)
	do(store.Struck, 1)
	do(store.Restored, 2)
	do(store.Restored, 2)
	do(store.Struck, 1)
}

func answers(t *testing.T, s store.Store, _ *Clock) {
	_, err := s.Answer(t.Context(), "j1")
	wantErr(t, "answer of no job", err, store.ErrUnknown)
	open(t, s, "j1")
	for _, step := range []struct {
		give    store.Answer
		verdict string
	}{
		{store.Answer{Seq: 1, Stage: "coarse", Verdict: "a"}, "a"},
		{store.Answer{Seq: 1, Stage: "fine", Verdict: "b"}, "b"},
		{store.Answer{Seq: 1, Stage: "coarse", Verdict: "c"}, "b"},
		{store.Answer{Seq: 2, Stage: "coarse", Verdict: "d", Body: json.RawMessage(`{"x":1}`)}, "d"},
		{store.Answer{Seq: 1, Stage: "fine", Verdict: "e"}, "d"},
	} {
		if err := s.KeepAnswer(t.Context(), "j1", step.give); err != nil {
			t.Fatal(err)
		}
		got, err := s.Answer(t.Context(), "j1")
		if err != nil || got.Verdict != step.verdict {
			t.Errorf("after giving %q: kept %q, error %v; want %q", step.give.Verdict, got.Verdict, err, step.verdict)
		}
	}
	if sum, _ := s.Job(t.Context(), "j1"); sum.Verdict != "d" {
		t.Errorf("the list shows %q", sum.Verdict)
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

// fillJob fills a job with some of everything.
func fillJob(t *testing.T, s store.Store) {
	t.Helper()
	open(t, s, "j1")
	add(t, s, finding("j1", "f1", `{"check":"level-cold","found":"low","note":"an inch"}`))
	add(t, s, finding("j1", "f2", `{"check":"warm-up-log","trace":"log.csv"}`))
	add(t, s, store.Entry{Job: "j1", ID: "c1", Who: "Bo", Kind: store.Corrected, Finding: "f1", Seen: 2, Body: json.RawMessage(`{"check":"level-cold","found":"full"}`)})
	add(t, s, store.Entry{Job: "j1", ID: "s1", Who: "Bo", Kind: store.Struck, Finding: "f2", Body: json.RawMessage(`{"why":"other car"}`)})
	if _, err := s.PutFile(t.Context(), "j1", store.File{Name: "log.csv", Type: "text/csv", Who: "Ada"}, []byte("time,coolant\n0,20\n")); err != nil {
		t.Fatal(err)
	}
}

func transfers(t *testing.T, s, other store.Store) {
	fillJob(t, s)
	var out bytes.Buffer
	if err := store.Export(t.Context(), s, "j1", &out); err != nil {
		t.Fatal(err)
	}
	for turn, want := range []int{5, 0} {
		job, added, err := store.Import(t.Context(), other, bytes.NewReader(out.Bytes()), int64(out.Len()))
		if err != nil || job != "j1" || added != want {
			t.Fatalf("import %d: job %q, %d added, error %v; want %d", turn+1, job, added, err, want)
		}
	}
	want, _ := s.Entries(t.Context(), "j1", 0)
	got, err := other.Entries(t.Context(), "j1", 0)
	if d := cmp.Diff(want, got); d != "" || err != nil {
		t.Errorf("journal (-here +there), error %v:\n%s", err, d)
	}
	wantFiles, _ := s.Files(t.Context(), "j1")
	gotFiles, err := other.Files(t.Context(), "j1")
	if d := cmp.Diff(wantFiles, gotFiles); d != "" || err != nil {
		t.Errorf("files (-here +there), error %v:\n%s", err, d)
	}
}

func spoilt(t *testing.T, s store.Store, _ *Clock) {
	for name, content := range map[string][]byte{"text": []byte("hello"), "empty": nil} {
		_, _, err := store.Import(t.Context(), s, bytes.NewReader(content), int64(len(content)))
		var b *store.BadTransfer
		if !errors.As(err, &b) {
			t.Errorf("%s: error %v is no BadTransfer", name, err)
		}
	}
	if list, _ := s.Jobs(t.Context(), store.Query{}); len(list) != 0 {
		t.Errorf("kept %v", list)
	}
}

func backs(t *testing.T, s store.Store, _ *Clock) {
	fillJob(t, s)
	done := make(chan error)
	go func() {
		var err error
		for i := range 20 {
			if _, _, e := s.Append(t.Context(), finding("j1", fmt.Sprint("w", i), `{"check":"belt-look","found":"fine"}`)); e != nil {
				err = e
			}
		}
		done <- err
	}()
	path := filepath.Join(t.TempDir(), "copy")
	if err := s.Backup(t.Context(), path); err != nil {
		t.Errorf("backup: %v", err)
	}
	if err := <-done; err != nil {
		t.Errorf("writing meanwhile: %v", err)
	}
	if err := s.Backup(t.Context(), path); err == nil {
		t.Error("a backup was written over another")
	}
}
