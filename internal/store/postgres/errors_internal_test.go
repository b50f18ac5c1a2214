package postgres

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5/pgconn"

	"weephole/internal/store"
)

// What the server says is told as the server's matter, with what to do.
func TestEachErrorOfTheServerHasItsOwnWords(t *testing.T) {
	kinds := []error{store.ErrReadOnly, store.ErrAway, store.ErrFull, store.ErrDamaged, store.ErrDisk}
	for _, c := range []struct {
		code  string
		is    error
		says  string
		never string
	}{
		{"25006", store.ErrReadOnly, "takes no changes", "folder"},
		{"42501", store.ErrReadOnly, "role in the address may not", "folder"},
		{"28000", store.ErrAway, "does not let this role in", "is away"},
		{"28P01", store.ErrAway, "the password in the address", "is away"},
		{"3D000", store.ErrAway, "no database of this name", "is away"},
		{"53100", store.ErrFull, "full on the database server", "folder"},
		{"53200", store.ErrAway, "too little memory", "disk"},
		{"53300", store.ErrAway, "no more connections", "is away"},
		{"57014", store.ErrAway, "took too long", "is away"},
		{"57P01", store.ErrAway, "is away", "folder"},
		{"08006", store.ErrAway, "is away", "folder"},
		{"40001", store.ErrAway, "others were quicker", "is away"},
		{"58030", store.ErrDisk, "disk of the database server", "folder"},
		{"XX001", store.ErrDamaged, "database is damaged", "folder"},
		{"42P01", nil, "no such table", "folder"},
		{"", nil, "no such table", "folder"},
	} {
		from := &pgconn.PgError{Severity: "ERROR", Code: c.code, Message: "no such table"}
		err := explain(fmt.Errorf("keep it: %w", from))
		if !strings.Contains(err.Error(), c.says) || strings.Contains(err.Error(), c.never) || !errors.Is(err, from) {
			t.Errorf("%s: %v", c.code, err)
		}
		for _, kind := range kinds {
			if errors.Is(err, kind) != (kind == c.is) {
				t.Errorf("%s: is %v: %v", c.code, kind, errors.Is(err, kind))
			}
		}
		if again := explain(err); again.Error() != err.Error() {
			t.Errorf("%s is explained twice: %v", c.code, again)
		}
	}
}

func TestOnlyWhatMayPassIsTriedAgain(t *testing.T) {
	for code, want := range map[string]bool{"57P01": true, "08006": true, "40001": true, "57014": false, "28P01": false, "28000": false, "3D000": false, "42501": false, "53100": false} {
		if got := again(t.Context(), &pgconn.PgError{Code: code}, 1); got != want {
			t.Errorf("%s: tried again %v", code, got)
		}
	}
}
