package postgres

import (
	"context"
	"encoding/json"
	"time"

	"github.com/jackc/pgx/v5"

	"weephole/internal/store"
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

// Follow implements store.Follower.
func (k *ServerKeeper) Follow(ctx context.Context, tell func(store.Change)) {
	seen := newSeen()
	_ = k.poll(ctx, seen, nil) // where it begins; what it cannot learn now it learns with the first round
	for ctx.Err() == nil {
		var err error
		if k.listens {
			err = k.listen(ctx, seen, tell)
		} else {
			err = k.poll(ctx, seen, tell)
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
func (k *ServerKeeper) listen(ctx context.Context, seen *seen, tell func(store.Change)) error {
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
	if err := k.poll(ctx, seen, tell); err != nil {
		return err
	}
	for {
		n, err := c.WaitForNotification(ctx)
		if err != nil {
			return err
		}
		var told news
		if json.Unmarshal([]byte(n.Payload), &told) != nil || told.Job == "" {
			continue // another program's, or the trial of canListen
		}
		if seen.first(told.Change) && told.Bench != k.bench {
			tell(told.Change)
		}
	}
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

// poll asks for the newest of the jobs that changed last. tell may be nil. What
// this bench did itself is told too: it does no harm.
func (k *ServerKeeper) poll(ctx context.Context, seen *seen, tell func(store.Change)) error {
	ctx, cancel := context.WithTimeout(ctx, longestStatement)
	defer cancel()
	rows, err := k.db.QueryContext(ctx, `SELECT jobs.id, jobs.seq, coalesce(answers.seq, 0), coalesce(answers.stage, '')
		FROM jobs LEFT JOIN answers ON answers.job = jobs.id ORDER BY jobs.changed DESC LIMIT $1`, polled)
	if err != nil {
		return err
	}
	defer rows.Close()
	var all []store.Change
	for rows.Next() {
		var entry, answer store.Change
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
		if seen.first(c) && tell != nil {
			tell(c)
		}
	}
	return nil
}

// Claim implements store.Follower. The database's clock decides.
func (k *ServerKeeper) Claim(ctx context.Context, job string, seq int64, lasts time.Duration) (bool, error) {
	ctx, cancel := context.WithTimeout(ctx, longestStatement)
	defer cancel()
	r, err := k.db.ExecContext(ctx, `INSERT INTO work (job, seq, bench, until) VALUES ($1, $2, $3, CURRENT_TIMESTAMP + $4 * INTERVAL '1 second')
		ON CONFLICT (job) DO UPDATE SET seq = excluded.seq, bench = excluded.bench, until = excluded.until
		WHERE work.seq < excluded.seq OR work.bench = excluded.bench OR work.until < CURRENT_TIMESTAMP`,
		job, seq, k.bench, lasts.Seconds())
	if err != nil {
		return false, explain(err)
	}
	n, err := r.RowsAffected()
	return n == 1, err
}
