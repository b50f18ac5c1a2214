package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"sync"
	"time"

	"weephole/internal/store"
)

// event is what a listening device is told.
type event struct {
	Name  string `json:"-"` // "entry", "answer"
	Job   string `json:"job"`
	Seq   int64  `json:"seq"`
	Stage string `json:"stage,omitempty"`
	Who   string `json:"who,omitempty"`
}

// pending is how many events may wait for a slow device. When they overflow the
// oldest news is lost, which does no harm: a device asks for the whole job anyway.
const pending = 16

// pingEvery keeps proxies and phones from closing a silent line: common
// practice, no source.
const pingEvery = 15 * time.Second

// live passes events on to the devices that listen.
type live struct {
	store store.Store

	mu     sync.Mutex
	heard  map[string]map[chan event]bool // by job; "" hears of all
	closed bool
}

func newLive(s store.Store) *live {
	return &live{store: s, heard: make(map[string]map[chan event]bool)}
}

func (l *live) listen(job string) chan event {
	l.mu.Lock()
	defer l.mu.Unlock()
	c := make(chan event, pending)
	if l.closed {
		close(c)
		return c
	}
	if l.heard[job] == nil {
		l.heard[job] = make(map[chan event]bool)
	}
	l.heard[job][c] = true
	return c
}

func (l *live) leave(job string, c chan event) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.heard[job], c)
	if len(l.heard[job]) == 0 {
		delete(l.heard, job)
	}
}

func (l *live) tell(job string, e event) {
	e.Job = job
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.closed {
		return
	}
	for _, key := range []string{job, ""} {
		for c := range l.heard[key] {
			select {
			case c <- e:
			default: // full: it has reason enough to ask already
			}
		}
	}
}

// close sends every device away; they come back to the next server.
func (l *live) close() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.closed = true
	for _, set := range l.heard {
		for c := range set {
			close(c)
		}
	}
	l.heard = nil
}

// events streams a job's events, or all jobs' when there is no id.
func (l *live) events(w http.ResponseWriter, r *http.Request) (any, error) {
	id := r.PathValue("id")
	var seq int64
	if id != "" {
		s, err := l.store.Job(r.Context(), id)
		if err != nil {
			return nil, err
		}
		seq = s.Seq
	}
	out := http.NewResponseController(w)
	_ = out.SetWriteDeadline(time.Time{}) // a stream has no end; not all writers have deadlines
	c := l.listen(id)
	defer l.leave(id, c)
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("X-Accel-Buffering", "no") // a proxy that holds events back makes them useless
	send := func(e event) error {
		data, err := json.Marshal(e)
		if err != nil {
			return err
		}
		if _, err := fmt.Fprintf(w, "event: %s\ndata: %s\n\n", e.Name, data); err != nil {
			return err
		}
		return out.Flush()
	}
	if _, err := fmt.Fprint(w, "retry: 1000\n"); err != nil {
		return nil, errSent
	}
	if send(event{Name: "hello", Job: id, Seq: seq}) != nil {
		return nil, errSent
	}
	ping := time.NewTicker(pingEvery)
	defer ping.Stop()
	for {
		select {
		case e, open := <-c:
			if !open || send(e) != nil {
				return nil, errSent
			}
		case <-ping.C:
			if _, err := fmt.Fprint(w, ": still here\n\n"); err != nil || out.Flush() != nil {
				return nil, errSent
			}
		case <-r.Context().Done():
			return nil, errSent
		}
	}
}
