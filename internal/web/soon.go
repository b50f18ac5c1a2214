package web

import (
	"context"
	"errors"
	"hash/fnv"
	"sync"
	"time"

	"weephole/internal/store"
)

// Reading a job again, to have it worked out, takes several turns to the store. An
// entry is confirmed without waiting for that: it is done behind the scenes, for a
// few jobs at a time, so that entries find a connection. All are judgement.
const (
	readAtOnce  = 3
	longestRead = time.Minute
	mostReads   = 5
	readPause   = 2 * time.Second
)

// soon are the jobs that are to be worked out.
type soon struct {
	places chan struct{}

	// Where several benches share the store:
	held newestOf // claimed by this bench
	left newestOf // left to another bench

	mu      sync.Mutex
	waiting map[string]bool // asked for and not yet begun
}

func newSoon(places chan struct{}) *soon { return &soon{places: places, waiting: map[string]bool{}} }

// newestOf keeps jobs, each with the newest entry that it was added for.
type newestOf struct {
	mu   sync.Mutex
	seqs map[string]int64
}

// add is false for a job that is there already.
func (n *newestOf) add(id string, seq int64) bool {
	n.mu.Lock()
	defer n.mu.Unlock()
	before, there := n.seqs[id]
	if n.seqs == nil {
		n.seqs = map[string]int64{}
	}
	n.seqs[id] = max(before, seq)
	return !there
}

func (n *newestOf) newest(id string) int64 {
	n.mu.Lock()
	defer n.mu.Unlock()
	return n.seqs[id]
}

// take gives a job's newest entry and forgets the job.
func (n *newestOf) take(id string) int64 {
	n.mu.Lock()
	defer n.mu.Unlock()
	seq := n.seqs[id]
	delete(n.seqs, id)
	return seq
}

// ask is false for a job that waits already: what came since is read with it.
func (s *soon) ask(id string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	waits := s.waiting[id]
	s.waiting[id] = true
	return !waits
}

func (s *soon) begin(id string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.waiting, id)
}

// evaluateSoon has a job worked out behind the scenes. A failure is told in the log
// and in the answer: the entry that asked for it is kept by now.
func (dg *diagnosis) evaluateSoon(id string) {
	if !dg.soon.ask(id) {
		return
	}
	dg.behind(func() {
		if take(dg.life, dg.soon.places) != nil {
			return
		}
		defer func() { <-dg.soon.places }()
		dg.soon.begin(id)
		if err := dg.readAndAsk(id); err != nil && dg.life.Err() == nil {
			dg.cfg.Log.Warn("a job could not be worked out", "job", id, "error", err)
		}
	})
}

// readAndAsk reads a job and has it worked out. A store that fails for a moment is
// asked again: nobody else will ask until the next entry.
func (dg *diagnosis) readAndAsk(id string) (err error) {
	for try := range mostReads {
		if try > 0 {
			select {
			case <-time.After(readPause):
			case <-dg.life.Done():
				return err
			}
		}
		ctx, cancel := context.WithTimeout(dg.life, longestRead)
		var s *store.State
		if s, err = dg.state(ctx, id); err == nil && dg.mine(ctx, s) {
			err = dg.evaluate(ctx, s)
		}
		cancel()
		if err == nil || errors.Is(err, store.ErrUnknown) {
			return err
		}
	}
	return err
}

// byJob lets one at a time change a job. Jobs share a few locks, so that nothing
// grows with their number.
type byJob [64]sync.Mutex

func (b *byJob) lock(id string) (unlock func()) {
	h := fnv.New32a()
	h.Write([]byte(id))
	m := &b[h.Sum32()%uint32(len(b))]
	m.Lock()
	return m.Unlock
}
