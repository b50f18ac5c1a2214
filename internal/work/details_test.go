package work_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"weephole/cause"
	"weephole/check"
	"weephole/internal/work"
	"weephole/lineup"
)

// prepared is what a job, written as a text, asks the lineup.
func prepared(t *testing.T, m *lineup.Model, text string) *work.Work {
	t.Helper()
	w, err := work.Open(t.Context(), m, strings.NewReader("weephole: 1\n"+text), "details.yaml", work.OpenOptions{})
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// chance is the probability of a cause by a lineup of so many candidates.
func chance(t *testing.T, w *work.Work, m *lineup.Model, cause string, candidates int) float64 {
	t.Helper()
	l, err := w.LineupOf(t.Context(), candidates)
	if err != nil {
		t.Fatal(err)
	}
	return l.Probabilities()[m.Causes.Index(cause)]
}

// A stamped rating makes a motor-driven valve improbable. Only what is said outright
// rules it out.
func TestAThermostatWithAStampedRatingIsHardlyAMotorDrivenValve(t *testing.T) {
	m := model(t)
	for text, want := range map[string]struct{ low, high float64 }{
		"vehicle: {thermostat: {rating: 82 °C}}\n":                    {0.01, 0.1},
		"vehicle: {year: 1988}\n":                                     {0.01, 0.1},
		"vehicle: {thermostat: {kind: plain}}\n":                      {0, 0},
		"vehicle: {thermostat: {rating: 95 °C, kind: motor-valve}}\n": {5, 30},
		"vehicle: {thermostat: {sits: outlet}}\n":                     {1, 1},
	} {
		odds, said := prepared(t, m, text).Case.Odds["control-valve"]
		if !said {
			odds = 1
		}
		if odds < want.low || odds > want.high {
			t.Errorf("%q: a control valve's odds are %g, want %g to %g", text, odds, want.low, want.high)
		}
	}
}

// An electric pump that hardly moves the coolant has no belt-driven impeller in most cars, a fan
// clutch that a coil pulls in loses no fluid: what the car is says which form a fault can have.
func TestTheCarTellsWhichFormAFaultHas(t *testing.T) {
	for _, c := range []struct {
		vehicle, state string
		low, high      float64 // factor on its share
	}{
		{"pump: electric", "pump-weak.impeller", 0, 0.1},
		{"pump: electric", "pump-weak.electric", 1, 1},
		{"pump: belt", "pump-weak.electric", 0, 0},
		{"fan: {kind: electric-clutch}", "fan-clutch-slipping.fluid-lost", 0, 0.1},
		{"fan: {kind: viscous}", "fan-clutch-slipping.clutch-control", 1, 1},
		{"thermostat: {kind: plain}", "thermostat-late.map-heater", 0, 0},
		{"thermostat: {kind: map-controlled}", "thermostat-late.map-heater", 4, 12},
		{"year: 1960", "pump-weak.switchable", 0, 0.1},
	} {
		got, said := prepared(t, model(t), "vehicle: {"+c.vehicle+"}\n").Case.States[c.state]
		if !said {
			got = 1
		}
		if got < c.low || got > c.high {
			t.Errorf("%s: %s counts %g times its share, want %g to %g", c.vehicle, c.state, got, c.low, c.high)
		}
	}
	// Work does not bring a part into a car that has none.
	if f := prepared(t, model(t), "vehicle: {thermostat: {kind: plain}}\nrecent-work: [{what: thermostat, when: last week}]\n").Case.States["thermostat-late.map-heater"]; f != 0 {
		t.Errorf("a new plain thermostat has a dead heater %g times as often as its share", f)
	}
}

// A fan circuit's code speaks for a clutch that a coil pulls in; of the relay and motor of an
// electric fan such a car has none.
func TestAFanCodeOnACarWithAControlledClutch(t *testing.T) {
	odds := func(kind string) float64 {
		w, err := work.Open(t.Context(), model(t), strings.NewReader("weephole: 1\nvehicle: {fan: {kind: "+kind+"}}\ncomplaint: {signs: [overheats]}\nfindings: [{check: trouble-codes, found: fan}]\n"), "x.yaml", work.OpenOptions{Lineup: lineup.DrawOptions{Candidates: 3000, Seed: 1}})
		if err != nil {
			t.Fatal(err)
		}
		l, err := w.Lineup(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		for _, o := range l.Odds().Causes {
			if o.Cause == "fan-clutch-slipping" {
				return o.Probability
			}
		}
		return 0
	}
	clutch, viscous := odds("electric-clutch"), odds("viscous")
	if clutch < 0.8 || viscous > clutch {
		t.Errorf("after a fan code a slipping clutch has %.2f with a coil and %.2f with a bimetal", clutch, viscous)
	}
}

// A thermostat that was fitted last week and opens wrong is seldom worn: it has another
// number on it.
func TestNewWorkTellsWhichFormAFaultHas(t *testing.T) {
	m := model(t)
	fresh := prepared(t, m, "recent-work: [{what: thermostat, when: last week}]\n").Case.States["thermostat-late.rated-low"]
	old := prepared(t, m, "recent-work: [{what: thermostat, when: 3 years ago}]\n").Case.States["thermostat-late.rated-low"]
	if fresh < 4 || old > 1.5 || old < 1 {
		t.Errorf("a week after the work the odds of too low a rating are %.2f times as high, after three years %.2f", fresh, old)
	}
	late := func(text string) float64 {
		w, err := work.Open(t.Context(), m, strings.NewReader("weephole: 1\ncomplaint: {signs: [runs-cold]}\n"+text), "x.yaml", work.OpenOptions{Lineup: lineup.DrawOptions{Candidates: 3000, Seed: 1}})
		if err != nil {
			t.Fatal(err)
		}
		l, err := w.Lineup(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		return l.Probabilities()[m.Causes.Index("thermostat-late")]
	}
	if before, after := late(""), late("recent-work: [{what: thermostat, when: last week}]\n"); after < 2*before {
		t.Errorf("a car that runs cold: a thermostat of the wrong temperature has %.3f, after one was fitted %.3f", before, after)
	}
}

func TestWhatTurnsTheFanIsGuessedOnlyWhereNobodySaidIt(t *testing.T) {
	m := model(t)
	for text, guessed := range map[string]bool{
		"vehicle: {kind: tractor}\n":                            true,
		"vehicle: {kind: tractor, fan: {kind: unknown}}\n":      true,
		"vehicle: {kind: tractor, fan: {kind: electric}}\n":     false,
		"vehicle: {kind: tractor, fan: {kind: none}}\n":         false,
		"vehicle: {year: 2010}\n":                               false,
		"vehicle: {year: 1960, fan: {kind: viscous}}\n":         false,
		"vehicle: {year: 1960, fan: {on: 95 °C, off: 90 °C}}\n": true,
	} {
		if share := prepared(t, m, text).Case.Vehicle.EngineFan; (share != nil) != guessed {
			t.Errorf("%q: guessed is %v, want %v", text, share != nil, guessed)
		}
	}
}

// TestWhatIsToldReachesTheLineup: every way of telling a thing ends as a sign, a
// condition, a factor or an event.
func TestWhatIsToldReachesTheLineup(t *testing.T) {
	m := model(t)
	w := prepared(t, m, `
vehicle: {fan: {kind: belt}}
complaint: {signs: [overheats], denied: [white-smoke], when: [frost], fine: [hot-weather], needle: 260 °F, after: 40 miles,
  since: last-work, topped-up: {every: weekly, with: water, changed: cured}}
recent-work: [{what: [engine, coolant]}]
`)
	for id, want := range map[string]check.Heard{
		"overheats": check.Said, "white-smoke": check.Denied, "steam": check.Silent, "needle-red": check.Said,
		"since-work": check.Said, "tops-up-often": check.Said, "plain-water": check.Said, "topping-up-helps": check.Said,
	} {
		if got := w.Case.Complaint.Signs[m.Checks.SignIndex(id)]; got != want {
			t.Errorf("sign %s: heard %d, want %d", id, got, want)
		}
	}
	for id, want := range map[string]check.Heard{"frost": check.Said, "hot-weather": check.Denied, "long-drive": check.Said, "first-miles": check.Silent} {
		if got := w.Case.Complaint.Conditions[m.Checks.ConditionIndex(id)]; got != want {
			t.Errorf("condition %s: heard %d, want %d", id, got, want)
		}
	}
	if frost, _ := m.Checks.WeatherC("frost"); w.Case.OnTheRoad.AmbientC != frost {
		t.Errorf("the road is at %g °C, frost is %g", w.Case.OnTheRoad.AmbientC, frost)
	}
	if odds, ok := w.Case.Odds["fan-clutch-slipping"]; !ok || odds != 0 {
		t.Errorf("a fan without a clutch has one that slips, odds %g", odds)
	}
	if !slices.Equal(works(w), []string{"engine", "coolant"}) || !w.Case.LostCoolant {
		t.Errorf("work %v, lost coolant %v", w.Case.Work, w.Case.LostCoolant)
	}
}

func works(w *work.Work) (list []string) {
	for _, d := range w.Case.Work {
		list = append(list, d.Work)
	}
	return list
}

// TestOneJobInBothListsCountsOnce: recent work that stands among the repairs
// tried is the same job, unless it is said that it was done twice.
func TestOneJobInBothListsCountsOnce(t *testing.T) {
	m := model(t)
	const once = "recent-work: [{what: [thermostat, hose]}]\nfindings: [{repair: replace-thermostat, changed: nothing}]\n"
	if w := prepared(t, m, once); !slices.Equal(works(w), []string{"hose"}) {
		t.Errorf("work %v, want the hose alone", w.Case.Work)
	}
	if w := prepared(t, m, strings.Replace(once, "changed:", "again: yes, changed:", 1)); !slices.Equal(works(w), []string{"thermostat", "hose"}) {
		t.Errorf("work %v, want both: the thermostat was done twice", w.Case.Work)
	}
}

// TestFindingsThatSayNothingAreKeptAndNamed: nothing is weighed that the
// catalogue knows nothing of, and the reader is told.
func TestFindingsThatSayNothingAreKeptAndNamed(t *testing.T) {
	m := model(t)
	w := prepared(t, m, `
findings:
  - {note: "a remark, kept"}
  - {check: clutch-spin, engine: cold, found: spins}
  - {check: fan-run, air-con: no, found: still}
  - {check: unknown, found: low}
  - {repair: unknown, changed: nothing}
  - {check: trouble-codes, found: [P1299]}
  - {check: clutch-spin, engine: hot-off, found: spins}
  - {sign: puddle, by: seller}
  - {denied: wet-in-cabin}
  - {check: trouble-codes, found: [P0128 pending, P0480]}
  - {check: hose-temps, engine: hot-off, read: {upper-hose: less than 60 °C}}
  - {repair: [replace-thermostat, replace-radiator], changed: nothing}
  - {repair: replace-pump, changed: cured, back-after: two weeks}
`)
	var unweighed []int
	for _, u := range w.Unweighed {
		unweighed = append(unweighed, u.Finding)
	}
	if want := []int{0, 1, 2, 3, 4, 5}; !slices.Equal(unweighed, want) {
		t.Errorf("unweighed %v, want %v: %v", unweighed, want, w.Unweighed)
	}
	var got []string
	for i, ev := range w.Case.Events {
		got = append(got, ev.Check+ev.Repair+ev.Sign+" "+ev.Word)
		if w.FindingOf[i] < 6 {
			t.Errorf("event %d is of finding %d", i, w.FindingOf[i])
		}
	}
	want := []string{"clutch-spin spins", "puddle ", "wet-in-cabin ", "trouble-codes fan", "trouble-codes thermostat", "hose-temps ",
		"replace-thermostat ", "replace-radiator ", "replace-pump "}
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		t.Errorf("events %q, want %q", got, want)
	}
	for _, ev := range w.Case.Events {
		switch {
		case ev.Sign == "puddle" && ev.Slip != m.Checks.WhoseWord("seller").Slip.Value:
			t.Errorf("the seller errs with probability %g", ev.Slip)
		case ev.Sign == "wet-in-cabin" && !ev.Denied:
			t.Error("a denied sign is said")
		case ev.Word == "thermostat" && *ev.Weight != m.Checks.Pending.Value:
			t.Errorf("a pending code weighs %g", *ev.Weight)
		case ev.Check == "hose-temps" && (ev.State != "hot-off" || ev.Readings[0].Bound != check.Below):
			t.Errorf("a hose after switching off: %+v", ev)
		case ev.Repair == "replace-thermostat" && !ev.Unknown, ev.Repair == "replace-radiator" && (ev.Unknown || !ev.Joint):
			t.Errorf("a visit is judged when all of it is done: %+v", ev)
		case ev.Repair == "replace-pump" && ev.Changed != cause.CameBack:
			t.Errorf("a pump that helped for two weeks: %s", ev.Changed)
		}
	}
}

// TestWorkThatIsNoRepairMayBeToldAsOne: a belt tensioned without effect speaks against a
// slipping belt, less than a new one would, and has no sheet of its own.
func TestWorkThatIsNoRepairMayBeToldAsOne(t *testing.T) {
	m := model(t)
	const complaint = "complaint: {signs: [overheats]}\n"
	w := prepared(t, m, complaint+"recent-work: [{what: belt-tension}]\nfindings: [{repair: belt-tension, changed: nothing}, {repair: other, changed: nothing}]\n")
	if n := len(w.Case.Events); n != 2 || len(w.Unweighed) != 0 || len(w.Case.Work) != 0 {
		t.Fatalf("%d events, unweighed %v, recent work %v: told twice it is one job", n, w.Unweighed, w.Case.Work)
	}
	if sheets, err := w.Sheets(nil); err != nil || len(sheets) != 0 {
		t.Errorf("%d sheets, %v", len(sheets), err)
	}
	slips := func(findings string) float64 {
		return chance(t, opened(t, complaint+findings), m, "belt-slipping", 1500)
	}
	before := slips("")
	tensioned, renewed := slips("findings: [{repair: belt-tension, changed: nothing}]\n"), slips("findings: [{repair: replace-belt, changed: nothing}]\n")
	if !(renewed < tensioned && tensioned < before) {
		t.Errorf("a slipping belt: %.4f before, %.4f after it was tensioned without effect, %.4f after a new one", before, tensioned, renewed)
	}
}

// A needle that always stands in the red, and a thermometer that says 82 degrees: then the
// needle is wrong (common practice, no source; the bounds are judgement). Where the trouble is
// there at times only, or something was repaired between, the reading speaks for itself alone.
func TestAThermometerUnderANeedleAlwaysInTheRedSpeaksOfTheNeedle(t *testing.T) {
	m := model(t)
	const needle = "complaint: {signs: [overheats, needle-red], when: [%s]}\nfindings:\n%s  - {check: second-thermometer, read: {thermometer: %s}}\n"
	for _, c := range []struct {
		when, between, reads string
		beside               bool
	}{
		{"always", "", "180 °F", true},
		{"idle", "", "180 °F", false},
		{"always", "", "111 °C", false},
		{"always", "", "above 90 °C", false},
		{"always", "  - {repair: replace-thermostat, changed: nothing}\n", "180 °F", false},
	} {
		events := prepared(t, m, fmt.Sprintf(needle, c.when, c.between, c.reads)).Case.Events
		got := slices.ContainsFunc(events, func(e lineup.Event) bool { return e.Sign == "thermometer-normal" && !e.Denied })
		if got != c.beside {
			t.Errorf("%+v: the sign stands beside it: %v", c, got)
		}
	}
}

// Two minutes after a start no engine can be hot. The time told says so by itself, and speaks
// of the reading.
func TestHotWithinTwoMinutesSpeaksOfTheReading(t *testing.T) {
	m := model(t)
	for after, want := range map[string]string{"2 min": "at-once", "10 min": "first-miles", "1 km": "at-once", "45 min": "long-drive", "20 min": ""} {
		w := prepared(t, m, "complaint: {signs: [needle-red], after: "+after+"}\n")
		for _, id := range []string{"at-once", "first-miles", "long-drive"} {
			if got, want := w.Case.Complaint.Conditions[m.Checks.ConditionIndex(id)] == check.Said, id == want; got != want {
				t.Errorf("after %s: %s is said: %v, want %v", after, id, got, want)
			}
		}
	}
	gauge := func(after string) float64 {
		w := prepared(t, m, "complaint: {signs: [needle-red], when: [cold-start], after: "+after+"}\nfindings: [{check: level-cold, found: full}]\n")
		return chance(t, w, m, "gauge-fault", 1500)
	}
	if soon, later := gauge("2 min"), gauge("20 min"); soon < 2*later {
		t.Errorf("a gauge's fault has %.3f where it is hot after 2 minutes and %.3f after 20", soon, later)
	}
}

// Who fills a leaking system and then looks finds it fuller than it came. The same finding
// speaks less for the leak after the filling than before it.
func TestALeakThatWasFilledIsFullerAtTheNextCheck(t *testing.T) {
	m := model(t)
	const hose = "  - {check: hose-temps, engine: hot-idle, found: cold-beyond}\n"
	const fill = "  - {repair: bleed-and-refill, changed: nothing}\n"
	leak := func(findings string) float64 {
		return chance(t, prepared(t, m, "complaint: {signs: [overheats, no-heat]}\nfindings:\n"+findings), m, "coolant-low", 3000)
	}
	if before, after := leak(hose+fill), leak(fill+hose); after > 0.8*before {
		t.Errorf("a leak has %.3f where the hoses were cold before the filling and %.3f where they were after it", before, after)
	}
}
