package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"slices"

	"weephole/internal/job"
	"weephole/internal/store"
)

// maxImport is the largest exported job that is taken in, bytes: what an export may
// have, so that what goes out can come in.
const maxImport = store.MaxTransfer

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
	if err := ap.sound(r.Context(), t); err != nil {
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
// has to keep: heads and findings are read as a job file is, files are of kinds that
// this bench gives, and a photo loses where it was taken.
func (ap *filesAPI) sound(ctx context.Context, t *store.Transfer) error {
	for i := range t.Entries {
		if err := ap.soundEntry(&t.Entries[i]); err != nil {
			return notTaken("entry %d (%s): %s", t.Entries[i].Seq, t.Entries[i].Kind, failureOf(err).Message)
		}
	}
	set, err := ap.settings(ctx)
	if err != nil {
		return err
	}
	list, err := ap.store.Files(ctx, t.Job)
	if err != nil {
		return err
	}
	there := map[string]store.File{}
	for _, f := range list {
		there[f.Name] = f
	}
	for i := range t.Files {
		if err := ctx.Err(); err != nil {
			return err // nobody waits any more
		}
		kind, err := soundFile(ctx, t, i)
		if err != nil {
			return err
		}
		if kind != aPhoto {
			continue
		}
		if err := ap.placeOff(ctx, t, i, there[t.Files[i].Name], set.Photos == wholePhotos); err != nil {
			return err
		}
	}
	return nil
}

func notTaken(format string, args ...any) error {
	return wrong(http.StatusUnprocessableEntity, "this exported job cannot be taken in: "+format, args...)
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

// What a file of an exported job is.
const (
	aLog = iota
	aPhoto
	aSound
)

// soundFile looks whether a file is what it says, and of a kind that can be brought
// here.
func soundFile(ctx context.Context, t *store.Transfer, i int) (kind int, err error) {
	f, name := t.Files[i], clip(t.Files[i].Name, 60)
	content, err := t.Content(i)
	if err != nil {
		return 0, err
	}
	if slices.Contains(logTypes, f.Type) {
		return aLog, boundedLog(ctx, name, content)
	}
	looks := http.DetectContentType(content)
	for _, known := range photoTypes {
		if f.Type == known && looks == known {
			return aPhoto, nil
		}
	}
	for _, known := range soundTypes {
		if f.Type == known[0] && looks == known[1] {
			return aSound, nil
		}
	}
	return 0, notTaken("the file %q is neither a log, nor a picture or a recording of the kind that it says (%s)", name, clip(f.Type, 60))
}

// boundedLog holds a log to the limits of an upload. It is read only where its lines
// might be too many. One that cannot be read is taken: its own bench took it, and its
// page says what is wrong with it.
func boundedLog(ctx context.Context, name string, content []byte) error {
	lines, buf := 0, make([]byte, 64<<10)
	for r := unpacked(content); ; {
		n, err := r.Read(buf)
		lines += max(bytes.Count(buf[:n], []byte{'\n'}), bytes.Count(buf[:n], []byte{'\r'}))
		if errors.Is(err, errUnpacked) {
			return notTaken("%s: %v", name, err)
		}
		if err != nil {
			break
		}
	}
	if lines <= mostRows {
		return nil
	}
	t, err := readTrace(ctx, content, name, nil)
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if err != nil {
		return nil
	}
	if err := fewRows(name, t); err != nil {
		return notTaken("%s", failureOf(err).Message)
	}
	return nil
}

// placeOff has a photo kept without where it was taken, unless the shop wants its photos
// whole. The shop that a job comes from may want that and this one not, and a job may go
// there and back. So what is compared with a photo that is there is the picture without
// its place: where that is the same, the photo stays as it is there.
func (ap *filesAPI) placeOff(ctx context.Context, t *store.Transfer, i int, there store.File, whole bool) error {
	f := t.Files[i]
	if there.SHA256 == f.SHA256 {
		return nil
	}
	bare := func(content []byte) ([]byte, error) { return withoutPlace(f.Type, content) }
	if there.Type == f.Type {
		same, err := ap.samePicture(ctx, t, i, bare)
		if err != nil {
			return err
		}
		if same {
			t.Leave(i)
			return nil
		}
	}
	if whole {
		return nil
	}
	if err := t.Alter(i, bare); err != nil {
		return notTaken("where the photo %q was taken cannot be taken out of it: %v. Remove it from the job where it comes from, and export that again", clip(f.Name, 60), err)
	}
	return nil
}

// samePicture tells whether a photo that comes is the one that is there under its name
// once neither says where it was taken.
func (ap *filesAPI) samePicture(ctx context.Context, t *store.Transfer, i int, bare func([]byte) ([]byte, error)) (bool, error) {
	came, err := t.Content(i)
	if err != nil {
		return false, err
	}
	_, kept, err := ap.store.File(ctx, t.Job, t.Files[i].Name)
	if errors.Is(err, store.ErrUnknown) {
		return false, nil // it has just been removed
	}
	if err != nil {
		return false, err
	}
	a, errCame := bare(came)
	b, errKept := bare(kept)
	return errCame == nil && errKept == nil && bytes.Equal(a, b), nil
}
