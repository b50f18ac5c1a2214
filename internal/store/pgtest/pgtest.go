// Package pgtest starts a real PostgreSQL for tests.
//
// Problem: a store on PostgreSQL is only tested on PostgreSQL, and tests must not
// touch a database that somebody uses.
//
// Model: a cluster of its own in a temporary folder, on a free port of this
// machine, without passwords, ended with the test. The server is the tests' own
// child, so that it can be killed. As root it runs as the user "postgres", because
// PostgreSQL refuses root.
//
// Where it stops being true: without PostgreSQL's programs (Debian: postgresql) a
// test is skipped, or fails where CI is set.
package pgtest

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// Server is a running PostgreSQL.
type Server struct {
	bin, dir string
	port     int
	as       *syscall.Credential
	cmd      *exec.Cmd
	n        atomic.Int32 // databases made
}

// Start makes a cluster and starts it. Stop ends it. For a test Own is easier, for all
// tests of a package Run, or Shared where few of them need it.
func Start() (*Server, error) {
	bin, err := programs()
	if err != nil {
		return nil, err
	}
	s := &Server{bin: bin}
	if s.dir, err = os.MkdirTemp("", "weephole-pg-*"); err != nil {
		return nil, err
	}
	if os.Getuid() == 0 {
		if err := s.lower(); err != nil {
			return nil, err
		}
	}
	if s.port, err = free(); err != nil {
		return nil, err
	}
	out, err := s.command("initdb", "-D", filepath.Join(s.dir, "data"), "-U", "weephole", "-A", "trust", "-E", "UTF8", "--no-locale", "--no-sync").CombinedOutput()
	if err != nil {
		return nil, fmt.Errorf("initdb: %w: %s", err, out)
	}
	return s, s.Begin()
}

// ErrNone says that PostgreSQL's programs are not there.
var ErrNone = errors.New("PostgreSQL is not installed (Debian: postgresql)")

// programs is the folder of the newest PostgreSQL that is installed.
func programs() (string, error) {
	list, _ := filepath.Glob("/usr/lib/postgresql/*/bin/postgres") // Debian's place
	slices.Sort(list)
	if len(list) > 0 {
		return filepath.Dir(list[len(list)-1]), nil
	}
	if path, err := exec.LookPath("postgres"); err == nil {
		return filepath.Dir(path), nil
	}
	return "", ErrNone
}

// lower gives the folder to the user postgres, as whom the server will run.
func (s *Server) lower() error {
	u, err := user.Lookup("postgres")
	if err != nil {
		return err
	}
	uid, err1 := strconv.Atoi(u.Uid)
	gid, err2 := strconv.Atoi(u.Gid)
	if err := errors.Join(err1, err2, os.Chown(s.dir, uid, gid)); err != nil {
		return err
	}
	s.as = &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
	return nil
}

func free() (int, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return 0, err
	}
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port, nil
}

func (s *Server) command(name string, args ...string) *exec.Cmd {
	c := exec.Command(filepath.Join(s.bin, name), args...)
	c.Dir, c.SysProcAttr = s.dir, &syscall.SysProcAttr{Credential: s.as, Setpgid: true}
	return c
}

// Begin starts the server, after a kill too, and waits until it answers.
func (s *Server) Begin() error {
	log, err := os.OpenFile(filepath.Join(s.dir, "log"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o644)
	if err != nil {
		return err
	}
	defer log.Close()
	s.cmd = s.command("postgres", "-D", filepath.Join(s.dir, "data"), "-p", strconv.Itoa(s.port), "-k", s.dir, "-c", "listen_addresses=127.0.0.1", "-c", "max_connections=60",
		"-c", "recovery_init_sync_method=syncfs") // after a kill: one call instead of one for each file
	s.cmd.Stdout, s.cmd.Stderr = log, log
	if err := s.cmd.Start(); err != nil {
		return err
	}
	for until := time.Now().Add(time.Minute); ; time.Sleep(50 * time.Millisecond) {
		err := s.exec("SELECT 1")
		if err == nil {
			return nil
		}
		if time.Now().After(until) {
			text, _ := os.ReadFile(log.Name())
			return fmt.Errorf("PostgreSQL does not answer: %w: %s", err, text)
		}
	}
}

func (s *Server) exec(statement string) error { return s.Try(s.socket("postgres"), statement) }

// socket is the owner's way to a database that no setting of TLS concerns.
func (s *Server) socket(database string) string {
	return fmt.Sprintf("postgres://weephole@/%s?host=%s&port=%d", database, s.dir, s.port)
}

// Exec runs a statement as the owner in a database.
func (s *Server) Exec(t testing.TB, address, statement string) {
	t.Helper()
	if err := s.Try(address, statement); err != nil {
		t.Fatal(err)
	}
}

func (s *Server) address(database string) string {
	return fmt.Sprintf("postgres://weephole@127.0.0.1:%d/%s?sslmode=disable", s.port, database)
}

// Host is where the server listens.
func (s *Server) Host() string { return net.JoinHostPort("127.0.0.1", strconv.Itoa(s.port)) }

// Database makes an empty database and gives its address.
func (s *Server) Database(t testing.TB) string {
	t.Helper()
	name := fmt.Sprintf("t%d", s.n.Add(1))
	if err := s.exec("CREATE DATABASE " + name); err != nil {
		t.Fatal(err)
	}
	return s.address(name)
}

// Ordinary makes an empty database for a role that is no superuser, as a shop's
// should be: a superuser passes over row security.
func (s *Server) Ordinary(t testing.TB) string {
	t.Helper()
	address := s.Database(t)
	name := address[strings.LastIndex(address, "/")+1 : strings.Index(address, "?")]
	for _, statement := range []string{
		"DO $$ BEGIN IF NOT EXISTS (SELECT 1 FROM pg_roles WHERE rolname = 'bench') THEN CREATE ROLE bench LOGIN; END IF; END $$",
		"ALTER SCHEMA public OWNER TO bench",
		"GRANT CREATE ON DATABASE " + name + " TO bench",
	} {
		s.Exec(t, address, statement)
	}
	return strings.Replace(address, "weephole@", "bench@", 1)
}

// SmallDisk makes a file system of so many bytes that the server may use, with a
// file "ballast" of a tenth on it, which can be removed to make room. "" where the
// machine lets no test do that: it takes root on Linux.
func (s *Server) SmallDisk(t testing.TB, size int) string {
	t.Helper()
	dir, err := os.MkdirTemp(s.dir, "disk")
	if err != nil {
		t.Fatal(err)
	}
	if exec.Command("mount", "-t", "tmpfs", "-o", fmt.Sprintf("size=%d,mode=0777", size), "weephole-test", dir).Run() != nil {
		return ""
	}
	t.Cleanup(func() {
		s.Stop() // it has files open there; the test has a server of its own or is the last
		exec.Command("umount", dir).Run()
	})
	within := filepath.Join(dir, "space")
	if err := errors.Join(os.Mkdir(within, 0o777), os.Chmod(within, 0o700)); err != nil {
		t.Fatal(err)
	}
	if s.as != nil {
		if err := os.Chown(within, int(s.as.Uid), int(s.as.Gid)); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(filepath.Join(dir, "ballast"), make([]byte, size/10), 0o600); err != nil {
		t.Fatal(err)
	}
	return within
}

// Kill ends the server and all its helpers as a power cut ends a process.
func (s *Server) Kill() error {
	// Stopped first, so that it begins no helper that is not in the list: one that lived
	// on would keep the next server from starting.
	if err := syscall.Kill(s.cmd.Process.Pid, syscall.SIGSTOP); err != nil {
		return err
	}
	all := append(children(s.cmd.Process.Pid), s.cmd.Process.Pid) // the helpers are in process groups of their own
	for _, pid := range all {
		if err := syscall.Kill(pid, syscall.SIGKILL); err != nil && !errors.Is(err, syscall.ESRCH) {
			return err
		}
	}
	_ = s.cmd.Wait() // it was killed; its status says so
	for _, pid := range all {
		for syscall.Kill(pid, 0) == nil { // while one lives the next server would refuse to start
			time.Sleep(5 * time.Millisecond)
		}
	}
	return nil
}

// children are the processes that a process has begun.
func children(parent int) (list []int) {
	stats, _ := filepath.Glob("/proc/[0-9]*/stat") // where there is no such folder the server's own watch ends them
	for _, name := range stats {
		data, err := os.ReadFile(name)
		if err != nil {
			continue // it has ended
		}
		var pid, of int
		var state string
		_, after, _ := strings.Cut(string(data), ") ") // behind the program's name
		fmt.Sscan(string(data), &pid)
		if n, _ := fmt.Sscan(after, &state, &of); n == 2 && of == parent {
			list = append(list, pid)
		}
	}
	return list
}

// Restart ends the server as an administrator does, sending everybody away, and
// starts it again.
func (s *Server) Restart() error {
	if err := s.cmd.Process.Signal(syscall.SIGINT); err != nil {
		return err
	}
	if err := s.cmd.Wait(); err != nil {
		return err
	}
	return s.Begin()
}

// Stop ends the server and takes its folder away.
func (s *Server) Stop() {
	if s.cmd != nil {
		_ = s.cmd.Process.Signal(syscall.SIGQUIT) // at once; nothing of it is needed again
		_ = s.cmd.Wait()
	}
	os.RemoveAll(s.dir)
}

// Own starts a server for one test and ends it with the test. Without PostgreSQL the
// test is skipped, or fails where CI is set.
func Own(t testing.TB) *Server {
	t.Helper()
	s, err := Start()
	if err != nil {
		without(t, err)
	}
	t.Cleanup(s.Stop)
	return s
}

func without(t testing.TB, err error) {
	t.Helper()
	if os.Getenv("CI") == "" {
		t.Skip(err)
	}
	t.Fatal(err)
}

// Shared is one server for the tests of a package that ask for it.
type Shared struct {
	once sync.Once
	s    *Server
	err  error
}

// For starts the server, if no test before has.
func (h *Shared) For(t testing.TB) *Server {
	t.Helper()
	h.once.Do(func() { h.s, h.err = Start() })
	if h.err != nil {
		without(t, h.err)
	}
	return h.s
}

// Stop ends the server, if a test has asked for it; for TestMain.
func (h *Shared) Stop() {
	if h.s != nil {
		h.s.Stop()
	}
}

// Run starts a server for the tests of a package and runs them; for TestMain.
// Without PostgreSQL the server is nil.
func Run(m *testing.M, use func(*Server)) int {
	s, err := Start()
	switch {
	case err == nil:
		defer s.Stop()
		use(s)
	case !errors.Is(err, ErrNone) || os.Getenv("CI") != "":
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return m.Run()
}

// Try runs a statement and gives what came of it.
func (s *Server) Try(address, statement string) error {
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	c, err := pgx.Connect(ctx, address)
	if err != nil {
		return err
	}
	defer c.Close(ctx)
	_, err = c.Exec(ctx, statement)
	return err
}
