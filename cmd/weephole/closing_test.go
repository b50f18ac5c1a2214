package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// The README's job is followed to the letter: its lines are added to the file
// and its commands run, in the order in which they stand there.
func TestTheReadmesJobGoesFromComplaintToTally(t *testing.T) {
	src, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	_, section, found := strings.Cut(string(src), "## A job of your own, from complaint to closing")
	if !found {
		t.Fatal("the README has no job of one's own any more")
	}
	section, _, _ = strings.Cut(section, "\n## ")
	dir, text, said := t.TempDir(), "", ""
	file := filepath.Join(dir, "mine.yaml")
	for i, block := range strings.Split(section, "```") {
		if i%2 == 0 {
			continue // prose
		}
		kind, body, _ := strings.Cut(block, "\n")
		if kind == "yaml" {
			text += body
			if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
				t.Fatal(err)
			}
			continue
		}
		for line := range strings.Lines(body) {
			args := strings.Fields(line)[1:]
			for k, a := range args {
				if filepath.Ext(a) != "" {
					args[k] = filepath.Join(dir, a)
				}
			}
			switch { // few engines: what is tested is that the way can be walked
			case args[0] != "tally":
				args = append(args, "--candidates", "1500")
			case args[3] == "add":
				args = append(args, "--candidates", "1500")
			}
			status, out, errs := call(t, args...)
			if status != 0 {
				t.Fatalf("%s: status %d: %s", strings.TrimSpace(line), status, errs)
			}
			said += out
		}
	}
	for _, want := range []string{"electric fan that does not run", "To be proven: replace the fan", "Odds that the cause is gone",
		"To pay: $345 (quoted before: $890)", "counted: mine, fan-dead", "{cause: fan-dead, closed: 1}"} {
		if !strings.Contains(said, want) {
			t.Errorf("the commands never said %q", want)
		}
	}
	for _, name := range []string{"sheet.html", "letter.html", "letter.pdf"} {
		if info, err := os.Stat(filepath.Join(dir, name)); err != nil || info.Size() == 0 {
			t.Errorf("%s: %v", name, err)
		}
	}
}
