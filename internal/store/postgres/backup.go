package postgres

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"weephole/internal/store/sqlite"
	"weephole/internal/store/sqlstore"
)

// noTimeout lets the statements of a transaction take as long as they take.
const noTimeout = "SET LOCAL statement_timeout = 0"

func unbounded(ctx context.Context, tx *sqlstore.Tx) error {
	_, err := tx.Exec(ctx, noTimeout)
	return err
}

// snapshot is the database as it is at one moment, while others go on writing.
func (k *ServerKeeper) snapshot(ctx context.Context) (sqlstore.Querier, func(), error) {
	tx, err := k.db.BeginTx(ctx, &sql.TxOptions{Isolation: sql.LevelRepeatableRead, ReadOnly: true})
	if err != nil {
		return nil, nil, err
	}
	// Reading everything may take longer than a statement of the bench.
	if _, err := tx.ExecContext(ctx, noTimeout); err != nil {
		tx.Rollback()
		return nil, nil, err
	}
	return tx, func() { tx.Rollback() }, nil // nothing was written
}

// Backup implements store.Store. The file is of the same kind as a backup of the
// SQLite store, so it can be restored into either.
func (k *ServerKeeper) Backup(ctx context.Context, path string) error {
	err := sqlite.Fill(ctx, path, time.Now, func(to *sqlstore.Keeper) error {
		_, err := sqlstore.Move(ctx, k.Keeper, to, nil)
		return err
	})
	if err != nil {
		return fmt.Errorf("back up %s to %s: %w", k.where(), path, err)
	}
	return nil
}
