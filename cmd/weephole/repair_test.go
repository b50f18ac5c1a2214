package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"weephole/internal/exit"
)

// stuck is a job with its proof run; few engines suffice for what is tested here.
const stuck = "../../internal/paper/testdata/stuck.yaml"

func TestProofJudgesTheRunOfAJob(t *testing.T) {
	status, out, errs := call(t, "proof", stuck, "--candidates", "2000", "--json")
	if status != 0 {
		t.Fatal(errs)
	}
	var a struct {
		Done      bool
		Judgement struct {
			Verdict, Cause string
			Gone, Clean    float64
		}
		Bands []struct {
			Finding int
			Low     []*float64 `json:"low_c"`
		}
	}
	if err := json.Unmarshal([]byte(out), &a); err != nil {
		t.Fatal(err)
	}
	if !a.Done || a.Judgement.Cause != "proven" || a.Judgement.Gone < 0.98 || a.Judgement.Verdict == "not-proven" {
		t.Errorf("a thermostat renewed, with a log that could tell: %+v", a.Judgement)
	}
	if len(a.Bands) != 1 || a.Bands[0].Finding != 8 || len(a.Bands[0].Low) == 0 {
		t.Errorf("want the band of finding 8, got %+v", a.Bands)
	}
}

// The same car with the log from before the repair given as the one after it:
// a botched repair.
func TestProofFindsOutARepairThatChangedNothing(t *testing.T) {
	dir := t.TempDir()
	data, err := os.ReadFile(stuck)
	if err != nil {
		t.Fatal(err)
	}
	log, err := os.ReadFile(filepath.Join(filepath.Dir(stuck), "before.csv"))
	if err != nil {
		t.Fatal(err)
	}
	text := strings.Replace(string(data), "trace: after.csv", "trace: before.csv", 1)
	for name, content := range map[string][]byte{"before.csv": log, "job.yaml": []byte(text)} {
		if err := os.WriteFile(filepath.Join(dir, name), content, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	_, out, errs := call(t, "proof", filepath.Join(dir, "job.yaml"), "--candidates", "2000", "--json")
	if !strings.Contains(out, `"verdict": "not-proven"`) || !strings.Contains(out, `"cause": "not-proven"`) {
		t.Errorf("a log as before the repair was not found out: %s %.600s", errs, out)
	}
}

func TestProofPlansARepairToCome(t *testing.T) {
	status, out, errs := call(t, "proof", "../../internal/demo/jobs/2-cold.yaml", "--candidates", "1000", "--repair", "replace-thermostat")
	if status != 0 {
		t.Fatal(errs)
	}
	if run, caution := strings.Index(out, "To be proven: replace the thermostat"), strings.Index(out, "Before the run"); run < 0 || caution < 0 || caution > run {
		t.Errorf("want cautions before the plan:\n%s", out)
	}
}

func TestAnUnknownRepairIsNamedWithTheNearest(t *testing.T) {
	for _, command := range []string{"proof", "repair"} {
		status, _, errs := call(t, command, stuck, "--repair", "replace-thermostatt", "--candidates", "1000")
		if status != 2 || !strings.Contains(errs, "did you mean replace-thermostat?") {
			t.Errorf("%s: status %d: %s", command, status, errs)
		}
	}
}

func TestTheRepairSheetPutsCautionsFirstAndGuessesNoTorque(t *testing.T) {
	status, out, errs := call(t, "repair", stuck, "--units", "us")
	if status != 0 {
		t.Fatal(errs)
	}
	for _, want := range []string{"torque of the housing bolts: ____", "First ice forms at -", "Thermostat at the outlet", "Bleeding", "Record of the used coolant", "came out: 2.3 qt"} {
		if !strings.Contains(strings.Join(strings.Fields(out), " "), want) { // however its lines are broken
			t.Errorf("the sheet lacks %q", want)
		}
	}
	if caution, step := strings.Index(out, "Never open a hot system"), strings.Index(out, "Order of work"); caution < 0 || step < caution {
		t.Errorf("caution at %d, order of work at %d", caution, step)
	}
}

func TestALogoStandsOnTheLetterAndTheSheet(t *testing.T) {
	dir := t.TempDir()
	logo, hostile, page := filepath.Join(dir, "logo.png"), filepath.Join(dir, "hostile.png"), filepath.Join(dir, "page.html")
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, 120, 60))); err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(os.WriteFile(logo, b.Bytes(), 0o600), os.WriteFile(hostile, []byte("<svg><script/></svg>"), 0o600)); err != nil {
		t.Fatal(err)
	}
	for _, of := range []string{"letter", "repair"} {
		if status, _, errs := call(t, of, stuck, "--candidates", "1000", "--html", page, "--logo", logo); status != 0 {
			t.Fatal(errs)
		}
		if got, err := os.ReadFile(page); err != nil || !bytes.Contains(got, []byte(`<img class="logo" src="data:image/png;base64,`)) {
			t.Errorf("%s: no logo (%v)", of, err)
		}
		if status, _, errs := call(t, of, stuck, "--html", page, "--logo", hostile); status != exit.Input || !strings.Contains(errs, "an SVG") || !strings.Contains(errs, "PNG or JPEG") {
			t.Errorf("%s takes a hostile file: %d %s", of, status, errs)
		}
	}
	if status, _, errs := call(t, "letter", stuck, "--logo", logo); status != exit.Input || !strings.Contains(errs, "--html") {
		t.Errorf("a logo that nothing shows: %d %s", status, errs)
	}
}

func TestTheLetterIsWrittenInThreeForms(t *testing.T) {
	dir := t.TempDir()
	html, pdf := filepath.Join(dir, "l.html"), filepath.Join(dir, "l.pdf")
	status, out, errs := call(t, "letter", stuck, "--candidates", "2000", "--html", html, "--pdf", pdf, "--text", "-")
	if status != 0 {
		t.Fatal(errs)
	}
	if !strings.Contains(out, "$198 (quoted before: $2,350)") {
		t.Errorf("the short version: %s", out)
	}
	page, err := os.ReadFile(html)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Contains(page, []byte("What it was not, and how we know")) || !bytes.Contains(page, []byte("<svg")) {
		t.Error("the page lacks a part or its chart")
	}
	file, err := os.ReadFile(pdf)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.HasPrefix(file, []byte("%PDF-")) {
		t.Error("the PDF is none")
	}
}

func TestTheTallyCountsAProvenJobOnceAndCanUndoIt(t *testing.T) {
	file := filepath.Join(t.TempDir(), "shop", "tally.jsonl")
	tallied := func(want int, args ...string) string {
		t.Helper()
		status, out, errs := call(t, append([]string{"tally", "--file", file}, args...)...)
		if status != want {
			t.Fatalf("%v: status %d, want %d: %s", args, status, want, errs)
		}
		return out + errs
	}
	tallied(0, "add", stuck, "--candidates", "2000")
	if s := tallied(2, "add", stuck, "--candidates", "2000"); !strings.Contains(s, "undo it first") {
		t.Errorf("twice: %s", s)
	}
	if s := tallied(0, "export"); !strings.Contains(s, "{cause: thermostat-shut, closed: 1}") {
		t.Errorf("exported: %s", s)
	}
	tallied(0, "undo", "stuck", "--why", "came back")
	if s := tallied(0, "export"); strings.Contains(s, "thermostat-shut") {
		t.Errorf("after undoing: %s", s)
	}
	tallied(2, "add", "../../internal/demo/jobs/1-hill.yaml")
}

// mostDemoLines is what fits on one or two screens.
const mostDemoLines = 60

func TestTheDemonstrationTellsOneJobAndNamesTheOthers(t *testing.T) {
	status, out, errs := call(t, "demo", "--candidates", "1500", "--out", t.TempDir())
	if status != 0 {
		t.Fatal(errs)
	}
	if n := strings.Count(out, "\n"); n > mostDemoLines {
		t.Errorf("%d lines, want %d at most:\n%s", n, mostDemoLines, out)
	}
	for _, want := range []string{"Next: ", "The quote", "The probability that the fault is gone", "(quoted before", "The other jobs", "gasket", "weephole serve"} {
		if !strings.Contains(out, want) {
			t.Errorf("the demonstration lacks %q:\n%s", want, out)
		}
	}
}

// One job of the demonstration goes from complaint to closing, and then the
// commands are tried on what it wrote: they have to agree.
func TestADemoJobGoesFromComplaintToTally(t *testing.T) {
	dir := t.TempDir()
	status, out, errs := call(t, "demo", "--all", "--only", "gasket", "--candidates", "1500", "--out", dir)
	if status != 0 {
		t.Fatal(errs)
	}
	last := 0
	for _, want := range []string{"the complaint alone:", "What now?", "The quote", "Cautions: read before you open anything", "From the maker's data",
		"Which run can prove it?", "Seen after the repair", "The probability that the fault is gone", "The owner's letter", "counts in the tally: combustion-leak"} {
		i := strings.Index(out[last:], want)
		if i < 0 {
			t.Fatalf("%q does not follow:\n%s", want, out[last:])
		}
		last += i
	}
	file := func(name string) string { return filepath.Join(dir, name) }
	for _, name := range []string{"gasket-sheet.html", "gasket-letter.html", "gasket-letter.pdf", "gasket-letter.txt", "gasket-after.csv.gz", "shop.yaml", "LOGS.md"} {
		if info, err := os.Stat(file(name)); err != nil || info.Size() == 0 {
			t.Errorf("%s: %v", name, err)
		}
	}
	job := file("gasket.yaml")
	for _, c := range []struct {
		args []string
		says string
	}{
		{[]string{"repair", job}, "Thermostat at the outlet"},
		{[]string{"proof", job, "--candidates", "1500"}, "The probability that the fault is gone"},
		{[]string{"letter", job, "--candidates", "1500"}, "$1,940 (quoted before: $2,100)"},
		{[]string{"tally", "--file", file("other.jsonl"), "add", job, "--candidates", "1500"}, "counted: gasket, combustion-leak"},
		{[]string{"tally", "--file", file("tally.jsonl"), "export"}, "{cause: combustion-leak, closed: 1}"},
		{[]string{"tally", "--file", file("tally.jsonl"), "undo", "gasket"}, "taken out: gasket"},
		{[]string{"odds", "../../internal/demo/jobs/4-gasket.yaml", "--candidates", "1000", "--overlay", file("shop.yaml")}, "head gasket"},
	} {
		if status, out, errs := call(t, c.args...); status != 0 || !strings.Contains(out, c.says) {
			t.Errorf("%v: status %d, no %q: %s%.400s", c.args, status, c.says, errs, out)
		}
	}
}
