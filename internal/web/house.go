package web

import (
	"cmp"
	"context"
	"errors"
	"net/http"
	"sync"
	"sync/atomic"
	"time"

	"weephole/internal/store"
	"weephole/internal/web/answers"
)

// house is the bench with a room for each shop. A room knows the jobs of its shop
// and no others: it is made with the store as that shop sees it.
type house struct {
	cfg   Config
	re    *responder // shared by all rooms
	guard *guard
	home  *room
	group store.Group // nil where the store holds one shop

	mu     sync.Mutex
	rooms  map[string]*room
	closed bool

	pooling  sync.Mutex
	pooled   map[string]map[string]int
	pooledAt time.Time

	counting sync.Mutex // one asks at a time how many shops there are
	counted  atomic.Pointer[shopCount]
}

// room is one shop's bench.
type room struct {
	shop  string
	jobs  *jobs
	serve http.Handler
}

// pauses are how long a bench waits where tests wait less; 0 stands for the usual.
type pauses struct {
	ping  time.Duration // between signs of life on a stream
	claim time.Duration // before the work of a bench that claimed it is done by another
	look  time.Duration // before a store that keeps no entries is asked again
}

func (p pauses) orUsual() pauses {
	return pauses{ping: cmp.Or(p.ping, pingEvery), claim: cmp.Or(p.claim, claimLasts), look: cmp.Or(p.look, checkAgain)}
}

func newHouse(cfg Config, re *responder) (*house, error) {
	h := &house{cfg: cfg, re: re, rooms: map[string]*room{}}
	h.group, _ = cfg.Store.(store.Group)
	if h.cfg.Answers.Turns == nil {
		h.cfg.Answers.Turns = answers.NewTurns()
	}
	h.cfg.reading = make(chan struct{}, readAtOnce)
	h.cfg.pauses = h.cfg.pauses.orUsual()
	h.guard = newGuard(cfg, re, h)
	home := ""
	if s, ok := cfg.Store.(interface{ Shop() string }); ok {
		home = s.Shop()
	}
	var err error
	if h.home, err = h.furnish(home, h.cfg); err != nil {
		return nil, err
	}
	h.rooms[home] = h.home
	re.health = newHealth(cfg.Store, re.log, h.cfg.pauses.look)
	return h, nil
}

// furnish makes a room.
func (h *house) furnish(shop string, cfg Config) (*room, error) {
	js := newJobs(cfg)
	ts := &tallies{jobs: js}
	ap := newAPI(js, ts, h)
	pg := newPages(js, ts, ap, h)
	mux := http.NewServeMux()
	if err := ap.route(mux); err != nil {
		js.close()
		return nil, err
	}
	pg.route(mux)
	js.follow()
	return &room{shop, js, mux}, nil
}

// leastWarm is how many lineups each of several shops keeps at least: judgement.
const leastWarm = 4

// room is a shop's, made when somebody first comes in.
func (h *house) room(ctx context.Context, shop string) (*room, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if r := h.rooms[shop]; r != nil {
		return r, nil
	}
	if h.group == nil || h.closed {
		return nil, store.ErrUnknown
	}
	in, err := h.group.In(ctx, shop)
	if err != nil {
		return nil, err
	}
	all, err := h.group.All(ctx)
	if err != nil {
		return nil, err
	}
	cfg := h.cfg
	cfg.Store, cfg.Tally = in, nil
	if cfg.TallyOf != nil {
		cfg.Tally = cfg.TallyOf(in)
	}
	cfg.Answers.Warm = max(leastWarm, cfg.Answers.Warm/len(all))
	r, err := h.furnish(shop, cfg)
	if err == nil {
		h.rooms[shop] = r
	}
	return r, err
}

// shops are all shops of the store; none where it holds one.
func (h *house) shops(ctx context.Context) ([]store.Shop, error) {
	if h.group == nil {
		return nil, nil
	}
	all, err := h.group.All(ctx)
	if len(all) < 2 {
		return nil, err
	}
	return all, err
}

// askEvery is how long an answer to how many shops there are is kept: judgement.
const askEvery = 10 * time.Second

// shopCount is whether there were several shops, and when that was asked.
type shopCount struct {
	many bool
	at   time.Time
}

// several tells whether the store holds more shops than one. Every request asks that:
// only the first waits for the store. Later one of them asks again, and the others
// take the answer before.
func (h *house) several(ctx context.Context) bool {
	if h.group == nil {
		return false
	}
	before := h.counted.Load()
	switch {
	case before == nil:
		h.counting.Lock()
	case time.Since(before.at) < askEvery || !h.counting.TryLock():
		return before.many
	}
	defer h.counting.Unlock()
	now := h.counted.Load()
	if now == before { // nobody was quicker
		if all, err := h.group.All(ctx); err == nil {
			now = &shopCount{len(all) > 1, time.Now()}
			h.counted.Store(now)
		}
	}
	return now != nil && now.many
}

// drop ends the streams of a session, in whichever room they are.
func (h *house) drop(session string) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for _, r := range h.rooms {
		r.jobs.live.drop(session)
	}
}

func (h *house) close() {
	h.mu.Lock()
	h.closed = true
	rooms := h.rooms
	h.rooms = map[string]*room{}
	h.mu.Unlock()
	for _, r := range rooms {
		r.jobs.close()
	}
	h.re.health.close()
}

// named is a shop as people call it.
func named(s store.Shop) string {
	if s.Name == "" {
		return s.ID
	}
	return s.Name
}

// absent tells whether an error says that there is no such thing.
func absent(err error) bool { return errors.Is(err, store.ErrUnknown) }
