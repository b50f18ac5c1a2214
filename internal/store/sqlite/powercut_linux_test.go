//go:build !race

// The translated C code hands out addresses that the race detector does not know.

package sqlite

import (
	"context"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"
	"unsafe"

	"modernc.org/libc"
	lib "modernc.org/sqlite/lib"

	"weephole/internal/store"
)

// A power cut keeps what was synced and forgets any part of the rest. SQLite is
// run on a file system that passes everything on and writes down each write,
// truncation and sync. From that the files are made as a cut at any moment might
// have left them: all that was written before the file's last sync, and of what
// was written after it any sectors, others not.
//
// What the model leaves out: a disk that lies about its syncs, and names in the
// folder that are not yet on the disk (both files are there before it begins).

// step is one thing that was asked of the file system.
type step struct {
	file  string // "", and confirmed is set: an entry was confirmed
	write bool
	sync  bool
	at    int64
	data  []byte // of a write; a truncation has none

	confirmed string
}

// recorder writes down what SQLite asks of its files.
type recorder struct {
	mu    sync.Mutex
	on    bool
	names map[uintptr]string // by sqlite3_file
	steps []step
}

func (r *recorder) note(s step) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.on {
		r.steps = append(r.steps, s)
	}
}

func (r *recorder) name(file uintptr) string {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.names[file]
}

var (
	tape = &recorder{names: map[uintptr]string{}}
	// functions keeps the Go functions alive that SQLite is handed.
	functions []any
	inner     struct{ open, write, truncate, sync uintptr }
	methods   = map[uintptr]uintptr{} // ours for each of SQLite's: files that need no locks have others
	once      sync.Once
)

// pointer is a function as the translated C code calls it.
func pointer(f any) uintptr {
	functions = append(functions, f)
	return (*[2]uintptr)(unsafe.Pointer(&f))[1]
}

func as[F any](p uintptr) F { return *(*F)(unsafe.Pointer(&struct{ uintptr }{p})) }

func at[T any](p uintptr) *T { return *(**T)(unsafe.Pointer(&p)) }

type (
	openFunc     = func(*libc.TLS, uintptr, uintptr, uintptr, int32, uintptr) int32
	writeFunc    = func(*libc.TLS, uintptr, uintptr, int32, int64) int32
	truncateFunc = func(*libc.TLS, uintptr, int64) int32
	syncFunc     = func(*libc.TLS, uintptr, int32) int32
)

// recording registers the file system "recording" before SQLite's own.
func recording() {
	tls := libc.NewTLS()
	outer := libc.Xmalloc(tls, libc.Tsize_t(unsafe.Sizeof(lib.Tsqlite3_vfs{})))
	v := at[lib.Tsqlite3_vfs](outer)
	*v = *at[lib.Tsqlite3_vfs](lib.Xsqlite3_vfs_find(tls, 0))
	name, err := libc.CString("recording")
	if err != nil {
		panic(err)
	}
	v.FzName, inner.open = name, v.FxOpen
	v.FxOpen = pointer(func(tls *libc.TLS, vfs, path, file uintptr, flags int32, out uintptr) int32 {
		rc := as[openFunc](inner.open)(tls, vfs, path, file, flags, out)
		if rc != lib.SQLITE_OK || path == 0 {
			return rc
		}
		f := at[lib.Tsqlite3_file](file)
		tape.mu.Lock()
		defer tape.mu.Unlock()
		if methods[f.FpMethods] == 0 {
			ours := libc.Xmalloc(tls, libc.Tsize_t(unsafe.Sizeof(lib.Tsqlite3_io_methods{})))
			methods[f.FpMethods] = ours
			m := at[lib.Tsqlite3_io_methods](ours)
			*m = *at[lib.Tsqlite3_io_methods](f.FpMethods)
			inner.write, inner.truncate, inner.sync = m.FxWrite, m.FxTruncate, m.FxSync
			m.FxWrite, m.FxTruncate, m.FxSync = pointer(recordWrite), pointer(recordTruncate), pointer(recordSync)
		}
		f.FpMethods = methods[f.FpMethods]
		tape.names[file] = filepath.Base(libc.GoString(path))
		return rc
	})
	if rc := lib.Xsqlite3_vfs_register(tls, outer, 0); rc != lib.SQLITE_OK {
		panic(fmt.Sprint("register the recording file system: ", rc))
	}
}

func recordWrite(tls *libc.TLS, file, buf uintptr, n int32, offset int64) int32 {
	data := append([]byte(nil), unsafe.Slice(at[byte](buf), n)...)
	rc := as[writeFunc](inner.write)(tls, file, buf, n, offset)
	tape.note(step{file: tape.name(file), write: true, at: offset, data: data})
	return rc
}

func recordTruncate(tls *libc.TLS, file uintptr, n int64) int32 {
	tape.note(step{file: tape.name(file), write: true, at: n})
	return as[truncateFunc](inner.truncate)(tls, file, n)
}

func recordSync(tls *libc.TLS, file uintptr, flags int32) int32 {
	rc := as[syncFunc](inner.sync)(tls, file, flags)
	if rc == lib.SQLITE_OK {
		tape.note(step{file: tape.name(file), sync: true})
	}
	return rc
}

// taped keeps entries with the given setting and gives the files as they were
// before, and all that was asked of the file system.
func taped(t *testing.T, synchronous string) (base map[string][]byte, steps []step) {
	t.Helper()
	once.Do(recording)
	vfs = "recording"
	k := opened(t)
	vfs = ""
	for _, s := range []string{"PRAGMA synchronous = " + synchronous, "PRAGMA wal_autocheckpoint = 25"} { // often into the database itself
		if _, err := k.write.Exec(s); err != nil {
			t.Fatal(err)
		}
	}
	fill(t, k)
	// What is there so far counts as on the disk.
	base = map[string][]byte{}
	for _, ending := range []string{"", "-wal"} {
		data, err := os.ReadFile(filepath.Join(k.dir, FileName+ending))
		if err != nil {
			t.Fatal(err)
		}
		base[FileName+ending] = data
	}
	tape.mu.Lock()
	tape.on, tape.steps = true, nil
	tape.mu.Unlock()
	for i := range 80 {
		id := fmt.Sprint("n", i)
		body := fmt.Sprintf(`{"text":"%s"}`, strings.Repeat("x", i*97%3000))
		if _, _, err := k.Append(t.Context(), store.Entry{Job: "old", ID: id, Kind: store.Noted, Body: []byte(body)}); err != nil {
			t.Fatal(err)
		}
		tape.note(step{confirmed: id})
		if i%10 == 0 {
			if _, err := k.PutFile(t.Context(), "old", store.File{Name: id}, []byte(strings.Repeat("y", 20_000))); err != nil {
				t.Fatal(err)
			}
		}
	}
	tape.mu.Lock()
	defer tape.mu.Unlock()
	tape.on = false
	return base, tape.steps
}

// sector is what a disk writes whole or not at all, bytes.
const sector = 512

// cut makes the files as a power cut after so many steps might leave them, and
// tells what was confirmed by then.
func cut(base map[string][]byte, steps []step, random *rand.Rand) (files map[string][]byte, confirmed []string) {
	files = maps.Clone(base)
	for name := range files {
		files[name] = append([]byte(nil), files[name]...)
	}
	synced := map[string]int{}
	for i, s := range steps {
		if s.sync {
			synced[s.file] = i
		}
	}
	for i, s := range steps {
		switch {
		case s.confirmed != "":
			confirmed = append(confirmed, s.confirmed)
		case s.write && files[s.file] != nil:
			files[s.file] = s.onto(files[s.file], func() bool { return i < synced[s.file] || random.IntN(2) == 0 })
		}
	}
	return files, confirmed
}

// onto does a write, sector by sector as far as each is kept.
func (s *step) onto(file []byte, kept func() bool) []byte {
	if s.data == nil {
		if kept() && s.at < int64(len(file)) {
			file = file[:s.at]
		}
		return file
	}
	for from := 0; from < len(s.data); {
		to := min(len(s.data), from+sector-int(s.at+int64(from))%sector)
		if kept() {
			if need := int(s.at) + to; need > len(file) {
				file = append(file, make([]byte, need-len(file))...)
			}
			copy(file[int(s.at)+from:], s.data[from:to])
		}
		from = to
	}
	return file
}

// missing opens what a cut has left and gives the confirmed entries that are not
// there; err says that it does not even open whole.
func missing(t *testing.T, files map[string][]byte, confirmed []string) (lost []string, err error) {
	t.Helper()
	dir := t.TempDir()
	for name, data := range files {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	k, err := Open(context.Background(), dir, time.Now)
	if err != nil {
		return nil, err
	}
	defer k.Close()
	if err := k.Check(t.Context()); err != nil {
		return nil, err
	}
	if err := intact(t.Context(), k.write); err != nil {
		return nil, err
	}
	entries, err := k.Entries(t.Context(), "old", 0)
	if err != nil {
		return nil, err
	}
	there := map[string]bool{}
	for i, e := range entries {
		if e.Seq != int64(i+1) {
			return nil, fmt.Errorf("entry %d has number %d", i+1, e.Seq)
		}
		there[e.ID] = true
	}
	for _, id := range confirmed {
		if !there[id] {
			lost = append(lost, id)
		}
	}
	return lost, nil
}

// WEEPHOLE_CUTS says how many cuts are tried.
func TestAPowerCutAtAnyMomentLosesNothingConfirmed(t *testing.T) {
	cuts := 40
	if n, err := strconv.Atoi(os.Getenv("WEEPHOLE_CUTS")); err == nil {
		cuts = n
	}
	base, steps := taped(t, "FULL")
	random := rand.New(rand.NewPCG(19, 16))
	for range cuts {
		n := random.IntN(len(steps) + 1)
		files, confirmed := cut(base, steps[:n], random)
		if lost, err := missing(t, files, confirmed); err != nil || len(lost) > 0 {
			t.Fatalf("a cut after %d of %d steps: %d of %d confirmed entries lost, %v", n, len(steps), len(lost), len(confirmed), err)
		}
	}
	t.Logf("%d cuts over %d steps of the file system", cuts, len(steps))
}

// The model must be able to find a loss: with one sync fewer a commit, as some
// programs run SQLite, it does.
func TestThePowerCutModelFindsALossWhereSyncsAreLeftOut(t *testing.T) {
	base, steps := taped(t, "NORMAL")
	random := rand.New(rand.NewPCG(19, 17))
	for range 400 {
		files, confirmed := cut(base, steps[:random.IntN(len(steps)+1)], random)
		if lost, err := missing(t, files, confirmed); err != nil || len(lost) > 0 {
			return
		}
	}
	t.Error("no cut lost anything although commits were not synced")
}
