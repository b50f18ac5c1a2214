package sqlite

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"weephole/internal/store"
	"weephole/internal/store/sqlstore"
)

// tallyFile is where earlier programs kept the tally, beside the database.
const tallyFile = "tally.jsonl"

// takeInTallyFile takes the lines of such a file into the database and gives the
// file another name. Doing it twice, or being killed in between, adds nothing
// twice.
func (k *FileKeeper) takeInTallyFile(ctx context.Context) error {
	path := filepath.Join(k.dir, tallyFile)
	lines, torn, err := tallyLines(path)
	if err != nil || lines == nil && torn == nil {
		return err
	}
	if err := addMissing(ctx, k.Keeper, lines); err != nil {
		return err
	}
	aside := filepath.Join(k.dir, "tally-taken-in-"+k.now().UTC().Format("20060102-150405")+".jsonl")
	if err := os.Rename(path, aside); err != nil {
		return folderError(err)
	}
	k.notices = append(k.notices, fmt.Sprintf("%d lines of the tally were taken into the database; the file is kept as %s", len(lines), filepath.Base(aside)))
	for _, n := range torn {
		k.notices = append(k.notices, fmt.Sprintf("%s:%d: this line is torn and was left out; count its job again", aside, n))
	}
	return syncFile(k.dir)
}

// addTally does the same to a copy of the database, leaving the file as it is.
func addTally(ctx context.Context, path, file string) error {
	lines, _, err := tallyLines(file)
	if err != nil || len(lines) == 0 {
		return err
	}
	db, err := connect(path, 1, "synchronous(FULL)", "rw")
	if err != nil {
		return err
	}
	defer db.Close()
	p, err := provider(db)
	if err != nil {
		return err
	}
	if _, err := p.Up(ctx); err != nil { // an older schema has no place for a tally
		return err
	}
	if err := addMissing(ctx, sqlstore.New(sqlstore.Engine{Write: db, Read: db, Now: time.Now, Explain: explain}), lines); err != nil {
		return err
	}
	return db.Close()
}

// tallyLines reads the file's lines, and which of them are torn, counted from 1.
func tallyLines(path string) (lines []json.RawMessage, torn []int, err error) {
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil, nil
	}
	if err != nil {
		return nil, nil, folderError(err)
	}
	lines = []json.RawMessage{}
	n := 0
	for line := range bytes.Lines(data) {
		n++
		if line = bytes.TrimSpace(line); len(line) == 0 {
			continue
		}
		kept, err := store.Compact(line)
		if err != nil {
			torn = append(torn, n)
			continue
		}
		lines = append(lines, kept)
	}
	return lines, torn, nil
}

// addMissing adds those lines that the ledger has not as often as the file does.
func addMissing(ctx context.Context, l store.Ledger, lines []json.RawMessage) error {
	have, err := l.TallyLines(ctx)
	if err != nil {
		return err
	}
	left := make(map[string]int)
	for _, line := range have {
		left[string(line)]++
	}
	var missing []json.RawMessage
	for _, line := range lines {
		if left[string(line)]--; left[string(line)] < 0 {
			missing = append(missing, line)
		}
	}
	if len(missing) == 0 {
		return nil
	}
	return l.AddTallyLines(ctx, len(have), missing...)
}
