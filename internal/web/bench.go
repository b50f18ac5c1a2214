package web

import (
	"log/slog"
	"net/http"
	"net/netip"
	"time"

	"weephole/internal/store"
	"weephole/internal/web/answers"
	"weephole/lineup"
	"weephole/plan"
)

// Config is what a bench is made of.
type Config struct {
	Store   store.Store
	Model   *lineup.Model
	Plan    *plan.Assumptions
	Answers answers.LiveConfig // Model, Plan and Tell are filled in
	Demo    []Demo
	Now     func() time.Time
	// Guarded asks every device for the passphrase.
	Guarded bool
	// Hosts are names by which the server may be called, besides localhost and
	// plain addresses.
	Hosts []string
	// Proxies are the addresses of proxies whose word on who sent a request, and
	// whether over TLS, is taken.
	Proxies []netip.Prefix
	Log     *slog.Logger
	// Tally is where closed jobs are counted; nil: nowhere.
	Tally TallyKeeper
	// Addresses are those by which the shop's other devices reach the bench.
	Addresses []string
}

// Demo is a job that comes with the program.
type Demo struct {
	Name     string            // unique among them
	Document []byte            // a job file, YAML or JSON
	Files    map[string][]byte // the logs it names
}

// Bench serves the pages and the API.
type Bench struct {
	jobs    *jobs
	handler http.Handler
}

// New makes a bench; Close ends it.
func New(cfg Config) (*Bench, error) {
	if cfg.Now == nil {
		cfg.Now = time.Now
	}
	if cfg.Log == nil {
		cfg.Log = slog.New(slog.DiscardHandler)
	}
	re := &responder{log: cfg.Log, guarded: cfg.Guarded}
	js := newJobs(cfg)
	ts := &tallies{jobs: js}
	g := newGuard(cfg, re, js.live)
	ap := &api{jobs: js, responder: re, tallies: ts, streams: &streams{g}}
	pg := &pages{jobs: js, responder: re, api: ap, tallies: ts, guard: g}
	mux := http.NewServeMux()
	if err := ap.route(mux); err != nil {
		js.close()
		return nil, err
	}
	pg.route(mux)
	js.follow()
	return &Bench{js, g.wrap(mux)}, nil
}

// Handler is the whole bench as an HTTP handler.
func (b *Bench) Handler() http.Handler { return b.handler }

// Close ends all work on answers and sends the listening devices away.
func (b *Bench) Close() { b.jobs.close() }
