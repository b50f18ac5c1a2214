package web

import (
	"context"
	"errors"
	"log/slog"
	"net/http"
	"sync"
	"sync/atomic"
	"time"

	"weephole/internal/store"
)

// How often the bench asks its store whether entries can be kept. All are judgement: the
// question costs some milliseconds, and an answer that is a minute old is new enough for
// a warning. While entries cannot be kept somebody is at work on it and wants to see that
// it helped.
const (
	checkEvery   = time.Minute
	checkAgain   = 5 * time.Second
	longestCheck = 10 * time.Second
)

// health knows whether entries can be kept, as it was when that was last asked. Pages
// warn of it before anything is typed, and wait for nothing.
type health struct {
	store   store.Store
	log     *slog.Logger
	again   time.Duration // between questions while entries cannot be kept
	trouble atomic.Pointer[string]
	failed  chan struct{} // somebody was told of a failure
	end     context.CancelFunc
	asking  sync.WaitGroup
}

func newHealth(s store.Store, log *slog.Logger, again time.Duration) *health {
	ctx, end := context.WithCancel(context.Background())
	h := &health{store: s, log: log, again: again, failed: make(chan struct{}, 1), end: end}
	h.asking.Go(func() { h.ask(ctx) })
	return h
}

func (h *health) close() {
	h.end()
	h.asking.Wait()
}

// says is what keeps entries from being kept, in words; "" when nothing does.
func (h *health) says() string {
	if t := h.trouble.Load(); t != nil {
		return *t
	}
	return ""
}

// hear learns from a failure that somebody was told: its words stand on every page until
// the store has been asked.
func (h *health) hear(err error) {
	f := failureOf(err)
	if f.Status != http.StatusInsufficientStorage && !errors.Is(err, store.ErrAway) {
		return
	}
	if h.trouble.CompareAndSwap(nil, &f.Message) {
		select {
		case h.failed <- struct{}{}:
		default: // it is asked in any case
		}
	}
}

// ask asks the store from time to time.
func (h *health) ask(ctx context.Context) {
	for {
		h.look(ctx)
		pause := checkEvery
		if h.says() != "" {
			pause = h.again
		}
		select {
		case <-time.After(pause):
		case <-h.failed:
		case <-ctx.Done():
			return
		}
	}
}

// look asks once. A store that is too busy to answer leaves what was known.
func (h *health) look(ctx context.Context) {
	ctx, cancel := context.WithTimeout(ctx, longestCheck)
	defer cancel()
	err := h.store.Check(ctx)
	before := h.says()
	switch {
	case err == nil:
		h.trouble.Store(nil)
		if before != "" {
			h.log.Info("entries can be kept again")
		}
	case ctx.Err() != nil:
	default:
		now := failureOf(err)
		if now.Status == http.StatusInternalServerError {
			now.Message = "The bench cannot tell whether entries can be kept just now. The log of the program says more."
		}
		h.trouble.Store(&now.Message)
		if now.Message != before {
			h.log.Error("entries cannot be kept", "error", err)
		}
	}
}
