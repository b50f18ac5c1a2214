package sqlstore

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
)

// A table that holds what is kept, with its columns in the order in which they
// are written and checked. Whole numbers, texts and bytes are told apart so that
// every engine gives a row the same checksum.
type table struct {
	name, key string
	own       string // column that tells its rows apart, in a shop or in a job
	texts     []string
	numbers   []string
	bytes     []string
}

// tables are all of them but the invitations, which stay where they were made; a row
// comes after the row that it points at.
var tables = []table{
	{name: "settings", key: "key", own: "key", texts: []string{"key", "value"}},
	{name: "people", key: "id", own: "id", texts: []string{"id", "name", "secret"}, numbers: []string{"since"}},
	{name: "members", key: "person", own: "person", texts: []string{"person", "role"}, numbers: []string{"since"}},
	{name: "sessions", key: "token", own: "token", texts: []string{"token", "who", "person", "device"}, numbers: []string{"expires", "began", "seen"}},
	{name: "tally", key: "n", own: "n", texts: []string{"line"}, numbers: []string{"n"}},
	{name: "jobs", key: "id", own: "id", texts: []string{"id", "name", "car", "complaint", "search"}, numbers: []string{"findings", "seq", "archived", "demo", "changed"}},
	{name: "entries", key: "job, seq", own: "seq", texts: []string{"job", "id", "who", "kind", "finding", "body"}, numbers: []string{"seq", "at", "entered", "seen"}},
	{name: "files", key: "job, at", own: "name", texts: []string{"job", "name", "type", "sha256", "who"}, numbers: []string{"size", "at"}, bytes: []string{"content"}},
	{name: "answers", key: "job", own: "job", texts: []string{"job", "stage", "verdict", "body"}, numbers: []string{"seq"}},
}

func (t *table) columns() []string { return slices.Concat(t.texts, t.numbers, t.bytes) }

// where picks a shop's rows; the shop is its one value.
func (t *table) where() string {
	switch t.name {
	case "people": // who belongs to several shops is one person
		return " WHERE id IN (SELECT person FROM members WHERE shop = ?)"
	case "settings": // without the row that only says that a store is being filled
		return " WHERE shop = ? AND key <> '" + movingKey + "'"
	}
	return " WHERE shop = ?"
}

// in is the table with only those columns that are there.
func (t *table) in(there []string) *table {
	cut := *t
	for _, list := range []*[]string{&cut.texts, &cut.numbers, &cut.bytes} {
		var kept []string
		for _, c := range *list {
			if slices.Contains(there, c) {
				kept = append(kept, c)
			}
		}
		*list = kept
	}
	return &cut
}

// values are places to read a row's columns into.
func (t *table) values() (into []any) {
	for range t.texts {
		into = append(into, new(string))
	}
	for range t.numbers {
		into = append(into, new(int64))
	}
	for range t.bytes {
		into = append(into, new([]byte))
	}
	return into
}

// Querier is a connection, a pool or a transaction that can be asked.
type Querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
}

// Survey tells what is in a store: for each table the number of its rows and a
// checksum over all that they hold, the same for the same content on every engine
// and in any order. A table that an older schema lacks is left out.
type Survey map[string]TableSum

// TableSum is what is in one table.
type TableSum struct {
	Rows int    `json:"rows"`
	Sum  string `json:"sum"` // SHA-256 of each row, all of them added by exclusive or
}

// Take makes the survey of a whole database of any schema. columns gives those of a
// table, none where there is no such table.
func Take(ctx context.Context, q Querier, columns func(table string) ([]string, error)) (Survey, error) {
	out := Survey{}
	for i := range tables {
		there, err := columns(tables[i].name)
		if err != nil {
			return nil, err
		}
		if len(there) == 0 {
			continue
		}
		if out[tables[i].name], err = sumOf(ctx, q, tables[i].in(there), ""); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// survey tells what a shop's store holds, as q sees it.
func (k *Keeper) survey(ctx context.Context, q Querier) (Survey, error) {
	out := Survey{}
	for i := range tables {
		t := &tables[i]
		var err error
		if out[t.name], err = sumOf(ctx, q, t, k.e.Bind(t.where()), k.shop); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func sumOf(ctx context.Context, q Querier, t *table, where string, args ...any) (TableSum, error) {
	var all [sha256.Size]byte
	n := 0
	err := rowsOf(ctx, q, t, where, func(row []any) error {
		n++
		sum := checksum(row)
		for i := range all {
			all[i] ^= sum[i]
		}
		return nil
	}, args...)
	if err != nil {
		return TableSum{}, fmt.Errorf("read table %s: %w", t.name, err)
	}
	return TableSum{n, hex.EncodeToString(all[:])}, nil
}

// rowsOf gives each row of a table; the values are good until the next one.
func rowsOf(ctx context.Context, q Querier, t *table, rest string, each func(row []any) error, args ...any) error {
	rows, err := q.QueryContext(ctx, "SELECT "+strings.Join(t.columns(), ", ")+" FROM "+t.name+rest, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	into := t.values()
	for rows.Next() {
		if err := rows.Scan(into...); err != nil {
			return err
		}
		if err := each(into); err != nil {
			return err
		}
	}
	return rows.Err()
}

// checksum is over a row's values, each after its length, so that no two rows
// that differ give the same text.
func checksum(row []any) [sha256.Size]byte {
	h := sha256.New()
	var length [8]byte
	put := func(b []byte) {
		binary.BigEndian.PutUint64(length[:], uint64(len(b)))
		h.Write(length[:])
		h.Write(b)
	}
	for _, v := range row {
		switch v := v.(type) {
		case *string:
			put([]byte(*v))
		case *int64:
			put(binary.BigEndian.AppendUint64(nil, uint64(*v)))
		case *[]byte:
			put(*v)
		}
	}
	return [sha256.Size]byte(h.Sum(nil))
}

// Differs names the first table in which two surveys differ, "" when they are the
// same. Tables that one of them lacks are not compared.
func (s Survey) Differs(o Survey) string {
	for i := range tables {
		name := tables[i].name
		a, in := s[name]
		if b, both := o[name]; in && both && a != b {
			return fmt.Sprintf("%s (%d and %d rows)", name, a.Rows, b.Rows)
		}
	}
	return ""
}

// String says in words what is there.
func (s Survey) String() string {
	var parts []string
	for _, t := range []struct{ name, one, many string }{
		{"jobs", "job", "jobs"}, {"entries", "entry", "entries"}, {"files", "log or photo", "logs and photos"},
		{"tally", "line of the tally", "lines of the tally"}, {"settings", "setting", "settings"}, {"members", "person", "people"}, {"sessions", "device let in", "devices let in"},
	} {
		what := t.many
		if s[t.name].Rows == 1 {
			what = t.one
		}
		parts = append(parts, fmt.Sprintf("%d %s", s[t.name].Rows, what))
	}
	return strings.Join(parts, ", ")
}
