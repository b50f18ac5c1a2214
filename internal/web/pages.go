package web

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"net/url"
	"path"
	"strings"
	"time"

	"weephole/internal/answer"
	"weephole/internal/job"
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
	"time":  answer.Time, "per100": answer.Per100,
	"hundred": func(p float64) string { return fmt.Sprintf("%.0f", 100*p) },
	"has": func(list []string, s string) bool {
		for _, x := range list {
			if x == s {
				return true
			}
		}
		return false
	},
}).ParseFS(templateFiles, "templates/*.html"))

// frame is what every page has around it.
type frame struct {
	Title   string
	Who     string
	Here    string
	Guarded bool
	Demo    bool
	Data    any
}

// page writes a page. A template that fails is a failure of the program: nothing
// of it has left yet.
func (b *Bench) page(w http.ResponseWriter, r *http.Request, status int, name string, data any) {
	f := frame{Title: pageTitles[name], Who: who(r), Here: r.URL.Path, Guarded: b.cfg.Guarded, Data: data}
	if t, ok := data.(interface{ PageTitle() string }); ok {
		f.Title = t.PageTitle()
	}
	var out bytes.Buffer
	if err := templates.ExecuteTemplate(&out, name+".html", f); err != nil {
		b.cfg.Log.Error("page failed", "page", name, "error", err)
		http.Error(w, "the page could not be drawn; the log of the program says more", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write(out.Bytes()) // the device has gone away
}

var pageTitles = map[string]string{
	"yard": "Yard", "form": "New job", "settings": "Settings", "login": "Passphrase", "failure": "Not done", "tally": "Tally",
}

// shown answers with a page, or with the page of an error.
func (b *Bench) shown(name string, data func(*http.Request) (any, error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		d, err := data(r)
		if err != nil {
			b.fail(w, r, err)
			return
		}
		b.page(w, r, http.StatusOK, name, d)
	}
}

// done does what a form asks and leads on.
func (b *Bench) done(do func(*http.Request) (to string, err error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		to, err := do(r)
		if err != nil {
			b.fail(w, r, err)
			return
		}
		http.Redirect(w, r, to, http.StatusSeeOther)
	}
}

func (b *Bench) pages(mux *http.ServeMux) {
	mux.HandleFunc("GET /{$}", b.shown("yard", b.yard))
	mux.HandleFunc("GET /yard/list", b.shown("yard-list", b.yard))
	mux.HandleFunc("GET /new", b.shown("form", b.newForm))
	mux.HandleFunc("POST /new", b.postForm)
	mux.HandleFunc("GET /jobs/{id}", b.shown("job", b.jobPage))
	mux.HandleFunc("GET /jobs/{id}/parts", b.shown("parts", b.jobPage))
	mux.HandleFunc("GET /jobs/{id}/panels", b.shown("panels", b.panels))
	mux.HandleFunc("GET /jobs/{id}/places/{place}", b.shown("place", b.placePage))
	mux.HandleFunc("GET /jobs/{id}/history", b.shown("history", b.history))
	mux.HandleFunc("GET /jobs/{id}/findings/{finding}", b.shown("answered", b.answeredPage))
	mux.HandleFunc("GET /jobs/{id}/findings/{finding}/answer", b.shown("answered-part", b.answeredPage))
	mux.HandleFunc("GET /jobs/{id}/repair", b.shown("repair", b.repairPage))
	mux.HandleFunc("GET /jobs/{id}/plan", b.shown("plan", b.planPage))
	mux.HandleFunc("GET /jobs/{id}/proof", b.shown("proof", b.proofPage))
	mux.HandleFunc("GET /jobs/{id}/letter", b.shown("letter", b.letterPage))
	mux.HandleFunc("GET /jobs/{id}/closing", b.shown("closing", b.closingPage))
	mux.HandleFunc("GET /tally", b.shown("tally", b.tallyPage))
	mux.HandleFunc("GET /jobs/{id}/edit", b.shown("form", b.editForm))
	mux.HandleFunc("POST /jobs/{id}/edit", b.postForm)
	mux.HandleFunc("GET /settings", b.shown("settings", b.settingsPage))
	mux.HandleFunc("POST /settings", b.postSettings)
	mux.HandleFunc("POST /demo", b.done(func(r *http.Request) (string, error) {
		if r.FormValue("do") == "remove" {
			_, err := b.removeDemo(nil, r)
			return "/", err
		}
		_, err := b.addDemo(nil, r)
		return "/", err
	}))
	mux.HandleFunc("GET /login", b.shown("login", func(r *http.Request) (any, error) { return loginPage{To: local(r.FormValue("to"))}, nil }))
	mux.HandleFunc("POST /login", b.postLogin)
	mux.HandleFunc("POST /logout", b.postLogout)
	mux.HandleFunc("POST /who", func(w http.ResponseWriter, r *http.Request) {
		http.SetCookie(w, whoIs(r.FormValue("who"), b.cfg.Now().Add(365*24*time.Hour)))
		http.Redirect(w, r, local(r.FormValue("to")), http.StatusSeeOther)
	})
	mux.HandleFunc("GET /assets/{version}/{name}", serveAsset)
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		b.fail(w, r, wrong(http.StatusNotFound, "there is no such page"))
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

type yardPage struct {
	Jobs     []store.Summary
	Words    string
	Archived bool
	HasDemo  bool // demo jobs are there
	Offers   int  // demo jobs that could be opened
}

// yard shows the jobs in hand.
func (b *Bench) yard(r *http.Request) (any, error) {
	p := yardPage{Words: r.FormValue("q"), Archived: r.FormValue("archived") == "true", Offers: len(b.cfg.Demo)}
	var err error
	p.Jobs, err = b.store.Jobs(r.Context(), store.Query{Words: p.Words, Archived: p.Archived})
	for _, j := range p.Jobs {
		p.HasDemo = p.HasDemo || j.Demo
	}
	return p, err
}

type loginPage struct{ To, Problem string }

func (b *Bench) postLogin(w http.ResponseWriter, r *http.Request) {
	name := clip(r.FormValue("who"), 40)
	c, err := b.login(r.Context(), r.FormValue("passphrase"), name, r.TLS != nil)
	var m *mistake
	if errors.As(err, &m) {
		b.page(w, r, m.status, "login", loginPage{To: local(r.FormValue("to")), Problem: m.message})
		return
	}
	if err != nil {
		b.fail(w, r, err)
		return
	}
	http.SetCookie(w, c)
	if name != "" {
		http.SetCookie(w, whoIs(name, c.Expires))
	}
	http.Redirect(w, r, local(r.FormValue("to")), http.StatusSeeOther)
}

func (b *Bench) postLogout(w http.ResponseWriter, r *http.Request) {
	if c, err := r.Cookie(sessionCookie); err == nil {
		if err := b.store.DropSession(r.Context(), store.Sum([]byte(c.Value))); err != nil {
			b.fail(w, r, err)
			return
		}
	}
	http.SetCookie(w, &http.Cookie{Name: sessionCookie, Path: "/", MaxAge: -1})
	http.Redirect(w, r, "/login", http.StatusSeeOther)
}

type settingsPage struct {
	Shop
	Tools     []choice
	Saved     bool
	Problems  []string
	Addresses []addressView // by which other devices reach the bench
}

// choice is one of several words with its name in full.
type choice struct{ ID, Name string }

func (b *Bench) tools() (list []choice) {
	for _, t := range b.cfg.Model.Causes.Tools {
		list = append(list, choice{t.ID, t.Name})
	}
	return list
}

func (b *Bench) settingsPage(r *http.Request) (any, error) {
	s, err := b.settings(r.Context())
	if err != nil {
		return nil, err
	}
	return settingsPage{Shop: *s, Tools: b.tools(), Saved: r.FormValue("saved") != "", Addresses: b.addresses()}, nil
}

// HasTool is whether a tool is at hand: one that was never denied is.
func (p settingsPage) HasTool(id string) bool {
	for _, l := range p.Lacks {
		if l == id {
			return false
		}
	}
	return true
}

// postSettings keeps the settings, or shows them again with what is wrong.
func (b *Bench) postSettings(w http.ResponseWriter, r *http.Request) {
	s := Shop{Name: clip(r.FormValue("name"), 80), Units: r.FormValue("units"), Rate: clip(r.FormValue("rate"), 40),
		Altitude: clip(r.FormValue("altitude"), 40), Ambient: clip(r.FormValue("ambient"), 40),
		Coldest: clip(r.FormValue("coldest"), 40)}
	at := map[string]bool{}
	for _, t := range r.Form["tool"] {
		at[t] = true
	}
	for _, t := range b.tools() {
		if !at[t.ID] {
			s.Lacks = append(s.Lacks, t.ID)
		}
	}
	err := b.keepSettings(r.Context(), &s)
	var ps job.Problems
	switch {
	case err == nil:
		http.Redirect(w, r, "/settings?saved=1", http.StatusSeeOther)
	case errors.As(err, &ps):
		f := failureOf(err)
		b.page(w, r, f.Status, "settings", settingsPage{Shop: s, Tools: b.tools(), Problems: strings.Split(f.Message, "\n"), Addresses: b.addresses()})
	default:
		b.fail(w, r, err)
	}
}
