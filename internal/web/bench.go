package web

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"strings"
	"sync"
	"time"

	"weephole/internal/casework"
	"weephole/internal/job"
	"weephole/internal/store"
	"weephole/internal/web/finish"
	"weephole/internal/web/weighing"
	"weephole/lineup"
	"weephole/plan"
)

// Config is what a bench is made of.
type Config struct {
	Store store.Store
	Model *lineup.Model
	Plan  *plan.Settings
	Weigh weighing.Config // Model, Plan and Tell are filled in
	Demo  []Demo
	Now   func() time.Time
	// Guarded asks every device for the passphrase.
	Guarded bool
	// Hosts are names by which the server may be called, besides localhost and
	// plain addresses.
	Hosts []string
	Log   *slog.Logger
	// Tally is where closed jobs are counted; nil: nowhere.
	Tally Ledger
	// Addresses are those by which the shop's other devices reach the bench.
	Addresses []string
}

// Demo is a job that comes with the program.
type Demo struct {
	Name     string            // unique among them
	Document []byte            // a job file, YAML or JSON
	Files    map[string][]byte // the logs it names
}

// Bench serves the pages and the API.
type Bench struct {
	cfg     Config
	store   store.Store
	words   job.Vocabulary
	hub     *hub
	weigher *weighing.Weigher
	guard   *guard
	handler http.Handler
	openapi []byte

	finisher   *finish.Finisher
	telling    sync.Mutex // one changes a part of a job's head at a time
	counting   sync.Mutex // one adds to the tally at a time
	life       context.Context
	end        context.CancelFunc
	beginning  sync.Mutex // nothing begins behind the scenes once the bench closes
	background sync.WaitGroup
}

// finishShare is what part of a refined answer's engines a proof, a letter or a
// plan is made from: each of them is run many times over, and somebody waits.
// Judgement, from timings (docs/bench.md).
const finishShare = 4

// New makes a bench; Close ends it.
func New(cfg Config) (*Bench, error) {
	if cfg.Now == nil {
		cfg.Now = time.Now
	}
	if cfg.Log == nil {
		cfg.Log = slog.New(slog.DiscardHandler)
	}
	b := &Bench{cfg: cfg, store: cfg.Store, words: casework.Vocabulary(cfg.Model), hub: newHub()}
	cfg.Weigh.Model, cfg.Weigh.Plan, cfg.Weigh.Tell = cfg.Model, cfg.Plan, b.answered
	b.weigher = weighing.New(cfg.Weigh)
	b.guard = newGuard(cfg)
	b.life, b.end = context.WithCancel(context.Background())
	b.finisher = finish.New(finish.Config{
		Model: cfg.Model, Plan: cfg.Plan, Candidates: max(cfg.Weigh.CoarseSize, cfg.Weigh.FineSize/finishShare), Seed: cfg.Weigh.Seed, Workers: max(1, cfg.Weigh.Workers-1),
	})
	if err := b.route(); err != nil {
		b.Close()
		return nil, err
	}
	return b, nil
}

// Handler is the whole bench as an HTTP handler.
func (b *Bench) Handler() http.Handler { return b.handler }

// Close ends all weighing and sends the listening devices away.
func (b *Bench) Close() {
	b.hub.close()
	b.beginning.Lock()
	b.end()
	b.beginning.Unlock()
	b.finisher.Close()
	b.weigher.Close()
	b.background.Wait()
}

// behind does something that nobody waits for, unless the bench is closing.
func (b *Bench) behind(do func()) {
	b.beginning.Lock()
	defer b.beginning.Unlock()
	if b.life.Err() == nil {
		b.background.Go(do)
	}
}

// state is a job as it stands.
func (b *Bench) state(ctx context.Context, id string) (*store.State, error) {
	entries, err := b.store.Entries(ctx, id, 0)
	if err != nil {
		return nil, err
	}
	s, err := store.Fold(entries)
	if err != nil {
		return nil, err
	}
	return &s, nil
}

// append keeps an entry, tells everybody and has the job weighed anew.
func (b *Bench) append(ctx context.Context, e store.Entry) (store.Entry, bool, error) {
	kept, added, err := b.store.Append(ctx, e)
	if err != nil {
		return kept, false, err
	}
	if added {
		b.hub.tell(kept.Job, event{Name: "entry", Seq: kept.Seq, Who: kept.Who})
	}
	return kept, added, nil
}

// weigh has a job weighed as it stands.
func (b *Bench) weigh(ctx context.Context, s *store.State) error {
	document, err := b.document(ctx, s)
	if err != nil {
		return err
	}
	set, err := b.settings(ctx)
	if err != nil {
		return err
	}
	b.weigher.Ask(weighing.Subject{
		Job: s.ID, Seq: s.Seq, Document: document, Units: set.units(document), Open: b.opener(s.ID),
	})
	return nil
}

// opener opens a job's logs from the store.
func (b *Bench) opener(id string) casework.Opener {
	return func(name string) (io.ReadCloser, error) {
		_, content, err := b.store.File(context.Background(), id, name) // ends with the read; nobody waits longer than for the disk
		if err != nil {
			if errors.Is(err, store.ErrUnknown) {
				return nil, errors.New("it was not brought to this job")
			}
			return nil, err
		}
		return io.NopCloser(strings.NewReader(string(content))), nil
	}
}

// answered keeps a new answer and tells those who watch the job.
func (b *Bench) answered(id string, a *weighing.Answer) {
	defer b.hub.tell(id, event{Name: "answer", Seq: a.Seq, Stage: a.Stage})
	if a.Next == nil && a.Problem == "" {
		return // the whole answer follows at once; pages take this one from the weigher
	}
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	body, err := json.Marshal(a)
	if err == nil {
		err = b.store.KeepAnswer(ctx, id, store.Answer{Seq: a.Seq, Stage: a.Stage, Verdict: verdict(a), Body: body})
	}
	if err != nil && !errors.Is(err, store.ErrUnknown) { // a removed demo has no place for it
		b.cfg.Log.Warn("an answer could not be kept; it will be made again", "job", id, "error", err)
	}
}

// answer is the newest answer at hand or kept, nil when there is none. While
// its next step is being worked out, the one before stands in.
func (b *Bench) answer(ctx context.Context, id string) (*weighing.Answer, error) {
	now := b.weigher.Latest(id)
	if now != nil && (now.Next != nil || now.Problem != "") {
		return now, nil
	}
	before, err := b.kept(ctx, id)
	if err != nil || now == nil {
		return before, err
	}
	if before != nil {
		both := *now
		both.Next, both.Expected, both.Bands = before.Next, before.Expected, before.Bands
		return &both, nil
	}
	return now, nil
}

// kept is the newest answer on the disk.
func (b *Bench) kept(ctx context.Context, id string) (*weighing.Answer, error) {
	kept, err := b.store.Answer(ctx, id)
	if errors.Is(err, store.ErrUnknown) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var a weighing.Answer
	if err := json.Unmarshal(kept.Body, &a); err != nil {
		return nil, nil // written by another version: it is made again
	}
	return &a, nil
}

// verdict is an answer in one line, and what to do next in a second.
func verdict(a *weighing.Answer) string {
	switch {
	case a.Problem != "":
		return "cannot be weighed: " + a.Problem
	case a.Odds == nil || len(a.Odds.Causes) == 0:
		return ""
	}
	line := a.Odds.Fit.Says
	if c := a.Odds.Causes[0]; a.Odds.Fit.Verdict != "nothing-fits" {
		line = c.Name + ": " + countOf(c.Count, a.Odds.Of)
	}
	if a.Next != nil && len(a.Next.Steps) > 0 {
		line += "\n" + a.Next.Steps[0].Name
	}
	return line
}
