package web

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"

	"weephole/internal/store"
)

const (
	passphraseKey   = "passphrase"
	sessionCookie   = "weephole_session"
	whoCookie       = "weephole_who"
	sessionLasts    = 30 * 24 * time.Hour // judgement: a phone is let in once a month
	leastPassphrase = 8                   // characters; NIST SP 800-63B asks for 8 at least
	maxBody         = 1 << 20             // bytes of a form or an entry
	maxUpload       = 32 << 20            // bytes of a log or a photo
)

// Cost of the hash: RFC 9106, section 4, second recommended option: argon2id,
// 3 passes, 64 MiB, 4 lanes, 16 bytes of salt, 32 of tag.
const (
	argonPasses = 3
	argonKiB    = 64 << 10
	argonLanes  = 4
)

// guard lets devices in.
type guard struct {
	*responder
	cfg    Config
	store  store.Store
	origin *http.CrossOriginProtection
	trying chan struct{} // one: a hash takes 64 MiB, and guessing is made slow
}

func newGuard(cfg Config, re *responder) *guard {
	return &guard{responder: re, cfg: cfg, store: cfg.Store, origin: http.NewCrossOriginProtection(), trying: make(chan struct{}, 1)}
}

// SetPassphrase keeps the hash of a shop's passphrase and sends every device
// away that was let in by another.
func SetPassphrase(ctx context.Context, s store.Store, passphrase string) error {
	if utf8.RuneCountInString(passphrase) < leastPassphrase {
		return fmt.Errorf("the passphrase has fewer than %d characters; write a longer one", leastPassphrase)
	}
	salt := make([]byte, 16)
	rand.Read(salt)
	tag := argon2.IDKey([]byte(passphrase), salt, argonPasses, argonKiB, argonLanes, 32)
	e := base64.RawStdEncoding.EncodeToString
	hash := fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, argonKiB, argonPasses, argonLanes, e(salt), e(tag))
	if err := s.Set(ctx, passphraseKey, hash); err != nil {
		return err
	}
	return s.DropSessions(ctx)
}

// HasPassphrase tells whether a passphrase was set.
func HasPassphrase(ctx context.Context, s store.Store) (bool, error) {
	_, err := s.Setting(ctx, passphraseKey)
	if errors.Is(err, store.ErrUnknown) {
		return false, nil
	}
	return err == nil, err
}

// matches tells whether a passphrase has the hash.
func matches(hash, passphrase string) bool {
	var version, kib, passes, lanes int
	var rest string
	if n, err := fmt.Sscanf(hash, "$argon2id$v=%d$m=%d,t=%d,p=%d$%s", &version, &kib, &passes, &lanes, &rest); n != 5 || err != nil || version != argon2.Version {
		return false
	}
	saltText, tagText, _ := strings.Cut(rest, "$")
	salt, err1 := base64.RawStdEncoding.DecodeString(saltText)
	want, err2 := base64.RawStdEncoding.DecodeString(tagText)
	if err1 != nil || err2 != nil || len(want) == 0 {
		return false
	}
	got := argon2.IDKey([]byte(passphrase), salt, uint32(passes), uint32(kib), uint8(lanes), uint32(len(want)))
	return subtle.ConstantTimeCompare(got, want) == 1
}

// pauseAfterGuess is how long a wrong passphrase keeps the one door shut.
const pauseAfterGuess = time.Second

// login checks a passphrase and gives the session's cookie.
func (g *guard) login(ctx context.Context, passphrase, who string, secure bool) (*http.Cookie, error) {
	select {
	case g.trying <- struct{}{}:
		defer func() { <-g.trying }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	hash, err := g.store.Setting(ctx, passphraseKey)
	if err != nil {
		return nil, err
	}
	if !matches(hash, passphrase) {
		select {
		case <-time.After(pauseAfterGuess):
		case <-ctx.Done():
		}
		return nil, wrong(http.StatusUnauthorized, "that is not the shop's passphrase; ask whoever started the bench")
	}
	token := rand.Text() + rand.Text()
	until := g.cfg.Now().Add(sessionLasts)
	if err := g.store.PutSession(ctx, store.Session{Token: store.Sum([]byte(token)), Who: who, Expires: until}); err != nil {
		return nil, err
	}
	return &http.Cookie{
		Name: sessionCookie, Value: token, Path: "/", Expires: until, HttpOnly: true,
		SameSite: http.SameSiteLaxMode, Secure: secure,
	}, nil
}

// open are the addresses that need no session.
func open(path string) bool {
	return path == "/login" || path == "/healthz" || strings.HasPrefix(path, "/assets/")
}

// wrap puts the guard before the bench: which host is meant, where the request
// comes from, who asks, how large it is; and the headers that bind the page.
func (g *guard) wrap(next http.Handler) http.Handler {
	inner := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; manifest-src 'self'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "geolocation=(), microphone=()")
		h.Set("Cache-Control", "no-store")
		if !g.known(r.Host) {
			g.fail(w, r, wrong(http.StatusMisdirectedRequest, "this bench is not called %q; start it with --host to give it that name", r.Host))
			return
		}
		if err := g.origin.Check(r); err != nil {
			g.fail(w, r, wrong(http.StatusForbidden, "another site has sent this; open the bench itself and try again"))
			return
		}
		limit := int64(maxBody)
		if strings.HasSuffix(r.URL.Path, "/files") || r.URL.Path == "/api/import" {
			limit = maxUpload
		}
		r.Body = http.MaxBytesReader(w, r.Body, limit)
		if g.cfg.Guarded && !open(r.URL.Path) && !g.letIn(r) {
			if strings.HasPrefix(r.URL.Path, "/api/") {
				g.fail(w, r, wrong(http.StatusUnauthorized, "this device has not given the shop's passphrase, or too long ago; open the page and do so"))
				return
			}
			http.Redirect(w, r, "/login?to="+url.QueryEscape(r.URL.RequestURI()), http.StatusSeeOther)
			return
		}
		next.ServeHTTP(w, r)
	})
	return inner
}

// letIn tells whether the device has a session.
func (g *guard) letIn(r *http.Request) bool {
	c, err := r.Cookie(sessionCookie)
	if err != nil {
		return false
	}
	_, err = g.store.Session(r.Context(), store.Sum([]byte(c.Value)), g.cfg.Now())
	return err == nil
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

// who is how the device's user calls himself.
func who(r *http.Request) string {
	if c, err := r.Cookie(whoCookie); err == nil {
		if name, err := url.QueryUnescape(c.Value); err == nil && name != "" {
			return clip(name, 40)
		}
	}
	return "no name yet"
}

func whoIs(name string, until time.Time) *http.Cookie {
	return &http.Cookie{Name: whoCookie, Value: url.QueryEscape(clip(name, 40)), Path: "/", Expires: until, SameSite: http.SameSiteLaxMode}
}

// clip cuts a text to so many characters.
func clip(s string, n int) string {
	s = strings.TrimSpace(strings.ToValidUTF8(s, ""))
	if r := []rune(s); len(r) > n {
		return strings.TrimSpace(string(r[:n]))
	}
	return s
}

type loginPage struct{ To, Problem string }

func (g *guard) postLogin(w http.ResponseWriter, r *http.Request) {
	name := clip(r.FormValue("who"), 40)
	c, err := g.login(r.Context(), r.FormValue("passphrase"), name, r.TLS != nil)
	var m *mistake
	if errors.As(err, &m) {
		g.page(w, r, m.status, "login", loginPage{To: local(r.FormValue("to")), Problem: m.message})
		return
	}
	if err != nil {
		g.fail(w, r, err)
		return
	}
	http.SetCookie(w, c)
	if name != "" {
		http.SetCookie(w, whoIs(name, c.Expires))
	}
	http.Redirect(w, r, local(r.FormValue("to")), http.StatusSeeOther)
}

func (g *guard) postLogout(w http.ResponseWriter, r *http.Request) {
	if c, err := r.Cookie(sessionCookie); err == nil {
		if err := g.store.DropSession(r.Context(), store.Sum([]byte(c.Value))); err != nil {
			g.fail(w, r, err)
			return
		}
	}
	http.SetCookie(w, &http.Cookie{Name: sessionCookie, Path: "/", MaxAge: -1})
	http.Redirect(w, r, "/login", http.StatusSeeOther)
}
