package web_test

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"io"
	"mime/multipart"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"weephole/internal/store/sqlite"
	"weephole/internal/store/sqlstore"
	"weephole/internal/web"
)

// logoOf is an invented shop's logo.
func logoOf(t *testing.T, shade uint8) []byte {
	t.Helper()
	m := image.NewNRGBA(image.Rect(0, 0, 200, 80))
	for y := range 80 {
		for x := range 200 {
			if (x/20+y/20)%2 == 0 {
				m.SetNRGBA(x, y, color.NRGBA{shade, 79, 143, 255})
			}
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

const hostileLogo = `<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>`

func TestTheShopsLogoStandsOnItsPapersAndAHostileOneIsRefused(t *testing.T) {
	l := lay(t)
	l.must("PUT", "/api/settings", web.ShopInput{Name: "Saltmarsh Lane Motors"}, nil)
	var took web.LogoReply
	l.must("PUT", "/api/settings/logo", logoOf(t, 10), &took)
	if took != (web.LogoReply{Type: "image/png", Width: 200, Height: 80}) {
		t.Errorf("taken: %+v", took)
	}
	kept := l.read("/api/settings/logo")
	if m, err := png.Decode(bytes.NewReader(kept)); err != nil || m.Bounds().Dx() != 200 || m.At(5, 5) != color.Color(color.NRGBA{10, 79, 143, 255}) {
		t.Fatalf("the logo comes back otherwise: %v", err)
	}
	id := l.job(hotCar)
	at := "/api/jobs/" + id
	for _, path := range []string{"/letter.html", "/sheet.html"} {
		if page := string(l.read(at + path)); !strings.Contains(page, `<img class="logo" src="data:image/png;base64,`) || !strings.Contains(page, `alt="Saltmarsh Lane Motors"`) {
			t.Errorf("%s has no logo with the shop's name: %.1200s", path, page[strings.Index(page, "<header>"):])
		}
	}
	with := l.read(at + "/letter.pdf")

	// One that cannot be taken is told of, and the one before stays.
	var f web.Failure
	if status := l.ask("PUT", "/api/settings/logo", hostileLogo, &f); status != http.StatusUnprocessableEntity || !strings.Contains(f.Error.Message, "an SVG, which may hold programs; give a PNG or JPEG") {
		t.Errorf("a hostile file: %d %+v", status, f)
	}
	if !bytes.Equal(l.read("/api/settings/logo"), kept) {
		t.Error("the refused file took the logo's place")
	}
	l.must("DELETE", "/api/settings/logo", nil, &took)
	if status := l.ask("GET", "/api/settings/logo", nil, nil); took.Width != 200 || status != http.StatusNotFound {
		t.Errorf("taken away: %+v, then %d", took, status)
	}
	if without := l.read(at + "/letter.pdf"); !bytes.Contains(with, []byte("/Subtype /Image")) || bytes.Contains(without, []byte("/Subtype /Image")) {
		t.Error("the letter's PDF does not follow the logo")
	}
}

func TestALogoIsGivenOnTheSettings(t *testing.T) {
	l := lay(t)
	give := func(file []byte, do string) (int, string) {
		var b bytes.Buffer
		form := multipart.NewWriter(&b)
		if file != nil {
			w, err := form.CreateFormFile("logo", "logo.png") // its name proves nothing
			if err != nil {
				t.Fatal(err)
			}
			_, _ = w.Write(file)
		}
		_, logos, _ := strings.Cut(l.page("/settings"), `action="/settings/logo"`)
		_ = form.WriteField("over", over(t, logos, "over"))
		_ = form.WriteField("do", do)
		form.Close()
		res, err := l.client.Post(l.server.URL+"/settings/logo", form.FormDataContentType(), &b)
		if err != nil {
			t.Fatal(err)
		}
		defer res.Body.Close()
		page, err := io.ReadAll(res.Body)
		if err != nil {
			t.Fatal(err)
		}
		return res.StatusCode, string(page)
	}
	if status, page := give([]byte(hostileLogo), "keep"); status != http.StatusUnprocessableEntity || !strings.Contains(page, `id="w-logo" role="alert">The logo is an SVG`) {
		t.Errorf("a hostile file: %d %.300s", status, page)
	}
	if status, page := give(nil, "keep"); status != http.StatusUnprocessableEntity || !strings.Contains(page, "file is empty") {
		t.Errorf("no file: %d", status)
	}
	if status, page := give(logoOf(t, 10), "keep"); status != http.StatusOK || !strings.Contains(page, "The logo as it is kept") {
		t.Errorf("a logo: %d", status)
	}
	for _, sz := range []size{phone, desktop} {
		s := tab(t, sz)
		s.do(chromedp.Navigate(l.server.URL + "/settings"))
		s.until("the logo", `document.querySelector("img.shop-logo").naturalWidth === 200`)
		s.inBothLights("logo-settings")
		id := l.job(hotCar)
		s.do(chromedp.Navigate(l.server.URL + "/jobs/" + id + "/letter?wait=1"))
		s.until("the logo on the letter", `document.querySelector(".paper img.shop-logo")?.naturalWidth === 200`)
		// 18 mm are 68 px: CSS Values 4, 96 px to an inch
		if high := js[float64](s, `document.querySelector(".paper img.shop-logo").getBoundingClientRect().height`); high > 68.1 || high < 20 {
			t.Errorf("%s: the logo is %.1f px high", s.name, high)
		}
		s.inBothLights("logo-letter")
	}
	if status, page := give(nil, "remove"); status != http.StatusOK || strings.Contains(page, "The logo as it is kept") {
		t.Errorf("taken away: %d", status)
	}
}

func TestAShopThatMovesKeepsItsLogo(t *testing.T) {
	l := lay(t)
	l.must("PUT", "/api/settings/logo", logoOf(t, 10), nil)
	to, err := sqlite.Open(t.Context(), t.TempDir(), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { to.Close() })
	if _, err := sqlstore.Move(t.Context(), l.keeper.Keeper, to.Keeper, nil); err != nil {
		t.Fatal(err)
	}
	there := lay(t, func(c *web.Config) { c.Store = to })
	if !bytes.Equal(there.read("/api/settings/logo"), l.read("/api/settings/logo")) {
		t.Error("another logo came to the new store")
	}
}

func TestAnotherShopCannotReadOrChangeALogo(t *testing.T) {
	_, _, nora, sam := twoShops(t)
	nora.gives("PUT", "/api/settings/logo", string(logoOf(t, 10)), nil)
	if status, _ := sam.do("GET", "/api/settings/logo", nil); status != http.StatusNotFound {
		t.Errorf("south sees north's logo: %d", status)
	}
	sam.gives("PUT", "/api/settings/logo", string(logoOf(t, 200)), nil)
	sam.gives("DELETE", "/api/settings/logo", nil, nil)
	if status, got := nora.do("GET", "/api/settings/logo", nil); status != http.StatusOK || !strings.HasPrefix(got, "\x89PNG") {
		t.Errorf("south took north's logo away: %d", status)
	}
}
