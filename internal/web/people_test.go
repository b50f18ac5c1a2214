package web_test

import (
	"bufio"
	"encoding/json"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"weephole/internal/store"
	"weephole/internal/web"
)

// visitor is a browser of its own on a bench.
type visitor struct {
	*laid
	client *http.Client
}

func (l *laid) visitor() *visitor {
	jar := &cookies{}
	return &visitor{l, &http.Client{Timeout: 2 * time.Minute, Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
}

// cookies keeps whatever it is given.
type cookies struct{ all []*http.Cookie }

func (c *cookies) SetCookies(_ *url.URL, list []*http.Cookie) {
	for _, one := range list {
		c.all = slices.DeleteFunc(c.all, func(o *http.Cookie) bool { return o.Name == one.Name })
		if one.MaxAge >= 0 {
			c.all = append(c.all, one)
		}
	}
}
func (c *cookies) Cookies(*url.URL) []*http.Cookie { return c.all }

// do sends a request and gives the status and the answer.
func (v *visitor) do(method, path string, body any, h ...string) (int, string) {
	v.Helper()
	var r io.Reader
	kind := "application/json"
	switch b := body.(type) {
	case nil:
	case url.Values:
		r, kind = strings.NewReader(b.Encode()), "application/x-www-form-urlencoded"
	case string:
		r = strings.NewReader(b)
	default:
		data, err := json.Marshal(b)
		if err != nil {
			v.Fatal(err)
		}
		r = strings.NewReader(string(data))
	}
	req, err := http.NewRequestWithContext(v.Context(), method, v.server.URL+path, r)
	if err != nil {
		v.Fatal(err)
	}
	req.Header.Set("Content-Type", kind)
	for i := 0; i+1 < len(h); i += 2 {
		req.Header.Set(h[i], h[i+1])
	}
	res, err := v.client.Do(req)
	if err != nil {
		v.Fatal(err)
	}
	defer res.Body.Close()
	data, err := io.ReadAll(res.Body)
	if err != nil {
		v.Fatal(err)
	}
	return res.StatusCode, string(data)
}

// gives is do for a request that has to succeed; the answer is read into into.
func (v *visitor) gives(method, path string, body, into any, h ...string) {
	v.Helper()
	status, text := v.do(method, path, body, h...)
	if status >= 400 {
		v.Fatalf("%s %s: %d %s", method, path, status, text)
	}
	if into != nil {
		if err := json.Unmarshal([]byte(text), into); err != nil {
			v.Fatalf("%s %s: %v in %s", method, path, err, text)
		}
	}
}

// enters logs in.
func (v *visitor) enters(shop, name, secret string) int {
	v.Helper()
	status, _ := v.do("POST", "/login", url.Values{"shop": {shop}, "who": {name}, "passphrase": {secret}})
	return status
}

const ownSecret = "torque wrench lullaby"

// joins has an owner invite somebody who then comes in.
func (v *visitor) joins(owner *visitor, name string, role store.Role) {
	v.Helper()
	var in web.Invited
	owner.gives("POST", "/api/invitations", web.Guest{Name: name, Role: role}, &in)
	if status, page := v.do("GET", in.Path, nil); status != 200 || !strings.Contains(page, name) {
		v.Fatalf("the invitation's page: %d", status)
	}
	if status, page := v.do("POST", in.Path, url.Values{"name": {name}, "secret": {ownSecret}}); status != http.StatusSeeOther {
		v.Fatalf("%s comes in: %d %s", name, status, page)
	}
}

func TestPeopleComeByInvitationAndGoAtOnce(t *testing.T) {
	l, _, log := guarded(t)
	owner, ada, bo := l.visitor(), l.visitor(), l.visitor()
	if status := owner.enters("", "Olga", phrase); status != http.StatusSeeOther {
		t.Fatal(status)
	}
	ada.joins(owner, "Ada", store.Mechanic)
	bo.joins(owner, "Bo", store.Viewer)
	var made web.Made
	ada.gives("POST", "/api/jobs", hotCar, &made)
	job := "/api/jobs/" + made.ID
	ada.gives("POST", job+"/findings", `{"check":"level-cold","found":"low"}`, nil, "Cookie", "weephole_who=Somebody+else")
	var entries []store.Entry
	bo.gives("GET", job+"/history", nil, &entries)
	for _, e := range entries {
		if e.Who != "Ada" {
			t.Errorf("entry %d is by %q; a person's own name stands in the history", e.Seq, e.Who)
		}
	}
	if status, text := bo.do("POST", job+"/notes", `{"text":"x"}`); status != http.StatusForbidden || !strings.Contains(text, "mechanic") {
		t.Errorf("a viewer's note: %d %s", status, text)
	}
	if status, _ := ada.do("GET", "/people", nil); status != http.StatusForbidden {
		t.Errorf("a mechanic among the people: %d", status)
	}
	// Whoever came in with the passphrase cannot write under a person's name.
	owner.do("POST", "/who", url.Values{"who": {"ADA"}, "to": {"/"}})
	owner.gives("POST", job+"/notes", `{"text":"as somebody else"}`, nil)
	owner.gives("GET", job+"/history", nil, &entries)
	if w := entries[len(entries)-1].Who; !strings.Contains(w, "not logged in") {
		t.Errorf("a borrowed name stands as %q", w)
	}
	if status := l.visitor().enters("", "Ada", phrase); status != http.StatusUnauthorized {
		t.Errorf("Ada with the passphrase: %d", status)
	}
	second := l.visitor()
	if status := second.enters("", "ada", ownSecret); status != http.StatusSeeOther {
		t.Errorf("Ada on another device: %d", status)
	}
	// A stream is open when she is taken away.
	req, _ := http.NewRequestWithContext(t.Context(), "GET", l.server.URL+"/api/events", nil)
	stream, err := second.client.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer stream.Body.Close()
	lines := bufio.NewScanner(stream.Body)
	for lines.Scan() && !strings.HasPrefix(lines.Text(), "event: hello") {
	}
	var people []store.Person
	owner.gives("GET", "/api/people", nil, &people)
	if len(people) != 2 || people[0].Name != "Ada" {
		t.Fatalf("people: %+v", people)
	}
	var sessions []store.Session
	owner.gives("GET", "/api/sessions", nil, &sessions)
	if len(sessions) != 4 {
		t.Errorf("%d devices, want 4: %+v", len(sessions), sessions)
	}
	if page := second; page != nil {
		if _, text := owner.do("GET", "/people", nil); !strings.Contains(text, "Take Ada away") || !strings.Contains(text, "this device") {
			t.Error("the page of people lacks something")
		}
	}
	owner.gives("DELETE", "/api/people/"+people[0].ID, nil, nil)
	for lines.Scan() { // ends by itself, or the test's own time does
	}
	for name, v := range map[string]*visitor{"first": ada, "second": second} {
		if status, _ := v.do("GET", job, nil); status != http.StatusUnauthorized {
			t.Errorf("Ada's %s device after she was taken away: %d", name, status)
		}
	}
	if status := l.visitor().enters("", "Ada", ownSecret); status != http.StatusUnauthorized {
		t.Errorf("Ada's secret after she was taken away: %d", status)
	}
	owner.gives("GET", job+"/history", nil, &entries)
	if entries[0].Who != "Ada" {
		t.Error("her name left the history")
	}
	for _, want := range []string{"invited", "joined", "person removed", "not allowed"} {
		if !strings.Contains(log.String(), want) {
			t.Errorf("the log does not say %q", want)
		}
	}
}

func TestInvitationsSecretsAndDevices(t *testing.T) {
	l, turn, _ := guarded(t)
	owner, ada := l.visitor(), l.visitor()
	owner.enters("", "", phrase)
	var in web.Invited
	owner.gives("POST", "/api/invitations", web.Guest{Name: "Ada", Role: store.Owner}, &in)
	for _, weak := range []string{"", "short", "password1", "Ada Ada Ada"} {
		if status, page := ada.do("POST", in.Path, url.Values{"name": {"Ada"}, "secret": {weak}}); status != http.StatusUnprocessableEntity || !strings.Contains(page, "ecret") {
			t.Errorf("the secret %q: %d", weak, status)
		}
	}
	if status, _ := ada.do("POST", in.Path, url.Values{"name": {" "}, "secret": {ownSecret}}); status != http.StatusUnprocessableEntity {
		t.Errorf("no name: %d", status)
	}
	if status, _ := ada.do("POST", in.Path, url.Values{"name": {"Ada"}, "secret": {ownSecret}}); status != http.StatusSeeOther {
		t.Fatalf("she comes in: %d", status)
	}
	if status, _ := l.visitor().do("GET", in.Path, nil); status != http.StatusNotFound {
		t.Errorf("the link again: %d", status)
	}
	owner.gives("POST", "/api/invitations", web.Guest{Role: store.Viewer}, &in)
	if status, _ := l.visitor().do("POST", in.Path, url.Values{"name": {"aDA"}, "secret": {ownSecret}}); status != http.StatusConflict {
		t.Errorf("a second Ada: %d", status)
	}
	owner.gives("DELETE", "/api/invitations/"+in.ID, nil, nil)
	if status, _ := l.visitor().do("GET", in.Path, nil); status != http.StatusNotFound {
		t.Errorf("a withdrawn link: %d", status)
	}
	owner.gives("POST", "/api/invitations", web.Guest{Role: store.Viewer}, &in)
	turn(5 * 24 * time.Hour)
	if status, _ := l.visitor().do("GET", in.Path, nil); status != http.StatusNotFound {
		t.Errorf("an old link: %d", status)
	}
	if status, _ := owner.do("POST", "/api/invitations", `{"name":"x","role":"king"}`); status != http.StatusUnprocessableEntity {
		t.Errorf("an unknown role: %d", status)
	}
	if _, page := ada.do("POST", "/people/invite", url.Values{"name": {"Cy"}, "role": {"viewer"}}); !strings.Contains(page, "/join/") || !strings.Contains(page, "<svg class=\"qr\"") {
		t.Error("the page shows neither the link nor its code")
	}
	// Her own secret and devices.
	other := l.visitor()
	other.enters("", "Ada", ownSecret)
	if status, _ := ada.do("PUT", "/api/me/secret", web.Secrets{Now: "wrong one", Next: "another long secret here"}); status != http.StatusUnprocessableEntity {
		t.Errorf("a wrong secret: %d", status)
	}
	ada.gives("PUT", "/api/me/secret", web.Secrets{Now: ownSecret, Next: "another long secret here"}, nil)
	if status, _ := other.do("GET", "/api/jobs", nil); status != http.StatusUnauthorized {
		t.Errorf("her other device: %d", status)
	}
	if status, _ := ada.do("GET", "/me", nil); status != http.StatusOK {
		t.Errorf("this device: %d", status)
	}
	var sessions []store.Session
	owner.gives("GET", "/api/sessions", nil, &sessions)
	for _, s := range sessions {
		if s.Person != "" {
			owner.gives("DELETE", "/api/sessions/"+s.Token, nil, nil)
		}
	}
	if status, _ := ada.do("GET", "/api/jobs", nil); status != http.StatusUnauthorized {
		t.Errorf("a device that was sent away: %d", status)
	}
	// Without a passphrase each needs his own secret; the last owner stays.
	ada.enters("", "Ada", "another long secret here")
	ada.gives("DELETE", "/api/passphrase", nil, nil)
	if status, _ := owner.do("GET", "/api/jobs", nil); status != http.StatusUnauthorized {
		t.Errorf("a device of the passphrase that was taken away: %d", status)
	}
	if status := l.visitor().enters("", "", phrase); status != http.StatusUnauthorized {
		t.Errorf("the passphrase that was taken away: %d", status)
	}
	var people []store.Person
	ada.gives("GET", "/api/people", nil, &people)
	if status, text := ada.do("DELETE", "/api/people/"+people[0].ID, nil); status != http.StatusConflict || !strings.Contains(text, "no other owner") {
		t.Errorf("the last owner takes herself away: %d %s", status, text)
	}
}

var (
	pageRoute = regexp.MustCompile(`HandleFunc\("(GET|POST) (/[^"]*)"`)
	apiRoute  = regexp.MustCompile(`method: "([A-Z]+)", path: "([^"]+)"`)
	hole      = regexp.MustCompile(`\{[^}]*\}`)
)

// allRoutes are the ways into the bench, read from its source, so that none is
// forgotten.
func allRoutes(t *testing.T) (list [][2]string) {
	t.Helper()
	files, _ := filepath.Glob("*.go")
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, re := range []*regexp.Regexp{pageRoute, apiRoute} {
			for _, m := range re.FindAllStringSubmatch(string(text), -1) {
				list = append(list, [2]string{m[1], m[2]})
			}
		}
	}
	if len(list) < 80 {
		t.Fatalf("only %d routes found", len(list))
	}
	return list
}

// everybodys are the routes that need no role.
var everybodys = regexp.MustCompile(`^/(login|logout|who|join/.*|healthz|assets/.*|(api/)?me(/.*)?)$`)

// owners are those that only owners may use.
var owners = regexp.MustCompile(`^/(api/)?(people|invitations|sessions|passphrase)(/.*)?$|/hand$|^/(api/)?(settings(/logo)?|demo)$`)

func TestEveryRouteAsksForItsRole(t *testing.T) {
	l, _, _ := guarded(t)
	owner := l.visitor()
	owner.enters("", "", phrase)
	in := map[store.Role]*visitor{store.Mechanic: l.visitor(), store.Viewer: l.visitor()}
	for role, v := range in {
		v.joins(owner, string(role)+" one", role)
	}
	nobody := l.visitor()
	for _, r := range allRoutes(t) {
		method, path := r[0], hole.ReplaceAllString(r[1], "nothing")
		if everybodys.MatchString(path) || strings.HasSuffix(path, "/events") {
			continue
		}
		if status, _ := nobody.do(method, path, nil); status != http.StatusUnauthorized && status != http.StatusSeeOther {
			t.Errorf("%s %s without logging in: %d", method, path, status)
		}
		onlyOwners := owners.MatchString(path) && (method != "GET" || !regexp.MustCompile(`/hand$|settings(/logo)?$|demo$`).MatchString(path))
		for role, v := range in {
			status, _ := v.do(method, path, nil)
			refused := onlyOwners || role == store.Viewer && method != "GET"
			if (status == http.StatusForbidden) != refused {
				t.Errorf("%s %s as %s: %d; to be refused: %v", method, path, role, status, refused)
			}
		}
	}
}
