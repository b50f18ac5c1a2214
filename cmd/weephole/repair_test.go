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
	"sync"
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
		status, _, errs := call(t, command, stuck, "--repair", "replace-thermostatt", "--candidates", "2000")
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

// The letter that is written in three forms has the shop's logo too, so that the job is
// proven once for both.
func TestTheLetterIsWrittenInThreeFormsAndALogoStandsOnItAndOnTheSheet(t *testing.T) {
	dir := t.TempDir()
	file := func(name string) string { return filepath.Join(dir, name) }
	logo, hostile, html, pdf, sheet, bench := file("logo.png"), file("hostile.png"), file("l.html"), file("l.pdf"), file("s.html"), file("b.html")
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, 120, 60))); err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(os.WriteFile(logo, b.Bytes(), 0o600), os.WriteFile(hostile, []byte("<svg><script/></svg>"), 0o600)); err != nil {
		t.Fatal(err)
	}
	out := must(t, "letter", stuck, "--candidates", "2000", "--html", html, "--pdf", pdf, "--text", "-", "--logo", logo)
	if !strings.Contains(out, "$198 (quoted before: $2,350)") {
		t.Errorf("the short version: %s", out)
	}
	must(t, "repair", stuck, "--candidates", "2000", "--html", sheet, "--logo", logo)
	must(t, "next", stuck, "--candidates", "2000", "--sheet", bench, "--logo", logo)
	for name, parts := range map[string][]string{
		html:  {"What it was not, and how we know", "<svg", `<img class="logo" src="data:image/png;base64,`},
		sheet: {`<img class="logo" src="data:image/png;base64,`},
		bench: {`<img class="logo" src="data:image/png;base64,`},
		pdf:   nil,
	} {
		page, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, part := range parts {
			if !bytes.Contains(page, []byte(part)) {
				t.Errorf("%s lacks %q", filepath.Base(name), part)
			}
		}
		if name == pdf && !bytes.HasPrefix(page, []byte("%PDF-")) {
			t.Error("the PDF is none")
		}
	}
	for _, of := range []string{"letter", "repair"} {
		if status, _, errs := call(t, of, stuck, "--html", html, "--logo", hostile); status != exit.Input || !strings.Contains(errs, "an SVG") || !strings.Contains(errs, "PNG or JPEG") {
			t.Errorf("%s takes a hostile file: %d %s", of, status, errs)
		}
	}
	for of, flag := range map[string]string{"letter": "--html", "next": "--sheet"} {
		if status, _, errs := call(t, of, stuck, "--logo", logo); status != exit.Input || !strings.Contains(errs, flag) {
			t.Errorf("%s, a logo that nothing shows: %d %s", of, status, errs)
		}
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

// closedFolder is the folder of the demonstration's job with the gasket, worked once for
// all tests that want a closed job; TestMain takes it away.
var closedFolder struct {
	once           sync.Once
	dir, out, errs string
}

// closedJob gives the folder, which has gasket.yaml with its logs in it, and what the
// demonstration printed. Tests add files of their own to it, and change none.
func closedJob(t *testing.T) (dir, out string) {
	t.Helper()
	f := &closedFolder
	f.once.Do(func() {
		var err error
		if f.dir, err = os.MkdirTemp("", "weephole-test-"); err != nil {
			f.errs = err.Error()
			return
		}
		var status int
		if status, f.out, f.errs = call(t, "demo", "--all", "--only", "gasket", "--candidates", "1500", "--out", f.dir); status == 0 {
			f.errs = ""
		}
	})
	if f.errs != "" {
		t.Fatal(f.errs)
	}
	return f.dir, f.out
}

// One job of the demonstration goes from complaint to closing, and then the
// commands are tried on what it wrote: they have to agree.
func TestADemoJobGoesFromComplaintToTally(t *testing.T) {
	dir, out := closedJob(t)
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
