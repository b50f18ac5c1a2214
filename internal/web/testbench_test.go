package web_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"weephole/internal/store"
	"weephole/internal/store/sqlite"
	"weephole/internal/web"
	"weephole/internal/web/answers"
	"weephole/internal/work/worktest"
	"weephole/lineup/lineuptest"
	"weephole/plan"
)

// knowledge is read once for all tests; nobody changes it.
var knowledge = sync.OnceValues(lineuptest.Coarse)

// shelf has the engines of the jobs that many tests begin with.
var shelf worktest.Shelf

// sizes are small enough for tests; the fine stage stays out unless asked for.
func sizes() answers.LiveConfig {
	c := answers.Defaults()
	c.CoarseSize, c.FineSize, c.Quiet = 600, 0, 50*time.Millisecond
	return c
}

// laid is a bench laid out for a test.
type laid struct {
	compiling sync.Mutex
	*testing.T
	dir    string
	keeper *sqlite.FileKeeper
	bench  *web.Bench
	server *httptest.Server
	client *http.Client
	api    *jsonschema.Compiler
	doc    map[string]any
}

func lay(t *testing.T, change ...func(*web.Config)) *laid {
	t.Helper()
	l := &laid{T: t, dir: t.TempDir(), client: &http.Client{Timeout: 2 * time.Minute}}
	l.open(change...)
	t.Cleanup(l.shut)
	l.readAPI()
	return l
}

func (l *laid) open(change ...func(*web.Config)) {
	l.Helper()
	m, err := knowledge()
	if err != nil {
		l.Fatal(err)
	}
	settings, err := plan.DefaultAssumptions()
	if err != nil {
		l.Fatal(err)
	}
	if l.keeper, err = sqlite.Open(l.Context(), l.dir, time.Now); err != nil {
		l.Fatal(err)
	}
	cfg := web.Config{Store: l.keeper, Model: m, Plan: settings, Answers: sizes(), Log: slog.New(slog.NewTextHandler(testWriter{l.T}, nil))}
	cfg.Answers.Share = shelf.Share
	for _, f := range change {
		f(&cfg)
	}
	if l.bench, err = web.New(cfg); err != nil {
		l.Fatal(err)
	}
	l.server = httptest.NewServer(l.bench.Handler())
}

func (l *laid) shut() {
	l.bench.Close()
	l.server.Close()
	l.keeper.Close()
}

type testWriter struct{ t *testing.T }

func (w testWriter) Write(p []byte) (int, error) {
	w.t.Logf("log: %s", bytes.TrimSpace(p))
	return len(p), nil
}

// readAPI takes the API's own description, by which every answer is judged.
func (l *laid) readAPI() {
	l.Helper()
	res, err := l.client.Get(l.server.URL + "/api/openapi.json")
	if err != nil {
		l.Fatal(err)
	}
	defer res.Body.Close()
	if res.StatusCode == http.StatusUnauthorized {
		return
	}
	doc, err := jsonschema.UnmarshalJSON(res.Body)
	if err != nil {
		l.Fatal(err)
	}
	l.doc = doc.(map[string]any)
	l.api = jsonschema.NewCompiler()
	if err := l.api.AddResource("mem:api.json", doc); err != nil {
		l.Fatal(err)
	}
}

// ask sends a request and holds the answer to the description.
func (l *laid) ask(method, path string, body any, into any, h ...string) int {
	l.Helper()
	var r io.Reader
	switch b := body.(type) {
	case nil:
	case string:
		r = strings.NewReader(b)
	case []byte:
		r = bytes.NewReader(b)
	default:
		data, err := json.Marshal(b)
		if err != nil {
			l.Fatal(err)
		}
		r = bytes.NewReader(data)
	}
	req, err := http.NewRequestWithContext(l.Context(), method, l.server.URL+path, r)
	if err != nil {
		l.Fatal(err)
	}
	for i := 0; i+1 < len(h); i += 2 {
		req.Header.Set(h[i], h[i+1])
	}
	res, err := l.client.Do(req)
	if err != nil {
		l.Fatal(err)
	}
	defer res.Body.Close()
	data, err := io.ReadAll(res.Body)
	if err != nil {
		l.Fatal(err)
	}
	l.judge(method, path, res, data)
	if into != nil {
		if err := json.Unmarshal(data, into); err != nil {
			l.Fatalf("%s %s: %v in %s", method, path, err, data)
		}
	}
	return res.StatusCode
}

// mostAsked is how often a question is asked that takes longer than the bench lets
// anybody wait: on a machine with other work it may.
const mostAsked = 20

// must is ask for a request that has to succeed.
func (l *laid) must(method, path string, body any, into any, h ...string) {
	l.Helper()
	var raw json.RawMessage
	status := l.ask(method, path, body, &raw, h...)
	for n := 1; n < mostAsked && method == "GET" && status == http.StatusServiceUnavailable; n++ {
		status = l.ask(method, path, body, &raw, h...)
	}
	if status >= 300 {
		l.Fatalf("%s %s: %d %s", method, path, status, raw)
	}
	if into != nil {
		if err := json.Unmarshal(raw, into); err != nil {
			l.Fatal(err)
		}
	}
}

// judge finds the operation in the description and validates the answer.
func (l *laid) judge(method, path string, res *http.Response, data []byte) {
	l.Helper()
	if l.api == nil || !strings.HasPrefix(path, "/api/") || res.Header.Get("Content-Type") != "application/json" {
		return
	}
	u, _ := url.Parse(path)
	for pattern, item := range l.doc["paths"].(map[string]any) {
		op, ok := item.(map[string]any)[strings.ToLower(method)].(map[string]any)
		if !ok || !fits(pattern, u.Path) {
			continue
		}
		status := fmt.Sprint(res.StatusCode)
		if _, ok := op["responses"].(map[string]any)[status]; !ok {
			status = "default"
		}
		at := "mem:api.json#/paths/" + strings.ReplaceAll(pattern, "/", "~1") + "/" + strings.ToLower(method) + "/responses/" + status + "/content/application~1json/schema"
		l.compiling.Lock() // the compiler is not for several goroutines
		schema, err := l.api.Compile(strings.NewReplacer("{", "%7B", "}", "%7D").Replace(at))
		l.compiling.Unlock()
		if err != nil {
			l.Fatalf("description of %s %s: %v", method, path, err)
		}
		v, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
		if err != nil {
			l.Fatalf("%s %s answers no JSON: %s", method, path, data)
		}
		if err := schema.Validate(v); err != nil {
			l.Errorf("%s %s answers otherwise than described: %v\n%s", method, path, err, data)
		}
		return
	}
	if res.StatusCode < 400 {
		l.Errorf("%s %s is not described", method, path)
	}
}

func fits(pattern, path string) bool {
	a, b := strings.Split(pattern, "/"), strings.Split(path, "/")
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] && !strings.HasPrefix(a[i], "{") {
			return false
		}
	}
	return true
}

const hotCar = `{"weephole":1,"job":"hot in town","shop":{"ambient":"25 °C","units":"metric"},
"vehicle":{"name":"blue estate, 1.8 petrol","fuel":"petrol","displacement":"1.8 L","cylinders":4,"thermostat":{"rating":"82 °C","sits":"outlet"},"fan":{"kind":"electric","count":1},"cap":"1.1 bar"},
"complaint":{"words":"Gets hot in town","signs":["overheats"],"when":["idle","city"]},
"quote":{"presumes":"combustion-leak","repair":"replace-head-gasket","price":"$2,400","by":"another shop"}}`

// job opens a job and gives its id.
func (l *laid) job(document string) string {
	l.Helper()
	var m web.Made
	l.must("POST", "/api/jobs", document, &m)
	return m.ID
}

func (l *laid) found(id, finding string, h ...string) web.Made {
	l.Helper()
	var m web.Made
	l.must("POST", "/api/jobs/"+id+"/findings", finding, &m, h...)
	return m
}

func (l *laid) entries(id string) []store.Entry {
	l.Helper()
	var out []store.Entry
	l.must("GET", "/api/jobs/"+id+"/history", nil, &out)
	return out
}

// artefacts names the folder for what a person may want to look at.
const artefacts = "WEEPHOLE_ARTEFACTS"

// artefact writes something that a person may want to look at. Where
// WEEPHOLE_ARTEFACTS names no folder it is thrown away.
func artefact(t *testing.T, name string, content []byte) {
	t.Helper()
	dir := os.Getenv(artefacts)
	if dir == "" {
		return
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name), content, 0o644); err != nil {
		t.Fatal(err)
	}
}

// page is a page's HTML.
func (l *laid) page(path string) string {
	l.Helper()
	return string(l.read(path))
}

// refused is the page that comes back for a form that cannot be taken.
func (l *laid) refused(path string, form url.Values) string {
	l.Helper()
	res, err := l.client.PostForm(l.server.URL+path, form)
	if err != nil {
		l.Fatal(err)
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil || res.StatusCode != http.StatusUnprocessableEntity {
		l.Fatalf("%s: %s %v", path, res.Status, err)
	}
	return string(body)
}
