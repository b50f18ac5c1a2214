package tally

import (
	"fmt"
	"io"
	"math"
	"sort"
	"strings"
)

// TrustRules are the tally's own numbers.
type TrustRules struct {
	// SeedFindings is how many findings the catalogue's blunder share counts
	// for: as many as the starting prior's pseudo-cases. Judgement.
	SeedFindings float64
	// LeastFindings is how many findings a check needs before its share is
	// changed at all. Judgement.
	LeastFindings int
}

// DefaultTrustRules gives the numbers above: 20 pseudo-cases (starting prior for
// overheating complaints, judgement) and 5 findings (judgement).
func DefaultTrustRules() TrustRules { return TrustRules{SeedFindings: 20, LeastFindings: 5} }

// Trust is what closed jobs say of a check.
type Trust struct {
	Check    string  `json:"check"`
	Findings int     `json:"findings"`
	Blunder  float64 `json:"blunder"` // posterior mean of the share of results as good as random
	Before   float64 `json:"before"`  // the catalogue's
}

// gridPoints of the blunder share between 0 and 1. Design choice.
const gridPoints = 400

// Trusts works out each check's blunder share, for those with findings enough.
//
// With the share e, a result that the model predicts with probability q comes
// with (1-e) q + e/k, k the number of results. The prior is Beta with the
// catalogue's mean and SeedFindings pseudo-findings; the posterior's mean is
// taken on a grid.
func (t *Tally) Trusts(st TrustRules) []Trust {
	by := make(map[string][]Result)
	for _, e := range t.Standing() {
		for _, f := range e.Findings {
			by[f.Check] = append(by[f.Check], f)
		}
	}
	out := []Trust{}
	for check, list := range by {
		if len(list) < st.LeastFindings {
			continue
		}
		before := list[len(list)-1].Blunder
		out = append(out, Trust{Check: check, Findings: len(list), Before: before, Blunder: posteriorMean(before, st.SeedFindings, list)})
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Check < out[j].Check })
	return out
}

func posteriorMean(before, seed float64, list []Result) float64 {
	a, b := max(before*seed, 0.05), max((1-before)*seed, 0.05)
	var logs [gridPoints]float64
	top := math.Inf(-1)
	at := func(i int) float64 { return (float64(i) + 0.5) / gridPoints }
	for i := range logs {
		e := at(i)
		sum := (a-1)*math.Log(e) + (b-1)*math.Log1p(-e)
		for _, f := range list {
			random := 1 / float64(f.Words)
			q := math.Min(1, math.Max(0, (f.Likelihood-f.Blunder*random)/(1-f.Blunder)))
			sum += math.Log((1-e)*q + e*random)
		}
		logs[i] = sum
		top = math.Max(top, sum)
	}
	mass, mean := 0.0, 0.0
	for i, l := range logs {
		w := math.Exp(l - top)
		mass += w
		mean += w * at(i)
	}
	return mean / mass
}

// Overlay writes what the tally teaches as a shop's own sheet.
func (t *Tally) Overlay(w io.Writer, st TrustRules) error {
	var b strings.Builder
	n := len(t.Standing())
	fmt.Fprintf(&b, "# What %d closed jobs of this shop have taught; only proven repairs count.\n", n)
	counts, trusts := t.Counts(), t.Trusts(st)
	if len(counts) == 0 {
		b.WriteString("counts: []\n")
	} else {
		b.WriteString("counts:\n")
		for _, c := range counts {
			fmt.Fprintf(&b, "  - {cause: %s, closed: %d}\n", c.Cause, c.Closed)
		}
	}
	if len(trusts) > 0 {
		b.WriteString("checks:\n")
		for _, x := range trusts {
			fmt.Fprintf(&b, "  - {id: %s, blunder: {share: %.3f, source: \"%d findings of closed jobs on top of %.3f\"}}\n", x.Check, x.Blunder, x.Findings, x.Before)
		}
	}
	if _, err := io.WriteString(w, b.String()); err != nil {
		return fmt.Errorf("write overlay: %w", err)
	}
	return nil
}
