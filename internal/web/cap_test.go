package web_test

import (
	"fmt"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"weephole/internal/web"
)

var left = regexp.MustCompile(`data-left="(\d+)" data-of="(\d+)"`)

// capLeft is how many seconds the job's page says the cap must be left alone.
func (l *laid) capLeft(id string) int {
	l.Helper()
	m := left.FindStringSubmatch(l.page("/jobs/" + id))
	if m == nil {
		l.Fatal("the page shows no wait for the cap")
	}
	n, _ := strconv.Atoi(m[1])
	return n
}

func TestTheCapIsCountedFromTheServersSecondsAndInDoubtLonger(t *testing.T) {
	now := time.Now()
	l := lay(t, func(c *web.Config) { c.Now = func() time.Time { return now } })
	id := l.job(hotCar)
	l.must("POST", "/api/jobs/"+id+"/cool", web.Cooling{Coolant: "98"}, nil) // the shop's unit
	first := l.capLeft(id)
	if first < 20*60 {
		t.Errorf("an engine at 98 °C: %d s", first)
	}
	now = now.Add(10 * time.Minute)
	if got := l.capLeft(id); got != first-600 {
		t.Errorf("after ten minutes %d s are left of %d", got, first)
	}
	l.must("POST", "/api/jobs/"+id+"/cool", web.Cooling{Coolant: "70 °C"}, nil)
	if got := l.capLeft(id); got != first-600 {
		t.Errorf("a second, shorter wait: %d s are left, want the longer %d", got, first-600)
	}
	if page := l.page("/jobs/" + id); !strings.Contains(page, "The hand on the upper hose decides") {
		t.Error("the page does not say that the hand on the hose decides")
	}
	script, err := os.ReadFile("assets/cap.js")
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(string(script), "Date") {
		t.Error("the countdown asks the device what time it is")
	}
}

func TestStartingTheWaitThrowsNoAnswerAway(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	var before, after struct{ Seq int64 }
	l.must("GET", "/api/jobs/"+id+"/next", nil, &before)
	l.must("POST", "/api/jobs/"+id+"/cool", web.Cooling{Coolant: "98 °C"}, nil)
	l.must("GET", fmt.Sprintf("/api/jobs/%s/next?seq=%d", id, before.Seq+1), nil, &after)
	if after.Seq != before.Seq {
		t.Errorf("the answer was made again: %d, then %d", before.Seq, after.Seq)
	}
	if page := l.page("/jobs/" + id); strings.Contains(page, `class="strip rough`) {
		t.Error("the page calls the answer old")
	}
}
