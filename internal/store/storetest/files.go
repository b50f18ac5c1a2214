package storetest

import (
	"bytes"
	"errors"
	"testing"

	"weephole/internal/store"
)

// brings holds that a file and the entry that tells of it are kept together.
func brings(t *testing.T, s store.Store, _ *Clock) {
	open(t, s, "j1")
	bring := func(id, name, content string) (store.File, bool, error) {
		f, _, added, err := s.Bring(t.Context(), store.Entry{Job: "j1", ID: id, Who: "Ada"}, store.File{Name: name, Type: "text/csv", Who: "Ada"}, []byte(content))
		return f, added, err
	}
	a, added, err := bring("b1", "run.csv", "one")
	if err != nil || !added || a.Name != "run.csv" {
		t.Fatalf("brought: %+v, %v, %v", a, added, err)
	}
	if again, added, err := bring("b1", "run.csv", "one"); err != nil || added || again != a {
		t.Errorf("sent again: %+v, %v, %v", again, added, err)
	}
	_, _, err = bring("b1", "run.csv", "two")
	wantErr(t, "another content under the entry's id", err, store.ErrTaken)
	if b, _, err := bring("b2", "run.csv", "two"); err != nil || b.Name != "run-2.csv" {
		t.Errorf("another file of that name: %+v, %v", b, err)
	}
	_, _, _, err = s.Bring(t.Context(), store.Entry{Job: "nobody", ID: "x"}, store.File{Name: "x.csv"}, []byte("1"))
	wantErr(t, "a file without its job", err, store.ErrUnknown)
	if _, _, _, err := s.Bring(t.Context(), store.Entry{Job: "j1", ID: ""}, store.File{Name: "y.csv"}, []byte("1")); err == nil {
		t.Error("a file was kept whose entry cannot be")
	}
	list, err := s.Files(t.Context(), "j1")
	if err != nil || len(list) != 2 {
		t.Errorf("%d files, %v", len(list), err)
	}
	entries, err := s.Entries(t.Context(), "j1", 1)
	if err != nil || len(entries) != 2 || string(entries[1].Body) != `{"file":"run-2.csv"}` {
		t.Errorf("entries: %+v, %v", entries, err)
	}
}

// removes holds that a file can be taken away, that the journal says so, and that
// its name is not given again.
func removes(t *testing.T, s store.Store, _ *Clock) {
	open(t, s, "j1")
	for i, id := range []string{"b1", "b2"} {
		if _, _, _, err := s.Bring(t.Context(), store.Entry{Job: "j1", ID: id}, store.File{Name: "run.csv", Type: "text/csv"}, []byte{byte('1' + i)}); err != nil {
			t.Fatal(err)
		}
	}
	var before bytes.Buffer
	if err := store.Export(t.Context(), s, "j1", &before); err != nil {
		t.Fatal(err)
	}
	remove := func(id, name string) (store.Entry, bool, error) {
		return s.RemoveFile(t.Context(), store.Entry{Job: "j1", ID: id, Who: "Bo"}, name)
	}
	gone, added, err := remove("r1", "run.csv")
	if err != nil || !added || gone.Who != "Bo" {
		t.Fatalf("removed: %+v, %v, %v", gone, added, err)
	}
	_, _, err = s.File(t.Context(), "j1", "run.csv")
	wantErr(t, "the removed file", err, store.ErrUnknown)
	if again, added, err := remove("r1", "run.csv"); err != nil || added || again.Seq != gone.Seq {
		t.Errorf("sent again: %+v, %v, %v", again, added, err)
	}
	_, _, err = remove("r2", "run.csv")
	wantErr(t, "removed by somebody else meanwhile", err, store.ErrUnknown)
	_, _, err = remove("r3", "../up")
	if err == nil || errors.Is(err, store.ErrUnknown) {
		t.Errorf("a name that no file has: %v", err)
	}
	f, err := s.PutFile(t.Context(), "j1", store.File{Name: "run.csv"}, []byte("1"))
	if err != nil || f.Name != "run-3.csv" {
		t.Errorf("a new file of the old name: %+v, %v", f, err)
	}
	entries, err := s.Entries(t.Context(), "j1", 0)
	if err != nil {
		t.Fatal(err)
	}
	state, err := store.Fold(entries)
	if err != nil || len(state.Notes) != 2 || !state.Notes[0].Gone || state.Notes[1].Gone {
		t.Errorf("notes: %+v, %v", state.Notes, err)
	}
	// What was exported before brings nothing back.
	if _, added, err := store.Import(t.Context(), s, bytes.NewReader(before.Bytes()), int64(before.Len())); err != nil || added != 0 {
		t.Errorf("an older export: %d added, %v", added, err)
	}
	if list, err := s.Files(t.Context(), "j1"); err != nil || len(list) != 2 {
		t.Errorf("files: %+v, %v", list, err)
	}
}

// removesElsewhere holds that a file which is there in two stores is gone in the
// second when the job comes in from the first, where it was removed.
func removesElsewhere(t *testing.T, s, other store.Store) {
	open(t, s, "j1")
	if _, _, _, err := s.Bring(t.Context(), store.Entry{Job: "j1", ID: "b1"}, store.File{Name: "run.csv", Type: "text/csv"}, []byte("1")); err != nil {
		t.Fatal(err)
	}
	for turn, want := range []struct{ added, files int }{{2, 1}, {1, 0}} {
		if turn == 1 {
			if _, _, err := s.RemoveFile(t.Context(), store.Entry{Job: "j1", ID: "r1"}, "run.csv"); err != nil {
				t.Fatal(err)
			}
		}
		var out bytes.Buffer
		if err := store.Export(t.Context(), s, "j1", &out); err != nil {
			t.Fatal(err)
		}
		_, added, err := store.Import(t.Context(), other, bytes.NewReader(out.Bytes()), int64(out.Len()))
		list, err2 := other.Files(t.Context(), "j1")
		if errors.Join(err, err2) != nil || added != want.added || len(list) != want.files {
			t.Errorf("turn %d: %d added, %d files, %v %v", turn+1, added, len(list), err, err2)
		}
	}
}
