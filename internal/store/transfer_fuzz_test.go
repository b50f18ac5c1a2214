package store

import (
	"bytes"
	"errors"
	"os"
	"testing"
)

// Whatever a file is, reading it as an exported job ends in a journal or in a
// plain refusal.
func FuzzReadTransfer(f *testing.F) {
	data, err := os.ReadFile("sqlite/testdata/export1.zip")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Add([]byte("PK\x05\x06" + string(make([]byte, 18))))
	f.Add([]byte{})
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := ReadTransfer(bytes.NewReader(data), int64(len(data)))
		if err != nil {
			var b *BadTransfer
			if !errors.As(err, &b) {
				t.Errorf("no plain refusal: %v", err)
			}
			return
		}
		for i, file := range m.Files {
			content, err := m.Content(i)
			if err != nil || !PlainName(file.Name) || Sum(content) != file.SHA256 {
				t.Errorf("file %q was taken unchecked: %v", file.Name, err)
			}
		}
		if s, err := Fold(m.Entries); err == nil {
			if _, err := s.Document(); err != nil && len(m.Entries) == 0 {
				t.Errorf("an empty journal has a document: %v", err)
			}
		}
	})
}

func TestPlainNamesAreOneNameOnly(t *testing.T) {
	for name, want := range map[string]bool{
		"log.csv": true, "Ölstand 3.jpg": true, "": false, ".": false, "..": false, ".x": false, "a/b": false, `a\b`: false,
		"a:b": false, "a\nb": false, "con?": false,
	} {
		if got := PlainName(name); got != want {
			t.Errorf("PlainName(%q) = %v", name, got)
		}
	}
}
