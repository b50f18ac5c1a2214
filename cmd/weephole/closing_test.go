package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// The README's job is followed word for word. The program is built and installed, and a
// shell runs its first command. Then the job's lines are added to its file, and the
// commands run in their order, here, where they share the engines that they draw.
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
	dir := t.TempDir()
	shell := installed(t, dir)
	t.Chdir(dir)
	text, said := "", ""
	for i, block := range strings.Split(section, "```") {
		if i%2 == 0 {
			continue // prose
		}
		kind, body, _ := strings.Cut(block, "\n")
		if kind == "yaml" {
			text += body
			if err := os.WriteFile(filepath.Join(dir, "mine.yaml"), []byte(text), 0o600); err != nil {
				t.Fatal(err)
			}
			continue
		}
		for line := range strings.Lines(body) {
			line = strings.TrimSpace(line)
			words := strings.Fields(line)
			if words[0] != "weephole" || strings.ContainsAny(line, `'"\|<>$&;*`) {
				t.Fatalf("%q wants more than the program: let a shell run it", line)
			}
			few := []string{"--candidates", "1500"} // what is tested is that the way can be walked
			if words[1] == "tally" && words[4] != "add" {
				few = nil
			}
			if said == "" {
				said = shell(strings.Join(append(words, few...), " "))
				continue
			}
			said += must(t, append(words[1:], few...)...)
		}
	}
	for _, want := range []string{"electric fan that does not run", "To be proven: replace the fan", "The probability that the fault is gone",
		"$345 (quoted before: $890)", "counted: mine, fan-dead", "{cause: fan-dead, closed: 1}"} {
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

// installed puts a fresh build where "make install" puts it, and gives a shell in dir
// that finds it by name and returns what a command prints. A command that fails ends
// the test.
func installed(t *testing.T, dir string) func(line string) string {
	t.Helper()
	if _, err := exec.LookPath("make"); err != nil {
		t.Skip("make is not there")
	}
	prefix := t.TempDir()
	run := func(in, name string, args ...string) string {
		t.Helper()
		cmd := exec.CommandContext(t.Context(), name, args...)
		cmd.Dir = in
		cmd.Env = append(os.Environ(), "PATH="+filepath.Join(prefix, "bin")+string(os.PathListSeparator)+os.Getenv("PATH"))
		var errs strings.Builder
		cmd.Stderr = &errs
		out, err := cmd.Output()
		if err != nil {
			t.Fatalf("%s: %v\n%s", args[len(args)-1], err, errs.String())
		}
		return string(out)
	}
	run(filepath.Join("..", ".."), "make", "install", "BIN="+filepath.Join(prefix, "dist"), "PREFIX="+prefix)
	return func(line string) string { return run(dir, "sh", "-c", line) }
}
