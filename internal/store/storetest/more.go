package storetest

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"weephole/internal/store"
)

// overtakes holds that nobody writes over what he has not seen, if he asks for it.
func overtakes(t *testing.T, s store.Store, _ *Clock) {
	open(t, s, "j1")
	f := add(t, s, finding("j1", "f1", `{"check":"level-cold","found":"low"}`))
	correct := func(id string, over int64) (store.Entry, error) {
		e, _, err := s.Append(t.Context(), store.Entry{Job: "j1", ID: id, Who: id, Kind: store.Corrected, Finding: "f1", Over: over, Body: json.RawMessage(`{"check":"level-cold","found":"` + id + `"}`)})
		return e, err
	}
	first, err := correct("ada", f.Seq)
	if err != nil {
		t.Fatal(err)
	}
	stands, err := correct("bo", f.Seq)
	wantErr(t, "a correction over one that was not seen", err, store.ErrOvertaken)
	if d := cmp.Diff(first, stands); d != "" {
		t.Errorf("what stands (-want +got):\n%s", d)
	}
	if again, err := correct("ada", f.Seq); err != nil || again.Seq != first.Seq {
		t.Errorf("sent again: %+v, %v", again, err)
	}
	if _, err := correct("bo", first.Seq); err != nil {
		t.Errorf("after having seen it: %v", err)
	}
	if _, err := correct("cy", 0); err != nil {
		t.Errorf("without asking: %v", err)
	}
	tell := func(id string, over int64) error {
		_, _, err := s.Append(t.Context(), store.Entry{Job: "j1", ID: id, Who: id, Kind: store.HeadChanged, Over: over, Body: json.RawMessage(head)})
		return err
	}
	if err := tell("t1", 1); err != nil {
		t.Errorf("the head over the opening: %v", err)
	}
	wantErr(t, "an older form of the head", tell("t2", 1), store.ErrOvertaken)
	entries, err := s.Entries(t.Context(), "j1", 0)
	if err != nil || len(entries) != 6 || entries[5].Seq != 6 {
		t.Errorf("%d entries, %v: a refused one used up a number or was kept", len(entries), err)
	}
}

// takes holds that a job comes in whole or not at all.
func takes(t *testing.T, s store.Store, _ *Clock) {
	entries := []store.Entry{
		{Job: "j1", Seq: 1, ID: "o", Kind: store.Opened, Body: json.RawMessage(head)},
		{Job: "j1", Seq: 2, ID: "f1", Kind: store.Found, Body: json.RawMessage(`{"check":"level-cold","found":"low"}`)},
	}
	files := []store.File{{Name: "a.csv"}, {Name: "b.csv"}}
	content := func(i int) ([]byte, error) { return []byte(files[i].Name), nil }
	torn := func(i int) ([]byte, error) {
		if i == 1 {
			return nil, errors.New("torn")
		}
		return content(i)
	}
	none := func(what string) {
		t.Helper()
		if _, err := s.Job(t.Context(), "j1"); !errors.Is(err, store.ErrUnknown) {
			t.Errorf("%s: something was kept (%v)", what, err)
		}
	}
	if _, err := s.Take(t.Context(), "j1", entries, files, torn); err == nil {
		t.Error("a torn file was taken")
	}
	none("the second file is torn")
	bad := append(entries[:2:2], store.Entry{Job: "j1", Seq: 3, ID: "s", Kind: store.Struck, Finding: "f9"})
	if _, err := s.Take(t.Context(), "j1", bad, files, content); err == nil {
		t.Error("an entry about no finding was taken")
	}
	none("the last entry is about no finding")
	for turn, want := range []int{2, 0} {
		if n, err := s.Take(t.Context(), "j1", entries, files, content); err != nil || n != want {
			t.Errorf("turn %d: %d added, %v; want %d", turn+1, n, err, want)
		}
	}
	differs := append(entries[:1:1], store.Entry{Job: "j1", Seq: 2, ID: "new", Kind: store.Noted, Body: json.RawMessage(`{"text":"hello"}`)},
		store.Entry{Job: "j1", Seq: 3, ID: "f1", Kind: store.Found, Body: json.RawMessage(`{"check":"level-cold","found":"full"}`)})
	_, err := s.Take(t.Context(), "j1", differs, nil, content)
	wantErr(t, "an entry that differs", err, store.ErrTaken)
	_, err = s.Take(t.Context(), "j1", append(entries[:2:2], store.Entry{Job: "j1", Seq: 3, ID: "new", Kind: store.Noted, Body: json.RawMessage(`{"text":"x"}`)}),
		files[:1], func(int) ([]byte, error) { return []byte("other"), nil })
	wantErr(t, "a file that differs", err, store.ErrTaken)
	if sum, err := s.Job(t.Context(), "j1"); err != nil || sum.Seq != 2 {
		t.Errorf("refused ones left something: %+v, %v", sum, err)
	}
	if list, _ := s.Files(t.Context(), "j1"); len(list) != 2 {
		t.Errorf("files: %+v", list)
	}
}

// lines holds the tally to its order.
func lines(t *testing.T, s store.Store, _ *Clock) {
	line := func(n int) json.RawMessage { return json.RawMessage(fmt.Sprintf(`{"tally":1,"job":"j%d"}`, n)) }
	if err := s.AddTallyLines(t.Context(), 0, line(1), line(2)); err != nil {
		t.Fatal(err)
	}
	wantErr(t, "a line by somebody who had not read the newest", s.AddTallyLines(t.Context(), 1, line(3)), store.ErrOvertaken)
	if err := s.AddTallyLines(t.Context(), 2, line(3)); err != nil {
		t.Fatal(err)
	}
	if err := s.AddTallyLines(t.Context(), 2, line(3)); err != nil {
		t.Errorf("the same line again, as after an answer that was lost: %v", err)
	}
	if err := s.AddTallyLines(t.Context(), 3, line(4), json.RawMessage(`{"torn`)); err == nil {
		t.Error("a torn line was kept")
	}
	got, err := s.TallyLines(t.Context())
	if d := cmp.Diff([]json.RawMessage{line(1), line(2), line(3)}, got); d != "" || err != nil {
		t.Errorf("lines (-want +got), error %v:\n%s", err, d)
	}
}

// long holds that no name stops an entry: 27 letters of a script that takes three
// bytes a letter are 81 bytes.
func long(t *testing.T, s store.Store, _ *Clock) {
	open(t, s, "j1")
	for i, who := range []string{strings.Repeat("ก", 27), strings.Repeat("ก", 80), strings.Repeat("🔧", 500), "a\x00b\nc", "\xff\xfe", ""} {
		e := finding("j1", fmt.Sprint("f", i), `{"check":"level-cold","found":"low"}`)
		e.Who = who
		kept, added, err := s.Append(t.Context(), e)
		if err != nil || !added {
			t.Errorf("a name of %d bytes: %v", len(who), err)
			continue
		}
		if len(kept.Who) > store.MaxWho || len(who) <= 240 && len([]rune(who)) > 10 && kept.Who != who {
			t.Errorf("the name %q was kept as %q", who, kept.Who)
		}
		back, err := s.Entries(t.Context(), "j1", kept.Seq-1)
		if d := cmp.Diff([]store.Entry{kept}, back); d != "" || err != nil {
			t.Errorf("read back (-kept +read), error %v:\n%s", err, d)
		}
	}
	name := strings.Repeat("ก", 40) + ".csv"
	if f, err := s.PutFile(t.Context(), "j1", store.File{Name: name}, []byte("1")); err != nil || f.Name != name {
		t.Errorf("a file whose name has 124 bytes: %+v, %v", f, err)
	}
	for _, id := range []string{strings.Repeat("a", store.MaxID+1), "a\x00", "\xff"} {
		if _, _, err := s.Append(t.Context(), finding("j1", id, `{}`)); err == nil {
			t.Errorf("the id %q was kept", id)
		}
	}
}

// pages holds that a list can be read on behind its end.
func pages(t *testing.T, s store.Store, _ *Clock) {
	const all, each = 25, 10
	for i := range all {
		open(t, s, fmt.Sprintf("j%02d", i))
	}
	seen := map[string]bool{}
	for from := 0; from < all; from += each {
		list, err := s.Jobs(t.Context(), store.Query{Limit: each, From: from})
		if err != nil || len(list) != min(each, all-from) {
			t.Fatalf("from %d: %d jobs, %v", from, len(list), err)
		}
		for _, j := range list {
			seen[j.ID] = true
		}
	}
	if len(seen) != all {
		t.Errorf("%d jobs on all pages, want %d", len(seen), all)
	}
	if _, err := s.Jobs(t.Context(), store.Query{Words: strings.Repeat(`hot % _ \ `, 5000)}); err != nil {
		t.Errorf("a search of 20,000 words: %v", err)
	}
	if list, err := s.Jobs(t.Context(), store.Query{Words: strings.Repeat("long", 50_000)}); err != nil || len(list) != 0 {
		t.Errorf("a word of 200,000 letters: %d jobs, %v", len(list), err)
	}
}

// roundTrips holds that whatever can be kept can go out and come in elsewhere.
func roundTrips(t *testing.T, s, other store.Store) {
	n := 0
	rapid.Check(t, func(r *rapid.T) {
		n++
		job := fmt.Sprint("job-", n)
		id := rapid.OneOf(rapid.SampledFrom([]string{"..", ".", "a b", "../up", "ก", "x/y", `"`, "%00", "f-1"}), rapid.StringN(1, 20, store.MaxID))
		text := rapid.String()
		body := func() json.RawMessage {
			b, err := json.Marshal(map[string]string{"text": text.Draw(r, "text"), "<&>\u2028": text.Draw(r, "more")})
			if err != nil {
				r.Fatal(err)
			}
			return b
		}
		if _, _, err := s.Append(t.Context(), store.Entry{Job: job, ID: "o", Kind: store.Opened, Who: text.Draw(r, "who"), Body: json.RawMessage(head)}); err != nil {
			r.Fatal(err)
		}
		kept := 1
		for range rapid.IntRange(0, 5).Draw(r, "entries") {
			_, added, err := s.Append(t.Context(), store.Entry{Job: job, ID: id.Draw(r, "id"), Kind: store.Found, Who: text.Draw(r, "who"), Body: body()})
			if err == nil && added {
				kept++
			}
		}
		for range rapid.IntRange(0, 3).Draw(r, "files") {
			name := rapid.OneOf(rapid.SampledFrom([]string{"a..b.csv", "log (2).csv", "ก.jpg", "CON", "a b"}), text).Draw(r, "name")
			content := rapid.OneOf(rapid.SliceOfN(rapid.Byte(), 0, 50), rapid.Just(bytes.Repeat([]byte{0}, 1<<20))).Draw(r, "content")
			_, err := s.PutFile(t.Context(), job, store.File{Name: name, Type: "text/csv"}, content)
			if (err == nil) != store.PlainName(name) {
				r.Fatalf("file name %q: %v", name, err)
			}
		}
		var out bytes.Buffer
		if err := store.Export(t.Context(), s, job, &out); err != nil {
			r.Fatal(err)
		}
		to, added, err := store.Import(t.Context(), other, bytes.NewReader(out.Bytes()), int64(out.Len()))
		if err != nil || to != job || added != kept {
			r.Fatalf("import: job %q, %d added, %v; %d were kept", to, added, err, kept)
		}
		sameJob(t, r, s, other, job)
	})
}

func sameJob(t *testing.T, r *rapid.T, s, other store.Store, job string) {
	want, err1 := s.Entries(t.Context(), job, 0)
	got, err2 := other.Entries(t.Context(), job, 0)
	for i := range want {
		want[i].ID = store.PlainID(want[i].ID)
	}
	if d := cmp.Diff(want, got); d != "" || errors.Join(err1, err2) != nil {
		r.Fatalf("journal (-here +there), errors %v %v:\n%s", err1, err2, d)
	}
	files, err := s.Files(t.Context(), job)
	if err != nil {
		r.Fatal(err)
	}
	for _, f := range files {
		_, here, err1 := s.File(t.Context(), job, f.Name)
		there, content, err2 := other.File(t.Context(), job, f.Name)
		if errors.Join(err1, err2) != nil || there != f || !bytes.Equal(here, content) {
			r.Fatalf("file %q: %+v and %+v, errors %v %v", f.Name, f, there, err1, err2)
		}
	}
}
