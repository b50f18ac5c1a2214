package job_test

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"weephole/internal/job"

	"github.com/google/go-cmp/cmp"
)

// TestOldFilesReadAsTheyDid holds job files of earlier versions to what those
// versions read in them. The .reads.json beside each was written by the version
// that its name begins with, and -update does not touch it.
func TestOldFilesReadAsTheyDid(t *testing.T) {
	names := 0
	for _, name := range files(t, "testdata/old/*.yaml", "testdata/old/*.json") {
		if strings.HasSuffix(name, ".reads.json") {
			continue
		}
		names++
		t.Run(filepath.Base(name), func(t *testing.T) {
			src, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			want, err := os.ReadFile(name + ".reads.json")
			if err != nil {
				t.Fatal(err)
			}
			var got bytes.Buffer
			if err := job.WriteJSON(&got, read(t, string(src))); err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(string(want), got.String()); d != "" {
				t.Errorf("it reads otherwise now (-then +now):\n%s", d)
			}
		})
	}
	if names < 6 {
		t.Errorf("only %d old files", names)
	}
}

// TestNumbersAreReadAsTheyAreTold: bounds, years that are not exact, and bare
// numbers where only one unit is in use.
func TestNumbersAreReadAsTheyAreTold(t *testing.T) {
	j := read(t, `weephole: 1
shop: {units: us}
vehicle: {year: 1990s, mileage: "over 102,000 miles", displacement: 1.6, fan: {kind: belt}}
complaint: {needle: about 240 °F, after: 5 miles, overheated: {times: several}}
quote: {price: "640"}
findings:
  - {check: hose-temps, read: {upper-hose: less than 70 °C, lower-hose: "> 120 °F"}}
  - {check: trouble-codes, found: [p0128, P0480 pending]}
  - {check: trouble-codes, codes: P1299}
  - {note: "no word for this, and kept"}
`)
	v := &j.Vehicle
	for _, c := range []struct {
		what      string
		got, want float64 // want: by hand
	}{
		{"the middle of the nineties", float64(v.Year), 1995},
		{"102,000 miles of 1609.344 m", float64(v.Mileage.Value), 102000 * 1609.344},
		{"1.6 L", float64(v.Displacement.Value), 0.0016},
		{"240 °F, (240-32)/1.8", float64(j.Complaint.Needle.Value), 115.5555555555},
		{"5 miles", float64(j.Complaint.After.Value.Distance), 8046.72},
		{"several", float64(j.Complaint.Overheated.Times.Value), 3},
		{"640 of the shop's money", j.Quote.Price.Value.Amount, 640},
	} {
		if d := c.got - c.want; d > 1e-6*c.want || d < -1e-6*c.want {
			t.Errorf("%s: %g, want %g", c.what, c.got, c.want)
		}
	}
	if j.Quote.Price.Value.Currency != "USD" {
		t.Errorf("the quote is in %q", j.Quote.Price.Value.Currency)
	}
	read := j.Findings[0].Read
	if read[0].Bound != "below" || read[1].Bound != "above" {
		t.Errorf("bounds %q and %q, want below and above", read[0].Bound, read[1].Bound)
	}
	codes := j.Findings[1]
	if codes.Found != "thermostat" || strings.Join(codes.Codes, ", ") != "P0128, P0480 pending" {
		t.Errorf("codes %q stand for %q", codes.Codes, codes.Found)
	}
	if j.Findings[2].Found != job.Unknown || !j.Findings[3].Remark() {
		t.Errorf("a maker's code is %q; remark %v", j.Findings[2].Found, j.Findings[3].Remark())
	}
}

// TestAdviceFitsTheSlip: messages for slips that people made with the format.
func TestAdviceFitsTheSlip(t *testing.T) {
	words := vocabulary()
	for _, c := range []struct{ name, text, want string }{
		{"a comma in a note", "findings: [{check: level-cold, found: low, note: clean, no smell}]", "put a text with a comma in quotes"},
		{"a sharp in a note", "findings:\n  - {check: level-cold, found: low, note: usual #200}\n", "put a text with a comma or a # in quotes"},
		{"a sign said and denied", "complaint: {signs: [steam], denied: [steam]}", "cannot both be so and not be so"},
		{"a price without currency", "quote: {price: \"640\"}", "has no currency"},
		{"another look's name", "findings: [{check: gauge-look, found: ok}]", "write one of"},
		{"no code", "findings: [{check: trouble-codes, codes: [P12]}]", "write it as the scan tool shows it"},
		{"codes of another check", "findings: [{check: level-cold, found: P0128}]", "shows no trouble codes"},
		{"nothing said", "findings: [{engine: cold}]", "write a remark as note:"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := job.Read(strings.NewReader("weephole: 1\n"+c.text), "x.yaml", words)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("found %v, want %q in it", err, c.want)
			}
		})
	}
}
