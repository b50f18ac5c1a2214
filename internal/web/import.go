package web

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"io"
	"net/http"
	"regexp"
	"slices"

	"weephole/internal/job"
	"weephole/internal/store"
)

// plainID is what an id may look like; the bench's own are UUIDs, the demo's words.
var plainID = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._-]{0,79}$`)

// logTypes are the media types under which a log may come with an exported job.
var logTypes = []string{"text/csv", "text/plain", "application/gzip", "application/octet-stream"}

// sound holds what an exported job contains to the rules that an entry made here
// has to keep: heads and findings are read as a job file is, ids and file types
// are ones that this bench gives. What is no exported job at all is left to
// store.Import, which says so.
func (ap *api) sound(content []byte) error {
	z, err := zip.NewReader(bytes.NewReader(content), int64(len(content)))
	if err != nil {
		return nil
	}
	raw, err := part(z, "journal.json")
	if err != nil {
		return nil
	}
	if len(raw) > maxPart {
		return wrong(http.StatusRequestEntityTooLarge, "this exported job cannot be taken in: its journal is larger than %d MB", maxPart>>20)
	}
	var m struct {
		Job     string
		Entries []store.Entry
		Files   []store.File
	}
	if json.Unmarshal(raw, &m) != nil {
		return nil
	}
	if !plainID.MatchString(m.Job) {
		return wrong(http.StatusUnprocessableEntity, "this exported job cannot be taken in: its id %q is none; it has letters, digits, dots and dashes", clip(m.Job, 40))
	}
	for i := range m.Entries {
		if err := ap.soundEntry(&m.Entries[i]); err != nil {
			return wrong(http.StatusUnprocessableEntity, "this exported job cannot be taken in: entry %d (%s): %s", m.Entries[i].Seq, m.Entries[i].Kind, failureOf(err).Message)
		}
	}
	for i := range m.Files {
		if err := soundFile(z, &m.Files[i]); err != nil {
			return err
		}
	}
	return nil
}

func (ap *api) soundEntry(e *store.Entry) (err error) {
	if !plainID.MatchString(e.ID) || e.Finding != "" && !plainID.MatchString(e.Finding) {
		return wrong(http.StatusUnprocessableEntity, "its id is none")
	}
	switch e.Kind {
	case store.Opened, store.Told:
		_, err = ap.read(e.Body)
	case store.Found, store.Corrected:
		_, err = job.ReadFinding(e.Body, job.Shop{}, ap.words)
	}
	return err
}

func soundFile(z *zip.Reader, f *store.File) error {
	if slices.Contains(logTypes, f.Type) {
		return nil
	}
	head, err := part(z, "files/"+f.Name)
	if err != nil {
		return nil // store.Import says that it is missing
	}
	for _, t := range photoTypes {
		if f.Type == t && http.DetectContentType(head) == t {
			return nil
		}
	}
	return wrong(http.StatusUnprocessableEntity, "this exported job cannot be taken in: the file %q is neither a log nor a picture of the kind that it says (%s)", clip(f.Name, 60), clip(f.Type, 60))
}

// maxPart is the most that is unpacked of one part of an exported job, bytes; it
// is what store.Import reads.
const maxPart = 64 << 20

// part unpacks one part of an exported job, a byte more than it may have at most.
func part(z *zip.Reader, name string) ([]byte, error) {
	f, err := z.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, maxPart+1))
}
