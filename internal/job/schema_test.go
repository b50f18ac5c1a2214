package job_test

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"weephole/internal/job"
	"weephole/quantity"

	"github.com/goccy/go-yaml"
	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"pgregory.net/rapid"
)

// compiled is the job file's schema as an independent validator reads it.
func compiled(t testing.TB, v job.Vocabulary) *jsonschema.Schema {
	t.Helper()
	src, err := job.Schema(v)
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(src))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource(job.SchemaID, doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile(job.SchemaID)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// plainValue is a file as a validator sees it, read by other code than ours.
func plainValue(src []byte) (any, error) {
	out, err := yaml.YAMLToJSON(src)
	if err != nil {
		return nil, err
	}
	return jsonschema.UnmarshalJSON(bytes.NewReader(out))
}

func TestTheSchemaTakesWhatTheReaderTakes(t *testing.T) {
	s := compiled(t, vocabulary())
	for _, name := range files(t, "testdata/good/*.yaml", "testdata/good/*.json") {
		t.Run(filepath.Base(name), func(t *testing.T) {
			src, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			v, err := plainValue(src)
			if err != nil {
				t.Fatal(err)
			}
			if err := s.Validate(v); err != nil {
				t.Error(err)
			}
		})
	}
}

// These are wrong in a way that a schema can see.
func TestTheSchemaRefusesWrongKeysWordsAndShapes(t *testing.T) {
	s := compiled(t, vocabulary())
	for _, name := range []string{"a-list.yaml", "a-word.yaml", "no-version.yaml", "version-late.yaml", "version-word.yaml",
		"unknown-keys.yaml", "wrong-words.yaml", "unknown-checks.yaml", "wrong-shapes.yaml", "wrong-shapes-within.yaml", "many-problems.yaml"} {
		t.Run(name, func(t *testing.T) {
			src, err := os.ReadFile("testdata/bad/" + name)
			if err != nil {
				t.Fatal(err)
			}
			v, err := plainValue(src)
			if err != nil {
				t.Fatal(err)
			}
			var invalid *jsonschema.ValidationError
			if err := s.Validate(v); !errors.As(err, &invalid) {
				t.Errorf("was taken (%v)", err)
			}
		})
	}
}

// full says something in every field that the Go types have.
func full() *job.Job {
	said := func(text string) job.Said[quantity.Temperature] {
		v, err := quantity.ParseTemperature(text)
		if err != nil {
			panic(err) // a slip in this file
		}
		return job.Said[quantity.Temperature]{Value: v, Text: text}
	}
	return &job.Job{
		Version: 1, Name: "full",
		Shop: job.Shop{Name: "Corner Garage", Rate: job.Said[quantity.Rate]{Value: quantity.Rate{PerHour: 120, Currency: "USD"}, Text: "$120/h"},
			Units: "metric", Altitude: job.Said[quantity.Length]{Value: 300, Text: "300 m"}, Ambient: said("31 °C"),
			Coldest: said("-25 °C"), Tools: []string{"infrared"}, Lacks: []string{"exhaust-analyser"}},
		Vehicle: job.Vehicle{Name: "blue estate", Kind: "car", Year: 1995, YearAbout: "1990s", Fuel: "petrol", Hybrid: "no",
			Mileage: job.Said[job.Distance]{Value: 164000000, Text: "164000 km"}, Pump: "belt", Tank: "overflow", Radiator: "crossflow", AirCon: "yes",
			Displacement: job.Said[quantity.Volume]{Value: 0.0018, Text: "1.8 L"}, Cylinders: 4,
			Power: job.Said[job.Power]{Value: 90000, Text: "90 kW"}, Mass: job.Said[job.Mass]{Value: 1300, Text: "1300 kg"},
			Coolant: job.Coolant{Capacity: job.Said[quantity.Volume]{Value: 0.0065, Text: "6.5 L"},
				Glycol: job.Said[quantity.Share]{Value: 0.5, Text: "50 %"}, Kind: "ethylene"},
			Thermostat: job.Thermostat{Rating: said("82 °C"), Sits: "inlet", Kind: "plain"},
			Fan:        job.Fan{Kind: "electric", Count: 2, On: said("96 °C"), Off: said("91 °C")},
			Cap:        job.Said[quantity.Pressure]{Value: 200000, Text: "2 bar"},
			Maker:      []job.MakerDatum{{What: "torque of the housing bolts", Says: "10 Nm", From: "workshop manual"}}},
		Complaint: job.Complaint{Words: "gets hot", Signs: []string{"steam"}, Denied: []string{"white-smoke"}, Needle: said("115 °C"), Since: "weeks", Note: "asked by phone",
			After:    job.Said[job.Span]{Value: job.Span{Time: 600}, Text: "10 min"},
			ToppedUp: job.ToppedUp{Amount: job.Said[quantity.Volume]{Value: 0.002, Text: "2 L"}, Every: "weekly", With: "water", Changed: "better"},
			When:     []string{"climb"}, Fine: []string{"city"},
			Ambient: said("35 °C"), Overheated: job.Overheated{Times: job.Said[int]{Value: 2, Text: "2"}, Badly: "yes"}},
		Recent: []job.PastWork{{What: "pump", Also: []string{"belt"}, When: "2 weeks ago", Where: "here", Changed: "better", Of: []string{"steam"},
			BackAfter: "two days", Showed: "vanes eaten away", Note: "a used one"}},
		Quote: &job.Quote{Presumes: "combustion-leak", Repair: "replace-head-gasket",
			Price: job.Said[quantity.Money]{Value: quantity.Money{Amount: 2400, Currency: "USD"}, Text: "$2400"},
			By:    "another shop", Evidence: []string{"combustion-gas"}},
		Findings: []job.Finding{
			{Check: "hose-temps", Engine: "hot-idle", Ambient: said("30 °C"), Read: []job.Reading{{ID: "upper-hose", Value: 88, Bound: "about", Text: "about 88 °C"}}, By: "owner",
				Trace: "monday.csv", Drive: 1, Map: map[string]string{"coolant": "ECT"}, AirCon: "yes", Note: "warm day"},
			{Check: "level-cold", Found: "low"},
			{Check: "trouble-codes", Found: "thermostat", Codes: []string{"P0128", "P0480 pending"}},
			{Sign: "steam"},
			{Denied: "white-smoke"},
			{NotKnown: "white-smoke"},
			{Repair: "replace-thermostat", Changed: "nothing", Minutes: job.Said[quantity.Duration]{Value: 3600, Text: "60 min"},
				Parts: job.Said[quantity.Money]{Value: quantity.Money{Amount: 40, Currency: "USD"}, Text: "$40"}, Part: "thermostat, 82 °C",
				Also: []string{"replace-head-gasket"}, Again: "yes", Of: []string{"steam"}, BackAfter: "a week", Showed: "stuck"},
			{Note: "a remark, and no more"},
		},
		Closing: job.Closing{Cause: "thermostat-shut", Showed: "stuck", When: "14 June", Watch: "the level", Tally: "yes",
			Charged: job.Said[quantity.Money]{Value: quantity.Money{Amount: 188, Currency: "USD"}, Text: "$188"},
			Coolant: job.UsedCoolant{Drained: job.Said[quantity.Volume]{Value: 0.0045, Text: "4.5 L"}, Filled: job.Said[quantity.Volume]{Value: 0.0046, Text: "4.6 L"},
				Mix: job.Said[quantity.Share]{Value: 0.5, Text: "50 %"}, Looked: "clear", Went: "the collector's drum"}},
	}
}

// A field that no row of the format writes would come back empty; a row that
// has no field could not be filled.
func TestEveryFieldOfTheTypesHasItsKey(t *testing.T) {
	j := full()
	for _, path := range unset(reflect.ValueOf(*j), "Job") {
		t.Errorf("this test's job says nothing in %s: add it", path)
	}
	var out bytes.Buffer
	if err := job.WriteJSON(&out, j); err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(j, read(t, out.String()), same); d != "" {
		t.Errorf("writing and reading changed it (-before +after):\n%s", d)
	}
	var reference bytes.Buffer
	if err := job.WriteReference(&reference); err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(reference.String()) {
		if key, ok := strings.CutPrefix(line, "| `"); ok {
			key, _, _ = strings.Cut(key, "`")
			if !strings.Contains(out.String(), `"`+key+`":`) {
				t.Errorf("the format has the key %q, but no field of the types fills it", key)
			}
		}
	}
}

// unset lists the exported fields that are zero in all items of their list.
func unset(v reflect.Value, path string) (paths []string) {
	switch v.Kind() {
	case reflect.Pointer:
		return unset(v.Elem(), path)
	case reflect.Slice:
		for i := range v.Len() {
			here := unset(v.Index(i), path)
			if i == 0 {
				paths = here
			} else {
				paths = slices.DeleteFunc(paths, func(p string) bool { return !slices.Contains(here, p) })
			}
		}
		return paths
	case reflect.Struct:
		for i := range v.NumField() {
			f := v.Type().Field(i)
			if !f.IsExported() {
				continue
			}
			if v.Field(i).IsZero() && path != "Job.Complaint.After.Value" { // a time or a distance
				paths = append(paths, path+"."+f.Name)
				continue
			}
			paths = append(paths, unset(v.Field(i), path+"."+f.Name)...)
		}
	}
	return paths
}

// anyJob draws jobs whose free texts hold whatever a keyboard can type.
func anyJob(t *rapid.T) *job.Job {
	j := full()
	text := rapid.StringOfN(rapid.OneOf(rapid.RuneFrom([]rune("ab1 :#-,[]{}\"'\n\\&*!|>%@`?é°")), rapid.Rune().Filter(typeable)), 0, 20, -1)
	line := rapid.Custom(func(t *rapid.T) string { return strings.TrimSpace(text.Draw(t, "line")) })
	j.Name, j.Complaint.Words, j.Findings[0].Note = text.Draw(t, "name"), text.Draw(t, "words"), text.Draw(t, "note")
	j.Shop.Name, j.Recent[0].When = text.Draw(t, "shop"), text.Draw(t, "when")
	j.Findings[0].Map = map[string]string{"coolant": line.Filter(func(s string) bool { return s != "" }).Draw(t, "column")}
	j.Complaint.Signs = rapid.SliceOfNDistinct(rapid.SampledFrom(vocabulary().Signs), 0, 5, rapid.ID[string]).Draw(t, "signs")
	j.Complaint.Denied = slices.DeleteFunc(j.Complaint.Denied, func(w string) bool { return slices.Contains(j.Complaint.Signs, w) })
	if year := rapid.SampledFrom([]int{0, 1999, j.Vehicle.Year}).Draw(t, "year"); year != j.Vehicle.Year {
		j.Vehicle.Year, j.Vehicle.YearAbout = year, ""
	}
	if rapid.Bool().Draw(t, "no quote") {
		j.Quote = nil
	}
	if rapid.Bool().Draw(t, "no findings") {
		j.Findings = nil
	}
	return j
}

func typeable(r rune) bool { return r >= ' ' && r != 0x7f && r != '\ufeff' && r != '\ufffd' }

func TestAnyJobSurvivesWritingAndSuitsTheSchema(t *testing.T) {
	s := compiled(t, vocabulary())
	rapid.Check(t, func(rt *rapid.T) {
		j := anyJob(rt)
		var b bytes.Buffer
		if err := job.WriteJSON(&b, j); err != nil {
			rt.Fatal(err)
		}
		back, err := job.Read(bytes.NewReader(b.Bytes()), "written.json", vocabulary())
		if err != nil {
			rt.Fatalf("%v\n%s", err, b.String())
		}
		if d := cmp.Diff(j, back, same); d != "" {
			rt.Fatalf("writing and reading changed it (-before +after):\n%s\n%s", d, b.String())
		}
		v, err := jsonschema.UnmarshalJSON(&b)
		if err != nil {
			rt.Fatal(err)
		}
		if err := s.Validate(v); err != nil {
			rt.Fatal(err)
		}
	})
}

func TestTheSchemaIsTheOneShown(t *testing.T) {
	src, err := job.Schema(vocabulary())
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "testdata/schema.golden.json", src)
}
