package web

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"reflect"
	"sync"
	"time"

	"weephole/internal/job"
	"weephole/internal/say"
	"weephole/internal/store"
	"weephole/internal/web/answers"
	"weephole/internal/work"
	"weephole/lineup"
)

// wording says in people's words what jobs hold in the catalogue's.
type wording struct {
	model   *lineup.Model
	words   job.Vocabulary
	lexicon func() (*say.Lexicon, error) // made when it is first asked for
}

// shopRecord is what the store holds of the shop itself: its settings, its logo, its
// people.
type shopRecord struct {
	wording
	store store.Store
	log   *slog.Logger
}

// journal reads the shop's jobs from the store, as they stand.
type journal struct {
	shopRecord
	cfg     Config
	logs    logs
	results results
}

// diagnosis is what is worked out of each job from the lineup that is kept warm for it,
// and how that stands for those who look.
type diagnosis struct {
	journal
	live    *live
	warm    *answers.Live
	cache   *answers.Cache
	readOff readOff
	keeping byJob // an answer and the verdict beside it are read and kept by one at a time

	soon       *soon
	life       context.Context
	end        context.CancelFunc
	beginning  sync.Mutex // nothing begins behind the scenes once the bench closes
	background sync.WaitGroup
}

// jobs are the shop's jobs: changed by entries that all who look are told of. Each of
// the types above knows those before it and none after it; here they come together.
type jobs struct {
	diagnosis
	telling byJob // one changes a part of a job at a time
}

func newJobs(cfg Config) *jobs {
	js := &jobs{}
	js.cfg, js.store, js.log = cfg, cfg.Store, cfg.Log
	js.words, js.model = work.Vocabulary(cfg.Model), cfg.Model
	js.lexicon = sync.OnceValues(func() (*say.Lexicon, error) { return say.New(cfg.Model.Checks) })
	js.live, js.soon = newLive(cfg.Store), newSoon(cfg.reading)
	cfg.Answers.Model, cfg.Answers.Plan, cfg.Answers.Tell, cfg.Answers.Say = cfg.Model, cfg.Plan, js.answered, problemInWords
	cfg.Answers.Drawn = new(answers.Drawn)
	js.warm, js.cache = answers.NewLive(cfg.Answers), answers.NewCache(cfg.Answers)
	js.life, js.end = context.WithCancel(context.Background())
	return js
}

// ofShop is whose jobs these are.
func (sh *shopRecord) ofShop() string {
	if s, ok := sh.store.(interface{ Shop() string }); ok {
		return s.Shop()
	}
	return ""
}

func (dg *diagnosis) close() {
	dg.live.close()
	dg.beginning.Lock()
	dg.end()
	dg.beginning.Unlock()
	dg.cache.Close()
	dg.warm.Close()
	dg.background.Wait()
}

// behind does something that nobody waits for, unless the bench is closing.
func (dg *diagnosis) behind(do func()) {
	dg.beginning.Lock()
	defer dg.beginning.Unlock()
	if dg.life.Err() == nil {
		dg.background.Go(do)
	}
}

// state is a job as it stands.
func (jn *journal) state(ctx context.Context, id string) (*store.State, error) {
	entries, err := jn.store.Entries(ctx, id, 0)
	if err != nil {
		return nil, err
	}
	s, err := store.Fold(entries)
	if err != nil {
		return nil, err
	}
	return &s, nil
}

// stateAndSummary is a job's state with its line in the list of jobs.
func (jn *journal) stateAndSummary(r *http.Request) (*store.State, store.Summary, error) {
	s, err := jn.state(r.Context(), r.PathValue("id"))
	if err != nil {
		return nil, store.Summary{}, err
	}
	sum, err := jn.store.Job(r.Context(), s.ID)
	return s, sum, err
}

// evaluate has a job worked out as it stands.
func (dg *diagnosis) evaluate(ctx context.Context, s *store.State) error {
	stands, err := dg.currentOf(ctx, s)
	if err != nil {
		return err
	}
	dg.warm.Ask(answers.JobState{
		Job: s.ID, Seq: evidenceSeq(s), Document: stands.Document, Open: dg.opener(s.ID),
	})
	return nil
}

// opener opens a job's logs from the store.
func (jn *journal) opener(id string) work.Opener {
	return func(name string) (io.ReadCloser, error) {
		_, content, err := jn.store.File(context.Background(), id, name) // ends with the read; nobody waits longer than for the disk
		if err != nil {
			if errors.Is(err, store.ErrUnknown) {
				return nil, errors.New("it was not brought to this job")
			}
			return nil, err
		}
		return io.NopCloser(unpacked(content)), nil
	}
}

// answered keeps a new answer and tells those who watch the job.
func (dg *diagnosis) answered(id string, a *answers.Answer) {
	defer dg.live.publish(id, event{Name: "answer", Seq: a.Seq, Stage: a.Stage})
	if a.Next == nil && a.Problem == "" {
		return // the whole answer follows at once; pages take this one from what is kept warm
	}
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	body, err := json.Marshal(a)
	if err == nil {
		defer dg.keeping.lock(id)() // else a proof that a page has told of meanwhile is lost
		err = dg.store.KeepAnswer(ctx, id, store.Answer{Seq: a.Seq, Stage: a.Stage, Verdict: dg.verdict(ctx, id, a), Body: body})
	}
	if err != nil && !errors.Is(err, store.ErrUnknown) { // a removed demo has no place for it
		dg.cfg.Log.Warn("an answer could not be kept; it will be made again", "job", id, "error", err)
	}
}

// answer is the newest answer at hand or kept, nil when there is none. While
// its next step is being worked out, the one before stands in.
func (dg *diagnosis) answer(ctx context.Context, id string) (*answers.Answer, error) {
	now := dg.warm.Latest(id)
	before, err := dg.kept(ctx, id)
	if err != nil || now == nil {
		return before, err
	}
	if before != nil && before.Seq > now.Seq {
		return before, nil // another bench on the same store has worked it out
	}
	if before != nil && before.Seq == now.Seq && before.Stage == answers.Fine && now.Problem == "" {
		return before, nil // after a restart the same is counted again, roughly first
	}
	if now.Next != nil || now.Problem != "" {
		return now, nil
	}
	if before != nil {
		both := *now
		// What is not worked out yet stays on the page: a picture that goes and comes
		// back with each finding moves all that is below it.
		both.Next, both.Expected, both.Bands, both.Margin = before.Next, before.Expected, before.Bands, before.Margin
		return &both, nil
	}
	return now, nil
}

// kept is the newest answer on the disk.
func (dg *diagnosis) kept(ctx context.Context, id string) (*answers.Answer, error) {
	kept, err := dg.store.Answer(ctx, id)
	if errors.Is(err, store.ErrUnknown) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return dg.readOff.answer(id, kept.Body, readAnswerOf), nil
}

// readAnswerOf reads an answer; nil is one of another version, which is made again.
func readAnswerOf(body []byte) *answers.Answer {
	var a answers.Answer
	if err := json.Unmarshal(body, &a); err != nil || a.Odds != nil && len(a.Odds.Lines) == 0 {
		return nil
	}
	return &a
}

// verdict is how a job stands for the list of jobs. After a repair it is not the odds
// that count: they only say what was wrong before.
func (dg *diagnosis) verdict(ctx context.Context, id string, a *answers.Answer) store.Verdict {
	if s, err := dg.current(ctx, id); err == nil && a.Problem == "" {
		if done := dg.repairsDone(s); len(done) > 0 {
			v := dg.repaired(s, done, store.ProofOpen)
			if kept, err := dg.store.Answer(ctx, id); err == nil && (kept.Verdict.Judged == a.Seq || kept.Verdict.Judged == 0 && kept.Seq == a.Seq) {
				// Nothing new was entered since. The proof can be here before the odds are.
				v.Proof, v.Made, v.Judged = kept.Verdict.Proof, kept.Verdict.Made, kept.Verdict.Judged
			}
			return v
		}
	}
	return verdictOf(a, dg.rough(a))
}

// repaired is how a job stands after its repairs.
func (dg *diagnosis) repaired(s *currentJob, done []string, shown store.VerdictProof) store.Verdict {
	v := store.Verdict{State: store.VerdictRepaired, Repairs: done, Proof: shown}
	if c := s.Head.Closing.Cause; c != "" && c != job.Unknown {
		v.Cause, v.Name = c, dg.causeName(c)
	}
	return v
}

// keepVerdict has the list of jobs say what a job's page says. What came of a proof is
// known only when somebody looks: the list works out nothing.
func (dg *diagnosis) keepVerdict(ctx context.Context, id string, v store.Verdict) {
	defer dg.keeping.lock(id)()
	sum, err := dg.store.Job(ctx, id)
	if err == nil && reflect.DeepEqual(sum.Verdict, v) {
		return
	}
	kept, err := dg.store.Answer(ctx, id)
	if err == nil {
		kept.Verdict = v
		err = dg.store.KeepAnswer(ctx, id, kept)
	}
	if err != nil && !errors.Is(err, store.ErrUnknown) && ctx.Err() == nil {
		dg.cfg.Log.Warn("the list of jobs could not be told of a proof", "job", id, "error", err)
	}
}

// verdictOf is an answer in short, and what to do next.
func verdictOf(a *answers.Answer, rough bool) store.Verdict {
	switch {
	case a.Problem != "":
		return store.Verdict{State: store.VerdictProblem, Says: a.Problem}
	case a.Odds == nil || len(a.Odds.Causes) == 0:
		return store.Verdict{}
	case rough:
		return store.Verdict{State: store.VerdictRough, Made: a.Made} // it names no part, and no step that may be another soon
	}
	v := store.Verdict{State: store.VerdictNothingFits, Says: a.Odds.Fit.Says, Made: a.Made}
	if c := &a.Odds.Causes[0]; a.Odds.Fit.Verdict != "nothing-fits" {
		v = store.Verdict{State: store.VerdictSettled, Cause: c.Cause, Name: c.Name, Percent: loosely(c.Percent, a.Odds.Rough), Made: a.Made}
	}
	if a.Next != nil && len(a.Next.Steps) > 0 {
		v.Step, v.Next = a.Next.Steps[0].Do, a.Next.Steps[0].Name
	}
	return v
}
