package web

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"slices"

	"weephole/internal/job"
	"weephole/internal/store"
)

// maxImport is the largest exported job that is taken in, bytes: judgement,
// sixteen of the largest uploads.
const maxImport = 512 << 20

// logTypes are the media types under which a log may come with an exported job.
var logTypes = []string{"text/csv", "text/plain", "application/gzip", "application/octet-stream"}

// importJob takes in an exported job: all of it, or nothing.
func (ap *filesAPI) importJob(_ http.ResponseWriter, r *http.Request) (any, error) {
	f, size, err := spool(r.Body)
	if err != nil {
		return nil, err
	}
	defer discard(f)
	t, err := store.ReadTransfer(f, size)
	if err != nil {
		return nil, err
	}
	if err := ap.sound(t); err != nil {
		return nil, err
	}
	added, err := t.Keep(r.Context(), ap.store)
	if errors.Is(err, store.ErrTaken) {
		return nil, wrong(http.StatusConflict, "this exported job cannot be taken in: another job is kept here under its id")
	}
	if err != nil {
		return nil, err
	}
	s, err := ap.state(r.Context(), t.Job)
	if err != nil {
		return nil, err
	}
	ap.live.publish(t.Job, event{Name: "entry", Seq: s.Seq})
	ap.evaluateSoon(t.Job)
	return Made{ID: t.Job, Seq: s.Seq, Kept: added > 0}, nil
}

// spool writes what is sent into a passing file, because it may be larger than
// what should stand in memory.
func spool(r io.Reader) (*os.File, int64, error) {
	f, err := os.CreateTemp("", "weephole-import-*")
	if err != nil {
		return nil, 0, fmt.Errorf("take in a job: %w", err)
	}
	size, err := io.Copy(f, r)
	if err == nil && size == 0 {
		err = wrong(http.StatusBadRequest, "the request is empty")
	}
	if err != nil {
		discard(f)
		return nil, 0, err
	}
	return f, size, nil
}

func discard(f *os.File) {
	f.Close()
	os.Remove(f.Name()) // what stays is in the system's folder for passing files
}

// sound holds what an exported job contains to the rules that an entry made here
// has to keep: heads and findings are read as a job file is, file types are ones
// that this bench gives.
func (ap *filesAPI) sound(t *store.Transfer) error {
	for i := range t.Entries {
		if err := ap.soundEntry(&t.Entries[i]); err != nil {
			return wrong(http.StatusUnprocessableEntity, "this exported job cannot be taken in: entry %d (%s): %s", t.Entries[i].Seq, t.Entries[i].Kind, failureOf(err).Message)
		}
	}
	for i := range t.Files {
		if err := soundFile(t, i); err != nil {
			return err
		}
	}
	return nil
}

func (ap *filesAPI) soundEntry(e *store.Entry) (err error) {
	switch e.Kind {
	case store.Opened, store.HeadChanged:
		_, err = ap.read(e.Body)
	case store.Found, store.Corrected:
		_, err = job.ReadFinding(e.Body, job.Shop{}, ap.words)
	}
	return err
}

func soundFile(t *store.Transfer, i int) error {
	f := t.Files[i]
	if slices.Contains(logTypes, f.Type) {
		return nil
	}
	content, err := t.Content(i)
	if err != nil {
		return err
	}
	for _, known := range photoTypes {
		if f.Type == known && http.DetectContentType(content) == known {
			return nil
		}
	}
	return wrong(http.StatusUnprocessableEntity, "this exported job cannot be taken in: the file %q is neither a log nor a picture of the kind that it says (%s)", clip(f.Name, 60), clip(f.Type, 60))
}
