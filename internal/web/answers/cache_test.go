package answers_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"weephole/internal/job"
	"weephole/internal/tally"
	"weephole/internal/web/answers"
	"weephole/internal/work"
	"weephole/internal/work/worktest"
	"weephole/proof"
)

// stuck is a job from complaint to closing, with a log before the repair and one
// after it (internal/paper).
const stuck = "../../paper/testdata/stuck.yaml"

// shelf has the engines of the job that all tests ask of.
var shelf worktest.Shelf

func cache(t *testing.T) *answers.Cache {
	t.Helper()
	m, err := knowledge()
	if err != nil {
		t.Fatal(err)
	}
	// As many engines as the bench takes by default: a thousand are too few to
	// settle the other faults after a log.
	f := answers.NewCache(answers.LiveConfig{Model: m, CoarseSize: 5000, Seed: 1, Workers: 3, Share: shelf.Share})
	t.Cleanup(f.Close)
	return f
}

// subject reads the job, after a change to its text.
func subject(t *testing.T, change ...string) answers.JobState {
	t.Helper()
	m, err := knowledge()
	if err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(stuck)
	if err != nil {
		t.Fatal(err)
	}
	j, err := job.Read(strings.NewReader(strings.NewReplacer(change...).Replace(string(data))), "", work.Vocabulary(m))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := job.WriteJSON(&out, j); err != nil {
		t.Fatal(err)
	}
	return answers.JobState{Document: json.RawMessage(out.Bytes()), Open: func(name string) (io.ReadCloser, error) {
		return os.Open(filepath.Join(filepath.Dir(stuck), name))
	}}
}

func TestARepairWithALogAfterItIsJudgedOnceForAllWhoAsk(t *testing.T) {
	f, s := cache(t), subject(t)
	var wg sync.WaitGroup
	got := make([]*answers.ProofReply, 4)
	for i := range got {
		wg.Go(func() {
			var err error
			if got[i], err = f.Proof(t.Context(), s); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	for _, p := range got[1:] {
		if p != got[0] {
			t.Error("the proof was worked out more than once")
		}
	}
	p := got[0]
	if p == nil || p.Judgement == nil || p.Judgement.Cause != proof.Proven {
		t.Fatalf("a renewed thermostat and a log that could tell: %+v", p)
	}
	if p.Chart == nil || len(p.Chart.Lines) != 3 {
		t.Errorf("want before, after and what it would have been without the repair: %+v", p.Chart)
	}
	if again, there, err := f.ProofNow(s); !there || err != nil || again != p {
		t.Errorf("what is known is not at hand: %v, %v", there, err)
	}
}

func TestALetterAndTheTallysEntryAreMadeOfTheSameJob(t *testing.T) {
	f, s := cache(t), subject(t)
	l, err := f.Letter(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(l.Car, "Quillet Corrie") || l.Short == "" {
		t.Errorf("letter: %+v", l)
	}
	e, err := f.Entry(t.Context(), s, "the id")
	if err != nil {
		t.Fatal(err)
	}
	if e.Job != "the id" || len(e.Causes) != 1 || e.Causes[0] != "thermostat-shut" || len(e.Findings) == 0 {
		t.Errorf("entry: %+v", e)
	}
	if _, err := f.Entry(t.Context(), subject(t, "cause: thermostat-shut", "cause: unknown"), "x"); !errors.Is(err, tally.ErrNoCause) {
		t.Errorf("a job without a cause teaches: %v", err)
	}
}

func TestSheetsAreOfTheRepairsDoneLastOrOfThoseAskedFor(t *testing.T) {
	f, s := cache(t), subject(t)
	w, err := f.Open(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	sheets, err := w.Sheets(nil)
	if err != nil || len(sheets) != 1 || sheets[0].Repair != "replace-thermostat" || len(sheets[0].Cautions) == 0 {
		t.Fatalf("%v, %v", sheets, err)
	}
	if sheets, err = w.Sheets([]string{"replace-pump"}); err != nil || len(sheets) != 1 || sheets[0].Repair != "replace-pump" {
		t.Errorf("%v, %v", sheets, err)
	}
}

func TestAFailureIsNotKept(t *testing.T) {
	f := cache(t)
	s := subject(t)
	open, away := s.Open, true
	s.Open = func(name string) (io.ReadCloser, error) {
		if away {
			return nil, errors.New("it was not brought to this job")
		}
		return open(name)
	}
	if _, err := f.Proof(t.Context(), s); err == nil {
		t.Fatal("a proof without its log")
	}
	away = false
	if _, err := f.Proof(t.Context(), s); err != nil {
		t.Errorf("the log came, and still: %v", err)
	}
}

func TestWhoeverLeavesDoesNotStopTheWork(t *testing.T) {
	f, s := cache(t), subject(t)
	ctx, leave := context.WithCancel(t.Context())
	leave()
	if _, err := f.Proof(ctx, s); !errors.Is(err, context.Canceled) {
		t.Fatalf("the asker left: %v", err)
	}
	if _, err := f.Proof(t.Context(), s); err != nil {
		t.Errorf("the next one: %v", err)
	}
}
