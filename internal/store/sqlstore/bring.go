package sqlstore

import (
	"context"
	"fmt"

	"weephole/internal/store"
)

// Bring implements store.Files.
func (k *Keeper) Bring(ctx context.Context, e store.Entry, f store.File, content []byte) (store.File, store.Entry, bool, error) {
	if !store.PlainName(f.Name) {
		return f, e, false, fmt.Errorf("bring file %q: the name must be one plain file name of at most %d bytes", f.Name, store.MaxFileName)
	}
	e, err := e.Naming(store.Brought, f.Name).Fit()
	if err != nil {
		return f, e, false, fmt.Errorf("bring file %q: %w", f.Name, err)
	}
	var file store.File
	var kept store.Entry
	var added bool
	err = k.InTx(ctx, func(ctx context.Context, tx *Tx) (err error) {
		if kept, file, err = k.broughtBefore(ctx, tx, e, content); err == nil || !missing(err) {
			added = false
			return err
		}
		if file, err = k.putFile(ctx, tx, e.Job, f, content); err != nil {
			return err
		}
		kept, added, err = k.append(ctx, tx, e.Naming(store.Brought, file.Name))
		return err
	})
	if err != nil {
		return f, e, false, fmt.Errorf("bring file %q: %w", f.Name, err)
	}
	return file, kept, added, nil
}

// broughtBefore finds what an entry brought that is sent again. The file may have
// been removed since; then its name alone is known.
func (k *Keeper) broughtBefore(ctx context.Context, tx *Tx, e store.Entry, content []byte) (store.Entry, store.File, error) {
	first, err := scanEntry(tx.Row(ctx, "SELECT "+entryColumns+" FROM entries WHERE shop = ? AND job = ? AND id = ?", k.shop, e.Job, e.ID))
	if err != nil {
		return first, store.File{}, err
	}
	name, err := store.FileOf(first.Body)
	if first.Kind != store.Brought || err != nil {
		return first, store.File{}, store.ErrTaken
	}
	f, err := scanFile(tx.Row(ctx, "SELECT "+fileColumns+" FROM files WHERE shop = ? AND job = ? AND name = ?", k.shop, e.Job, name))
	switch {
	case missing(err):
		return first, store.File{Name: name, At: first.At, Who: first.Who}, nil
	case err == nil && f.SHA256 != store.Sum(content):
		return first, f, store.ErrTaken
	}
	return first, f, err
}

// RemoveFile implements store.Files.
func (k *Keeper) RemoveFile(ctx context.Context, e store.Entry, name string) (store.Entry, bool, error) {
	kept, added, err := k.Append(ctx, e.Naming(store.Removed, name))
	if err != nil {
		return e, false, fmt.Errorf("remove file %q: %w", name, err)
	}
	return kept, added, nil
}

// takeAway deletes the file that an entry says is gone. The guards of the database
// let that happen because the entry is there. A job that is taken in tells of
// files that never came with it; so only the first author must have the file.
func (k *Keeper) takeAway(ctx context.Context, tx *Tx, e *store.Entry) error {
	name, err := store.FileOf(e.Body)
	if err != nil {
		return err
	}
	r, err := tx.Exec(ctx, "DELETE FROM files WHERE shop = ? AND job = ? AND name = ?", k.shop, e.Job, name)
	if err != nil || tx.taking {
		return err
	}
	n, err := r.RowsAffected()
	if err == nil && n == 0 {
		err = fmt.Errorf("file %q: %w", name, store.ErrUnknown)
	}
	return err
}

// removed are the names of a job's files that were removed.
func (k *Keeper) removed(ctx context.Context, tx *Tx, job string) (map[string]bool, error) {
	rows, err := tx.tx.QueryContext(ctx, tx.bind("SELECT body FROM entries WHERE shop = ? AND job = ? AND kind = ?"), k.shop, job, string(store.Removed))
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	gone := map[string]bool{}
	for rows.Next() {
		var body string
		if err := rows.Scan(&body); err != nil {
			return nil, err
		}
		name, err := store.FileOf([]byte(body))
		if err != nil {
			return nil, err
		}
		gone[name] = true
	}
	return gone, rows.Err()
}
