package main

import (
	"bytes"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"weephole/internal/exit"
	"weephole/lineup"

	"github.com/google/go-cmp/cmp"
)

var updateMargin = flag.Bool("update-margin", false, "write the answers of margin and drive into testdata/margin.txt")

// runMargin gives what a command line answers, or its error with the status.
func runMargin(t *testing.T, args ...string) string { t.Helper(); return marginBy(t, whole, args...) }

// marginBy is runMargin with a model that may be coarse, for answers not kept to the letter.
func marginBy(t *testing.T, model func() (*lineup.Model, error), args ...string) string {
	t.Helper()
	var out bytes.Buffer
	env := environment{Model: model, Out: &out, Err: io.Discard, In: strings.NewReader(""), Width: 80, Getenv: func(string) string { return "" }}
	root := rootCommand(env)
	root.SetArgs(append(args, "--color", "never"))
	if err := root.ExecuteContext(t.Context()); err != nil {
		return out.String() + fmt.Sprintf("status %d: %v\n", exit.Of(err), err)
	}
	return out.String()
}

func TestMarginAndDriveRefuseAsWritten(t *testing.T) {
	const path = "testdata/margin.txt"
	dir := t.TempDir()
	for name, text := range map[string]string{
		"core.yaml":  "weephole: 1\nshop: {ambient: 12 °C}\nvehicle: {fuel: petrol, displacement: 1.6 L, fan: {kind: electric}}\nfindings:\n  - {check: radiator-drop, found: large}\n",
		"empty.yaml": "weephole: 1\nfindings:\n  - {check: level-cold, found: empty}\n",
		"noise.csv":  "\x00\x01\xff;;\n\x02", "void.csv": "", "void.yaml": "",
		"wrong.yaml": "weephole: 1\nfindings:\n  - {check: level-cold, found: plenty}\n",
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	var got strings.Builder
	for _, line := range [][]string{
		{"drive", "empty.yaml", "--candidates", "500", "--air", "20 °C", "--trip", "5 min town"},
		{"margin", "wrong.yaml"}, {"margin"},
		{"margin", "core.yaml", "--air", "warm"}, {"margin", "core.yaml", "--air", "35"}, {"margin", "core.yaml", "--air", "350 °C"},
		{"margin", "core.yaml", "--duty", "clim"}, {"margin", "core.yaml", "--repair", "replace-radiatr"},
		{"drive", "core.yaml", "--air", "20 °C"}, {"drive", "core.yaml", "--trip", "5 min town"},
		{"drive", "core.yaml", "--air", "20 °C", "--trip", "town"}, {"drive", "core.yaml", "--air", "20 °C", "--trip", "0 min town"},
		{"drive", "core.yaml", "--air", "20 °C", "--trip", "5 min moon"},
		{"drive", "core.yaml", "--road-test", "--trip", "5 min town"}, {"drive", "empty.yaml", "--candidates", "500", "--road-test"},
		{"margin", "--upper-hose", "86 °C"}, {"margin", "--upper-hose", "86", "--lower-hose", "62 °C"}, {"margin", "--read-in", "14 °C"},
		{"margin", "core.yaml", "--upper-hose", "86 °C", "--lower-hose", "62 °C"}, {"margin", "--upper-hose", "86 °C", "--lower-hose", "140 °C"},
		{"margin", "noise.csv"}, {"margin", "void.csv"}, {"margin", "void.yaml"},
	} {
		args := append([]string{}, line...)
		if len(args) > 1 && !strings.HasPrefix(args[1], "--") {
			args[1] = filepath.Join(dir, args[1])
		}
		answer := strings.ReplaceAll(runMargin(t, args...), dir+string(filepath.Separator), "")
		fmt.Fprintf(&got, "$ weephole %s\n%s\n", strings.Join(line, " "), answer)
	}
	for _, name := range []string{"none.yaml", "none.csv"} {
		if got := runMargin(t, "margin", filepath.Join(dir, name)); !strings.HasPrefix(got, "status 2: ") || !strings.Contains(got, name) {
			t.Errorf("a file that is not there: %q", got)
		}
	}
	if *updateMargin {
		if err := os.WriteFile(path, []byte(got.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), got.String()); d != "" {
		t.Errorf("%s (-want +got), go test -update-margin writes it:\n%s", path, d)
	}
}

// A log of a drive in cool weather, of a healthy car, is asked about without any
// complaint.
func TestALogAloneHasAMargin(t *testing.T) {
	got := marginBy(t, knowledge, "margin", logsForTests+"kit-obd2/2018-02-26_KA_KA_Frei.csv.gz", "--candidates", "1500", "--duty", "climb")
	t.Log(got)
	got = strings.Join(strings.Fields(got), " ") // as it stands without line breaks
	for _, want := range []string{"A long climb: ", "sound car of this kind", "On a day of 38 °C"} {
		if !strings.Contains(got, want) {
			t.Errorf("it never said %q", want)
		}
	}
}

// Two hose readings instead of a file are asked about as a job that holds nothing but
// them.
func TestTwoHoseReadingsHaveAMargin(t *testing.T) {
	name := filepath.Join(t.TempDir(), "hoses.yaml")
	text := "weephole: 1\nshop: {ambient: 14 °C}\nfindings:\n  - {check: hose-temps, read: {upper-hose: 86 °C, lower-hose: 62 °C}}\n"
	if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	more := []string{"--candidates", "1000", "--duty", "climb"}
	want := marginBy(t, knowledge, append([]string{"margin", name}, more...)...)
	got := marginBy(t, knowledge, append([]string{"margin", "--upper-hose", "86 °C", "--lower-hose", "62 °C", "--read-in", "14 °C"}, more...)...)
	if d := cmp.Diff(want, got); d != "" || !strings.Contains(got, "A long climb: ") {
		t.Errorf("a job with the readings (-) and the readings alone (+):\n%s\n%s", d, got)
	}
}
