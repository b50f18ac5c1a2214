package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"weephole/internal/store"
	"weephole/internal/web"
)

// The causes are called so in the catalogue; a job holds them by their ids.
func TestAJobIsFoundByThePlainNameOfItsCause(t *testing.T) {
	l := lay(t)
	ended := func(car, cause string) string {
		id := l.job(strings.Replace(hotCar, "blue estate", car, 1))
		if cause != "" {
			l.must("PATCH", "/api/jobs/"+id+"/closing", map[string]string{"cause": cause}, nil)
		}
		return id
	}
	names := map[string]string{ended("blue estate", "thermostat-shut"): "shut", ended("green van", "fan-dead"): "fan", ended("red van", "combustion-leak"): "gasket", ended("grey estate", ""): "open"}
	for words, want := range map[string]string{
		"thermostat that does not open": "shut", "electric FAN does not run": "fan", "head gasket": "gasket", "gasket van": "gasket", "gasket estate": "",
		"van": "fan gasket", "that": "", "fan-dead": "fan", "petrol": "shut fan gasket open",
	} {
		var list []store.Summary
		l.must("GET", "/api/jobs?q="+url.QueryEscape(words), nil, &list)
		var got []string
		for _, j := range list {
			got = append(got, names[j.ID])
		}
		for _, name := range []string{"shut", "fan", "gasket", "open"} {
			if in := strings.Contains(" "+strings.Join(got, " ")+" ", " "+name+" "); in != strings.Contains(want, name) {
				t.Errorf("a search for %q finds %v, want %q", words, got, want)
			}
		}
	}
}

// belongsToBoth is Una, who works in north and looks on in south.
func belongsToBoth(t *testing.T, nora, sam *visitor) *visitor {
	t.Helper()
	una := nora.visitor()
	una.joins(nora, "Una", store.Mechanic)
	var in web.Invited
	sam.gives("POST", "/api/invitations", web.Guest{Name: "Una", Role: store.Viewer}, &in)
	if status, text := una.do("POST", in.Path, url.Values{"as": {"himself"}}); status != http.StatusSeeOther {
		t.Fatalf("she joins: %d %s", status, text)
	}
	una.gives("PUT", "/api/me/shop", web.ToShop{Shop: "north"}, nil)
	return una
}

func TestASearchGoesOverAllShopsOfWhoeverAsksAndNoOthers(t *testing.T) {
	l, k, nora, sam := twoShops(t)
	una := belongsToBoth(t, nora, sam)
	var here, there web.Made
	nora.gives("POST", "/api/jobs", hotCar, &here)
	sam.gives("POST", "/api/jobs", secretCar, &there)
	third, err := k.InShop(t.Context(), "main")
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := third.Append(t.Context(), store.Entry{Job: "elsewhere", ID: "o", Kind: store.Opened, Body: []byte(hotCar)}); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		who   string
		v     *visitor
		query string
		want  string
	}{
		{"Una in all her shops", una, "?shops=all", "south north"},
		{"Una for a word of one", una, "?shops=all&q=zephyrine", "south"},
		{"the second on Una's list", una, "?shops=all&from=1", "north"},
		{"beyond its end", una, "?shops=all&from=9000000000000000000", ""},
		{"Una where she works", una, "", ""},
		{"Nora, who belongs to one", nora, "?shops=all", ""},
		{"Sam, who belongs to one", sam, "?shops=all", ""},
	} {
		var list []store.Summary
		c.v.gives("GET", "/api/jobs"+c.query, nil, &list)
		var got []string
		for _, j := range list {
			got = append(got, j.Shop)
			if shop := map[string]string{here.ID: "north", there.ID: "south"}[j.ID]; shop == "" || j.Shop != "" && j.Shop != shop {
				t.Errorf("%s: %+v", c.who, j)
			}
		}
		if strings.Join(got, " ") != c.want || strings.Contains(c.query, "from=9") != (len(list) == 0) {
			t.Errorf("%s: jobs of %q, want %q", c.who, got, c.want)
		}
	}
	if _, list := nora.do("GET", "/?shops=all", nil); leaked.MatchString(list) || strings.Contains(list, "in all my shops") {
		t.Error("Nora's list shows another shop, or offers to")
	}
	// Taken away from south she finds nothing of it at once.
	people, err := k.InShop(t.Context(), "south")
	if err != nil {
		t.Fatal(err)
	}
	p, err := people.Person(t.Context(), "Una")
	if err != nil {
		t.Fatal(err)
	}
	sam.gives("DELETE", "/api/people/"+p.ID, nil, nil)
	if _, list := una.do("GET", "/?shops=all", nil); leaked.MatchString(list) {
		t.Error("she still finds a job of the shop that she was taken away from")
	}
	// The passphrase opens one shop.
	nora.gives("PUT", "/api/passphrase", web.Passphrase{Passphrase: "north wind over rusty bolts"}, nil)
	guest := l.visitor()
	if status := guest.enters("north", "", "north wind over rusty bolts"); status != http.StatusSeeOther {
		t.Fatal(status)
	}
	if status, list := guest.do("GET", "/api/jobs?shops=all", nil); status != http.StatusOK || leaked.MatchString(list) {
		t.Errorf("with the passphrase: %d", status)
	}
}

func TestAJobOfAnotherShopOpensFromTheList(t *testing.T) {
	l, _, nora, sam := twoShops(t)
	belongsToBoth(t, nora, sam)
	var here, there web.Made
	nora.gives("POST", "/api/jobs", hotCar, &here)
	sam.gives("POST", "/api/jobs", strings.Replace(secretCar, "quillwort smell", "Smells sweet", 1), &there)
	s := tab(t, phone)
	s.comesIn(l, "north", "Una", ownSecret)
	s.do(chromedp.Navigate(l.server.URL + "/"))
	s.tap(`.search .tick input`)
	s.tap(`.search > button`)
	s.until("both jobs", `document.querySelectorAll(".jobs > li").length === 2`)
	s.axe("jobs of several shops")
	s.shot("jobs-of-several-shops")
	s.tap(`.jobs button[value=south]`)
	s.until("the job", `location.pathname === "/jobs/`+there.ID+`" && document.getElementById("job")`)
	if text := js[string](s, `document.body.innerText`); !strings.Contains(text, "zephyrine") {
		t.Errorf("the page: %.300s", text)
	}
}
