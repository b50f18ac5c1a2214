package store

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"errors"
	"fmt"
	"hash/crc32"
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
