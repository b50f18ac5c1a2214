package answers

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"sync"
	"time"

	"weephole/internal/answer"
	"weephole/internal/chart"
	"weephole/internal/paper"
	"weephole/internal/tally"
	"weephole/internal/work"
	"weephole/lineup"
	"weephole/proof"
)

// Depth is how many steps deep the plan is drawn.
const Depth = 3

// keptUsually is how many answers are kept: judgement, more than the jobs that a
// shop finishes in a day.
const keptUsually = 32

// Cache answers what is asked of a job now and then. It may be used from many
// goroutines.
type Cache struct {
	cfg     LiveConfig
	stop    context.CancelFunc
	wg      sync.WaitGroup
	proofs  *once[*ProofReply]
	letters *once[*LetterReply]
	entries *once[tally.Entry]
	plans   *once[*PlanReply]
	drives  *once[*answer.TripFacts]
	lineups *once[*lineup.Lineup] // of jobs as they stand or stood before their repair
	drawn   *Drawn
}

// NewCache makes one; Close ends it.
func NewCache(cfg LiveConfig) *Cache {
	if cfg.Kept == 0 {
		cfg.Kept = keptUsually
	}
	ctx, stop := context.WithCancel(context.Background())
	t := cfg.turns()
	turn := t.once
	return &Cache{
		cfg: cfg, stop: stop, drawn: cfg.kept(),
		proofs: newOnce[*ProofReply](ctx, turn, cfg.Kept), letters: newOnce[*LetterReply](ctx, t.writing, cfg.Kept), entries: newOnce[tally.Entry](ctx, turn, cfg.Kept),
		plans: newOnce[*PlanReply](ctx, turn, cfg.Kept), drives: newOnce[*answer.TripFacts](ctx, turn, cfg.Kept), lineups: newOnce[*lineup.Lineup](ctx, t.drawing, 1),
	}
}

// Close stops all work and waits for its end.
func (c *Cache) Close() {
	c.stop()
	for _, o := range []interface{ shut() }{c.proofs, c.letters, c.entries, c.plans, c.drives, c.lineups} {
		o.shut()
	}
	c.wg.Wait()
}

// ProofReply is the proof of a job's repair, planned or judged.
type ProofReply struct {
	*answer.ProofFacts
	// Chart is before and after; nil where nothing was logged.
	Chart *chart.Plot `json:"-"`
	Made  Origin      `json:"-"`
}

// Origin says when something was worked out, and from what.
type Origin struct {
	Seq     int64     // newest entry that it takes into account
	At      time.Time // zero: not known
	Engines int       // drawn in all
}

// LetterReply is the owner's letter, and when it was written.
type LetterReply struct {
	*paper.Letter
	Made Origin
}

// ask makes what is asked of a job.
func ask[T any](c *Cache, of *once[T], s JobState, key string, work func(context.Context) (T, error)) asked[T] {
	return asked[T]{of: of, wg: &c.wg, job: s.Job, seq: s.Seq, key: key, work: work}
}

// Proof waits for the proof of a job.
func (c *Cache) Proof(ctx context.Context, s JobState) (*ProofReply, error) {
	return c.proof(s).wait(ctx)
}

// ProofNow gives the proof that is at hand, or begins it and says false.
func (c *Cache) ProofNow(s JobState) (*ProofReply, bool, error) { return c.proof(s).now() }

// ProofLeft, LetterLeft and PlanLeft say how long what was begun is still away.
func (c *Cache) ProofLeft(s JobState) Left { return c.proof(s).left() }

// LetterLeft is that of the letter.
func (c *Cache) LetterLeft(s JobState) Left { return c.letter(s).left() }

// PlanLeft is that of the plan.
func (c *Cache) PlanLeft(s JobState, what work.WhatIf) Left { return c.plan(s, what).left() }

func (c *Cache) proof(s JobState) asked[*ProofReply] {
	return ask(c, c.proofs, s, s.carKey()+strings.Join(s.Repairs, " "), func(ctx context.Context) (*ProofReply, error) {
		w, err := c.Open(ctx, s)
		if err != nil {
			return nil, err
		}
		p, err := w.Proof(ctx, s.Repairs)
		if err != nil {
			return nil, err
		}
		made, err := madeBefore(ctx, w, s)
		if err != nil {
			return nil, err
		}
		return &ProofReply{answer.ForProof(p, answer.StyleOf(w)), answer.Picture(w.LogBefore(), p.Bands, w.Units), made}, nil
	})
}

// madeBefore is for what rests on the engines of the job as it stood before its repair.
func madeBefore(ctx context.Context, w *work.Work, s JobState) (Origin, error) {
	l, err := w.LineupBefore(ctx) // drawn by now
	if err != nil {
		return Origin{}, err
	}
	return Origin{s.Seq, now(), l.Size()}, nil
}

// Letter waits for the owner's letter of a job.
func (c *Cache) Letter(ctx context.Context, s JobState) (*LetterReply, error) {
	return c.letter(s).wait(ctx)
}

// LetterNow gives the letter that is at hand, or begins it and says false.
func (c *Cache) LetterNow(s JobState) (*LetterReply, bool, error) { return c.letter(s).now() }

func (c *Cache) letter(s JobState) asked[*LetterReply] {
	return ask(c, c.letters, s, s.key(), func(ctx context.Context) (*LetterReply, error) {
		w, err := c.Open(ctx, s)
		if err != nil {
			return nil, err
		}
		var proved *work.RepairProof
		made := Origin{}
		if len(w.Repairs) > 0 { // the letter says what the proof's page says
			s.Repairs = nil
			p, err := c.Proof(ctx, s)
			switch {
			case err == nil:
				proved, made = p.RepairProof, p.Made
			case !errors.Is(err, proof.ErrCannotCure): // such a repair can still be written of
				return nil, err
			}
		}
		l, err := paper.Compose(ctx, w, proved)
		if err != nil {
			return nil, err
		}
		if proved == nil {
			made, err = madeBefore(ctx, w, s)
		}
		return &LetterReply{l, made}, err
	})
}

// Entry waits for what a closed job teaches, under the name that the tally is to
// know it by. It fails as tally.Closed does where the job must not teach.
func (c *Cache) Entry(ctx context.Context, s JobState, name string) (tally.Entry, error) {
	return ask(c, c.entries, s, name+s.key(), func(ctx context.Context) (tally.Entry, error) {
		w, err := c.Open(ctx, s)
		if err != nil {
			return tally.Entry{}, err
		}
		w.Job.Name = name
		return tally.EntryOf(ctx, w)
	}).wait(ctx)
}

// PlanReply is what to do from here, as a tree; with a what-if also what it was before.
type PlanReply struct {
	*answer.NextFacts
	If     []string          `json:"if,omitempty"` // what was changed, in words
	Before *answer.NextFacts `json:"before,omitempty"`
	Made   Origin            `json:"-"`
}

// Plan waits for the plan of a job.
func (c *Cache) Plan(ctx context.Context, s JobState, what work.WhatIf) (*PlanReply, error) {
	return c.plan(s, what).wait(ctx)
}

// PlanNow gives the plan that is at hand, or begins it and says false.
func (c *Cache) PlanNow(s JobState, what work.WhatIf) (*PlanReply, bool, error) {
	return c.plan(s, what).now()
}

func (c *Cache) plan(s JobState, what work.WhatIf) asked[*PlanReply] {
	return ask(c, c.plans, s, fmt.Sprint(s.key(), what), func(ctx context.Context) (*PlanReply, error) {
		w, err := c.Open(ctx, s)
		if err != nil {
			return nil, err
		}
		change, err := what.Read(w.Model, w.Job.Quote != nil)
		if err != nil {
			return nil, err
		}
		// The engines of the settled answer, so that a what-if says before the cost that
		// the job's other pages say.
		l, err := w.Lineup(ctx)
		if err != nil {
			return nil, err
		}
		ask, style := w.Ask(), answer.StyleOf(w)
		ask.Depth = Depth
		n, err := work.NextOf(ctx, l, ask)
		if err != nil {
			return nil, err
		}
		out := &PlanReply{NextFacts: answer.ForNext(n, style), If: answer.WhatIf(w.Model, change, style), Made: Origin{s.Seq, now(), l.Size()}}
		if len(out.If) == 0 {
			return out, nil
		}
		if n, err = change.Next(ctx, l, ask); err != nil {
			return nil, err
		}
		out.Before, out.NextFacts = out.NextFacts, answer.ForNext(n, style)
		return out, nil
	})
}

// Open opens the job of a subject. Its lineups, of the job as it stands and as it stood
// before its repair, are those of its settled answers. Each is drawn once.
func (c *Cache) Open(ctx context.Context, s JobState) (*work.Work, error) {
	return s.open(ctx, &c.cfg, c.cfg.settled(), work.OpenOptions{Keep: func(ctx context.Context, cs lineup.Case, draw drawing) (*lineup.Lineup, error) {
		key, err := work.KeyOf(cs)
		if err != nil {
			return nil, err
		}
		return ask(c, c.lineups, s, key, func(ctx context.Context) (*lineup.Lineup, error) { return c.drawn.or(ctx, key, draw) }).wait(ctx)
	}})
}

// drawing draws a lineup.
type drawing = func(context.Context) (*lineup.Lineup, error)

// settled is how many engines a job's settled answer rests on.
func (c *LiveConfig) settled() int {
	if c.FineSize > 0 {
		return c.FineSize
	}
	return c.CoarseSize
}

// key names the subject: the same job file gives the same answer.
func (s *JobState) key() string {
	return hash(s.Document, strings.Join(s.Repairs, " "))
}

// carKey names as much of the subject as the engines depend on: what is written
// down at closing changes none of them.
func (s *JobState) carKey() string {
	var doc map[string]json.RawMessage
	if json.Unmarshal(s.Document, &doc) != nil {
		return hash(s.Document)
	}
	delete(doc, "closing")
	delete(doc, "job")
	rest, err := json.Marshal(doc)
	if err != nil {
		return hash(s.Document)
	}
	return hash(rest)
}

func hash(document json.RawMessage, more ...string) string {
	h := sha256.New()
	h.Write(document)
	for _, text := range more {
		h.Write([]byte("\x00" + text))
	}
	return hex.EncodeToString(h.Sum(nil))
}
