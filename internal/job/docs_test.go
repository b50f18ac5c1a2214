package job_test

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"weephole/internal/job"
)

const manual = "../../docs/job-file.md"

// The manual's tables of keys come from the rows that read the file.
func TestTheManualListsTheKeysThatAreRead(t *testing.T) {
	const begin, end = "<!-- keys: written by go test ./internal/job -update -->\n", "<!-- end of keys -->\n"
	src, err := os.ReadFile(manual)
	if err != nil {
		t.Fatal(err)
	}
	before, rest, ok1 := strings.Cut(string(src), begin)
	_, after, ok2 := strings.Cut(rest, end)
	if !ok1 || !ok2 {
		t.Fatalf("%s has no place for the keys between %q and %q", manual, begin, end)
	}
	var keys bytes.Buffer
	if err := job.WriteReference(&keys); err != nil {
		t.Fatal(err)
	}
	golden(t, manual, []byte(before+begin+"\n"+keys.String()+end+after))
}

// Every example of the manual is a job file that is read.
func TestTheManualsExamplesAreRead(t *testing.T) {
	src, err := os.ReadFile(manual)
	if err != nil {
		t.Fatal(err)
	}
	blocks := strings.Split(string(src), "```yaml\n")[1:]
	if len(blocks) == 0 {
		t.Fatal("no example found")
	}
	for _, b := range blocks {
		text, _, _ := strings.Cut(b, "```")
		// Ids are left to the program's own catalogues, which cmd/weephole tests.
		if _, err := job.Read(strings.NewReader(text), "example", job.DefaultVocabulary()); err != nil {
			t.Errorf("%v\nin:\n%s", err, text)
		}
	}
}
