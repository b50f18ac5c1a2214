package postgres_test

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"weephole/internal/store"
	"weephole/internal/store/pgtest"
	"weephole/internal/store/postgres"
)

// On a server that takes nothing but TLS a bench works, hears of others and proves whom it
// speaks to. Where the proof fails it says so, and sends nothing.
func TestABenchSpeaksTLSAndProvesTheServer(t *testing.T) {
	own := pgtest.Own(t)
	database := own.Database(t)
	authority := own.OnlyTLS(t)
	stranger, _ := pgtest.Authority(t)
	address := func(host, sslmode, root string) string {
		a := strings.NewReplacer("127.0.0.1", host, "sslmode=disable", "sslmode="+sslmode, "weephole@", "weephole:secret-word@").Replace(database)
		if root != "" {
			a += "&sslrootcert=" + root
		}
		return a
	}
	good := address("localhost", "verify-full", authority)
	a, b := openAt(t, good, time.Now), openAt(t, good, time.Now)
	news := heard(t, b)
	job(t, a)
	await(t, news, store.Change{Job: "j", Seq: 1})
	c, err := pgx.Connect(t.Context(), good)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close(t.Context())
	var open, plain int
	if err := c.QueryRow(t.Context(), "SELECT count(*), count(*) FILTER (WHERE NOT s.ssl) FROM pg_stat_ssl s JOIN pg_stat_activity a USING (pid) WHERE a.application_name = 'weephole'").Scan(&open, &plain); err != nil || open < 3 || plain > 0 {
		t.Errorf("%d connections of the benches, %d without TLS: %v", open, plain, err)
	}
	for name, at := range map[string]struct {
		address string
		is      error
		says    string
	}{
		"another authority": {address("localhost", "verify-full", pgtest.WriteAuthority(t, stranger)), store.ErrAway, "certificate does not prove"},
		"another name":      {address("127.0.0.1", "verify-full", authority), store.ErrAway, "certificate does not prove"},
		"no TLS":            {address("localhost", "disable", ""), store.ErrAway, "pg_hba.conf"},
		"no such file":      {address("localhost", "verify-full", filepath.Join(t.TempDir(), "gone.pem")), postgres.ErrAddress, "gone.pem, which cannot be read: no such file"},
		"no certificate":    {address("localhost", "verify-full", "/dev/null"), postgres.ErrAddress, "sslrootcert"},
		"a wrong mode":      {address("localhost", "always", ""), postgres.ErrAddress, "sslmode"},
	} {
		began := time.Now()
		_, err := postgres.Open(t.Context(), at.address, time.Now)
		if !errors.Is(err, at.is) || !strings.Contains(fmt.Sprint(err), at.says) || strings.Contains(fmt.Sprint(err), "secret-word") {
			t.Errorf("%s, after %v: %v", name, time.Since(began), err)
		}
	}
}

func TestAServerWithoutTLSIsToldAsSuch(t *testing.T) {
	_, err := postgres.Open(t.Context(), strings.Replace(database(t), "sslmode=disable", "sslmode=require", 1), time.Now)
	if !errors.Is(err, store.ErrAway) || !strings.Contains(fmt.Sprint(err), "offers no TLS") {
		t.Errorf("it says %v", err)
	}
}
