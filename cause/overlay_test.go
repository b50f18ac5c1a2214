package cause_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"weephole/cause"
)

func TestAnOverlayAddsAndChangesAndLeavesTheRest(t *testing.T) {
	c := builtin(t)
	before := c.TotalWeight()
	over, err := c.Overlay(strings.NewReader(`
causes:
  - id: thermostat-shut
    weight: {value: 4.0, source: "our books, 2019-2025"}
  - id: tank-sensor-float
    name: float that sticks in the expansion tank
    tells: "The lamp says low, the tank is full."
    place: tank
    weight: {value: 0.3, source: "our books"}
    severity: {shape: [1, 1], source: judgement}
    repair: replace-tank
repairs:
  - id: replace-tank
    cures:
      - {cause: tank-sensor-float, share: 0.95, source: "our books"}
counts:
  - {cause: pump-weak, closed: 3}
`), "our-shop.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if got := over.Cause("thermostat-shut"); got.Weight.Value != 4.0 || got.Severity.Shape != c.Cause("thermostat-shut").Severity.Shape || len(got.After) == 0 {
		t.Errorf("thermostat-shut became %+v", got)
	}
	if over.Index("tank-sensor-float") != len(c.Causes) {
		t.Errorf("the new cause stands at %d, want at the end", over.Index("tank-sensor-float"))
	}
	if got, want := over.Cause("pump-weak").Prior(), c.Cause("pump-weak").Prior()+3; math.Abs(got-want) > 1e-9 {
		t.Errorf("pump-weak weighs %g, want %g", got, want)
	}
	if r := over.Repair("replace-tank"); r.CureShare(cause.Present{Cause: len(c.Causes), Site: cause.NoSite}) != 0.95 || r.Minutes != c.Repair("replace-tank").Minutes {
		t.Errorf("replace-tank became %+v", r)
	}
	if c.TotalWeight() != before || c.Index("tank-sensor-float") != -1 {
		t.Error("the overlay changed the catalogue under it")
	}
	twice, err := over.Overlay(strings.NewReader("counts: [{cause: pump-weak, closed: 2}]"), "second.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if got, want := twice.Cause("pump-weak").Prior(), c.Cause("pump-weak").Prior()+5; math.Abs(got-want) > 1e-9 {
		t.Errorf("after a second overlay pump-weak weighs %g, want %g", got, want)
	}
}

// TestMistakesInASheetAreNamedWithTheirPlace reads each file of testdata/bad as
// an overlay; the errors of all of them stand in one golden list.
func TestMistakesInASheetAreNamedWithTheirPlace(t *testing.T) {
	c := builtin(t)
	files, err := filepath.Glob("testdata/bad/*.yaml")
	if err != nil || len(files) < 10 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	var b strings.Builder
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		name := filepath.Base(file)
		_, err = c.Overlay(strings.NewReader(string(data)), name)
		if err == nil {
			t.Errorf("%s was accepted", name)
			continue
		}
		if !strings.Contains(err.Error(), name) {
			t.Errorf("%s: the error does not name the file: %v", name, err)
		}
		b.WriteString("--- " + name + "\n" + err.Error() + "\n")
	}
	golden(t, "testdata/bad.golden", b.String())
}

func TestASheetThatIsTooLargeIsRefused(t *testing.T) {
	endless := strings.NewReader(strings.Repeat("# nothing but remarks\n", 200_000))
	_, err := builtin(t).Overlay(endless, "endless.yaml")
	if err == nil || !strings.Contains(err.Error(), "larger than") {
		t.Errorf("error %v", err)
	}
	if endless.Len() == 0 {
		t.Error("it was read whole")
	}
}

func FuzzOverlay(f *testing.F) {
	files, err := filepath.Glob("testdata/bad/*.yaml")
	if err != nil {
		f.Fatal(err)
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(data))
	}
	c, err := cause.Default()
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text string) {
		over, err := c.Overlay(strings.NewReader(text), "fuzz.yaml")
		if (over == nil) == (err == nil) {
			t.Fatalf("catalogue %v, error %v", over, err)
		}
		if err == nil && over.NoFault() < 0 {
			t.Fatal("accepted without no-fault")
		}
	})
}
