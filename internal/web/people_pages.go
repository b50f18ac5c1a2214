package web

import (
	"errors"
	"html/template"
	"net/http"
	"strings"
	"time"

	"github.com/google/uuid"

	"weephole/internal/store"
)

func (pg *peoplePages) routePeople(mux *http.ServeMux) {
	mux.HandleFunc("GET /people", pg.shown("people", pg.peoplePage))
	mux.HandleFunc("POST /people/invite", pg.postInvite)
	mux.HandleFunc("POST /people/{person}/role", pg.postRole)
	mux.HandleFunc("POST /people/{person}/remove", pg.does("/people", pg.api.people.removePerson))
	mux.HandleFunc("POST /invitations/{invitation}/withdraw", pg.does("/people", pg.api.people.withdraw))
	mux.HandleFunc("POST /sessions/{session}/end", pg.does("/people", pg.api.people.endSession))
	mux.HandleFunc("POST /passphrase", pg.postPassphrase)
	mux.HandleFunc("GET /me", pg.shown("me", pg.mePage))
	mux.HandleFunc("POST /me/secret", pg.done(func(r *http.Request) (string, error) {
		return "/me?saved=1", pg.api.people.changeSecret(r, Secrets{r.FormValue("now"), r.FormValue("next")})
	}))
	mux.HandleFunc("POST /me/sessions/{session}/end", pg.does("/me", pg.api.people.endMySession))
	mux.HandleFunc("POST /me/shop", pg.done(func(r *http.Request) (string, error) {
		return local(r.FormValue("to")), pg.api.people.goTo(r, r.FormValue("shop"))
	}))
	mux.HandleFunc("GET /jobs/{id}/hand", pg.shown("hand", pg.handPage))
	mux.HandleFunc("POST /jobs/{id}/hand", pg.done(func(r *http.Request) (string, error) {
		return "/jobs/" + r.PathValue("id") + "/history", pg.api.shops.hand(r, r.FormValue("shop"))
	}))
	mux.HandleFunc("GET /results", pg.shown("results", func(r *http.Request) (any, error) { return pg.api.shops.resultsOf(r) }))
	mux.HandleFunc("GET /join/{word}", pg.shown("join", pg.joinPage))
	mux.HandleFunc("POST /join/{word}", pg.postJoin)
}

// does is a form that does what a route of the API does.
func (pg *peoplePages) does(to string, do func(http.ResponseWriter, *http.Request) (any, error)) http.HandlerFunc {
	return pg.done(func(r *http.Request) (string, error) {
		_, err := do(nil, r)
		return to, err
	})
}

type peoplePage struct {
	People      []store.Person
	Invitations []store.Invitation
	Sessions    []store.Session
	Roles       []store.Role
	Own         string // the session of whoever looks
	Passphrase  bool   // the shop has one
	Phrase      string // its mark
	Guarded     bool
	Invited     *invitedView
	// What was not kept because somebody else was quicker: the passphrase, or a role.
	PhraseWrong string
	RoleWrong   map[string]string // by the person's id
	Chosen      store.Role        // of that person
}

// invitedView is a new invitation: its link is shown once.
type invitedView struct {
	Name, Link string
	Role       store.Role
	Code       template.HTML
	Expires    time.Time
}

func (pg *peoplePages) peoplePage(r *http.Request) (any, error) {
	ctx, now := r.Context(), pg.cfg.Now()
	p := peoplePage{Roles: store.Roles, Own: identityOf(r).Token, Guarded: pg.cfg.Guarded}
	hash, err0 := passphraseHash(ctx, pg.store)
	p.Passphrase, p.Phrase = hash != "", mark(hash)
	var err1, err2, err3 error
	p.People, err1 = pg.store.People(ctx)
	p.Invitations, err2 = pg.store.Invitations(ctx, now)
	p.Sessions, err3 = pg.store.Sessions(ctx, now)
	return p, errors.Join(err0, err1, err2, err3)
}

// postRole changes a role, or shows the people again where somebody else was quicker.
func (pg *peoplePages) postRole(w http.ResponseWriter, r *http.Request) {
	person, c := r.PathValue("person"), RoleChange{Role: store.Role(r.FormValue("role")), Was: store.Role(r.FormValue("was"))}
	pg.orAgain(w, r, pg.api.people.changeRole(r, person, c), func(p *peoplePage, says string) {
		p.RoleWrong, p.Chosen = map[string]string{person: says}, c.Role
	})
}

func (pg *peoplePages) postPassphrase(w http.ResponseWriter, r *http.Request) {
	phrase, over := r.FormValue("passphrase"), r.FormValue("over")
	if (phrase == "") != (r.FormValue("do") == "drop") {
		pg.fail(w, r, wrong(http.StatusUnprocessableEntity, "Write the new passphrase, or take the passphrase away with its own button."))
		return
	}
	pg.orAgain(w, r, pg.api.people.passphrase(r, phrase, &over), func(p *peoplePage, says string) { p.PhraseWrong = says })
}

// orAgain leads on to the people. Where somebody else was quicker it shows them again, and
// tell puts into the page what was not kept.
func (pg *peoplePages) orAgain(w http.ResponseWriter, r *http.Request, err error, tell func(p *peoplePage, says string)) {
	var m *mistake
	switch {
	case err == nil:
		http.Redirect(w, r, "/people", http.StatusSeeOther)
		return
	case !errors.As(err, &m) || m.status != http.StatusConflict:
		pg.fail(w, r, err)
		return
	}
	got, err := pg.peoplePage(r)
	if err != nil {
		pg.fail(w, r, err)
		return
	}
	p := got.(peoplePage)
	tell(&p, m.message)
	pg.page(w, r, m.status, "people", p)
}

// postInvite shows the new link at once: it stands nowhere else.
func (pg *peoplePages) postInvite(w http.ResponseWriter, r *http.Request) {
	g := Guest{Name: r.FormValue("name"), Role: store.Role(r.FormValue("role"))}
	made, err := pg.api.people.inviteOne(r, g)
	var p any
	if err == nil {
		p, err = pg.peoplePage(r)
	}
	if err != nil {
		pg.fail(w, r, err)
		return
	}
	v := &invitedView{Name: fitName(g.Name), Role: g.Role, Expires: made.Expires, Link: pg.guard.address(r) + made.Path}
	if v.Code, err = codeSVG(v.Link); err != nil {
		pg.cfg.Log.Warn("an invitation has no QR code", "error", err)
	}
	page := p.(peoplePage)
	page.Invited = v
	pg.page(w, r, http.StatusCreated, "people", page)
}

// address is that by which the device reaches the bench, without a path.
func (g *guard) address(r *http.Request) string {
	if g.client(r).secure {
		return "https://" + r.Host
	}
	return "http://" + r.Host
}

type mePage struct {
	Me
	Sessions []store.Session
	Own      string
	Saved    bool
}

func (pg *peoplePages) mePage(r *http.Request) (any, error) {
	m, err := pg.api.people.me(r)
	if err != nil {
		return nil, err
	}
	mine, err := pg.api.people.sessionsOf(r)
	return mePage{Me: m, Sessions: mine, Own: identityOf(r).Token, Saved: r.FormValue("saved") != ""}, err
}

type handPage struct {
	Strip *strip
	ID    string
	Shops []store.Shop
}

// PageTitle is the title of the page.
func (handPage) PageTitle() string { return "Hand over" }

func (pg *peoplePages) handPage(r *http.Request) (any, error) {
	s, err := pg.state(r.Context(), r.PathValue("id"))
	if err != nil {
		return nil, err
	}
	p := handPage{ID: s.ID}
	if p.Strip, err = pg.stripFor(r, s); err != nil {
		return nil, err
	}
	all, err := pg.api.people.house.shops(r.Context())
	for _, s := range all {
		if s.ID != pg.ofShop() {
			s.Name = named(s)
			p.Shops = append(p.Shops, s)
		}
	}
	return p, err
}

type joinPage struct {
	Word, Shop, Name string
	Role             store.Role
	Inviter          string
	As               string // the person who is logged in, and may join as himself
	Problem          string
}

// invited finds the invitation that a link holds, and the room it leads to.
func (pg *peoplePages) invited(r *http.Request) (store.Invitation, *room, error) {
	i, err := pg.guard.store.Invitation(r.Context(), store.Sum([]byte(r.PathValue("word"))), pg.cfg.Now())
	if absent(err) {
		return i, nil, wrong(http.StatusNotFound, "This invitation was used, withdrawn, or is too old. Ask for another one.")
	}
	if err != nil {
		return i, nil, err
	}
	room, err := pg.api.people.house.room(r.Context(), i.Shop)
	return i, room, err
}

func (pg *peoplePages) joinPage(r *http.Request) (any, error) {
	i, room, err := pg.invited(r)
	if err != nil {
		return nil, err
	}
	p := joinPage{Word: r.PathValue("word"), Name: i.Name, Role: i.Role, Inviter: i.Inviter, Shop: i.Shop}
	set, err := room.jobs.settings(r.Context())
	if err == nil && set.Name != "" {
		p.Shop = set.Name
	}
	if id := identityOf(r); id.Person != "" && id.Shop != i.Shop {
		p.As = id.Who
	}
	return p, err
}

// postJoin lets somebody in who was invited: with a secret that he chooses, or as
// the person that he is in another shop already.
func (pg *peoplePages) postJoin(w http.ResponseWriter, r *http.Request) {
	c, shop, err := pg.join(r)
	var m *mistake
	switch {
	case errors.As(err, &m) && m.status != http.StatusNotFound:
		p, err := pg.joinPage(r)
		if err != nil {
			pg.fail(w, r, err)
			return
		}
		again := p.(joinPage)
		again.Problem, again.Name = upperFirst(m.message), r.FormValue("name")
		pg.page(w, r, m.status, "join", again)
	case err != nil:
		pg.fail(w, r, err)
	default:
		if c != nil {
			pg.guard.enter(w, c, shop)
		}
		http.Redirect(w, r, "/", http.StatusSeeOther)
	}
}

func (pg *peoplePages) join(r *http.Request) (*http.Cookie, string, error) {
	i, room, err := pg.invited(r)
	if err != nil {
		return nil, "", err
	}
	id, p := identityOf(r), store.Person{ID: uuid.NewString(), Name: fitName(r.FormValue("name"))}
	asHimself := r.FormValue("as") != "" && id.Person != "" && id.Shop != i.Shop
	if asHimself {
		p.ID, p.Name = id.Person, id.Who
	} else {
		if strings.TrimSpace(p.Name) == "" {
			return nil, "", wrong(http.StatusUnprocessableEntity, "write your name, as it is to stand in the history")
		}
		err = pg.guard.slowly(r.Context(), func() (err error) {
			p.Secret, err = hashOf("secret", r.FormValue("secret"), p.Name)
			return err
		})
		if err != nil {
			return nil, "", err
		}
	}
	err = room.jobs.store.Accept(r.Context(), i.Token, p, pg.cfg.Now())
	switch {
	case errors.Is(err, store.ErrTaken):
		return nil, "", wrong(http.StatusConflict, "somebody of that name is in the shop already; write yours so that the two can be told apart")
	case absent(err):
		return nil, "", wrong(http.StatusNotFound, "This invitation was used, withdrawn, or is too old. Ask for another one.")
	case err != nil:
		return nil, "", err
	}
	pg.cfg.Log.Info("joined", "who", p.Name, "role", i.Role, "shop", i.Shop, "from", pg.guard.client(r).addr)
	if asHimself {
		return nil, i.Shop, pg.guard.store.SeeSession(r.Context(), id.Token, i.Shop, pg.cfg.Now())
	}
	c, err := pg.guard.let(r, room, store.Session{Person: p.ID, Who: p.Name, Device: kindOf(r)})
	return c, i.Shop, err
}
