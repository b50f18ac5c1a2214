package sqlstore

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"weephole/internal/store"
)

const entryColumns = "job, seq, id, at, entered, who, kind, finding, seen, body"

// Append implements store.Journal.
func (k *Keeper) Append(ctx context.Context, e store.Entry) (store.Entry, bool, error) {
	e, err := e.Fit()
	if err != nil {
		return e, false, fmt.Errorf("keep an entry: %w", err)
	}
	var kept store.Entry
	var added bool
	err = k.InTx(ctx, func(ctx context.Context, tx *Tx) (err error) {
		kept, added, err = k.append(ctx, tx, e)
		return err
	})
	switch {
	case errors.Is(err, store.ErrOvertaken):
		return kept, false, fmt.Errorf("keep an entry: %w", err)
	case err != nil:
		return e, false, fmt.Errorf("keep an entry: %w", err)
	}
	return kept, added, nil
}

func (k *Keeper) append(ctx context.Context, tx *Tx, e store.Entry) (store.Entry, bool, error) {
	first, err := scanEntry(tx.Row(ctx, "SELECT "+entryColumns+" FROM entries WHERE shop = ? AND job = ? AND id = ?", k.shop, e.Job, e.ID))
	switch {
	case err == nil && same(first, e):
		return first, false, nil
	case err == nil:
		return first, false, store.ErrTaken
	case !missing(err):
		return e, false, err
	}
	if e.At.IsZero() {
		e.At = k.e.Now()
	}
	if e.Entered.IsZero() {
		e.Entered = e.At
	}
	e.At, e.Entered = milli(e.At.UnixMilli()), milli(e.Entered.UnixMilli())
	if e.Kind == store.Opened {
		e.Seq = 1
		err = k.open(ctx, tx, &e)
	} else {
		err = k.number(ctx, tx, &e)
	}
	if err != nil {
		return e, false, err
	}
	if newest, err := k.overtaken(ctx, tx, &e); err != nil {
		return newest, false, err
	}
	if e.Kind == store.Struck || e.Kind == store.Restored {
		if err := k.recount(ctx, tx, &e); err != nil {
			return e, false, err
		}
	}
	_, err = tx.Exec(ctx, "INSERT INTO entries (shop, "+entryColumns+") VALUES (?,?,?,?,?,?,?,?,?,?,?)",
		k.shop, e.Job, e.Seq, e.ID, e.At.UnixMilli(), e.Entered.UnixMilli(), e.Who, string(e.Kind), e.Finding, e.Seen, string(e.Body))
	if err == nil && e.Kind == store.Removed {
		err = k.takeAway(ctx, tx, &e)
	}
	if err == nil && k.e.Telling != nil {
		err = k.e.Telling(ctx, tx, store.Change{Shop: k.shop, Job: e.Job, Seq: e.Seq, Who: e.Who})
	}
	e.Over = 0 // a condition, no part of what is kept
	return e, err == nil, err
}

// open makes the row of a new job.
func (k *Keeper) open(ctx context.Context, tx *Tx, e *store.Entry) error {
	var n int
	if err := tx.Row(ctx, "SELECT count(*) FROM jobs WHERE shop = ? AND id = ?", k.shop, e.Job).Scan(&n); err != nil {
		return err
	}
	if n > 0 {
		return fmt.Errorf("job %q: %w", e.Job, store.ErrTaken)
	}
	name, car, complaint := store.Headline(e.Body)
	_, err := tx.Exec(ctx, "INSERT INTO jobs (shop, id, name, car, complaint, search, seq, changed) VALUES (?,?,?,?,?,?,1,?)",
		k.shop, e.Job, name, car, complaint, searchable(name, car, complaint, closingIn(e.Body)), e.At.UnixMilli())
	return err
}

// number gives an entry its Seq and keeps the job's row in step, in one statement:
// each is a turn to the server. From here to the commit no other writer can give
// one in this job.
func (k *Keeper) number(ctx context.Context, tx *Tx, e *store.Entry) error {
	at := e.At.UnixMilli()
	set, args := "seq = seq + 1, changed = CASE WHEN changed < ? THEN ? ELSE changed END", []any{at, at}
	and := func(column string, value any) { set, args = set+", "+column, append(args, value) }
	words := ""
	switch e.Kind {
	case store.HeadChanged:
		name, car, complaint := store.Headline(e.Body)
		and("name = ?", name)
		and("car = ?", car)
		and("complaint = ?", complaint)
		words = searchable(name, car, complaint, closingIn(e.Body))
	case store.Found:
		and("findings = findings + ?", 1)
		words = searchable(noteIn(e.Body))
	case store.Noted:
		words = searchable(noteIn(e.Body))
	case store.Archived, store.Reopened:
		and("archived = ?", flag(e.Kind == store.Archived))
		if e.Kind == store.Reopened {
			words = "comeback"
		}
	}
	if strings.TrimSpace(words) != "" {
		and("search = search || ' ' || ?", words)
	}
	err := tx.Row(ctx, "UPDATE jobs SET "+set+" WHERE shop = ? AND id = ? RETURNING seq", append(args, k.shop, e.Job)...).Scan(&e.Seq)
	if missing(err) {
		return fmt.Errorf("job %q: %w", e.Job, store.ErrUnknown)
	}
	return err
}

// overtaken looks at what an entry is about: the finding must be there, and with
// Over set nothing newer may stand. The newer entry is given with ErrOvertaken.
func (k *Keeper) overtaken(ctx context.Context, tx *Tx, e *store.Entry) (store.Entry, error) {
	var where string
	args := []any{k.shop, e.Job}
	switch e.Kind {
	case store.Corrected, store.Struck, store.Restored:
		var n int
		if err := tx.Row(ctx, "SELECT count(*) FROM entries WHERE shop = ? AND job = ? AND id = ? AND kind = ?", k.shop, e.Job, e.Finding, string(store.Found)).Scan(&n); err != nil {
			return *e, err
		}
		if n == 0 {
			return *e, fmt.Errorf("finding %q: %w", e.Finding, store.ErrUnknown)
		}
		where, args = "(id = ? OR finding = ?)", append(args, e.Finding, e.Finding)
	case store.HeadChanged:
		where, args = "kind IN (?, ?)", append(args, string(store.Opened), string(store.HeadChanged))
	default:
		return *e, nil
	}
	if e.Over == 0 {
		return *e, nil
	}
	newest, err := scanEntry(tx.Row(ctx, "SELECT "+entryColumns+" FROM entries WHERE shop = ? AND job = ? AND "+where+" ORDER BY seq DESC LIMIT 1", args...))
	if err == nil && newest.Seq > e.Over {
		err = store.ErrOvertaken
	}
	return newest, err
}

func (k *Keeper) count(ctx context.Context, tx *Tx, job string, by int) error {
	_, err := tx.Exec(ctx, "UPDATE jobs SET findings = findings + ? WHERE shop = ? AND id = ?", by, k.shop, job)
	return err
}

// recount counts a finding out or in, once however often it is struck.
func (k *Keeper) recount(ctx context.Context, tx *Tx, e *store.Entry) error {
	was := string(store.Restored)
	err := tx.Row(ctx, "SELECT kind FROM entries WHERE shop = ? AND job = ? AND finding = ? AND kind IN (?, ?) ORDER BY seq DESC LIMIT 1",
		k.shop, e.Job, e.Finding, string(store.Struck), string(store.Restored)).Scan(&was)
	switch {
	case err != nil && !missing(err):
		return err
	case string(e.Kind) == was:
		return nil
	case e.Kind == store.Struck:
		return k.count(ctx, tx, e.Job, -1)
	}
	return k.count(ctx, tx, e.Job, 1)
}

// searchable is what is searched of texts. A zero byte, which JSON can spell and
// PostgreSQL cannot keep, is left out.
func searchable(texts ...string) string {
	return strings.ReplaceAll(strings.ToLower(strings.Join(texts, " ")), "\x00", "")
}

func noteIn(body json.RawMessage) string {
	var b struct{ Note, Text string }
	_ = json.Unmarshal(body, &b) // without a note there is nothing to search for
	return b.Note + b.Text
}

// closingIn is what is searched of a job's end: the cause, what the part showed, the
// price.
func closingIn(head json.RawMessage) string {
	var h struct {
		Closing struct{ Cause, Showed, Charged string }
	}
	_ = json.Unmarshal(head, &h) // a head whose end cannot be read is found by its other words
	return strings.TrimSpace(h.Closing.Cause + " " + h.Closing.Showed + " " + h.Closing.Charged)
}

// same tells whether two entries under one id say the same.
func same(kept, e store.Entry) bool {
	return kept.Kind == e.Kind && kept.Finding == e.Finding && bytes.Equal(kept.Body, e.Body)
}

// Entries implements store.Journal.
func (k *Keeper) Entries(ctx context.Context, job string, after int64) ([]store.Entry, error) {
	var out []store.Entry
	err := k.ask(ctx, func() { out = nil }, func(s scanner) error {
		e, err := scanEntry(s)
		out = append(out, e)
		return err
	}, "SELECT "+entryColumns+" FROM entries WHERE shop = ? AND job = ? AND seq > ? ORDER BY seq", k.shop, job, after)
	if err != nil {
		return nil, fmt.Errorf("read entries: %w", err)
	}
	if len(out) == 0 {
		if _, err := k.Job(ctx, job); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func scanEntry(row scanner) (store.Entry, error) {
	var e store.Entry
	var at, entered int64
	var kind, body string
	err := row.Scan(&e.Job, &e.Seq, &e.ID, &at, &entered, &e.Who, &kind, &e.Finding, &e.Seen, &body)
	e.At, e.Entered, e.Kind, e.Body = milli(at), milli(entered), store.Kind(kind), json.RawMessage(body)
	return e, err
}
