package sqlstore

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"weephole/internal/store"
)

// Engine is what differs between the engines that keep a store in SQL.
type Engine struct {
	Write *sql.DB // connections that write
	Read  *sql.DB // connections that read; may be the same
	Now   func() time.Time
	// Bind puts the engine's own placeholders in the place of "?".
	Bind func(statement string) string
	// Explain puts the store's word on an engine's error, keeping the original.
	Explain func(error) error
	// Ready is asked before each transaction; an error refuses it. May be nil.
	Ready func() error
	// Confirm is asked after each commit, before anybody is told of it. An error
	// means that what was written cannot be counted on. May be nil.
	Confirm func() error
	// Again tells whether a transaction that failed so may be run again, and waits
	// as long as it should. tries counts from 1. nil: never.
	Again func(ctx context.Context, err error, tries int) bool
	// Limit bounds a statement or transaction in time. nil: no bound.
	Limit func(context.Context) (context.Context, context.CancelFunc)
	// Unbounded takes the engine's own bound in time off the statements of a
	// transaction. May be nil.
	Unbounded func(ctx context.Context, tx *Tx) error
	// Bound says to the connections that are asked with the context which shop is
	// meant, so that the database can refuse the rows of others. May be nil.
	Bound func(ctx context.Context, shop string) context.Context
	// Telling runs inside the transaction that adds an entry or an answer, so
	// that other benches hear of it. May be nil.
	Telling func(ctx context.Context, tx *Tx, c store.Change) error
	// Snapshot gives all that is kept as it is at one moment, and what ends the
	// reading. nil: Read is asked, and nobody else may write meanwhile.
	Snapshot func(ctx context.Context) (Querier, func(), error)
	// Shops says that the database has a table of shops.
	Shops bool
	// Position is the function that tells where a text has another; 0 for nowhere.
	Position string
	// Arrival is the column by which files are told apart that came in the same
	// millisecond.
	Arrival string
}

// Keeper is a store in SQL. It lacks what an engine does its own way: backup,
// check and closing.
type Keeper struct {
	e    Engine
	shop string
}

// New makes a keeper.
func New(e Engine) *Keeper {
	if e.Bind == nil {
		e.Bind = func(s string) string { return s }
	}
	return &Keeper{e: e}
}

// For is the same store as another shop sees it. A store that holds one shop calls
// it "".
func (k *Keeper) For(shop string) *Keeper { return &Keeper{e: k.e, shop: shop} }

// Shop is whose jobs these are.
func (k *Keeper) Shop() string { return k.shop }

// Tx is a transaction whose statements have "?" for values.
type Tx struct {
	tx     *sql.Tx
	bind   func(string) string
	taking bool // a job from elsewhere is taken in
}

// Exec runs a statement.
func (t *Tx) Exec(ctx context.Context, statement string, args ...any) (sql.Result, error) {
	return t.tx.ExecContext(ctx, t.bind(statement), args...)
}

// Row asks for one row.
func (t *Tx) Row(ctx context.Context, query string, args ...any) *sql.Row {
	return t.tx.QueryRowContext(ctx, t.bind(query), args...)
}

// InTx does f in a transaction that writes. It is run again as a whole where the
// engine says that this may help, so f must not change anything outside but what
// it sets each time.
func (k *Keeper) InTx(ctx context.Context, f func(context.Context, *Tx) error) error {
	return k.inTx(ctx, k.limited, f)
}

// inLongTx is InTx without a bound in time. A connection that is lost ends it still.
func (k *Keeper) inLongTx(ctx context.Context, f func(context.Context, *Tx) error) error {
	unlimited := func(ctx context.Context) (context.Context, context.CancelFunc) {
		return context.WithCancel(k.bound(ctx))
	}
	return k.inTx(ctx, unlimited, func(ctx context.Context, tx *Tx) error {
		if k.e.Unbounded != nil {
			if err := k.e.Unbounded(ctx, tx); err != nil {
				return err
			}
		}
		return f(ctx, tx)
	})
}

func (k *Keeper) inTx(ctx context.Context, limited func(context.Context) (context.Context, context.CancelFunc), f func(context.Context, *Tx) error) error {
	for tries := 1; ; tries++ {
		err := k.try(ctx, limited, f)
		if err == nil || k.e.Again == nil || !k.e.Again(ctx, err, tries) {
			return k.e.Explain(err)
		}
	}
}

func (k *Keeper) try(ctx context.Context, limited func(context.Context) (context.Context, context.CancelFunc), f func(context.Context, *Tx) error) error {
	ctx, cancel := limited(ctx)
	defer cancel()
	if k.e.Ready != nil {
		if err := k.e.Ready(); err != nil {
			return err
		}
	}
	tx, err := k.e.Write.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback() // after a commit it does nothing
	if err := f(ctx, &Tx{tx: tx, bind: k.e.Bind}); err != nil {
		return err
	}
	if err := tx.Commit(); err != nil {
		return err
	}
	if k.e.Confirm != nil {
		return k.e.Confirm()
	}
	return nil
}

// bound is a context for what is asked about this shop.
func (k *Keeper) bound(ctx context.Context) context.Context {
	if k.e.Bound == nil {
		return ctx
	}
	return k.e.Bound(ctx, k.shop)
}

func (k *Keeper) limited(ctx context.Context) (context.Context, context.CancelFunc) {
	ctx = k.bound(ctx)
	if k.e.Limit == nil {
		return ctx, func() {}
	}
	return k.e.Limit(ctx)
}

// scanner is a row to be read.
type scanner interface{ Scan(...any) error }

// ask reads rows one by one; it is run again as a whole where that may help, and
// begin is called before each run.
func (k *Keeper) ask(ctx context.Context, begin func(), each func(scanner) error, query string, args ...any) error {
	for tries := 1; ; tries++ {
		begin()
		err := k.askOnce(ctx, each, query, args...)
		if err == nil || k.e.Again == nil || !k.e.Again(ctx, err, tries) {
			return k.e.Explain(err)
		}
	}
}

func (k *Keeper) askOnce(ctx context.Context, each func(scanner) error, query string, args ...any) error {
	ctx, cancel := k.limited(ctx)
	defer cancel()
	rows, err := k.e.Read.QueryContext(ctx, k.e.Bind(query), args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := each(rows); err != nil {
			return err
		}
	}
	return rows.Err()
}

// row reads one row; ErrUnknown when there is none.
func (k *Keeper) row(ctx context.Context, read func(scanner) error, query string, args ...any) error {
	found := false
	err := k.ask(ctx, func() { found = false }, func(s scanner) error {
		found = true
		return read(s)
	}, query, args...)
	if err == nil && !found {
		return store.ErrUnknown
	}
	return err
}

// touched is ErrUnknown where a statement concerned no row.
func touched(r sql.Result, err error) error {
	if err != nil {
		return err
	}
	n, err := r.RowsAffected()
	if err == nil && n == 0 {
		err = store.ErrUnknown
	}
	return err
}

// one runs a statement that must concern a row.
func (k *Keeper) one(ctx context.Context, what, statement string, args ...any) error {
	err := k.InTx(ctx, func(ctx context.Context, tx *Tx) error {
		return touched(tx.Exec(ctx, statement, args...))
	})
	if err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	return nil
}

// missing is whether an error says that there is no such row.
func missing(err error) bool { return errors.Is(err, sql.ErrNoRows) }

// milli is a time as it is kept: milliseconds since 1970, UTC.
func milli(ms int64) time.Time { return time.UnixMilli(ms).UTC() }

// flag is a truth as both engines keep it.
func flag(b bool) int {
	if b {
		return 1
	}
	return 0
}
