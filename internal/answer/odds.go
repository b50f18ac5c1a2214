package answer

import (
	"fmt"
	"math"
	"strings"

	"weephole/lineup"
	"weephole/quantity"
)

// Odds is the answer to "what is it?".
type Odds struct {
	Candidates int              `json:"candidates"`
	Effective  float64          `json:"effective"`
	Of         int              `json:"of"` // round number that counts are out of
	Causes     []Cause          `json:"causes"`
	Pairs      []Pair           `json:"pairs"`
	Fit        Fit              `json:"fit"`
	Overturn   *lineup.Overturn `json:"overturn,omitempty"`
	Says       []string         `json:"says"`
}

// Cause is the standing of one cause.
type Cause struct {
	Cause       string            `json:"cause"`
	Name        string            `json:"name"`
	Probability float64           `json:"probability"`
	Count       int               `json:"count"` // of Odds.Of
	Before      float64           `json:"before"`
	Sites       []lineup.SiteOdds `json:"sites,omitempty"`
	For         []Reason          `json:"for"`
	Against     []Reason          `json:"against"`
}

// Reason is a finding's weight of evidence with a sentence.
type Reason struct {
	Finding  int     `json:"finding"`
	What     string  `json:"what"`
	Decibans float64 `json:"decibans"`
	Says     string  `json:"says"`
}

// Pair is two causes present at once.
type Pair struct {
	Causes      [2]string `json:"causes"`
	Probability float64   `json:"probability"`
	Count       int       `json:"count"`
	Says        string    `json:"says"`
}

// Fit is the statement of fit with a sentence.
type Fit struct {
	lineup.Fit
	Says string `json:"says"`
}

// ForOdds puts a lineup's odds into words. found gives the sentence of what a
// finding (counted from 1) showed, and may be nil.
func ForOdds(o lineup.Odds, over *lineup.Overturn, u quantity.Units, found func(finding int) string) Odds {
	a := Odds{Candidates: o.Candidates, Effective: math.Round(o.Effective), Of: outOf(o.Effective), Overturn: over}
	for i := range o.Causes {
		c := &o.Causes[i]
		a.Causes = append(a.Causes, Cause{
			Cause: c.Cause, Name: c.Name, Probability: c.Probability, Count: a.count(c.Probability), Before: c.Before,
			Sites: c.Sites, For: reasons(c.For, u), Against: reasons(c.Against, u),
		})
	}
	a.Pairs = []Pair{}
	for _, p := range o.Pairs {
		if p.Probability < pairWorth {
			continue
		}
		n := a.count(p.Probability)
		a.Pairs = append(a.Pairs, Pair{p.Causes, p.Probability, n,
			fmt.Sprintf("%d of %d have %s and %s", n, a.Of, article(p.Names[0]), article(p.Names[1]))})
	}
	a.Fit = Fit{o.Fit, fitSays(o.Fit, found)}
	a.Says = a.says(o, found)
	return a
}

// pairWorth is the probability below which a pair is not worth a line; judgement.
const pairWorth = 0.02

// outOf is the round number that counts are given out of.
func outOf(effective float64) int {
	for _, n := range []int{200, 100, 50, 20} {
		if effective >= float64(n) {
			return n
		}
	}
	return 10
}

func (a *Odds) count(p float64) int { return int(math.Round(p * float64(a.Of))) }

// says is the account in a few sentences.
func (a *Odds) says(o lineup.Odds, found func(int) string) []string {
	out := []string{fmt.Sprintf("Of %s engines like this one, about %s still fit what is known.",
		thousands(o.Candidates), thousands(int(math.Round(o.Effective))))}
	var heads []string
	for _, c := range a.Causes {
		if len(heads) < 3 && c.Count > 0 && (len(heads) == 0 || c.Probability > 0.05) {
			heads = append(heads, fmt.Sprintf("%d have %s", c.Count, article(c.Name)))
		}
	}
	out = append(out, fmt.Sprintf("Of every %d of them, %s.", a.Of, strings.Join(heads, "; ")))
	if o.Effective < 50 {
		out = append(out, fmt.Sprintf("That rests on only %d or so engines: take the figures as rough.", int(o.Effective)))
	}
	if a.Fit.Verdict != "fits" {
		out = append(out, a.Fit.Says)
	}
	if v := a.Overturn; v != nil {
		what := v.What
		out = append(out, fmt.Sprintf("What would overturn this: if %q had come out %q, %s would lead.", what, v.Instead, a.name(v.Cause)))
	}
	return out
}

func (a *Odds) name(id string) string {
	for _, c := range a.Causes {
		if c.Cause == id {
			return article(c.Name)
		}
	}
	return id
}

func fitSays(f lineup.Fit, found func(int) string) string {
	odd := ""
	if len(f.Odd) > 0 {
		odd = fmt.Sprintf("%q is hard to square with the rest: about %s engines that fit the others would show it. Repeat it before building on it.",
			f.Odd[0].What, oneIn(f.Odd[0].Chance))
	}
	switch f.Verdict {
	case "nothing-fits":
		s := "This fits nothing in the catalogue: no known cause, alone or in pairs, shows these findings together."
		if odd != "" {
			s += " " + odd
		}
		return s
	case "strained":
		return odd
	}
	return "The findings agree with one another."
}

func oneIn(chance float64) string {
	if chance <= 0.001 {
		return "one in a thousand or fewer"
	}
	return fmt.Sprintf("one in %d", int(math.Round(1/chance)))
}

func reasons(list []lineup.Reason, u quantity.Units) []Reason {
	out := []Reason{}
	for _, r := range list {
		out = append(out, Reason{Finding: r.Finding, What: r.What, Decibans: math.Round(r.Decibans*10) / 10, Says: reasonSays(&r, u)})
	}
	return out
}

// reasonSays tells what a finding says of a cause.
func reasonSays(r *lineup.Reason, u quantity.Units) string {
	switch {
	case r.With > 0 || r.Without > 0:
		return fmt.Sprintf("%s with it show what was found, %s without", Per100(r.With), Per100(r.Without))
	case len(r.Expected) > 0:
		e := r.Expected[0]
		for _, x := range r.Expected[1:] {
			if apart(x) > apart(e) {
				e = x
			}
		}
		if !math.IsNaN(e.With[0]) && !math.IsNaN(e.Without[0]) {
			return fmt.Sprintf("%s read %s; expected %s with it, %s without", spaced(e.Reading),
				Amount(u, e.Kind, e.Read), Span(u, e.Kind, e.With), Span(u, e.Kind, e.Without))
		}
	}
	return times(r.Decibans)
}

func apart(e lineup.Expectation) float64 {
	d := math.Abs((e.With[0]+e.With[1])/2 - (e.Without[0]+e.Without[1])/2)
	return d / (e.With[1] - e.With[0] + e.Without[1] - e.Without[0] + 1e-9)
}

// times says how many times likelier a finding is with the cause.
func times(decibans float64) string {
	ratio := math.Pow(10, math.Abs(decibans)/10)
	n := fmt.Sprintf("%.1f", ratio)
	if ratio >= 10 {
		n = fmt.Sprintf("%.0f", math.Min(ratio, 9999))
	}
	if decibans > 0 {
		return n + " times likelier with it than without"
	}
	return n + " times likelier without it"
}

// Per100 says a probability as a count of a hundred.
func Per100(p float64) string {
	switch n := int(math.Round(100 * p)); {
	case n == 0:
		return "fewer than 1 of 100"
	case n == 100:
		return "nearly all"
	default:
		return fmt.Sprintf("%d of 100", n)
	}
}

// article puts "a" or "an" before a name that wants one.
func article(name string) string {
	if name == "" {
		return name
	}
	for _, s := range []string{"a ", "an ", "the ", "no ", "too ", "air ", "something ", "deposits ", "wrong ", "nothing"} {
		if strings.HasPrefix(name, s) {
			return name
		}
	}
	if strings.ContainsRune("aeio", rune(name[0])) {
		return "an " + name
	}
	return "a " + name
}

func spaced(id string) string { return strings.ReplaceAll(id, "-", " ") }

// thousands writes 20000 as "20,000".
func thousands(n int) string {
	s := fmt.Sprint(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}
