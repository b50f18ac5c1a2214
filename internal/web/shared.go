package web

import (
	"context"
	"time"

	"weephole/internal/store"
	"weephole/internal/web/answers"
)

// follow passes on to this bench's devices what other benches on the same store do.
func (dg *diagnosis) follow() {
	f, shared := dg.store.(store.Follower)
	if !shared {
		return
	}
	dg.behind(func() {
		f.Follow(dg.life, func(c store.Change) {
			if c.Session != "" {
				dg.live.drop(c.Session)
				return
			}
			name := "entry"
			if c.Stage != "" {
				name = "answer"
			}
			dg.live.publish(c.Job, event{Name: name, Seq: c.Seq, Who: c.Who, Stage: c.Stage})
		})
	})
}

// claimLasts is how long other benches leave the work on an answer to the one that
// claimed it: judgement, several times what drawing a lineup takes. After that a
// bench that died is no longer waited for.
const claimLasts = 30 * time.Second

// mine tells whether this bench is to work out the answer to a job as it stands.
// Where that cannot be asked it does: work done twice is better than none. Work that
// is ours is kept from the others while it goes on, and theirs is looked after.
func (dg *diagnosis) mine(ctx context.Context, s *store.State) bool {
	f, shared := dg.store.(store.Follower)
	if !shared {
		return true
	}
	if kept, err := dg.store.Answer(ctx, s.ID); err == nil && kept.Seq >= evidenceSeq(s) && kept.Stage == answers.Fine {
		return false
	}
	mine, err := f.Claim(ctx, s.ID, evidenceSeq(s), dg.cfg.pauses.claim)
	switch {
	case err != nil:
		return true
	case mine:
		dg.hold(f, s.ID, evidenceSeq(s))
	default:
		dg.lookAfter(s.ID, evidenceSeq(s))
	}
	return mine
}

// hold renews this bench's claim while it works on the job: a busy bench may take
// longer than a claim lasts.
func (dg *diagnosis) hold(f store.Follower, id string, seq int64) {
	if !dg.soon.held.add(id, seq) {
		return
	}
	dg.behind(func() {
		defer dg.soon.held.take(id)
		for dg.wait(dg.cfg.pauses.claim/2) && dg.warm.Working(id) {
			_, _ = f.Claim(dg.life, id, dg.soon.held.newest(id), dg.cfg.pauses.claim) // where it fails, others do the work too
		}
	})
}

// lookAfter has a job worked out here when another bench claimed it and its answer
// has not come by the time that the claim is over. That bench may have died, and
// nobody else asks before the next entry.
func (dg *diagnosis) lookAfter(id string, seq int64) {
	if !dg.soon.left.add(id, seq) {
		return
	}
	dg.behind(func() {
		in := dg.wait(dg.cfg.pauses.claim)
		seq := dg.soon.left.take(id)
		if in && !dg.settled(dg.life, id, seq) {
			dg.evaluateSoon(id)
		}
	})
}

// settled tells whether the store has an answer that knows an entry, and no finer one
// is to come.
func (dg *diagnosis) settled(ctx context.Context, id string, seq int64) bool {
	kept, err := dg.store.Answer(ctx, id)
	return err == nil && kept.Seq >= seq &&
		(kept.Stage == answers.Fine || dg.cfg.Answers.FineSize == 0 || kept.Verdict.State == store.VerdictProblem)
}

// wait waits, and is false when the bench closes meanwhile.
func (dg *diagnosis) wait(d time.Duration) bool {
	select {
	case <-time.After(d):
		return true
	case <-dg.life.Done():
		return false
	}
}
