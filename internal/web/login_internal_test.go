package web

import (
	"context"
	"encoding/binary"
	"errors"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// address makes up an address.
func address(n uint32) netip.Addr {
	return netip.AddrFrom4([4]byte(binary.BigEndian.AppendUint32(nil, 10<<24|n)))
}

// guessersAtOnce is how many guess at the same time: more than a lane holds.
const guessersAtOnce = 20

func TestAKnownDeviceWaitsForFewHashesBesideGuessersOfManyAddresses(t *testing.T) {
	d := newLoginThrottle(time.Now)
	ctx, end := context.WithCancel(t.Context())
	var hashes, refused atomic.Int32
	var fresh atomic.Uint32
	var all sync.WaitGroup
	for range guessersAtOnce {
		all.Go(func() {
			for ctx.Err() == nil {
				_, err := d.try(ctx, address(fresh.Add(1)), false, func() bool {
					time.Sleep(time.Millisecond) // so that a queue forms
					hashes.Add(1)
					return false
				})
				if soon := (*tooSoon)(nil); errors.As(err, &soon) {
					refused.Add(1)
					if m := soon.told(); !soon.crowd || m.status != http.StatusTooManyRequests || m.wait == 0 {
						t.Errorf("%+v is told %+v", soon, m)
					}
					time.Sleep(time.Millisecond)
				}
			}
		})
	}
	for len(d.strangers.waiting) < mostWaiting { // the lane is full
		time.Sleep(time.Millisecond)
	}
	for n := range 20 {
		before, at := hashes.Load(), int32(0)
		right, err := d.try(ctx, address(1<<20), true, func() bool { at = hashes.Load(); return true })
		if !right || err != nil {
			t.Fatalf("the honest device: %v, %v", right, err)
		}
		if waited := at - before; waited > 3 { // one at work, one at its lane's end, and one that was counted late
			t.Errorf("login %d waited for %d hashes", n, waited)
		}
	}
	end()
	all.Wait()
	if refused.Load() == 0 {
		t.Error("no guesser was sent away, however many waited")
	}
}

func TestWhoIsSentAwayByACrowdHasGuessedNothing(t *testing.T) {
	d := newLoginThrottle(time.Now)
	for range mostWaiting {
		d.strangers.waiting <- struct{}{}
	}
	from := address(1)
	for range 2 * freeGuesses {
		if _, err := d.try(t.Context(), from, false, func() bool { return false }); err == nil {
			t.Fatal("nobody was sent away")
		}
	}
	if len(d.guesses) != 0 {
		t.Errorf("%d devices are remembered", len(d.guesses))
	}
	for range mostWaiting {
		<-d.strangers.waiting
	}
	if right, err := d.try(t.Context(), from, false, func() bool { return true }); !right || err != nil {
		t.Errorf("when the crowd is gone: %v, %v", right, err)
	}
}

func TestAMarkIsOfOneSecretOnly(t *testing.T) {
	r := httptest.NewRequest("POST", "/login", nil)
	r.AddCookie(&http.Cookie{Name: deviceCookie, Value: deviceMark("old", "nonce")})
	for hash, want := range map[string]bool{"old": true, "new": false, noHash: false} {
		if got := showsMark(r, hash); got != want {
			t.Errorf("under %q: %v", hash, got)
		}
	}
	r = httptest.NewRequest("POST", "/login", nil)
	r.AddCookie(&http.Cookie{Name: deviceCookie, Value: deviceMark(noHash, "nonce")}) // anybody can make this one
	if showsMark(r, noHash) || showsMark(r, "old") {
		t.Error("a mark that was made up is taken")
	}
}

// deadlines is a writer that keeps the deadline it was given last.
type deadlines struct {
	http.ResponseWriter
	last time.Time
}

func (d *deadlines) SetWriteDeadline(t time.Time) error { d.last = t; return nil }

func TestAnAnswerWithoutABodyGetsItsTimeToo(t *testing.T) {
	d := &deadlines{ResponseWriter: httptest.NewRecorder()}
	w := newPatient(d)
	d.last = time.Now().Add(-time.Second) // the request waited for its turn
	http.Redirect(w, httptest.NewRequest("POST", "/login", nil), "/", http.StatusSeeOther)
	if left := time.Until(d.last); left < patience/2 {
		t.Errorf("%v are left for the answer", left)
	}
}
