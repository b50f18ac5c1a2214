package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"weephole/internal/store"
)

const entryColumns = "job, seq, id, at, entered, who, kind, finding, seen, body"

// maxWho and maxID bound what a device may call itself and its entries, bytes.
const (
	maxWho = 80
	maxID  = 80
)

// Append implements store.Journal.
func (k *Keeper) Append(ctx context.Context, e store.Entry) (store.Entry, bool, error) {
	if e.Job == "" || e.ID == "" || len(e.ID) > maxID || len(e.Job) > maxID || len(e.Who) > maxWho {
		return e, false, fmt.Errorf("keep an entry: its job, id or author is missing or too long")
	}
	var kept store.Entry
	var added bool
	err := k.inTx(ctx, func(tx *sql.Tx) (err error) {
		kept, added, err = k.append(ctx, tx, e)
		return err
	})
	if err != nil {
		return e, false, fmt.Errorf("keep an entry: %w", err)
	}
	return kept, added, nil
}

func (k *Keeper) append(ctx context.Context, tx *sql.Tx, e store.Entry) (store.Entry, bool, error) {
	first, err := scanEntry(tx.QueryRowContext(ctx, "SELECT "+entryColumns+" FROM entries WHERE job = ? AND id = ?", e.Job, e.ID))
	switch {
	case err == nil && same(first, e):
		return first, false, nil
	case err == nil:
		return first, false, store.ErrTaken
	case !errors.Is(err, sql.ErrNoRows):
		return e, false, err
	}
	if e.At.IsZero() {
		e.At = k.now()
	}
	if e.Entered.IsZero() {
		e.Entered = e.At
	}
	e.At, e.Entered = milli(e.At.UnixMilli()), milli(e.Entered.UnixMilli())
	if e.Body, err = compact(e.Body); err != nil {
		return e, false, fmt.Errorf("body: %w", err)
	}
	switch e.Kind {
	case store.Opened:
		e.Seq = 1
		err = k.open(ctx, tx, &e)
	case store.Corrected, store.Struck, store.Restored:
		var n int
		err = tx.QueryRowContext(ctx, "SELECT count(*) FROM entries WHERE job = ? AND id = ? AND kind = ?", e.Job, e.Finding, store.Found).Scan(&n)
		if err == nil && n == 0 {
			err = fmt.Errorf("finding %q: %w", e.Finding, store.ErrUnknown)
		}
	}
	if err != nil {
		return e, false, err
	}
	if e.Kind != store.Opened {
		if err := k.touch(ctx, tx, &e); err != nil {
			return e, false, err
		}
	}
	_, err = tx.ExecContext(ctx, "INSERT INTO entries ("+entryColumns+") VALUES (?,?,?,?,?,?,?,?,?,?)",
		e.Job, e.Seq, e.ID, e.At.UnixMilli(), e.Entered.UnixMilli(), e.Who, e.Kind, e.Finding, e.Seen, string(e.Body))
	return e, err == nil, err
}

// open makes the row of a new job.
func (k *Keeper) open(ctx context.Context, tx *sql.Tx, e *store.Entry) error {
	var n int
	if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM jobs WHERE id = ?", e.Job).Scan(&n); err != nil {
		return err
	}
	if n > 0 {
		return fmt.Errorf("job %q: %w", e.Job, store.ErrTaken)
	}
	name, car, complaint := store.Headline(e.Body)
	_, err := tx.ExecContext(ctx, "INSERT INTO jobs (id, name, car, complaint, search, seq, changed) VALUES (?,?,?,?,?,1,?)",
		e.Job, name, car, complaint, searchable(name, car, complaint), e.At.UnixMilli())
	return err
}

// touch gives the entry its Seq and keeps the job's row in step with it.
func (k *Keeper) touch(ctx context.Context, tx *sql.Tx, e *store.Entry) error {
	err := tx.QueryRowContext(ctx, "UPDATE jobs SET seq = seq + 1, changed = max(changed, ?) WHERE id = ? RETURNING seq", e.At.UnixMilli(), e.Job).Scan(&e.Seq)
	if errors.Is(err, sql.ErrNoRows) {
		return fmt.Errorf("job %q: %w", e.Job, store.ErrUnknown)
	}
	if err != nil {
		return err
	}
	set := func(column string, value any) error {
		_, err := tx.ExecContext(ctx, "UPDATE jobs SET "+column+" = ? WHERE id = ?", value, e.Job)
		return err
	}
	switch e.Kind {
	case store.Told:
		name, car, complaint := store.Headline(e.Body)
		return errors.Join(set("name", name), set("car", car), set("complaint", complaint), k.addSearch(ctx, tx, e.Job, name, car, complaint))
	case store.Found:
		return errors.Join(k.count(ctx, tx, e.Job, 1), k.addSearch(ctx, tx, e.Job, noteIn(e.Body)))
	case store.Noted:
		return k.addSearch(ctx, tx, e.Job, noteIn(e.Body))
	case store.Struck, store.Restored:
		return k.recount(ctx, tx, e)
	case store.Archived, store.Reopened:
		return set("archived", e.Kind == store.Archived)
	}
	return nil
}

func (k *Keeper) count(ctx context.Context, tx *sql.Tx, job string, by int) error {
	_, err := tx.ExecContext(ctx, "UPDATE jobs SET findings = findings + ? WHERE id = ?", by, job)
	return err
}

// recount counts a finding out or in, once however often it is struck.
func (k *Keeper) recount(ctx context.Context, tx *sql.Tx, e *store.Entry) error {
	was := store.Restored
	err := tx.QueryRowContext(ctx, "SELECT kind FROM entries WHERE job = ? AND finding = ? AND kind IN (?, ?) ORDER BY seq DESC LIMIT 1",
		e.Job, e.Finding, store.Struck, store.Restored).Scan(&was)
	switch {
	case err != nil && !errors.Is(err, sql.ErrNoRows):
		return err
	case e.Kind == was:
		return nil
	case e.Kind == store.Struck:
		return k.count(ctx, tx, e.Job, -1)
	}
	return k.count(ctx, tx, e.Job, 1)
}

func (k *Keeper) addSearch(ctx context.Context, tx *sql.Tx, job string, texts ...string) error {
	_, err := tx.ExecContext(ctx, "UPDATE jobs SET search = search || ' ' || ? WHERE id = ?", searchable(texts...), job)
	return err
}

func searchable(texts ...string) string { return strings.ToLower(strings.Join(texts, " ")) }

func noteIn(body json.RawMessage) string {
	var b struct{ Note, Text string }
	_ = json.Unmarshal(body, &b) // without a note there is nothing to search for
	return b.Note + b.Text
}

// compact is a body without idle spaces; none is an empty object.
func compact(body json.RawMessage) (json.RawMessage, error) {
	if len(body) == 0 {
		return json.RawMessage("{}"), nil
	}
	var b bytes.Buffer
	err := json.Compact(&b, body)
	return b.Bytes(), err
}

// same tells whether two entries under one id say the same.
func same(kept, e store.Entry) bool {
	body, err := compact(e.Body)
	return err == nil && kept.Kind == e.Kind && kept.Finding == e.Finding && bytes.Equal(kept.Body, body)
}

// Entries implements store.Journal.
func (k *Keeper) Entries(ctx context.Context, job string, after int64) ([]store.Entry, error) {
	rows, err := k.read.QueryContext(ctx, "SELECT "+entryColumns+" FROM entries WHERE job = ? AND seq > ? ORDER BY seq", job, after)
	if err != nil {
		return nil, fmt.Errorf("read entries: %w", explain(err))
	}
	defer rows.Close()
	var out []store.Entry
	for rows.Next() {
		e, err := scanEntry(rows)
		if err != nil {
			return nil, fmt.Errorf("read entries: %w", explain(err))
		}
		out = append(out, e)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("read entries: %w", explain(err))
	}
	if len(out) == 0 {
		if _, err := k.Job(ctx, job); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func scanEntry(row interface{ Scan(...any) error }) (store.Entry, error) {
	var e store.Entry
	var at, entered int64
	var body string
	err := row.Scan(&e.Job, &e.Seq, &e.ID, &at, &entered, &e.Who, &e.Kind, &e.Finding, &e.Seen, &body)
	e.At, e.Entered, e.Body = milli(at), milli(entered), json.RawMessage(body)
	return e, err
}

func milli(ms int64) time.Time { return time.UnixMilli(ms).UTC() }

// inTx does f in a transaction of the one writer.
func (k *Keeper) inTx(ctx context.Context, f func(*sql.Tx) error) error {
	tx, err := k.write.BeginTx(ctx, nil)
	if err != nil {
		return explain(err)
	}
	defer tx.Rollback()
	if err := f(tx); err != nil {
		return explain(err)
	}
	return explain(tx.Commit())
}
