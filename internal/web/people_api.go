package web

import (
	"context"
	"crypto/rand"
	"errors"
	"net/http"
	"time"

	"weephole/internal/store"
)

// invitationLasts is how long a link lets somebody in: judgement, over a weekend.
const invitationLasts = 4 * 24 * time.Hour

// RoleChange is what a member may do from now on.
type RoleChange struct {
	Role store.Role `json:"role"`
	// Was is the role as the author saw it: over another one nothing is changed. Without
	// it the new one holds, whatever stands.
	Was store.Role `json:"was,omitempty"`
}

// Guest is somebody to be invited.
type Guest struct {
	Name string     `json:"name"`
	Role store.Role `json:"role"`
}

// Invited is the way in for somebody, once.
type Invited struct {
	ID      string    `json:"id"`
	Path    string    `json:"path"` // behind the bench's address; whoever has it can come in
	Expires time.Time `json:"expires"`
}

// Me is who asks.
type Me struct {
	Name   string     `json:"name"`
	Person string     `json:"person,omitempty"` // his id, where he has a secret of his own
	Role   store.Role `json:"role"`
	Shop   string     `json:"shop,omitempty"`
	Shops  []MyShop   `json:"shops"` // that he belongs to, where the store holds several
}

// MyShop is a shop that somebody belongs to.
type MyShop struct {
	store.Shop
	Role store.Role `json:"role"`
}

// Secrets are one's own secret and the one that takes its place.
type Secrets struct {
	Now  string `json:"now"`
	Next string `json:"next"`
}

// Passphrase is the shop's.
type Passphrase struct {
	Passphrase string `json:"passphrase"`
}

// ToShop names a shop.
type ToShop struct {
	Shop string `json:"shop"`
}

// Done is the answer where there is nothing else to say.
type Done struct {
	Done bool `json:"done"`
}

var done = Done{true}

// peopleAPI is about people, their devices and their secrets.
type peopleAPI struct {
	*jobs
	house *house
}

func (ap *peopleAPI) routes() []route {
	return []route{
		{method: "GET", path: "/api/people", name: "listPeople", about: "The people of the shop who have secrets of their own.", out: []store.Person{}, status: 200, do: ap.listPeople},
		{method: "PUT", path: "/api/people/{person}", name: "setRole", about: "Changes what somebody may do: owner, mechanic, viewer.", in: RoleChange{}, out: Done{}, status: 200, do: ap.setRole},
		{method: "DELETE", path: "/api/people/{person}", name: "removePerson", about: "Takes somebody away; his devices are out at once. The history keeps his name.", out: Done{}, status: 200, do: ap.removePerson},
		{method: "GET", path: "/api/invitations", name: "listInvitations", about: "The invitations that nobody has used yet.", out: []store.Invitation{}, status: 200, do: ap.listInvitations},
		{method: "POST", path: "/api/invitations", name: "invite", about: "Makes a link with which somebody comes in once and chooses his secret.", in: Guest{}, out: Invited{}, status: 201, do: ap.invite},
		{method: "DELETE", path: "/api/invitations/{invitation}", name: "withdrawInvitation", about: "Makes a link useless.", out: Done{}, status: 200, do: ap.withdraw},
		{method: "GET", path: "/api/sessions", name: "listSessions", about: "The devices that are let into the shop, the last seen first.", out: []store.Session{}, status: 200, do: ap.listSessions},
		{method: "DELETE", path: "/api/sessions/{session}", name: "endSession", about: "Sends a device away at once.", out: Done{}, status: 200, do: ap.endSession},
		{method: "PUT", path: "/api/passphrase", name: "setPassphrase", about: "Sets the shop's passphrase; devices that came in with the one before are out.", in: Passphrase{}, out: Done{}, status: 200, do: ap.setPassphrase},
		{method: "DELETE", path: "/api/passphrase", name: "dropPassphrase", about: "Takes the passphrase away: from then on each needs a secret of his own.", out: Done{}, status: 200, do: ap.dropPassphrase},
		{method: "GET", path: "/api/me", name: "getMe", about: "Who asks, and in which shop.", out: Me{}, status: 200, do: ap.getMe},
		{method: "GET", path: "/api/me/sessions", name: "listMySessions", about: "The devices that are let in by one's own secret in this shop.", out: []store.Session{}, status: 200, do: ap.mySessions},
		{method: "DELETE", path: "/api/me/sessions/{session}", name: "endMySession", about: "Sends one of one's own devices away.", out: Done{}, status: 200, do: ap.endMySession},
		{method: "PUT", path: "/api/me/secret", name: "setMySecret", about: "Changes one's own secret; one's other devices are out.", in: Secrets{}, out: Done{}, status: 200, do: ap.setMySecret},
		{method: "PUT", path: "/api/me/shop", name: "goToShop", about: "Works in another of one's shops from now on, on this device.", in: ToShop{}, out: Done{}, status: 200, do: ap.goToShop},
	}
}

func (ap *peopleAPI) listPeople(_ http.ResponseWriter, r *http.Request) (any, error) {
	return ap.store.People(r.Context())
}

func (ap *peopleAPI) setRole(_ http.ResponseWriter, r *http.Request) (any, error) {
	var c RoleChange
	if err := decode(r, &c); err != nil {
		return nil, err
	}
	return done, ap.changeRole(r, r.PathValue("person"), c)
}

func (ap *peopleAPI) changeRole(r *http.Request, person string, c RoleChange) error {
	if err := known(c.Role); err != nil {
		return err
	}
	err := ap.store.SetRole(r.Context(), person, c.Role, c.Was)
	switch {
	case err == nil:
		ap.cfg.Log.Info("role changed", "by", who(r), "person", person, "role", c.Role, "shop", ap.ofShop())
	case errors.Is(err, store.ErrOvertaken):
		return wrong(http.StatusConflict, "Somebody else changed this role meanwhile. You chose %s; that was not kept. Look at what stands now, then decide.", roleWords[c.Role])
	}
	return lastOwner(err)
}

func known(role store.Role) error {
	if roleWords[role] == "" {
		return wrong(http.StatusUnprocessableEntity, "the role %q is not known; write owner, mechanic or viewer", clip(string(role), 20))
	}
	return nil
}

func lastOwner(err error) error {
	if errors.Is(err, store.ErrLastOwner) {
		return wrong(http.StatusConflict, "The shop has no passphrase and no other owner: nobody could let people in. Make somebody else an owner first.")
	}
	return err
}

func (ap *peopleAPI) removePerson(_ http.ResponseWriter, r *http.Request) (any, error) {
	person := r.PathValue("person")
	sessions, err := ap.store.Sessions(r.Context(), ap.cfg.Now())
	if err != nil {
		return nil, err
	}
	if err := ap.store.RemovePerson(r.Context(), person); err != nil {
		return nil, lastOwner(err)
	}
	for _, s := range sessions {
		if s.Person == person {
			ap.house.drop(s.Token)
		}
	}
	ap.cfg.Log.Info("person removed", "by", who(r), "person", person, "shop", ap.ofShop())
	return done, nil
}

func (ap *peopleAPI) listInvitations(_ http.ResponseWriter, r *http.Request) (any, error) {
	return ap.store.Invitations(r.Context(), ap.cfg.Now())
}

func (ap *peopleAPI) invite(_ http.ResponseWriter, r *http.Request) (any, error) {
	var g Guest
	if err := decode(r, &g); err != nil {
		return nil, err
	}
	return ap.inviteOne(r, g)
}

func (ap *peopleAPI) inviteOne(r *http.Request, g Guest) (Invited, error) {
	if err := known(g.Role); err != nil {
		return Invited{}, err
	}
	if !ap.cfg.Guarded {
		return Invited{}, wrong(http.StatusConflict, "This bench lets everybody in. Once it is started with a passphrase, people can have secrets of their own. The manual of the bench says how.")
	}
	token, path := newInvitation()
	i := store.Invitation{Token: token, Name: fitName(g.Name), Role: g.Role, Inviter: who(r), Expires: ap.cfg.Now().Add(invitationLasts)}
	if err := ap.store.Invite(r.Context(), i); err != nil {
		return Invited{}, err
	}
	ap.cfg.Log.Info("invited", "by", who(r), "name", i.Name, "role", i.Role, "shop", ap.ofShop())
	return Invited{ID: token, Path: path, Expires: i.Expires}, nil
}

// newInvitation is what the store keeps of an invitation, and its way in.
func newInvitation() (token, path string) {
	word := rand.Text() + rand.Text()
	return store.Sum([]byte(word)), "/join/" + word
}

// Invite makes the first way into a shop, for whoever set it up.
func Invite(ctx context.Context, s store.Store, name string, role store.Role, now time.Time) (path string, err error) {
	token, path := newInvitation()
	return path, s.Invite(ctx, store.Invitation{Token: token, Name: fitName(name), Role: role, Inviter: "the command line", Expires: now.Add(invitationLasts)})
}

func (ap *peopleAPI) withdraw(_ http.ResponseWriter, r *http.Request) (any, error) {
	return done, ap.store.DropInvitation(r.Context(), r.PathValue("invitation"))
}

func (ap *peopleAPI) listSessions(_ http.ResponseWriter, r *http.Request) (any, error) {
	return ap.store.Sessions(r.Context(), ap.cfg.Now())
}

func (ap *peopleAPI) mySessions(_ http.ResponseWriter, r *http.Request) (any, error) {
	return ap.sessionsOf(r)
}

// sessionsOf are the devices of the person who asks; of one who came in with the
// passphrase it is the device alone.
func (ap *peopleAPI) sessionsOf(r *http.Request) ([]store.Session, error) {
	id := identityOf(r)
	all, err := ap.store.Sessions(r.Context(), ap.cfg.Now())
	mine := []store.Session{}
	for _, s := range all {
		if id.Person != "" && s.Person == id.Person || s.Token == id.Token {
			mine = append(mine, s)
		}
	}
	return mine, err
}

func (ap *peopleAPI) endSession(_ http.ResponseWriter, r *http.Request) (any, error) {
	all, err := ap.store.Sessions(r.Context(), ap.cfg.Now())
	if err != nil {
		return nil, err
	}
	return ap.endOf(r, all)
}

func (ap *peopleAPI) endMySession(_ http.ResponseWriter, r *http.Request) (any, error) {
	mine, err := ap.sessionsOf(r)
	if err != nil {
		return nil, err
	}
	return ap.endOf(r, mine)
}

// endOf ends a session that is one of the list.
func (ap *peopleAPI) endOf(r *http.Request, list []store.Session) (any, error) {
	for _, s := range list {
		if s.Token == r.PathValue("session") {
			if err := ap.store.DropSession(r.Context(), s.Token); err != nil {
				return nil, err
			}
			ap.house.drop(s.Token)
			ap.cfg.Log.Info("device sent away", "by", who(r), "of", s.Who, "shop", ap.ofShop())
			return done, nil
		}
	}
	return nil, store.ErrUnknown
}

func (ap *peopleAPI) setPassphrase(_ http.ResponseWriter, r *http.Request) (any, error) {
	var p Passphrase
	if err := decode(r, &p); err != nil {
		return nil, err
	}
	return done, ap.passphrase(r, p.Passphrase, nil)
}

// passphrase sets the shop's passphrase, or takes it away (""), over the one whose mark its
// author saw; nil asks for nothing.
func (ap *peopleAPI) passphrase(r *http.Request, phrase string, over *string) error {
	if !ap.cfg.Guarded {
		return wrong(http.StatusConflict, "This bench lets everybody in. It has to be started with a passphrase before another one can be set. The manual of the bench says how.")
	}
	sessions, err := ap.store.Sessions(r.Context(), ap.cfg.Now())
	if err != nil {
		return err
	}
	err = ap.house.guard.slowly(r.Context(), func() error {
		if phrase == "" {
			return noPassphrase(r.Context(), ap.store, over)
		}
		return setPassphrase(r.Context(), ap.store, phrase, over)
	})
	if errors.Is(err, store.ErrOvertaken) {
		return wrong(http.StatusConflict, "Somebody else changed the passphrase meanwhile, so that nothing was changed. Whoever did so can tell you the new one.")
	}
	if err != nil {
		return err
	}
	for _, s := range sessions {
		if s.Person == "" {
			ap.house.drop(s.Token)
		}
	}
	ap.cfg.Log.Info("passphrase changed", "by", who(r), "shop", ap.ofShop())
	return nil
}

func (ap *peopleAPI) dropPassphrase(_ http.ResponseWriter, r *http.Request) (any, error) {
	return done, ap.passphrase(r, "", nil)
}

// slowly does something that takes a slow hash, one at a time.
func (g *guard) slowly(ctx context.Context, do func() error) error {
	if err := take(ctx, g.door.hash); err != nil {
		return err
	}
	defer func() { <-g.door.hash }()
	return do()
}

func (ap *peopleAPI) setMySecret(_ http.ResponseWriter, r *http.Request) (any, error) {
	var s Secrets
	if err := decode(r, &s); err != nil {
		return nil, err
	}
	return done, ap.changeSecret(r, s)
}

func (ap *peopleAPI) changeSecret(r *http.Request, s Secrets) error {
	id := identityOf(r)
	if id.Person == "" {
		return wrong(http.StatusConflict, "You came in with the shop’s passphrase; only people who were invited have a secret of their own.")
	}
	p, err := ap.store.Person(r.Context(), id.Who)
	if err != nil {
		return err
	}
	right, err := ap.house.guard.door.try(r.Context(), device(ap.house.guard.client(r).addr), true, func() bool { return matches(p.Secret, s.Now) })
	var soon *tooSoon
	switch {
	case errors.As(err, &soon):
		return soon.told()
	case err != nil:
		return err
	case !right:
		return wrong(http.StatusUnprocessableEntity, "That is not your secret as it is now.")
	}
	mine, err := ap.sessionsOf(r)
	if err != nil {
		return err
	}
	err = ap.house.guard.slowly(r.Context(), func() error {
		hash, err := hashOf("secret", s.Next, p.Name)
		if err != nil {
			return err
		}
		return ap.store.SetSecret(r.Context(), p.ID, hash, id.Token)
	})
	if err != nil {
		return err
	}
	for _, s := range mine {
		if s.Token != id.Token {
			ap.house.drop(s.Token)
		}
	}
	ap.cfg.Log.Info("secret changed", "by", who(r))
	return nil
}

func (ap *peopleAPI) getMe(_ http.ResponseWriter, r *http.Request) (any, error) { return ap.me(r) }

func (ap *peopleAPI) me(r *http.Request) (Me, error) {
	id := identityOf(r)
	m := Me{Name: who(r), Person: id.Person, Role: id.Role, Shop: id.Shop, Shops: []MyShop{}}
	if id.Person == "" || !id.Group {
		return m, nil
	}
	list, err := ap.store.Shops(r.Context(), id.Person)
	for _, s := range list {
		m.Shops = append(m.Shops, MyShop{s.Shop, s.Role})
	}
	return m, err
}

func (ap *peopleAPI) goToShop(_ http.ResponseWriter, r *http.Request) (any, error) {
	var to ToShop
	if err := decode(r, &to); err != nil {
		return nil, err
	}
	return done, ap.goTo(r, to.Shop)
}

// goTo has the device work in another shop that its person belongs to.
func (ap *peopleAPI) goTo(r *http.Request, shop string) error {
	m, err := ap.me(r)
	if err != nil {
		return err
	}
	for _, s := range m.Shops {
		if s.ID == shop {
			id := identityOf(r)
			ap.house.drop(id.Token) // its pages show the shop before
			return ap.store.SeeSession(r.Context(), id.Token, shop, ap.cfg.Now())
		}
	}
	return wrong(http.StatusForbidden, "You do not belong to that shop.")
}

func (ap *shopsAPI) listShops(_ http.ResponseWriter, r *http.Request) (any, error) {
	all, err := ap.house.shops(r.Context())
	if all == nil {
		all = []store.Shop{}
	}
	return all, err
}
