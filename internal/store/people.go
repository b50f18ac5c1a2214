package store

import (
	"context"
	"errors"
	"time"
)

// Role is what somebody may do in a shop.
type Role string

// The roles, each with all that the next one may.
const (
	Owner    Role = "owner"    // people, settings, the tally, handing jobs over
	Mechanic Role = "mechanic" // working jobs
	Viewer   Role = "viewer"   // looking
)

// Roles are all of them, the one that may most first.
var Roles = []Role{Owner, Mechanic, Viewer}

// May tells whether the role may do what another may.
func (r Role) May(what Role) bool {
	for _, each := range Roles { // from owner on
		if each == r {
			return true
		}
		if each == what {
			return false
		}
	}
	return false
}

// Person is somebody with a secret of his own, as a member of one shop.
type Person struct {
	ID     string    `json:"id"`
	Name   string    `json:"name"` // unique in the shop, whatever its capitals
	Role   Role      `json:"role"`
	Since  time.Time `json:"since"` // of his membership
	Secret string    `json:"-"`     // a slow hash
}

// Invitation lets somebody become a person of a shop, once.
type Invitation struct {
	Token   string    `json:"id"`   // a hash of what the link holds
	Shop    string    `json:"shop"` // given by the store
	Name    string    `json:"name"` // whom it is for, as the inviter calls him
	Role    Role      `json:"role"`
	Inviter string    `json:"inviter"`
	Expires time.Time `json:"expires"`
}

// Session is a device that was let in: with a person's own secret, or with the
// shop's passphrase (Person "").
type Session struct {
	Token   string    `json:"id"` // a hash of what the device holds
	Shop    string    `json:"shop,omitempty"`
	Person  string    `json:"person,omitempty"` // his id
	Who     string    `json:"who"`              // the person's name now, else what was typed
	Role    Role      `json:"role"`             // his now; Owner with the passphrase
	Device  string    `json:"device"`           // what kind, as far as the browser tells
	Began   time.Time `json:"began"`
	Seen    time.Time `json:"seen"` // to the hour
	Expires time.Time `json:"expires"`
}

// ErrLastOwner: without him nobody could let anybody in.
var ErrLastOwner = errors.New("the shop has no other owner")

// Sessions keeps the devices that are let in.
type Sessions interface {
	PutSession(ctx context.Context, s Session) error
	// Session gives an unexpired session of any shop; ErrUnknown otherwise, and when
	// its person is no longer a member of its shop.
	Session(ctx context.Context, token string, now time.Time) (Session, error)
	// Sessions lists the shop's unexpired ones, the last seen first.
	Sessions(ctx context.Context, now time.Time) ([]Session, error)
	// SeeSession writes down that a device was there, and in which shop its person
	// works by now.
	SeeSession(ctx context.Context, token, shop string, at time.Time) error
	DropSession(ctx context.Context, token string) error
	// DropSessions sends every device of the shop away that was let in with the
	// passphrase.
	DropSessions(ctx context.Context) error
}

// People keeps who belongs to the shop.
type People interface {
	// People lists the members by name.
	People(ctx context.Context) ([]Person, error)
	// Person gives a member by his name, whatever its capitals; ErrUnknown.
	Person(ctx context.Context, name string) (Person, error)
	// AddPerson makes a member. A name that another member has is ErrTaken. A person
	// whose ID is there already keeps his name and secret and joins the shop.
	AddPerson(ctx context.Context, p Person) error
	// SetRole changes what a member may do; ErrUnknown, ErrLastOwner. was is his role
	// as the author saw it: where he has another by then it is ErrOvertaken. "" asks
	// for nothing.
	SetRole(ctx context.Context, person string, role, was Role) error
	// SetSecret gives a member another secret and ends his other sessions everywhere.
	SetSecret(ctx context.Context, person, secret, keepSession string) error
	// RemovePerson takes a member away and ends his sessions in the shop, at once;
	// ErrUnknown, ErrLastOwner. He stays in the history by his name.
	RemovePerson(ctx context.Context, person string) error
	// Shops are the shops that a person belongs to, with his role in each.
	Shops(ctx context.Context, person string) ([]Membership, error)

	Invite(ctx context.Context, i Invitation) error
	// Invitation gives an unexpired one of any shop; ErrUnknown.
	Invitation(ctx context.Context, token string, now time.Time) (Invitation, error)
	// Invitations lists the shop's unexpired ones.
	Invitations(ctx context.Context, now time.Time) ([]Invitation, error)
	DropInvitation(ctx context.Context, token string) error
	// Accept uses an invitation to the shop up and makes the member, both or neither.
	Accept(ctx context.Context, token string, p Person, now time.Time) error
}

// Membership is a shop that a person belongs to.
type Membership struct {
	Shop Shop
	Role Role
}

// Shop is one of the shops that a store holds.
type Shop struct {
	ID   string `json:"id"`   // short, lower case
	Name string `json:"name"` // as people call it; "" until somebody says
}

// Group is a store that can hold several shops. Each sees its own jobs only.
type Group interface {
	// All lists the shops by id.
	All(ctx context.Context) ([]Shop, error)
	// AddShop makes one; ErrTaken, and ErrOneShop where the engine cannot keep shops
	// apart by itself.
	AddShop(ctx context.Context, s Shop) error
	// NameShop changes what it is called.
	NameShop(ctx context.Context, s Shop) error
	// In is the store as the shop sees it; ErrUnknown. It ends with the group.
	In(ctx context.Context, shop string) (Store, error)
}

// ErrOneShop: the store can hold one shop only.
var ErrOneShop = errors.New("this store can hold one shop only")
