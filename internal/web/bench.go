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
	// TallyOf is the same for another shop of the store; nil: nowhere.
	TallyOf func(store.Store) TallyKeeper
	// Addresses are those by which the shop's other devices reach the bench.
	Addresses []string

	reading chan struct{} // places for reading jobs again, shared by all shops
	pauses  pauses
}

// Demo is a job that comes with the program.
type Demo struct {
	Name     string            // unique among them
	Document []byte            // a job file, YAML or JSON
	Files    map[string][]byte // the logs it names
}

// Bench serves the pages and the API.
type Bench struct {
	house   *house
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
	h, err := newHouse(cfg, &responder{log: cfg.Log, guarded: cfg.Guarded})
	if err != nil {
		return nil, err
	}
	return &Bench{h, h.guard.wrap()}, nil
}

// Handler is the whole bench as an HTTP handler.
func (b *Bench) Handler() http.Handler { return b.handler }

// Close ends all work on answers and sends the listening devices away.
func (b *Bench) Close() { b.house.close() }
