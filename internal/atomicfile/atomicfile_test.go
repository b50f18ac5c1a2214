package atomicfile_test

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"

	"weephole/internal/atomicfile"
)

func TestAFileAppearsWholeOrNotAtAll(t *testing.T) {
	name := filepath.Join(t.TempDir(), "letter.txt")
	full := errors.New("no space left")
	half := func(w io.Writer) error {
		if _, err := io.WriteString(w, "half a let"); err != nil {
			t.Fatal(err)
		}
		return full
	}
	whole := func(w io.Writer) error { _, err := io.WriteString(w, "a letter"); return err }

	if err := atomicfile.Write(name, 0o644, half); !errors.Is(err, full) {
		t.Fatalf("a failure is reported as %v", err)
	}
	holds(t, name, nil)
	if err := atomicfile.Write(name, 0o644, whole); err != nil {
		t.Fatal(err)
	}
	holds(t, name, []byte("a letter"))
	if err := atomicfile.Write(name, 0o644, half); !errors.Is(err, full) {
		t.Fatalf("a failure is reported as %v", err)
	}
	holds(t, name, []byte("a letter"))
}

// holds checks that the folder has the file with this content and nothing else.
func holds(t *testing.T, name string, want []byte) {
	t.Helper()
	got, err := os.ReadFile(name)
	if want == nil && !errors.Is(err, os.ErrNotExist) || want != nil && string(got) != string(want) {
		t.Errorf("the file holds %q (%v), want %q", got, err, want)
	}
	entries, err := os.ReadDir(filepath.Dir(name))
	if err != nil || len(entries) > 1 || want == nil && len(entries) > 0 {
		t.Errorf("files are left behind: %v, %v", entries, err)
	}
}

func TestALinkStaysALink(t *testing.T) {
	dir := t.TempDir()
	file, link := filepath.Join(dir, "file"), filepath.Join(dir, "link")
	if err := os.WriteFile(file, []byte("old"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(file, link); err != nil {
		t.Skip(err)
	}
	if err := atomicfile.Write(link, 0o644, func(w io.Writer) error { _, err := io.WriteString(w, "new"); return err }); err != nil {
		t.Fatal(err)
	}
	if got, err := os.ReadFile(file); err != nil || string(got) != "new" {
		t.Errorf("the file behind the link holds %q, %v", got, err)
	}
	if info, err := os.Lstat(link); err != nil || info.Mode()&os.ModeSymlink == 0 {
		t.Errorf("the link is no link any more: %v, %v", info, err)
	}
}
