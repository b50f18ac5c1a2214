package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"weephole/internal/answer"
	"weephole/internal/web"
	"weephole/margin"
)

func TestWhetherTheCarGetsHomeIsAskedOnTheBench(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	l.found(id, `{"check":"fan-run","found":"still"}`)
	ask := func(trip, air string) string {
		return "/api/jobs/" + id + "/drive?" + url.Values{"trip": {trip}, "air": {air}}.Encode()
	}
	var hot, cool, road answer.TripFacts
	l.must("GET", ask("5 min motorway, 20 min idle", "40"), nil, &hot)
	l.must("GET", ask("5 min motorway", "5 °C"), nil, &cool)
	l.must("GET", "/api/jobs/"+id+"/drive", nil, &road)
	if hot.AirC != 40 || hot.Trip.Minutes() != 25 || hot.Chance <= cool.Chance || hot.Advice != margin.Carry {
		t.Errorf("with a dead fan, idling in 40 °C: %s with %v; a short motorway in 5 °C: %v", hot.Advice, hot.Chance, cool.Chance)
	}
	if road.AirC != 25 || len(road.Trip) == 0 || len(road.Lines) == 0 {
		t.Errorf("the road test is %+v in %v °C; the shop has 25 °C", road.Trip, road.AirC)
	}
	for _, wrong := range [][2]string{{"10 min moon", "30"}, {"10 min town", "90 °C"}, {"10 min town", "warm"}} {
		var f web.Failure
		if status := l.ask("GET", ask(wrong[0], wrong[1]), nil, &f); status != http.StatusUnprocessableEntity || f.Error.Message == "" {
			t.Errorf("%v: %d %q", wrong, status, f.Error.Message)
		}
	}

	at := "/jobs/" + id + "/drive"
	if page := l.page(at); !strings.Contains(page, `name="climb"`) || strings.Contains(page, "The advice") {
		t.Error("the page does not ask which drive, or answers before it")
	}
	page := l.page(at + "?idle=20&motorway=5&air=40&wait=1")
	caution, advice := strings.Index(page, `class="cautions"`), strings.Index(page, "Have it carried")
	if caution < 0 || advice < caution || !strings.Contains(page, "What would help") || !strings.Contains(page, `value="20"`) {
		t.Errorf("caution at %d, advice at %d, or no help", caution, advice)
	}
	if page := l.page(at + "?town=soon"); !strings.Contains(page, "write minutes") {
		t.Error("minutes that are no number are not told")
	}
	l.found(id, `{"check":"level-cold","found":"empty"}`)
	if page := l.page(at + "?do=road-test&wait=1"); !strings.Contains(page, "Do not start this engine") {
		t.Error("without coolant the answer is not no")
	}
}
