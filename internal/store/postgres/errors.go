package postgres

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"strings"
	"time"

	"github.com/jackc/pgx/v5/pgconn"

	"weephole/internal/store"
)

// own are the errors that already say what the store says.
var own = []error{
	store.ErrUnknown, store.ErrTaken, store.ErrOvertaken, store.ErrAway, store.ErrFull,
	store.ErrReadOnly, store.ErrDamaged, store.ErrNewer,
}

// explain puts the store's word on an engine's error, keeping the original.
func explain(err error) error {
	if err == nil {
		return nil
	}
	for _, known := range own {
		if errors.Is(err, known) {
			return err
		}
	}
	if errors.Is(err, sql.ErrNoRows) {
		return store.ErrUnknown
	}
	var e *pgconn.PgError
	if errors.As(err, &e) {
		if word := wordFor(e.Code); word != nil {
			return fmt.Errorf("%w: %w", word, err)
		}
		return err
	}
	if lost(err) {
		return fmt.Errorf("%w: %w", store.ErrAway, err)
	}
	return err
}

// wordFor is the store's word for a code, nil when it has none.
func wordFor(code string) error {
	switch {
	case code == "53100", code == "53200": // disk full, out of memory
		return store.ErrFull
	case code == "25006", code == "42501": // read-only transaction, no right to
		return store.ErrReadOnly
	case strings.HasPrefix(code, "XX"): // data or index corrupted, internal error
		return store.ErrDamaged
	case code == "23505", code == "40001", code == "40P01": // after all retries others were still quicker
		return store.ErrAway
	case strings.HasPrefix(code, "08"), strings.HasPrefix(code, "57"), strings.HasPrefix(code, "53"), code == "28000", code == "3D000":
		return store.ErrAway // connection, operator's intervention, resources, no such role or database now
	case strings.HasPrefix(code, "58"): // the server's own disk or files
		return store.ErrDisk
	}
	return nil
}

// lost tells whether an error says that the server was not reached or not in time.
func lost(err error) bool {
	var n net.Error
	var c *pgconn.ConnectError
	return errors.As(err, &n) || errors.As(err, &c) || errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) ||
		errors.Is(err, context.DeadlineExceeded) || errors.Is(err, net.ErrClosed) || strings.Contains(err.Error(), "conn closed") ||
		strings.Contains(err.Error(), "closed pool")
}

// How long a piece of work is tried again: judgement. A mechanic waits some seconds
// before he looks whether his entry stands; his device keeps it in any case.
const (
	mostCollisions = 12
	mostLosses     = 4
	firstPause     = 20 * time.Millisecond
	longestPause   = time.Second
)

// collided is true where the engine says that two got in each other's way.
func collided(err error) bool {
	var e *pgconn.PgError
	return errors.As(err, &e) && (e.Code == "40001" || e.Code == "40P01" || e.Code == "23505")
}

// again tells whether a transaction that failed may be run again, and waits before
// it is.
func again(ctx context.Context, err error, tries int) bool {
	var e *pgconn.PgError
	most := 0
	switch {
	case collided(err):
		most = mostCollisions
	case errors.As(err, &e):
		if errors.Is(wordFor(e.Code), store.ErrAway) && e.Code != "57014" { // a statement that took too long takes as long again
			most = mostLosses
		}
	case lost(err) && !errors.Is(err, context.DeadlineExceeded):
		most = mostLosses
	}
	if tries >= most || ctx.Err() != nil {
		return false
	}
	pause := min(longestPause, firstPause<<tries)
	pause += rand.N(pause) // so that those who collided do not collide again
	select {
	case <-ctx.Done():
		return false
	case <-time.After(pause):
		return true
	}
}
