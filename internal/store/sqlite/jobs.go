package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"weephole/internal/store"
)

const summaryColumns = `jobs.id, jobs.name, jobs.car, jobs.complaint, coalesce(answers.verdict, ''), jobs.findings, jobs.seq, jobs.archived, jobs.demo, jobs.changed
	FROM jobs LEFT JOIN answers ON answers.job = jobs.id`

// defaultLimit is how many jobs a list shows at most: judgement.
const defaultLimit = 200

// Jobs implements store.Journal.
func (k *Keeper) Jobs(ctx context.Context, q store.Query) ([]store.Summary, error) {
	where, args := "WHERE jobs.archived = ?", []any{q.Archived}
	for _, w := range strings.Fields(strings.ToLower(q.Words)) {
		where += " AND instr(jobs.search, ?) > 0"
		args = append(args, w)
	}
	if q.Limit <= 0 {
		q.Limit = defaultLimit
	}
	rows, err := k.read.QueryContext(ctx, "SELECT "+summaryColumns+" "+where+" ORDER BY jobs.changed DESC, jobs.id DESC LIMIT ?", append(args, q.Limit)...)
	if err != nil {
		return nil, fmt.Errorf("list jobs: %w", explain(err))
	}
	defer rows.Close()
	out := []store.Summary{}
	for rows.Next() {
		s, err := scanSummary(rows)
		if err != nil {
			return nil, fmt.Errorf("list jobs: %w", explain(err))
		}
		out = append(out, s)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("list jobs: %w", explain(err))
	}
	return out, nil
}

// Job implements store.Journal.
func (k *Keeper) Job(ctx context.Context, job string) (store.Summary, error) {
	s, err := scanSummary(k.read.QueryRowContext(ctx, "SELECT "+summaryColumns+" WHERE jobs.id = ?", job))
	if err != nil {
		return s, fmt.Errorf("job %q: %w", job, explain(err))
	}
	return s, nil
}

func scanSummary(row interface{ Scan(...any) error }) (store.Summary, error) {
	var s store.Summary
	var changed int64
	err := row.Scan(&s.ID, &s.Name, &s.Car, &s.Complaint, &s.Verdict, &s.Findings, &s.Seq, &s.Archived, &s.Demo, &changed)
	s.Changed = milli(changed)
	return s, err
}

// MarkDemo implements store.Journal.
func (k *Keeper) MarkDemo(ctx context.Context, job string) error {
	return k.one(ctx, "mark a demo job", "UPDATE jobs SET demo = 1 WHERE id = ?", job)
}

// RemoveDemo implements store.Journal.
func (k *Keeper) RemoveDemo(ctx context.Context, job string) error {
	err := k.inTx(ctx, func(tx *sql.Tx) error {
		var demo bool
		if err := tx.QueryRowContext(ctx, "SELECT demo FROM jobs WHERE id = ?", job).Scan(&demo); err != nil {
			return err
		}
		if !demo {
			return store.ErrUnknown
		}
		for _, table := range []string{"answers", "files", "entries"} {
			if _, err := tx.ExecContext(ctx, "DELETE FROM "+table+" WHERE job = ?", job); err != nil {
				return err
			}
		}
		_, err := tx.ExecContext(ctx, "DELETE FROM jobs WHERE id = ?", job)
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
	err := k.inTx(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `INSERT INTO answers (job, seq, stage, verdict, body) VALUES (?,?,?,?,?)
			ON CONFLICT (job) DO UPDATE SET seq = excluded.seq, stage = excluded.stage, verdict = excluded.verdict, body = excluded.body
			WHERE excluded.seq > answers.seq OR excluded.seq = answers.seq AND NOT (excluded.stage = 'coarse' AND answers.stage = 'fine')`,
			job, a.Seq, a.Stage, a.Verdict, string(a.Body))
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
	var body string
	err := k.read.QueryRowContext(ctx, "SELECT seq, stage, verdict, body FROM answers WHERE job = ?", job).Scan(&a.Seq, &a.Stage, &a.Verdict, &body)
	if err != nil {
		return a, fmt.Errorf("answer of job %q: %w", job, explain(err))
	}
	a.Body = json.RawMessage(body)
	return a, nil
}

// one runs a statement that must concern exactly one row.
func (k *Keeper) one(ctx context.Context, what, statement string, args ...any) error {
	err := k.inTx(ctx, func(tx *sql.Tx) error {
		r, err := tx.ExecContext(ctx, statement, args...)
		if err != nil {
			return err
		}
		n, err := r.RowsAffected()
		if err == nil && n == 0 {
			err = store.ErrUnknown
		}
		return err
	})
	if err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	return nil
}

// isUnknown is whether an error says that there is no such thing.
func isUnknown(err error) bool {
	return errors.Is(err, sql.ErrNoRows) || errors.Is(err, store.ErrUnknown)
}
