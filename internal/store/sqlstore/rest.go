package sqlstore

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"weephole/internal/store"
)

// Setting implements store.ShopSettings.
func (k *Keeper) Setting(ctx context.Context, key string) (string, error) {
	var value string
	err := k.row(ctx, func(s scanner) error { return s.Scan(&value) }, "SELECT value FROM settings WHERE shop = ? AND key = ?", k.shop, key)
	if err != nil {
		return "", fmt.Errorf("setting %q: %w", key, err)
	}
	return value, nil
}

// Set implements store.ShopSettings.
func (k *Keeper) Set(ctx context.Context, key, value string) error {
	return k.one(ctx, fmt.Sprintf("set %q", key), `INSERT INTO settings (shop, key, value) VALUES (?, ?, ?)
		ON CONFLICT (shop, key) DO UPDATE SET value = excluded.value`, k.shop, key, value)
}

// SetOver implements store.ShopSettings. Each statement looks and writes at once, so that
// of two who come at the same moment one finds the other's value.
func (k *Keeper) SetOver(ctx context.Context, key, before, value string) error {
	err := k.InTx(ctx, func(ctx context.Context, tx *Tx) error {
		err := touched(tx.Exec(ctx, "UPDATE settings SET value = ? WHERE shop = ? AND key = ? AND value = ?", value, k.shop, key, before))
		if before == "" && errors.Is(err, store.ErrUnknown) {
			err = touched(tx.Exec(ctx, "INSERT INTO settings (shop, key, value) VALUES (?, ?, ?) ON CONFLICT (shop, key) DO NOTHING", k.shop, key, value))
		}
		if !errors.Is(err, store.ErrUnknown) {
			return err
		}
		var stands string
		err = tx.Row(ctx, "SELECT value FROM settings WHERE shop = ? AND key = ?", k.shop, key).Scan(&stands)
		switch {
		case err != nil && !missing(err):
			return err
		case err == nil && stands == value: // set by a commit whose answer was lost
			return nil
		}
		return store.ErrOvertaken
	})
	if err != nil {
		return fmt.Errorf("set %q: %w", key, err)
	}
	return nil
}

// TallyLines implements store.Ledger.
func (k *Keeper) TallyLines(ctx context.Context) ([]json.RawMessage, error) {
	var out []json.RawMessage
	err := k.ask(ctx, func() { out = nil }, func(s scanner) error {
		var line string
		err := s.Scan(&line)
		out = append(out, json.RawMessage(line))
		return err
	}, "SELECT line FROM tally WHERE shop = ? ORDER BY n", k.shop)
	if err != nil {
		return nil, fmt.Errorf("read the tally: %w", err)
	}
	return out, nil
}

// AddTallyLines implements store.Ledger.
func (k *Keeper) AddTallyLines(ctx context.Context, after int, lines ...json.RawMessage) error {
	err := k.InTx(ctx, func(ctx context.Context, tx *Tx) error {
		var have int
		if err := tx.Row(ctx, "SELECT count(*) FROM tally WHERE shop = ?", k.shop).Scan(&have); err != nil {
			return err
		}
		if have != after {
			return k.addedBefore(ctx, tx, after, have, lines)
		}
		for i, line := range lines {
			kept, err := store.Compact(line)
			if err != nil {
				return fmt.Errorf("line %d: %w", after+i+1, err)
			}
			if _, err := tx.Exec(ctx, "INSERT INTO tally (shop, n, line) VALUES (?, ?, ?)", k.shop, after+i+1, string(kept)); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("add to the tally: %w", err)
	}
	return nil
}

// addedBefore finds out whether the lines were kept by a commit whose answer was
// lost on its way; otherwise somebody else was quicker.
func (k *Keeper) addedBefore(ctx context.Context, tx *Tx, after, have int, lines []json.RawMessage) error {
	if have != after+len(lines) {
		return store.ErrOvertaken
	}
	for i, line := range lines {
		var there string
		if err := tx.Row(ctx, "SELECT line FROM tally WHERE shop = ? AND n = ?", k.shop, after+i+1).Scan(&there); err != nil {
			return err
		}
		if want, err := store.Compact(line); err != nil || !bytes.Equal(want, []byte(there)) {
			return store.ErrOvertaken
		}
	}
	return nil
}
