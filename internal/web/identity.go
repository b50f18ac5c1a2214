package web

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"time"

	"weephole/internal/store"
)

// identity is who asks, and in which shop.
type identity struct {
	store.Session
	Guarded bool // somebody asked for a secret
	Group   bool // the store holds several shops
	// Borrowed: the device was let in with the passphrase and calls itself by the
	// name of a person who has a secret of his own.
	Borrowed bool
}

type identityKey struct{}

// identityOf is who sent a request; on a bench that asks nobody it is its owner.
func identityOf(r *http.Request) identity {
	if id, ok := r.Context().Value(identityKey{}).(identity); ok {
		return id
	}
	return identity{Session: store.Session{Role: store.Owner}}
}

func (id identity) in(ctx context.Context) context.Context {
	return context.WithValue(ctx, identityKey{}, id)
}

// seenEvery is how exactly it is kept when a device was last there: judgement.
const seenEvery = time.Hour

// identify tells who sent a request, and false when the device was not let in. A store
// that fails is an error: it does not say that the device was never let in, and a page
// that leads to the login for it loses what was half typed.
func (g *guard) identify(r *http.Request) (id identity, in bool, err error) {
	id = identity{Session: store.Session{Shop: g.house.home.shop}, Group: g.house.several(r.Context())}
	if !g.cfg.Guarded {
		id.Role = store.Owner
		return id, true, nil
	}
	token := sessionOf(r)
	if token == "" {
		return id, false, nil
	}
	s, err := g.store.Session(r.Context(), token, g.cfg.Now())
	switch {
	case absent(err):
		return id, false, nil
	case err != nil:
		return id, false, fmt.Errorf("look for the session: %w", err)
	}
	id.Session, id.Guarded = s, true
	if now := g.cfg.Now(); now.Sub(s.Seen) > seenEvery {
		if err := g.store.SeeSession(r.Context(), token, s.Shop, now); err != nil {
			g.log.Warn("it could not be kept when a device was there", "error", err)
		}
	}
	return id, true, nil
}

// borrowed looks whether a device that gave the passphrase calls itself by the name
// of somebody who has a secret of his own.
func (sh *shopRecord) borrowed(r *http.Request, id *identity) error {
	if !id.Guarded || id.Person != "" || stated(r) == "" {
		return nil
	}
	_, err := sh.store.Person(r.Context(), stated(r))
	id.Borrowed = err == nil
	if absent(err) {
		return nil
	}
	return err
}

// needs is the role that a request needs. Looking is for everybody, working jobs for
// mechanics, and what concerns people and the shop as a whole for owners.
func needs(r *http.Request) store.Role {
	path, looks := r.URL.Path, r.Method == http.MethodGet || r.Method == http.MethodHead
	path = strings.TrimPrefix(path, "/api")
	under := func(roots ...string) bool {
		for _, root := range roots {
			if path == root || strings.HasPrefix(path, root+"/") {
				return true
			}
		}
		return false
	}
	switch {
	case under("/logout", "/who", "/me"): // one's own
		return store.Viewer
	case under("/people", "/invitations", "/sessions", "/passphrase"):
		return store.Owner
	case looks:
		return store.Viewer
	case under("/settings", "/demo"), strings.HasSuffix(path, "/hand"):
		return store.Owner
	}
	return store.Mechanic
}

// roleWords say what a role may do.
var roleWords = map[store.Role]string{
	store.Owner: "owner", store.Mechanic: "mechanic", store.Viewer: "viewer",
}

// notAllowed says what somebody may not do, and who may.
func notAllowed(id identity, what store.Role) error {
	if what == store.Owner {
		return wrong(http.StatusForbidden, "Only an owner of the shop may do that; you are here as a %s.", roleWords[id.Role])
	}
	return wrong(http.StatusForbidden, "You may look at this shop’s jobs and not change them. An owner of the shop can make you a mechanic.")
}
