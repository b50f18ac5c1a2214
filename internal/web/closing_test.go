package web_test

import (
	"bytes"
	"encoding/json"
	"io"
	"net/http"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/goccy/go-yaml"

	"weephole/internal/paper"
	"weephole/internal/store"
	"weephole/internal/tally"
	"weephole/internal/web"
	"weephole/internal/work"
)

// memoryLedger keeps a tally for as long as a test lasts.
type memoryLedger struct {
	mu   sync.Mutex
	kept tally.Tally
}

func (m *memoryLedger) Read() (*tally.Tally, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return &tally.Tally{Entries: append([]tally.Entry(nil), m.kept.Entries...)}, nil
}

func (m *memoryLedger) Append(e tally.Entry) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.kept.Entries = append(m.kept.Entries, e)
	return nil
}

// stuckJob is a job from complaint to closing with two logs, of an invented car
// (internal/paper/testdata), cut into its head and its findings.
func stuckJob(t *testing.T) (head string, findings []string, closing json.RawMessage) {
	t.Helper()
	data, err := os.ReadFile("../paper/testdata/stuck.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if data, err = yaml.YAMLToJSON(data); err != nil {
		t.Fatal(err)
	}
	var doc map[string]json.RawMessage
	var list []json.RawMessage
	if err := json.Unmarshal(data, &doc); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(doc["findings"], &list); err != nil {
		t.Fatal(err)
	}
	for _, f := range list {
		findings = append(findings, string(f))
	}
	closing = doc["closing"]
	delete(doc, "findings")
	delete(doc, "closing")
	out, err := json.Marshal(doc)
	if err != nil {
		t.Fatal(err)
	}
	return string(out), findings, closing
}

// stuckLog is one of the job's logs, "before.csv" or "after.csv".
func stuckLog(t *testing.T, name string) []byte {
	t.Helper()
	data, err := os.ReadFile("../paper/testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// proven is as much of a proof as these tests look at.
type proven struct {
	Done    bool
	Repairs []string
	Plan    *struct {
		Runs []struct {
			Tells    bool
			FindsOut bool `json:"finds_out"`
		}
	}
	Judgement *struct{ Verdict, Cause string }
	Bands     []struct{ Finding int }
}

func TestAJobIsFinishedThroughTheAPI(t *testing.T) {
	ledger := &memoryLedger{}
	l := lay(t, func(c *web.Config) { c.Tally, c.Answers.CoarseSize = ledger, 3000 }) // with 1,000 the thermostat after its log is a matter of luck
	head, findings, closing := stuckJob(t)
	id := l.job(head)
	at := "/api/jobs/" + id
	for _, name := range []string{"before.csv", "after.csv"} {
		l.must("POST", at+"/files?name="+name, stuckLog(t, name), nil)
	}
	const repaired = 5 // the findings before the hose temperatures and the repair
	for _, f := range findings[:repaired] {
		l.found(id, f)
	}

	// Before the repair: the sheet that the odds suggest, and how it will be proven.
	l.must("GET", at+"/next", nil, nil)
	var sheets []work.Sheet
	l.must("GET", at+"/repair", nil, &sheets)
	if len(sheets) != 1 || sheets[0].Repair != "replace-thermostat" || len(sheets[0].Cautions) == 0 {
		t.Fatalf("sheets: %+v", sheets)
	}
	var before proven
	l.must("GET", at+"/proof", nil, &before)
	if !slices.Equal(before.Repairs, []string{sheets[0].Repair}) {
		t.Errorf("a sheet for %s, a proof of %v", sheets[0].Repair, before.Repairs)
	}
	if before.Done || before.Plan == nil || len(before.Plan.Runs) == 0 || !before.Plan.Runs[0].Tells && !before.Plan.Runs[0].FindsOut {
		t.Errorf("before the repair: %+v", before)
	}
	if shown := string(l.read("/jobs/" + id + "/proof?wait=1")); !strings.Contains(shown, "Looks still worth making") || !strings.Contains(shown, `/places/`) {
		t.Errorf("the page asks for no look that can be entered: %.3000s", shown)
	}
	what := sheets[0].Ask[0].What
	l.must("PATCH", at+"/maker", []web.MakerDatumInput{{What: what, Says: "9 Nm", From: "workshop manual, section 3"}}, nil)
	l.must("GET", at+"/repair", nil, &sheets)
	if sheets[0].Ask[0].Says != "9 Nm" {
		t.Errorf("what the maker says is lost: %+v", sheets[0].Ask[0])
	}

	// The repair and what was seen after it.
	for _, f := range findings[repaired+1:] {
		l.found(id, f)
	}
	var after proven
	var whole json.RawMessage
	l.must("GET", at+"/proof", nil, &whole)
	if err := json.Unmarshal(whole, &after); err != nil {
		t.Fatal(err)
	}
	if !after.Done || after.Judgement == nil || after.Judgement.Cause != "proven" || len(after.Bands) != 1 {
		t.Fatalf("after the repair: %s", whole)
	}
	l.must("PATCH", at+"/closing", closing, nil)
	l.must("PATCH", at+"/closing", `{"watch":"the level","coolant":{"went":"the red drum"}}`, nil)
	var body paper.Letter
	l.must("GET", at+"/letter", nil, &body)
	if all, _ := json.Marshal(body); !strings.Contains(string(all), "the level") || !strings.Contains(string(all), "198") {
		t.Errorf("the letter does not say what was told: %s", all)
	}
	for kind, begins := range map[string]string{"html": "<!doctype html>", "pdf": "%PDF-", "txt": ""} {
		data := l.read(at + "/letter." + kind)
		if !bytes.HasPrefix(data, []byte(begins)) || len(data) < 40 {
			t.Errorf("letter.%s is %.60q", kind, data)
		}
	}

	// Closed, counted, opened again and taken out.
	l.must("POST", at+"/close", nil, nil)
	l.sameInTheList(id)
	l.eventually("the job to be counted", func() bool { return strings.Contains(l.notes(id), "Counted in the tally.") })
	var counted web.TallyReply
	l.must("GET", "/api/tally", nil, &counted)
	if len(counted.Jobs) != 1 || counted.Jobs[0].Job != id || counted.Counts[0].Cause != "thermostat-shut" {
		t.Errorf("tally: %+v", counted)
	}
	if status := l.ask("POST", at+"/tally", nil, nil); status != http.StatusConflict {
		t.Errorf("counted twice: %d", status)
	}
	l.must("POST", at+"/reopen", nil, nil)
	l.must("GET", "/api/tally", nil, &counted)
	if len(counted.Jobs) != 0 || len(ledger.kept.Entries) != 2 {
		t.Errorf("after it was opened again: %+v, %d lines", counted.Jobs, len(ledger.kept.Entries))
	}
}

// sameInTheList holds a closed job's line in the list to what its page says of the proof.
func (l *laid) sameInTheList(id string) {
	l.Helper()
	page := l.page("/jobs/" + id)
	var list []store.Summary
	l.must("GET", "/api/jobs?archived=true", nil, &list)
	if len(list) != 1 || list[0].Verdict.State != store.VerdictRepaired || list[0].Verdict.Cause != "thermostat-shut" {
		l.Fatalf("the archive: %+v", list)
	}
	says := map[store.VerdictProof]string{
		store.ProofOpen: "Not proven yet", store.ProofWhole: "Proven by what was seen after it", store.ProofAsSeen: "Proven, as far as could be seen",
		store.ProofFailed: "Not proven: what was seen",
	}
	if want := says[list[0].Verdict.Proof]; !strings.Contains(page, want) {
		l.Errorf("the list has %+v; the page does not say %q", list[0].Verdict, want)
	}
	if row := l.page("/?archived=true"); !strings.Contains(row, "It was: thermostat that does not open") {
		l.Errorf("the archive does not say what it was: %s", row)
	}
}

func TestAJobWithoutProofIsClosedButTeachesNothing(t *testing.T) {
	ledger := &memoryLedger{}
	l := lay(t, func(c *web.Config) { c.Tally = ledger })
	id := l.job(hotCar)
	l.must("PATCH", "/api/jobs/"+id+"/closing", `{"cause":"thermostat-shut"}`, nil)
	l.must("POST", "/api/jobs/"+id+"/close", nil, nil)
	l.eventually("the note", func() bool { return strings.Contains(l.notes(id), "not proven") })
	if len(ledger.kept.Entries) != 0 {
		t.Errorf("it was counted: %+v", ledger.kept.Entries)
	}
	if status := l.ask("DELETE", "/api/jobs/"+id+"/tally", nil, nil); status != http.StatusNotFound {
		t.Errorf("taken out of where it is not: %d", status)
	}
}

func TestPartsOfTheHeadToldAtOnceAreAllKept(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	parts := []string{`{"showed":"shut in hot water"}`, `{"charged":"$198"}`, `{"watch":"the level"}`, `{"coolant":{"looked":"clear"}}`}
	var wg sync.WaitGroup
	for _, p := range parts {
		wg.Go(func() { l.ask("PATCH", "/api/jobs/"+id+"/closing", p, nil) })
	}
	wg.Wait()
	var j web.JobReply
	l.must("GET", "/api/jobs/"+id, nil, &j)
	for _, want := range []string{"shut in hot water", "$198", "the level", "clear", "Gets hot in town"} {
		if !strings.Contains(string(j.Document), want) {
			t.Errorf("%q is lost: %s", want, j.Document)
		}
	}
	const key = "0b5a7c1e-0000-4000-8000-000000000009"
	l.must("PATCH", "/api/jobs/"+id+"/closing", `{"showed":"something else"}`, nil, "Idempotency-Key", key)
	l.must("PATCH", "/api/jobs/"+id+"/closing", `{"charged":""}`, nil)
	var again web.Made
	l.must("PATCH", "/api/jobs/"+id+"/closing", `{"showed":"something else"}`, &again, "Idempotency-Key", key)
	l.must("GET", "/api/jobs/"+id, nil, &j)
	if again.Kept || strings.Contains(string(j.Document), "$198") {
		t.Errorf("sent again: %+v; %s", again, j.Document)
	}
	for body, want := range map[string]string{`{"cause":"gremlins"}`: "gremlins", `{"charged":"lots"}`: "What the owner pays", `{"price":"3"}`: "price"} {
		var f web.Failure
		if status := l.ask("PATCH", "/api/jobs/"+id+"/closing", body, &f); status < 400 || status >= 500 || !strings.Contains(f.Error.Message, want) {
			t.Errorf("%s: %d %s", body, status, f.Error.Message)
		}
	}
}

// read gives an answer's body as it comes.
func (l *laid) read(path string) []byte {
	l.Helper()
	res, err := l.client.Get(l.server.URL + path)
	if err != nil {
		l.Fatal(err)
	}
	defer res.Body.Close()
	data, err := io.ReadAll(res.Body)
	if err != nil || res.StatusCode != http.StatusOK {
		l.Fatalf("%s: %d %v", path, res.StatusCode, err)
	}
	return data
}

// notes is all that was noted in a job.
func (l *laid) notes(id string) (all string) {
	l.Helper()
	var j web.JobReply
	l.must("GET", "/api/jobs/"+id, nil, &j)
	for _, n := range j.Notes {
		all += n.Text + "\n"
	}
	return all
}

// eventually waits for something that is done behind the caller's back.
func (l *laid) eventually(what string, is func() bool) {
	l.Helper()
	for range 600 {
		if is() {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	l.Fatalf("waited for %s", what)
}
