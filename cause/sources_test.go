package cause_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// rows reads a table of testdata without its heading.
func rows(t *testing.T, path string) [][]string {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	reader := csv.NewReader(file)
	reader.Comment = '#'
	all, err := reader.ReadAll()
	if err != nil || len(all) < 2 {
		t.Fatalf("%s: %d rows, %v", path, len(all), err)
	}
	return all[1:]
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// TestWeightsShareOutTheStartingPrior: the causes of each group together weigh
// what the starting prior gives the group, with those added that come for
// something else than heat, to seven hundredths of a case.
func TestWeightsShareOutTheStartingPrior(t *testing.T) {
	c := builtin(t)
	for _, row := range rows(t, "testdata/priors.csv") {
		sum := 0.0
		for _, name := range strings.Fields(row[1]) {
			name, of, _ := strings.Cut(name, "*")
			id, site, sited := strings.Cut(name, "@")
			k := c.Cause(id)
			if k == nil {
				t.Fatalf("no cause %q", id)
			}
			share := 1.0
			if of != "" {
				share = number(t, of)
			}
			if sited {
				share = k.Sites[k.SiteIndex(site)].Share
			}
			sum += k.Weight.Value * share
		}
		if want := number(t, row[2]) * (1 + number(t, row[3])); math.Abs(sum-want) > 0.0701 {
			t.Errorf("%s: weights add up to %.3f, the starting prior has %.2f", row[0], sum, want)
		}
	}
}

// TestRepairsStayWithinTheTableOfHoursAndParts.
func TestRepairsStayWithinTheTableOfHoursAndParts(t *testing.T) {
	c := builtin(t)
	for _, row := range rows(t, "testdata/costs.csv") {
		r := c.Repair(row[0])
		if r == nil {
			t.Fatalf("no repair %q", row[0])
		}
		if low, high := number(t, row[1])*60, number(t, row[2])*60; r.Minutes.Low < low-1e-9 || r.Minutes.High > high+1e-9 {
			t.Errorf("%s takes %g-%g min, the table has %g-%g", r.ID, r.Minutes.Low, r.Minutes.High, low, high)
		}
		if low, high := number(t, row[3]), number(t, row[4]); r.Parts.Low < low || r.Parts.High > high {
			t.Errorf("%s needs parts of $%g-%g, the table has $%g-%g", r.ID, r.Parts.Low, r.Parts.High, low, high)
		}
	}
}
