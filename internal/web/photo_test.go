package web_test

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"weephole/internal/web"
)

// tagsOf are the tags of exifOf without the head that a JPEG has before them.
func tagsOf(up byte) []byte { return exifOf(up)[10:] }

// pngWith is a PNG with chunks of its own before the picture's data: tags with a place,
// text, and more behind its end.
func pngWith(t testing.TB, up byte) []byte {
	t.Helper()
	picture := image.NewGray(image.Rect(0, 0, 40, 30))
	picture.SetGray(3, 3, color.Gray{200})
	var plain bytes.Buffer
	if err := png.Encode(&plain, picture); err != nil {
		t.Fatal(err)
	}
	chunk := func(name string, body []byte) []byte {
		all := append([]byte(name), body...)
		out := binary.BigEndian.AppendUint32(nil, uint32(len(body)))
		return binary.BigEndian.AppendUint32(append(out, all...), crc32.ChecksumIEEE(all))
	}
	const head = 8 + 12 + 13 // signature and IHDR
	return slices.Concat(plain.Bytes()[:head], chunk("eXIf", tagsOf(up)), chunk("tEXt", []byte("Location\x00secret place")),
		chunk("iTXt", []byte("XML:com.adobe.xmp\x00\x00\x00\x00\x00secret place")), plain.Bytes()[head:], []byte("a secret video"))
}

// webpWith is a WebP in its longer form, with tags, XMP, a chunk that nobody knows, and more
// behind its end. A simple one has so many pixels.
func webpWith(given []byte, width, height int, up byte) []byte {
	chunk := func(name string, body []byte) []byte {
		out := binary.LittleEndian.AppendUint32([]byte(name), uint32(len(body)))
		out = append(out, body...)
		return append(out, make([]byte, len(body)%2)...)
	}
	long := slices.Clone(given[12:])
	if !bytes.HasPrefix(long, []byte("VP8X")) {
		long = append(chunk("VP8X", []byte{0, 0, 0, 0, byte(width - 1), 0, 0, byte(height - 1), 0, 0}), long...)
	}
	long[8] |= 0x08 | 0x04
	body := slices.Concat([]byte("WEBP"), long,
		chunk("EXIF", append([]byte("Exif\x00\x00"), tagsOf(up)...)), chunk("XMP ", []byte("secret place!")), chunk("GPSx", []byte("secret")))
	return slices.Concat(chunk("RIFF", body), []byte("a secret video"))
}

// onePixel is a lossless WebP of one pixel, as encoders write it.
const onePixel = "UklGRhoAAABXRUJQVlA4TA0AAAAvAAAAEAcQERGIiP4HAA=="

func TestPNGAndWebPLoseWhereTheyWereTakenAndKeepWhichWayIsUp(t *testing.T) {
	simple, err := base64.StdEncoding.DecodeString(onePixel)
	if err != nil {
		t.Fatal(err)
	}
	l := lay(t)
	id := l.job(hotCar)
	upright := []byte{0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, 6}
	for name, photo := range map[string][]byte{"a.png": pngWith(t, 6), "a.webp": webpWith(simple, 1, 1, 6)} {
		at := "/api/jobs/" + id + "/files"
		l.must("POST", at+"?name="+name, photo, nil)
		got := l.read(at + "/" + name)
		if !bytes.Contains(photo, []byte("secret")) || bytes.Contains(got, []byte("secret")) || bytes.Contains(got, []byte("GPS")) {
			t.Errorf("%s still says where it was taken: %q", name, got)
		}
		if !bytes.Contains(got, upright) {
			t.Errorf("%s no longer says which way is up", name)
		}
		if again, err := web.WithoutPlace("image/"+name[2:], got); err != nil || !bytes.Equal(again, got) {
			t.Errorf("%s: what is bare is not bare: %v", name, err)
		}
		if status := l.ask("POST", at+"?name=half-"+name, photo[:len(photo)/2], nil); status != http.StatusUnprocessableEntity {
			t.Errorf("half of %s: %d", name, status)
		}
		if name == "a.png" {
			if _, err := png.Decode(bytes.NewReader(got)); err != nil {
				t.Errorf("%s can no longer be shown: %v", name, err)
			}
		}
	}
	// One that stands upright has nothing to say of it.
	for kind, photo := range map[string][]byte{"image/png": pngWith(t, 1), "image/webp": webpWith(simple, 1, 1, 1)} {
		bare, err := web.WithoutPlace(kind, photo)
		if err != nil || bytes.Contains(bare, []byte("MM\x00*")) || bytes.Contains(bytes.ToUpper(bare), []byte("EXIF")) {
			t.Errorf("%s: %q, %v", kind, bare, err)
		}
	}
}

// A real browser shows each kind as it did before, on the page of a job's photos.
func TestPhotosStandUprightWithoutTheirPlace(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	s := tab(t, phone)
	s.do(chromedp.Navigate(l.server.URL + "/"))
	made := js[string](s, `(() => { const c = document.createElement("canvas"); c.width = 40; c.height = 30; const p = c.getContext("2d", {alpha: false}); p.fillStyle = "red"; p.fillRect(5, 5, 9, 9); return c.toDataURL("image/webp"); })()`)
	simple, err := base64.StdEncoding.DecodeString(strings.TrimPrefix(made, "data:image/webp;base64,"))
	if err != nil {
		t.Fatal(err)
	}
	size := func(path string) string {
		return js[string](s, fmt.Sprintf(`new Promise((done) => { const i = new Image(); i.onload = () => done(i.naturalWidth + " by " + i.naturalHeight); i.onerror = () => done("broken"); i.src = %q; })`, path))
	}
	for name, photo := range map[string][]byte{"a.png": pngWith(t, 6), "a.webp": webpWith(simple, 40, 30, 6)} {
		l.must("PUT", "/api/settings", `{"photos":"whole"}`, nil)
		l.must("POST", "/api/jobs/"+id+"/files?name=whole-"+name, photo, nil)
		l.must("PUT", "/api/settings", `{}`, nil)
		l.must("POST", "/api/jobs/"+id+"/files?name="+name, photo, nil)
		whole, bare := size("/api/jobs/"+id+"/files/whole-"+name), size("/api/jobs/"+id+"/files/"+name)
		t.Logf("%s: %s", name, whole)
		if whole == "broken" || bare != whole {
			t.Errorf("%s was %s and is %s", name, whole, bare)
		}
	}
}
