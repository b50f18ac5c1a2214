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
// Where that cannot be asked it does: work done twice is better than none.
func (dg *diagnosis) mine(ctx context.Context, s *store.State) bool {
	f, shared := dg.store.(store.Follower)
	if !shared {
		return true
	}
	if kept, err := dg.store.Answer(ctx, s.ID); err == nil && kept.Seq >= evidenceSeq(s) && kept.Stage == answers.Fine {
		return false
	}
	mine, err := f.Claim(ctx, s.ID, evidenceSeq(s), claimLasts)
	return mine || err != nil
}
