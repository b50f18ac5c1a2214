package web

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"reflect"
	"sync"
	"time"

	"weephole/internal/job"
	"weephole/internal/say"
	"weephole/internal/store"
	"weephole/internal/web/answers"
	"weephole/internal/work"
)

// jobs are the shop's jobs: read from the store, changed by entries that all who
// look are told of, and answered from the lineup that is kept warm for each.
type jobs struct {
	cfg   Config
	store store.Store
	words job.Vocabulary
	live  *live
	warm  *answers.Live
	cache *answers.Cache

	logs       logs
	results    results
	lexicon    func() (*say.Lexicon, error) // made when it is first asked for
	telling    byJob                        // one changes a part of a job at a time
	soon       soon
	life       context.Context
	end        context.CancelFunc
	beginning  sync.Mutex // nothing begins behind the scenes once the bench closes
	background sync.WaitGroup
}

func newJobs(cfg Config) *jobs {
	js := &jobs{cfg: cfg, store: cfg.Store, words: work.Vocabulary(cfg.Model), live: newLive(cfg.Store), soon: newSoon(cfg.reading)}
	cfg.Answers.Model, cfg.Answers.Plan, cfg.Answers.Tell, cfg.Answers.Say = cfg.Model, cfg.Plan, js.answered, problemInWords
	js.warm, js.cache = answers.NewLive(cfg.Answers), answers.NewCache(cfg.Answers)
	js.lexicon = sync.OnceValues(func() (*say.Lexicon, error) { return say.New(cfg.Model.Checks) })
	js.life, js.end = context.WithCancel(context.Background())
	return js
}

// ofShop is whose jobs these are.
func (js *jobs) ofShop() string {
	if s, ok := js.store.(interface{ Shop() string }); ok {
		return s.Shop()
	}
	return ""
}

func (js *jobs) close() {
	js.live.close()
	js.beginning.Lock()
	js.end()
	js.beginning.Unlock()
	js.cache.Close()
	js.warm.Close()
	js.background.Wait()
}

// behind does something that nobody waits for, unless the bench is closing.
func (js *jobs) behind(do func()) {
	js.beginning.Lock()
	defer js.beginning.Unlock()
	if js.life.Err() == nil {
		js.background.Go(do)
	}
}

// state is a job as it stands.
func (js *jobs) state(ctx context.Context, id string) (*store.State, error) {
	entries, err := js.store.Entries(ctx, id, 0)
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
func (js *jobs) stateAndSummary(r *http.Request) (*store.State, store.Summary, error) {
	s, err := js.state(r.Context(), r.PathValue("id"))
	if err != nil {
		return nil, store.Summary{}, err
	}
	sum, err := js.store.Job(r.Context(), s.ID)
	return s, sum, err
}

// evaluate has a job worked out as it stands.
func (js *jobs) evaluate(ctx context.Context, s *store.State) error {
	stands, err := js.currentOf(ctx, s)
	if err != nil {
		return err
	}
	js.warm.Ask(answers.JobState{
		Job: s.ID, Seq: evidenceSeq(s), Document: stands.Document, Open: js.opener(s.ID),
	})
	return nil
}

// opener opens a job's logs from the store.
func (js *jobs) opener(id string) work.Opener {
	return func(name string) (io.ReadCloser, error) {
		_, content, err := js.store.File(context.Background(), id, name) // ends with the read; nobody waits longer than for the disk
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
func (js *jobs) answered(id string, a *answers.Answer) {
	defer js.live.publish(id, event{Name: "answer", Seq: a.Seq, Stage: a.Stage})
	if a.Next == nil && a.Problem == "" {
		return // the whole answer follows at once; pages take this one from what is kept warm
	}
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	body, err := json.Marshal(a)
	if err == nil {
		err = js.store.KeepAnswer(ctx, id, store.Answer{Seq: a.Seq, Stage: a.Stage, Verdict: js.verdict(ctx, id, a), Body: body})
	}
	if err != nil && !errors.Is(err, store.ErrUnknown) { // a removed demo has no place for it
		js.cfg.Log.Warn("an answer could not be kept; it will be made again", "job", id, "error", err)
	}
}

// answer is the newest answer at hand or kept, nil when there is none. While
// its next step is being worked out, the one before stands in.
func (js *jobs) answer(ctx context.Context, id string) (*answers.Answer, error) {
	now := js.warm.Latest(id)
	before, err := js.kept(ctx, id)
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
func (js *jobs) kept(ctx context.Context, id string) (*answers.Answer, error) {
	kept, err := js.store.Answer(ctx, id)
	if errors.Is(err, store.ErrUnknown) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var a answers.Answer
	if err := json.Unmarshal(kept.Body, &a); err != nil || a.Odds != nil && len(a.Odds.Lines) == 0 {
		return nil, nil // written by another version: it is made again
	}
	return &a, nil
}

// verdict is how a job stands for the list of jobs. After a repair it is not the odds
// that count: they only say what was wrong before.
func (js *jobs) verdict(ctx context.Context, id string, a *answers.Answer) store.Verdict {
	if s, err := js.current(ctx, id); err == nil && a.Problem == "" {
		if done := js.repairsDone(s); len(done) > 0 {
			v := js.repaired(s, done, store.ProofOpen)
			if kept, err := js.store.Answer(ctx, id); err == nil && kept.Seq == a.Seq {
				v.Proof, v.Made = kept.Verdict.Proof, kept.Verdict.Made // nothing new was entered since
			}
			return v
		}
	}
	return verdictOf(a, js.rough(a))
}

// repaired is how a job stands after its repairs.
func (js *jobs) repaired(s *currentJob, done []string, shown store.VerdictProof) store.Verdict {
	v := store.Verdict{State: store.VerdictRepaired, Repairs: done, Proof: shown}
	if c := s.Head.Closing.Cause; c != "" && c != job.Unknown {
		v.Cause, v.Name = c, js.causeName(c)
	}
	return v
}

// keepVerdict has the list of jobs say what a job's page says. What came of a proof is
// known only when somebody looks: the list works out nothing.
func (js *jobs) keepVerdict(ctx context.Context, id string, v store.Verdict) {
	sum, err := js.store.Job(ctx, id)
	if err == nil && reflect.DeepEqual(sum.Verdict, v) {
		return
	}
	kept, err := js.store.Answer(ctx, id)
	if err == nil {
		kept.Verdict = v
		err = js.store.KeepAnswer(ctx, id, kept)
	}
	if err != nil && !errors.Is(err, store.ErrUnknown) && ctx.Err() == nil {
		js.cfg.Log.Warn("the list of jobs could not be told of a proof", "job", id, "error", err)
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
		v = store.Verdict{State: store.VerdictSettled, Cause: c.Cause, Name: c.Name, Percent: c.Percent, Made: a.Made}
	}
	if a.Next != nil && len(a.Next.Steps) > 0 {
		v.Step, v.Next = a.Next.Steps[0].Do, a.Next.Steps[0].Name
	}
	return v
}
