package events_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"weephole/trace"
)

// readFile reads one log from a file.
func readFile(t *testing.T, path string, o trace.ReadOptions) (*trace.Trace, error) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	return trace.Read(context.Background(), f, filepath.Base(path), o)
}
