package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"weephole/internal/exit"
	"weephole/internal/store"
	"weephole/internal/store/pgtest"
	"weephole/internal/store/sqlite"
)

// pg is the server of the tests that need one.
var pg pgtest.Shared

// mainEnv turns the test's own program into the program itself.
const mainEnv = "WEEPHOLE_TEST_MAIN"

func TestMain(m *testing.M) {
	if os.Getenv(mainEnv) != "" {
		main()
		return
	}
	// A command keeps the collector busy so that one job fits into little memory; the
	// engines that many tests share would fill that alone.
	os.Setenv("GOMEMLIMIT", "off")
	code := m.Run()
	pg.Stop()
	os.RemoveAll(closedFolder.dir)
	os.Exit(code)
}

// postgresAt is the address of an empty database.
func postgresAt(t *testing.T) string {
	t.Helper()
	return pg.For(t).Database(t)
}

// fill puts jobs with everything into a data folder.
func fill(t *testing.T, dir string, jobs int) {
	t.Helper()
	k, err := sqlite.Open(t.Context(), dir, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer k.Close()
	for i := range jobs {
		job := fmt.Sprintf("job-%03d", i)
		entries := []store.Entry{
			{Job: job, ID: "o", Who: "Ada", Kind: store.Opened, Body: json.RawMessage(`{"weephole":1,"job":"` + job + `","vehicle":{"name":"ก blue <estate>"}}`)},
			{Job: job, ID: "f", Who: "Bo", Kind: store.Found, Body: json.RawMessage(`{"check":"level-cold","found":"low","note":"\u0000 an inch"}`)},
			{Job: job, ID: "s", Who: "Bo", Kind: store.Struck, Finding: "f", Body: json.RawMessage(`{"why":"other car"}`)},
		}
		files := []store.File{{Name: "b.csv", Type: "text/csv"}, {Name: "a.csv", Type: "text/csv"}, {Name: "valve.png", Type: "image/png"}}
		if _, err := k.Take(t.Context(), job, entries, files, func(i int) ([]byte, error) { return bytes.Repeat([]byte{0, byte(i), 0xff}, 400), nil }); err != nil {
			t.Fatal(err)
		}
		if err := k.KeepAnswer(t.Context(), job, store.Answer{Seq: 3, Stage: "fine", Verdict: store.Verdict{State: store.VerdictSettled, Cause: "fan-dead"}}); err != nil {
			t.Fatal(err)
		}
	}
	for _, err := range []error{
		k.Set(t.Context(), "units", "us"),
		k.AddPerson(t.Context(), store.Person{ID: "p1", Name: "Ada", Secret: "a hash", Role: store.Owner}),
		k.Invite(t.Context(), store.Invitation{Token: "t", Name: "Cy", Role: store.Viewer, Inviter: "Ada", Expires: time.Now().Add(time.Hour)}),
		k.PutSession(t.Context(), store.Session{Token: "phone", Who: "Bo", Person: "p1", Expires: time.Now().Add(time.Hour)}),
		k.AddTallyLines(t.Context(), 0, json.RawMessage(`{"tally":1,"job":"a","causes":["fan-dead"]}`), json.RawMessage(`{"tally":1,"job":"b","causes":["fan-dead"]}`)),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
}

// must runs a command line that has to succeed, and gives its answer.
func must(t *testing.T, args ...string) string {
	t.Helper()
	status, out, errs := call(t, args...)
	if status != exit.Done {
		t.Fatalf("%s: %d %s%s", args[0], status, out, errs)
	}
	return out
}

func TestAStoreMovesToAServerAndBackWithEverythingAndIsBackedUpAndRestoredOnBoth(t *testing.T) {
	address := postgresAt(t)
	here, back, third := filepath.Join(t.TempDir(), "here"), filepath.Join(t.TempDir(), "back"), filepath.Join(t.TempDir(), "third")
	fill(t, here, 45)
	const all = "45 jobs, 135 entries, 135 logs and photos, 2 lines of the tally, 1 setting, 1 person, 1 device let in"
	file := filepath.Join(t.TempDir(), "address")
	if err := os.WriteFile(file, []byte(address+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	copied := filepath.Join(t.TempDir(), "copy.db")
	other := pg.For(t).Database(t)
	for _, step := range []struct{ args []string }{
		{[]string{"move", here, "@" + file}},
		{[]string{"move", address, back}},
		{[]string{"backup", copied, "--store-file", file}},
		{[]string{"restore", copied, "--data", third}},
		{[]string{"restore", copied, "--store", other}},
	} {
		out := must(t, step.args...)
		if step.args[0] != "backup" && !strings.Contains(out, all) {
			t.Errorf("%v said %q, want %q", step.args, out, all)
		}
	}
	if i, err := os.Stat(copied); err != nil || i.Mode().Perm() != 0o600 {
		t.Errorf("the backup: %v, %v", i.Mode(), err)
	}
	for _, args := range [][]string{{"move", here, "@" + file}, {"move", here, back}, {"restore", copied, "--store", address}} {
		if status, _, errs := call(t, args...); status != exit.Input || !strings.Contains(errs, "something in it already") {
			t.Errorf("%v into one that is not empty: %d %s", args, status, errs)
		}
	}
}

func TestAMoveThatWasBrokenOffGoesOn(t *testing.T) {
	address := postgresAt(t)
	here := filepath.Join(t.TempDir(), "here")
	fill(t, here, 45)
	must(t, "move", here, address)
	// As if it had been killed on the way: some jobs are there whole, others not at all.
	for _, s := range []string{
		"ALTER TABLE entries DISABLE TRIGGER ALL", "ALTER TABLE files DISABLE TRIGGER ALL", "ALTER TABLE jobs DISABLE TRIGGER ALL",
		"DELETE FROM answers WHERE job > 'job-030'", "DELETE FROM files WHERE job > 'job-030'", "DELETE FROM entries WHERE job > 'job-030'", "DELETE FROM jobs WHERE id > 'job-030'",
		"INSERT INTO settings (shop, key, value) VALUES ('main', 'moving', '')",
	} {
		pg.For(t).Exec(t, address, s)
	}
	if status, _, errs := call(t, "serve", "--listen", "127.0.0.1:0", "--store", address); status != exit.Input || !strings.Contains(errs, "filled only in part") {
		t.Errorf("a bench on half a store: %d %s", status, errs)
	}
	if out := must(t, "move", here, address); !strings.Contains(out, "45 jobs, 135 entries") {
		t.Errorf("the second run said %q", out)
	}
}

func TestTwoBenchesServeOneStoreOnAServer(t *testing.T) {
	address := postgresAt(t)
	a, b := openServe(t, "--store", address), openServe(t, "--store", address)
	res, err := http.Post(a+"/api/jobs", "application/json", strings.NewReader(`{"weephole":1,"job":"one","complaint":{"signs":["overheats"]}}`))
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	var made struct{ ID string }
	if err := json.NewDecoder(res.Body).Decode(&made); err != nil {
		t.Fatal(err)
	}
	got, err := http.Get(b + "/api/jobs/" + made.ID)
	if err != nil {
		t.Fatal(err)
	}
	got.Body.Close()
	if got.StatusCode != http.StatusOK {
		t.Errorf("the other bench: %s", got.Status)
	}
}

// checked is "weephole store check" as a process of its own, because it ends its process.
func checked(address string) *exec.Cmd {
	cmd := exec.Command(os.Args[0], "store", "check", address)
	cmd.Env = append(os.Environ(), mainEnv+"=1")
	return cmd
}

// schemas are the names of a database's schemas that the check may have made.
func schemas(t *testing.T, address string) []string {
	t.Helper()
	c, err := pgx.Connect(t.Context(), address)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close(t.Context())
	rows, err := c.Query(t.Context(), "SELECT nspname FROM pg_namespace WHERE nspname LIKE 'weephole%' ORDER BY 1")
	if err != nil {
		t.Fatal(err)
	}
	names, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	return names
}

func TestTheStoreCheckRunsTheSuite(t *testing.T) {
	if testing.Short() {
		t.Skip("it runs the whole suite once more")
	}
	address := postgresAt(t)
	kept := []string{"weephole_check_1", "weephole_check_4000000000_0123abcd_1", "weephole_x"} // not the check's, or of one that still runs
	for _, name := range append([]string{"weephole_check_1000000000_0123abcd_3"}, kept...) {
		pg.For(t).Exec(t, address, "CREATE SCHEMA "+name)
	}
	if out, err := checked(address).CombinedOutput(); err != nil || !strings.Contains(string(out), "keeps all promises of a store") {
		t.Errorf("a PostgreSQL: %v %s", err, out)
	}
	if left := schemas(t, address); !slices.Equal(left, kept) {
		t.Errorf("afterwards there is %v, want %v", left, kept)
	}
}

func TestTheStoreCheckSaysInASentenceWhatItCannotWorkWith(t *testing.T) {
	address := postgresAt(t)
	pg.For(t).Exec(t, address, "DO $$ BEGIN IF NOT EXISTS (SELECT 1 FROM pg_roles WHERE rolname = 'reader') THEN CREATE ROLE reader LOGIN; END IF; END $$")
	for _, c := range []struct {
		name, address, says string
		status              int
	}{
		{"a file", filepath.Join(t.TempDir(), "weephole.db"), "no address of a database", exit.Input},
		{"a role that may make no schema", strings.Replace(address, "weephole@", "reader@", 1), "GRANT CREATE ON DATABASE", exit.Input},
		{"a role that is none", strings.Replace(address, "weephole@", "nobody@", 1), "does not let this role in", exit.Failed},
		{"a database that is none", strings.Replace(address, "?", "x?", 1), "no database of this name", exit.Failed},
	} {
		cmd := checked(c.address)
		out, _ := cmd.CombinedOutput() // the status says it
		if status := cmd.ProcessState.ExitCode(); status != c.status || !strings.Contains(string(out), c.says) || strings.Contains(string(out), "FAIL") {
			t.Errorf("%s: %d %s", c.name, status, out)
		}
	}
}

func TestAStoreCheckThatIsStoppedEndsAndLeavesNothing(t *testing.T) {
	for _, sig := range []os.Signal{os.Interrupt, syscall.SIGTERM} {
		address := postgresAt(t)
		cmd := checked(address)
		var out bytes.Buffer
		cmd.Stdout, cmd.Stderr = &out, &out
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		begun := func() bool { // the suite is at work in its second schema; the first one only shows that schemas can be made
			return slices.ContainsFunc(schemas(t, address), func(name string) bool { return strings.HasSuffix(name, "_3") })
		}
		for until := time.Now().Add(time.Minute); !begun(); time.Sleep(5 * time.Millisecond) {
			if time.Now().After(until) {
				t.Fatal("the check does not begin")
			}
		}
		if err := cmd.Process.Signal(sig); err != nil {
			t.Fatal(err)
		}
		began := time.Now()
		_ = cmd.Wait() // the status says it
		if took := time.Since(began); took > 10*time.Second || cmd.ProcessState.ExitCode() != exit.Failed || !strings.Contains(out.String(), "The check is stopped") {
			t.Errorf("%v: after %v status %d: %s", sig, took, cmd.ProcessState.ExitCode(), out.String())
		}
		if left := schemas(t, address); len(left) > 0 {
			t.Errorf("%v: it left %v", sig, left)
		}
	}
}

func TestAWrongStoreIsRefusedPlainly(t *testing.T) {
	file := filepath.Join(t.TempDir(), "weephole.db")
	for _, c := range []struct {
		args   []string
		status int
		says   string
	}{
		{[]string{"serve", "--store", file}, exit.Input, "begins with postgres://"},
		{[]string{"serve", "--store", "postgres://weephole@127.0.0.1:1/x"}, exit.Failed, "database server is away"},
		{[]string{"serve", "--store", "postgres://a/b", "--data", "x"}, exit.Input, "give one of them"},
		{[]string{"serve", "--store-file", file}, exit.Input, "--store-file"},
		{[]string{"move", file}, exit.Input, "a store to read and one to fill"},
		{[]string{"move", filepath.Dir(file), "postgres://weephole@127.0.0.1:1/x"}, exit.Input, "no data folder"},
	} {
		if status, _, errs := call(t, c.args...); status != c.status || !strings.Contains(errs, c.says) {
			t.Errorf("%v: %d %s; want %d and %q", c.args, status, errs, c.status, c.says)
		}
	}
}

func TestShopsOnAServerAreNamedWhereOneCouldBeTakenForAll(t *testing.T) {
	address := pg.For(t).Ordinary(t)
	if out := must(t, "shop", "add", "north", "--name", "North Garage", "--store", address); !strings.Contains(out, "/join/") {
		t.Errorf("adding a shop said %q", out)
	}
	if out := must(t, "shop", "list", "--store", address); !strings.Contains(out, "main") || !strings.Contains(out, "North Garage") {
		t.Errorf("the list says %q", out)
	}
	must(t, "shop", "invite", "north", "--role", "viewer", "--store", address)
	here := filepath.Join(t.TempDir(), "here")
	fill(t, here, 2)
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"shop", "add", "north", "--store", address}, "taken"},
		{[]string{"shop", "add", "No such", "--store", address}, "small letters"},
		{[]string{"shop", "list", "--data", here}, "holds one shop"},
		{[]string{"shop", "invite", "north", "--role", "king", "--store", address}, "owner, mechanic or viewer"},
		{[]string{"backup", filepath.Join(t.TempDir(), "b.db"), "--store", address}, "several shops (main, north)"},
		{[]string{"move", here, address}, "several shops (main, north)"},
		{[]string{"move", here, address, "--shop", "east"}, "no such"},
		{[]string{"backup", filepath.Join(t.TempDir(), "b.db"), "--data", here, "--shop", "north"}, "holds one shop"},
		{[]string{"serve", "--listen", "127.0.0.1:0", "--open", "--store", address}, "one shop"},
	} {
		if status, out, errs := call(t, c.args...); status != exit.Input || !strings.Contains(errs, c.want) {
			t.Errorf("%v: %d %s%s; want %q", c.args, status, out, errs, c.want)
		}
	}
	if out := must(t, "move", here, address, "--shop", "north"); !strings.Contains(out, "2 jobs") {
		t.Errorf("moving into north said %q", out)
	}
	copied := filepath.Join(t.TempDir(), "north.db")
	must(t, "backup", copied, "--store", address, "--shop", "north")
	if out := must(t, "restore", copied, "--data", filepath.Join(t.TempDir(), "back")); !strings.Contains(out, "2 jobs") {
		t.Errorf("restoring north said %q", out)
	}
}
