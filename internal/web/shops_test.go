package web_test

import (
	"errors"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"weephole/internal/store"
	"weephole/internal/store/postgres"
	"weephole/internal/web"
)

// twoShops is a bench on a database with the shops north and south, where Nora is
// the owner of north and Sam of south. Una belongs to both.
func twoShops(t *testing.T) (l *laid, k *postgres.ServerKeeper, nora, sam *visitor) {
	t.Helper()
	k, err := postgres.Open(t.Context(), postgresql.For(t).Ordinary(t), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { k.Close() })
	paths := map[string]string{}
	for _, id := range []string{"north", "south"} {
		err := k.AddShop(t.Context(), store.Shop{ID: id, Name: id + " garage"})
		in, err2 := k.InShop(t.Context(), id)
		if err := errors.Join(err, err2); err != nil {
			t.Fatal(err)
		}
		if paths[id], err = web.Invite(t.Context(), in, "", store.Owner, time.Now()); err != nil {
			t.Fatal(err)
		}
	}
	l = lay(t, func(c *web.Config) { c.Store, c.Guarded = k, true })
	come := func(shop, name string) *visitor {
		v := l.visitor()
		if status, page := v.do("POST", paths[shop], url.Values{"name": {name}, "secret": {ownSecret}}); status != http.StatusSeeOther {
			t.Fatalf("%s comes in: %d %s", name, status, page)
		}
		return v
	}
	return l, k, come("north", "Nora"), come("south", "Sam")
}

// secretCar is a car whose words must never show in another shop.
var secretCar = strings.NewReplacer("blue estate", "zephyrine wagon", "Gets hot in town", "quillwort smell").Replace(hotCar)

var leaked = regexp.MustCompile(`zephyrine|quillwort|umbrageous`)

func TestNoRouteShowsAnotherShopsJobs(t *testing.T) {
	l, k, nora, sam := twoShops(t)
	var made web.Made
	nora.gives("POST", "/api/jobs", secretCar, &made, "Idempotency-Key", "the-job")
	job := "/api/jobs/" + made.ID
	nora.gives("POST", job+"/notes", `{"text":"umbrageous"}`, nil)
	var finding web.Made
	nora.gives("POST", job+"/findings", `{"check":"level-cold","found":"low","note":"umbrageous"}`, &finding)
	nora.gives("POST", job+"/files?name=run.csv", shortLog, nil)
	nora.gives("PUT", "/api/settings", web.ShopInput{Name: "umbrageous garage", Units: "metric"}, nil)
	north, err := k.InShop(t.Context(), "north")
	if err != nil {
		t.Fatal(err)
	}
	count := func() (n int) {
		entries, err := north.Entries(t.Context(), made.ID, 0)
		files, err2 := north.Files(t.Context(), made.ID)
		if err := errors.Join(err, err2); err != nil {
			t.Fatal(err)
		}
		return 100*len(entries) + len(files)
	}
	before := count()
	people, err := north.People(t.Context())
	if err != nil || len(people) != 1 {
		t.Fatal(people, err)
	}
	fill := strings.NewReplacer("{id}", made.ID, "{finding}", finding.ID, "{name}", "run.csv", "{person}", people[0].ID,
		"{session}", store.Sum([]byte("x")), "{place}", "radiator", "{version}", "x", "{invitation}", "x", "{word}", "x", "{$}", "")
	bodies := []string{"", `{"text":"x"}`, `{"check":"level-cold","found":"full"}`, hotCar, `{"role":"viewer"}`, `{"shop":"north"}`}
	for _, r := range allRoutes(t) {
		method, path := r[0], fill.Replace(r[1])
		if strings.HasSuffix(path, "/logout") || strings.HasSuffix(path, "/api/events") || strings.Contains(path, "passphrase") {
			continue
		}
		for _, body := range bodies {
			if method == "GET" && body != "" {
				break
			}
			status, text := sam.do(method, path+"?q=smell&name=x.csv", body)
			if leaked.MatchString(text) && !strings.Contains(path, "/shops") {
				t.Errorf("%s %s shows %q", method, path, leaked.FindString(text))
			}
			if strings.Contains(path, made.ID) && status < 400 {
				t.Errorf("%s %s of another shop's job: %d", method, path, status)
			}
		}
	}
	if after := count(); after != before {
		t.Errorf("the other shop's job changed: %d before, %d after", before, after)
	}
	if now, err := north.People(t.Context()); err != nil || len(now) != 1 || now[0].Role != store.Owner {
		t.Errorf("the other shop's people changed: %+v, %v", now, err)
	}
	if status, _ := nora.do("GET", job, nil); status != http.StatusOK {
		t.Errorf("her own job: %d", status)
	}
	// Under the same id each has a job of its own.
	sam.gives("POST", "/api/jobs", hotCar, nil, "Idempotency-Key", "the-job")
	if _, text := sam.do("GET", job, nil); leaked.MatchString(text) {
		t.Error("the same id shows another shop's job")
	}
	_ = l
}

func TestAJobIsHandedToAnotherShopWithAllOfItsHistory(t *testing.T) {
	_, k, nora, sam := twoShops(t)
	var made web.Made
	nora.gives("POST", "/api/jobs", secretCar, &made)
	job := "/api/jobs/" + made.ID
	nora.gives("POST", job+"/findings", `{"check":"level-cold","found":"low"}`, nil)
	nora.gives("POST", job+"/files?name=run.csv", shortLog, nil)
	for _, wrong := range []string{"north", "nowhere", ""} {
		if status, _ := nora.do("POST", job+"/hand", web.ToShop{Shop: wrong}); status != http.StatusUnprocessableEntity {
			t.Errorf("handed to %q: %d", wrong, status)
		}
	}
	if _, page := nora.do("GET", "/jobs/"+made.ID+"/hand", nil); !strings.Contains(page, "south garage") || strings.Contains(page, "north garage<") {
		t.Error("the page does not offer the other shop")
	}
	nora.gives("POST", job+"/hand", web.ToShop{Shop: "south"}, nil)
	nora.gives("POST", job+"/hand", web.ToShop{Shop: "south"}, nil) // as after an answer that was lost: the notes are new entries
	var here, there []store.Entry
	nora.gives("GET", job+"/history", nil, &here)
	sam.gives("GET", job+"/history", nil, &there)
	for i := range 3 {
		if here[i].ID != there[i].ID || here[i].Who != "Nora" || there[i].Who != "Nora" || !here[i].At.Equal(there[i].At) {
			t.Errorf("entry %d: %+v here, %+v there", i+1, here[i], there[i])
		}
	}
	if _, log := sam.do("GET", job+"/files/run.csv", nil); log != shortLog {
		t.Errorf("the log there: %q", log)
	}
	sam.gives("POST", job+"/findings", `{"check":"fan-run","found":"still"}`, nil)
	north, err := k.InShop(t.Context(), "north")
	if err != nil {
		t.Fatal(err)
	}
	if sum, err := north.Job(t.Context(), made.ID); err != nil || !sum.Archived {
		t.Errorf("the job here: %+v, %v", sum, err)
	}
}

func TestAPersonWorksInTheShopsHeBelongsTo(t *testing.T) {
	l, _, nora, sam := twoShops(t)
	una := l.visitor()
	una.joins(nora, "Una", store.Mechanic)
	if status, _ := una.do("PUT", "/api/me/shop", web.ToShop{Shop: "south"}); status != http.StatusForbidden {
		t.Errorf("into a shop she does not belong to: %d", status)
	}
	var in web.Invited
	sam.gives("POST", "/api/invitations", web.Guest{Name: "Una", Role: store.Viewer}, &in)
	if _, page := una.do("GET", in.Path, nil); !strings.Contains(page, "Come in as Una") {
		t.Error("the invitation does not offer to come in as herself")
	}
	if status, text := una.do("POST", in.Path, url.Values{"as": {"himself"}}); status != http.StatusSeeOther {
		t.Fatalf("she joins: %d %s", status, text)
	}
	var me web.Me
	una.gives("GET", "/api/me", nil, &me)
	if me.Shop != "south" || me.Role != store.Viewer || len(me.Shops) != 2 {
		t.Errorf("after joining: %+v", me)
	}
	if status, _ := una.do("POST", "/api/jobs", hotCar); status != http.StatusForbidden {
		t.Errorf("a viewer's job in south: %d", status)
	}
	una.gives("PUT", "/api/me/shop", web.ToShop{Shop: "north"}, nil)
	una.gives("POST", "/api/jobs", secretCar, nil)
	if _, list := sam.do("GET", "/api/jobs", nil); leaked.MatchString(list) {
		t.Error("her job stands in the other shop")
	}
	// Each shop has a passphrase of its own.
	sam.gives("PUT", "/api/passphrase", web.Passphrase{Passphrase: "south wind over rusty bolts"}, nil)
	// South first: three refusals in a row would hold the door for a second.
	for _, e := range []struct {
		shop string
		want int
	}{
		{"south", http.StatusSeeOther},
		{"north", http.StatusUnauthorized},
		{"main", http.StatusUnauthorized},
		{"nowhere", http.StatusUnauthorized},
	} {
		if status := l.visitor().enters(e.shop, "", "south wind over rusty bolts"); status != e.want {
			t.Errorf("south's passphrase in %s: %d, want %d", e.shop, status, e.want)
		}
	}
}
