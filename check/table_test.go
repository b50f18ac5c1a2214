package check_test

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"

	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
)

// builtin is the built-in catalogue.
func builtin(t testing.TB) *check.Checklist {
	t.Helper()
	c, err := check.Default()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// everyPresent calls f with each site and combination of hidden states of a
// cause, at the severities of a quadrature over its Beta distribution, with
// their probability. Sites and states may be narrowed by name.
func everyPresent(k *cause.Cause, site, state string, f func(p cause.Present, share float64)) {
	type option struct {
		index int
		share float64
	}
	sites := []option{{cause.NoSite, 1}}
	if len(k.Sites) > 0 {
		sites = nil
		for i, s := range k.Sites {
			if site == "" || s.ID == site {
				sites = append(sites, option{i, s.Share})
			}
		}
	}
	hidden := [cause.MaxHidden][]option{}
	for h := range hidden {
		hidden[h] = []option{{0, 1}}
	}
	for h := range k.Hidden {
		hidden[h] = nil
		named := false
		for _, s := range k.Hidden[h].States {
			named = named || s.Is == state
		}
		for i, s := range k.Hidden[h].States {
			if !named || s.Is == state {
				hidden[h] = append(hidden[h], option{i, s.Share})
			}
		}
	}
	severities, weights := betaQuadrature(k.Severity.Shape[0], k.Severity.Shape[1])
	for _, si := range sites {
		for _, a := range hidden[0] {
			for _, b := range hidden[1] {
				for i, s := range severities {
					f(cause.Present{Cause: k.Index(), Site: si.index, Hidden: [2]int{a.index, b.index}, Severity: s},
						si.share*a.share*b.share*weights[i])
				}
			}
		}
	}
}

// betaQuadrature samples Beta(a, b) at the middles of 200 equal steps.
func betaQuadrature(a, b float64) (at, weight []float64) {
	const steps = 200
	sum := 0.0
	for i := range steps {
		x := (float64(i) + 0.5) / steps
		w := pow(x, a-1) * pow(1-x, b-1)
		at, weight = append(at, x), append(weight, w)
		sum += w
	}
	for i := range weight {
		weight[i] /= sum
	}
	return at, weight
}

// TestTabulatedChecksKeepToTheRangesOfTheTable takes each row of the workshop
// check table, averages over severities, states and sites, and looks whether
// sensitivity and specificity fall into the range. A tenth of a per cent of
// slack is for the table's two digits.
func TestTabulatedChecksKeepToTheRangesOfTheTable(t *testing.T) {
	const slack = 0.001
	c := builtin(t)
	file, err := os.Open("testdata/table.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	reader := csv.NewReader(file)
	reader.Comment = '#'
	rows, err := reader.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	record := healthyRecord(t)
	for _, row := range rows[1:] {
		name := row[1] + " " + row[3] + " " + row[4]
		t.Run(strings.TrimSpace(name), func(t *testing.T) {
			k := c.Check(row[1])
			if k == nil {
				t.Fatalf("no check %q", row[1])
			}
			words := strings.Split(row[2], "|")
			id, site, _ := strings.Cut(row[3], "@")
			inRange(t, "sensitivity", said(t, c, k, record, words, id, site, row[4]), row[5], row[6], slack)
			if row[7] != "" {
				// The table's cars without the fault are cars that came for something
				// else, and on some of those the part is bad too (beside).
				sound, bad := said(t, c, k, record, words, row[7], "", ""), said(t, c, k, record, words, id, site, row[4])
				beside := 0.0
				if b := c.Causes().Cause(id).Beside; b != nil {
					beside = b.Value
				}
				inRange(t, "specificity", 1-(1-beside)*sound-beside*bad, row[8], row[9], slack)
			}
		})
	}
}

// said is the mean probability that the check says one of the words on the cause.
func said(t *testing.T, c *check.Checklist, k *check.Check, record *circuit.Record, words []string, id, site, state string) float64 {
	t.Helper()
	what := c.Causes().Cause(id)
	if what == nil {
		t.Fatalf("no cause %q", id)
	}
	p := make([]float64, len(k.Words))
	sum, total := 0.0, 0.0
	everyPresent(what, site, state, func(present cause.Present, share float64) {
		k.Shows(&check.Subject{Causes: []cause.Present{present}, Record: record}, p)
		for _, w := range words {
			i := k.WordIndex(w)
			if i < 0 {
				t.Fatalf("%s has no word %q", k.ID, w)
			}
			sum += share * p[i]
		}
		total += share
	})
	return sum / total
}

func inRange(t *testing.T, what string, got float64, low, high string, slack float64) {
	t.Helper()
	l, err := strconv.ParseFloat(low, 64)
	if err != nil {
		t.Fatal(err)
	}
	h, err := strconv.ParseFloat(high, 64)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%s %.3f, table %.2f-%.2f", what, got, l, h)
	if got < l-slack || got > h+slack {
		t.Errorf("%s %.3f is outside %.2f-%.2f", what, got, l, h)
	}
}

// healthyRecord is the drill of a typical healthy engine on a 25 °C day.
func healthyRecord(t testing.TB) *circuit.Record {
	t.Helper()
	table, err := circuit.DefaultTable()
	if err != nil {
		t.Fatal(err)
	}
	engine := table.Typical(circuit.Vehicle{})
	var record circuit.Record
	circuit.NewDrill(circuit.Coarse).Run(&engine, circuit.Conditions{AmbientC: 25}, circuit.AllSituations(), &record)
	return &record
}
