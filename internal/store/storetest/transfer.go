package storetest

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weephole/internal/store"
)

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
