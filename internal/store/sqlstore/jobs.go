package sqlstore

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"weephole/internal/store"
)

const summaryColumns = `jobs.id, jobs.name, jobs.car, jobs.complaint, coalesce(answers.verdict, '{}'), jobs.findings, jobs.seq, jobs.archived, jobs.demo, jobs.changed
	FROM jobs LEFT JOIN answers ON answers.shop = jobs.shop AND answers.job = jobs.id`

const (
	// defaultLimit is how many jobs a list shows at most: judgement.
	defaultLimit = 200
	// mostWords is how many words of a search are looked for: judgement. More
	// would not make it narrower for a person, only slower.
	mostWords = 12
	// longestWord is how much of a word is looked for, bytes: judgement.
	longestWord = 100
)

// Jobs implements store.Journal.
func (k *Keeper) Jobs(ctx context.Context, q store.Query) ([]store.Summary, error) {
	where, args := "WHERE jobs.shop = ? AND jobs.archived = ?", []any{k.shop, flag(q.Archived)}
	if ways, values := k.found(q); ways != "" {
		where, args = where+" AND ("+ways+")", append(args, values...)
	}
	if q.Limit <= 0 {
		q.Limit = defaultLimit
	}
	args = append(args, q.Limit, max(0, q.From))
	var out []store.Summary
	err := k.ask(ctx, func() { out = []store.Summary{} }, func(s scanner) error {
		sum, err := scanSummary(s)
		out = append(out, sum)
		return err
	}, "SELECT "+summaryColumns+" "+where+" ORDER BY jobs.changed DESC, jobs.id DESC LIMIT ? OFFSET ?", args...)
	if err != nil {
		return nil, fmt.Errorf("list jobs: %w", err)
	}
	return out, nil
}

// found is the condition under which a query's words find a job; "" for any job. Looking for
// a text is quicker than LIKE.
func (k *Keeper) found(q store.Query) (where string, args []any) {
	has := k.e.Position + "(jobs.search, ?) > 0"
	all := func(words string, first ...any) string {
		list := strings.Fields(strings.ToLower(words))
		for _, w := range list[:min(len(list), mostWords)] {
			first = append(first, strings.ReplaceAll(store.Cut(w, longestWord), "\x00", "")) // no zero byte can occur in what is searched
		}
		args = append(args, first...)
		return strings.TrimSuffix(strings.Repeat(has+" AND ", len(first)), " AND ")
	}
	if where = all(q.Words); where == "" {
		return "", nil
	}
	for _, c := range q.Closed[:min(len(q.Closed), mostWords)] {
		if c.Cause != "" {
			where += " OR " + all(c.Words, " "+strings.ToLower(c.Cause))
		}
	}
	return where, args
}

// Job implements store.Journal.
func (k *Keeper) Job(ctx context.Context, job string) (store.Summary, error) {
	var out store.Summary
	err := k.row(ctx, func(s scanner) (err error) {
		out, err = scanSummary(s)
		return err
	}, "SELECT "+summaryColumns+" WHERE jobs.shop = ? AND jobs.id = ?", k.shop, job)
	if err != nil {
		return out, fmt.Errorf("job %q: %w", job, err)
	}
	return out, nil
}

func scanSummary(row scanner) (store.Summary, error) {
	var s store.Summary
	var changed, archived, demo int64
	var verdict string
	err := row.Scan(&s.ID, &s.Name, &s.Car, &s.Complaint, &verdict, &s.Findings, &s.Seq, &archived, &demo, &changed)
	if err != nil {
		return s, err
	}
	s.Changed, s.Archived, s.Demo = milli(changed), archived != 0, demo != 0
	s.Verdict = readVerdict(verdict)
	return s, nil
}

// readVerdict reads a verdict as it was kept. A bench of an older program that still
// runs on the same database keeps something else: that is no verdict, and no reason to
// withhold the whole list.
func readVerdict(text string) store.Verdict {
	var v store.Verdict
	if err := json.Unmarshal([]byte(text), &v); err != nil {
		return store.Verdict{}
	}
	return v
}

// MarkDemo implements store.Journal.
func (k *Keeper) MarkDemo(ctx context.Context, job string) error {
	return k.one(ctx, "mark a demo job", "UPDATE jobs SET demo = 1 WHERE shop = ? AND id = ?", k.shop, job)
}

// RemoveDemo implements store.Journal.
func (k *Keeper) RemoveDemo(ctx context.Context, job string) error {
	err := k.InTx(ctx, func(ctx context.Context, tx *Tx) error {
		var demo int64
		if err := tx.Row(ctx, "SELECT demo FROM jobs WHERE shop = ? AND id = ?", k.shop, job).Scan(&demo); err != nil {
			return err
		}
		if demo == 0 {
			return store.ErrUnknown
		}
		for _, table := range []string{"answers", "files", "entries"} {
			if _, err := tx.Exec(ctx, "DELETE FROM "+table+" WHERE shop = ? AND job = ?", k.shop, job); err != nil {
				return err
			}
		}
		_, err := tx.Exec(ctx, "DELETE FROM jobs WHERE shop = ? AND id = ?", k.shop, job)
		return err
	})
	if err != nil {
		return fmt.Errorf("remove demo job %q: %w", job, err)
	}
	return nil
}

// KeepAnswer implements store.Answers.
func (k *Keeper) KeepAnswer(ctx context.Context, job string, a store.Answer) error {
	if len(a.Body) == 0 {
		a.Body = json.RawMessage("{}")
	}
	verdict, err := json.Marshal(a.Verdict)
	if err != nil {
		return fmt.Errorf("keep the answer of job %q: %w", job, err)
	}
	err = k.InTx(ctx, func(ctx context.Context, tx *Tx) error {
		var n int
		if err := tx.Row(ctx, "SELECT count(*) FROM jobs WHERE shop = ? AND id = ?", k.shop, job).Scan(&n); err != nil {
			return err
		}
		if n == 0 {
			return store.ErrUnknown
		}
		_, err := tx.Exec(ctx, `INSERT INTO answers (shop, job, seq, stage, verdict, body) VALUES (?,?,?,?,?,?)
			ON CONFLICT (shop, job) DO UPDATE SET seq = excluded.seq, stage = excluded.stage, verdict = excluded.verdict, body = excluded.body
			WHERE excluded.seq > answers.seq OR excluded.seq = answers.seq AND NOT (excluded.stage = 'coarse' AND answers.stage = 'fine')`,
			k.shop, job, a.Seq, a.Stage, string(verdict), string(a.Body))
		if err == nil && k.e.Telling != nil {
			err = k.e.Telling(ctx, tx, store.Change{Shop: k.shop, Job: job, Seq: a.Seq, Stage: a.Stage})
		}
		return err
	})
	if err != nil {
		return fmt.Errorf("keep the answer of job %q: %w", job, err)
	}
	return nil
}

// Answer implements store.Answers.
func (k *Keeper) Answer(ctx context.Context, job string) (store.Answer, error) {
	var a store.Answer
	var verdict, body string
	err := k.row(ctx, func(s scanner) error { return s.Scan(&a.Seq, &a.Stage, &verdict, &body) },
		"SELECT seq, stage, verdict, body FROM answers WHERE shop = ? AND job = ?", k.shop, job)
	if err != nil {
		return a, fmt.Errorf("answer of job %q: %w", job, err)
	}
	a.Verdict = readVerdict(verdict)
	a.Body = json.RawMessage(body)
	return a, nil
}
