package postgres

import (
	"context"
	"crypto/tls"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5/pgconn"

	"weephole/internal/store"
)

// own are the errors that already say what the store says.
var own = []error{
	store.ErrUnknown, store.ErrTaken, store.ErrOvertaken, store.ErrAway, store.ErrFull,
	store.ErrReadOnly, store.ErrDamaged, store.ErrNewer, store.ErrDisk,
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
	if word := notTrusted(err); word != nil {
		return fmt.Errorf("%w: %w", word, err)
	}
	if lost(err) {
		return fmt.Errorf("%w: %w", store.ErrAway, err)
	}
	return err
}

// notTrusted is the store's word where TLS as the address asks for it did not come about;
// nil where that is not the trouble.
func notTrusted(err error) error {
	var unproven *tls.CertificateVerificationError
	switch {
	case errors.As(err, &unproven):
		return &word{store.ErrAway, "the database server's certificate does not prove that it is the server in the address; check the host there, and that sslrootcert names who has signed the certificate"}
	case err != nil && strings.Contains(err.Error(), "server refused TLS"):
		return &word{store.ErrAway, "the database server offers no TLS, and the address asks for it (sslmode); turn it on there (ssl = on)"}
	}
	return nil
}

// word is a database server's trouble in plain words. For the rest of the program it is
// one of the store's errors, whose own words may speak of a data folder.
type word struct {
	is   error
	says string
}

func (w *word) Error() string        { return w.says }
func (w *word) InWords() string      { return w.says }
func (w *word) Is(target error) bool { return target == w.is }

// wordFor is the store's word for a code, nil when it has none. Source, from memory: the
// manual of PostgreSQL, appendix A, error codes.
func wordFor(code string) error {
	switch code {
	case "25006":
		return &word{store.ErrReadOnly, "the database takes no changes: it is a standby, or was set to read-only; give the address of the server that takes them"}
	case "42501":
		return &word{store.ErrReadOnly, "the role in the address may not do that in this database; let it own the tables, or let it make them (GRANT CREATE)"}
	case "28000", "28P01":
		return &word{store.ErrAway, "the database server does not let this role in; check the role and the password in the address, and the server's pg_hba.conf"}
	case "3D000":
		return &word{store.ErrAway, "the database server has no database of this name; make it (CREATE DATABASE), or correct the address"}
	case "53100":
		return &word{store.ErrFull, "the disk is full on the database server; make room there"}
	case "53200":
		return &word{store.ErrAway, "the database server has too little memory for this; give it more, or try later"}
	case "53300":
		return &word{store.ErrAway, "the database server takes no more connections; close others, or raise its max_connections"}
	case "57014":
		return &word{store.ErrAway, "the database server took too long, and was told to stop; it is busy, or the line to it is slow"}
	case "23505", "40001", "40P01": // after all retries others were still quicker
		return &word{store.ErrAway, "the database server is so busy that others were quicker each time; try again"}
	}
	switch code[:min(2, len(code))] {
	case "XX": // data or index corrupted, internal error
		return store.ErrDamaged
	case "08", "53", "57": // connection, resources, operator's intervention
		return store.ErrAway
	case "58":
		return &word{store.ErrDisk, "the disk of the database server failed to do what it was asked"}
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
	case notTrusted(err) != nil: // it stays so
	case collided(err):
		most = mostCollisions
	case errors.As(err, &e):
		// A statement that took too long takes as long again, and a wrong password or name
		// stays wrong.
		if lasting := slices.Contains([]string{"57014", "28000", "28P01", "3D000"}, e.Code); !lasting && errors.Is(wordFor(e.Code), store.ErrAway) {
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
