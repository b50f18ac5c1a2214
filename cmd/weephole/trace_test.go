package main

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"weephole/internal/exit"

	"github.com/google/go-cmp/cmp"
)

var updateTrace = flag.Bool("update-trace", false, "write the answers of the trace command into testdata/trace.txt")

const logsForTests = "../../trace/testdata/"

// runTrace gives what the command answers, or its error with the status.
func runTrace(t *testing.T, env environment, args ...string) string {
	t.Helper()
	var out bytes.Buffer
	env.Out, env.Err, env.Width, env.Model = &out, io.Discard, 80, whole
	if env.Getenv == nil {
		env.Getenv = func(string) string { return "" }
	}
	cmd := traceCommand(env)
	cmd.SilenceErrors, cmd.SilenceUsage = true, true
	cmd.SetArgs(args)
	if err := cmd.ExecuteContext(context.Background()); err != nil {
		return out.String() + fmt.Sprintf("status %d: %v\n", exit.Of(err), err)
	}
	return out.String()
}

func TestTraceAnswersAsWritten(t *testing.T) {
	const path = "testdata/trace.txt"
	var got strings.Builder
	for _, line := range []string{
		"kit-obd2/2017-08-09_S_RT_Normal.csv.gz", "kit-obd2/2018-02-26_RT_RT_Frei.csv.gz --units us",
		"layouts/two-drives.csv", "layouts/two-drives.csv --drive 3", "layouts/units-missing.csv",
		"layouts/speed-in-mph-labelled-kmh.csv", "layouts/no-time.csv", "layouts/no-time.csv --rate 0.2",
		"layouts/comma.csv --map coolent=#2", "refused/prose.txt", "refused/archive.csv",
		"kit-obd2/2018-02-17_RT_BB_Frei.csv.gz ../../trace/testdata/kit-obd2/2018-03-22_S_RT_Normal.csv.gz",
		"layouts/comma.csv --clock #3",
	} {
		args := strings.Fields(line)
		args[0] = logsForTests + args[0]
		fmt.Fprintf(&got, "$ weephole trace %s\n%s\n", line, runTrace(t, environment{}, args...))
	}
	if *updateTrace {
		if err := os.WriteFile(path, []byte(got.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), got.String()); d != "" {
		t.Error(d)
	}
}

func TestTraceReadsStandardInputAndWritesTheChart(t *testing.T) {
	log, err := os.ReadFile(logsForTests + "layouts/comma.csv")
	if err != nil {
		t.Fatal(err)
	}
	svg := filepath.Join(t.TempDir(), "chart.svg")
	answer := runTrace(t, environment{In: bytes.NewReader(log)}, "-", "--json", "--svg", svg)
	var report struct {
		Drives []struct {
			Verdict string
			Opening struct {
				Peak float64 `json:"peak_c"`
			}
		}
	}
	if err := json.Unmarshal([]byte(answer), &report); err != nil {
		t.Fatalf("%v in %s", err, answer)
	}
	if len(report.Drives) != 1 || report.Drives[0].Verdict != "opened" || report.Drives[0].Opening.Peak < 93 {
		t.Errorf("drives %+v", report.Drives)
	}
	if b, err := os.ReadFile(svg); err != nil || !bytes.Contains(b, []byte("opens, 94 °C")) {
		t.Errorf("the chart: %v\n%s", err, b)
	}
}

// The chart of two logs goes where the chart of one goes.
func TestTraceDrawsTwoLogsOnTheStandardOutput(t *testing.T) {
	log := logsForTests + "layouts/comma.csv"
	answer := runTrace(t, environment{}, log, log, "--svg", "-")
	if _, err := os.Stat("-"); !strings.HasPrefix(answer, "<svg") || err == nil {
		_ = os.Remove("-")
		t.Errorf("a file named -: %v; the answer begins with %.60q", err == nil, answer)
	}
}

func TestTraceObeysNoColor(t *testing.T) {
	log := logsForTests + "layouts/comma.csv"
	plain := func(key string) string { return map[string]string{"NO_COLOR": "1"}[key] }
	if s := runTrace(t, environment{IsTerminal: true, Getenv: plain}, log); strings.Contains(s, "\x1b") {
		t.Error("escape sequences in spite of NO_COLOR")
	}
	if s := runTrace(t, environment{IsTerminal: true}, log); !strings.Contains(s, "\x1b") {
		t.Error("no colour on a terminal")
	}
}

func TestEveryJSONFieldOfTraceIsDocumented(t *testing.T) {
	doc, err := os.ReadFile("../../docs/traces.md")
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, name := range []string{"layouts/two-drives.csv", "layouts/camel-case.csv", "kit-obd2/2017-07-31_KA_KA_Frei.csv.gz"} {
		var v any
		if err := json.Unmarshal([]byte(runTrace(t, environment{}, logsForTests+name, "--json")), &v); err != nil {
			t.Fatal(err)
		}
		fieldsOf(v, "", seen)
	}
	var pair any
	two := logsForTests + "layouts/comma.csv"
	if err := json.Unmarshal([]byte(runTrace(t, environment{}, two, two, "--json")), &pair); err != nil {
		t.Fatal(err)
	}
	fieldsOf(pair, "", seen)
	for f := range seen {
		if !strings.Contains(string(doc), f+"`") && !strings.Contains(string(doc), f+"[]`") && !strings.Contains(string(doc), f+"{}`") && f != "value" && f != "sigma" {
			t.Errorf("docs/traces.md does not tell of %q", f)
		}
	}
}

// fieldsOf collects the names of all fields but those of the signals.
func fieldsOf(v any, under string, seen map[string]bool) {
	switch v := v.(type) {
	case map[string]any:
		for k, x := range v {
			if under != "signals" {
				seen[k] = true
			}
			fieldsOf(x, k, seen)
		}
	case []any:
		for _, x := range v {
			fieldsOf(x, under, seen)
		}
	}
}
