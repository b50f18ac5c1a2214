package check_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
)

// TestABoundOfAReadingIsATailOfItsSpread: "below" and "above" the same number
// are all there is, and "about" is flatter than the number itself.
func TestABoundOfAReadingIsATailOfItsSpread(t *testing.T) {
	c := builtin(t)
	k := c.Check("cap-pressure")
	m := &k.Readings[k.ReadingIndex("held")] // mean 0.98, spread hypot(0.04, 0.06), by the catalogue
	healthy := &check.Subject{Causes: []cause.Present{{Cause: c.Causes().NoFault(), Site: cause.NoSite}}}
	for _, x := range []float64{0.2, 0.9, 0.98, 1.1, 1.4} {
		below := math.Exp(m.LogBounded(healthy, x, check.Below, c.About.Value))
		above := math.Exp(m.LogBounded(healthy, x, check.Above, c.About.Value))
		if math.Abs(below+above-1) > 1e-9 {
			t.Errorf("at %g: below %g and above %g make %g", x, below, above, below+above)
		}
	}
	if p := math.Exp(m.LogBounded(healthy, 0.98, check.Below, c.About.Value)); math.Abs(p-0.495-0.01*0.98/1.5) > 1e-9 {
		t.Errorf("below its mean: %g, want half of 0.99 and the blunder's share", p)
	}
	exact, about := m.LogBounded(healthy, 0.98, check.Exact, 1.5), m.LogBounded(healthy, 0.98, check.About, 1.5)
	if exact != m.LogLikelihood(healthy, 0.98) || about >= exact {
		t.Errorf("at the mean exact %g, about %g: about is flatter", exact, about)
	}
	far, farAbout := m.LogBounded(healthy, 0.75, check.Exact, 1.5), m.LogBounded(healthy, 0.75, check.About, 1.5)
	if farAbout <= far {
		t.Errorf("away from the mean exact %g, about %g: about forgives more", far, farAbout)
	}
}

// TestTheStateOfTheEngineChoosesWhatIsReadFrom: a hose after switching off is
// read from the heat soak, a clutch turned cold from nothing.
func TestTheStateOfTheEngineChoosesWhatIsReadFrom(t *testing.T) {
	c := builtin(t)
	for _, test := range []struct {
		check, state string
		airCon       bool
		situation    string // "own": the check's; "": the catalogue does not know
	}{
		{"hose-temps", "", false, "own"},
		{"hose-temps", "hot-idle", false, "own"},
		{"hose-temps", "hot-off", false, "heat-soak"},
		{"hose-temps", "fast-idle", false, "fast-idle"},
		{"hose-temps", "hot-idle", true, "hot-idle-ac"},
		{"hose-temps", "cold", false, ""},
		{"heater-output", "fast-idle", false, "fast-idle"},
		{"heater-output", "road", false, "motorway"},
		{"radiator-drop", "fast-idle", false, "own"},
		{"clutch-spin", "hot-off", false, "own"},
		{"clutch-spin", "cold", false, ""},
		{"shroud-look", "hot-off", false, "own"},
		{"hose-squeeze", "hot-idle", false, ""},
		{"trouble-codes", "road", false, "own"},
	} {
		k := c.Check(test.check)
		got := k.In(test.state, test.airCon)
		if (got == nil) != (test.situation == "") {
			t.Errorf("%s %q: %v", test.check, test.state, got)
			continue
		}
		if got == nil {
			continue
		}
		if (got == k) != (test.situation == "own") {
			t.Errorf("%s %q: own %v, want %s", test.check, test.state, got == k, test.situation)
			continue
		}
		if test.situation == "own" {
			continue
		}
		for _, s := range circuit.Situations() {
			if got.Situations().Has(s) != (s.String() == test.situation) {
				t.Errorf("%s %q: read from %s %v, want %s", test.check, test.state, s, got.Situations().Has(s), test.situation)
			}
		}
	}
}

// TestEveryDetailTellsSomething: some cause makes it at least half as likely again
// to be heard, and nobody is asked to believe what is as likely without.
func TestEveryDetailTellsSomething(t *testing.T) {
	c := builtin(t)
	told := func(so float64, said, mistaken float64) float64 { return check.Said.Probability(so, said, mistaken) }
	for i := range c.Signs {
		g := &c.Signs[i]
		if !g.Detail {
			continue
		}
		low, high := math.Inf(1), 0.0
		for _, f := range everyFault(c) {
			p := told(g.So(&check.Subject{Causes: []cause.Present{f}}), g.Said.Value, g.Mistaken.Value)
			low, high = math.Min(low, p), math.Max(high, p)
		}
		if high < 1.5*low {
			t.Errorf("%s: heard on %.3f to %.3f of cars, whatever the fault", g.ID, low, high)
		}
	}
}

// everyFault is each cause with each of its sites and states, at half severity.
func everyFault(c *check.Checklist) []cause.Present {
	var out []cause.Present
	causes := c.Causes()
	for i := range causes.Causes {
		k := &causes.Causes[i]
		if k.Anything {
			continue
		}
		for site := range max(1, len(k.Sites)) {
			for state := range func() int {
				if len(k.Hidden) > 0 {
					return len(k.Hidden[0].States)
				}
				return 1
			}() {
				p := cause.Present{Cause: i, Site: cause.NoSite, Severity: 0.5}
				if len(k.Sites) > 0 {
					p.Site = site
				}
				p.Hidden[0] = state
				out = append(out, p)
			}
		}
	}
	return out
}

func TestACarThatCannotHaveACauseSaysSo(t *testing.T) {
	c := builtin(t)
	belt, _ := c.CarOdds(check.Described{Words: map[string]string{"fan": "belt"}})
	for _, id := range []string{"fan-clutch-slipping", "fan-dead"} {
		if odds, ok := belt[id]; !ok || odds != 0 {
			t.Errorf("a fan without a clutch: %s has odds %g, %v", id, odds, ok)
		}
	}
	for kind, can := range map[string]bool{"plain": false, "map-controlled": false, "none": false, "rated": false, "motor-valve": true} {
		causes, _ := c.CarOdds(check.Described{Words: map[string]string{"thermostat": kind}})
		odds, said := causes["control-valve"]
		if !said || odds > 1 != can {
			t.Errorf("a car whose thermostat is %q: a control valve's odds are %g, %v", kind, odds, said)
		}
	}
	if odds, states := c.CarOdds(check.Described{}); odds != nil || states != nil {
		t.Errorf("nothing is said of the car, and the odds are %v", odds)
	}
	if young, _ := c.CarOdds(check.Described{MileageKm: 4300}); young["jacket-silted"] >= 1 {
		t.Errorf("a nearly new car: jacket-silted has odds %g", young["jacket-silted"])
	}
}

func TestWhatACarIsTellsWhatTurnsItsFan(t *testing.T) {
	c := builtin(t)
	for name, test := range map[string]struct {
		car       check.Described
		low, high float64
	}{
		"a tractor":        {check.Described{Words: map[string]string{"kind": "tractor"}, Year: 2015}, 0.9, 1},
		"an old car":       {check.Described{Year: 1955}, 0.9, 1},
		"an old pickup":    {check.Described{Words: map[string]string{"kind": "pickup"}, Year: 1980}, 0.9, 1},
		"one in between":   {check.Described{Year: 1985}, 0.2, 0.6},
		"a younger pickup": {check.Described{Words: map[string]string{"kind": "pickup"}, Year: 2012}, 0.3, 0.6},
	} {
		if share, known := c.EngineFan(test.car); !known || share < test.low || share > test.high {
			t.Errorf("%s: the engine turns the fan with probability %g, %v; want %g to %g", name, share, known, test.low, test.high)
		}
	}
	if share, known := c.EngineFan(check.Described{Year: 2010}); known {
		t.Errorf("a car of 2010: %g, want what the table of numbers says", share)
	}
}

func TestARowOfCarsIsChecked(t *testing.T) {
	for row, want := range map[string]string{
		`{pump: electric, cause: pump-weak@impeler, odds: 0.1, source: judgement}`: "impeller", // the nearest state
		`{pump: electric, cause: pump-feeble, odds: 0.1, source: judgement}`:       "pump-feeble",
		`{cause: pump-weak@impeller, odds: 0.1, source: judgement}`:                "say which cars",
	} {
		if _, err := builtin(t).Overlay(strings.NewReader("cars:\n  - "+row+"\n"), "shop.yaml"); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want it to name %q", row, err, want)
		}
	}
}

func TestARowOfEngineFansIsChecked(t *testing.T) {
	for row, want := range map[string]string{
		`{kind: tractor, share: 1.2, source: judgement}`: "share",
		`{share: 0.5, source: judgement}`:                "say which cars",
	} {
		if _, err := builtin(t).Overlay(strings.NewReader("engine-fans:\n  - "+row+"\n"), "shop.yaml"); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want it to name %q", row, err, want)
		}
	}
}

func TestNumbersThatOwnersTellStandForSigns(t *testing.T) {
	c := builtin(t)
	for _, test := range []struct {
		celsius float64
		sign    string
	}{{40, "needle-low"}, {90, "needle-usual"}, {110, "needle-high"}, {127, "needle-red"}} { // 260 °F is 127 °C
		if b := c.OnScale("needle", test.celsius, nil); b == nil || b.Sign != test.sign {
			t.Errorf("%g °C: %+v, want %s", test.celsius, b, test.sign)
		}
	}
	if i := c.SignOfWord("since", "last-work"); i < 0 || c.Signs[i].ID != "since-work" {
		t.Errorf("since the last work: sign %d", i)
	}
	if !slices.Contains(c.CarOddsKeys(), "fan") {
		t.Error("the kind of fan changes no odds")
	}
}

// TestADetailSpeaksForTheCauseItIsTypicalOf: each of these is likelier on an engine with the
// fault than on a sound one, and none of them rules a cause out.
func TestADetailSpeaksForTheCauseItIsTypicalOf(t *testing.T) {
	c := builtin(t)
	so := func(sign, id, site, state string) float64 {
		i := c.Causes().Index(id)
		p := cause.Present{Cause: i, Site: cause.NoSite, Severity: 0.5}
		k := &c.Causes().Causes[i]
		if site != "" {
			p.Site = k.SiteIndex(site)
		}
		for h := range k.Hidden {
			for s := range k.Hidden[h].States {
				if k.Hidden[h].States[s].Is == state {
					p.Hidden[h] = s
				}
			}
		}
		return c.Signs[c.SignIndex(sign)].So(&check.Subject{Causes: []cause.Present{p}})
	}
	for _, test := range []struct{ sign, cause, site, state string }{
		{"fan-seized", "fan-dead", "", "motor"},
		{"fan-seized", "shroud-missing", "", ""},
		{"fan-relay-clicks", "fan-dead", "", "fuse"},
		{"fan-relay-clicks", "fan-dead", "", "motor"},
		{"pump-stiff", "belt-slipping", "", ""},
		{"pump-stiff", "coolant-low", "pump-seal", ""},
		{"pump-has-play", "pump-weak", "", "impeller"},
		{"takes-less-coolant", "jacket-silted", "", ""},
		{"takes-less-coolant", "air-pocket", "", ""},
		{"thermostat-opens-half", "thermostat-shut", "", ""},
		{"thermostat-opens-half", "thermostat-late", "", "opens-late"},
	} {
		sound, with := so(test.sign, "no-fault", "", ""), so(test.sign, test.cause, test.site, test.state)
		if !(with > 1.3*sound) || !(sound > 0) || !(with < 1) {
			t.Errorf("%s: %.3f with %s, %.3f on a sound engine", test.sign, with, test.cause, sound)
		}
	}
	if with, without := so("fan-relay-clicks", "fan-dead", "", "command"), so("fan-relay-clicks", "fan-dead", "", "motor"); !(with < without/10) {
		t.Errorf("a relay that nobody calls clicks in %.3f, one whose motor is dead in %.3f", with, without)
	}
}

// Uphill a coach is slow, so that its fan counts; a car is not.
func TestAClimbIsSlowForWhatIsHeavy(t *testing.T) {
	c := builtin(t)
	for kind, want := range map[string]string{"bus": "slow-climb", "tractor": "slow-climb", "car": "climb", "": "climb"} {
		if got := c.Meant(check.Described{Words: map[string]string{"kind": kind}}, "climb"); got != want {
			t.Errorf("%q on a climb: %s, want %s", kind, got, want)
		}
	}
	if got := c.Meant(check.Described{Words: map[string]string{"kind": "bus"}}, "idle"); got != "idle" {
		t.Errorf("a bus that idles: %s", got)
	}
}

// A way driven since some work is divided by what a car goes in a day.
func TestAMeanThatIsDividedByIsAboveZero(t *testing.T) {
	for _, key := range []string{"road-speed", "road-a-day"} {
		_, err := builtin(t).Overlay(strings.NewReader(key+": {value: 0, source: ours}\n"), "shop.yaml")
		if err == nil || !strings.Contains(err.Error(), key) || !strings.Contains(err.Error(), "above 0") {
			t.Errorf("%s: 0: %v", key, err)
		}
	}
}

// TestARareSignIsSeldomInvented: whoever errs names one of hundreds of signs, so one that
// hardly anybody speaks of says much, also from the owner's mouth.
func TestARareSignIsSeldomInvented(t *testing.T) {
	c := builtin(t)
	invents := func(sign, who string) float64 {
		return c.Invents(&c.Signs[c.SignIndex(sign)], c.WhoseWord(who).Slip.Value)
	}
	for _, sign := range []string{"hot-air-in-front", "needle-high", "fan-rough"} {
		here, owner, seller := invents(sign, "here"), invents(sign, "owner"), invents(sign, "seller")
		if !(0 < here && here < owner && owner < seller && seller <= 0.5) {
			t.Errorf("%s is invented here by %.3f, by the owner %.3f, by the seller %.3f", sign, here, owner, seller)
		}
	}
	if rare, common := invents("hot-air-in-front", "owner"), invents("getting-worse", "owner"); rare > common/5 {
		t.Errorf("hot air in front is invented by %.3f of owners, \"getting worse\" by %.3f", rare, common)
	}
	// Whoever looked for it and denies it is the rest.
	so, slip, made := 0.7, 0.06, 0.012
	if said, denied := check.Seen(check.Said, so, slip, made), check.Seen(check.Denied, so, slip, made); math.Abs(said+denied-1) > 1e-12 {
		t.Errorf("said %.3f and denied %.3f do not make 1", said, denied)
	}
}

// A scale that could never count is refused, with what to write instead.
func TestAScaleThatCouldNeverCountIsRefused(t *testing.T) {
	const ends = ", bands: [{sign: thermometer-normal, source: t}]}\n"
	for scale, want := range map[string]string{
		"{id: needel" + ends: `did you mean "needle"`,
		"{id: second-thermometer.temperature, of: hot" + ends:                                                    "no check has the reading",
		"{id: gauge.thermometer, of: hot" + ends:                                                                 "no check has the reading",
		"{id: needle, when: always" + ends:                                                                       "they are for what a check reads",
		"{id: second-thermometer.thermometer, of: warm" + ends:                                                   `unknown word "warm"`,
		"{id: second-thermometer.thermometer, when: alwys" + ends:                                                `did you mean "always"`,
		"{id: second-thermometer.thermometer, bands: [{when: long-drive, sign: thermometer-normal, source: t}]}": "stands for a sign alone",
	} {
		_, err := builtin(t).Overlay(strings.NewReader("scales:\n  - "+scale), "shop.yaml")
		if err == nil || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), "shop.yaml:2") {
			t.Errorf("%s: %v, want shop.yaml:2 and %q", scale, err, want)
		}
	}
}
