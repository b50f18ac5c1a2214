package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/netip"
	"slices"
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

// How many devices may listen: judgement, far more than a shop has. Each costs
// some tens of KB.
const (
	mostListeners   = 1500
	mostOfOneDevice = 100
)

// listener is a device that listens.
type listener struct {
	job     string // "" hears of all
	session string // ends with it; "" where nobody logs in
	device  netip.Addr
	name    string // of whoever looks
	news    chan event
}

// live passes events on to the devices that listen.
type live struct {
	store store.Store

	mu        sync.Mutex
	listeners map[*listener]bool
	closed    bool
}

func newLive(s store.Store) *live {
	return &live{store: s, listeners: make(map[*listener]bool)}
}

// listen adds a device; nil where too many listen already.
func (l *live) listen(job, session, name string, device netip.Addr) *listener {
	l.mu.Lock()
	defer l.mu.Unlock()
	one := &listener{job: job, session: session, name: name, device: device, news: make(chan event, pending)}
	if l.closed {
		close(one.news)
		return one
	}
	same := 0
	for other := range l.listeners {
		if other.device == device {
			same++
		}
	}
	if len(l.listeners) >= mostListeners || same >= mostOfOneDevice && !device.IsLoopback() {
		return nil
	}
	l.listeners[one] = true
	return one
}

func (l *live) leave(one *listener) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.listeners, one)
}

func (l *live) publish(job string, e event) {
	e.Job = job
	l.mu.Lock()
	defer l.mu.Unlock()
	for one := range l.listeners {
		if one.job != job && one.job != "" {
			continue
		}
		select {
		case one.news <- e:
		default: // full: it has reason enough to ask already
		}
	}
}

// here are the names of those who look at a job, each once.
func (l *live) here(job string) (names []string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for one := range l.listeners {
		if one.job == job && one.name != nobody && !slices.Contains(names, one.name) {
			names = append(names, one.name)
		}
	}
	slices.Sort(names)
	return names
}

// drop ends the streams of a session.
func (l *live) drop(session string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for one := range l.listeners {
		if session != "" && one.session == session {
			delete(l.listeners, one)
			close(one.news)
		}
	}
}

// close ends all streams; the devices come back to the next server.
func (l *live) close() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.closed = true
	for one := range l.listeners {
		close(one.news)
	}
	clear(l.listeners)
}

// streams answers with streams of events.
type streams struct {
	*guard
	js *jobs
}

// events streams a job's events, or all jobs' when there is no id.
func (st *streams) events(w http.ResponseWriter, r *http.Request) (any, error) {
	id := r.PathValue("id")
	var seq int64
	if id != "" {
		s, err := st.js.store.Job(r.Context(), id)
		if err != nil {
			return nil, err
		}
		seq = s.Seq
	}
	out := http.NewResponseController(w)
	one := st.js.live.listen(id, sessionOf(r), who(r), st.client(r).addr)
	if one == nil {
		return nil, &mistake{status: http.StatusServiceUnavailable, wait: time.Minute, message: "Too many devices are listening. Close some pages and try again."}
	}
	if id != "" && one.name != nobody {
		come := event{Name: "here", Who: one.name}
		st.js.live.publish(id, come)
		defer st.js.live.publish(id, come) // when it has left
	}
	defer st.js.live.leave(one)
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("X-Accel-Buffering", "no") // a proxy that holds events back makes them useless
	send := func(e event) error {
		data, err := json.Marshal(e)
		if err != nil {
			return err
		}
		_ = out.SetWriteDeadline(time.Now().Add(patience)) // not all writers have deadlines
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
	ping := time.NewTicker(st.js.cfg.pauses.ping)
	defer ping.Stop()
	for {
		select {
		case e, open := <-one.news:
			if !open || send(e) != nil {
				return nil, errSent
			}
		case <-ping.C:
			// While the store fails nothing is known of the session, and it is asked again
			// with the next ping. A stream that ended for it would not come back.
			if now, in, err := st.identify(r); err == nil && (!in || now.Shop != st.js.ofShop()) {
				return nil, errSent // its session ended meanwhile, or works elsewhere
			}
			if _, err := fmt.Fprint(w, ": still here\n\n"); err != nil || out.Flush() != nil {
				return nil, errSent
			}
		case <-r.Context().Done():
			return nil, errSent
		}
	}
}
