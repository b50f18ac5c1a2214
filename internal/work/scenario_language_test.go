package work_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"weephole/internal/job"
	"weephole/internal/work"
	"weephole/lineup"
	"weephole/quantity"
)

// A scenario is one whole case in plain text: a reason for people, a job, and
// what must be said of it. scenarios/README.md is its language.
type scenario struct {
	reason string
	job    *job.Job
	must   []statement
}

// statement is one line of what must be said.
type statement struct {
	line  int
	key   string // "first", "among", "at least", "at most", "both", "fit", "next", "quote", "site"
	n     int    // of "among 3", "at least 60 of 100"
	not   bool
	open  bool     // a master demands it and the program does not say it yet
	words []string // one of these, or all of them where the key says so
	text  string
}

// vocabulary is the words that statements may use, by key.
type vocabulary map[string][]string

func vocabularyOf(m *lineup.Model) vocabulary {
	words := work.Vocabulary(m)
	steps := append(slices.Clone(words.Repairs), "prove-healthy", "hand-on")
	for _, c := range words.Checks {
		steps = append(steps, c.ID)
	}
	var sites []string
	for i := range m.Causes.Causes {
		for _, s := range m.Causes.Causes[i].Sites {
			sites = append(sites, s.ID)
		}
	}
	return vocabulary{
		"first": words.Causes, "among": words.Causes, "at least": words.Causes, "at most": words.Causes, "both": words.Causes,
		"fit": {"fits", "strained", "nothing-fits"}, "next": steps, "quote": {"supported"}, "site": sites,
	}
}

// statementKeys are the forms that a statement may take, for error messages.
const statementKeys = "first, among N, at least N of 100, at most N of 100, both, fit, next, quote, site"

// parseScenario reads a scenario; name is what errors call the file.
func parseScenario(name, text string, words job.Vocabulary, said vocabulary) (*scenario, error) {
	lines := strings.Split(strings.ReplaceAll(text, "\r\n", "\n"), "\n")
	var reason []string
	for _, l := range lines {
		rest, ok := strings.CutPrefix(l, "#")
		if !ok {
			break
		}
		reason = append(reason, strings.TrimSpace(rest))
	}
	if strings.TrimSpace(strings.Join(reason, "")) == "" {
		return nil, fmt.Errorf("%s:1: no reason; begin with a line such as \"# the fan was plugged in the wrong way round\"", name)
	}
	dashes := slices.Index(lines, "---")
	if dashes < 0 {
		return nil, fmt.Errorf("%s: no line of three dashes; write --- between the job and what must be said", name)
	}
	j, err := job.Read(strings.NewReader(strings.Join(lines[:dashes], "\n")+"\n"), name, words)
	if err != nil {
		return nil, err
	}
	s := &scenario{reason: strings.Join(reason, " "), job: j}
	for i, l := range lines[dashes+1:] {
		l, _, _ = strings.Cut(l, "#")
		if l = strings.TrimSpace(l); l == "" {
			continue
		}
		at := dashes + 2 + i
		asked, open := strings.CutPrefix(l, "not yet ")
		st, err := parseStatement(asked, said)
		if err != nil {
			return nil, fmt.Errorf("%s:%d: %w", name, at, err)
		}
		st.line, st.text, st.open = at, l, open
		s.must = append(s.must, st)
	}
	if len(s.must) == 0 {
		return nil, fmt.Errorf("%s:%d: nothing is asked; write a line such as \"first: fan-dead\"", name, dashes+1)
	}
	return s, nil
}

func parseStatement(line string, said vocabulary) (statement, error) {
	left, right, ok := strings.Cut(line, ":")
	if !ok {
		return statement{}, fmt.Errorf("%q has no colon; write %q", line, "first: fan-dead")
	}
	s, err := parseKey(strings.Fields(left))
	if err != nil {
		return s, err
	}
	right = strings.TrimSpace(right)
	if rest, ok := strings.CutPrefix(right, "not "); ok {
		if s.key != "next" && s.key != "quote" && s.key != "first" {
			return s, fmt.Errorf("%q cannot be denied; \"not\" goes with first, next and quote", s.key)
		}
		s.not, right = true, rest
	}
	rest, several := strings.CutPrefix(right, "one of ")
	if several {
		if s.key == "among" || s.key == "both" {
			return s, fmt.Errorf("%q asks for all of its words; leave out \"one of\"", s.key)
		}
		right = rest
	}
	for _, w := range strings.Split(right, ",") {
		w = strings.TrimSpace(w)
		if !slices.Contains(said[s.key], w) {
			return s, unknownWord("word", w, said[s.key])
		}
		s.words = append(s.words, w)
	}
	switch many := len(s.words); {
	case s.key == "both" && many != 2:
		return s, fmt.Errorf("\"both\" takes two causes, found %d", many)
	case (s.key == "at least" || s.key == "at most") && many != 1:
		return s, fmt.Errorf("%q takes one cause, found %d; write a line for each", s.key, many)
	case many > 1 && !several && s.key != "among" && s.key != "both":
		return s, fmt.Errorf("%q takes one word; write \"%s: one of %s\"", s.key, s.key, right)
	}
	return s, nil
}

// parseKey reads what stands before the colon.
func parseKey(f []string) (statement, error) {
	bad := fmt.Errorf("unknown statement %q; expected one of %s", strings.Join(f, " "), statementKeys)
	switch {
	case len(f) == 1 && f[0] != "among" && slices.Contains([]string{"first", "both", "fit", "next", "quote", "site"}, f[0]):
		return statement{key: f[0]}, nil
	case len(f) == 2 && f[0] == "among":
		n, err := strconv.Atoi(f[1])
		if err != nil || n < 2 || n > 10 {
			return statement{}, fmt.Errorf("among %q; expected a number from 2 to 10", f[1])
		}
		return statement{key: "among", n: n}, nil
	case len(f) == 5 && f[0] == "at" && f[3] == "of" && f[4] == "100":
		n, err := strconv.Atoi(f[2])
		if err != nil || n < 0 || n > 100 {
			return statement{}, fmt.Errorf("%q of 100; expected a number from 0 to 100", f[2])
		}
		if key := f[0] + " " + f[1]; key == "at least" || key == "at most" {
			return statement{key: key, n: n}, nil
		}
	case len(f) == 1:
		return statement{}, unknownWord("statement", f[0], []string{"first", "both", "fit", "next", "quote", "site"})
	}
	return statement{}, bad
}

func unknownWord(what, w string, right []string) error {
	if near := quantity.Nearest(w, right); near != "" {
		return fmt.Errorf("unknown %s %q; did you mean %q?", what, w, near)
	}
	return fmt.Errorf("unknown %s %q; expected one of %s", what, w, strings.Join(right, ", "))
}

// TestMistakesInAScenarioAreNamed: with file, line, and what to write instead.
func TestMistakesInAScenarioAreNamed(t *testing.T) {
	m := model(t)
	words, said := work.Vocabulary(m), vocabularyOf(m)
	const head = "# a reason\nweephole: 1\n"
	for _, test := range []struct{ name, text, want string }{
		{"no reason", "weephole: 1\n---\nfirst: fan-dead\n", "x.txt:1: no reason"},
		{"no dashes", head, "no line of three dashes"},
		{"nothing asked", head + "---\n# only talk\n", "x.txt:3: nothing is asked"},
		{"a fault of the job", "# a reason\nweephole: 1\nfindings: [{check: levl-cold, found: low}]\n---\nfirst: fan-dead\n", `did you mean "level-cold"`},
		{"a cause misspelt", head + "---\nfirst: fan-ded\n", `x.txt:4: unknown word "fan-ded"; did you mean "fan-dead"?`},
		{"a statement misspelt", head + "---\nfrist: fan-dead\n", `unknown statement "frist"; did you mean "first"?`},
		{"no colon", head + "---\nfirst fan-dead\n", "has no colon"},
		{"a share beyond the whole", head + "---\nat least 120 of 100: fan-dead\n", `"120" of 100; expected a number from 0 to 100`},
		{"a share of another whole", head + "---\nat least 60 of 90: fan-dead\n", "unknown statement"},
		{"one cause of a pair", head + "---\nboth: fan-dead\n", "takes two causes, found 1"},
		{"several words for one", head + "---\nnext: fan-run, fan-command\n", `write "next: one of fan-run, fan-command"`},
		{"a repair that is no step", head + "---\nnext: replace-engine\n", `unknown word "replace-engine"`},
		{"a verdict in other words", head + "---\nfit: good\n", "expected one of fits, strained, nothing-fits"},
		{"what cannot be denied", head + "---\nfit: not fits\n", "cannot be denied"},
	} {
		t.Run(test.name, func(t *testing.T) {
			_, err := parseScenario("x.txt", test.text, words, said)
			if err == nil || !strings.Contains(err.Error(), test.want) {
				t.Errorf("found %v, want %q in it", err, test.want)
			}
		})
	}
}

func FuzzScenario(f *testing.F) {
	files, err := filepath.Glob("../../scenarios/*.txt")
	if err != nil || len(files) == 0 {
		f.Fatalf("%d scenarios, %v", len(files), err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(text))
	}
	f.Add("# x\nweephole: 1\n---\nfirst: one of , \n")
	m := model(f)
	words, said := work.Vocabulary(m), vocabularyOf(m)
	f.Fuzz(func(t *testing.T, text string) {
		s, err := parseScenario("fuzz.txt", text, words, said)
		if (s == nil) == (err == nil) {
			t.Fatalf("scenario %v, error %v", s, err)
		}
		if err != nil {
			return
		}
		for _, st := range s.must {
			if len(st.words) == 0 || st.line < 3 {
				t.Fatalf("statement %+v of %q", st, text)
			}
		}
	})
}
