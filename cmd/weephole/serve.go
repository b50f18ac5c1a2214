package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"weephole/internal/demo"
	"weephole/internal/exit"
	"weephole/internal/store"
	"weephole/internal/web"
	"weephole/internal/web/answers"
	"weephole/plan"

	"github.com/adrg/xdg"
	"github.com/spf13/cobra"
)

const serveLong = `Opens the bench: the pages on which jobs are worked, for every phone, tablet and
computer in the shop. They use a JSON API (/api/openapi.json).

Jobs are kept in one SQLite file in the data folder, which the first start makes.
The tally of jobs that were closed with a proven repair is in it too. The folder is
closed to others on the machine, unless --shared says that they may look into it.
With --store or --store-file they are kept in a PostgreSQL database instead, which
any number of benches may share.

The bench listens on this machine only, unless --listen says otherwise. Then it
needs the shop's passphrase. --passphrase-file sets it from the first line of a
file; delete the file afterwards, because only a hash is kept. Once it is set,
every device is asked for it. --open does not ask on this machine.

Behind a proxy with TLS, give the proxy's address with --proxy and the name that
devices use with --host.

The bench needs no internet. Ctrl-C stops it. Everything that a screen has
confirmed is on the disk by then.`

const serveExamples = `  weephole serve
  weephole serve --listen 0.0.0.0:8470 --passphrase-file pass.txt
  weephole serve --data /srv/weephole
  weephole serve --store-file address.txt
  weephole serve --host bench.shop --proxy 127.0.0.1 --passphrase-file pass.txt`

// defaultListen is a port that no common service uses: judgement.
const defaultListen = "127.0.0.1:8470"

type serveFlags struct {
	listen, passphrase string
	hosts, proxies     []string
	open               bool
	place              place
	candidates, fine   int
	seed               uint64
	overlay            []string
}

func serveCommand(env environment) *cobra.Command {
	var f serveFlags
	cmd := &cobra.Command{
		Use:     "serve",
		Short:   "open the bench: the screens for the shop",
		Long:    serveLong,
		Example: serveExamples,
		Args:    noArguments,
		RunE:    func(cmd *cobra.Command, _ []string) error { return serve(cmd.Context(), env, f) },
	}
	size := answers.Defaults()
	fl := cmd.Flags()
	fl.StringVar(&f.listen, "listen", defaultListen, "address and port to listen on")
	f.place.flags(fl)
	fl.StringVar(&f.passphrase, "passphrase-file", "", "set the shop's passphrase from the first line of this file")
	fl.StringArrayVar(&f.hosts, "host", nil, "a name by which devices call this machine; may be given again")
	fl.StringArrayVar(&f.proxies, "proxy", nil, "address or network of a proxy whose word on the sender is taken; may be given again")
	fl.BoolVar(&f.open, "open", false, "ask no passphrase, on this machine alone")
	fl.BoolVar(&f.place.shared, "shared", false, "others on this machine may look into the data folder")
	fl.IntVar(&f.candidates, "candidates", size.CoarseSize, "engines simulated for the first answer")
	fl.IntVar(&f.fine, "fine", size.FineSize, "engines simulated for the refined answer; 0 leaves it out")
	fl.Uint64Var(&f.seed, "seed", size.Seed, "seed of all random numbers")
	fl.StringArrayVar(&f.overlay, "overlay", nil, "the shop's own sheet of causes, checks or counts; may be given again")
	return cmd
}

// defaultData is the data folder of a user who has named none.
func defaultData() string { return filepath.Join(xdg.DataHome, "weephole") }

func dataFolder(named string) string {
	if named == "" {
		return defaultData()
	}
	return named
}

func serve(ctx context.Context, env environment, f serveFlags) error {
	host, port, err := net.SplitHostPort(f.listen)
	if err != nil {
		return exit.Usage(fmt.Errorf("--listen %q: write an address and a port, such as %s", f.listen, defaultListen))
	}
	if outside := func(n int) bool { return n < minCandidates || n > maxCandidates }; outside(f.candidates) || f.fine != 0 && outside(f.fine) {
		return exit.Usage(fmt.Errorf("--candidates and --fine: write numbers from %d to %d", minCandidates, maxCandidates))
	}
	proxies, err := prefixes(f.proxies)
	if err != nil {
		return exit.Usage(err)
	}
	model, err := env.knowledge(f.overlay)
	if err != nil {
		return err
	}
	settings, err := plan.DefaultAssumptions()
	if err != nil {
		return err
	}
	k, err := f.place.open(ctx, env, "weephole serve at "+f.listen)
	if err != nil {
		return err
	}
	defer k.Close() // every entry is on the disk already
	if err := k.Moving(ctx); err != nil && !errors.Is(err, store.ErrDamaged) {
		return theirs(err)
	}
	if err := k.Check(ctx); err != nil {
		fmt.Fprintf(env.Err, "weephole: nothing can be kept just now: %v\n", err)
	}
	guarded, err := asks(ctx, k, host, f)
	if err != nil {
		return err
	}
	if os.Getenv("GOMAXPROCS") == "" {
		runtime.GOMAXPROCS(answers.Threads(runtime.GOMAXPROCS(0)))
	}
	size := answers.Defaults()
	size.CoarseSize, size.FineSize, size.Seed = f.candidates, f.fine, f.seed
	demos, err := demoJobs()
	if err != nil {
		return err
	}
	b, err := web.New(web.Config{
		Store: k, Model: model, Plan: settings, Answers: size, Demo: demos, Now: env.Now,
		Guarded: guarded, Hosts: f.hosts, Proxies: proxies, Addresses: web.Addresses(host, port),
		Tally: &storeBook{ctx, k, "the tally", nil}, TallyOf: func(s store.Store) web.TallyKeeper { return &storeBook{ctx, s, "the tally", nil} }, Log: slog.New(slog.NewTextHandler(env.Err, nil)),
	})
	if err != nil {
		return err
	}
	defer b.Close()
	return listen(ctx, env, f.listen, web.Addresses(host, port), b)
}

// asks tells whether the bench asks for the passphrase. Only a bench that its own
// machine alone can reach may do without: a name given with --host says that
// others come, through a proxy. A passphrase given with the start is set first.
func asks(ctx context.Context, s store.Store, host string, f serveFlags) (bool, error) {
	if f.passphrase != "" {
		phrase, err := firstLine(f.passphrase)
		if err == nil {
			err = web.SetPassphrase(ctx, s, phrase)
		}
		if err != nil {
			return false, exit.Wrong(fmt.Errorf("--passphrase-file: %w", err))
		}
	}
	set, err := web.Closed(ctx, s)
	if err != nil {
		return false, err
	}
	set = set || several(ctx, s) // other shops' jobs must not be open to everybody
	reached := !onlyHere(host) || len(f.hosts) > 0 || len(f.proxies) > 0
	switch {
	case f.open && set && several(ctx, s):
		return false, exit.Usage(errors.New("--open is for a store of one shop; this one holds several"))
	case f.open && reached:
		return false, exit.Usage(errors.New("--open is for this machine alone; leave out --host, --proxy and any --listen but 127.0.0.1"))
	case f.open:
		return false, nil
	case set:
		return true, nil
	case reached:
		return false, exit.Wrong(fmt.Errorf("this would open the bench to everybody who reaches %s; set a passphrase with --passphrase-file, or listen on 127.0.0.1 without --host and --proxy", f.listen))
	}
	return false, nil
}

// several tells whether a store holds more than one shop.
func several(ctx context.Context, s store.Store) bool {
	g, ok := s.(store.Group)
	if !ok {
		return false
	}
	all, err := g.All(ctx)
	return err != nil || len(all) > 1
}

// prefixes reads addresses and networks.
func prefixes(texts []string) (out []netip.Prefix, err error) {
	for _, text := range texts {
		p, err := netip.ParsePrefix(text)
		if a, alone := netip.ParseAddr(text); alone == nil {
			p, err = a.Prefix(a.BitLen())
		}
		if err != nil {
			return nil, fmt.Errorf("--proxy %q: write an address such as 127.0.0.1, or a network such as 10.0.0.0/24", text)
		}
		out = append(out, p)
	}
	return out, nil
}

// listen serves until the context ends.
func listen(ctx context.Context, env environment, address string, others []string, b *web.Bench) error {
	l, err := net.Listen("tcp", address)
	if err != nil {
		return fmt.Errorf("listen on %s: %w; is the bench open already?", address, err)
	}
	s := &http.Server{
		Handler: b.Handler(), ReadHeaderTimeout: 10 * time.Second, ReadTimeout: 2 * time.Minute,
		IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 32 << 10,
	}
	fmt.Fprintf(env.Out, "The bench is open at http://%s/\n", l.Addr())
	for _, url := range others {
		fmt.Fprintf(env.Out, "Other devices of the shop: %s (a code for their cameras is on the page Settings)\n", url)
	}
	fmt.Fprintln(env.Out, "Ctrl-C closes it.")
	failed := make(chan error, 1)
	go func() { failed <- s.Serve(l) }()
	select {
	case err := <-failed:
		return fmt.Errorf("serve: %w", err)
	case <-ctx.Done():
	}
	b.Close() // the listening devices first: a stream has no end of its own
	closing, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	if err := s.Shutdown(closing); err != nil && !errors.Is(err, context.DeadlineExceeded) {
		return fmt.Errorf("close the bench: %w", err)
	}
	return nil
}

// onlyHere tells whether an address can be reached from this machine alone.
func onlyHere(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

func firstLine(name string) (string, error) {
	f, err := os.Open(name)
	if err != nil {
		return "", err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, 4096))
	if err != nil {
		return "", err
	}
	line, _, _ := strings.Cut(string(data), "\n")
	return strings.TrimRight(line, "\r"), nil
}

// demoJobs are the jobs that a new bench offers to lay out.
func demoJobs() ([]web.Demo, error) {
	var out []web.Demo
	for _, name := range demo.Names() {
		document, err := demo.Bytes(name)
		if err != nil {
			return nil, err
		}
		d := web.Demo{Name: demo.Name(name), Document: document, Files: make(map[string][]byte)}
		for _, log := range demo.Logs(name) {
			if !bytes.Contains(document, []byte(log)) {
				continue // of the run after the repair, which is still to come here
			}
			if d.Files[log], err = demo.Bytes(log); err != nil {
				return nil, err
			}
		}
		out = append(out, d)
	}
	return out, nil
}
