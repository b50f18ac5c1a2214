package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// The README's first commands are run as printed, by a shell, in a copy that has
// only the files of the repository. "make test" is this very test; that make knows it
// is all that is asked here.
func TestTheReadmesFirstCommandsRunInAFreshClone(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the program and works two jobs")
	}
	dir := freshClone(t)
	readme, err := os.ReadFile(filepath.Join(dir, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	blocks := strings.Split(string(readme), "```")
	if len(blocks) < 4 {
		t.Fatal("the README has no commands and no printed answer any more")
	}
	shell := func(line string) string {
		cmd := exec.CommandContext(t.Context(), "sh", "-c", line)
		cmd.Dir = dir
		var errs bytes.Buffer
		cmd.Stderr = &errs
		out, err := cmd.Output()
		if err != nil {
			t.Fatalf("%s: %v\n%s", line, err, errs.String())
		}
		return string(out)
	}
	for line := range strings.Lines(strings.TrimSpace(blocks[1])) {
		if line = strings.TrimSpace(line); line == "make test" {
			line = "make -n test"
		}
		said := shell(line)
		if line == "make demo" {
			demonstrates(t, said)
		}
	}
	_, prose, _ := strings.Cut(blocks[2], "prints")
	if !strings.Contains(blocks[2], "`dist/weephole demo --only gasket`") || prose == "" {
		t.Fatalf("the README does not say which command prints its example: %q", blocks[2])
	}
	printed := shell("dist/weephole demo --only gasket")
	for part := range strings.SplitSeq(strings.TrimSpace(blocks[3]), "\n\n") {
		for item := range strings.SplitSeq(part, "\n- ") {
			if !printedBefore(printed, strings.TrimPrefix(item, "- ")) {
				t.Errorf("the README shows what is not printed any more:\n%s\nprinted:\n%s", item, printed)
			}
		}
	}
}

// mostDemoLines is what fits on one or two screens.
const mostDemoLines = 60

// demonstrates holds the demonstration to telling one job in short, how to open the bench,
// and how to see the other jobs. "make demo" prints the line that it runs before it.
func demonstrates(t *testing.T, said string) {
	t.Helper()
	_, out, _ := strings.Cut(said, "dist/weephole demo\n")
	if i := strings.Index(out, "\nmake["); i >= 0 { // a make that runs in another says that it leaves
		out = out[:i+1]
	}
	if n := strings.Count(out, "\n"); n == 0 || n > mostDemoLines {
		t.Errorf("%d lines, want %d at most:\n%s", n, mostDemoLines, said)
	}
	for _, want := range []string{"Next: ", "The quote", "The probability that the fault is gone", "(quoted before", "The other jobs", "gasket", "weephole serve"} {
		if !strings.Contains(out, want) {
			t.Errorf("the demonstration lacks %q:\n%s", want, said)
		}
	}
}

// driftPercent is how far a probability in the README may be from what is printed: a
// change of a number in the catalogue moves them a little.
const driftPercent = 5

// printedBefore tells whether an item stands in a text: word for word but for the
// line breaks, and for probabilities within driftPercent.
func printedBefore(text, item string) bool {
	percent := regexp.MustCompile(`(\d+) %`)
	over := regexp.MustCompile(`over (\d+ %)`) // over 99 % is near 99 %
	plain := func(s string) string {
		return over.ReplaceAllString(strings.Join(strings.Fields(s), " "), "$1")
	}
	item = plain(item)
	pattern := regexp.MustCompile(percent.ReplaceAllString(regexp.QuoteMeta(item), `(\d+) %`))
	want := percent.FindAllStringSubmatch(item, -1)
	for _, got := range pattern.FindAllStringSubmatch(plain(text), -1) {
		near := len(got) == len(want)+1
		for i := 1; near && i < len(got); i++ {
			a, _ := strconv.Atoi(got[i])
			b, _ := strconv.Atoi(want[i-1][1])
			near = max(a, b)-min(a, b) <= driftPercent
		}
		if near {
			return true
		}
	}
	return false
}

// freshClone copies what git knows of, as it stands in the working tree, and builds
// no program that was there before.
func freshClone(t *testing.T) string {
	t.Helper()
	for _, name := range []string{"git", "make"} {
		if _, err := exec.LookPath(name); err != nil {
			t.Skip(name + " is not there")
		}
	}
	root := filepath.Join("..", "..")
	list, err := exec.CommandContext(t.Context(), "git", "-C", root, "ls-files", "-z").Output()
	if err != nil {
		t.Skip("this is no clone")
	}
	dir := t.TempDir()
	for name := range strings.SplitSeq(strings.Trim(string(list), "\x00"), "\x00") {
		from := filepath.Join(root, filepath.FromSlash(name))
		info, err := os.Lstat(from)
		if os.IsNotExist(err) {
			continue // removed, and not committed yet
		}
		if err != nil {
			t.Fatal(err)
		}
		data, err := os.ReadFile(from)
		if err != nil {
			t.Fatal(err)
		}
		to := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(to, data, info.Mode().Perm()); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func TestPrintedBeforeWantsTheWordsAndNearNumbers(t *testing.T) {
	text := "- a look: it is\n  still → fan 87 %\nThe findings support it: 99 %. Fair."
	for _, test := range []struct {
		item string
		want bool
	}{
		{"a look: it is still\n→ fan 87 %", true},
		{"a look: it is still → fan 83 %", true},
		{"a look: it is still → fan 81 %", false},
		{"a look: it runs → fan 87 %", false},
		{"The findings support it: 99 %.", true},
	} {
		if got := printedBefore(text, test.item); got != test.want {
			t.Errorf("%q: %v, want %v", test.item, got, test.want)
		}
	}
}
