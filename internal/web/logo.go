package web

import (
	"context"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"

	"weephole/internal/paper"
	"weephole/internal/store"
)

// logoKey is where the shop's logo is kept: a setting of its own, because every page reads
// the others and only the papers need this one. It is the picture in base64, or "" where
// it was taken away.
const logoKey = "logo"

// LogoReply says what was taken as the shop's logo.
type LogoReply struct {
	Type   string `json:"type"`
	Width  int    `json:"width"` // pixels
	Height int    `json:"height"`
}

// logo is the shop's; nil where it gave none.
func (sh *shopRecord) logo(ctx context.Context) (*paper.Logo, error) {
	l, _, err := sh.keptLogo(ctx)
	return l, err
}

// keptLogo is the shop's logo with the text that stands for it; nil where it gave none.
func (sh *shopRecord) keptLogo(ctx context.Context) (*paper.Logo, string, error) {
	text, err := sh.store.Setting(ctx, logoKey)
	if absent(err) || err == nil && text == "" {
		return nil, "", nil
	}
	if err != nil {
		return nil, "", err
	}
	data, err := base64.StdEncoding.DecodeString(text)
	if err != nil {
		data = nil
	}
	l, err := paper.KeptLogo(data)
	if err != nil { // no reason to write no letter
		sh.log.Warn("the shop's logo cannot be read", "error", err)
		return nil, text, nil
	}
	return l, text, nil
}

// mark tells what is kept under a key from what was kept there before, without holding it;
// "" stands for nothing.
func mark(text string) string {
	if text == "" {
		return ""
	}
	return store.Sum([]byte(text))
}

// keepLogo checks a picture and keeps it as the shop's logo, over the one whose mark its
// author saw; nil asks for nothing.
func (sh *shopRecord) keepLogo(ctx context.Context, given []byte, over *string) (*paper.Logo, error) {
	l, err := paper.ReadLogo(given)
	if err != nil {
		return nil, wrong(http.StatusUnprocessableEntity, "%s", upperFirst(err.Error())+".")
	}
	return l, sh.setLogo(ctx, base64.StdEncoding.EncodeToString(l.Data), over)
}

func (sh *shopRecord) setLogo(ctx context.Context, text string, over *string) error {
	if over == nil {
		return sh.store.Set(ctx, logoKey, text)
	}
	_, stands, err := sh.keptLogo(ctx)
	if err != nil {
		return err
	}
	if mark(stands) == *over {
		err = sh.store.SetOver(ctx, logoKey, stands, text)
	} else if stands != text {
		err = store.ErrOvertaken
	}
	if errors.Is(err, store.ErrOvertaken) {
		return wrong(http.StatusConflict, "Somebody else changed the logo meanwhile, so that nothing was changed. Look at the one that stands now, then decide.")
	}
	return err
}

// logoRoutes are those of the shop's logo.
func (ap *settingsAPI) logoRoutes() []route {
	return []route{
		{method: "GET", path: "/api/settings/logo", name: "getLogo", about: "The shop's logo, a PNG or JPEG.", gives: "image/*", status: 200, do: ap.getLogo},
		{method: "PUT", path: "/api/settings/logo", name: "setLogo", about: "Sets the shop's logo for letters and sheets: a PNG or JPEG of at most 200 kB and 2,000 by 2,000 pixels. It is drawn again; nothing else that the file held is kept.", takes: "application/octet-stream", params: []param{overLogo}, out: LogoReply{}, status: 200, do: ap.putLogo},
		{method: "DELETE", path: "/api/settings/logo", name: "removeLogo", about: "Takes the shop's logo away, and says what it was; zeros where there was none.", params: []param{overLogo}, out: LogoReply{}, status: 200, do: ap.removeLogo},
	}
}

// overLogo is the header by which a program says which logo it saw.
var overLogo = param{"header", "If-Match", "the ETag of the logo that its author saw: another one is not written over (409)", "string"}

// seenLogo is the mark in a request's If-Match; nil without one.
func seenLogo(r *http.Request) *string {
	tag := r.Header.Get("If-Match")
	if tag == "" {
		return nil
	}
	tag = strings.Trim(tag, `"`)
	return &tag
}

func (ap *settingsAPI) getLogo(w http.ResponseWriter, r *http.Request) (any, error) {
	l, text, err := ap.keptLogo(r.Context())
	if err != nil {
		return nil, err
	}
	if l == nil {
		return nil, wrong(http.StatusNotFound, "the shop has given no logo")
	}
	w.Header().Set("Content-Type", l.Type)
	w.Header().Set("ETag", `"`+mark(text)+`"`)
	w.Header().Set("Content-Security-Policy", "default-src 'none'; sandbox")
	_, _ = w.Write(l.Data) // the device has gone away
	return nil, nil
}

func (ap *settingsAPI) putLogo(_ http.ResponseWriter, r *http.Request) (any, error) {
	given, err := body(r)
	if err != nil {
		return nil, err
	}
	l, err := ap.keepLogo(r.Context(), given, seenLogo(r))
	if err != nil {
		return nil, err
	}
	return LogoReply{l.Type, l.Width, l.Height}, nil
}

func (ap *settingsAPI) removeLogo(_ http.ResponseWriter, r *http.Request) (any, error) {
	before, err := ap.logo(r.Context())
	if err != nil || before == nil {
		return LogoReply{}, err
	}
	return LogoReply{before.Type, before.Width, before.Height}, ap.setLogo(r.Context(), "", seenLogo(r))
}

// postLogo keeps the picture of the settings' form, or takes it away, and shows the
// settings again. A picture that came too late stays in the form.
func (pg *settingsPages) postLogo(w http.ResponseWriter, r *http.Request) {
	given, err := pg.formLogo(r)
	var m *mistake
	switch {
	case err == nil:
		http.Redirect(w, r, "/settings?saved=1#logo-h", http.StatusSeeOther)
	case errors.As(err, &m) && (m.status == http.StatusUnprocessableEntity || m.status == http.StatusConflict):
		got, err2 := pg.settingsPage(r)
		if err2 != nil {
			pg.fail(w, r, err2)
			return
		}
		p := got.(settingsPage)
		p.wrongFields = map[string]string{"logo": m.message}
		if m.status == http.StatusConflict {
			p.OwnLogo = base64.StdEncoding.EncodeToString(given)
		}
		pg.page(w, r, m.status, "settings", p)
	default:
		pg.fail(w, r, err)
	}
}

// formLogo does what the logo's form says, and gives the picture that was sent, if any.
func (pg *settingsPages) formLogo(r *http.Request) (given []byte, err error) {
	if given, err = formFile(r, "logo"); err != nil { // it reads the form
		return nil, err
	}
	over := r.FormValue("over")
	switch r.FormValue("do") {
	case "remove":
		return nil, pg.setLogo(r.Context(), "", &over)
	case "own":
		if given, err = base64.StdEncoding.DecodeString(r.FormValue("own")); err != nil {
			return nil, wrong(http.StatusUnprocessableEntity, "The picture cannot be read. Choose it again.")
		}
	}
	_, err = pg.keepLogo(r.Context(), given, &over)
	return given, err
}

// formFile is a file of a form; none is as good as an empty one.
func formFile(r *http.Request, name string) ([]byte, error) {
	f, _, err := r.FormFile(name)
	if errors.Is(err, http.ErrMissingFile) || errors.Is(err, http.ErrNotMultipart) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, paper.MostLogoBytes+1))
	if err != nil {
		return nil, fmt.Errorf("read the logo: %w", err)
	}
	return data, nil
}
