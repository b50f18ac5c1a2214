package web_test

import (
	"bytes"
	"compress/gzip"
	"encoding/base64"
	"encoding/binary"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"weephole/internal/store"
	"weephole/internal/web"
)

func TestANameInAnyScriptKeepsTheEntry(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	for _, name := range []string{strings.Repeat("ก", 27), strings.Repeat("𝒜", 60), "Ada\x00Byron"} {
		var m web.Made
		l.must("POST", "/api/jobs/"+id+"/findings", `{"check":"level-cold","found":"full"}`, &m, "Cookie", "weephole_who="+url.QueryEscape(name))
	}
	for _, e := range l.entries(id)[1:] {
		if e.Who == "" || strings.ContainsRune(e.Who, '\uFFFD') {
			t.Errorf("the entry is by %q", e.Who)
		}
	}
}

func TestASearchOfThousandsOfWordsIsBounded(t *testing.T) {
	l := lay(t)
	l.job(hotCar)
	var jobs []store.Summary
	l.must("GET", "/api/jobs?q="+url.QueryEscape(strings.Repeat("estate ", 2000)), nil, &jobs)
	if len(jobs) != 1 {
		t.Errorf("%d jobs are found", len(jobs))
	}
	page := l.page("/?q=" + url.QueryEscape(strings.Repeat("estate ", 2000)))
	if n := strings.Count(page, "estate"); n > 20 {
		t.Errorf("the page repeats %d words of the search", n)
	}
}

func TestALogThatUnpacksPastAllBoundsIsRefused(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	// Members of a gzip file unpack one after another (RFC 1952, 2.2): a megabyte is packed
	// once and stands there a hundred times.
	var rows, member bytes.Buffer
	fmt.Fprintln(&rows, "time,coolant")
	for i := 0; rows.Len() < 1<<20; i++ {
		fmt.Fprintf(&rows, "%d.0,90.0\n", i)
	}
	z := gzip.NewWriter(&member)
	if _, err := z.Write(rows.Bytes()); err != nil {
		t.Fatal(err)
	}
	z.Close()
	packed := bytes.Repeat(member.Bytes(), 100)
	var no web.Failure
	if status := l.ask("POST", "/api/jobs/"+id+"/files?name=bomb.csv.gz", packed, &no); status != http.StatusUnprocessableEntity || !strings.Contains(no.Error.Message, "when unpacked") {
		t.Errorf("%d kB that unpack to 100 MB: %d %s", len(packed)>>10, status, no.Error.Message)
	}
}

// exifOf is an Exif segment with which way is up and where it was taken.
func exifOf(up byte) []byte {
	tiff := slices.Concat([]byte("II*\x00\x08\x00\x00\x00\x02\x00"),
		[]byte{0x12, 0x01, 3, 0, 1, 0, 0, 0, up, 0, 0, 0},
		[]byte{0x25, 0x88, 4, 0, 1, 0, 0, 0, 40, 0, 0, 0}, // GPS
		[]byte("\x00\x00\x00\x00N 52 deg 31 min secret place"))
	out := []byte{0xff, 0xe1, 0, 0}
	binary.BigEndian.PutUint16(out[2:], uint16(2+6+len(tiff)))
	return slices.Concat(out, []byte("Exif\x00\x00"), tiff)
}

func TestPhotosLoseWhereTheyWereTakenAndKeepWhichWayIsUp(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	var plain bytes.Buffer
	if err := jpeg.Encode(&plain, image.NewGray(image.Rect(0, 0, 40, 30)), nil); err != nil {
		t.Fatal(err)
	}
	photo := slices.Concat(plain.Bytes()[:2], exifOf(6), plain.Bytes()[2:], []byte("a video with its own secret place"))
	get := func(name string) []byte {
		res, err := l.client.Get(l.server.URL + "/api/jobs/" + id + "/files/" + name)
		if err != nil {
			t.Fatal(err)
		}
		defer res.Body.Close()
		got, err := io.ReadAll(res.Body)
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	l.must("POST", "/api/jobs/"+id+"/files?name=a.jpg", photo, nil)
	got := get("a.jpg")
	if bytes.Contains(got, []byte("secret")) {
		t.Error("the photo still says where it was taken")
	}
	if !bytes.Contains(got, []byte{0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, 6}) {
		t.Error("the photo no longer says which way is up")
	}
	if _, err := jpeg.Decode(bytes.NewReader(got)); err != nil {
		t.Errorf("the photo can no longer be shown: %v", err)
	}
	if status := l.ask("POST", "/api/jobs/"+id+"/files?name=c.jpg", photo[:len(photo)/2], nil); status != http.StatusUnprocessableEntity {
		t.Errorf("half a photo: %d", status)
	}
	l.must("PUT", "/api/settings", `{"photos":"whole"}`, nil)
	l.must("POST", "/api/jobs/"+id+"/files?name=b.jpg", photo, nil)
	if !bytes.Equal(get("b.jpg"), photo) {
		t.Error("a shop that wants its photos whole gets others")
	}
}

func FuzzPhoto(f *testing.F) {
	var plain bytes.Buffer
	if err := jpeg.Encode(&plain, image.NewGray(image.Rect(0, 0, 8, 8)), nil); err != nil {
		f.Fatal(err)
	}
	f.Add("image/jpeg", slices.Concat(plain.Bytes()[:2], exifOf(6), plain.Bytes()[2:]))
	f.Add("image/png", []byte("\x89PNG\r\n\x1a\n"))
	f.Add("image/png", pngWith(f, 6))
	simple, err := base64.StdEncoding.DecodeString(onePixel)
	if err != nil {
		f.Fatal(err)
	}
	f.Add("image/webp", webpWith(simple, 1, 1, 6))
	f.Add("image/webp", []byte("RIFF\x0c\x00\x00\x00WEBPVP8 \x00\x00\x00\x00"))
	f.Fuzz(func(t *testing.T, kind string, content []byte) {
		bare, err := web.WithoutPlace(kind, content)
		if err == nil && len(bare) > len(content)+64 {
			t.Errorf("%d bytes became %d", len(content), len(bare))
		}
		if err == nil {
			if again, err := web.WithoutPlace(kind, bare); err != nil || !bytes.Equal(again, bare) {
				t.Errorf("a bare picture is not bare: %v", err)
			}
		}
	})
}
