package postgres

import (
	"context"
	"encoding/json"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"

	"weephole/internal/store"
	"weephole/internal/store/sqlstore"
)

// Intervals: judgement; news must be there within a second.
const (
	pollEvery  = 400 * time.Millisecond
	pauseAfter = 200 * time.Millisecond // a lost connection, before the next is tried
	polled     = 300                    // jobs, the last changed first
)

// canListen tries whether the server takes LISTEN and NOTIFY.
func (k *ServerKeeper) canListen(ctx context.Context) bool {
	c, err := k.pool.Acquire(ctx)
	if err != nil {
		return false
	}
	defer c.Release()
	for _, s := range []string{"LISTEN " + channel, "UNLISTEN " + channel, "SELECT pg_notify('" + channel + "', '')"} {
		if _, err := c.Exec(ctx, s); err != nil {
			return false
		}
	}
	return true
}

// hub is where the shops of one bench hear what other benches do. One of the
// followers listens for all; when it leaves, another takes its place.
type hub struct {
	leader chan struct{} // one place

	mu        sync.Mutex
	followers map[*follower]bool
}

// follower is a shop that wants to hear.
type follower struct {
	k    *ServerKeeper // bound to the shop
	tell func(store.Change)

	mu    sync.Mutex
	seen  *seen
	begun bool // where it begins is known
}

func newHub() *hub {
	return &hub{leader: make(chan struct{}, 1), followers: map[*follower]bool{}}
}

// all are the followers now.
func (h *hub) all() (list []*follower) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for f := range h.followers {
		list = append(list, f)
	}
	return list
}

// Follow implements store.Follower.
func (k *ServerKeeper) Follow(ctx context.Context, tell func(store.Change)) {
	f := &follower{k: k, tell: tell, seen: newSeen()}
	k.hub.mu.Lock()
	k.hub.followers[f] = true
	k.hub.mu.Unlock()
	defer func() {
		k.hub.mu.Lock()
		delete(k.hub.followers, f)
		k.hub.mu.Unlock()
	}()
	_ = f.poll(ctx, false) // where it begins; what it cannot learn now it learns with the first round
	f.mu.Lock()
	f.begun = true
	f.mu.Unlock()
	select {
	case k.hub.leader <- struct{}{}:
		k.lead(ctx)
		<-k.hub.leader
	case <-ctx.Done():
	}
}

// lead hears for all followers until the context ends.
func (k *ServerKeeper) lead(ctx context.Context) {
	for ctx.Err() == nil {
		var err error
		if k.listens {
			err = k.listen(ctx)
		} else {
			err = k.pollAll(ctx)
		}
		pause := pollEvery
		if err != nil {
			pause = pauseAfter
		}
		select {
		case <-ctx.Done():
		case <-time.After(pause):
		}
	}
}

// listen listens until the connection is lost. It first asks what was missed while
// there was none.
func (k *ServerKeeper) listen(ctx context.Context) error {
	config := k.pool.Config().ConnConfig.Copy()
	delete(config.RuntimeParams, "statement_timeout")
	c, err := pgx.ConnectConfig(ctx, config)
	if err != nil {
		return err
	}
	defer c.Close(context.WithoutCancel(ctx))
	if _, err := c.Exec(ctx, "LISTEN "+channel); err != nil {
		return err
	}
	if err := k.pollAll(ctx); err != nil {
		return err
	}
	for {
		n, err := c.WaitForNotification(ctx)
		if err != nil {
			return err
		}
		var told news
		if json.Unmarshal([]byte(n.Payload), &told) != nil || told.Shop == "" {
			continue // another program's, or the trial of canListen
		}
		for _, f := range k.hub.all() {
			if f.k.Shop() == told.Shop && f.first(told.Change) && told.Bench != k.bench {
				f.tell(told.Change)
			}
		}
	}
}

func (k *ServerKeeper) pollAll(ctx context.Context) error {
	for _, f := range k.hub.all() {
		if err := f.poll(ctx, true); err != nil {
			return err
		}
	}
	return nil
}

// first tells whether a change is news to the follower.
func (f *follower) first(c store.Change) bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	return c.Session != "" || f.seen.first(c)
}

// seen remembers the newest entry and answer of each job that was told of.
type seen struct{ entry, answer map[string]store.Change }

func newSeen() *seen {
	return &seen{make(map[string]store.Change), make(map[string]store.Change)}
}

// first tells whether a change is newer than what was seen of its job.
func (s *seen) first(c store.Change) bool {
	of := s.entry
	if c.Stage != "" {
		of = s.answer
	}
	last, any := of[c.Job]
	if any && (last.Seq > c.Seq || last.Seq == c.Seq && last.Stage == c.Stage) {
		return false
	}
	of[c.Job] = c
	return true
}

// poll asks for the newest of the jobs that changed last, and tells of them if it
// should. What this bench did itself is told too: it does no harm.
func (f *follower) poll(ctx context.Context, tell bool) error {
	shop := f.k.Shop()
	ctx, cancel := context.WithTimeout(bound(ctx, shop), longestStatement)
	defer cancel()
	rows, err := f.k.db.QueryContext(ctx, `SELECT jobs.id, jobs.seq, coalesce(answers.seq, 0), coalesce(answers.stage, '')
		FROM jobs LEFT JOIN answers ON answers.shop = jobs.shop AND answers.job = jobs.id
		WHERE jobs.shop = $1 ORDER BY jobs.changed DESC LIMIT $2`, shop, polled)
	if err != nil {
		return err
	}
	defer rows.Close()
	var all []store.Change
	for rows.Next() {
		entry, answer := store.Change{Shop: shop}, store.Change{Shop: shop}
		if err := rows.Scan(&entry.Job, &entry.Seq, &answer.Seq, &answer.Stage); err != nil {
			return err
		}
		answer.Job = entry.Job
		all = append(all, entry)
		if answer.Stage != "" {
			all = append(all, answer)
		}
	}
	if err := rows.Err(); err != nil {
		return err
	}
	for _, c := range all {
		if f.first(c) && tell {
			f.tell(c)
		}
	}
	return nil
}

// Claim implements store.Follower. The database's clock decides. An older claim of the same
// bench, which may come later, does not lower the newer one: others could take that then.
func (k *ServerKeeper) Claim(ctx context.Context, job string, seq int64, lasts time.Duration) (bool, error) {
	var n int64
	err := k.InTx(ctx, func(ctx context.Context, tx *sqlstore.Tx) error {
		r, err := tx.Exec(ctx, `INSERT INTO work (shop, job, seq, bench, until) VALUES (?, ?, ?, ?, CURRENT_TIMESTAMP + ? * INTERVAL '1 second')
			ON CONFLICT (shop, job) DO UPDATE SET seq = CASE WHEN work.seq > excluded.seq THEN work.seq ELSE excluded.seq END, bench = excluded.bench, until = excluded.until
			WHERE work.seq < excluded.seq OR work.bench = excluded.bench OR work.until < CURRENT_TIMESTAMP`,
			k.Shop(), job, seq, k.bench, lasts.Seconds())
		if err == nil {
			n, err = r.RowsAffected()
		}
		return err
	})
	return n == 1, err
}
