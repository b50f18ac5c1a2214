package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"weephole/internal/exit"
	"weephole/internal/store"
	"weephole/internal/store/sqlite"
	"weephole/internal/tally"
)

// tallyName is the tally's file where there is no database.
const tallyName = "tally.jsonl"

// tallyBook is where a tally is kept.
type tallyBook interface {
	Read() (*tally.Tally, error)
	Append(tally.Entry) error
	Name() string
	Close() error
}

// openTally opens the tally in a file. In a data folder whose database keeps the
// tally that is meant, because the bench has taken the file in.
func openTally(ctx context.Context, env environment, name string) (tallyBook, error) {
	dir := filepath.Dir(name)
	if _, err := os.Stat(name); err == nil || filepath.Base(name) != tallyName {
		return &fileBook{name, env.Err}, nil
	}
	k, err := sqlite.Visit(ctx, dir, env.Now)
	switch {
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, sqlite.ErrOlder):
		return &fileBook{name, env.Err}, nil
	case err != nil:
		return nil, err
	}
	return &storeBook{ctx, k, filepath.Join(dir, sqlite.FileName), k.Close}, nil
}

// storeBook is a tally in a store, to which others may add meanwhile.
type storeBook struct {
	ctx   context.Context
	store store.Ledger
	name  string
	close func() error
}

func (b *storeBook) Name() string { return b.name }
func (b *storeBook) Close() error { return b.close() }

// Read implements tallyBook and web.TallyKeeper.
func (b *storeBook) Read() (*tally.Tally, error) {
	t, _, err := b.read()
	return t, err
}

func (b *storeBook) read() (*tally.Tally, int, error) {
	lines, err := b.store.TallyLines(b.ctx)
	if err != nil {
		return nil, 0, err
	}
	var text bytes.Buffer
	for _, l := range lines {
		text.Write(l)
		text.WriteByte('\n')
	}
	t, err := tally.Read(&text, b.name)
	return t, len(lines), err
}

// mostTries is how often a line is tried when others are quicker: judgement.
const mostTries = 20

// Append implements tallyBook and web.TallyKeeper. Whether the line still makes sense
// is asked again of what others have added meanwhile.
func (b *storeBook) Append(e tally.Entry) error {
	for range mostTries {
		t, n, err := b.read()
		if err != nil {
			return err
		}
		if e.Undone {
			e, err = t.Undo(e.Job, e.Why)
		} else {
			e, err = t.Add(e)
		}
		if err != nil {
			return err
		}
		line, err := json.Marshal(e)
		if err != nil {
			return err
		}
		if err = b.store.AddTallyLines(b.ctx, n, line); !errors.Is(err, store.ErrOvertaken) {
			return err
		}
	}
	return fmt.Errorf("add to the tally: others were quicker %d times", mostTries)
}

// fileBook is a tally in a file of lines.
type fileBook struct {
	name string
	said io.Writer // where torn lines are named
}

func (b *fileBook) Name() string { return b.name }
func (b *fileBook) Close() error { return nil }

// Read implements tallyBook and names the lines that it left out.
func (b *fileBook) Read() (*tally.Tally, error) {
	t, err := readTally(b.name)
	if err != nil {
		return nil, err
	}
	for _, torn := range t.Torn {
		fmt.Fprintf(b.said, "%s:%d: left out: %s\n", b.name, torn.Line, torn.Why)
	}
	return t, nil
}

// Append implements tallyBook.
func (b *fileBook) Append(e tally.Entry) error { return appendTally(b.name, e) }

// readTally reads the tally; a file that is not there yet is an empty one.
func readTally(name string) (*tally.Tally, error) {
	data, err := os.ReadFile(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return &tally.Tally{}, nil
	case err != nil:
		return nil, exit.Wrong(err)
	}
	t, err := tally.Read(bytes.NewReader(data), name)
	if err != nil {
		return nil, exit.Wrong(err)
	}
	return t, nil
}

// appendTally writes one line at the end of the tally and waits until it is on the
// disk. After a line that was torn off it begins a new one.
func appendTally(name string, e tally.Entry) error {
	const private, readable = 0o700, 0o600
	if err := os.MkdirAll(filepath.Dir(name), private); err != nil {
		return exit.Wrong(err)
	}
	f, err := os.OpenFile(name, os.O_APPEND|os.O_CREATE|os.O_RDWR, readable)
	if err != nil {
		return exit.Wrong(err)
	}
	defer f.Close()
	var line bytes.Buffer
	if i, err := f.Stat(); err == nil && i.Size() > 0 {
		last := []byte{0}
		if _, err := f.ReadAt(last, i.Size()-1); err != nil {
			return fmt.Errorf("write tally: %w", err)
		}
		if last[0] != '\n' {
			line.WriteByte('\n')
		}
	}
	if err := tally.WriteEntry(&line, e); err != nil {
		return err
	}
	if _, err := f.Write(line.Bytes()); err != nil { // at once, so that it is torn as seldom as can be
		return fmt.Errorf("write tally: %w", err)
	}
	if err := f.Sync(); err != nil {
		return fmt.Errorf("write tally: %w", err)
	}
	return nil
}
