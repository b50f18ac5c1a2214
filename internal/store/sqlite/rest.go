package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"path"
	"strings"
	"time"

	"weephole/internal/store"
)

// PutFile implements store.Files.
func (k *Keeper) PutFile(ctx context.Context, job string, f store.File, content []byte) (store.File, error) {
	if !store.PlainName(f.Name) {
		return f, fmt.Errorf("keep file %q: the name must be one plain file name", f.Name)
	}
	f.Size, f.SHA256 = int64(len(content)), store.Sum(content)
	if f.At.IsZero() {
		f.At = k.now()
	}
	f.At = milli(f.At.UnixMilli())
	err := k.inTx(ctx, func(tx *sql.Tx) error {
		var n int
		if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM jobs WHERE id = ?", job).Scan(&n); err != nil {
			return err
		}
		if n == 0 {
			return store.ErrUnknown
		}
		plain := f.Name
		for try := 2; ; try++ {
			there, err := scanFile(tx.QueryRowContext(ctx, "SELECT "+fileColumns+" FROM files WHERE job = ? AND name = ?", job, f.Name))
			if isUnknown(err) {
				break
			}
			if err != nil {
				return err
			}
			if there.SHA256 == f.SHA256 {
				f = there
				return nil
			}
			ext := path.Ext(plain)
			f.Name = fmt.Sprintf("%s-%d%s", strings.TrimSuffix(plain, ext), try, ext)
		}
		_, err := tx.ExecContext(ctx, "INSERT INTO files (job, "+fileColumns+", content) VALUES (?,?,?,?,?,?,?,?)",
			job, f.Name, f.Type, f.Size, f.SHA256, f.At.UnixMilli(), f.Who, content)
		return err
	})
	if err != nil {
		return f, fmt.Errorf("keep file %q: %w", f.Name, err)
	}
	return f, nil
}

const fileColumns = "name, type, size, sha256, at, who"

func scanFile(row interface{ Scan(...any) error }, more ...any) (store.File, error) {
	var f store.File
	var at int64
	err := row.Scan(append([]any{&f.Name, &f.Type, &f.Size, &f.SHA256, &at, &f.Who}, more...)...)
	f.At = milli(at)
	return f, err
}

// File implements store.Files.
func (k *Keeper) File(ctx context.Context, job, name string) (store.File, []byte, error) {
	var content []byte
	f, err := scanFile(k.read.QueryRowContext(ctx, "SELECT "+fileColumns+", content FROM files WHERE job = ? AND name = ?", job, name), &content)
	if err != nil {
		return f, nil, fmt.Errorf("file %q: %w", name, explain(err))
	}
	return f, content, nil
}

// Files implements store.Files.
func (k *Keeper) Files(ctx context.Context, job string) ([]store.File, error) {
	rows, err := k.read.QueryContext(ctx, "SELECT "+fileColumns+" FROM files WHERE job = ? ORDER BY at, rowid", job)
	if err != nil {
		return nil, fmt.Errorf("list files: %w", explain(err))
	}
	defer rows.Close()
	out := []store.File{}
	for rows.Next() {
		f, err := scanFile(rows)
		if err != nil {
			return nil, fmt.Errorf("list files: %w", explain(err))
		}
		out = append(out, f)
	}
	return out, explain(rows.Err())
}

// Setting implements store.Settings.
func (k *Keeper) Setting(ctx context.Context, key string) (string, error) {
	var value string
	err := k.read.QueryRowContext(ctx, "SELECT value FROM settings WHERE key = ?", key).Scan(&value)
	if err != nil {
		return "", fmt.Errorf("setting %q: %w", key, explain(err))
	}
	return value, nil
}

// Set implements store.Settings.
func (k *Keeper) Set(ctx context.Context, key, value string) error {
	return k.one(ctx, fmt.Sprintf("set %q", key), `INSERT INTO settings (key, value) VALUES (?, ?)
		ON CONFLICT (key) DO UPDATE SET value = excluded.value`, key, value)
}

// PutSession implements store.Sessions.
func (k *Keeper) PutSession(ctx context.Context, s store.Session) error {
	return k.one(ctx, "keep a session", `INSERT INTO sessions (token, who, expires) VALUES (?, ?, ?)
		ON CONFLICT (token) DO UPDATE SET who = excluded.who, expires = excluded.expires`, s.Token, s.Who, s.Expires.UnixMilli())
}

// Session implements store.Sessions.
func (k *Keeper) Session(ctx context.Context, token string, now time.Time) (store.Session, error) {
	s := store.Session{Token: token}
	var expires int64
	err := k.read.QueryRowContext(ctx, "SELECT who, expires FROM sessions WHERE token = ? AND expires > ?", token, now.UnixMilli()).Scan(&s.Who, &expires)
	if err != nil {
		return s, fmt.Errorf("session: %w", explain(err))
	}
	s.Expires = milli(expires)
	return s, nil
}

// DropSession implements store.Sessions.
func (k *Keeper) DropSession(ctx context.Context, token string) error {
	_, err := k.write.ExecContext(ctx, "DELETE FROM sessions WHERE token = ? OR expires < ?", token, k.now().UnixMilli())
	return explain(err)
}

// DropSessions implements store.Sessions.
func (k *Keeper) DropSessions(ctx context.Context) error {
	_, err := k.write.ExecContext(ctx, "DELETE FROM sessions")
	return explain(err)
}
