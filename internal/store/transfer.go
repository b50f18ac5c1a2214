package store

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"time"
)

// TransferVersion is the version of the file that Export writes.
const TransferVersion = 1

// Limits of an exported job. They are looked at in the zip's own list before
// anything is unpacked, and kept while it is. Export stays inside them, so that
// what goes out can come in. All are judgement.
const (
	maxTransferPart = 64 << 20 // bytes that one part unpacks to: twice the largest upload that the bench takes
	maxTransferAll  = 2 << 30  // bytes that all parts unpack to
	maxParts        = 10_000   // parts of the zip
	maxEntries      = 200_000  // entries of the journal
	maxTightness    = 100      // times that a part may be larger than what it takes in the zip
	freeTightness   = 16 << 20 // bytes that may be unpacked in all however small the zip is
)

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
	if err := export(ctx, s, job, w); err != nil {
		return fmt.Errorf("export job %s: %w", job, err)
	}
	return nil
}

func export(ctx context.Context, s Store, job string, w io.Writer) error {
	entries, err := s.Entries(ctx, job, 0)
	if err != nil {
		return err
	}
	state, err := Fold(entries)
	if err != nil {
		return err
	}
	document, err := state.Document()
	if err != nil {
		return err
	}
	files, err := s.Files(ctx, job)
	if err != nil {
		return err
	}
	var m bytes.Buffer
	enc := json.NewEncoder(&m)
	enc.SetEscapeHTML(false) // bodies go out as they were kept
	if err := enc.Encode(manifest{TransferVersion, job, entries, files}); err != nil {
		return err
	}
	z := zip.NewWriter(w)
	all := int64(0)
	put := func(name string, content []byte, at time.Time) error {
		if all += int64(len(content)); len(content) > maxTransferPart || all > maxTransferAll {
			return fmt.Errorf("%s: the job is too large for one file (at most %d MB a part and %d MB in all); make a backup instead", name, maxTransferPart>>20, maxTransferAll>>20)
		}
		return putPart(z, name, content, at)
	}
	if err := put("journal.json", m.Bytes(), state.Changed); err != nil {
		return err
	}
	if err := put("job.json", document, state.Changed); err != nil {
		return err
	}
	for _, f := range files {
		_, content, err := s.File(ctx, job, f.Name)
		if err != nil {
			return err
		}
		if err := put("files/"+f.Name, content, f.At); err != nil {
			return err
		}
	}
	return z.Close()
}

// putPart packs a part, unless it would become so small that it looks like one
// made to burst.
func putPart(z *zip.Writer, name string, content []byte, at time.Time) error {
	var packed bytes.Buffer
	f, err := flate.NewWriter(&packed, flate.DefaultCompression)
	if err == nil {
		_, err = f.Write(content)
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return err
	}
	h := &zip.FileHeader{Name: name, Method: zip.Deflate, Modified: at}
	h.CRC32, h.UncompressedSize64 = crc32.ChecksumIEEE(content), uint64(len(content))
	bytes := packed.Bytes()
	if len(bytes)*maxTightness < len(content) || len(bytes) > len(content) {
		h.Method, bytes = zip.Store, content
	}
	h.CompressedSize64 = uint64(len(bytes))
	part, err := z.CreateRaw(h)
	if err == nil {
		_, err = part.Write(bytes)
	}
	return err
}

// BadTransfer is a file that is no exported job, or a spoilt one.
type BadTransfer struct{ Why string }

func (b *BadTransfer) Error() string { return "this is no exported job: " + b.Why }

func bad(format string, args ...any) error { return &BadTransfer{fmt.Sprintf(format, args...)} }

// Transfer is an exported job that was read and checked, and not kept yet.
type Transfer struct {
	Job     string
	Entries []Entry
	Files   []File
	zip     *zip.Reader
}

// Import reads what Export wrote and keeps it: a new job, or what the store
// does not have yet of one that it knows. All of it is kept or nothing. It
// returns the job's id and how many entries were new.
func Import(ctx context.Context, s Store, r io.ReaderAt, size int64) (job string, added int, err error) {
	t, err := ReadTransfer(r, size)
	if err != nil {
		return "", 0, err
	}
	added, err = t.Keep(ctx, s)
	return t.Job, added, err
}

// Keep keeps the job, all of it or nothing, and returns how many entries were new.
func (t *Transfer) Keep(ctx context.Context, s Store) (added int, err error) {
	added, err = s.Take(ctx, t.Job, t.Entries, t.Files, t.Content)
	var d *Differs
	if errors.As(err, &d) {
		return 0, bad("%v", d)
	}
	if err != nil {
		return 0, fmt.Errorf("import job %s: %w", t.Job, err)
	}
	return added, nil
}

// Content unpacks a file and holds it to its checksum.
func (t *Transfer) Content(i int) ([]byte, error) {
	f := t.Files[i]
	content, err := readPart(t.zip, "files/"+f.Name)
	if err != nil {
		return nil, err
	}
	if got := Sum(content); got != f.SHA256 {
		return nil, bad("file %q was changed: its sha256 is %s, not %s", f.Name, got, f.SHA256)
	}
	return content, nil
}

// ReadTransfer reads an exported job and checks all of it, files too, without
// keeping anything. What it unpacks is bounded.
func ReadTransfer(r io.ReaderAt, size int64) (*Transfer, error) {
	z, err := zip.NewReader(r, size)
	if err != nil {
		return nil, bad("not a zip file (%v)", err)
	}
	if err := fits(z, size); err != nil {
		return nil, err
	}
	raw, err := readPart(z, "journal.json")
	if err != nil {
		return nil, err
	}
	var m struct {
		Weephole int    `json:"weephole-export"`
		Job      string `json:"job"`
		Entries  json.RawMessage
		Files    json.RawMessage
	}
	if err := json.Unmarshal(raw, &m); err != nil {
		return nil, bad("journal.json: %v", err)
	}
	if m.Weephole < 1 || m.Weephole > TransferVersion {
		return nil, bad("version %d; this program reads 1 to %d", m.Weephole, TransferVersion)
	}
	t := &Transfer{Job: m.Job, zip: z}
	if t.Entries, err = list[Entry](m.Entries, "entries", maxEntries); err != nil {
		return nil, err
	}
	if t.Files, err = list[File](m.Files, "files", maxParts); err != nil {
		return nil, err
	}
	if err := t.sound(); err != nil {
		return nil, err
	}
	return t, nil
}

// list reads a JSON list of at most so many things. It stops at the limit, because
// an empty thing takes two bytes in a file and hundreds in memory.
func list[T any](raw json.RawMessage, what string, most int) ([]T, error) {
	if len(raw) == 0 || string(raw) == "null" {
		return nil, nil
	}
	d := json.NewDecoder(bytes.NewReader(raw))
	if open, err := d.Token(); err != nil || open != json.Delim('[') {
		return nil, bad("journal.json: %s is no list", what)
	}
	var out []T
	for d.More() {
		if len(out) == most {
			return nil, bad("it has more than %d %s", most, what)
		}
		var one T
		if err := d.Decode(&one); err != nil {
			return nil, bad("journal.json: %s: %v", what, err)
		}
		out = append(out, one)
	}
	return out, nil
}

// fits holds the zip's own list of parts to the limits.
func fits(z *zip.Reader, size int64) error {
	if len(z.File) > maxParts {
		return bad("it has %d parts; at most %d are taken", len(z.File), maxParts)
	}
	names, all := make(map[string]bool), uint64(0)
	for _, f := range z.File {
		if names[f.Name] {
			return bad("it has %q twice", f.Name)
		}
		names[f.Name] = true
		if f.UncompressedSize64 > maxTransferPart {
			return bad("%s is larger than %d MB", f.Name, maxTransferPart>>20)
		}
		all += f.UncompressedSize64
	}
	if most := min(maxTransferAll, freeTightness+maxTightness*uint64(size)); all > most {
		return bad("it would unpack to %d MB; from its size at most %d MB are taken", all>>20, most>>20)
	}
	return nil
}

// sound holds the journal together and the files to their checksums. Ids that
// could not stand in an address give way to ones made from them.
func (t *Transfer) sound() error {
	ids, job := make(map[string]bool), PlainID(t.Job)
	for i := range t.Entries {
		e := &t.Entries[i]
		if e.Job != t.Job {
			return bad("entry %d belongs to another job", e.Seq)
		}
		e.Job = job
		e.ID, e.Finding = PlainID(e.ID), PlainID(e.Finding)
		if _, err := e.Fit(); err != nil {
			return bad("entry %d: %v", e.Seq, err)
		}
		if ids[e.ID] {
			return bad("entry %d has the id of another", e.Seq)
		}
		ids[e.ID] = true
	}
	t.Job = job
	if _, err := Fold(t.Entries); err != nil {
		return bad("its journal does not hold together: %v", err)
	}
	names := make(map[string]bool)
	for i, f := range t.Files {
		if !PlainName(f.Name) || names[f.Name] {
			return bad("file name %q", f.Name)
		}
		names[f.Name] = true
		if _, err := t.Content(i); err != nil {
			return err
		}
	}
	return nil
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
