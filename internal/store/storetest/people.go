package storetest

import (
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"weephole/internal/store"
)

// invite makes an invitation that holds for an hour.
func invite(t *testing.T, s store.Store, clock *Clock, token string, role store.Role) {
	t.Helper()
	i := store.Invitation{Token: token, Name: "Bo", Role: role, Inviter: "Ada", Expires: clock.Now().Add(time.Hour)}
	if err := s.Invite(t.Context(), i); err != nil {
		t.Fatal(err)
	}
}

// comes holds that somebody comes in with an invitation, and only once.
func comes(t *testing.T, s store.Store, clock *Clock) {
	invite(t, s, clock, "late", store.Mechanic)
	clock.Move(2 * time.Hour)
	_, err := s.Invitation(t.Context(), "late", clock.Now())
	wantErr(t, "an invitation that has ended", err, store.ErrUnknown)
	wantErr(t, "accept one that has ended", s.Accept(t.Context(), "late", store.Person{ID: "p0", Name: "Late"}, clock.Now()), store.ErrUnknown)

	invite(t, s, clock, "one", store.Owner)
	if i, err := s.Invitation(t.Context(), "one", clock.Now()); err != nil || i.Role != store.Owner || i.Inviter != "Ada" {
		t.Errorf("the invitation: %+v, %v", i, err)
	}
	ada := store.Person{ID: "p1", Name: "Ada", Secret: "hash", Role: store.Viewer}
	if err := s.Accept(t.Context(), "one", ada, clock.Now()); err != nil {
		t.Fatal(err)
	}
	wantErr(t, "accept it again", s.Accept(t.Context(), "one", ada, clock.Now()), store.ErrUnknown)
	got, err := s.Person(t.Context(), "aDA")
	if err != nil || got.ID != "p1" || got.Role != store.Owner || got.Secret != "hash" || !got.Since.Equal(clock.Now()) {
		t.Errorf("the person: %+v, %v; the role is the invitation's", got, err)
	}
	invite(t, s, clock, "two", store.Mechanic)
	wantErr(t, "another of that name", s.Accept(t.Context(), "two", store.Person{ID: "p2", Name: "ADA"}, clock.Now()), store.ErrTaken)
	if list, err := s.Invitations(t.Context(), clock.Now()); err != nil || len(list) != 1 {
		t.Errorf("a refused one used the invitation up: %+v, %v", list, err)
	}
	if err := s.Accept(t.Context(), "two", store.Person{ID: "p2", Name: "Bo", Secret: "h2"}, clock.Now()); err != nil {
		t.Fatal(err)
	}
	if list, err := s.People(t.Context()); err != nil || len(list) != 2 || list[1].Name != "Bo" {
		t.Errorf("people: %+v, %v", list, err)
	}
}

// wantSession wants a session to be that person's, in that role; without a role it has ended.
func wantSession(t *testing.T, s store.Store, clock *Clock, token, person string, want store.Role) {
	t.Helper()
	got, err := s.Session(t.Context(), token, clock.Now())
	if want == "" {
		wantErr(t, "session "+token, err, store.ErrUnknown)
	} else if err != nil || got.Role != want || got.Person != person {
		t.Errorf("session %s: %+v, %v; want %s", token, got, err, want)
	}
}

// goes holds that a changed role counts at once, and that taking somebody away ends all
// that he had.
func goes(t *testing.T, s store.Store, clock *Clock) {
	for _, p := range []store.Person{{ID: "p1", Name: "Ada", Secret: "h1", Role: store.Owner}, {ID: "p2", Name: "Bo", Secret: "h2", Role: store.Mechanic}} {
		if err := s.AddPerson(t.Context(), p); err != nil {
			t.Fatal(err)
		}
	}
	if shops, err := s.Shops(t.Context(), "p2"); err != nil || len(shops) != 1 || shops[0].Role != store.Mechanic {
		t.Errorf("Bo's shops: %+v, %v", shops, err)
	}
	for _, token := range []string{"a", "b"} {
		if err := s.PutSession(t.Context(), store.Session{Token: token, Person: "p2", Who: "x", Expires: clock.Now().Add(time.Hour)}); err != nil {
			t.Fatal(err)
		}
		wantSession(t, s, clock, token, "p2", store.Mechanic)
	}
	if err := s.SetRole(t.Context(), "p2", store.Viewer, store.Mechanic); err != nil {
		t.Fatal(err)
	}
	wantSession(t, s, clock, "a", "p2", store.Viewer) // at once
	wantErr(t, "a role given by somebody who saw another", s.SetRole(t.Context(), "p2", store.Owner, store.Mechanic), store.ErrOvertaken)
	wantSession(t, s, clock, "a", "p2", store.Viewer)
	if err := s.SetRole(t.Context(), "p2", store.Viewer, store.Mechanic); err != nil {
		t.Errorf("the same again, as after an answer that was lost: %v", err)
	}
	wantErr(t, "the last owner made a viewer", s.SetRole(t.Context(), "p1", store.Viewer, ""), store.ErrLastOwner)
	wantErr(t, "the last owner taken away", s.RemovePerson(t.Context(), "p1"), store.ErrLastOwner)
	if err := s.SetSecret(t.Context(), "p2", "h3", "b"); err != nil {
		t.Fatal(err)
	}
	wantSession(t, s, clock, "a", "", "")
	wantSession(t, s, clock, "b", "p2", store.Viewer)
	if err := s.DropSessions(t.Context()); err != nil { // of the passphrase
		t.Fatal(err)
	}
	wantSession(t, s, clock, "b", "p2", store.Viewer)
	if err := s.RemovePerson(t.Context(), "p2"); err != nil {
		t.Fatal(err)
	}
	wantSession(t, s, clock, "b", "", "")
	for what, err := range map[string]error{
		"remove him again": s.RemovePerson(t.Context(), "p2"), "give him a role": s.SetRole(t.Context(), "p2", store.Owner, store.Viewer),
		"give him a secret": s.SetSecret(t.Context(), "p2", "h", ""), "withdraw nothing": s.DropInvitation(t.Context(), "two"),
	} {
		wantErr(t, what, err, store.ErrUnknown)
	}
	if err := s.AddPerson(t.Context(), store.Person{ID: "p2", Name: "other name", Role: store.Mechanic}); err != nil {
		t.Fatal(err)
	}
	if p, err := s.Person(t.Context(), "Bo"); err != nil || p.Secret != "h3" {
		t.Errorf("who comes back keeps his name and secret: %+v, %v", p, err)
	}
	if err := s.Set(t.Context(), "passphrase", "a hash"); err != nil {
		t.Fatal(err)
	}
	if err := s.RemovePerson(t.Context(), "p1"); err != nil {
		t.Errorf("the last owner of a shop with a passphrase: %v", err)
	}
}

// accepts holds an invitation, and a name, to one person however many come at once.
func accepts(t *testing.T, s store.Store, clock *Clock) {
	const at = 6
	for i := range at {
		invite(t, s, clock, fmt.Sprint("t", i), store.Mechanic)
	}
	invite(t, s, clock, "same", store.Mechanic)
	var wg sync.WaitGroup
	var mu sync.Mutex
	in := map[string]int{}
	try := func(kind, token string, p store.Person, refused error) {
		wg.Go(func() {
			err := s.Accept(t.Context(), token, p, clock.Now())
			mu.Lock()
			defer mu.Unlock()
			if err == nil {
				in[kind]++
			} else if !errors.Is(err, refused) {
				t.Errorf("%s: %v, want %v", kind, err, refused)
			}
		})
	}
	for i := range at {
		try("one invitation", "same", store.Person{ID: fmt.Sprint("s", i), Name: fmt.Sprint("Sam ", i)}, store.ErrUnknown)
		try("one name", fmt.Sprint("t", i), store.Person{ID: fmt.Sprint("n", i), Name: "Nim"}, store.ErrTaken)
	}
	wg.Wait()
	if in["one invitation"] != 1 || in["one name"] != 1 {
		t.Errorf("came in: %v, want one each", in)
	}
}
