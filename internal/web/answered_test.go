package web_test

import (
	"net/http"
	"strings"
	"testing"

	"weephole/internal/web"
)

func TestAPlaceAnswersWhatWasFoundThere(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	answered := func(finding string) (a web.Answered) {
		m := l.found(id, finding)
		l.must("GET", "/api/jobs/"+id+"/findings/"+m.ID+"/answer", nil, &a)
		if a.Knows < m.Seq {
			t.Errorf("%s: the answer knows entry %d only, not %d", finding, a.Knows, m.Seq)
		}
		return a
	}
	// A thermostat that stays shut: hot before it and cold behind.
	a := answered(`{"check":"hose-temps","read":{"upper-hose":"104 °C","lower-hose":"38 °C"}}`)
	if len(a.Rows) != 2 || a.Rows[0].Healthy == nil || len(a.Rows[0].Leading) == 0 {
		t.Fatalf("rows: %+v", a.Rows)
	}
	if !strings.HasPrefix(a.Rows[0].Beside, "higher") || !strings.HasPrefix(a.Rows[1].Beside, "lower") {
		t.Errorf("104 °C is %q, 38 °C is %q", a.Rows[0].Beside, a.Rows[1].Beside)
	}
	if h := a.Rows[0].Healthy; h.Low >= h.High || h.High > 104 || !strings.Contains(h.Says, "°C to") {
		t.Errorf("a healthy engine reads %+v", h)
	}
	a = answered(`{"check":"level-cold","found":"full"}`)
	if len(a.Rows) != 1 || !strings.Contains(a.Rows[0].Healthy.Says, "of 100") || a.Rows[0].Beside != "" {
		t.Errorf("a word: %+v", a.Rows)
	}
	for finding, counts := range map[string]bool{`{"check":"level-cold","found":"full"}`: true, `{"check":"hose-temps","read":{"upper-hose":"103 °C"}}`: false} {
		page := l.page("/jobs/" + id + "/findings/" + l.found(id, finding).ID)
		if strings.Contains(page, "how many of 100") != counts || strings.Contains(page, "two of three") == counts {
			t.Errorf("%s: the key under the figures speaks of others", finding)
		}
	}
	// What cannot be said is said so.
	a = answered(`{"check":"level-cold","found":"unknown"}`)
	if len(a.Rows) != 0 || a.Says == "" {
		t.Errorf("nothing found: %+v", a)
	}
	a = answered(`{"repair":"replace-cap","changed":"nothing"}`)
	if len(a.Rows) != 0 || a.Says == "" || a.Name == "" {
		t.Errorf("a repair: %+v", a)
	}
	l.must("POST", "/api/jobs/"+id+"/files?name=run.csv", warmUp(), nil)
	a = answered(`{"check":"warm-up-log","trace":"run.csv"}`)
	if !strings.Contains(a.Says, "as a whole") {
		t.Errorf("a log: %+v", a)
	}
	if status := l.ask("GET", "/api/jobs/"+id+"/findings/none/answer", nil, nil); status != http.StatusNotFound {
		t.Errorf("a finding that is none: %d", status)
	}
}
