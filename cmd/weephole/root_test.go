package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"weephole/internal/exit"
	"weephole/internal/job"
	"weephole/internal/work"
	"weephole/internal/work/worktest"
	"weephole/lineup"
	"weephole/lineup/lineuptest"

	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/spf13/cobra"
)

// knowledge is read once for all commands, and shelf has the engines of the jobs that many
// of them are tried on.
var (
	knowledge = sync.OnceValues(lineuptest.Coarse)
	whole     = sync.OnceValues(lineup.DefaultModel) // for answers that are kept to the letter
	shelf     worktest.Shelf
)

// madeUp is an environment that is no terminal, has no variables and stands still.
func madeUp() (env environment, out, errs *bytes.Buffer) {
	out, errs = new(bytes.Buffer), new(bytes.Buffer)
	return environment{
		In: strings.NewReader(""), Out: out, Err: errs, Width: plainWidth, Program: "weephole",
		Now:    func() time.Time { return time.Date(2026, 1, 2, 3, 4, 5, 0, time.UTC) },
		Getenv: func(string) string { return "" }, Model: knowledge, Share: shelf.Share,
	}, out, errs
}

func call(t *testing.T, args ...string) (status int, out, errs string) {
	t.Helper()
	env, o, e := madeUp()
	status = run(context.Background(), args, env)
	return status, o.String(), e.String()
}

func TestTheCommandLineAnswers(t *testing.T) {
	for _, c := range []struct {
		name   string
		args   []string
		status int
		out    string // stands in the answer; "" means no answer at all
		errs   string // the whole error output
	}{
		{"no command prints the help", nil, exit.Done, "COMMANDS", ""},
		{"help goes to the answer", []string{"--help"}, exit.Done, "EXIT STATUS", ""},
		{"help of a command goes to the answer", []string{"help", "schema"}, exit.Done, "weephole schema > job.schema.json", ""},
		{"the version is a command", []string{"version"}, exit.Done, "weephole dev (" + runtime.Version(), ""},
		{"the version is a flag too", []string{"--version"}, exit.Done, "weephole dev (" + runtime.Version(), ""},
		{"an unknown command is answered with the nearest", []string{"versoin"}, exit.Input, "",
			"weephole: unknown command \"versoin\"; did you mean \"version\"?\nsee: weephole --help\n"},
		{"help of an unknown command likewise", []string{"help", "shema"}, exit.Input, "",
			"weephole: unknown command \"shema\"; did you mean \"schema\"?\nsee: weephole help --help\n"},
		{"an unknown flag is an input error in one line", []string{"version", "--jsn"}, exit.Input, "",
			"weephole: unknown flag: --jsn\nsee: weephole version --help\n"},
		{"an argument too many", []string{"schema", "x"}, exit.Input, "",
			"weephole: schema takes no argument, but got \"x\"\nsee: weephole schema --help\n"},
		{"a wrong word for --color", []string{"--color", "red", "version"}, exit.Input, "",
			"weephole: invalid argument \"red\" for \"--color\" flag: write one of auto, always, never\nsee: weephole version --help\n"},
		{"an error as JSON", []string{"version", "--json", "x"}, exit.Input, "",
			`{"error":{"status":2,"message":"version takes no argument, but got \"x\""}}` + "\n"},
		{"completion for bash", []string{"completion", "bash"}, exit.Done, "bash completion V2 for weephole", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			status, out, errs := call(t, c.args...)
			if status != c.status {
				t.Errorf("status %d, want %d", status, c.status)
			}
			if !strings.Contains(out, c.out) || (c.out == "" && out != "") {
				t.Errorf("answered %q, want it to hold %q", out, c.out)
			}
			if d := cmp.Diff(c.errs, errs); d != "" {
				t.Errorf("error output (-want +got):\n%s", d)
			}
		})
	}
}

func TestVersionAsJSON(t *testing.T) {
	_, out, _ := call(t, "version", "--json")
	var id identity
	if err := json.Unmarshal([]byte(out), &id); err != nil {
		t.Fatal(err)
	}
	if want := (identity{Name: "weephole", Version: "dev", Go: runtime.Version(), OS: runtime.GOOS, Arch: runtime.GOARCH,
		Commit: id.Commit, Dirty: id.Dirty}); id != want {
		t.Errorf("got %+v, want %+v", id, want)
	}
}

func TestEveryCommandsHelpHasExamplesFirstAndTheStatusLast(t *testing.T) {
	env, _, _ := madeUp()
	for _, c := range commands(env) {
		t.Run(c.Name(), func(t *testing.T) {
			_, out, _ := call(t, c.Name(), "--help")
			examples, usage := strings.Index(out, "\nEXAMPLES\n"), strings.Index(out, "\nUSAGE\n")
			if examples < 0 || usage < examples {
				t.Errorf("EXAMPLES at %d, USAGE at %d", examples, usage)
			}
			if !strings.HasSuffix(out, exitStatus) {
				t.Error("does not end with the exit status")
			}
			for line := range strings.Lines(out) {
				if n := len([]rune(strings.TrimRight(line, "\n"))); n > 120 {
					t.Errorf("a line of %d characters: %s", n, line)
				}
			}
		})
	}
}

func TestColour(t *testing.T) {
	for _, c := range []struct {
		name     string
		terminal bool
		vars     map[string]string
		flag     string
		want     bool
	}{
		{"a terminal is coloured", true, nil, "auto", true},
		{"a pipe is not", false, nil, "auto", false},
		{"NO_COLOR is obeyed", true, map[string]string{"NO_COLOR": "1"}, "auto", false},
		{"a dumb terminal is not coloured", true, map[string]string{"TERM": "dumb"}, "auto", false},
		{"always wins over NO_COLOR and a pipe", false, map[string]string{"NO_COLOR": "1"}, "always", true},
		{"never wins over a terminal", true, nil, "never", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			env, _, _ := madeUp()
			env.IsTerminal, env.Getenv = c.terminal, func(k string) string { return c.vars[k] }
			root := rootCommand(env)
			var got bool
			probe := &cobra.Command{Use: "probe", Run: func(cmd *cobra.Command, _ []string) { got = env.Color(cmd) }}
			root.AddCommand(probe)
			root.SetArgs([]string{"probe", "--color", c.flag})
			if err := root.Execute(); err != nil {
				t.Fatal(err)
			}
			if got != c.want {
				t.Errorf("Color is %v, want %v", got, c.want)
			}
		})
	}
}

func TestProblemsOfAJobAreListedInJSON(t *testing.T) {
	env, out, errs := madeUp()
	_, err := job.Read(strings.NewReader("weephole: 1\nvehical: {}\n"), "a.yaml", job.DefaultVocabulary())
	report(env, rootCommand(env), []string{"odds", "--json"}, exit.Wrong(err))
	var got struct {
		Error struct {
			Status   int
			Problems []job.Problem
		}
	}
	if err := json.Unmarshal(errs.Bytes(), &got); err != nil {
		t.Fatalf("%v: %s", err, errs)
	}
	want := []job.Problem{{File: "a.yaml", Line: 2, Column: 1, Message: `unknown key "vehical"`, Nearest: "vehicle"}}
	if d := cmp.Diff(want, got.Error.Problems); d != "" || got.Error.Status != exit.Input || out.Len() > 0 {
		t.Errorf("status %d, problems (-want +got):\n%s", got.Error.Status, d)
	}
}

func TestAFailureOfTheProgramIsStatusOne(t *testing.T) {
	env, _, _ := madeUp()
	env.Out = broken{}
	if status := run(context.Background(), []string{"version"}, env); status != exit.Failed {
		t.Errorf("a full disk ends with %d, want %d", status, exit.Failed)
	}
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errors.New("no space left") }

// The manual's examples are jobs in the program's own words, and suit the
// schema that the program prints.
func TestTheManualsJobsAreRead(t *testing.T) {
	src, err := os.ReadFile(filepath.Join("..", "..", "docs", "job-file.md"))
	if err != nil {
		t.Fatal(err)
	}
	model, err := whole()
	if err != nil {
		t.Fatal(err)
	}
	_, printed, _ := call(t, "schema")
	doc, err := jsonschema.UnmarshalJSON(strings.NewReader(printed))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource(job.SchemaID, doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile(job.SchemaID)
	if err != nil {
		t.Fatal(err)
	}
	for _, block := range strings.Split(string(src), "```yaml\n")[1:] {
		text, _, _ := strings.Cut(block, "```")
		j, err := job.Read(strings.NewReader(text), "example", work.Vocabulary(model))
		if err != nil {
			t.Errorf("%v\nin:\n%s", err, text)
			continue
		}
		var b bytes.Buffer
		if err := job.WriteJSON(&b, j); err != nil {
			t.Fatal(err)
		}
		v, err := jsonschema.UnmarshalJSON(&b)
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Validate(v); err != nil {
			t.Errorf("%v\nin:\n%s", err, text)
		}
	}
}
