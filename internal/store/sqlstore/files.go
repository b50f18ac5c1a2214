package sqlstore

import (
	"context"
	"errors"
	"fmt"
	"path"
	"strings"

	"weephole/internal/store"
)

// fileColumns are a file without its content.
const fileColumns = "name, type, size, sha256, at, who"

// PutFile implements store.Files.
func (k *Keeper) PutFile(ctx context.Context, job string, f store.File, content []byte) (store.File, error) {
	if !store.PlainName(f.Name) {
		return f, fmt.Errorf("keep file %q: the name must be one plain file name of at most %d bytes", f.Name, store.MaxFileName)
	}
	var kept store.File
	err := k.InTx(ctx, func(ctx context.Context, tx *Tx) (err error) {
		kept, err = k.putFile(ctx, tx, job, f, content)
		return err
	})
	if err != nil {
		return f, fmt.Errorf("keep file %q: %w", f.Name, err)
	}
	return kept, nil
}

func (k *Keeper) putFile(ctx context.Context, tx *Tx, job string, f store.File, content []byte) (store.File, error) {
	f.Size, f.SHA256, f.Who = int64(len(content)), store.Sum(content), store.FitWho(f.Who)
	if f.At.IsZero() {
		f.At = k.e.Now()
	}
	f.At = milli(f.At.UnixMilli())
	var n int
	// The job's row is the lock: two files of one job never choose one name.
	err := tx.Row(ctx, "UPDATE jobs SET seq = seq WHERE shop = ? AND id = ? RETURNING 1", k.shop, job).Scan(&n)
	if missing(err) {
		return f, store.ErrUnknown
	}
	if err != nil {
		return f, err
	}
	gone, err := k.removed(ctx, tx, job)
	if err != nil {
		return f, err
	}
	plain := f.Name
	for try := 2; ; try++ {
		there, err := scanFile(tx.Row(ctx, "SELECT "+fileColumns+" FROM files WHERE shop = ? AND job = ? AND name = ?", k.shop, job, f.Name))
		switch {
		case missing(err) && !gone[f.Name]:
			return f, k.insertFile(ctx, tx, job, f, content)
		case err != nil && !missing(err):
			return there, err
		case err == nil && there.SHA256 == f.SHA256:
			return there, nil
		}
		ext := path.Ext(plain)
		f.Name = fmt.Sprintf("%s-%d%s", strings.TrimSuffix(plain, ext), try, ext)
	}
}

func (k *Keeper) insertFile(ctx context.Context, tx *Tx, job string, f store.File, content []byte) error {
	if content == nil {
		content = []byte{} // nothing is a content too
	}
	_, err := tx.Exec(ctx, "INSERT INTO files (shop, job, "+fileColumns+", content) VALUES (?,?,?,?,?,?,?,?,?)",
		k.shop, job, f.Name, f.Type, f.Size, f.SHA256, f.At.UnixMilli(), f.Who, content)
	return err
}

func scanFile(row scanner, more ...any) (store.File, error) {
	var f store.File
	var at int64
	err := row.Scan(append([]any{&f.Name, &f.Type, &f.Size, &f.SHA256, &at, &f.Who}, more...)...)
	f.At = milli(at)
	return f, err
}

// File implements store.Files.
func (k *Keeper) File(ctx context.Context, job, name string) (store.File, []byte, error) {
	var f store.File
	var content []byte
	err := k.row(ctx, func(s scanner) (err error) {
		f, err = scanFile(s, &content)
		return err
	}, "SELECT "+fileColumns+", content FROM files WHERE shop = ? AND job = ? AND name = ?", k.shop, job, name)
	if err != nil {
		return f, nil, fmt.Errorf("file %q: %w", name, err)
	}
	return f, content, nil
}

// Files implements store.Files.
func (k *Keeper) Files(ctx context.Context, job string) ([]store.File, error) {
	var out []store.File
	err := k.ask(ctx, func() { out = []store.File{} }, func(s scanner) error {
		f, err := scanFile(s)
		out = append(out, f)
		return err
	}, "SELECT "+fileColumns+" FROM files WHERE shop = ? AND job = ? ORDER BY at, "+k.e.Arrival, k.shop, job)
	if err != nil {
		return nil, fmt.Errorf("list files: %w", err)
	}
	return out, nil
}

// Take implements store.Journal.
func (k *Keeper) Take(ctx context.Context, job string, entries []store.Entry, files []store.File, content func(i int) ([]byte, error)) (int, error) {
	fit := make([]store.Entry, len(entries))
	for i, e := range entries {
		var err error
		if fit[i], err = e.Fit(); err != nil {
			return 0, fmt.Errorf("take in job %s: entry %d: %w", job, e.Seq, err)
		}
		if e.Job != job {
			return 0, fmt.Errorf("take in job %s: entry %d belongs to another job", job, e.Seq)
		}
	}
	added := 0
	err := k.InTx(ctx, func(ctx context.Context, tx *Tx) error {
		added, tx.taking = 0, true
		for _, e := range fit {
			_, isNew, err := k.append(ctx, tx, e)
			switch {
			case errors.Is(err, store.ErrTaken) && e.Kind != store.Opened:
				return &store.Differs{What: fmt.Sprintf("entry %d", e.Seq)}
			case err != nil:
				return fmt.Errorf("entry %d: %w", e.Seq, err)
			case isNew:
				added++
			}
		}
		gone, err := k.removed(ctx, tx, job)
		if err != nil {
			return err
		}
		for i, f := range files {
			if gone[f.Name] {
				continue // it was taken away here
			}
			bytes, err := content(i)
			if err != nil {
				return err
			}
			kept, err := k.putFile(ctx, tx, job, f, bytes)
			if err != nil {
				return fmt.Errorf("file %q: %w", f.Name, err)
			}
			if kept.Name != f.Name {
				return &store.Differs{What: fmt.Sprintf("file %q", f.Name)}
			}
		}
		return nil
	})
	if err != nil {
		return 0, fmt.Errorf("take in job %s: %w", job, err)
	}
	return added, nil
}
