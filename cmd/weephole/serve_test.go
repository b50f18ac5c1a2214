package main

import (
	"bufio"
	"context"
	"errors"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"weephole/internal/exit"
)

// openServe opens a bench on a free port and gives its address; the test's end
// closes it as Ctrl-C does.
func openServe(t *testing.T, args ...string) string {
	t.Helper()
	env, _, errs := madeUp()
	r, w := io.Pipe()
	env.Out, env.Now = w, time.Now
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan int, 1)
	go func() {
		done <- run(ctx, append([]string{"serve", "--listen", "127.0.0.1:0", "--fine", "0"}, args...), env)
	}()
	lines := bufio.NewScanner(r)
	if !lines.Scan() {
		t.Fatalf("the bench did not open: %s", errs)
	}
	go io.Copy(io.Discard, r)
	t.Cleanup(func() {
		cancel()
		if status := <-done; status != exit.Done {
			t.Errorf("closing the bench gave status %d: %s", status, errs)
		}
	})
	_, url, _ := strings.Cut(lines.Text(), "http://")
	return "http://" + strings.TrimSuffix(url, "/")
}

func TestTheBenchOpensBacksUpAndIsRestored(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "data")
	url := openServe(t, "--data", dir)
	res, err := http.Post(url+"/api/jobs", "application/json", strings.NewReader(`{"weephole":1,"job":"one","complaint":{"signs":["overheats"]}}`))
	if err != nil {
		t.Fatal(err)
	}
	res.Body.Close()
	if res.StatusCode != http.StatusCreated {
		t.Fatalf("opening a job: %s", res.Status)
	}
	copied := filepath.Join(t.TempDir(), "copy.db")
	if status, out, errs := call(t, "backup", copied, "--data", dir); status != exit.Done || strings.TrimSpace(out) != copied {
		t.Fatalf("backup: %d %s%s", status, out, errs)
	}
	fresh := filepath.Join(t.TempDir(), "fresh")
	if status, out, errs := call(t, "restore", copied, "--data", fresh); status != exit.Done || !strings.Contains(out, "1 job, 1 entry, 0 logs and photos") {
		t.Fatalf("restore: %d %s%s", status, out, errs)
	}
	again := openServe(t, "--data", fresh)
	res, err = http.Get(again + "/api/jobs")
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	if body, _ := io.ReadAll(res.Body); !strings.Contains(string(body), `"name":"one"`) {
		t.Errorf("the restored bench has %s", body)
	}
}

func TestServeBackupAndRestoreRefusePlainly(t *testing.T) {
	dir := t.TempDir()
	junk := filepath.Join(dir, "junk.db")
	if err := os.WriteFile(junk, []byte(strings.Repeat("no database ", 100)), 0o600); err != nil {
		t.Fatal(err)
	}
	used := filepath.Join(t.TempDir(), "used")
	public := t.TempDir()
	if err := errors.Join(os.Chmod(public, 0o755), os.WriteFile(filepath.Join(public, "letter.txt"), nil, 0o644)); err != nil {
		t.Fatal(err)
	}
	if status, _, errs := call(t, "restore", junk, "--data", used); status != exit.Input || !strings.Contains(errs, "damaged") {
		t.Errorf("restoring junk: %d %s", status, errs)
	}
	for _, c := range []struct {
		name   string
		args   []string
		status int
		errs   string
	}{
		{"no open bench on the network without a passphrase", []string{"serve", "--listen", "0.0.0.0:0", "--data", used}, exit.Input, "--passphrase-file"},
		{"a name for others without a passphrase", []string{"serve", "--listen", "127.0.0.1:0", "--host", "bench.shop", "--data", used}, exit.Input, "--passphrase-file"},
		{"open, and a name for others", []string{"serve", "--listen", "127.0.0.1:0", "--open", "--host", "bench.shop", "--data", used}, exit.Input, "--open is for this machine alone"},
		{"a proxy that is no address", []string{"serve", "--proxy", "the box", "--data", used}, exit.Input, "127.0.0.1"},
		{"an address without a port", []string{"serve", "--listen", "localhost"}, exit.Input, "an address and a port"},
		{"a passphrase file that is not there", []string{"serve", "--listen", "127.0.0.1:0", "--data", used, "--passphrase-file", filepath.Join(dir, "no")}, exit.Input, "passphrase-file"},
		{"a passphrase that is too short", []string{"serve", "--listen", "127.0.0.1:0", "--data", used, "--passphrase-file", junkShort(t)}, exit.Input, "8 characters"},
		{"a data folder below a file", []string{"serve", "--listen", "127.0.0.1:0", "--data", filepath.Join(junk, "x")}, exit.Failed, "cannot be written to"},
		{"a data folder open to others", []string{"serve", "--listen", "127.0.0.1:0", "--data", public}, exit.Input, "--shared"},
		{"a backup of nothing", []string{"backup", filepath.Join(dir, "b.db"), "--data", filepath.Join(dir, "none")}, exit.Input, "no such file"},
		{"a backup over a file", []string{"backup", junk, "--data", used}, exit.Input, "exists"},
		{"keep with a name", []string{"backup", "x.db", "--keep", "3"}, exit.Input, "--keep"},
		{"restore over jobs", []string{"restore", junk, "--data", used}, exit.Input, "empty folder"},
		{"restore of nothing", []string{"restore", filepath.Join(dir, "no.db"), "--data", filepath.Join(dir, "n")}, exit.Input, "no such file"},
	} {
		status, _, errs := call(t, c.args...)
		if status != c.status || !strings.Contains(errs, c.errs) {
			t.Errorf("%s: %d %q; want %d and %q", c.name, status, errs, c.status, c.errs)
		}
	}
}

func TestAPassphraseOnceSetIsAskedOnTheOwnMachineToo(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "pass.txt")
	if err := os.WriteFile(file, []byte("grease and rags\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args   []string
		status int
	}{{[]string{"--passphrase-file", file}, http.StatusUnauthorized}, {nil, http.StatusUnauthorized}, {[]string{"--open"}, http.StatusOK}} {
		t.Run(strings.Join(append([]string{"serve"}, c.args...), " "), func(t *testing.T) {
			url := openServe(t, append([]string{"--data", filepath.Join(dir, "data")}, c.args...)...)
			res, err := http.Get(url + "/api/jobs")
			if err != nil {
				t.Fatal(err)
			}
			res.Body.Close()
			if res.StatusCode != c.status {
				t.Errorf("the jobs: %d, want %d", res.StatusCode, c.status)
			}
		})
	}
}

func junkShort(t *testing.T) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "short")
	if err := os.WriteFile(name, []byte("short\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

func TestDatedBackupsAreThinned(t *testing.T) {
	dir := t.TempDir()
	folder := filepath.Join(dir, "backups")
	openServe(t, "--data", dir)
	if err := os.MkdirAll(folder, 0o700); err != nil {
		t.Fatal(err)
	}
	for _, old := range []string{"weephole-20200101-000000.db", "weephole-20290101-000000.db", "other.db", "weephole-20200101-000000.db.weephole-part"} {
		if err := os.WriteFile(filepath.Join(folder, old), nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if status, _, errs := call(t, "backup", "--data", dir, "--keep", "2"); status != exit.Done {
		t.Fatalf("backup: %d %s", status, errs)
	}
	list, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range list {
		names = append(names, e.Name())
	}
	if got := strings.Join(names, " "); got != "other.db weephole-20260102-030405.db weephole-20290101-000000.db" {
		t.Errorf("left: %s", got)
	}
}
