package postgres

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// Scratch makes empty schemas in a database, for the check of a server, and removes
// them. Their names say which run made them and when, so that two runs never meet and
// what a killed run left can be told.
type Scratch struct {
	config *pgx.ConnConfig
	run    string

	mu     sync.Mutex
	c      *pgx.Conn
	made   int
	closed bool
}

// scratchPrefix is how the names of all scratch schemas begin. Then come the seconds
// since 1970 by the server's clock, a number of the run, and one of the schema.
const scratchPrefix = "weephole_check_"

var scratchName = regexp.MustCompile(`^` + scratchPrefix + `([0-9]{10})_[0-9a-f]{8}_[0-9]+$`)

// Bounds of scratch schemas: judgement.
const (
	leftAfter    = time.Hour // after that nobody works in one: six times what the check may take
	longestClear = 20 * time.Second
	mostClears   = 3 // a statement that still runs in a schema may be in the way
)

// ErrNoSchemas: the role may not make schemas.
var ErrNoSchemas = errors.New("the role in the address may not make schemas")

// OpenScratch connects to a database, removes what killed runs of this role left in it,
// and finds out whether schemas can be made.
func OpenScratch(ctx context.Context, address string) (*Scratch, error) {
	if !IsAddress(address) {
		return nil, fmt.Errorf("%w; it begins with postgres://", ErrAddress)
	}
	c, err := pgx.ParseConfig(address)
	if err != nil {
		return nil, ErrAddress // the error itself may show the password
	}
	c.ConnectTimeout = longestConnect
	s := &Scratch{config: c}
	if s.c, err = pgx.ConnectConfig(ctx, c); err != nil {
		return nil, fmt.Errorf("%s: %w", s.Where(), explain(err))
	}
	if err := s.begin(ctx); err != nil {
		s.c.Close(context.WithoutCancel(ctx))
		return nil, fmt.Errorf("%s: %w", s.Where(), err)
	}
	return s, nil
}

// Where is the server's address.
func (s *Scratch) Where() string { return fmt.Sprintf("%s:%d", s.config.Host, s.config.Port) }

func (s *Scratch) begin(ctx context.Context) error {
	var now int64
	if err := s.c.QueryRow(ctx, "SELECT CAST(extract(epoch FROM now()) AS BIGINT)").Scan(&now); err != nil {
		return explain(err)
	}
	s.run = fmt.Sprintf("%s%010d_%08x_", scratchPrefix, now, rand.Uint32())
	before := time.Unix(now, 0).Add(-leftAfter).Unix()
	err := s.drop(ctx, s.c, func(name string) bool {
		m := scratchName.FindStringSubmatch(name)
		if m == nil {
			return false
		}
		made, err := strconv.ParseInt(m[1], 10, 64)
		return err == nil && made < before
	})
	if err != nil {
		return fmt.Errorf("remove what an earlier check left: %w", explain(err))
	}
	// Once begun it is not broken off: the schema would stay.
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), longestClear)
	defer cancel()
	name, err := s.Schema(ctx)
	var e *pgconn.PgError
	if errors.As(err, &e) && e.Code == "42501" {
		return fmt.Errorf("%w; run GRANT CREATE ON DATABASE %s TO %s as the database's owner, or give a role that may", ErrNoSchemas,
			pgx.Identifier{cmp.Or(s.config.Database, s.config.User)}.Sanitize(), pgx.Identifier{s.config.User}.Sanitize())
	}
	if err != nil {
		return fmt.Errorf("make a schema: %w", explain(err))
	}
	return s.Drop(ctx, name)
}

// errScratchClosed: no schema is made once all are being removed.
var errScratchClosed = errors.New("the check was stopped")

// Schema makes an empty schema and gives its name.
func (s *Scratch) Schema(ctx context.Context) (string, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.closed {
		return "", errScratchClosed
	}
	s.made++
	name := s.run + strconv.Itoa(s.made)
	_, err := s.c.Exec(ctx, "CREATE SCHEMA "+name)
	return name, err
}

// Drop removes a schema with all that is in it.
func (s *Scratch) Drop(ctx context.Context, name string) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.closed {
		return nil // Clear does it
	}
	_, err := s.c.Exec(ctx, "DROP SCHEMA "+name+" CASCADE")
	return err
}

// Clear removes all schemas of this run, whoever still works in them, and ends it. It
// does so over a connection of its own, and names what it could not remove.
func (s *Scratch) Clear(ctx context.Context) error {
	s.mu.Lock()
	s.closed = true
	s.mu.Unlock()
	ctx, cancel := context.WithTimeout(ctx, longestClear)
	defer cancel()
	var err error
	for range mostClears {
		if err = s.clearOnce(ctx); err == nil {
			return nil
		}
	}
	return fmt.Errorf("schemas whose names begin with %s were left in the database: %w", s.run, explain(err))
}

func (s *Scratch) clearOnce(ctx context.Context) error {
	c, err := pgx.ConnectConfig(ctx, s.config)
	if err != nil {
		return err
	}
	defer c.Close(ctx)
	return s.drop(ctx, c, func(name string) bool { return strings.HasPrefix(name, s.run) })
}

// drop removes those schemas of this role that are meant.
func (s *Scratch) drop(ctx context.Context, c *pgx.Conn, meant func(name string) bool) error {
	rows, err := c.Query(ctx, "SELECT schema_name FROM information_schema.schemata WHERE schema_owner = current_user")
	if err != nil {
		return err
	}
	all, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return err
	}
	for _, name := range all {
		if meant(name) {
			if _, err := c.Exec(ctx, "DROP SCHEMA IF EXISTS "+pgx.Identifier{name}.Sanitize()+" CASCADE"); err != nil {
				return err
			}
		}
	}
	return nil
}

// Close ends the connection.
func (s *Scratch) Close(ctx context.Context) error { return s.c.Close(ctx) }
