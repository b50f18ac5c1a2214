package sqlstore

import (
	"context"
	"errors"
	"fmt"
	"slices"
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

// How much is copied in one transaction. What was copied before a move is broken off
// stays, so less is better; each transaction costs two more turns to the server, so
// more is better. A row that is larger than that goes alone. Judgement.
const (
	bytesAtOnce = 1 << 20 // half a second on a line of 2 MB/s
	rowsAtOnce  = 200     // some forty seconds where each row takes 200 ms there and back
)

// Progress tells how far a move is, with what an earlier run copied.
type Progress struct {
	Jobs, OfJobs   int
	Bytes, OfBytes int64 // of logs and photos
}

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
// two, each table's rows and checksum. Broken off, it goes on where it was: rows that
// are there are not copied again. Nobody may write to either meanwhile; a snapshot of
// the source is taken where the engine can. say is told how far it is; it may be nil.
func Move(ctx context.Context, from, to *Keeper, say func(Progress)) (Survey, error) {
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
	m := &mover{from: from, to: to, q: q, say: say}
	if err := m.copy(ctx); err != nil {
		return nil, fmt.Errorf("fill a store: %w", err)
	}
	var got Survey
	if err := to.seen(ctx, func(q Querier) (err error) {
		got, err = to.survey(ctx, q)
		return err
	}); err != nil {
		return nil, fmt.Errorf("read what was filled: %w", err)
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

// seen asks the store as it is at one moment, for as long as that takes.
func (k *Keeper) seen(ctx context.Context, ask func(Querier) error) error {
	q, done, err := k.snapshot(ctx)
	if err != nil {
		return k.e.Explain(err)
	}
	defer done()
	return k.e.Explain(ask(q))
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

// ofJobs tells whether a table's rows belong to jobs.
func (t *table) ofJobs() bool { return strings.HasPrefix(t.key, "job") || t.name == "jobs" }

// mover copies rows from one store into another, some in each transaction. A job may be
// there in part meanwhile; the mark of the store keeps benches away from it.
type mover struct {
	from, to *Keeper
	q        Querier // the source at one moment
	say      func(Progress)
	at       Progress
	finished int // jobs whose rows were all given to put

	waiting []insert
	size    int   // bytes that wait
	files   int64 // bytes of logs and photos among them
}

// insert is a row that waits to be written.
type insert struct {
	statement string
	values    []any
}

// held is what a store holds of one job.
type held struct {
	id                      string
	entries, files, answers int
	bytes                   int64 // of logs and photos
}

func (m *mover) copy(ctx context.Context) error {
	all, err := jobsHeld(ctx, m.q, m.from)
	if err != nil {
		return m.from.e.Explain(err)
	}
	var before []held
	if err := m.to.seen(ctx, func(q Querier) (err error) {
		before, err = jobsHeld(ctx, q, m.to)
		return err
	}); err != nil {
		return err
	}
	there := map[string]held{}
	for _, h := range before {
		there[h.id] = h
	}
	m.at.OfJobs = len(all)
	for _, h := range all {
		m.at.OfBytes += h.bytes
		m.at.Bytes += there[h.id].bytes
	}
	for i := range tables {
		t := &tables[i]
		if t.ofJobs() {
			continue
		}
		if err := m.table(ctx, t, t.where(), " ORDER BY "+t.key, true); err != nil {
			return err
		}
	}
	for _, h := range all {
		old, begun := there[h.id]
		if old != h {
			if err := m.job(ctx, h.id, begun); err != nil {
				return fmt.Errorf("job %s: %w", h.id, err)
			}
		}
		m.finished++
	}
	return m.flush(ctx)
}

// jobsHeld lists a shop's jobs with how much there is of each.
func jobsHeld(ctx context.Context, q Querier, k *Keeper) (list []held, err error) {
	count := func(what, table string) string {
		return "(SELECT " + what + " FROM " + table + " t WHERE t.shop = j.shop AND t.job = j.id)"
	}
	rows, err := q.QueryContext(ctx, k.e.Bind("SELECT id, "+count("count(*)", "entries")+", "+count("count(*)", "files")+", "+count("count(*)", "answers")+", "+
		count("COALESCE(CAST(sum(size) AS BIGINT), 0)", "files")+" FROM jobs j WHERE shop = ? ORDER BY id"), k.shop)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var h held
		if err := rows.Scan(&h.id, &h.entries, &h.files, &h.answers, &h.bytes); err != nil {
			return nil, err
		}
		list = append(list, h)
	}
	return list, rows.Err()
}

// job copies a job with all that belongs to it. begun says that some of it is there.
func (m *mover) job(ctx context.Context, id string, begun bool) error {
	for i := range tables {
		t := &tables[i]
		if !t.ofJobs() {
			continue
		}
		where := " WHERE shop = ? AND job = ?"
		if t.name == "jobs" {
			where = " WHERE shop = ? AND id = ?"
		}
		order := map[string]string{"entries": " ORDER BY seq", "files": " ORDER BY at, " + m.from.e.Arrival}[t.name]
		if err := m.table(ctx, t, where, order, begun, id); err != nil {
			return err
		}
	}
	return nil
}

// table copies those rows of a table that are not there yet. begun says that some may be.
func (m *mover) table(ctx context.Context, t *table, where, order string, begun bool, args ...any) error {
	there := map[any]bool{}
	if begun { // the guards of an engine may refuse to have a row written again
		if err := m.to.seen(ctx, func(q Querier) (err error) {
			there, err = keys(ctx, q, m.to, t, where, args...)
			return err
		}); err != nil {
			return fmt.Errorf("table %s: %w", t.name, err)
		}
	}
	columns, at := t.columns(), slices.Index(t.columns(), t.own)
	ofShop := t.name != "people"
	if ofShop {
		columns = append(columns, "shop")
	}
	// A commit whose answer was lost is tried again, and then all of its rows are there.
	statement := "INSERT INTO " + t.name + " (" + strings.Join(columns, ", ") + ") VALUES (?" + strings.Repeat(", ?", len(columns)-1) + ") ON CONFLICT DO NOTHING"
	var filling error // by the other store, which has words of its own
	err := rowsOf(ctx, m.q, t, m.from.e.Bind(where+order), func(row []any) error {
		if there[valueOf(row[at])] {
			return nil
		}
		values, size := make([]any, len(row)), 0
		for i, v := range row {
			values[i] = valueOf(v)
			switch v := values[i].(type) {
			case string:
				size += len(v)
			case []byte:
				size += len(v)
			}
		}
		if ofShop {
			values = append(values, m.to.shop)
		}
		filling = m.put(ctx, insert{statement, values}, size, t.name == "files")
		return filling
	}, append([]any{m.from.shop}, args...)...)
	if err == nil {
		return nil
	}
	if filling == nil {
		err = m.from.e.Explain(err)
	}
	return fmt.Errorf("table %s: %w", t.name, err)
}

// keys are what tells apart the rows that are there.
func keys(ctx context.Context, q Querier, k *Keeper, t *table, where string, args ...any) (map[any]bool, error) {
	only := &table{name: t.name, texts: []string{t.own}}
	if slices.Contains(t.numbers, t.own) {
		only = &table{name: t.name, numbers: []string{t.own}}
	}
	there := map[any]bool{}
	err := rowsOf(ctx, q, only, k.e.Bind(where), func(row []any) error {
		there[valueOf(row[0])] = true
		return nil
	}, append([]any{k.shop}, args...)...)
	return there, err
}

// valueOf is what was read into a place, as long as it is needed.
func valueOf(place any) any {
	switch v := place.(type) {
	case *string:
		return *v
	case *int64:
		return *v
	case *[]byte:
		return append([]byte{}, *v...)
	}
	return nil
}

// put has a row written, with others or alone.
func (m *mover) put(ctx context.Context, row insert, size int, file bool) error {
	if len(m.waiting) > 0 && (len(m.waiting) == rowsAtOnce || m.size+size > bytesAtOnce) {
		if err := m.flush(ctx); err != nil {
			return err
		}
	}
	m.waiting, m.size = append(m.waiting, row), m.size+size
	if file {
		m.files += int64(len(row.values[len(row.values)-2].([]byte))) // the content comes before the shop
	}
	return nil
}

// flush writes what waits, and says how far it is. How long that takes is the line's
// matter: one large log over a slow line takes longer than any statement of a bench.
func (m *mover) flush(ctx context.Context) error {
	if len(m.waiting) > 0 {
		err := m.to.inLongTx(ctx, func(ctx context.Context, tx *Tx) error {
			for _, row := range m.waiting {
				if _, err := tx.Exec(ctx, row.statement, row.values...); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			return err
		}
	}
	m.at.Jobs, m.at.Bytes = m.finished, m.at.Bytes+m.files
	m.waiting, m.size, m.files = nil, 0, 0
	if m.say != nil {
		m.say(m.at)
	}
	return nil
}
