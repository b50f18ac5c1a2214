package web_test

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"weephole/internal/web"
)

func TestAReadingInTheWrongUnitIsAskedAbout(t *testing.T) {
	l := lay(t)
	id := l.job(strings.Replace(hotCar, `"units":"metric"`, `"units":"us"`, 1))
	l.must("GET", "/api/jobs/"+id+"/expected", nil, nil) // what a healthy engine reads is known by now
	asked := func(finding string) web.Doubts {
		var d web.Doubts
		l.must("POST", "/api/jobs/"+id+"/doubts", finding, &d)
		return d
	}
	d := asked(`{"check":"second-thermometer","read":{"outlet":"96 °F"}}`)
	if len(d.Doubts) == 0 {
		d = asked(`{"check":"hose-temps","read":{"upper-hose":"96 °F"}}`)
	}
	if len(d.Doubts) != 1 || d.Doubts[0].Instead != "96 °C" || d.Doubts[0].Number != "96" || d.Doubts[0].Unit != "°C" || !strings.Contains(d.Doubts[0].Asks, "96 °F") {
		t.Errorf("96 °F on a hot engine: %+v", d.Doubts)
	}
	for _, fine := range []string{`{"check":"hose-temps","read":{"upper-hose":"205 °F"}}`, `{"check":"hose-temps","read":{"upper-hose":"120 °F"}}`, `{"check":"level-cold","found":"low"}`, `{"check":"hose-temps","read":{"upper-hose":"much"}}`} {
		if d := asked(fine); len(d.Doubts) != 0 {
			t.Errorf("%s is asked about: %+v", fine, d.Doubts)
		}
	}
	if n := len(l.entries(id)); n != 1 {
		t.Errorf("asking kept something: %d entries", n)
	}
}

func TestALogIsRecognisedAndLookedAtClosely(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	l.must("POST", "/api/jobs/"+id+"/files?name=run.csv", []byte(warmUp()), nil)
	l.must("POST", "/api/jobs/"+id+"/files?name=other.csv", []byte(warmUp()), nil)
	var log web.LogReply
	l.must("GET", "/api/jobs/"+id+"/files/run.csv/log", nil, &log)
	if log.Check != "warm-up-log" || log.Says == "" {
		t.Errorf("a warm-up from 20 °C: %+v", log)
	}
	page := l.page("/jobs/" + id + "/logs/run.csv")
	for _, must := range []string{"Middle, closer", "Read off", `data-points="0.00,`, "other.csv"} {
		if !strings.Contains(page, must) {
			t.Errorf("the log's page has no %q", must)
		}
	}
	closer := l.page("/jobs/" + id + "/logs/run.csv?from=2&to=4")
	if !strings.Contains(closer, `data-from="2.0" data-to="4.0"`) || !strings.Contains(closer, "The whole log") {
		t.Error("a stretch of the log is not shown")
	}
	if both := l.page("/jobs/" + id + "/logs/run.csv?with=other.csv"); !strings.Contains(both, "The dashed line is other.csv") {
		t.Error("two logs are not laid over each other")
	}
	if status := l.ask("GET", "/jobs/"+id+"/logs/none.csv", nil, nil); status != http.StatusNotFound {
		t.Errorf("a log that is not there: %d", status)
	}
}

func TestTheHistoryIsInWords(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	m := l.found(id, `{"check":"fan-run","found":"still"}`)
	l.must("PUT", "/api/jobs/"+id+"/findings/"+m.ID, `{"check":"fan-run","found":"runs"}`, nil)
	l.found(id, `{"repair":"replace-fan","changed":"cured"}`)
	page := l.page("/jobs/" + id + "/history")
	for _, must := range []string{": seemed to cure it", "it does not run", "it runs and draws air", "Before:", "Engine size: 1.8 L", "What the owner says: Gets hot in town"} {
		if !strings.Contains(page, must) {
			t.Errorf("the history does not say %q", must)
		}
	}
	for _, never := range []string{"fan-run", "combustion-leak", "vehicle.", `"found"`, "check:", "changed: cured", "Units: us", "Units: metric"} {
		if strings.Contains(page, never) {
			t.Errorf("the history says %q, which nobody would", never)
		}
	}
}

// Whoever stands at the bench has started no program: how that is done stands in the manual.
func TestNoPageOfTheShopShowsAFlag(t *testing.T) {
	l := lay(t)
	flag := regexp.MustCompile(`--(listen|overlay|passphrase|map|rate)|weephole tally`)
	for _, path := range []string{"/people", "/tally", "/settings"} {
		if bad := flag.FindString(l.page(path)); bad != "" {
			t.Errorf("%s shows %q", path, bad)
		}
	}
}

// A bench without people and without a passphrase lets nobody in by either.
func TestPeopleSaysOnlyOneThingOfHowOneComesIn(t *testing.T) {
	page := lay(t).page("/people")
	if !strings.Contains(page, "Nobody has a secret of his own yet.") {
		t.Error("it is not said that nobody has a secret")
	}
	for _, never := range []string{"All come in with the shop’s passphrase", "comes in with a secret of his own", "came in with the one before"} {
		if strings.Contains(page, never) {
			t.Errorf("the page says %q", never)
		}
	}
}

func TestAClosedJobTellsItsStory(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	l.found(id, `{"check":"fan-run","found":"still"}`)
	l.found(id, `{"repair":"replace-fan","changed":"cured","minutes":"95 min"}`)
	if strings.Contains(l.page("/jobs/"+id), "How it went") {
		t.Error("an open job tells how it went")
	}
	l.must("GET", "/api/jobs/"+id+"/next", nil, nil)
	closing := l.page("/jobs/" + id + "/closing")
	if !strings.Contains(closing, `<option value="fan-dead">`) || !strings.Contains(closing, "(what the repair is for)") || strings.Index(closing, "(what the repair is for)") < strings.Index(closing, `<option value="fan-dead">`) {
		t.Error("closing does not offer the cause that the repair is done for")
	}
	l.must("PATCH", "/api/jobs/"+id+"/closing", `{"cause":"fan-dead","showed":"brushes worn away","charged":"345","when":"3 June"}`, nil)
	l.must("POST", "/api/jobs/"+id+"/archive", nil, nil)
	page := l.page("/jobs/" + id)
	for _, must := range []string{"How it went", "Gets hot in town", "rushes worn away", "345", "3 June"} {
		if !strings.Contains(page, must) {
			t.Errorf("the closed job does not tell %q", must)
		}
	}
}

// What a job says at one moment is the same on every page of it.
func TestEveryPageOfAJobSaysTheSame(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	l.found(id, `{"check":"fan-run","found":"still"}`)
	l.must("GET", "/api/jobs/"+id+"/next", nil, nil)
	verdict := func(page string) string {
		_, rest, _ := strings.Cut(page, `<div class="verdict">`)
		verdict, _, _ := strings.Cut(rest, `<svg class="len"`)
		return verdict
	}
	want := verdict(l.page("/jobs/" + id))
	if !strings.Contains(want, "%") {
		t.Fatalf("no odds: %s", want)
	}
	for _, at := range []string{"plan", "repair", "proof", "letter", "closing"} {
		if got := verdict(l.page("/jobs/" + id + "/" + at)); got != want {
			t.Errorf("%s says\n%s\nthe job says\n%s", at, got, want)
		}
	}
	l.found(id, `{"repair":"replace-fan","changed":"cured"}`)
	job := l.page("/jobs/" + id)
	for _, never := range []string{"nothing is wrong", "Nothing is wrong", "nothing wrong"} {
		if strings.Contains(job, never) {
			t.Errorf("after the repair the job says %q before anything is proven", never)
		}
	}
}

func TestAVoiceNoteIsKeptAndPlayed(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	wav := append([]byte("RIFF\x24\x00\x00\x00WAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00\x40\x1f\x00\x00\x80\x3e\x00\x00\x02\x00\x10\x00data\x00\x00\x00\x00"), 0)
	l.must("POST", "/api/jobs/"+id+"/files?name="+url.QueryEscape("what I hear.wav"), wav, nil)
	if page := l.page("/jobs/" + id); !strings.Contains(page, "<audio controls") {
		t.Error("the voice note cannot be played")
	}
	if status := l.ask("POST", "/api/jobs/"+id+"/files?name=x.wav", []byte("not a sound"), nil); status != http.StatusUnprocessableEntity {
		t.Errorf("what is no sound: %d", status)
	}
}

// TestAPlaceTellsItsHistory looks at the sheet of a place: all that was entered there, by
// whom and when, and nothing of other places.
func TestAPlaceTellsItsHistory(t *testing.T) {
	l := lay(t)
	id := l.job(hotCar)
	first := l.found(id, `{"check":"hose-temps","read":{"upper-hose":"92 °C"}}`)
	l.found(id, `{"check":"fan-run","found":"still"}`)
	at := "/api/jobs/" + id + "/findings/" + first.ID
	l.must("PUT", at, `{"check":"hose-temps","read":{"upper-hose":"88 °C","lower-hose":"41 °C"}}`, nil, "Weephole-Seen", "3")
	l.must("DELETE", at+"?why=wrong+car", nil, nil, "Weephole-Seen", "4")
	for place, want := range map[string][]string{
		"upper-hose": {"Struck out", "wrong car", "Corrected", "88 °C", "Before: Hose temperatures at hot idle: upper hose, surface 92 °C", "Found", "92 °C"},
		"lower-hose": {"Struck out", "wrong car", "Corrected", "41 °C"}, "fan": {"Found", "does not run"}, "tank": nil,
	} {
		for _, path := range []string{"/jobs/" + id + "/places/" + place, "/jobs/" + id + "/places/" + place + "/history"} {
			_, history, there := strings.Cut(l.page(path), `class="at-place"`)
			if there != (want != nil) {
				t.Errorf("%s: a history: %t", path, there)
			}
			for _, says := range want { // the newest first
				_, after, ok := strings.Cut(history, says)
				if !ok {
					t.Fatalf("%s: no %q, or not in its place: %s", path, says, history)
				}
				history = after
			}
			if place == "fan" && strings.Contains(history, "Hose") {
				t.Errorf("%s tells of the hoses", path)
			}
		}
	}
}
