package web

import (
	"bytes"
	"sync"

	"weephole/internal/web/answers"
)

// readOff keeps the answers that were read off the disk last. A page asks for its job's
// answer several times, and to read one of 100 kB takes longer than all else that the
// page needs. Nobody changes an answer that was given out.
type readOff struct {
	mu  sync.Mutex
	was map[string]readAnswer // by job
}

// readAnswer is an answer beside the bytes that it was read from.
type readAnswer struct {
	body []byte
	a    *answers.Answer // nil: written by another version
}

// mostReadOff is how many answers are kept: judgement, a busy shop's jobs of a day.
const mostReadOff = 32

// answer is the one that these bytes of a job were read as, made with read where they are
// others than last time.
func (k *readOff) answer(job string, body []byte, read func([]byte) *answers.Answer) *answers.Answer {
	k.mu.Lock()
	was, there := k.was[job]
	k.mu.Unlock()
	if there && bytes.Equal(was.body, body) {
		return was.a
	}
	now := readAnswer{bytes.Clone(body), read(body)}
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.was == nil || len(k.was) >= mostReadOff {
		k.was = make(map[string]readAnswer)
	}
	k.was[job] = now
	return now.a
}
