package sqlstore

import (
	"context"
	"fmt"
	"time"

	"weephole/internal/store"
)

// PutSession implements store.Sessions.
func (k *Keeper) PutSession(ctx context.Context, s store.Session) error {
	if s.Began.IsZero() {
		s.Began = k.e.Now()
	}
	if s.Seen.IsZero() {
		s.Seen = s.Began
	}
	return k.one(ctx, "keep a session", `INSERT INTO sessions (token, shop, person, who, device, began, seen, expires) VALUES (?,?,?,?,?,?,?,?)
		ON CONFLICT (token) DO UPDATE SET who = excluded.who, expires = excluded.expires`,
		s.Token, k.shop, s.Person, store.FitWho(s.Who), store.FitWho(s.Device), s.Began.UnixMilli(), s.Seen.UnixMilli(), s.Expires.UnixMilli())
}

// A device of a person who is no member any more has a session without a role.
const sessionsWhole = `SELECT s.token, s.shop, s.person, coalesce(p.name, s.who), CASE WHEN s.person = '' THEN 'owner' ELSE m.role END, s.device, s.began, s.seen, s.expires
	FROM sessions s LEFT JOIN people p ON p.id = s.person LEFT JOIN members m ON m.person = s.person AND m.shop = s.shop
	WHERE (s.person = '' OR m.role IS NOT NULL) AND s.expires > ?`

func scanSession(row scanner) (store.Session, error) {
	var s store.Session
	var role string
	var began, seen, expires int64
	err := row.Scan(&s.Token, &s.Shop, &s.Person, &s.Who, &role, &s.Device, &began, &seen, &expires)
	s.Role, s.Began, s.Seen, s.Expires = store.Role(role), milli(began), milli(seen), milli(expires)
	return s, err
}

// Session implements store.Sessions.
func (k *Keeper) Session(ctx context.Context, token string, now time.Time) (store.Session, error) {
	var s store.Session
	err := k.row(ctx, func(row scanner) (err error) {
		s, err = scanSession(row)
		return err
	}, sessionsWhole+" AND s.token = ?", now.UnixMilli(), token)
	if err != nil {
		return s, fmt.Errorf("session: %w", err)
	}
	return s, nil
}

// Sessions implements store.Sessions.
func (k *Keeper) Sessions(ctx context.Context, now time.Time) ([]store.Session, error) {
	var out []store.Session
	err := k.ask(ctx, func() { out = []store.Session{} }, func(row scanner) error {
		s, err := scanSession(row)
		out = append(out, s)
		return err
	}, sessionsWhole+" AND s.shop = ? ORDER BY s.seen DESC, s.token", now.UnixMilli(), k.shop)
	if err != nil {
		return nil, fmt.Errorf("list sessions: %w", err)
	}
	return out, nil
}

// SeeSession implements store.Sessions.
func (k *Keeper) SeeSession(ctx context.Context, token, shop string, at time.Time) error {
	return k.one(ctx, "session", "UPDATE sessions SET seen = ?, shop = ? WHERE token = ?", at.UnixMilli(), shop, token)
}

// DropSession implements store.Sessions.
func (k *Keeper) DropSession(ctx context.Context, token string) error {
	return k.InTx(ctx, func(ctx context.Context, tx *Tx) error {
		if err := k.tellEnded(ctx, tx, "token = ?", token); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, "DELETE FROM sessions WHERE token = ? OR expires < ?", token, k.e.Now().UnixMilli())
		return err
	})
}

// DropSessions implements store.Sessions.
func (k *Keeper) DropSessions(ctx context.Context) error {
	return k.InTx(ctx, func(ctx context.Context, tx *Tx) error {
		if err := k.tellEnded(ctx, tx, "shop = ? AND person = ''", k.shop); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, "DELETE FROM sessions WHERE shop = ? AND person = ''", k.shop)
		return err
	})
}

// tellEnded tells other benches which sessions end with the transaction, so that
// their streams end too.
func (k *Keeper) tellEnded(ctx context.Context, tx *Tx, which string, args ...any) error {
	if k.e.Telling == nil {
		return nil
	}
	rows, err := tx.tx.QueryContext(ctx, tx.bind("SELECT token, shop FROM sessions WHERE "+which), args...)
	if err != nil {
		return err
	}
	var ended []store.Change
	for rows.Next() {
		var c store.Change
		if err := rows.Scan(&c.Session, &c.Shop); err != nil {
			rows.Close()
			return err
		}
		ended = append(ended, c)
	}
	rows.Close()
	if err := rows.Err(); err != nil {
		return err
	}
	for _, c := range ended {
		if err := k.e.Telling(ctx, tx, c); err != nil {
			return err
		}
	}
	return nil
}
