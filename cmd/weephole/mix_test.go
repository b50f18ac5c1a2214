package main

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"

	"weephole/internal/exit"

	"github.com/google/go-cmp/cmp"
)

var updateMix = flag.Bool("update-mix", false, "write the answers of the mix command into testdata/mix.txt")

func TestMixAnswersAsWritten(t *testing.T) {
	const path = "testdata/mix.txt"
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	head, rest, _ := strings.Cut(string(want), "\n$ ")
	got := strings.TrimRight(head, "\n") + "\n"
	for _, part := range strings.Split(rest, "\n$ ") {
		command, _, _ := strings.Cut(part, "\n")
		got += "\n$ " + command + "\n" + runMix(t, command)
	}
	if *updateMix {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Error(diff)
	}
}

func TestEveryExampleInTheHelpOfMixRuns(t *testing.T) {
	for _, command := range strings.Split(strings.TrimSpace(mixExamples), "\n") {
		if answer := runMix(t, strings.TrimSpace(command)); !strings.Contains(answer, "poisonous") || strings.Contains(answer, "status") {
			t.Errorf("%s\n%s", command, answer)
		}
	}
}

func TestCautionsComeFirst(t *testing.T) {
	answer := runMix(t, `weephole mix --strength 50% --target 55%`)
	if caution, step := strings.Index(answer, "Never open a hot system"), strings.Index(answer, "drain "); caution < 0 || step < caution {
		t.Errorf("caution at %d, step at %d", caution, step)
	}
}

var word = regexp.MustCompile(`"[^"]*"|\S+`)

// runMix gives what the command line answers: its output, or its error with the status.
func runMix(t *testing.T, line string) string {
	t.Helper()
	args := word.FindAllString(line, -1)
	if len(args) < 2 || args[0] != "weephole" || args[1] != "mix" {
		t.Fatalf("%q is no mix command", line)
	}
	for i := range args {
		args[i] = strings.Trim(args[i], `"`)
	}
	var out, fault bytes.Buffer
	cmd := mixCommand(environment{Out: &out, Err: &fault})
	cmd.SilenceErrors, cmd.SilenceUsage = true, true
	cmd.SetArgs(args[2:])
	if err := cmd.Execute(); err != nil {
		return out.String() + fmt.Sprintf("status %d: %v\n", exit.Of(err), err)
	}
	return out.String()
}
