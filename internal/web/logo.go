package web

import (
	"context"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"net/http"

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
	text, err := sh.store.Setting(ctx, logoKey)
	if errors.Is(err, store.ErrUnknown) || err == nil && text == "" {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	data, err := base64.StdEncoding.DecodeString(text)
	if err != nil {
		data = nil
	}
	l, err := paper.KeptLogo(data)
	if err != nil { // no reason to write no letter
		sh.log.Warn("the shop's logo cannot be read", "error", err)
		return nil, nil
	}
	return l, nil
}

// keepLogo checks a picture and keeps it as the shop's logo.
func (sh *shopRecord) keepLogo(ctx context.Context, given []byte) (*paper.Logo, error) {
	l, err := paper.ReadLogo(given)
	if err != nil {
		return nil, wrong(http.StatusUnprocessableEntity, "%s", upperFirst(err.Error())+".")
	}
	return l, sh.store.Set(ctx, logoKey, base64.StdEncoding.EncodeToString(l.Data))
}

// logoRoutes are those of the shop's logo.
func (ap *settingsAPI) logoRoutes() []route {
	return []route{
		{method: "GET", path: "/api/settings/logo", name: "getLogo", about: "The shop's logo, a PNG or JPEG.", gives: "image/*", status: 200, do: ap.getLogo},
		{method: "PUT", path: "/api/settings/logo", name: "setLogo", about: "Sets the shop's logo for letters and sheets: a PNG or JPEG of at most 200 kB and 2,000 by 2,000 pixels. It is drawn again; nothing else that the file held is kept.", takes: "application/octet-stream", out: LogoReply{}, status: 200, do: ap.putLogo},
		{method: "DELETE", path: "/api/settings/logo", name: "removeLogo", about: "Takes the shop's logo away, and says what it was; zeros where there was none.", out: LogoReply{}, status: 200, do: ap.removeLogo},
	}
}

func (ap *settingsAPI) getLogo(w http.ResponseWriter, r *http.Request) (any, error) {
	l, err := ap.logo(r.Context())
	if err != nil {
		return nil, err
	}
	if l == nil {
		return nil, wrong(http.StatusNotFound, "the shop has given no logo")
	}
	w.Header().Set("Content-Type", l.Type)
	w.Header().Set("Content-Security-Policy", "default-src 'none'; sandbox")
	_, _ = w.Write(l.Data) // the device has gone away
	return nil, nil
}

func (ap *settingsAPI) putLogo(_ http.ResponseWriter, r *http.Request) (any, error) {
	given, err := body(r)
	if err != nil {
		return nil, err
	}
	l, err := ap.keepLogo(r.Context(), given)
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
	return LogoReply{before.Type, before.Width, before.Height}, ap.store.Set(r.Context(), logoKey, "")
}

// postLogo keeps the picture of the settings' form, or takes it away, and shows the
// settings again.
func (pg *settingsPages) postLogo(w http.ResponseWriter, r *http.Request) {
	if r.FormValue("do") == "remove" {
		if _, err := pg.api.settings.removeLogo(w, r); err != nil {
			pg.fail(w, r, err)
			return
		}
		http.Redirect(w, r, "/settings?saved=1", http.StatusSeeOther)
		return
	}
	given, err := formFile(r, "logo")
	if err == nil {
		_, err = pg.keepLogo(r.Context(), given)
	}
	var m *mistake
	switch {
	case err == nil:
		http.Redirect(w, r, "/settings?saved=1#logo-h", http.StatusSeeOther)
	case errors.As(err, &m) && m.status == http.StatusUnprocessableEntity:
		got, err2 := pg.settingsPage(r)
		if err2 != nil {
			pg.fail(w, r, err2)
			return
		}
		p := got.(settingsPage)
		p.wrongFields = map[string]string{"logo": m.message}
		pg.page(w, r, m.status, "settings", p)
	default:
		pg.fail(w, r, err)
	}
}

// formFile is a file of a form; none is as good as an empty one.
func formFile(r *http.Request, name string) ([]byte, error) {
	f, _, err := r.FormFile(name)
	if errors.Is(err, http.ErrMissingFile) {
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
