package web_test

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"image"
	"image/png"
	"io"
	"net/http"
	"strings"
	"testing"

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

func TestAJobGoesToAnotherBenchWithItsLogsAndPhotos(t *testing.T) {
	l, other := lay(t), lay(t)
	head, findings, _ := stuckJob(t)
	id := l.job(head)
	at := "/api/jobs/" + id
	l.must("POST", at+"/files?name=before.csv", stuckLog(t, "before.csv"), nil)
	l.must("POST", at+"/files?name=valve.png", photo(t), nil)
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
	if string(a.Document) != string(b.Document) || len(b.Files) != 2 || len(b.Findings) != 5 {
		t.Errorf("here:\n%s\nthere:\n%s, %d files", a.Document, b.Document, len(b.Files))
	}
	for _, f := range b.Files {
		if !bytes.Equal(l.read(at+"/files/"+f.Name), other.read(at+"/files/"+f.Name)) {
			t.Errorf("%s is not the same", f.Name)
		}
	}
	var odds web.OddsReply
	other.must("GET", at+"/odds", nil, &odds) // the log is at hand there
	if odds.Causes[0].Cause != "thermostat-shut" {
		t.Errorf("there the odds name %s first", odds.Causes[0].Cause)
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
