package paper_test

import (
	"bytes"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"weephole/internal/answer"
	"weephole/internal/job"
	"weephole/internal/paper"
	"weephole/internal/work"
	"weephole/lineup"
	"weephole/margin"
	"weephole/proof"
	"weephole/quantity"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// facts reads the test's job and lays made-up odds and a made-up proof beside
// it: what is tested here is the text, not the computation.
// left is a car that a repair has given most of its margin back.
func left(t *testing.T) *work.CarMargin {
	t.Helper()
	k, err := margin.DefaultCriteria()
	if err != nil {
		t.Fatal(err)
	}
	states := func(low, middle, high, passes float64) margin.States {
		return margin.States{Highest: margin.MiddleRange{Low: low, Middle: middle, High: high}, Passes: passes}
	}
	in := func(i int, found, after margin.States) margin.InDuty {
		return margin.InDuty{Duty: &k.Duties[i], Found: found, After: &after, Sound: states(62, 75, 90, 0.02)}
	}
	return &work.CarMargin{
		Report: &margin.Report{DayC: 38, Engines: 250, Distinct: 240, Duties: []margin.InDuty{
			in(0, states(-40, 4, 20, 0.97), states(61, 80, 90, 0.03)),
			in(3, states(8, 22, 31, 0.99), states(35, 47, 62, 0.14)),
		}, Losses: []margin.Loss{{Cause: "radiator-clogged", Name: "radiator clogged inside", Share: 0.11, Takes: 23, Repair: "replace-radiator"}}},
		Repairs: []string{"replace-thermostat"}, Names: []string{"replace the thermostat"}, Bills: []float64{520}, Done: true,
	}
}

func facts(t *testing.T, change func(*job.Job)) paper.Facts {
	t.Helper()
	m, err := lineup.DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	f, err := os.Open("testdata/stuck.yaml")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	j, err := job.Read(f, "stuck.yaml", work.Vocabulary(m))
	if err != nil {
		t.Fatal(err)
	}
	if change != nil {
		change(j)
	}
	minutes := []float64{0, 300, 600, 900, 1200, 1500}
	return paper.Facts{
		Job: j, Model: m, Style: answer.Style{Units: quantity.US(), Currency: "USD"},
		History: work.History{Repairs: []string{"replace-thermostat"}, RepairOf: []int{6}, BeforeOf: []int{0, 1, 2, 3, 4, 5}},
		Odds: lineup.Odds{Candidates: 20000, Effective: 900, Causes: []lineup.CauseOdds{
			{Cause: "thermostat-shut", Probability: 0.93, Before: 0.41, For: []lineup.Reason{{Finding: 6, What: "hose temperatures at hot idle", Decibans: 14}, {Finding: 5, What: "a logged warm-up", Decibans: 6}}},
			{Cause: "thermostat-misfitted", Probability: 0.04, Before: 0.01},
			{Cause: "combustion-leak", Probability: 0.01, Before: 0.12, Against: []lineup.Reason{{Finding: 2, What: "gas test", Decibans: -11}}},
			{Cause: "fan-dead", Probability: 0.001, Before: 0.14, Against: []lineup.Reason{{Finding: 4, What: "fan", Decibans: -18}}},
			{Cause: "coolant-low", Probability: 0.004, Before: 0.2, Against: []lineup.Reason{{Finding: 1, What: "level", Decibans: -7}}},
		}},
		Proof: &work.RepairProof{
			Done: true, Repairs: []string{"replace-thermostat"}, Margin: left(t),
			Judgement: &proof.Judgement{Verdict: proof.Proven, Cause: proof.Proven, Gone: 0.999, Clean: 0.985, Settled: 780},
			Bands: []work.ProofBand{{Finding: 8, RunBands: &proof.RunBands{
				Time: minutes, Coolant: proof.Series{24, 62, 81, 83, 84, 91}, Low: proof.Series{20, 56, 76, 77, 78, 80},
				Middle: proof.Series{24, 62, 82, 84, 85, 90}, High: proof.Series{28, 68, 88, 91, 93, 99}, Still: proof.Series{24, 62, 83, 94, 104, 112},
			}}},
		},
	}
}

func TestTheLetterReadsAsWritten(t *testing.T) {
	for name, change := range map[string]func(*job.Job){
		"stuck": nil,
		// The other shop was right: the letter has to say so as plainly.
		"quote-was-right": func(j *job.Job) { j.Quote.Presumes, j.Quote.Repair = "thermostat-shut", "replace-thermostat" },
		"no-quote":        func(j *job.Job) { j.Quote = nil },
	} {
		t.Run(name, func(t *testing.T) {
			l := paper.Write(facts(t, change))
			var html bytes.Buffer
			if err := l.HTML(&html); err != nil {
				t.Fatal(err)
			}
			golden(t, name+".html", html.String())
			golden(t, name+".txt", l.Short+"\n")
		})
	}
}

// The new part is named, and not what was wrong with the old one or what else was done.
func TestTheTextMessageNamesTheNewPart(t *testing.T) {
	for repair, want := range map[string]string{
		"replace-hose": "New hose, clip or fitting fitted.", "replace-fan-fuse": "New fan fuse fitted.",
		"bleed-and-refill": "Done: ",
	} {
		w := facts(t, func(j *job.Job) { j.Findings[6].Repair, j.Findings[6].Part = repair, "" })
		if l := paper.Write(w); !strings.Contains(l.Short, want) {
			t.Errorf("%s: %q has no %q", repair, l.Short, want)
		}
	}
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", "golden", name)
	if *update {
		if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), got); d != "" {
		t.Errorf("%s (-want +got; -update rewrites it):\n%s", name, d)
	}
}

func TestTheLetterSaysWhatTheProofSays(t *testing.T) {
	for _, c := range []struct {
		verdict, cause, seen proof.Verdict
		says                 string
	}{
		{proof.Proven, proof.Proven, proof.Proven, "Fewer than 2 % of failed repairs"},
		{proof.CouldNotTell, proof.Proven, proof.CouldNotTell, "the cause is gone"},
		{proof.CouldNotTell, proof.Proven, proof.Proven, "What could not be shown, and may still turn up: a pocket of air left in the system (1 %)."},
		{proof.CouldNotTell, proof.CouldNotTell, proof.Proven, "It is not proven yet that the fault is gone."},
		{proof.NotProven, proof.Proven, proof.CouldNotTell, "something else is wrong"},
		{proof.NotProven, proof.NotProven, proof.CouldNotTell, "not right yet"},
	} {
		f := facts(t, nil)
		f.Proof.Judgement.Verdict, f.Proof.Judgement.Cause, f.Proof.Judgement.Seen = c.verdict, c.cause, c.seen
		f.Proof.Judgement.Unseen = []proof.Suspect{{Class: proof.Left, Cause: "air-pocket", Name: "pocket of air left in the system", Probability: 0.01}}
		var html bytes.Buffer
		if err := paper.Write(f).HTML(&html); err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(html.String(), c.says) {
			t.Errorf("%s, cause %s: the letter does not say %q", c.verdict, c.cause, c.says)
		}
		if c.verdict != proof.Proven && strings.Contains(html.String(), "Fewer than 2 % of failed repairs") {
			t.Errorf("%s, cause %s: the letter claims a proof", c.verdict, c.cause)
		}
	}
}

func TestTextOfTheJobCannotBreakThePage(t *testing.T) {
	l := paper.Write(facts(t, func(j *job.Job) {
		j.Complaint.Words, j.Shop.Name = `<script>alert("hot")</script>`, "A & <b>B</b>"
	}))
	var html bytes.Buffer
	if err := l.HTML(&html); err != nil {
		t.Fatal(err)
	}
	for _, bad := range []string{"<script>", "<b>B</b>"} {
		if strings.Contains(html.String(), bad) {
			t.Errorf("the page holds %q unescaped", bad)
		}
	}
}

func TestThePDFIsTheSameFileTwiceOnTwoPagesWithRealText(t *testing.T) {
	l := paper.Write(facts(t, nil))
	made := time.Date(2030, 6, 14, 12, 0, 0, 0, time.UTC)
	var a, b bytes.Buffer
	for _, w := range []*bytes.Buffer{&a, &b} {
		if err := l.PDF(w, made); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("the same letter gives two different files")
	}
	if n := bytes.Count(a.Bytes(), []byte("/Type /Page\n")); n < 1 || n > 2 {
		t.Errorf("%d pages, want one or two", n)
	}
	for _, want := range []string{"/Lang", "/FontFile2", "/ToUnicode"} {
		if !bytes.Contains(a.Bytes(), []byte(want)) {
			t.Errorf("the file has no %s", want)
		}
	}
	reader, err := exec.LookPath("pdftotext")
	if err != nil {
		t.Skip("pdftotext is not installed: the text was not read back")
	}
	file := filepath.Join(t.TempDir(), "letter.pdf")
	if err := os.WriteFile(file, a.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	text, err := exec.Command(reader, file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range l.Sections {
		if !strings.Contains(string(text), s.Head) {
			t.Errorf("the PDF's text lacks %q", s.Head)
		}
	}
}

// An open proof says that it is open, why, and what would settle it; and speaks of a run only
// where one was made.
func TestAnOpenProofSaysWhyAndWhatWouldProveIt(t *testing.T) {
	const looked = "It is not proven yet that the fault is gone. What we saw afterwards would have looked much the same with and without the fault."
	for _, c := range []struct {
		change func(*work.RepairProof)
		want   string
	}{
		{func(p *work.RepairProof) { p.Bands = nil }, looked + " One more run or check is needed."},
		{func(p *work.RepairProof) { p.Bands, p.Judgement.LogOddsCause = nil, 2.9 }, // e^2.9 = 18
			"It is not proven yet that the fault is gone. What we saw afterwards speaks for the repair, but not clearly enough. One more run or check is needed."},
		{func(p *work.RepairProof) { p.Judgement.LogOddsCause = -2.9 },
			"It is not proven yet that the fault is gone. What we saw afterwards looks more like a car that still has the fault. One more run or check is needed."},
		{func(*work.RepairProof) {}, "It is not proven yet that the fault is gone. The run afterwards would have looked much the same with and without the fault. One more run or check is needed."},
		{func(p *work.RepairProof) {
			p.Bands = nil
			p.Plan = &proof.Design{Runs: []proof.RunPower{{Name: "stop and go", Tells: true}}, Checks: []proof.CheckPower{{Name: "coolant level, cold"}}}
		}, looked + " What would prove it: a run (stop and go); coolant level, cold."},
	} {
		f := facts(t, nil)
		f.Proof.Judgement = &proof.Judgement{Verdict: proof.CouldNotTell, Cause: proof.CouldNotTell, CauseSeen: proof.CouldNotTell, Seen: proof.CouldNotTell}
		c.change(f.Proof)
		if got := paras(t, f, "Proof"); got[0] != c.want {
			t.Errorf("%q, want %q", got[0], c.want)
		}
	}
}

// paras are the paragraphs and items under a heading of the letter.
func paras(t *testing.T, f paper.Facts, head string) []string {
	t.Helper()
	for _, s := range paper.Write(f).Sections {
		if s.Head == head {
			return append(append([]string{}, s.Paras...), s.Items...)
		}
	}
	t.Fatalf("the letter has nothing under %q", head)
	return nil
}

func TestNothingIsSaidToBeRuledOutThatNoMeasurementTouched(t *testing.T) {
	const head = "What it was not, and how we know"
	f := facts(t, nil)
	for i := range f.Odds.Causes {
		if o := &f.Odds.Causes[i]; o.Cause != "thermostat-shut" {
			o.Before, o.Probability, o.Against = 0.042, 0.04, nil
		}
	}
	if got := paras(t, f, head); len(got) != 1 || got[0] != "Our measurements have ruled nothing out yet." {
		t.Errorf("%q is said of causes that stand as they stood", got)
	}
	f.Odds.Causes[3].Before, f.Odds.Causes[3].Probability = 0.14, 0.01
	if got := paras(t, f, head); len(got) != 1 || !strings.HasPrefix(got[0], "Not an electric fan") || !strings.HasSuffix(got[0], "from 14 % to 1 %.") {
		t.Errorf("%q, want the one cause whose odds fell", got)
	}
}

func TestTheTextMessageIsNoSurerThanTheLetter(t *testing.T) {
	f := facts(t, func(j *job.Job) { j.Closing.Cause = "" })
	short := paper.Write(f).Short
	if was := paras(t, f, "What it was")[0]; !strings.HasPrefix(was, "Most likely: ") || !strings.Contains(short, "Most likely it was a thermostat") || strings.Contains(short, ": It was") {
		t.Errorf("the letter says %q, the message %q", was, short)
	}
}

// What is to be done bears an instruction as its name; a letter reports, and tells the owner to
// squeeze nothing.
func TestTheLetterReportsChecksAndOrdersNone(t *testing.T) {
	f := facts(t, nil)
	for _, s := range paper.Write(f).Sections {
		for _, row := range s.Rows {
			if strings.HasPrefix(row[0], "Squeeze") || strings.HasPrefix(row[0], "Watch") {
				t.Errorf("the letter tells the owner: %q", row[0])
			}
		}
	}
	if k := f.Model.Checks.Check("hose-squeeze"); !strings.HasPrefix(k.Name, "squeeze ") || !strings.HasPrefix(k.NameMade(), "upper hose squeezed") {
		t.Errorf("named %q, and once made %q", k.Name, k.NameMade())
	}
}
