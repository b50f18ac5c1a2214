package web_test

import (
	"net/http"
	"testing"

	"github.com/chromedp/chromedp"

	"weephole/internal/store"
	"weephole/internal/web"
)

// comesIn has a tab log in as somebody.
func (s *screen) comesIn(l *laid, shop, name, secret string) {
	s.t.Helper()
	s.do(chromedp.Navigate(l.server.URL + "/login"))
	for field, text := range map[string]string{"shop": shop, "who": name, "passphrase": secret} {
		if text != "" {
			s.types(`main [name=`+field+`]`, text) // the bar on top has a field for a name too
		}
	}
	s.tap(`.sheet-form button.main`)
	s.until("the list of jobs", `location.pathname === "/"`)
}

// bothWays looks at a page by day and by night.
func (s *screen) bothWays(l *laid, what, path string) {
	s.t.Helper()
	s.do(chromedp.Navigate(l.server.URL + path))
	s.inBothLights("p-" + what)
}

func TestThePagesOfPeoplePassAxe(t *testing.T) {
	for _, sz := range []size{phone, desktop} {
		t.Run(sz.name, func(t *testing.T) {
			l, _, _ := guarded(t)
			owner, ada := l.visitor(), l.visitor()
			if status := owner.enters("", "Olga", phrase); status != http.StatusSeeOther {
				t.Fatal(status)
			}
			ada.joins(owner, "Ada", store.Owner)
			var in web.Invited
			owner.gives("POST", "/api/invitations", web.Guest{Name: "Bo", Role: store.Viewer}, &in)
			var made web.Made
			owner.gives("POST", "/api/jobs", hotCar, &made)

			s := tab(t, sz)
			s.bothWays(l, "login", "/login")
			s.bothWays(l, "join", in.Path)
			s.comesIn(l, "", "Ada", ownSecret)
			for what, path := range map[string]string{"people": "/people", "me": "/me", "hand": "/jobs/" + made.ID + "/hand", "results": "/results"} {
				s.bothWays(l, what, path)
			}
			s.do(chromedp.Navigate(l.server.URL + "/people"))
			s.types(`[action="/people/invite"] [name=name]`, "Cy")
			s.tap(`[action="/people/invite"] button`)
			s.until("the way in", `document.querySelector(".qr")`)
			s.axe("invitation")
			s.shot("p-invitation")
		})
	}
}

func TestThePagesOfShopsPassAxe(t *testing.T) {
	l, _, nora, sam := twoShops(t)
	var in web.Invited
	sam.gives("POST", "/api/invitations", web.Guest{Name: "Nora", Role: store.Mechanic}, &in)
	var made web.Made
	nora.gives("POST", "/api/jobs", hotCar, &made)
	for _, sz := range []size{phone, desktop} {
		s := tab(t, sz)
		s.comesIn(l, "north", "Nora", ownSecret)
		for what, path := range map[string]string{"join as herself": in.Path, "hand to a shop": "/jobs/" + made.ID + "/hand", "me in a shop": "/me", "people of a shop": "/people", "results of a shop": "/results", "tally of a shop": "/tally"} {
			s.bothWays(l, what, path)
		}
	}
}
