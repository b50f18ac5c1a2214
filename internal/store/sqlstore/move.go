package sqlstore

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"weephole/internal/store"
)

// movingKey is the setting that a store has while it is filled from another. A
// bench must not open it then.
const movingKey = "moving"

var (
	// ErrNotEmpty: a store that is to be filled holds something already.
	ErrNotEmpty = errors.New("there is something in it already; it is filled only when it is empty or a move into it was broken off")
	// ErrMoving: a move into the store was broken off.
	ErrMoving = errors.New("it was filled only in part; run the move or restore again")
)

// jobsAtOnce is how many jobs are copied in one transaction: judgement.
const jobsAtOnce = 20

// Moving tells whether the store was filled only in part: ErrMoving.
func (k *Keeper) Moving(ctx context.Context) error {
	_, err := k.Setting(ctx, movingKey)
	switch {
	case err == nil:
		return ErrMoving
	case errors.Is(err, store.ErrUnknown):
		return nil
	}
	return err
}

// Move copies all that a store holds into another that is empty, and compares the
// two, each table's rows and checksum. Broken off, it goes on where it was: jobs
// that are there are not copied again. Nobody may write to either meanwhile; a
// snapshot of the source is taken where the engine can. say is told how far it is.
func Move(ctx context.Context, from, to *Keeper, say func(jobs, of int)) (Survey, error) {
	if err := to.mark(ctx); err != nil {
		return nil, fmt.Errorf("fill a store: %w", err)
	}
	q, done, err := from.snapshot(ctx)
	if err != nil {
		return nil, fmt.Errorf("read a store: %w", from.e.Explain(err))
	}
	defer done()
	want, err := from.survey(ctx, q)
	if err != nil {
		return nil, fmt.Errorf("read a store: %w", from.e.Explain(err))
	}
	if err := to.copySmall(ctx, from, q); err != nil {
		return nil, fmt.Errorf("fill a store: %w", err)
	}
	if err := to.copyJobs(ctx, from, q, say); err != nil {
		return nil, fmt.Errorf("fill a store: %w", err)
	}
	got, err := to.survey(to.bound(ctx), to.e.Read)
	if err != nil {
		return nil, fmt.Errorf("read what was filled: %w", to.e.Explain(err))
	}
	if d := want.Differs(got); d != "" {
		return nil, fmt.Errorf("what was filled is not what is there: table %s; close every bench on both, empty the store that is to be filled, and move again", d)
	}
	return got, to.InTx(ctx, func(ctx context.Context, tx *Tx) error {
		_, err := tx.Exec(ctx, "DELETE FROM settings WHERE shop = ? AND key = ?", to.shop, movingKey)
		return err
	})
}

// snapshot is the store as it is at one moment.
func (k *Keeper) snapshot(ctx context.Context) (Querier, func(), error) {
	if k.e.Snapshot == nil {
		return k.e.Read, func() {}, nil
	}
	return k.e.Snapshot(k.bound(ctx))
}

// mark says in an empty store that it is being filled.
func (k *Keeper) mark(ctx context.Context) error {
	if err := k.Moving(ctx); errors.Is(err, ErrMoving) {
		return nil
	} else if err != nil {
		return err
	}
	return k.InTx(ctx, func(ctx context.Context, tx *Tx) error {
		for _, table := range []string{"jobs", "settings", "members", "sessions", "tally"} {
			var n int
			if err := tx.Row(ctx, "SELECT count(*) FROM "+table+" WHERE shop = ?", k.shop).Scan(&n); err != nil {
				return err
			}
			if n > 0 {
				return fmt.Errorf("%w (%d rows of %s)", ErrNotEmpty, n, table)
			}
		}
		_, err := tx.Exec(ctx, "INSERT INTO settings (shop, key, value) VALUES (?, ?, '')", k.shop, movingKey)
		return err
	})
}

// copySmall copies what belongs to no job.
func (k *Keeper) copySmall(ctx context.Context, from *Keeper, q Querier) error {
	return k.InTx(ctx, func(ctx context.Context, tx *Tx) error {
		for i := range tables {
			if t := &tables[i]; !t.ofJobs() {
				if err := k.copyRows(ctx, q, tx, t, from.e.Bind(t.where()+" ORDER BY "+t.key), from.shop); err != nil {
					return fmt.Errorf("table %s: %w", t.name, err)
				}
			}
		}
		return nil
	})
}

// ofJobs tells whether a table's rows belong to jobs.
func (t *table) ofJobs() bool { return strings.HasPrefix(t.key, "job") || t.name == "jobs" }

// copyJobs copies jobs with all that belongs to them, some in each transaction, so
// that each is there whole or not at all.
func (k *Keeper) copyJobs(ctx context.Context, from *Keeper, q Querier, say func(jobs, of int)) error {
	var ids []string
	rows, err := q.QueryContext(ctx, from.e.Bind("SELECT id FROM jobs WHERE shop = ? ORDER BY id"), from.shop)
	if err != nil {
		return from.e.Explain(err)
	}
	for rows.Next() {
		var id string
		if err := rows.Scan(&id); err != nil {
			rows.Close()
			return err
		}
		ids = append(ids, id)
	}
	if err := errors.Join(rows.Err(), rows.Close()); err != nil {
		return from.e.Explain(err)
	}
	for done := 0; done < len(ids); {
		some := ids[done:min(len(ids), done+jobsAtOnce)]
		err := k.InTx(ctx, func(ctx context.Context, tx *Tx) error {
			for _, id := range some {
				if err := k.copyJob(ctx, from, q, tx, id); err != nil {
					return fmt.Errorf("job %s: %w", id, err)
				}
			}
			return nil
		})
		if err != nil {
			return err
		}
		done += len(some)
		if say != nil {
			say(done, len(ids))
		}
	}
	return nil
}

func (k *Keeper) copyJob(ctx context.Context, from *Keeper, q Querier, tx *Tx, id string) error {
	var n int
	if err := tx.Row(ctx, "SELECT count(*) FROM jobs WHERE shop = ? AND id = ?", k.shop, id).Scan(&n); err != nil || n > 0 {
		return err
	}
	for i := range tables {
		t := &tables[i]
		if !t.ofJobs() {
			continue
		}
		rest := map[string]string{
			"jobs": " WHERE shop = ? AND id = ?", "entries": " WHERE shop = ? AND job = ? ORDER BY seq", "answers": " WHERE shop = ? AND job = ?",
			"files": " WHERE shop = ? AND job = ? ORDER BY at, " + from.e.Arrival,
		}[t.name]
		if err := k.copyRows(ctx, q, tx, t, from.e.Bind(rest), from.shop, id); err != nil {
			return err
		}
	}
	return nil
}

// copyRows copies rows of a table into the shop. What is there already stays.
func (k *Keeper) copyRows(ctx context.Context, q Querier, tx *Tx, t *table, rest string, args ...any) error {
	columns := t.columns()
	ofShop := t.name != "people"
	if ofShop {
		columns = append(columns, "shop")
	}
	insert := "INSERT INTO " + t.name + " (" + strings.Join(columns, ", ") + ") VALUES (?" + strings.Repeat(", ?", len(columns)-1) + ")"
	if !t.ofJobs() { // of a move that was broken off
		insert += " ON CONFLICT DO NOTHING"
	}
	return rowsOf(ctx, q, t, rest, func(row []any) error {
		values := make([]any, len(row))
		for i, v := range row {
			switch v := v.(type) {
			case *string:
				values[i] = *v
			case *int64:
				values[i] = *v
			case *[]byte:
				values[i] = append([]byte{}, *v...)
			}
		}
		if ofShop {
			values = append(values, k.shop)
		}
		_, err := tx.Exec(ctx, insert, values...)
		return err
	}, args...)
}
