package postgres

import (
	"context"
	"io/fs"
	"testing"
	"time"

	"github.com/pressly/goose/v3"
)

// LeaveAt makes the schema of an earlier program in an empty database.
func LeaveAt(t *testing.T, address string, version int64) {
	t.Helper()
	k, err := connect(t.Context(), address, "", longestStatement, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer k.Close()
	sub, err := fs.Sub(migrations, "migrations")
	if err != nil {
		t.Fatal(err)
	}
	p, err := goose.NewProvider(goose.DialectPostgres, k.db, sub)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.UpTo(context.Background(), version); err != nil {
		t.Fatal(err)
	}
	if err := k.guard(context.Background()); err != nil {
		t.Fatal(err)
	}
}

// OpenBounded opens a store whose statements may take no longer than a time.
func OpenBounded(ctx context.Context, address string, longest time.Duration) (*ServerKeeper, error) {
	return open(ctx, address, "", longest, time.Now)
}

// ForgetListen makes the keeper do as on an engine without LISTEN and NOTIFY.
func (k *ServerKeeper) ForgetListen() { k.listens = false }

// Begun tells whether all who follow know where they begin.
func (k *ServerKeeper) Begun() bool {
	list := k.hub.all()
	for _, f := range list {
		f.mu.Lock()
		begun := f.begun
		f.mu.Unlock()
		if !begun {
			return false
		}
	}
	return len(list) > 0
}
