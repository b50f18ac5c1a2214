package web

import (
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"sync"

	"weephole/trace"
)

// Limits of a log: judgement. Ten signals ten times a second fill 64 MB in some
// five hours; packed, a thousandth of that can be sent.
const (
	mostUnpacked = 64 << 20 // bytes
	mostRows     = 500000
	logsKept     = 12 // read logs in memory, each some megabytes at most
)

var errUnpacked = fmt.Errorf("it is larger than %d MB when unpacked; cut it to the run that counts", mostUnpacked>>20)

// bounded reads so many bytes and then fails.
type bounded struct {
	io.Reader
	left int64
}

func (b *bounded) Read(p []byte) (int, error) {
	n, err := b.Reader.Read(p)
	if b.left -= int64(n); b.left < 0 {
		return 0, errUnpacked
	}
	return n, err
}

// unpacked reads a log's text, packed or not, up to the limit.
func unpacked(content []byte) io.Reader {
	r := io.Reader(bytes.NewReader(content))
	if bytes.HasPrefix(content, []byte{0x1f, 0x8b}) {
		z, err := gzip.NewReader(r)
		if err != nil {
			return bytes.NewReader(content) // the reader of logs says what is wrong
		}
		r = z
	}
	return &bounded{r, mostUnpacked}
}

// logs keeps the logs that were read last, so that a page does not read one again.
// A file's content never changes under its name.
type logs struct {
	mu   sync.Mutex
	read map[logKey]*readLog
	turn uint64
}

// logKey is a log of a job, and how its columns are read.
type logKey struct{ job, name, columns string }

type readLog struct {
	trace *trace.Trace
	used  uint64
}

// brought gives a log of a job, reading it where that has not been done. columns says
// how its columns are to be read, nil to have that found out.
func (jn *journal) brought(ctx context.Context, job, name string, columns map[string]string) (*trace.Trace, error) {
	key := logKey{job, name, fmt.Sprint(columns)}
	if t := jn.logs.kept(key); t != nil {
		return t, nil
	}
	_, content, err := jn.store.File(ctx, job, name)
	if err != nil {
		return nil, err
	}
	t, err := readTrace(ctx, content, name, columns)
	if err != nil {
		return nil, err
	}
	jn.logs.keep(key, t)
	return t, nil
}

func readTrace(ctx context.Context, content []byte, name string, columns map[string]string) (*trace.Trace, error) {
	t, err := trace.Read(ctx, unpacked(content), name, trace.ReadOptions{Map: columns})
	if errors.Is(err, errUnpacked) {
		return nil, errUnpacked
	}
	return t, err
}

func (l *logs) kept(key logKey) *trace.Trace {
	l.mu.Lock()
	defer l.mu.Unlock()
	r := l.read[key]
	if r == nil {
		return nil
	}
	l.turn++
	r.used = l.turn
	return r.trace
}

// forget drops a log that was removed, however its columns were read.
func (l *logs) forget(job, name string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	maps.DeleteFunc(l.read, func(k logKey, _ *readLog) bool { return k.job == job && k.name == name })
}

func (l *logs) keep(key logKey, t *trace.Trace) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.turn++
	if l.read == nil {
		l.read = map[logKey]*readLog{}
	}
	l.read[key] = &readLog{t, l.turn}
	for len(l.read) > logsKept {
		oldest, at := logKey{}, l.turn+1
		for key, r := range l.read {
			if r.used < at {
				oldest, at = key, r.used
			}
		}
		delete(l.read, oldest)
	}
}
