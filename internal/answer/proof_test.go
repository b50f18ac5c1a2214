package answer_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"weephole/internal/answer"
	"weephole/internal/work"
	"weephole/proof"
)

// judged is a made-up repair with a judgement, in the proof's words.
func judged(j *proof.Judgement, bands ...work.ProofBand) []string {
	return answer.Texts(answer.ForProof(&work.RepairProof{Done: true, Names: []string{"replace the fan motor"}, Judgement: j, Bands: bands}, answer.Style{}).Lines)
}

// A fault that the repair left behind and the same fault beside it bear one name.
func TestWhatMayStillBeWrongIsNamedOnce(t *testing.T) {
	fan := func(c proof.Class, p float64) proof.Suspect {
		return proof.Suspect{Class: c, Cause: "fan-dead", Name: "electric fan that does not run", Probability: p}
	}
	got := judged(&proof.Judgement{Verdict: proof.CouldNotTell, Cause: proof.CouldNotTell, Suspects: []proof.Suspect{
		{Class: proof.Another, Cause: "cap-weak", Name: "weak pressure cap", Probability: 0.015}, fan(proof.Still, 0.012), fan(proof.Another, 0.008)}})
	want := "What may still be wrong: electric fan that does not run (2 %); weak pressure cap (2 %)."
	if !slices.Contains(got, want) {
		t.Errorf("%q is not said in %q", want, got)
	}
}

func TestAnOpenProofSaysHowNearItIsInPlainWords(t *testing.T) {
	got := judged(&proof.Judgement{Verdict: proof.CouldNotTell, Cause: proof.CouldNotTell, Seen: proof.Proven, Asked: 50, LogOddsCause: math.Log(18.4)})
	want := "Not proven yet that the fault is completely gone. What was seen is 18 times as likely if it is gone as if it is not. From 50 times on that counts as proof. No other fault shows."
	if !slices.Contains(got, want) {
		t.Errorf("%q is not said in %q", want, got)
	}
}

func TestARunIsSpokenOfOnlyWhereOneWasMade(t *testing.T) {
	open := &proof.Judgement{Verdict: proof.CouldNotTell, Cause: proof.CouldNotTell, Asked: 50}
	if got := judged(open); !strings.HasPrefix(got[0], "Not proven yet: what was seen ") {
		t.Errorf("without a run: %q", got[0])
	}
	if got := judged(open, work.ProofBand{RunBands: &proof.RunBands{}}); !strings.HasPrefix(got[0], "This could not tell") {
		t.Errorf("with a run: %q", got[0])
	}
}

// A run that hints at a fault still there did tell something.
func TestWhatSpeaksAgainstARepairIsNotCalledMuchTheSame(t *testing.T) {
	j := &proof.Judgement{Verdict: proof.CouldNotTell, Cause: proof.CouldNotTell, Asked: 50, LogOddsCause: -math.Log(6)}
	a := answer.ForProof(&work.RepairProof{Done: true, Names: []string{"replace the fan motor"}, Judgement: j, Bands: []work.ProofBand{{RunBands: &proof.RunBands{}}}}, answer.Style{})
	if want := "Not proven yet: what was seen looks more like a car that still has the fault."; a.Lines[0].Text != want || a.Short() != "Done, not yet proven" {
		t.Errorf("%q and %q, want %q", a.Lines[0].Text, a.Short(), want)
	}
}

func TestTheOwnersAnswerIsAskedForWithoutAKeyOfTheFile(t *testing.T) {
	w := &work.RepairProof{Done: true, Names: []string{"replace the fan motor"}, Plan: &proof.Design{AskOwner: true, OwnerShows: "a weak pressure cap", Whole: true}}
	got := answer.Only(answer.ForProof(w, answer.Style{}).Lines, answer.AskOwner)
	want := "After some days, ask the owner whether the complaint has come back. Enter the answer as what the repair changed. It would reveal: a weak pressure cap."
	if len(got) != 1 || got[0] != want {
		t.Errorf("%q, want %q", got, want)
	}
}
