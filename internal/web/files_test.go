package web_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"weephole/internal/store"
	"weephole/internal/web"
)

const shortLog = "time,coolant\n0,20\n30,24\n60,28\n90,33\n120,38\n150,44\n180,50\n"

func TestALogIsRemovedUnlessAFindingRestsOnIt(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	path := "/api/jobs/" + id + "/files"
	l.must("POST", path+"?name=run.csv", shortLog, nil, "Idempotency-Key", "b1")
	l.must("POST", path+"?name=run.csv", shortLog, nil, "Idempotency-Key", "b1") // sent again
	f := l.found(id, `{"check":"drive-log","trace":"run.csv"}`)
	var fail web.Failure
	if status := l.ask("DELETE", path+"/run.csv", nil, &fail); status != http.StatusConflict || !strings.Contains(fail.Error.Message, "rests on run.csv") {
		t.Errorf("a log that a finding rests on: %d %+v", status, fail)
	}
	if page := l.page("/jobs/" + id + "/files"); !strings.Contains(page, "run.csv") || strings.Contains(page, "Remove it for good") {
		t.Error("the page offers to remove a log that a finding rests on")
	}
	l.must("DELETE", "/api/jobs/"+id+"/findings/"+f.ID, nil, nil)
	l.must("GET", path+"/run.csv/log", nil, nil) // once read it is kept read
	var made web.Made
	l.must("DELETE", path+"/run.csv", nil, &made, "Idempotency-Key", "r1")
	l.must("DELETE", path+"/run.csv", nil, nil, "Idempotency-Key", "r1") // sent again
	if status := l.ask("GET", path+"/run.csv", nil, nil); status != http.StatusNotFound {
		t.Errorf("the removed log: %d", status)
	}
	if status := l.ask("GET", path+"/run.csv/log", nil, nil); status != http.StatusNotFound {
		t.Errorf("what the removed log shows: %d", status)
	}
	if status := l.ask("DELETE", path+"/none.csv", nil, nil); status != http.StatusNotFound {
		t.Errorf("a log that never was: %d", status)
	}
	if status := l.ask("POST", "/api/jobs/"+id+"/findings/"+f.ID+"/restore", nil, &fail); status != http.StatusConflict {
		t.Errorf("a finding taken back in whose log is gone: %d", status)
	}
	if h := l.page("/jobs/" + id + "/history"); strings.Count(h, "run.csv") < 2 || !strings.Contains(h, "Removed") {
		t.Error("the history does not tell of the log")
	}
	brought := 0
	for _, e := range l.entries(id) {
		if e.Kind == "brought" {
			brought++
		}
	}
	if brought != 1 {
		t.Errorf("the log was brought %d times", brought)
	}
}

func TestAllJobsOfALargeShopStandInThePages(t *testing.T) {
	l := lay(t)
	const all = 431
	for i := range all {
		e := store.Entry{Job: fmt.Sprintf("j%03d", i), ID: "o", Kind: store.Opened, Body: json.RawMessage(`{"weephole":1}`)}
		if _, _, err := l.keeper.Append(t.Context(), e); err != nil {
			t.Fatal(err)
		}
	}
	seen, pages := map[string]bool{}, 0
	for next := "/"; next != ""; pages++ {
		page := l.page(next)
		for _, part := range strings.Split(page, `href="/jobs/`)[1:] {
			id, _, _ := strings.Cut(part, `"`)
			seen[id] = true
		}
		next = ""
		if _, rest, ok := strings.Cut(page, `rel="next" href="`); ok {
			next, _, _ = strings.Cut(rest, `"`)
			next = strings.ReplaceAll(next, "&amp;", "&")
		}
		if pages > 9 {
			t.Fatal("the pages do not end")
		}
	}
	if len(seen) != all || pages != 3 {
		t.Errorf("%d jobs on %d pages, want %d on 3", len(seen), pages, all)
	}
}
