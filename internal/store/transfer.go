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
	"slices"
	"time"
)

// TransferVersion is the version of the file that Export writes.
const TransferVersion = 1

// Limits of an exported job. They are looked at in the zip's own list before
// anything is unpacked, and kept while it is. Export stays inside them, so that
// what goes out can come in. All are judgement.
const (
	// MaxTransfer is the largest zip, bytes: sixteen of the largest uploads.
	MaxTransfer     = 512 << 20
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

// TooLarge says that a job does not go into one file that Import would take.
type TooLarge struct{ What string }

func (l *TooLarge) Error() string {
	return l.What + "; that is more than goes into one file. Make a backup of the whole shop instead (weephole backup)"
}

func tooLarge(format string, args ...any) error { return &TooLarge{fmt.Sprintf(format, args...)} }

// counted counts what is written, and stops where Import would no longer take it.
type counted struct {
	io.Writer
	n, most int64
}

func (c *counted) Write(p []byte) (int, error) {
	if c.n += int64(len(p)); c.n > c.most {
		return 0, tooLarge("it would be packed into more than %d MB", c.most>>20)
	}
	return c.Writer.Write(p)
}

// Export writes a job as one zip file: journal.json (every entry), job.json (the
// job file as it stands, for reading elsewhere) and files/NAME. A job that Import
// would refuse for its size is TooLarge; what was written until then is no zip.
func Export(ctx context.Context, s Store, job string, w io.Writer) error {
	if err := export(ctx, s, job, &counted{Writer: w, most: MaxTransfer}); err != nil {
		return fmt.Errorf("export job %s: %w", job, err)
	}
	return nil
}

func export(ctx context.Context, s Store, job string, w io.Writer) error {
	entries, err := s.Entries(ctx, job, 0)
	if err != nil {
		return err
	}
	if len(entries) > maxEntries {
		return tooLarge("its journal has %d entries, and at most %d are taken in", len(entries), maxEntries)
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
	if parts := len(files) + 2; parts > maxParts { // the journal and the job file are parts too
		return tooLarge("it has %d logs and photos, and at most %d are taken in", len(files), maxParts-2)
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
		if len(content) > maxTransferPart {
			return tooLarge("%s is larger than %d MB", name, maxTransferPart>>20)
		}
		if all += int64(len(content)); all > maxTransferAll {
			return tooLarge("what it holds is more than %d MB", maxTransferAll>>20)
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
	came    []File // as the journal has them
	alters  map[int]func([]byte) ([]byte, error)
	left    map[int]bool
}

// Alter has a file kept with another content than it came with. Its checksum and size
// are the new content's from then on. What came is still held to the checksum in the
// journal.
func (t *Transfer) Alter(i int, to func([]byte) ([]byte, error)) error {
	came, err := t.Content(i)
	if err != nil {
		return err
	}
	content, err := to(came)
	if err != nil || bytes.Equal(came, content) {
		return err
	}
	t.Files[i].Size, t.Files[i].SHA256 = int64(len(content)), Sum(content)
	if t.alters == nil {
		t.alters = map[int]func([]byte) ([]byte, error){}
	}
	t.alters[i] = to
	return nil
}

// Leave has a file not taken in, because it is there.
func (t *Transfer) Leave(i int) {
	if t.left == nil {
		t.left = map[int]bool{}
	}
	t.left[i] = true
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
	var files []File
	var which []int
	for i, f := range t.Files {
		if !t.left[i] {
			files, which = append(files, f), append(which, i)
		}
	}
	added, err = s.Take(ctx, t.Job, t.Entries, files, func(i int) ([]byte, error) { return t.Content(which[i]) })
	var d *Differs
	if errors.As(err, &d) {
		return 0, bad("%v", d)
	}
	if err != nil {
		return 0, fmt.Errorf("import job %s: %w", t.Job, err)
	}
	return added, nil
}

// Content unpacks a file, holds it to its checksum, and gives what is to be kept of it.
func (t *Transfer) Content(i int) ([]byte, error) {
	f := t.came[i]
	content, err := readPart(t.zip, "files/"+f.Name)
	if err != nil {
		return nil, err
	}
	if got := Sum(content); got != f.SHA256 {
		return nil, bad("file %q was changed: its sha256 is %s, not %s", f.Name, got, f.SHA256)
	}
	if to := t.alters[i]; to != nil {
		return to(content)
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
	t.came = slices.Clone(t.Files)
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
