package postgres_test

import (
	"bytes"
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
	"weephole/internal/store/sqlite"
	"weephole/internal/store/sqlstore"
	"weephole/internal/store/storetest"
)

// ordinary is a database whose owner is an ordinary role.
func ordinary(t *testing.T) string {
	t.Helper()
	if server == nil {
		t.Skip(pgtest.ErrNone)
	}
	return server.Ordinary(t)
}

// group is a store with two shops.
func group(t *testing.T, address string) (k, north, south *postgres.ServerKeeper) {
	t.Helper()
	k = openAt(t, address, time.Now)
	var in [2]*postgres.ServerKeeper
	for i, id := range []string{"north", "south"} {
		if err := k.AddShop(t.Context(), store.Shop{ID: id, Name: id + " garage"}); err != nil {
			t.Fatal(err)
		}
		var err error
		if in[i], err = k.InShop(t.Context(), id); err != nil {
			t.Fatal(err)
		}
	}
	return k, in[0], in[1]
}

func TestAShopAmongOthersKeepsThePromisesOfAStore(t *testing.T) {
	address, n := ordinary(t), 0
	storetest.Run(t, func(t *testing.T, clock *storetest.Clock) store.Store {
		n++
		schema := fmt.Sprint("s", n)
		server.Exec(t, address, "CREATE SCHEMA "+schema)
		k := openAt(t, address+"&search_path="+schema, clock.Now)
		if err := k.AddShop(t.Context(), store.Shop{ID: "north"}); err != nil {
			t.Fatal(err)
		}
		in, err := k.InShop(t.Context(), "north")
		if err != nil {
			t.Fatal(err)
		}
		// Another shop has the same ids; nothing of it may ever show.
		for _, job := range []string{"j1", "j2", "d1", "j00", "job-1"} {
			if _, _, err := k.Append(t.Context(), store.Entry{Job: job, ID: "o", Kind: store.Opened, Body: []byte(`{"weephole":1,"vehicle":{"name":"hot sweet green van"}}`)}); err != nil {
				t.Fatal(err)
			}
			if _, _, err := k.Append(t.Context(), store.Entry{Job: job, ID: "f1", Kind: store.Found, Body: []byte(`{"check":"belt-look","found":"fine"}`)}); err != nil {
				t.Fatal(err)
			}
		}
		if err := errors.Join(k.Set(t.Context(), "units", "other"), k.AddTallyLines(t.Context(), 0, []byte(`{"tally":1}`)),
			k.AddPerson(t.Context(), store.Person{ID: "other", Name: "Ada", Role: store.Owner})); err != nil {
			t.Fatal(err)
		}
		return in
	})
}

func TestTheDatabaseItselfRefusesAnotherShopsRows(t *testing.T) {
	address := ordinary(t)
	_, north, south := group(t, address)
	job(t, north)
	if _, err := north.PutFile(t.Context(), "j", store.File{Name: "a.csv"}, []byte("1")); err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(north.KeepAnswer(t.Context(), "j", store.Answer{Seq: 1, Stage: "fine"}), north.Set(t.Context(), "shop", "{}"),
		north.AddTallyLines(t.Context(), 0, []byte(`{"tally":1}`))); err != nil {
		t.Fatal(err)
	}
	if _, err := north.Claim(t.Context(), "j", 1, time.Hour); err != nil {
		t.Fatal(err)
	}
	job(t, south)
	c, err := pgx.Connect(t.Context(), address) // the same role, no program's statements
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close(t.Context())
	tables := []string{"jobs", "entries", "files", "answers", "settings", "tally", "work"}
	rows := func(shop string) (all map[string]int) {
		t.Helper()
		if _, err := c.Exec(t.Context(), "SELECT set_config('weephole.shop', $1, false)", shop); err != nil {
			t.Fatal(err)
		}
		all = map[string]int{}
		for _, table := range tables {
			var n int
			if err := c.QueryRow(t.Context(), "SELECT count(*) FROM "+table).Scan(&n); err != nil {
				t.Fatal(err)
			}
			all[table] = n
		}
		return all
	}
	for _, table := range tables {
		var n int
		if err := c.QueryRow(t.Context(), "SELECT count(*) FROM "+table).Scan(&n); err != nil || n != 0 {
			t.Errorf("a connection that has said no shop sees %d rows of %s, %v", n, table, err)
		}
	}
	for table, n := range rows("north") {
		if n != 1 {
			t.Errorf("north sees %d rows of %s, want its one", n, table)
		}
	}
	for table, n := range rows("south") { // its job and the entry that opened it
		if want := map[string]int{"jobs": 1, "entries": 1}[table]; n != want {
			t.Errorf("south sees %d rows of %s, want %d", n, table, want)
		}
	}
	for _, s := range []string{
		"INSERT INTO jobs (shop, id, name, car, complaint, search, seq, changed) VALUES ('north', 'x', '', '', '', '', 1, 0)",
		"INSERT INTO entries (shop, job, seq, id, at, entered, who, kind, finding, seen, body) VALUES ('north', 'j', 9, 'x', 0, 0, '', 'noted', '', 0, '{}')",
		"INSERT INTO settings (shop, key, value) VALUES ('north', 'k', 'v')",
		"UPDATE jobs SET shop = 'north'",
	} {
		if _, err := c.Exec(t.Context(), s); err == nil || !strings.Contains(err.Error(), "row-level security") {
			t.Errorf("as south: %s: %v", s, err)
		}
	}
	if tag, err := c.Exec(t.Context(), "UPDATE jobs SET car = 'stolen' WHERE shop = 'north'"); err != nil || tag.RowsAffected() != 0 {
		t.Errorf("as south: %d of north's jobs changed, %v", tag.RowsAffected(), err)
	}
}

func TestConnectionsForgetTheShopBefore(t *testing.T) {
	_, north, south := group(t, ordinary(t)+"&pool_max_conns=1")
	job(t, north)
	for range 3 { // one connection serves both in turn
		if list, err := south.Jobs(t.Context(), store.Query{}); err != nil || len(list) != 0 {
			t.Fatalf("south lists %d jobs, %v", len(list), err)
		}
		if list, err := north.Jobs(t.Context(), store.Query{}); err != nil || len(list) != 1 {
			t.Fatalf("north lists %d jobs, %v", len(list), err)
		}
	}
}

func TestASecondShopIsRefusedWhereTheDatabaseWouldNotKeepThemApart(t *testing.T) {
	address := database(t) // as a superuser
	k := openAt(t, address, time.Now)
	if err := k.AddShop(t.Context(), store.Shop{ID: "north"}); !errors.Is(err, store.ErrOneShop) {
		t.Errorf("a second shop for a superuser: %v", err)
	}
	server.Exec(t, address, "INSERT INTO shops VALUES ('north', '', 0)")
	if _, err := postgres.Open(t.Context(), address, time.Now); !errors.Is(err, store.ErrOneShop) {
		t.Errorf("opened by a superuser: %v", err)
	}
}

func TestShopsHaveTheirOwnNewsBackupAndPeople(t *testing.T) {
	address := ordinary(t)
	k, north, south := group(t, address)
	for _, bad := range []string{"", "North", "a b", "1st", "..", "north'--", strings.Repeat("a", 40)} {
		if err := k.AddShop(t.Context(), store.Shop{ID: bad}); !errors.Is(err, postgres.ErrShopID) {
			t.Errorf("shop %q: %v", bad, err)
		}
	}
	if err := k.AddShop(t.Context(), store.Shop{ID: "north"}); !errors.Is(err, store.ErrTaken) {
		t.Errorf("north again: %v", err)
	}
	if _, err := k.In(t.Context(), "east"); !errors.Is(err, store.ErrUnknown) {
		t.Errorf("no such shop: %v", err)
	}
	other, err := openAt(t, address, time.Now).InShop(t.Context(), "south")
	if err != nil {
		t.Fatal(err)
	}
	news := heard(t, other)
	job(t, north)
	job(t, south)
	for i, heard := 0, false; !heard; i++ { // it begins to listen at some moment
		for _, in := range []*postgres.ServerKeeper{north, south} {
			if _, _, err := in.Append(t.Context(), note(fmt.Sprint("n", i))); err != nil {
				t.Fatal(err)
			}
		}
		select {
		case c := <-news:
			if heard = true; c.Shop != "south" || c.Job != "j" {
				t.Errorf("south's devices heard %+v", c)
			}
		case <-time.After(200 * time.Millisecond):
		}
	}
	both := store.Person{ID: "p1", Name: "Ada", Secret: "h", Role: store.Mechanic}
	if err := errors.Join(north.AddPerson(t.Context(), both), south.AddPerson(t.Context(), both), north.AddPerson(t.Context(), store.Person{ID: "p2", Name: "Bo", Role: store.Owner})); err != nil {
		t.Fatal(err)
	}
	if shops, err := north.Shops(t.Context(), "p1"); err != nil || len(shops) != 2 || shops[1].Shop.Name != "south garage" {
		t.Errorf("Ada's shops: %+v, %v", shops, err)
	}
	path := filepath.Join(t.TempDir(), "north.db")
	if err := north.Backup(t.Context(), path); err != nil {
		t.Fatal(err)
	}
	what, err := sqlite.Restore(t.Context(), path, filepath.Join(t.TempDir(), "r"))
	if err != nil || what["jobs"].Rows != 1 || what["people"].Rows != 2 || what["members"].Rows != 2 {
		t.Errorf("north's backup: %v, %v", what, err)
	}
	if err := k.AddShop(t.Context(), store.Shop{ID: "east"}); err != nil {
		t.Fatal(err)
	}
	east, err := k.InShop(t.Context(), "east")
	if err != nil {
		t.Fatal(err)
	}
	if moved, err := sqlstore.Move(t.Context(), north.Keeper, east.Keeper, nil); err != nil || moved["jobs"].Rows != 1 || moved["entries"].Rows < 2 {
		t.Errorf("north moved into an empty shop: %v, %v", moved, err)
	}
	var out bytes.Buffer
	if err := store.Export(t.Context(), east, "j", &out); err != nil {
		t.Error(err)
	}
}
