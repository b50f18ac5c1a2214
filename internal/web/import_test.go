package web_test

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"io"
	"net/http"
	"slices"
	"strings"
	"testing"

	"weephole/internal/store"
	"weephole/internal/web"
)

// photo is a small picture.
func photo(t *testing.T) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := png.Encode(&out, image.NewGray(image.Rect(0, 0, 64, 48))); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// placed is a photo that says where it was taken.
func placed(t *testing.T) []byte {
	t.Helper()
	var plain bytes.Buffer
	if err := jpeg.Encode(&plain, image.NewGray(image.Rect(0, 0, 40, 30)), nil); err != nil {
		t.Fatal(err)
	}
	return slices.Concat(plain.Bytes()[:2], exifOf(6), plain.Bytes()[2:])
}

// voice is a second of silence, as a WAV file.
func voice() []byte {
	const rate = 8000
	out := binary.LittleEndian.AppendUint32([]byte("RIFF"), 36+rate)
	out = append(out, "WAVEfmt "...)
	for _, n := range []uint32{16, 1 | 1<<16, rate, rate, 1 | 8<<16} { // plain samples, one channel, eight bits each
		out = binary.LittleEndian.AppendUint32(out, n)
	}
	out = binary.LittleEndian.AppendUint32(append(out, "data"...), rate)
	return append(out, bytes.Repeat([]byte{0x80}, rate)...)
}

func TestAJobGoesToAnotherBenchWithItsLogsPhotosAndRecordings(t *testing.T) {
	l, other := lay(t), lay(t)
	l.must("PUT", "/api/settings", `{"photos":"whole"}`, nil) // the other shop wants them without the place
	head, findings, _ := stuckJob(t)
	id := l.job(head)
	at := "/api/jobs/" + id
	l.must("POST", at+"/files?name=before.csv", stuckLog(t, "before.csv"), nil)
	l.must("POST", at+"/files?name=valve.png", photo(t), nil)
	l.must("POST", at+"/files?name=yard.jpg", placed(t), nil)
	l.must("POST", at+"/files?name=note.wav", voice(), nil)
	for _, f := range findings[:5] {
		l.found(id, f)
	}
	l.must("POST", at+"/notes", web.Remark{Text: "smells sweet"}, nil)
	data := l.read(at + "/export")
	var m web.Made
	other.must("POST", "/api/import", data, &m)
	var a, b web.JobReply
	l.must("GET", at, nil, &a)
	other.must("GET", at, nil, &b)
	if string(a.Document) != string(b.Document) || len(b.Files) != 4 || len(b.Findings) != 5 {
		t.Errorf("here:\n%s\nthere:\n%s, %d files", a.Document, b.Document, len(b.Files))
	}
	for _, f := range b.Files {
		here, there := l.read(at+"/files/"+f.Name), other.read(at+"/files/"+f.Name)
		if f.Name == "yard.jpg" {
			if !bytes.Contains(here, []byte("secret place")) || bytes.Contains(there, []byte("secret place")) {
				t.Error("the photo says there where it was taken, or does not say it here")
			}
			if here, _ = web.WithoutPlace("image/jpeg", here); f.SHA256 != store.Sum(there) || f.Size != int64(len(there)) {
				t.Errorf("the photo's checksum is not its own: %+v", f)
			}
		}
		if !bytes.Equal(here, there) {
			t.Errorf("%s is not the same", f.Name)
		}
	}
	var odds web.OddsReply
	other.must("GET", at+"/odds", nil, &odds) // the log is at hand there
	if odds.Causes[0].Cause != "thermostat-shut" {
		t.Errorf("there the odds name %s first", odds.Causes[0].Cause)
	}
}

// One shop keeps photos whole and the other does not. The picture is the same.
func TestAJobComesBackThoughItsPhotosLostTheirPlaceElsewhere(t *testing.T) {
	l, other := lay(t), lay(t)
	l.must("PUT", "/api/settings", `{"photos":"whole"}`, nil)
	at := "/api/jobs/" + l.job(hotCar)
	l.must("POST", at+"/files?name=yard.jpg", placed(t), nil)
	other.must("POST", "/api/import", l.read(at+"/export"), nil)
	other.must("POST", at+"/notes", web.Remark{Text: "smells sweet"}, nil)
	back := other.read(at + "/export")
	for _, photos := range []string{"whole", ""} { // it stays as it is, whatever is wanted since
		l.must("PUT", "/api/settings", `{"photos":"`+photos+`"}`, nil)
		l.must("POST", "/api/import", back, nil)
		l.must("POST", "/api/import", l.read(at+"/export"), nil)
	}
	var here web.JobReply
	l.must("GET", at, nil, &here)
	if len(here.Files) != 1 || len(here.Notes) != 2 || !bytes.Equal(l.read(at+"/files/yard.jpg"), placed(t)) {
		t.Errorf("back again: %d files, %d notes", len(here.Files), len(here.Notes))
	}
	other.must("POST", "/api/import", l.read(at+"/export"), nil)
	if bytes.Contains(other.read(at+"/files/yard.jpg"), []byte("secret place")) {
		t.Error("the other bench knows by now where the photo was taken")
	}
}

func TestALogOfTooManyRowsIsNeitherBroughtNorTakenIn(t *testing.T) {
	const most = 500_000
	long := func(rows int) []byte {
		var b bytes.Buffer
		b.WriteString("time,coolant\n")
		for i := range rows {
			fmt.Fprintf(&b, "%d,%d\n", i, 20+i%70)
		}
		return b.Bytes()
	}
	l, other := lay(t), lay(t)
	id := l.job(hotCar)
	var f web.Failure
	if status := l.ask("POST", "/api/jobs/"+id+"/files?name=long.csv", long(most+1), &f); status != http.StatusUnprocessableEntity || !strings.Contains(f.Error.Message, "more than 500000") {
		t.Errorf("brought: %d %s", status, f.Error.Message)
	}
	l.must("POST", "/api/jobs/"+id+"/files?name=full.csv", long(most), nil)
	other.must("POST", "/api/import", l.read("/api/jobs/"+id+"/export"), nil)
	// As a program without the limit kept it.
	if _, _, _, err := l.keeper.Bring(t.Context(), store.Entry{Job: id, ID: "b"}, store.File{Name: "long.csv", Type: "text/csv"}, long(most+1)); err != nil {
		t.Fatal(err)
	}
	if status := other.ask("POST", "/api/import", l.read("/api/jobs/"+id+"/export"), &f); status != http.StatusUnprocessableEntity || !strings.Contains(f.Error.Message, "more than 500000") {
		t.Errorf("taken in: %d %s", status, f.Error.Message)
	}
}

func TestWhatAnExportedJobHoldsIsReadAsAJobFileIs(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	l.found(id, `{"check":"level-cold","found":"low"}`)
	l.must("POST", "/api/jobs/"+id+"/files?name=valve.png", photo(t), nil)
	data := l.read("/api/jobs/" + id + "/export")
	for _, tt := range []struct{ name, old, new, says string }{
		{"a word that is none of the check's", `"found":"low"`, `"found":"lowish"`, "lowish"},
		{"a check that is none", `"check":"level-cold"`, `"check":"level-warm"`, "level-warm"},
		{"a head that is no job file", `"cylinders":4`, `"cylinders":"four"`, "Cylinders"},
		{"a page in a picture's place", `"image/png"`, `"text/html"`, "valve.png"},
		{"a picture that says it is a recording", `"image/png"`, `"audio/wav"`, "recording of the kind"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			other := lay(t)
			var f web.Failure
			status := other.ask("POST", "/api/import", changed(t, data, tt.old, tt.new), &f)
			if status != http.StatusUnprocessableEntity || !strings.Contains(f.Error.Message, tt.says) {
				t.Errorf("%d: %s", status, f.Error.Message)
			}
			var list []json.RawMessage
			other.must("GET", "/api/jobs", nil, &list)
			if len(list) != 0 {
				t.Error("something of it was kept")
			}
		})
	}
}

// changed is an exported job with something else in its journal.
func changed(t *testing.T, data []byte, old, new string) []byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range z.File {
		in, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		content, err := io.ReadAll(in)
		if err != nil {
			t.Fatal(err)
		}
		if f.Name == "journal.json" {
			if !bytes.Contains(content, []byte(old)) {
				t.Fatalf("the journal has no %s: %s", old, content)
			}
			content = bytes.ReplaceAll(content, []byte(old), []byte(new))
		}
		part, err := w.Create(f.Name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := part.Write(content); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestAnIdThatIsAnAddressIsTakenInUnderAPlainOne(t *testing.T) {
	l, other := lay(t), lay(t)
	id := l.job(hotCar)
	l.found(id, `{"check":"level-cold","found":"low"}`)
	data := changed(t, l.read("/api/jobs/"+id+"/export"), id, "../../settings")
	var m web.Made
	for _, kept := range []bool{true, false} {
		other.must("POST", "/api/import", data, &m)
		if m.Kept != kept || strings.ContainsAny(m.ID, "/.") {
			t.Errorf("taken in as %+v", m)
		}
	}
	if n := len(other.entries(m.ID)); n != 2 {
		t.Errorf("%d entries", n)
	}
}

func TestAJobThatNoBenchWouldTakeInIsNotExportedAndTheReasonIsSaid(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	// Larger than any upload, as another program may have put it into the database.
	if _, _, _, err := l.keeper.Bring(t.Context(), store.Entry{Job: id, ID: "b"}, store.File{Name: "film.csv", Type: "text/csv"}, make([]byte, 64<<20+1)); err != nil {
		t.Fatal(err)
	}
	var f web.Failure
	if status := l.ask("GET", "/api/jobs/"+id+"/export", nil, &f); status != http.StatusUnprocessableEntity || !strings.Contains(f.Error.Message, "film.csv is larger than 64 MB") || !strings.Contains(f.Error.Message, "backup") {
		t.Errorf("%d %s", status, f.Error.Message)
	}
}
