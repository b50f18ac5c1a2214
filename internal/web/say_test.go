package web_test

import (
	"net/url"
	"strings"
	"testing"

	"weephole/internal/web"
)

func TestWhatWasTypedIsOfferedAsFindings(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	var got web.SayAnswer
	l.must("GET", "/api/jobs/"+id+"/say?text="+url.QueryEscape("zzgrbl qwx, upper hose 95, the fan does not run"), nil, &got)
	if len(got.Offers) < 2 || len(got.Remarks) != 1 {
		t.Fatalf("offers %+v, remarks %q", got.Offers, got.Remarks)
	}
	kept := 0
	for _, o := range got.Offers {
		if o.Finding == nil {
			continue
		}
		l.found(id, string(o.Finding))
		kept++
	}
	var j web.JobReply
	l.must("GET", "/api/jobs/"+id, nil, &j)
	if kept < 2 || !strings.Contains(string(j.Document), "95 °C") {
		t.Errorf("%d offers could be entered: %s", kept, j.Document)
	}
	if page := l.page("/jobs/" + id); !strings.Contains(page, "Type what you saw") {
		t.Error("the page has no line to type what was seen")
	}
}
