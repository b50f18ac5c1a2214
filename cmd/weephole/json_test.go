package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"weephole/internal/exit"

	"github.com/spf13/cobra"
)

// withoutLogs is a copy of a job less the findings that are logs.
func withoutLogs(t *testing.T, job string) string {
	t.Helper()
	data, err := os.ReadFile(job)
	if err != nil {
		t.Fatal(err)
	}
	lines := slices.DeleteFunc(strings.SplitAfter(string(data), "\n"), func(line string) bool { return strings.Contains(line, "trace:") })
	name := filepath.Join(t.TempDir(), filepath.Base(job))
	if err := os.WriteFile(name, []byte(strings.Join(lines, "")), 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

// A flag that is taken and ignored misleads a program that reads the answer.
func TestWhatOffersJSONPrintsOneObject(t *testing.T) {
	page := filepath.Join(t.TempDir(), "page")
	dir, _ := closedJob(t)
	closed := filepath.Join(dir, "gasket.yaml")
	few := []string{"--candidates", "500"}
	job := append([]string{withoutLogs(t, stuck)}, few...) // a log takes seconds in each of them
	calls := map[string][]string{
		"drive":      append([]string{"--air", "30 °C", "--trip", "5 min town"}, job...),
		"letter":     append([]string{"--html", page}, job...),
		"margin":     job,
		"mix":        {"--strength", "50 %"},
		"next":       append([]string{"--sheet", page}, job...),
		"odds":       job,
		"proof":      job,
		"repair":     append([]string{"--html", page}, job...),
		"say":        {"the heater blows cold"},
		"tally add":  {"--file", filepath.Join(t.TempDir(), "tally.jsonl"), closed, "--candidates", "1500"},
		"tally list": {"--file", filepath.Join(t.TempDir(), "tally.jsonl")},
		"trace":      {"../../internal/paper/testdata/before.csv", "--svg", page},
		"trial":      {"--jobs", "1", "--banks", "1", "--candidates", "500", "--compare", "0"},
		"version":    nil,
		"words":      {"fan"},
	}
	env, _, _ := madeUp()
	var walk func(c *cobra.Command, path string)
	walk = func(c *cobra.Command, path string) {
		for _, sub := range c.Commands() {
			walk(sub, strings.TrimSpace(path+" "+sub.Name()))
		}
		if c.Flags().Lookup("json") == nil {
			return
		}
		t.Run(path, func(t *testing.T) {
			more, known := calls[path]
			if !known {
				t.Fatal("offers --json, and no call of it is known here: add one")
			}
			os.Remove(page)
			status, out, errs := call(t, append(append(strings.Fields(path), more...), "--json")...)
			if status != exit.Done || !json.Valid([]byte(out)) {
				t.Fatalf("status %d, %q\n%.400s", status, errs, out)
			}
			for _, a := range more {
				if _, err := os.Stat(page); a == page && err != nil {
					t.Error("the page that was asked for beside the object was not written")
				}
			}
		})
	}
	walk(rootCommand(env), "")
}

// TestFlagsThatWouldBeIgnoredAreRefused: two answers on one output, or a flag of another
// form of the command.
func TestFlagsThatWouldBeIgnoredAreRefused(t *testing.T) {
	for _, args := range [][]string{
		{"demo", "--list", "--json"},
		{"letter", stuck, "--json", "--html", "-"},
		{"next", stuck, "--json", "--svg", "-"},
		{"repair", stuck, "--json", "--html", "-"},
		{"trace", "log.csv", "--json", "--svg", "-"},
		{"trial", "--json", "--table"},
		{"trial", "--side-by-side", "a.json", "--json"},
		{"trial", "--cases", "cases", "--world", "stranger"},
		{"trial", "--cases", "cases", "--learn", "--json"},
		{"trial", "--world", "stranger", "--page", "page.md"},
	} {
		t.Run(strings.Join(args, " "), func(t *testing.T) {
			if status, out, errs := call(t, args...); status != exit.Input || out != "" {
				t.Errorf("status %d, answered %.200q, %q; want it refused", status, out, errs)
			}
		})
	}
}
