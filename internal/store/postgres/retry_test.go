package postgres_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"weephole/internal/store"
)

// collide has the server say so many times that two got in each other's way, whenever a
// row comes into a table. A sequence counts, because no transaction takes it back.
func collide(t *testing.T, address, table, code string, times int) {
	t.Helper()
	for _, s := range []string{
		"CREATE SEQUENCE IF NOT EXISTS collisions", "ALTER SEQUENCE collisions RESTART",
		fmt.Sprintf(`CREATE OR REPLACE FUNCTION collide() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN
			IF nextval('collisions') <= %d THEN RAISE EXCEPTION 'others were quicker' USING ERRCODE = '%s'; END IF;
			RETURN NEW; END $$`, times, code),
		"CREATE OR REPLACE TRIGGER collide AFTER INSERT OR UPDATE ON " + table + " FOR EACH ROW EXECUTE FUNCTION collide()",
	} {
		server.Exec(t, address, s)
	}
}

// Whatever the store writes is written again as a whole where the server asks for that,
// and stands once.
func TestWhatCollidesIsDoneAgainAndStandsOnce(t *testing.T) {
	address := database(t)
	k := openAt(t, address, time.Now)
	job(t, k)
	append := func(id string, want int64) func() error {
		return func() error {
			e, added, err := k.Append(t.Context(), note(id))
			if err == nil && (!added || e.Seq != want) {
				err = fmt.Errorf("added %v as %d", added, e.Seq)
			}
			return err
		}
	}
	const failure, deadlock = "40001", "40P01" // the manual of PostgreSQL, appendix A, from memory
	for _, c := range []struct {
		table, code string
		do          func() error
	}{
		{"entries", failure, append("n1", 2)},
		{"entries", deadlock, append("n2", 3)},
		{"files", failure, func() error {
			_, e, added, err := k.Bring(t.Context(), store.Entry{Job: "j", ID: "b"}, store.File{Name: "a.csv"}, []byte("1"))
			if err == nil && (!added || e.Seq != 4) {
				err = fmt.Errorf("added %v as %d", added, e.Seq)
			}
			return err
		}},
		{"jobs", failure, func() error {
			n, err := k.Take(t.Context(), "k", []store.Entry{{Job: "k", ID: "o", Kind: store.Opened, Body: []byte(`{"weephole":1}`)}}, nil, nil)
			if err == nil && n != 1 {
				err = fmt.Errorf("%d entries are new", n)
			}
			return err
		}},
		{"answers", failure, func() error { return k.KeepAnswer(t.Context(), "j", store.Answer{Seq: 3, Stage: "fine"}) }},
		{"tally", failure, func() error { return k.AddTallyLines(t.Context(), 0, json.RawMessage(`{"tally":1}`)) }},
		{"settings", failure, func() error { return k.SetOver(t.Context(), "units", "", "us") }},
		{"members", failure, func() error { return k.AddPerson(t.Context(), store.Person{ID: "p", Name: "Ada", Role: store.Owner}) }},
		{"work", failure, func() error {
			mine, err := k.Claim(t.Context(), "j", 4, time.Hour)
			if err == nil && !mine {
				err = errors.New("it is not ours")
			}
			return err
		}},
		{"sessions", failure, func() error {
			return k.PutSession(t.Context(), store.Session{Token: "s", Who: "Ada", Expires: time.Now().Add(time.Hour)})
		}},
	} {
		collide(t, address, c.table, c.code, 2)
		if err := c.do(); err != nil {
			t.Errorf("%s, %s: %v", c.table, c.code, err)
		}
		server.Exec(t, address, "DROP TRIGGER collide ON "+c.table)
	}
}

// The same for real: on a server whose transactions are serialisable, those who write at
// once are refused until they come again.
func TestWritersOfSerialisableTransactionsLoseNothing(t *testing.T) {
	const hands, each = 4, 6
	address := database(t) + "&default_transaction_isolation=serializable"
	a, b := openAt(t, address, time.Now), openAt(t, address, time.Now)
	job(t, a)
	var wg sync.WaitGroup
	for hand := range hands {
		wg.Go(func() {
			k := a
			if hand%2 == 1 {
				k = b
			}
			for i := range each {
				if _, added, err := k.Append(t.Context(), note(fmt.Sprint(hand, "-", i))); err != nil || !added {
					t.Errorf("hand %d, entry %d: %v, %v", hand, i, added, err)
				}
			}
		})
	}
	wg.Wait()
	entries, err := a.Entries(t.Context(), "j", 0)
	if err != nil || len(entries) != 1+hands*each {
		t.Fatalf("%d entries, want %d: %v", len(entries), 1+hands*each, err)
	}
	for i, e := range entries {
		if e.Seq != int64(i+1) {
			t.Errorf("entry %d has the number %d", i+1, e.Seq)
		}
	}
}
