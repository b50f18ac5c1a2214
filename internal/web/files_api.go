package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"path"
	"strings"

	"weephole/internal/job"
	"weephole/internal/store"
	"weephole/trace"
)

// photoTypes are the pictures that a page shows; all else is a log or is refused.
var photoTypes = map[string]string{".jpg": "image/jpeg", ".jpeg": "image/jpeg", ".png": "image/png", ".webp": "image/webp"}

// soundTypes are the recordings of a voice that a page plays, and what their content
// looks like.
var soundTypes = map[string][2]string{".mp3": {"audio/mpeg", "audio/mpeg"}, ".wav": {"audio/wav", "audio/wave"}, ".ogg": {"audio/ogg", "application/ogg"}, ".m4a": {"audio/mp4", "video/mp4"}, ".webm": {"audio/webm", "video/webm"}}

// sound looks whether a recording is one.
func sound(name string, content []byte) (kind string, is bool, err error) {
	t, is := soundTypes[strings.ToLower(path.Ext(name))]
	if got := http.DetectContentType(content); is && got != t[1] {
		return "", true, wrong(http.StatusUnprocessableEntity, "%s is no recording of that kind (it looks like %s)", name, got)
	}
	return t[0], is, nil
}

// isLog tells whether a file of a job is a log: neither a picture nor a recording.
func isLog(f *store.File) bool {
	return !strings.HasPrefix(f.Type, "image/") && !strings.HasPrefix(f.Type, "audio/")
}

// filesAPI is about logs and photos, and about whole jobs as one file.
type filesAPI struct {
	*jobs
}

func (ap *filesAPI) routes() []route {
	return []route{
		{method: "POST", path: "/api/jobs/{id}/files", name: "bringFile", about: "Brings a log or a photo.", params: append([]param{{"query", "name", "the file's name", "string"}}, entryParams...), takes: "application/octet-stream", out: store.File{}, status: 201, do: ap.bringFile},
		{method: "GET", path: "/api/jobs/{id}/files/{name}", name: "getFile", about: "A file's content.", gives: "application/octet-stream", status: 200, do: ap.getFile},
		{method: "DELETE", path: "/api/jobs/{id}/files/{name}", name: "removeFile", about: "Takes a file's content away; the journal keeps that it was there. A log that a finding rests on stays until the finding is struck out.", params: entryParams, out: Made{}, status: 200, do: ap.removeFile},
		{method: "GET", path: "/api/jobs/{id}/files/{name}/log", name: "recognise", about: "What a log shows: what it is probably of, its doubts, and what only a person can settle.", out: LogReply{}, status: 200, do: ap.recognise},
		{method: "GET", path: "/api/jobs/{id}/export", name: "exportJob", about: "The job as one zip file, logs and photos inside.", gives: "application/zip", status: 200, do: ap.exportJob},
		{method: "POST", path: "/api/import", name: "importJob", about: "Takes in an exported job.", takes: "application/zip", out: Made{}, status: 201, do: ap.importJob},
	}
}

// bringFile keeps a photo or a log. A log is read before it is kept, so that one
// that cannot be used is refused with the reason while its bringer stands there.
func (ap *filesAPI) bringFile(_ http.ResponseWriter, r *http.Request) (any, error) {
	name := plainName(r.URL.Query().Get("name"))
	if name == "" {
		return nil, wrong(http.StatusBadRequest, "the file has no name; send it as ?name=")
	}
	content, err := body(r)
	if err != nil {
		return nil, err
	}
	f := store.File{Name: name, Who: who(r), Type: "text/csv"}
	if t, photo := photoTypes[strings.ToLower(path.Ext(name))]; photo {
		if content, err = ap.photo(r.Context(), name, t, content); err != nil {
			return nil, err
		}
		f.Type = t
	} else if t, is, err := sound(name, content); is {
		if err != nil {
			return nil, err
		}
		f.Type = t
	} else if err := ap.usableLog(r.Context(), name, content); err != nil {
		return nil, err
	}
	e, err := entryOf(r, store.Brought, nil)
	if err != nil {
		return nil, err
	}
	f, kept, added, err := ap.store.Bring(r.Context(), e, f, content)
	if err != nil {
		return nil, err
	}
	ap.keptOne(kept, added)
	return f, nil
}

// removeFile takes a log's or photo's content away. The journal keeps that it was
// brought, and by whom it was removed. A log that a finding rests on stays.
func (ap *filesAPI) removeFile(_ http.ResponseWriter, r *http.Request) (any, error) {
	e, err := entryOf(r, store.Removed, nil)
	if err != nil {
		return nil, err
	}
	name := r.PathValue("name")
	if !store.PlainName(name) {
		return nil, store.ErrUnknown
	}
	defer ap.telling.lock(e.Job)() // no finding may come to rest on it meanwhile
	s, err := ap.state(r.Context(), e.Job)
	if err != nil {
		return nil, err
	}
	for _, f := range s.Standing() {
		if restsOn(f.Body) == name {
			return nil, wrong(http.StatusConflict, "The finding “%s” rests on %s. Strike it out first, then remove the log.", ap.says(&f), name)
		}
	}
	kept, added, err := ap.store.RemoveFile(r.Context(), e, name)
	if err != nil {
		return nil, err
	}
	ap.logs.forget(e.Job, name)
	ap.keptOne(kept, added)
	return Made{ID: kept.ID, Seq: kept.Seq, Kept: added}, nil
}

// restsOn is the log that a finding is about, "" for none.
func restsOn(body json.RawMessage) string {
	var f struct{ Trace string }
	_ = json.Unmarshal(body, &f) // a finding that cannot be read names no log
	return f.Trace
}

// says is a finding in words.
func (wo *wording) says(f *store.Finding) string {
	read, err := job.ReadFinding(f.Body, job.Shop{}, wo.words)
	if err != nil {
		return f.ID
	}
	name, says := wo.inWords(read)
	return strings.TrimSuffix(name+": "+says, ": ")
}

// photo looks whether a picture is one, and takes out of it where it was taken,
// unless the shop wants that.
func (ap *filesAPI) photo(ctx context.Context, name, kind string, content []byte) ([]byte, error) {
	if got := http.DetectContentType(content); got != kind {
		return nil, wrong(http.StatusUnprocessableEntity, "%s is no picture of that kind (it looks like %s)", name, got)
	}
	set, err := ap.settings(ctx)
	if err != nil || set.Photos == wholePhotos {
		return content, err
	}
	bare, err := withoutPlace(kind, content)
	if err != nil {
		return nil, wrong(http.StatusUnprocessableEntity, "%s: %v", name, err)
	}
	return bare, nil
}

// usableLog looks whether a log can be used.
func (ap *filesAPI) usableLog(ctx context.Context, name string, content []byte) error {
	t, err := readTrace(ctx, content, name, nil)
	if err != nil {
		return wrong(http.StatusUnprocessableEntity, "%s is neither a picture (jpg, png, webp), nor a recording (m4a, mp3, ogg, wav, webm), nor a log that can be used: %v", name, err)
	}
	return fewRows(name, t)
}

// fewRows holds a log to the limit of rows.
func fewRows(name string, t *trace.Trace) error {
	if t.Rows > mostRows {
		return wrong(http.StatusUnprocessableEntity, "%s has %d rows, more than %d; cut it to the run that counts", name, t.Rows, mostRows)
	}
	return nil
}

// plainName makes a file's name one that the store takes.
func plainName(name string) string {
	name = path.Base(strings.ReplaceAll(name, `\`, "/"))
	name = strings.Map(func(r rune) rune {
		if strings.ContainsRune(`:*?"<>|/`, r) || r < ' ' || r == 0x7f {
			return '-'
		}
		return r
	}, name)
	ext := path.Ext(name)
	name = strings.Trim(clip(strings.TrimSuffix(name, ext), 60), ". ") + clip(ext, 10)
	if !store.PlainName(name) {
		return ""
	}
	return name
}

func (ap *filesAPI) getFile(w http.ResponseWriter, r *http.Request) (any, error) {
	f, content, err := ap.store.File(r.Context(), r.PathValue("id"), r.PathValue("name"))
	if err != nil {
		return nil, err
	}
	h := w.Header()
	h.Set("Content-Type", f.Type)
	h.Set("Content-Security-Policy", "default-src 'none'; sandbox") // whatever it holds, it does nothing
	if isLog(&f) {
		h.Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", asciiName(f.Name)))
	}
	_, _ = w.Write(content) // the device has gone away
	return nil, nil
}

func (ap *filesAPI) exportJob(w http.ResponseWriter, r *http.Request) (any, error) {
	id := r.PathValue("id")
	var out bytes.Buffer // whole, so that a failure is an error and not half a file
	err := store.Export(r.Context(), ap.store, id, &out)
	var large *store.TooLarge
	if errors.As(err, &large) {
		return nil, wrong(http.StatusUnprocessableEntity, "this job cannot be exported: %v", large)
	}
	if err != nil {
		return nil, err
	}
	w.Header().Set("Content-Type", "application/zip")
	w.Header().Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", "weephole-"+asciiName(id)+".zip"))
	_, _ = w.Write(out.Bytes()) // the device has gone away
	return nil, nil
}

func asciiName(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r > '~' || r == '"' || r == '\\' {
			return '-'
		}
		return r
	}, s)
}
