package web

import (
	"context"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"net/http"
	"net/netip"
	"strconv"
	"strings"
	"sync"
	"time"

	"weephole/internal/store"
)

// How logging in is slowed down. A device that guesses waits twice as long after
// each further wrong guess. Those that have guessed wrong, strangers, and devices that
// were let in before come by three lanes, one after the other in each. So a device that
// is known never waits for more than one of each other lane, however many addresses a
// guesser has. In each lane a few may wait, and the others are told to come again: whoever
// waits too long is gone by the time that he is let in. All are judgement.
const (
	freeGuesses   = 2 // a slip or two costs nothing
	firstPause    = time.Second
	longestPause  = 5 * time.Minute
	pauseAtDoor   = time.Second // after each wrong guess the lane of the guessers stays shut
	forgetGuesses = time.Hour   // after the last of them
	rememberMost  = 10000       // devices
	mostWaiting   = 8           // in each lane; a hash takes some tenths of a second
	crowdPause    = 3 * time.Second
	knownFor      = 365 * 24 * time.Hour // after its last login a device is a stranger again
)

// loginThrottle lets devices try the passphrase.
type loginThrottle struct {
	now  func() time.Time
	hash chan struct{} // one place: a hash takes 64 MiB

	known     lane // were let in before
	strangers lane
	guessers  lane // have guessed wrong

	mu      sync.Mutex
	guesses map[netip.Addr]*guesser
}

// guesser is a device that has guessed wrong, or is trying just now.
type guesser struct {
	wrong  int
	last   time.Time
	trying bool
}

func newLoginThrottle(now func() time.Time) *loginThrottle {
	return &loginThrottle{
		now: now, hash: make(chan struct{}, 1), guesses: map[netip.Addr]*guesser{},
		known: newLane(), strangers: newLane(), guessers: newLane(),
	}
}

// lane is a way to the hash: one stands at its end, and a few wait behind.
type lane struct{ end, waiting chan struct{} }

func newLane() lane { return lane{make(chan struct{}, 1), make(chan struct{}, mostWaiting)} }

// enter waits for the lane's end, unless too many wait already.
func (l lane) enter(ctx context.Context) (leave func(), err error) {
	select {
	case l.waiting <- struct{}{}:
	default:
		return nil, &tooSoon{crowdPause, true}
	}
	defer func() { <-l.waiting }()
	if err := take(ctx, l.end); err != nil {
		return nil, err
	}
	return func() { <-l.end }, nil
}

// tooSoon is a try that came before the device's pause was over, or while a crowd waits.
type tooSoon struct {
	wait  time.Duration
	crowd bool
}

func (t *tooSoon) Error() string { return fmt.Sprintf("too soon by %v", t.wait) }

// told is what the device is told.
func (t *tooSoon) told() *mistake {
	why := "Too many wrong tries from this device."
	if t.crowd {
		why = "Too many devices are trying to come in just now."
	}
	return &mistake{status: http.StatusTooManyRequests, wait: t.wait, message: why + " Try again in " + inWords(t.wait) + "."}
}

// pause is how long a device waits after so many wrong guesses.
func pause(wrong int) time.Duration {
	if wrong <= freeGuesses {
		return 0
	}
	return min(longestPause, firstPause<<min(wrong-freeGuesses-1, 20))
}

// try lets a device try: known says whether it was let in before, and matches whether
// the passphrase is right.
func (d *loginThrottle) try(ctx context.Context, from netip.Addr, known bool, matches func() bool) (right bool, err error) {
	g, err := d.begin(from)
	if err != nil {
		return false, err
	}
	tried := false
	defer func() { d.end(from, g, tried, right) }()
	way, guessed := d.strangers, g.wrong > freeGuesses
	switch {
	case guessed:
		way = d.guessers
	case known:
		way = d.known
	}
	leave, err := way.enter(ctx)
	if err != nil {
		return false, err
	}
	defer leave()
	if err := take(ctx, d.hash); err != nil {
		return false, err
	}
	tried, right = true, matches()
	<-d.hash
	if guessed && !right {
		select {
		case <-time.After(pauseAtDoor):
		case <-ctx.Done():
		}
	}
	return right, nil
}

// take waits for a place.
func take(ctx context.Context, place chan struct{}) error {
	select {
	case place <- struct{}{}:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (d *loginThrottle) begin(from netip.Addr) (*guesser, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	g := d.guesses[from]
	if g == nil {
		if len(d.guesses) >= rememberMost {
			d.forget()
		}
		g = &guesser{}
		d.guesses[from] = g
	}
	now := d.now()
	if now.Sub(g.last) > forgetGuesses {
		g.wrong = 0
	}
	switch wait := pause(g.wrong) - now.Sub(g.last); {
	case g.trying:
		return nil, &tooSoon{wait: firstPause}
	case wait > 0:
		return nil, &tooSoon{wait: wait}
	}
	g.trying = true
	return g, nil
}

// end writes down what came of a try. One that was sent away before its passphrase was
// looked at has guessed nothing.
func (d *loginThrottle) end(from netip.Addr, g *guesser, tried, right bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	g.trying = false
	switch {
	case right, !tried && g.wrong == 0:
		delete(d.guesses, from)
	case tried:
		g.wrong++
		g.last = d.now()
	}
}

// forget drops the guessers that are not trying: all whose time is over, and
// where that makes no room, any half of them.
func (d *loginThrottle) forget() {
	now := d.now()
	for from, g := range d.guesses {
		if !g.trying && now.Sub(g.last) > forgetGuesses {
			delete(d.guesses, from)
		}
	}
	for from, g := range d.guesses {
		if len(d.guesses) <= rememberMost/2 {
			return
		}
		if !g.trying {
			delete(d.guesses, from)
		}
	}
}

// device is the address by which a device is known at the door: an IPv6 network
// gives each machine a whole block, so that its first half counts.
func device(client netip.Addr) netip.Addr {
	if client = client.Unmap(); client.Is6() {
		if p, err := client.Prefix(64); err == nil {
			return p.Addr()
		}
	}
	return client
}

// deviceCookie is kept by a device that was let in, for its next login.
const deviceCookie = "weephole_device"

// deviceMark is what a device is given that has shown the secret of a hash. The hash is
// its key: it has random salt and leaves the store in no other way, so that no mark can be
// made up, and a new secret makes strangers of all who came in with the old one.
func deviceMark(hash, nonce string) string {
	h := hmac.New(sha256.New, []byte(hash))
	h.Write([]byte("device " + nonce))
	return nonce + "." + hex.EncodeToString(h.Sum(nil))
}

// showsMark tells whether a device was let in before with the secret of a hash. Such a
// mark opens nothing: it only keeps the device from waiting behind strangers.
func showsMark(r *http.Request, hash string) bool {
	c, err := r.Cookie(deviceCookie)
	if err != nil || hash == noHash {
		return false
	}
	nonce, _, _ := strings.Cut(c.Value, ".")
	return hmac.Equal([]byte(c.Value), []byte(deviceMark(hash, nonce)))
}

// login checks a person's secret, or the shop's passphrase, and gives the cookies of
// the session and of the device.
func (g *guard) login(r *http.Request, shop, secret, who string) (session, mark *http.Cookie, err error) {
	ctx, from := r.Context(), g.client(r)
	room, err := g.house.room(ctx, shop)
	if err != nil && !absent(err) {
		return nil, nil, err
	}
	hash, s := noHash, store.Session{Who: who, Device: kindOf(r)}
	if room != nil {
		if hash, err = room.jobs.secretOf(ctx, &s); err != nil {
			return nil, nil, err
		}
	}
	right, err := g.door.try(ctx, device(from.addr), showsMark(r, hash), func() bool { return matches(hash, secret) && hash != noHash })
	var soon *tooSoon
	switch {
	case errors.As(err, &soon):
		g.log.Warn("login held back", "from", from.addr, "wait", soon.wait.Round(time.Second), "crowd", soon.crowd)
		return nil, nil, soon.told()
	case err != nil:
		return nil, nil, err
	case !right:
		g.log.Warn("login refused", "from", from.addr, "shop", shop)
		return nil, nil, wrong(http.StatusUnauthorized, "That is neither the shop’s passphrase nor this name’s own secret. Ask whoever started the bench, or an owner of the shop.")
	}
	if session, err = g.let(r, room, s); err != nil {
		return nil, nil, err
	}
	return session, &http.Cookie{
		Name: deviceCookie, Value: deviceMark(hash, rand.Text()), Path: "/login", MaxAge: int(knownFor / time.Second), HttpOnly: true,
		SameSite: http.SameSiteLaxMode, Secure: from.secure,
	}, nil
}

// secretOf is the hash of what a session has to give: the person's secret where the
// name is a person's, else the shop's passphrase.
func (sh *shopRecord) secretOf(ctx context.Context, s *store.Session) (string, error) {
	p, err := sh.store.Person(ctx, s.Who)
	switch {
	case err == nil:
		s.Person, s.Who = p.ID, p.Name
		return p.Secret, nil
	case !absent(err):
		return "", err
	}
	hash, err := passphraseHash(ctx, sh.store)
	if hash == "" {
		hash = noHash
	}
	return hash, err
}

// let makes a session for a device that may come in.
func (g *guard) let(r *http.Request, room *room, s store.Session) (*http.Cookie, error) {
	token, from := rand.Text()+rand.Text(), g.client(r)
	s.Token, s.Began = store.Sum([]byte(token)), g.cfg.Now()
	s.Expires = s.Began.Add(sessionLasts)
	if err := room.jobs.store.PutSession(r.Context(), s); err != nil {
		return nil, err
	}
	g.log.Info("logged in", "from", from.addr, "who", s.Who, "person", s.Person != "", "shop", room.shop)
	return &http.Cookie{
		Name: sessionCookie, Value: token, Path: "/", Expires: s.Expires, HttpOnly: true,
		SameSite: http.SameSiteLaxMode, Secure: from.secure,
	}, nil
}

// kinds are what a browser's own description is looked through for, the first that
// is found counts: they only help people to tell their devices apart.
var kinds = []string{"iPhone", "iPad", "Android", "Windows", "Macintosh", "CrOS", "Linux"}

// kindOf is what kind of device it seems to be.
func kindOf(r *http.Request) string {
	for _, k := range kinds {
		if strings.Contains(r.UserAgent(), k) {
			return k
		}
	}
	return "unknown"
}

// inWords says a pause in seconds or minutes.
func inWords(d time.Duration) string {
	if s := int((d + time.Second - 1) / time.Second); s < 100 {
		return strconv.Itoa(s) + " s"
	}
	return strconv.Itoa(int((d+time.Minute-1)/time.Minute)) + " min"
}

// logout ends a device's session and its streams.
func (g *guard) logout(r *http.Request) error {
	session := sessionOf(r)
	if session == "" {
		return nil
	}
	if err := g.store.DropSession(r.Context(), session); err != nil {
		return err
	}
	g.house.drop(session)
	g.log.Info("logged out", "from", g.client(r).addr)
	return nil
}

type loginPage struct {
	To, Problem string
	Group       bool   // the store holds several shops
	Shop        string // which, as far as known
}

const shopCookie = "weephole_shop" // which shop this device was in last

// loginPage is the empty form.
func (g *guard) loginPage(r *http.Request) (any, error) {
	p := loginPage{To: local(r.FormValue("to")), Shop: r.FormValue("shop")}
	all, err := g.house.shops(r.Context())
	p.Group = len(all) > 0
	if c, err := r.Cookie(shopCookie); err == nil && p.Shop == "" {
		p.Shop = clip(c.Value, 40)
	}
	return p, err
}

func (g *guard) postLogin(w http.ResponseWriter, r *http.Request) {
	name, shop := clip(r.FormValue("who"), 40), g.house.home.shop
	if s := strings.ToLower(clip(r.FormValue("shop"), 40)); s != "" && g.house.group != nil {
		shop = s
	}
	c, mark, err := g.login(r, shop, r.FormValue("passphrase"), name)
	var m *mistake
	if errors.As(err, &m) {
		if m.wait > 0 {
			w.Header().Set("Retry-After", strconv.Itoa(int(m.wait/time.Second)+1))
		}
		p, err := g.loginPage(r)
		if err != nil {
			g.fail(w, r, err)
			return
		}
		again := p.(loginPage)
		again.Problem = m.message
		g.page(w, r, m.status, "login", again)
		return
	}
	if err != nil {
		g.fail(w, r, err)
		return
	}
	g.enter(w, c, shop)
	http.SetCookie(w, mark)
	if name != "" {
		http.SetCookie(w, whoIs(name, c.Expires, c.Secure))
	}
	http.Redirect(w, r, local(r.FormValue("to")), http.StatusSeeOther)
}

// enter gives a device its cookies.
func (g *guard) enter(w http.ResponseWriter, c *http.Cookie, shop string) {
	http.SetCookie(w, c)
	if g.house.group != nil {
		http.SetCookie(w, &http.Cookie{Name: shopCookie, Value: shop, Path: "/", MaxAge: 365 * 24 * 3600, HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: c.Secure})
	}
}

func (g *guard) postLogout(w http.ResponseWriter, r *http.Request) {
	if err := g.logout(r); err != nil {
		g.fail(w, r, err)
		return
	}
	http.SetCookie(w, &http.Cookie{Name: sessionCookie, Path: "/", MaxAge: -1, HttpOnly: true, Secure: g.client(r).secure})
	w.Header().Set("Clear-Site-Data", `"cache"`)
	http.Redirect(w, r, "/login", http.StatusSeeOther)
}
