package sqlite_test

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"weephole/internal/store"
	"weephole/internal/store/sqlite"
)

// killEnv turns the test's own program into a worker that is there to be killed:
// the kind of work, a tab, and the folder.
const killEnv = "WEEPHOLE_TEST_WORKER"

func TestMain(m *testing.M) {
	if kind, dir, worker := strings.Cut(os.Getenv(killEnv), "\t"); worker {
		fmt.Fprintln(os.Stderr, work(kind, dir))
		os.Exit(1)
	}
	os.Exit(m.Run())
}

// Sizes of what a worker takes in: large enough that a kill often falls inside.
const (
	takenEntries = 30
	takenFiles   = 3
	fileSize     = 200_000 // bytes
)

// work does one kind of work over and over and prints what was confirmed to it.
func work(kind, dir string) error {
	ctx := context.Background()
	say := func(what string) { fmt.Println(what) }
	run := strconv.Itoa(os.Getpid())
	if kind == "restore" || kind == "migrate" || kind == "backup" {
		say("ready")
		for i := 0; ; i++ {
			to := filepath.Join(dir, kind, fmt.Sprint(run, "-", i))
			if err := once(ctx, kind, dir, to); err != nil {
				return err
			}
			say(to)
		}
	}
	k, err := sqlite.Open(ctx, dir, time.Now)
	if err != nil {
		return err
	}
	say("ready")
	for i := 0; ; i++ {
		name := fmt.Sprint(run, "-", i)
		switch kind {
		case "entry":
			_, _, err = k.Append(ctx, store.Entry{Job: "j", ID: name, Kind: store.Noted, Body: []byte(`{"text":"under load"}`)})
		case "upload":
			_, _, _, err = k.Bring(ctx, store.Entry{Job: "j", ID: name}, store.File{Name: name}, content(name))
		case "import":
			entries, files := taken(name)
			_, err = k.Take(ctx, name, entries, files, func(i int) ([]byte, error) { return content(files[i].Name), nil })
		}
		if err != nil {
			return err
		}
		say(name)
	}
}

// once does one piece of the kinds that each have a folder or file of their own.
func once(ctx context.Context, kind, dir, to string) error {
	switch kind {
	case "backup":
		return sqlite.Backup(ctx, dir, filepath.Join(dir, "backups", filepath.Base(to)+".db"))
	case "restore":
		_, err := sqlite.Restore(ctx, filepath.Join(dir, "backups", "first.db"), to)
		return err
	}
	if err := os.MkdirAll(to, 0o700); err != nil {
		return err
	}
	old, err := os.ReadFile(filepath.Join("testdata", "schema1.db"))
	if err == nil {
		err = os.WriteFile(filepath.Join(to, "weephole.passing"), old, 0o600)
	}
	if err == nil {
		err = os.Rename(filepath.Join(to, "weephole.passing"), filepath.Join(to, sqlite.FileName))
	}
	if err != nil {
		return err
	}
	k, err := sqlite.Open(ctx, to, time.Now)
	if err != nil {
		return err
	}
	return k.Close()
}

// content is what a file of that name holds.
func content(name string) []byte { return bytes.Repeat([]byte(name+"\n"), fileSize/(len(name)+1)) }

func taken(job string) (entries []store.Entry, files []store.File) {
	entries = append(entries, store.Entry{Job: job, ID: "o", Kind: store.Opened, Body: []byte(`{"weephole":1}`)})
	for i := range takenEntries {
		entries = append(entries, note(job, fmt.Sprint("n", i)))
	}
	for i := range takenFiles {
		files = append(files, store.File{Name: fmt.Sprintf("%s-%d.csv", job, i)})
	}
	return entries, files
}

// killed runs a worker, kills it some time after it began, and gives what was
// confirmed until then.
func killed(t *testing.T, kind, dir string, after time.Duration) (confirmed []string) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), killEnv+"="+kind+"\t"+dir)
	var errs bytes.Buffer
	cmd.Stderr = &errs
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewReader(out)
	if first, err := lines.ReadString('\n'); err != nil || first != "ready\n" {
		t.Fatalf("the worker for %s did not begin: %q, %v; %s", kind, first, err, errs.String())
	}
	dead := time.AfterFunc(after, func() { cmd.Process.Kill() }) // SIGKILL: nothing is cleaned up
	defer dead.Stop()
	for {
		line, err := lines.ReadString('\n')
		if err != nil { // a line without its end was not confirmed
			if err != io.EOF {
				t.Fatal(err)
			}
			break
		}
		confirmed = append(confirmed, strings.TrimSuffix(line, "\n"))
	}
	if err := cmd.Wait(); err != nil && errs.Len() > 0 {
		t.Fatalf("the worker for %s failed by itself: %s", kind, errs.String())
	}
	return confirmed
}

// A worker is killed at random moments while it enters, uploads, imports, backs up,
// restores or migrates. What was confirmed is there, and nothing is there by half.
// WEEPHOLE_KILLS says how often; "make torture" takes 1,000.
func TestKilledAtAnyMomentNothingIsLostOrHalf(t *testing.T) {
	rounds := 24
	if n, err := strconv.Atoi(os.Getenv("WEEPHOLE_KILLS")); err == nil {
		rounds = n
	} else if testing.Short() {
		rounds = 6
	}
	dir := t.TempDir()
	shop(t, dir).Close()
	if err := os.MkdirAll(filepath.Join(dir, "backups"), 0o700); err != nil {
		t.Fatal(err)
	}
	// What is restored is of some size, so that restoring takes some time.
	k := openOnce(t, dir)
	for i := range 10 {
		if _, err := k.PutFile(t.Context(), "j", store.File{Name: fmt.Sprint("first", i)}, content(fmt.Sprint("first", i))); err != nil {
			t.Fatal(err)
		}
	}
	if err := k.Backup(t.Context(), filepath.Join(dir, "backups", "first.db")); err != nil {
		t.Fatal(err)
	}
	k.Close()
	random := rand.New(rand.NewPCG(16, uint64(rounds)))
	longest := map[string]time.Duration{"entry": 120 * time.Millisecond, "upload": 120 * time.Millisecond, "import": 120 * time.Millisecond, "backup": 600 * time.Millisecond, "restore": 600 * time.Millisecond, "migrate": 600 * time.Millisecond} // judgement: some pieces of each kind fit in
	total := map[string]int{}
	check := map[string]func(*testing.T, string, []string){
		"entry": entered, "upload": uploaded, "import": imported, "backup": backedUp, "restore": restored, "migrate": migrated,
	}
	kinds := []string{"entry", "upload", "import", "backup", "restore", "migrate"}
	for round := range rounds {
		kind := kinds[round%len(kinds)]
		confirmed := killed(t, kind, dir, time.Duration(random.Int64N(int64(longest[kind]))))
		total[kind] += len(confirmed)
		check[kind](t, dir, confirmed)
		if t.Failed() {
			t.Fatalf("after kill %d, during %s", round+1, kind)
		}
		if (round+1)%100 == 0 {
			t.Logf("%d kills so far", round+1)
		}
	}
	t.Logf("%d kills; confirmed and found again: %v", rounds, total)
}

func openOnce(t *testing.T, dir string) *sqlite.FileKeeper {
	t.Helper()
	k, err := sqlite.Open(t.Context(), dir, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	if err := k.Check(t.Context()); err != nil {
		t.Fatal(err)
	}
	return k
}

func entered(t *testing.T, dir string, confirmed []string) {
	k := openOnce(t, dir)
	defer k.Close()
	entries, err := k.Entries(t.Context(), "j", 0)
	if err != nil {
		t.Fatal(err)
	}
	times := map[string]int{}
	for i, e := range entries {
		times[e.ID]++
		if e.Seq != int64(i+1) {
			t.Errorf("entry %d has number %d", i+1, e.Seq)
		}
	}
	for _, id := range confirmed {
		if times[id] != 1 {
			t.Errorf("entry %s is there %d times", id, times[id])
		}
	}
}

func uploaded(t *testing.T, dir string, confirmed []string) {
	k := openOnce(t, dir)
	defer k.Close()
	entries, err1 := k.Entries(t.Context(), "j", 0)
	files, err2 := k.Files(t.Context(), "j")
	if err := errors.Join(err1, err2); err != nil {
		t.Fatal(err)
	}
	told := map[string]bool{}
	for _, e := range entries {
		if e.Kind == store.Brought {
			told[e.ID] = true
		}
	}
	for _, f := range files {
		if !strings.HasPrefix(f.Name, "first") && !told[f.Name] {
			t.Errorf("file %s is there and no entry tells of it", f.Name)
		}
		delete(told, f.Name)
	}
	for name := range told {
		t.Errorf("an entry tells of file %s, which is not there", name)
	}
	for _, name := range confirmed {
		if _, got, err := k.File(t.Context(), "j", name); err != nil || !bytes.Equal(got, content(name)) {
			t.Errorf("file %s: %d bytes, %v", name, len(got), err)
		}
	}
}

func imported(t *testing.T, dir string, confirmed []string) {
	k := openOnce(t, dir)
	defer k.Close()
	list, err := k.Jobs(t.Context(), store.Query{Limit: 1 << 20})
	if err != nil {
		t.Fatal(err)
	}
	there := map[string]bool{}
	for _, j := range list {
		if j.ID == "j" {
			continue
		}
		there[j.ID] = true
		files, err := k.Files(t.Context(), j.ID)
		if err != nil || j.Seq != 1+takenEntries || len(files) != takenFiles {
			t.Errorf("job %s has %d entries and %d files (%v): it is half there", j.ID, j.Seq, len(files), err)
		}
	}
	for _, job := range confirmed {
		if !there[job] {
			t.Errorf("job %s is not there", job)
		}
	}
}

func backedUp(t *testing.T, dir string, confirmed []string) {
	folder := filepath.Join(dir, "backups")
	if err := sqlite.Backup(t.Context(), dir, filepath.Join(folder, "next.db")); err != nil { // clears what was left
		t.Fatal(err)
	}
	list, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	there := map[string]bool{}
	for _, e := range list {
		path := filepath.Join(folder, e.Name())
		if filepath.Ext(path) != ".db" {
			t.Errorf("%s was left", path)
		}
		there[strings.TrimSuffix(e.Name(), ".db")] = true
		if e.Name() == "first.db" {
			continue
		}
		to := filepath.Join(t.TempDir(), "r")
		if _, err := sqlite.Restore(t.Context(), path, to); err != nil {
			t.Errorf("backup %s: %v", e.Name(), err)
		}
		os.RemoveAll(to) // a thousand kills would fill the disk
		os.Remove(path)
	}
	for _, path := range confirmed {
		if !there[filepath.Base(path)] {
			t.Errorf("backup %s is not there", path)
		}
	}
}

func restored(t *testing.T, dir string, confirmed []string) {
	done := map[string]bool{}
	for _, path := range confirmed {
		done[path] = true
	}
	list, _ := filepath.Glob(filepath.Join(dir, "restore", "*"))
	for _, to := range list {
		_, err := os.Stat(filepath.Join(to, sqlite.FileName))
		whole := err == nil
		if done[to] && !whole {
			t.Errorf("%s was restored and is not there", to)
		}
		k := openOnce(t, to) // a bench would open it: all is there, or it is a new shop
		files, err := k.Files(t.Context(), "j")
		if whole && (err != nil || len(files) != 10) {
			t.Errorf("%s is half restored: %d files, %v", to, len(files), err)
		}
		k.Close()
		if left, _ := filepath.Glob(filepath.Join(to, ".weephole-*")); len(left) > 0 {
			t.Errorf("left over: %v", left)
		}
		os.RemoveAll(to)
	}
}

func migrated(t *testing.T, dir string, _ []string) {
	list, _ := filepath.Glob(filepath.Join(dir, "migrate", "*"))
	for _, to := range list {
		if _, err := os.Stat(filepath.Join(to, sqlite.FileName)); err != nil {
			os.RemoveAll(to) // killed before there was anything to migrate
			continue
		}
		k := openOnce(t, to)
		entries, err := k.Entries(t.Context(), "old", 0)
		if err != nil || len(entries) != 4 {
			t.Errorf("%s: %d entries, %v", to, len(entries), err)
		}
		if _, err := k.TallyLines(t.Context()); err != nil {
			t.Errorf("%s: %v", to, err)
		}
		k.Close()
		os.RemoveAll(to)
	}
}
