package store

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"
	"time"
)

// TransferVersion is the version of the file that Export writes.
const TransferVersion = 1

// maxTransferPart is the most that one part of an exported job may unpack to,
// bytes: judgement, twice the largest upload that the bench takes.
const maxTransferPart = 64 << 20

// manifest is journal.json in an exported job.
type manifest struct {
	Weephole int     `json:"weephole-export"`
	Job      string  `json:"job"`
	Entries  []Entry `json:"entries"`
	Files    []File  `json:"files"`
}

// Export writes a job as one zip file: journal.json (every entry), job.json (the
// job file as it stands, for reading elsewhere) and files/NAME.
func Export(ctx context.Context, s Store, job string, w io.Writer) error {
	entries, err := s.Entries(ctx, job, 0)
	if err != nil {
		return fmt.Errorf("export job %s: %w", job, err)
	}
	state, err := Fold(entries)
	if err != nil {
		return fmt.Errorf("export job %s: %w", job, err)
	}
	document, err := state.Document()
	if err != nil {
		return fmt.Errorf("export job %s: %w", job, err)
	}
	files, err := s.Files(ctx, job)
	if err != nil {
		return fmt.Errorf("export job %s: %w", job, err)
	}
	z := zip.NewWriter(w)
	put := func(name string, content []byte, at time.Time) error {
		part, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: at})
		if err != nil {
			return err
		}
		_, err = part.Write(content)
		return err
	}
	var m bytes.Buffer
	enc := json.NewEncoder(&m)
	enc.SetEscapeHTML(false) // bodies go out as they were kept
	if err := enc.Encode(manifest{TransferVersion, job, entries, files}); err != nil {
		return fmt.Errorf("export job %s: %w", job, err)
	}
	if err := errors.Join(put("journal.json", m.Bytes(), state.Changed), put("job.json", document, state.Changed)); err != nil {
		return fmt.Errorf("export job %s: %w", job, err)
	}
	for _, f := range files {
		_, content, err := s.File(ctx, job, f.Name)
		if err == nil {
			err = put("files/"+f.Name, content, f.At)
		}
		if err != nil {
			return fmt.Errorf("export job %s: file %q: %w", job, f.Name, err)
		}
	}
	if err := z.Close(); err != nil {
		return fmt.Errorf("export job %s: %w", job, err)
	}
	return nil
}

// BadTransfer is a file that is no exported job, or a spoilt one.
type BadTransfer struct{ Why string }

func (b *BadTransfer) Error() string { return "this is no exported job: " + b.Why }

func bad(format string, args ...any) error { return &BadTransfer{fmt.Sprintf(format, args...)} }

// Import reads what Export wrote and keeps it: a new job, or what the store
// does not have yet of one that it knows. Everything is checked before anything
// is kept. It returns the job's id and how many entries were new.
func Import(ctx context.Context, s Store, r io.ReaderAt, size int64) (job string, added int, err error) {
	m, contents, err := readTransfer(r, size)
	if err != nil {
		return "", 0, err
	}
	if _, err := Fold(m.Entries); err != nil {
		return "", 0, bad("its journal does not hold together: %v", err)
	}
	for _, e := range m.Entries {
		if e.Job != m.Job {
			return "", 0, bad("entry %d belongs to another job", e.Seq)
		}
		_, isNew, err := s.Append(ctx, e)
		switch {
		case errors.Is(err, ErrTaken) && e.Kind != Opened:
			return "", added, bad("entry %d differs from the one kept here under the same id", e.Seq)
		case err != nil:
			return "", added, fmt.Errorf("import job %s: %w", m.Job, err)
		case isNew:
			added++
		}
	}
	for i, f := range m.Files {
		kept, err := s.PutFile(ctx, m.Job, f, contents[i])
		if err != nil {
			return "", added, fmt.Errorf("import job %s: file %q: %w", m.Job, f.Name, err)
		}
		if kept.Name != f.Name {
			return "", added, bad("file %q differs from the one kept here under the same name", f.Name)
		}
	}
	return m.Job, added, nil
}

// readTransfer unpacks and checks an exported job without keeping anything.
func readTransfer(r io.ReaderAt, size int64) (*manifest, [][]byte, error) {
	z, err := zip.NewReader(r, size)
	if err != nil {
		return nil, nil, bad("not a zip file (%v)", err)
	}
	raw, err := readPart(z, "journal.json")
	if err != nil {
		return nil, nil, err
	}
	var m manifest
	if err := json.Unmarshal(raw, &m); err != nil {
		return nil, nil, bad("journal.json: %v", err)
	}
	if m.Weephole < 1 || m.Weephole > TransferVersion {
		return nil, nil, bad("version %d; this program reads 1 to %d", m.Weephole, TransferVersion)
	}
	contents := make([][]byte, len(m.Files))
	for i, f := range m.Files {
		if !PlainName(f.Name) {
			return nil, nil, bad("file name %q", f.Name)
		}
		if contents[i], err = readPart(z, "files/"+f.Name); err != nil {
			return nil, nil, err
		}
		if got := Sum(contents[i]); got != f.SHA256 {
			return nil, nil, bad("file %q was changed: its sha256 is %s, not %s", f.Name, got, f.SHA256)
		}
	}
	return &m, contents, nil
}

func readPart(z *zip.Reader, name string) ([]byte, error) {
	f, err := z.Open(name)
	if err != nil {
		return nil, bad("%s is missing", name)
	}
	defer f.Close()
	content, err := io.ReadAll(io.LimitReader(f, maxTransferPart+1))
	if err != nil {
		return nil, bad("%s: %v", name, err)
	}
	if len(content) > maxTransferPart {
		return nil, bad("%s is larger than %d MB", name, maxTransferPart>>20)
	}
	return content, nil
}

// Sum is the SHA-256 of a content, in hexadecimal.
func Sum(content []byte) string {
	h := sha256.Sum256(content)
	return hex.EncodeToString(h[:])
}

// PlainName tells whether a file name is one name, with no folders and nothing
// that a file system or a page could stumble over.
func PlainName(name string) bool {
	return name != "" && len(name) <= 120 && name == path.Base(name) && name[0] != '.' &&
		!strings.ContainsFunc(name, func(r rune) bool { return r < ' ' || r == 0x7f || strings.ContainsRune(`/\:*?"<>|`, r) })
}
