package job_test

import (
	"bytes"
	"errors"
	"flag"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"weephole/internal/job"
	"weephole/quantity"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// vocabulary is a small catalogue, so that the tests of the format do not
// change with the catalogues of the program.
func vocabulary() job.Vocabulary {
	v := job.DefaultVocabulary()
	v.Checks = []job.CheckWords{
		{ID: "level-cold", Words: []string{"low", "full"}},
		{ID: "hose-temps", Readings: []job.ReadingWords{
			{ID: "upper-hose", What: "temperature", Low: -30, High: 160},
			{ID: "lower-hose", What: "temperature", Low: -30, High: 160},
		}},
		{ID: "warm-up-log", Readings: []job.ReadingWords{{ID: "minutes-to-80", What: "duration", High: 3600}}},
		{ID: "pressure-hold", Words: []string{"holds", "falls"},
			Readings: []job.ReadingWords{{ID: "fall", What: "pressure", High: 300e3}}},
		{ID: "combustion-gas", Words: []string{"turned", "stayed"}},
		{ID: "trouble-codes", Words: []string{"none", "thermostat"}, Codes: map[string]string{"P0128": "thermostat"}},
		{ID: "boost", Readings: []job.ReadingWords{{ID: "gap", What: "number"}}},
	}
	v.Causes = []string{"combustion-leak", "thermostat-shut", "head-gasket"}
	v.Repairs = []string{"replace-thermostat", "replace-head-gasket"}
	v.Tried = []string{"engine"}
	v.Tools = []string{"infrared", "pressure-tester", "exhaust-analyser"}
	v.Signals = []string{"coolant", "engine-speed"}
	return v
}

func read(t *testing.T, text string) *job.Job {
	t.Helper()
	j, err := job.Read(strings.NewReader(text), "test.yaml", vocabulary())
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// same compares what two jobs say, not where they say it.
var same = cmp.Options{cmpopts.IgnoreUnexported(job.Job{}), cmpopts.EquateEmpty()}

func files(t *testing.T, pattern ...string) []string {
	t.Helper()
	var all []string
	for _, p := range pattern {
		names, err := filepath.Glob(p)
		if err != nil || len(names) == 0 {
			t.Fatalf("no files match %s (%v)", p, err)
		}
		all = append(all, names...)
	}
	return all
}

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	if *update {
		if err := os.WriteFile(name, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), string(got)); d != "" {
		t.Errorf("%s (-want +got):\n%s", name, d)
	}
}

func TestBadFilesAreExplained(t *testing.T) {
	for _, name := range files(t, "testdata/bad/*.yaml", "testdata/bad/*.json") {
		t.Run(filepath.Base(name), func(t *testing.T) {
			f, err := os.Open(name)
			if err != nil {
				t.Fatal(err)
			}
			defer f.Close()
			j, err := job.Read(f, filepath.Base(name), vocabulary())
			if err == nil {
				t.Fatalf("was accepted: %+v", j)
			}
			var problems job.Problems
			if !errors.As(err, &problems) {
				t.Fatalf("is %T, want Problems: %v", err, err)
			}
			golden(t, name+".txt", []byte(err.Error()+"\n"))
		})
	}
}

func TestGoodFilesSurviveWriting(t *testing.T) {
	for _, name := range files(t, "testdata/good/*.yaml", "testdata/good/*.json") {
		if strings.HasSuffix(name, ".golden.json") {
			continue
		}
		t.Run(filepath.Base(name), func(t *testing.T) {
			src, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			first := read(t, string(src))
			var js bytes.Buffer
			if err := job.WriteJSON(&js, first); err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(first, read(t, js.String()), same); d != "" {
				t.Errorf("writing changed it (-first +second):\n%s", d)
			}
			golden(t, name+".golden.json", js.Bytes())
		})
	}
}

func TestQuantitiesArriveInSI(t *testing.T) {
	src, err := os.ReadFile("testdata/good/hill-climber.yaml")
	if err != nil {
		t.Fatal(err)
	}
	j := read(t, string(src))
	v := j.Vehicle
	for _, c := range []struct {
		what      string
		got, want float64 // want: by hand from the units' definitions, named beside each
	}{
		{"1.8 L in m3", float64(v.Displacement.Value), 0.0018},
		{"90 kW in W", float64(v.Power.Value), 90000},
		{"1300 kg", float64(v.Mass.Value), 1300},
		{"50 % as a share", float64(v.Coolant.Glycol.Value), 0.5},
		{"82 °C", float64(v.Thermostat.Rating.Value), 82},
		{"16 psi in Pa (6894.757 Pa each)", float64(v.Cap.Value), 110316.1},
		{"95 °F: (95-32)/1.8", float64(j.Complaint.Ambient.Value), 35},
		{"190 °F: (190-32)/1.8", j.Findings[1].Read[0].Value, 87.7778},
		{"104 °F: (104-32)/1.8", j.Findings[1].Read[1].Value, 40},
		{"60 min in s", float64(j.Findings[3].Minutes.Value), 3600},
		{"300 m", float64(j.Shop.Altitude.Value), 300},
	} {
		if math.Abs(c.got-c.want) > 1e-6*math.Max(1, math.Abs(c.want)) {
			t.Errorf("%s: got %v, want %v", c.what, c.got, c.want)
		}
	}
	if want := (quantity.Money{Amount: 2400, Currency: "USD"}); j.Quote.Price.Value != want {
		t.Errorf("price is %v, want %v", j.Quote.Price.Value, want)
	}
}

func TestPowerAndMassUnits(t *testing.T) {
	for _, c := range []struct {
		text string
		want float64 // definitions: hp 550 ft·lbf/s, PS 75 kgf·m/s, lb 0.45359237 kg
	}{
		{"100 hp", 100 * 550 * 0.3048 * 0.45359237 * 9.80665},
		{"100PS", 100 * 75 * 9.80665},
		{"66,5 kW", 66500},
		{"500 w", 500},
	} {
		if got, err := job.ParsePower(c.text); err != nil || math.Abs(float64(got)-c.want) > 1e-9*c.want {
			t.Errorf("ParsePower(%q) = %v, %v; want %v", c.text, got, err, c.want)
		}
	}
	if got, err := job.ParseMass("2900 lbs"); err != nil || math.Abs(float64(got)-1315.417873) > 1e-6 {
		t.Errorf("ParseMass(2900 lbs) = %v, %v; want 2900 x 0.45359237", got, err)
	}
	for _, bad := range []string{"", "kW", "90", "-3 kW", "1e3 kW", "90 bhp", "9 0 kW", "NaN kW"} {
		if got, err := job.ParsePower(bad); err == nil {
			t.Errorf("ParsePower(%q) = %v, want an error", bad, got)
		}
	}
}

func TestEveryValueKeepsItsLine(t *testing.T) {
	const src = `weephole: 1
shop:
  ambient: 88 °F
complaint:
  signs:
    - steam
    - lamp
findings:
  - check: hose-temps
    read:
      upper-hose: 190 °F
  - {check: level-cold, found: low}
`
	j := read(t, src)
	for path, want := range map[string]job.Position{
		"weephole":                    {Line: 1, Column: 11},
		"shop.ambient":                {Line: 3, Column: 12},
		"complaint.signs[1]":          {Line: 7, Column: 7},
		"findings[0]":                 {Line: 9, Column: 5},
		"findings[0].read.upper-hose": {Line: 11, Column: 19},
		"findings[0].read.lower-hose": {Line: 10, Column: 5},  // not said: what is around it
		"findings[1].found":           {Line: 12, Column: 32}, // in braces
		"findings[9].found":           {Line: 8, Column: 1},
		"quote":                       {Line: 1, Column: 1},
	} {
		if got := j.Where(path); got != want {
			t.Errorf("%s is at %v, want %v", path, got, want)
		}
	}
	if got, want := j.Problem("findings[0].read.upper-hose", "is %s", "odd").Error(),
		"test.yaml:11: findings[0].read.upper-hose: is odd"; got != want {
		t.Errorf("Problem says %q, want %q", got, want)
	}
}

func TestJSONKeepsItsLinesToo(t *testing.T) {
	j := read(t, "{\n \"weephole\": 1, \"job\": \"é\", \"shop\": {\n  \"units\": \"us\"}}")
	for path, want := range map[string]job.Position{
		"weephole":   {Line: 2, Column: 14},
		"job":        {Line: 2, Column: 24},
		"shop":       {Line: 2, Column: 37},
		"shop.units": {Line: 3, Column: 12},
	} {
		if got := j.Where(path); got != want {
			t.Errorf("%s is at %v, want %v", path, got, want)
		}
	}
}

// counting tells how much of an endless file was read.
type counting struct{ n int }

func (c *counting) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = '#'
	}
	c.n += len(p)
	return len(p), nil
}

func TestAHugeFileIsRefusedUnread(t *testing.T) {
	var endless counting
	_, err := job.Read(io.LimitReader(&endless, 50<<20), "huge.yaml", vocabulary())
	if err == nil || !strings.Contains(err.Error(), "larger than 1 MB") {
		t.Errorf("got %v, want a refusal that names the limit", err)
	}
	if endless.n > 2<<20 {
		t.Errorf("%d bytes were read before the refusal", endless.n)
	}
}

// The YAML parser takes a time that grows with the square of the list items,
// and a stack that grows with the depth: both are stopped before it.
func TestFilesMadeToHurtAreRefusedBeforeTheParser(t *testing.T) {
	for _, c := range []struct{ name, src, says string }{
		{"list items by the hundred thousand", "weephole: 1\nfindings:\n" + strings.Repeat("-\n", 400_000), "more than 2000 list items"},
		{"brackets by the hundred thousand", "weephole: " + strings.Repeat("[", 900_000), "more than 50 brackets stand open"},
		{"list marks on one line", "weephole: " + strings.Repeat("\n- ", 1) + strings.Repeat("- ", 400_000), "more than a dozen list marks"},
		{"JSON brackets", "{\"weephole\": " + strings.Repeat("[", 900_000), "more than 12 deep"},
		{"JSON items", "{\"weephole\": [" + strings.Repeat("1,", 400_000) + "1]}", "more than 500 items"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := job.Read(strings.NewReader(c.src), "hurt.yaml", vocabulary())
			if err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("got %v, want %q", err, c.says)
			}
		})
	}
}

func TestAReaderThatFailsIsNotTheFilesFault(t *testing.T) {
	_, err := job.Read(iotestErr{}, "gone.yaml", vocabulary())
	var problems job.Problems
	if !errors.Is(err, os.ErrClosed) || errors.As(err, &problems) {
		t.Errorf("got %v (%T), want the reader's error", err, err)
	}
}

type iotestErr struct{}

func (iotestErr) Read([]byte) (int, error) { return 0, os.ErrClosed }

func TestWithoutACatalogueIdsAreOnlyLookedAt(t *testing.T) {
	const src = "weephole: 1\nfindings:\n  - {check: any-thing, read: {here: 16 psi, there: 90 °C}}\n"
	j, err := job.Read(strings.NewReader(src), "test.yaml", job.DefaultVocabulary())
	if err != nil {
		t.Fatal(err)
	}
	if got := j.Findings[0].Read[1].Value; got != 90 {
		t.Errorf("90 °C read as %v", got)
	}
	_, err = job.Read(strings.NewReader("weephole: 1\nfindings:\n  - {check: Any Thing, found: low}\n"), "test.yaml", job.DefaultVocabulary())
	if err == nil {
		t.Error("an id with a blank was accepted")
	}
}

func BenchmarkRead(b *testing.B) {
	src, err := os.ReadFile("testdata/good/hill-climber.yaml")
	if err != nil {
		b.Fatal(err)
	}
	v := vocabulary()
	b.SetBytes(int64(len(src)))
	for b.Loop() {
		if _, err := job.Read(bytes.NewReader(src), "hill-climber.yaml", v); err != nil {
			b.Fatal(err)
		}
	}
}
