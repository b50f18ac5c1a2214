package web

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"html/template"
	"io/fs"
	"log/slog"
	"net/http"
	"net/url"
	"path"
	"regexp"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"weephole/internal/answer"
	"weephole/internal/store"
	"weephole/internal/web/drawing"
)

//go:embed templates/*.html
var templateFiles embed.FS

//go:embed assets
var assetFiles embed.FS

var templates = template.Must(template.New("").Funcs(template.FuncMap{
	"name":  drawing.Name,
	"lines": func(s string) []string { return strings.Split(s, "\n") },
	"asset": func(name string) string { return "/assets/" + assetVersion + "/" + name },
	"clock": func(t time.Time) string { return t.Local().Format("2 Jan 15:04") },
	"stamp": func(t time.Time) string { return t.UTC().Format(time.RFC3339) },
	"said":  func(who string) string { return strings.TrimPrefix(who, nobody) }, // a name that nobody gave is left out
	"upper": upperFirst, "icon": icon, "kinds": otherFan, "money": answer.Money, "time": answer.Time, "percent": func(p float64) string { return together(answer.Percent(p)) }, "together": together,
	"has": func(list []string, s string) bool {
		for _, x := range list {
			if x == s {
				return true
			}
		}
		return false
	},
}).ParseFS(templateFiles, "templates/*.html"))

// beforeUnit is the space between a number and its unit.
var beforeUnit = regexp.MustCompile(`([0-9]) (°C|°F|K|%|bar|kPa|psi|V|A|L|qt|min|s|km/h|mph)\b|([0-9]) (°C|°F|%)`)

// together keeps a number on one line with its unit.
func together(s string) string {
	return beforeUnit.ReplaceAllString(s, "$1$3\u00a0$2$4")
}

// upperFirst begins a line with a capital.
func upperFirst(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}

// frame is what every page has around it.
type frame struct {
	Title   string
	Who     string
	Here    string
	Guarded bool
	Demo    bool
	Person  bool       // he has a secret of his own
	Role    store.Role // what he may
	Shop    string     // where the store holds several
	Trouble string     // why nothing can be kept just now; "" while entries can
	Data    any
}

// responder writes pages and failures.
type responder struct {
	log     *slog.Logger
	guarded bool
	health  *health
}

// page writes a page. A template that fails is a failure of the program: nothing
// of it has left yet.
func (re *responder) page(w http.ResponseWriter, r *http.Request, status int, name string, data any) {
	f := frame{Title: pageTitles[name], Who: who(r), Here: r.URL.Path, Guarded: re.guarded, Data: data, Trouble: re.health.says()}
	if p, ok := data.(failurePage); ok && p.Message == f.Trouble {
		f.Trouble = "" // the page says it itself
	}
	id := identityOf(r)
	if f.Person, f.Role = id.Person != "", id.Role; id.Group {
		f.Shop = id.Shop
	}
	if t, ok := data.(interface{ PageTitle() string }); ok {
		f.Title = t.PageTitle()
	}
	var out bytes.Buffer
	if err := templates.ExecuteTemplate(&out, name+".html", f); err != nil {
		re.log.Error("page failed", "page", name, "error", err)
		http.Error(w, "the page could not be drawn; the log of the program says more", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write(out.Bytes()) // the device has gone away
}

var pageTitles = map[string]string{
	"joblist": "Jobs", "form": "New job", "settings": "Settings", "login": "Passphrase", "failure": "Not found", "tally": "Tally",
	"people": "People", "me": "Me", "join": "Invitation", "results": "Results",
}

// shown answers with a page, or with the page of an error.
func (re *responder) shown(name string, data func(*http.Request) (any, error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		d, err := data(r)
		if err != nil {
			re.fail(w, r, err)
			return
		}
		re.page(w, r, http.StatusOK, name, d)
	}
}

// done does what a form asks and leads on.
func (re *responder) done(do func(*http.Request) (to string, err error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		to, err := do(r)
		if err != nil {
			re.fail(w, r, err)
			return
		}
		http.Redirect(w, r, to, http.StatusSeeOther)
	}
}

// pages are what people look at: a type for each subject, beside the list of jobs.
type pages struct {
	*jobs
	*responder
	api   *api
	guard *guard

	strip    stripPages
	job      jobPages
	record   recordPages
	end      endPages
	form     formPages
	settings settingsPages
	people   peoplePages
}

func newPages(js *jobs, ts *tallies, ap *api, h *house) *pages {
	strip := stripPages{js}
	return &pages{
		jobs: js, responder: h.re, api: ap, guard: h.guard, strip: strip,
		job: jobPages{strip, ap}, record: recordPages{strip, ap}, end: endPages{strip, ap, ts},
		form: formPages{strip, h.re}, settings: settingsPages{js, h.re, ap}, people: peoplePages{strip, h.re, ap, h.guard},
	}
}

// stripPages show the strip at a job's head: how it stands and what is next.
type stripPages struct{ *jobs }

// jobPages show a job while it is worked: findings, places, logs, answers.
type jobPages struct {
	stripPages
	api *api
}

// recordPages show what a job's journal holds: its history and its files.
type recordPages struct {
	stripPages
	api *api
}

// endPages show how a job ends: plan, repair, proof, drive, letter, closing and tally.
type endPages struct {
	stripPages
	api     *api
	tallies *tallies
}

// formPages open a job and change its head.
type formPages struct {
	stripPages
	*responder
}

// settingsPages show and change the shop's settings.
type settingsPages struct {
	*jobs
	*responder
	api *api
}

// peoplePages show the people of the shop, their invitations and what each may do.
type peoplePages struct {
	stripPages
	*responder
	api   *api
	guard *guard
}

// route puts the pages' routes into the mux.
func (pg *pages) route(mux *http.ServeMux) {
	mux.HandleFunc("GET /{$}", pg.shown("joblist", pg.jobList))
	mux.HandleFunc("GET /jobs-list", pg.shown("joblist-rows", pg.jobList))
	mux.HandleFunc("GET /new", pg.shown("form", pg.form.newForm))
	mux.HandleFunc("POST /new", pg.form.postForm)
	mux.HandleFunc("GET /jobs/{id}", pg.shown("job", pg.job.jobPage))
	mux.HandleFunc("GET /jobs/{id}/strip", pg.shown("strip-part", pg.strip.stripPage))
	mux.HandleFunc("GET /jobs/{id}/parts", pg.shown("parts", pg.job.jobPage))
	mux.HandleFunc("GET /jobs/{id}/panels", pg.shown("panels", pg.job.panels))
	mux.HandleFunc("GET /jobs/{id}/places/{place}", pg.shown("place", pg.job.placePage))
	mux.HandleFunc("GET /jobs/{id}/places/{place}/history", pg.shown("place-history", pg.job.placeHistory))
	mux.HandleFunc("GET /jobs/{id}/logs/{name}", pg.shown("log", pg.job.logPage))
	mux.HandleFunc("GET /jobs/{id}/history", pg.shown("history", pg.record.history))
	mux.HandleFunc("GET /jobs/{id}/files", pg.shown("files", pg.record.filesPage))
	mux.HandleFunc("POST /jobs/{id}/files/{name}/remove", pg.done(pg.record.removeFile))
	mux.HandleFunc("GET /jobs/{id}/findings/{finding}", pg.shown("answered", pg.job.answeredPage))
	mux.HandleFunc("GET /jobs/{id}/findings/{finding}/answer", pg.shown("answered-part", pg.job.answeredPage))
	mux.HandleFunc("GET /jobs/{id}/repair", pg.shown("repair", pg.end.repairPage))
	mux.HandleFunc("GET /jobs/{id}/plan", pg.shown("plan", pg.end.planPage))
	mux.HandleFunc("GET /jobs/{id}/proof", pg.shown("proof", pg.end.proofPage))
	mux.HandleFunc("GET /jobs/{id}/drive", pg.shown("drive", pg.end.drivePage))
	mux.HandleFunc("GET /jobs/{id}/letter", pg.shown("letter", pg.end.letterPage))
	mux.HandleFunc("GET /jobs/{id}/closing", pg.shown("closing", pg.end.closingPage))
	mux.HandleFunc("GET /tally", pg.shown("tally", pg.end.tallyPage))
	mux.HandleFunc("GET /jobs/{id}/edit", pg.shown("form", pg.form.editForm))
	mux.HandleFunc("POST /jobs/{id}/edit", pg.form.postForm)
	mux.HandleFunc("GET /settings", pg.shown("settings", pg.settings.settingsPage))
	mux.HandleFunc("POST /settings", pg.settings.postSettings)
	mux.HandleFunc("POST /settings/logo", pg.settings.postLogo)
	mux.HandleFunc("POST /demo", pg.done(func(r *http.Request) (string, error) {
		if r.FormValue("do") == "remove" {
			_, err := pg.api.settings.removeDemo(nil, r)
			return "/", err
		}
		_, err := pg.api.settings.addDemo(nil, r)
		return "/", err
	}))
	mux.HandleFunc("GET /login", pg.shown("login", pg.guard.loginPage))
	mux.HandleFunc("POST /login", pg.guard.postLogin)
	mux.HandleFunc("POST /logout", pg.guard.postLogout)
	pg.people.routePeople(mux)
	mux.HandleFunc("POST /who", func(w http.ResponseWriter, r *http.Request) {
		http.SetCookie(w, whoIs(r.FormValue("who"), pg.cfg.Now().Add(365*24*time.Hour), pg.guard.client(r).secure))
		http.Redirect(w, r, local(r.FormValue("to")), http.StatusSeeOther)
	})
	mux.HandleFunc("GET /assets/{version}/{name}", serveAsset)
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		pg.fail(w, r, wrong(http.StatusNotFound, "there is no such page"))
	})
}

// local is an address within the bench, whatever was asked for.
func local(to string) string {
	u, err := url.Parse(to)
	if err != nil || u.IsAbs() || u.Host != "" || !strings.HasPrefix(to, "/") || strings.HasPrefix(to, "//") || strings.Contains(to, `\`) {
		return "/"
	}
	return to
}

// assetVersion names the assets by their content, so that a browser keeps them
// for good and never mixes two versions.
var assetVersion = func() string {
	h := sha256.New()
	err := fs.WalkDir(assetFiles, "assets", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := assetFiles.ReadFile(name)
		h.Write(data)
		return err
	})
	if err != nil {
		panic(err) // the files are part of the program
	}
	h.Write([]byte(drawing.CSS()))
	return hex.EncodeToString(h.Sum(nil)[:8])
}()

var assetTypes = map[string]string{".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml", ".webmanifest": "application/manifest+json"}

// serveAsset serves a script, a style sheet or a picture of the program's own.
// One style sheet is all that a first paint waits for: the scale is part of it.
func serveAsset(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("name")
	data, err := assetFiles.ReadFile("assets/" + name)
	if err != nil {
		http.NotFound(w, r)
		return
	}
	if name == "sheet.css" {
		data = append(data[:len(data):len(data)], drawing.CSS()...)
	}
	w.Header().Set("Content-Type", assetTypes[path.Ext(name)])
	if r.PathValue("version") == assetVersion {
		w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	}
	_, _ = w.Write(data) // the device has gone away
}
