package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"weephole/internal/exit"
)

// inventedJob is a job file of an invented car with a quote.
func inventedJob(t *testing.T) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "job.yaml")
	text := `weephole: 1
shop: {rate: "$110/h", units: us}
vehicle: {name: "Osier Lapwing 1.4, invented", fuel: petrol, displacement: 1.4 L}
complaint: {signs: [overheats], when: [climb]}
quote: {presumes: radiator-clogged, price: "$620"}
findings:
  - {check: level-cold, found: full}
`
	if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

func TestWhatIfMistakesAreAnswered(t *testing.T) {
	job := inventedJob(t)
	for _, c := range []struct {
		name string
		args []string
		errs string
	}{
		{"a check misspelt", []string{"--if", "combustion-gaz=turned"}, `did you mean "combustion-gas"?`},
		{"a word misspelt", []string{"--if", "combustion-gas=trned"}, `did you mean "turned"?`},
		{"no result", []string{"--if", "combustion-gas"}, "write a check and what it showed"},
		{"a tool misspelt", []string{"--without", "gas-test-kitt"}, `did you mean "gas-test-kit"?`},
		{"no time", []string{"--leave-in", "soon"}, "--leave-in"},
		{"no price", []string{"--quote", "cheap"}, "--quote"},
		{"no rate", []string{"--rate", "110"}, "--rate"},
	} {
		t.Run(c.name, func(t *testing.T) {
			status, out, errs := call(t, append([]string{"next", job}, c.args...)...)
			if status != exit.Input || out != "" || !strings.Contains(errs, c.errs) {
				t.Errorf("status %d, answered %q, error %q; want status %d and %q", status, out, errs, exit.Input, c.errs)
			}
		})
	}
}

func TestWhatIfTellsBeforeAndAfter(t *testing.T) {
	job := inventedJob(t)
	status, out, errs := call(t, "next", job, "--candidates", "1000", "--depth", "0", "--json", "--if", "fan-run=still", "--leave-in", "30min", "--rate", "$90/h")
	if status != exit.Done {
		t.Fatalf("status %d: %s", status, errs)
	}
	type plan struct {
		Steps []struct {
			Do      string
			Minutes float64
			Wait    float64
		}
	}
	var a struct {
		plan
		If     []string
		Before plan
	}
	if err := json.Unmarshal([]byte(out), &a); err != nil {
		t.Fatal(err)
	}
	if len(a.If) != 3 || len(a.Steps) == 0 || len(a.Before.Steps) == 0 {
		t.Fatalf("if %v, %d steps after and %d before", a.If, len(a.Steps), len(a.Before.Steps))
	}
	for _, s := range a.Steps {
		if s.Do == "fan-run" {
			t.Error("the check that is taken as made is planned again")
		}
		if s.Do != "hand-on" && s.Minutes+s.Wait > 30 {
			t.Errorf("%s takes %.0f min after %.0f, and the car leaves in 30", s.Do, s.Minutes, s.Wait)
		}
	}
}

func TestTheSheetAndTheDrawingAreWritten(t *testing.T) {
	job := inventedJob(t)
	dir := t.TempDir()
	svg, sheet := filepath.Join(dir, "plan.svg"), filepath.Join(dir, "bench.html")
	status, out, errs := call(t, "next", job, "--candidates", "1000", "--svg", svg, "--sheet", sheet)
	if status != exit.Done || !strings.Contains(out, "The plan from here") {
		t.Fatalf("status %d: %s", status, errs)
	}
	for file, want := range map[string]string{svg: "<svg", sheet: "Bench sheet: Osier Lapwing 1.4, invented"} {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(data), want) {
			t.Errorf("%s does not hold %q", filepath.Base(file), want)
		}
	}
}
