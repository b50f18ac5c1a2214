package say_test

import (
	"bufio"
	"flag"
	"hash/fnv"
	"os"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"

	"weephole/check"
	"weephole/internal/say"
	"weephole/sheet"
)

var show = flag.Bool("show", false, "list the phrases of the tuning half that are not understood")

var builtIn = sync.OnceValues(func() (*say.Lexicon, error) {
	checks, err := check.Default()
	if err != nil {
		return nil, err
	}
	return say.New(checks)
})

func lexicon(t testing.TB) *say.Lexicon {
	t.Helper()
	x, err := builtIn()
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// saying is one line of testdata/phrases.txt.
type saying struct {
	text   string
	right  []string
	tuning bool
}

func sayings(t testing.TB) (out []saying) {
	t.Helper()
	f, err := os.Open("testdata/phrases.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for s := bufio.NewScanner(f); s.Scan(); {
		line := s.Text()
		if line == "" || line[0] == '#' {
			continue
		}
		parts := strings.SplitN(line, " | ", 3)
		if len(parts) != 3 {
			t.Fatalf("line %q has not three parts", line)
		}
		h := fnv.New32a()
		h.Write([]byte(parts[2]))
		out = append(out, saying{text: parts[2], right: strings.Split(parts[1], ", "), tuning: h.Sum32()%2 == 0})
	}
	return out
}

// called is how phrases.txt calls an offer: with its word, and without.
func called(o *say.Offer) []string {
	kind, id := "", ""
	for _, k := range []struct{ kind, id string }{{"check", o.Check}, {"sign", o.Sign}, {"condition", o.Condition}, {"repair", o.Repair}, {"work", o.Work}, {"car", o.Car}} {
		if k.id != "" {
			kind, id = k.kind, k.id
		}
	}
	name := kind + ":" + id
	switch {
	case kind == "sign" && o.Found == "no":
		return []string{name + "=no"}
	case kind == "check" && o.Found != "":
		return []string{name, name + "=" + o.Found}
	}
	return []string{name}
}

func (s *saying) rightAmong(offers []say.Offer, n int) bool {
	for i := range offers[:min(n, len(offers))] {
		for _, name := range called(&offers[i]) {
			for _, r := range s.right {
				if r == name {
					return true
				}
			}
		}
	}
	return false
}

// TestPhrasesOfRealStoriesAreUnderstood: of phrases written from the facts of
// real cars' stories before any synonym was, 85 in a hundred have the right word
// among the first three offered. The synonyms were improved on one half of them,
// chosen by hash; the other half says how well that carries over.
func TestPhrasesOfRealStoriesAreUnderstood(t *testing.T) {
	x := lexicon(t)
	var n, first, three [2]int
	for _, s := range sayings(t) {
		half := 1
		if s.tuning {
			half = 0
		}
		offers := x.Read(s.text, "us").Offers
		n[half]++
		if s.rightAmong(offers, 1) {
			first[half]++
		}
		if s.rightAmong(offers, 3) {
			three[half]++
		} else if s.tuning && *show {
			var got []string
			for i := range offers[:min(3, len(offers))] {
				got = append(got, called(&offers[i])[len(called(&offers[i]))-1])
			}
			t.Logf("%-60q want %v, got %v", s.text, s.right, got)
		}
	}
	for half, name := range []string{"tuning", "held"} {
		t.Logf("%s half: %d phrases, first %.1f %%, among three %.1f %%", name, n[half],
			100*float64(first[half])/float64(n[half]), 100*float64(three[half])/float64(n[half]))
		if 100*three[half] < 85*n[half] {
			t.Errorf("%s half: %d of %d among the first three, want 85 in a hundred", name, three[half], n[half])
		}
	}
}

// TestAColleaguesSentenceBecomesFindings: one sentence of several facts, part by part.
func TestAColleaguesSentenceBecomesFindings(t *testing.T) {
	x := lexicon(t)
	const text = "upper hose 185, lower cold after ten minutes idling, fan never came on"
	a := x.Read(text, "us")
	want := []struct{ name, read string }{{"check:hose-temps", "185 °F"}, {"sign:lower-hose-cold", ""}, {"sign:fan-never-on", ""}, {"condition:idle", ""}}
	for _, w := range want {
		found := false
		for i := range a.Offers[:min(len(want)+1, len(a.Offers))] {
			o := &a.Offers[i]
			found = found || called(o)[0] == w.name && (w.read == "" || o.Read["upper-hose"] == w.read)
		}
		if !found {
			t.Errorf("%s is not among the first offers of %q", w.name, text)
		}
	}
	if len(a.Remarks) != 0 {
		t.Errorf("remarks %q", a.Remarks)
	}
	if again := x.Read(text, "us"); !reflect.DeepEqual(a, again) {
		t.Error("the same text has two meanings")
	}
}

// TestNumbersAreSaidBackInTheShopsUnits: a bare number is presumed to be in the
// shop's units, a unit that is typed is kept, and bounds stay bounds.
func TestNumbersAreSaidBackInTheShopsUnits(t *testing.T) {
	x := lexicon(t)
	for _, c := range []struct{ text, units, check, reading, want string }{
		{"upper hose 185", "us", "hose-temps", "upper-hose", "185 °F"},
		{"upper hose 85", "metric", "hose-temps", "upper-hose", "85 °C"},
		{"upper hose 85 C", "us", "hose-temps", "upper-hose", "85 °C"},
		{"bottom hose less than 120", "us", "hose-temps", "lower-hose", "less than 120 °F"},
		{"never reached 70 °C on a long drive", "us", "drive-log", "motorway", "less than 70 °C"},
		{"hose temps 190 top", "us", "hose-temps", "upper-hose", "190 °F"},
	} {
		got := ""
		for _, o := range x.Read(c.text, c.units).Offers {
			if o.Check == c.check && o.Read[c.reading] != "" && got == "" {
				got = o.Read[c.reading]
			}
		}
		if got != c.want {
			t.Errorf("%q in %s: %s.%s is %q, want %q", c.text, c.units, c.check, c.reading, got, c.want)
		}
	}
	for _, c := range []struct{ text, car, want string }{
		{"16 psi cap", "cap", "16 psi"}, {"102,000 miles", "mileage", "102000 miles"}, {"model year 1994", "year", "1994"},
		{"5.7 V8", "displacement", "5.7 L"}, {"diesel", "fuel", "diesel"}, {"farm tractor", "kind", "tractor"},
	} {
		a := x.Read(c.text, "us")
		if len(a.Offers) == 0 || !slices.ContainsFunc(a.Offers[:min(3, len(a.Offers))], func(o say.Offer) bool { return o.Car == c.car && o.Found == c.want }) {
			t.Errorf("%q: %+v, want vehicle %s %s", c.text, a.Offers, c.car, c.want)
		}
	}
}

// TestNoIsHeard: denials become denials, and what denies in itself is no denial.
func TestNoIsHeard(t *testing.T) {
	x := lexicon(t)
	for _, c := range []struct{ text, want string }{
		{"no white smoke", "sign:white-smoke=no"}, {"loses no coolant", "sign:loses-coolant=no"}, {"never in the red", "sign:needle-red=no"},
		{"no leaks anywhere", "sign:nothing-wet"}, {"fan never comes on", "sign:fan-never-on"}, {"no heat", "sign:no-heat"},
		{"no oil in the coolant", "sign:oil-in-coolant=no"},
	} {
		s := saying{text: c.text, right: []string{c.want}}
		if a := x.Read(c.text, "us"); !s.rightAmong(a.Offers, 2) {
			t.Errorf("%q: %+v, want %s", c.text, a.Offers[:min(2, len(a.Offers))], c.want)
		}
	}
}

// TestWrongWordsGetTheRightNeighbour: by meaning, not by letters.
func TestWrongWordsGetTheRightNeighbour(t *testing.T) {
	x := lexicon(t)
	checks := x.IDs("check")
	for _, c := range []struct {
		kind, word, want string
		among            []string
	}{
		{"a condition", "highway", "motorway", x.IDs("condition")}, {"a condition", "slow-traffic", "city", x.IDs("condition")},
		{"a sign", "boils", "boils-over", x.IDs("sign")}, {"a sign", "check-engine-light", "check-engine-lamp", x.IDs("sign")},
		{"a repair", "replace-relay", "replace-fan-relay", x.IDs("repair")}, {"a repair", "radiator", "replace-radiator", x.IDs("repair")},
		{"a kind of work", "stop-leak", "sealer", x.IDs("work")}, {"a kind of work", "flush", "flush", x.IDs("work")},
		{"a check", "gauge", "gauge-look", checks}, {"a check", "dipstick", "oil-look", checks},
		{"a finding of level-cold", "ok", "full", []string{"full", "low", "empty"}},
		{"a finding of fan-run", "dead", "still", []string{"runs", "weak", "still", "backwards"}},
		{"an outcome", "no-change", "nothing", []string{"nothing", "better", "worse", "cured"}},
		{"petrol, diesel or gas", "gasoline", "petrol", []string{"petrol", "diesel", "gas"}},
		{"a sign", "xyzzy", "", x.IDs("sign")},
	} {
		if got := x.Near(c.kind, c.word, c.among); got != c.want {
			t.Errorf("%s %q: %q, want %q", c.kind, c.word, got, c.want)
		}
	}
}

// TestAShopAddsItsOwnPhrases, and a phrase for no word is refused with its place.
func TestAShopAddsItsOwnPhrases(t *testing.T) {
	checks, err := check.Default()
	if err != nil {
		t.Fatal(err)
	}
	own := sheet.Source{Name: "ours.yaml", Data: []byte("phrases:\n  - {id: ours-1, means: \"sign:fan-never-on\", say: [the whirly thing sleeps]}\n")}
	x, err := say.New(checks, own)
	if err != nil {
		t.Fatal(err)
	}
	if a := x.Read("whirly thing sleeps", "us"); len(a.Offers) == 0 || a.Offers[0].Sign != "fan-never-on" {
		t.Errorf("%+v", a.Offers)
	}
	own.Data = []byte("phrases:\n  - {id: \"sign:fan-never-ever\", say: [x]}\n")
	if _, err := say.New(checks, own); err == nil || !strings.Contains(err.Error(), "ours.yaml:2") {
		t.Errorf("a phrase for no word: %v", err)
	}
}

func FuzzRead(f *testing.F) {
	x := lexicon(f)
	for i, s := range sayings(f) {
		if i%20 == 0 {
			f.Add(s.text)
		}
	}
	f.Add("upper hose 185, lower cold after ten minutes idling, fan never came on")
	f.Add("§§ 1e309 °F, ,,, -- \x00 ﬀ İ 9999999999999999999 psi")
	f.Fuzz(func(t *testing.T, text string) {
		a, b := x.Read(text, "metric"), x.Read(text, "metric")
		if !reflect.DeepEqual(a, b) {
			t.Fatalf("%q has two meanings", text)
		}
		if a.Offers == nil || a.Remarks == nil {
			t.Fatal("a list is null")
		}
		for i := range a.Offers {
			if name := called(&a.Offers[i])[0]; strings.HasPrefix(name, ":") || strings.HasSuffix(name, ":") || a.Offers[i].Text == "" {
				t.Fatalf("%q: offer %+v says nothing", text, a.Offers[i])
			}
		}
		x.Near("a sign", text, x.IDs("sign"))
		x.Parts(text, "us")
	})
}
