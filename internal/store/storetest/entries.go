package storetest

import (
	"encoding/json"
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"weephole/internal/store"
)

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
	// The end's cause finds a job too, beside words that it has; no other cause does.
	for _, tt := range []struct {
		words  string
		closed []store.ByCause
		want   []string
	}{
		{"motor van", []store.ByCause{{Cause: "pump-weak", Words: "van"}, {Cause: "fan-dead", Words: "van"}}, []string{"j2"}},
		{"motor estate", []store.ByCause{{Cause: "fan-dead", Words: "estate"}}, []string{}},
		{"motor", []store.ByCause{{Cause: "pump-weak"}, {Cause: "an-dead"}, {Cause: "%"}, {Cause: ""}}, []string{}},
		{"sweet", []store.ByCause{{Cause: "fan-dead"}}, []string{"j2", "j1"}},
		{"", []store.ByCause{{Cause: "fan-dead"}}, ids(store.Query{})},
	} {
		if d := cmp.Diff(tt.want, ids(store.Query{Words: tt.words, Closed: tt.closed})); d != "" {
			t.Errorf("a search for %q and %+v (-want +got):\n%s", tt.words, tt.closed, d)
		}
	}
	clock.Move(time.Minute)
	add(t, s, store.Entry{Job: "j4", ID: "o", Who: "Ada", Kind: store.Opened, Body: json.RawMessage(`{"weephole":1,"closing":{"cause":"pump-weak"}}`)})
	if d := cmp.Diff([]string{"j4"}, ids(store.Query{Words: "hardly", Closed: []store.ByCause{{Cause: "pump-weak"}}})); d != "" {
		t.Errorf("opened with its end (-want +got):\n%s", d)
	}
	if got := ids(store.Query{}); len(got) != 4 {
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
