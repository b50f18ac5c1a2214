package store

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"context"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"math/rand/v2"
	"strings"
	"testing"
)

// packed is a zip of parts full of zeros, each of so many bytes.
func packed(t *testing.T, parts map[string]int) []byte {
	t.Helper()
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for name, size := range parts {
		w, err := z.Create(name)
		if err == nil {
			_, err = w.Write(make([]byte, size))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// lying is a zip whose journal unpacks to more than its list of parts says.
func lying(t *testing.T) []byte {
	t.Helper()
	content := make([]byte, 1<<20)
	var small, out bytes.Buffer
	f, err := flate.NewWriter(&small, flate.BestCompression)
	if err == nil {
		_, err = f.Write(content)
	}
	if err = errors.Join(err, f.Close()); err != nil {
		t.Fatal(err)
	}
	z := zip.NewWriter(&out)
	w, err := z.CreateRaw(&zip.FileHeader{Name: "journal.json", Method: zip.Deflate, CRC32: crc32.ChecksumIEEE(content),
		CompressedSize64: uint64(small.Len()), UncompressedSize64: 100})
	if err == nil {
		_, err = w.Write(small.Bytes())
	}
	if err = errors.Join(err, z.Close()); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// journalOf is a zip whose journal has so many parts of a list, each as small as can be.
func journalOf(t *testing.T, list string, parts int) []byte {
	t.Helper()
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	w, err := z.Create("journal.json")
	if err == nil {
		_, err = fmt.Fprintf(w, `{"weephole-export":1,"job":"j",%q:[%s]}`, list, strings.TrimSuffix(strings.Repeat("{},", parts), ","))
	}
	if err = errors.Join(err, z.Close()); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestAnExportedJobThatWouldBurstIsRefused(t *testing.T) {
	many := map[string]int{}
	for i := range maxParts + 1 {
		many[fmt.Sprint("files/", i)] = 0
	}
	for _, tt := range []struct {
		name string
		data []byte
		says string
	}{
		{"one part far larger than any upload", packed(t, map[string]int{"journal.json": maxTransferPart + 1}), "larger than 64 MB"},
		{"parts that are large together", packed(t, map[string]int{"journal.json": 30 << 20, "files/a.csv": 30 << 20}), "would unpack to 60 MB"},
		{"more parts than a job has", packed(t, many), "parts"},
		{"a part larger than it says", lying(t), "journal.json"},
		{"more entries than a job has", journalOf(t, "entries", maxEntries+1), "more than 200000 entries"},
		{"more files than a job has", journalOf(t, "files", maxParts+1), "more than 10000 files"},
		{"as many entries as a job may have, none of them of a job", journalOf(t, "entries", maxEntries), "belongs to another job"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := ReadTransfer(bytes.NewReader(tt.data), int64(len(tt.data)))
			var b *BadTransfer
			if !errors.As(err, &b) || !strings.Contains(b.Why, tt.says) {
				t.Errorf("%d kB: %v, want %q", len(tt.data)>>10, err, tt.says)
			}
		})
	}
}

// shelf is a store with one job, of which Export asks little.
type shelf struct {
	Store
	entries []Entry
	files   []File
	content []byte
}

func (s *shelf) Entries(context.Context, string, int64) ([]Entry, error) { return s.entries, nil }
func (s *shelf) Files(context.Context, string) ([]File, error)           { return s.files, nil }
func (s *shelf) File(_ context.Context, _, name string) (File, []byte, error) {
	return File{Name: name}, s.content, nil
}

func TestAJobThatCouldNotComeInIsNotLetOut(t *testing.T) {
	opened := Entry{Job: "j", ID: "o", Seq: 1, Kind: Opened, Body: []byte(`{"weephole":1}`)}
	noise := make([]byte, 1<<20)
	for i := range noise { // it cannot be packed
		noise[i] = byte(rand.Uint32())
	}
	files := func(n int) (list []File) {
		for i := range n {
			list = append(list, File{Name: fmt.Sprint(i, ".png")})
		}
		return list
	}
	for _, tt := range []struct {
		name string
		s    *shelf
		says string
	}{
		{"too many entries", &shelf{entries: append(make([]Entry, maxEntries), opened)}, "200001 entries"},
		{"too many files", &shelf{entries: []Entry{opened}, files: files(maxParts - 1)}, "9999 logs and photos"},
		{"a file that is too large", &shelf{entries: []Entry{opened}, files: files(1), content: make([]byte, maxTransferPart+1)}, "0.png is larger than 64 MB"},
		{"more than a bench takes in", &shelf{entries: []Entry{opened}, files: files(3), content: noise}, "packed into more than 2 MB"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			err := export(t.Context(), tt.s, "j", &counted{Writer: io.Discard, most: 2 << 20}) // with a limit that is soon reached
			var large *TooLarge
			if !errors.As(err, &large) || !strings.Contains(large.Error(), tt.says) || !strings.Contains(large.Error(), "backup") {
				t.Errorf("%v, want %q", err, tt.says)
			}
		})
	}
}
