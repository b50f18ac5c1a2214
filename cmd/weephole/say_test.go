package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"weephole/internal/exit"
	"weephole/internal/say"
)

func TestSayOffersAsJSON(t *testing.T) {
	status, out, errs := call(t, "say", "--json", "upper hose 185, fan never came on, blah gronk")
	var a say.Answer
	if err := json.Unmarshal([]byte(out), &a); err != nil || status != exit.Done || errs != "" {
		t.Fatalf("status %d, %v, %s", status, err, errs)
	}
	if len(a.Offers) < 2 || a.Offers[0].Read["upper-hose"] != "185 °F" || a.Offers[1].Sign != "fan-never-on" {
		t.Errorf("offers %+v", a.Offers)
	}
	if len(a.Remarks) != 1 || a.Remarks[0] != "blah gronk" {
		t.Errorf("remarks %q", a.Remarks)
	}
}

const beforeSaying = `# my job
weephole: 1
complaint: {signs: [overheats]} # as told
findings:
  - {check: level-cold, found: full} # looked

# the end
`

// TestSayWritesWhatIsConfirmed: with --yes, and by numbers on a terminal; the
// rest of the file stays as it was typed.
func TestSayWritesWhatIsConfirmed(t *testing.T) {
	name := filepath.Join(t.TempDir(), "job.yaml")
	write := func() {
		if err := os.WriteFile(name, []byte(beforeSaying), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	holds := func(want string) {
		t.Helper()
		got, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if string(got) != want {
			t.Errorf("the job is\n%s\nwant\n%s", got, want)
		}
	}
	write()
	if status, _, errs := call(t, "say", name, "no white smoke"); status != exit.Done || !strings.Contains(errs, "nothing was written") {
		t.Errorf("status %d, %q", status, errs)
	}
	holds(beforeSaying)
	if status, _, errs := call(t, "say", "--yes", name, "upper hose 185, no white smoke, blah gronk"); status != exit.Done || errs != "" {
		t.Errorf("status %d, %q", status, errs)
	}
	holds(`# my job
weephole: 1
complaint: {denied: [white-smoke], signs: [overheats]} # as told
findings:
  - {check: level-cold, found: full} # looked
  - {check: hose-temps, read: {upper-hose: 185 °F}}
  - {note: blah gronk}

# the end
`)
	write()
	env, out, errs := madeUp()
	env.IsTerminal, env.In = true, strings.NewReader("1\n\nr\n")
	if status := run(t.Context(), []string{"say", name, "fan never comes on; on the highway; she sings"}, env); status != exit.Done || errs.Len() > 0 {
		t.Errorf("status %d, %s", status, errs)
	}
	if !strings.Contains(out.String(), "the fan never comes on") {
		t.Errorf("no offer was shown: %s", out)
	}
	holds(`# my job
weephole: 1
complaint: {signs: [overheats]} # as told
findings:
  - {check: level-cold, found: full} # looked
  - {sign: fan-never-on}
  - {note: she sings}

# the end
`)
}

func TestWordsListTheirMeanings(t *testing.T) {
	status, out, _ := call(t, "words", "heater hose")
	if status != exit.Done || !strings.Contains(out, "one-heater-hose-cool") || !strings.Contains(out, "one heater hose is hot and the other only lukewarm") {
		t.Errorf("status %d: %s", status, out)
	}
	// What can be told as a repair tried and not be quoted stands in a list of its own.
	_, out, _ = call(t, "words", "swapped or rebuilt")
	if repairs, other := strings.Contains(out, "\nREPAIRS\n"), strings.Contains(out, "\nOTHER WORK TRIED\n  engine "); repairs || !other {
		t.Errorf("a new engine is listed as a repair: %v, as other work: %v\n%s", repairs, other, out)
	}
	if status, _, errs := call(t, "words", "xyzzy"); status != exit.Done || !strings.Contains(errs, "weephole say") {
		t.Errorf("status %d: %s", status, errs)
	}
}
