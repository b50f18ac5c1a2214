package web

import (
	"net"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"weephole/internal/store"
)

const (
	sessionCookie = "weephole_session"
	whoCookie     = "weephole_who"
	sessionLasts  = 30 * 24 * time.Hour // judgement: a phone is let in once a month
	maxBody       = 1 << 20             // bytes of a form or an entry
	maxUpload     = 32 << 20            // bytes of a log or a photo
)

// guard lets devices in.
type guard struct {
	*responder
	cfg    Config
	store  store.Store // for sessions and invitations, which are of all shops
	house  *house
	origin *http.CrossOriginProtection
	door   *loginThrottle
	large  chan struct{} // places for large bodies, coming or going
}

func newGuard(cfg Config, re *responder, h *house) *guard {
	return &guard{
		responder: re, cfg: cfg, store: cfg.Store, house: h,
		origin: http.NewCrossOriginProtection(), door: newLoginThrottle(cfg.Now), large: make(chan struct{}, largeAtOnce),
	}
}

// open are the addresses that need no session.
func open(path string) bool {
	return path == "/login" || path == "/healthz" || strings.HasPrefix(path, "/assets/") || strings.HasPrefix(path, "/join/")
}

// wrap puts the guard before the rooms: which host is meant, where the request
// comes from, who asks and what he may, how large it is; and the headers that bind
// the page.
func (g *guard) wrap() http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		bind(w.Header())
		if !g.known(r.Host) {
			g.fail(w, r, wrong(http.StatusMisdirectedRequest, "this bench is not called %q; start it with --host to give it that name", r.Host))
			return
		}
		if err := g.origin.Check(r); err != nil {
			g.fail(w, r, wrong(http.StatusForbidden, "another site has sent this; open the bench itself and try again"))
			return
		}
		w = newPatient(w)
		r.Body = http.MaxBytesReader(w, r.Body, largest(r.URL.Path))
		id, in, err := g.identify(r)
		if err != nil && (!open(r.URL.Path) || strings.HasPrefix(r.URL.Path, "/join/")) { // who joins as himself has to be known
			g.fail(w, r, err)
			return
		}
		if !in && !open(r.URL.Path) {
			if strings.HasPrefix(r.URL.Path, "/api/") {
				g.fail(w, r, wrong(http.StatusUnauthorized, "this device has not given the shop's passphrase or its user's own secret, or too long ago; open the page and do so"))
				return
			}
			if out := wrong(http.StatusUnauthorized, "This device is no longer let in, so nothing was kept."); againOf(r, failureOf(out)) != nil {
				g.fail(w, r, out)
				return
			}
			http.Redirect(w, r, "/login?to="+url.QueryEscape(r.URL.RequestURI()), http.StatusSeeOther)
			return
		}
		if large(r) {
			done, err := g.place(r)
			if err != nil {
				g.fail(w, r, err)
				return
			}
			defer done()
			r.Body = &patientBody{r.Body, http.NewResponseController(w)}
		}
		room, err := g.house.room(r.Context(), id.Shop)
		if err == nil {
			err = room.jobs.borrowed(r, &id)
		}
		if err != nil {
			g.fail(w, r, err)
			return
		}
		r = r.WithContext(id.in(r.Context()))
		if what := needs(r); !open(r.URL.Path) && !id.Role.May(what) {
			g.log.Warn("not allowed", "who", id.Who, "role", id.Role, "method", r.Method, "path", r.URL.Path)
			g.fail(w, r, notAllowed(id, what))
			return
		}
		room.serve.ServeHTTP(w, r)
	})
}

// bind sets the headers that tell a browser what a page may do.
func bind(h http.Header) {
	h.Set("Content-Security-Policy", "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; media-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; manifest-src 'self'")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "same-origin")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Permissions-Policy", "geolocation=(), microphone=()")
	h.Set("Cache-Control", "no-store")
}

// largest is how many bytes may be sent to an address.
func largest(path string) int64 {
	switch {
	case path == "/api/import":
		return maxImport
	case strings.HasSuffix(path, "/files"):
		return maxUpload
	}
	return maxBody
}

// sessionOf is the name under which a request's session is kept, "" without one.
func sessionOf(r *http.Request) string {
	c, err := r.Cookie(sessionCookie)
	if err != nil {
		return ""
	}
	return store.Sum([]byte(c.Value))
}

// known tells whether a Host header is one by which this server may be called.
// A page elsewhere can give its own name our address (DNS rebinding), but then
// the Host is its name.
func (g *guard) known(host string) bool {
	name := host
	if h, _, err := net.SplitHostPort(host); err == nil {
		name = h
	}
	name = strings.ToLower(strings.Trim(name, "[]"))
	return name == "localhost" || net.ParseIP(name) != nil || slices.Contains(g.cfg.Hosts, name)
}

// nobody is who has not said what he is called.
const nobody = "no name yet"

// who is the person's name, or how the device's user calls himself. A name that
// belongs to somebody with a secret of his own is marked when it was only typed.
func who(r *http.Request) string {
	id, name := identityOf(r), stated(r)
	switch {
	case id.Person != "":
		return id.Who
	case name == "":
		return nobody
	case id.Borrowed:
		return name + " (not logged in by that name)"
	}
	return name
}

// stated is how the device's user calls himself, "" when he has not said.
func stated(r *http.Request) string {
	if c, err := r.Cookie(whoCookie); err == nil {
		if name, err := url.QueryUnescape(c.Value); err == nil {
			return fitName(name)
		}
	}
	return ""
}

func whoIs(name string, until time.Time, secure bool) *http.Cookie {
	return &http.Cookie{Name: whoCookie, Value: url.QueryEscape(fitName(name)), Path: "/", Expires: until, HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: secure}
}

// longestName is how long a name in the history may be, characters, and what the
// store takes of it, bytes: judgement.
const (
	longestName      = 40
	longestNameBytes = 80
)

// fitName is a name as the history takes it: letters of some scripts take four
// bytes each.
func fitName(s string) string {
	s = clip(s, longestName)
	for len(s) > longestNameBytes {
		r := []rune(s)
		s = strings.TrimSpace(string(r[:len(r)-1]))
	}
	return s
}

// clip cuts a text to so many characters.
func clip(s string, n int) string {
	s = strings.TrimSpace(strings.ToValidUTF8(s, ""))
	if r := []rune(s); len(r) > n {
		return strings.TrimSpace(string(r[:n]))
	}
	return s
}
