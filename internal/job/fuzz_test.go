package job_test

import (
	"bytes"
	"errors"
	"os"
	"testing"

	"weephole/internal/job"

	"github.com/google/go-cmp/cmp"
)

// FuzzRead looks for bytes that crash the reader, and for files that it takes
// but cannot write back.
func FuzzRead(f *testing.F) {
	for _, dir := range []string{"testdata/good/", "testdata/bad/"} {
		entries, err := os.ReadDir(dir)
		if err != nil {
			f.Fatal(err)
		}
		for _, e := range entries {
			src, err := os.ReadFile(dir + e.Name())
			if err != nil {
				f.Fatal(err)
			}
			f.Add(src)
		}
	}
	v := vocabulary()
	f.Fuzz(func(t *testing.T, src []byte) {
		j, err := job.Read(bytes.NewReader(src), "fuzz", v)
		if err != nil {
			var problems job.Problems
			if !errors.As(err, &problems) || len(problems) == 0 {
				t.Fatalf("%T: %v", err, err)
			}
			return
		}
		var b bytes.Buffer
		if err := job.WriteJSON(&b, j); err != nil {
			t.Fatal(err)
		}
		back, err := job.Read(bytes.NewReader(b.Bytes()), "written", v)
		if err != nil {
			t.Fatalf("cannot read back: %v\n%s", err, &b)
		}
		if d := cmp.Diff(j, back, same); d != "" {
			t.Fatalf("writing changed it:\n%s\n%s", d, &b)
		}
	})
}
