package answer

import (
	"fmt"
	"math"
	"strings"

	"weephole/internal/job"
	"weephole/internal/work"
	"weephole/lineup"
	"weephole/quantity"
)

// OddsFacts is the answer to "what is it?".
type OddsFacts struct {
	Candidates int              `json:"candidates"`
	Effective  float64          `json:"effective"`
	Error      float64          `json:"error"`     // standard error of the simulation, of the cause least well known
	Rough      bool             `json:"rough"`     // that error is above what an answer should have
	Precision  Precision        `json:"precision"` // to which the probabilities are said
	Causes     []Cause          `json:"causes"`
	Pairs      []Pair           `json:"pairs"`
	Fit        FitFacts         `json:"fit"`
	Overturn   *lineup.Overturn `json:"overturn,omitempty"`
	Lines      []Line           `json:"lines"`
	Warnings   []Line           `json:"warnings"`
	// Strange are the logs that no engine like this one makes.
	Strange []StrangeFacts `json:"strange,omitempty"`
	// Unweighed are findings that are kept and do not count, and why.
	Unweighed []UnweighedFacts `json:"unweighed,omitempty"`
}

// StrangeFacts is a log that no engine like this one makes.
type StrangeFacts struct {
	Trace string `json:"trace"` // its file name; "" until NameLogs has told it
	Says  string `json:"says"`
}

// NameLogs tells which file each strange log is: the odds know events only.
func (a *OddsFacts) NameLogs(w *work.Work) {
	for i := range a.Strange {
		a.Strange[i].Trace = w.Job.Findings[w.FindingOf[a.Fit.Logs[i].Finding-1]].Trace
	}
}

// UnweighedFacts is a finding that the odds leave out.
type UnweighedFacts struct {
	Finding int    `json:"finding"` // in the job's list, from 0
	Says    string `json:"says"`    // the remark itself, or what the finding is of
	Why     string `json:"why"`
}

// UnweighedOf lists the findings of a job that its odds leave out.
func UnweighedOf(w *work.Work) (out []UnweighedFacts) {
	for _, u := range w.Unweighed {
		f := &w.Job.Findings[u.Finding]
		says := named(w.Model, f)
		if f.Note != "" {
			says = strings.TrimSpace(says + " “" + f.Note + "”")
		}
		out = append(out, UnweighedFacts{u.Finding, says, u.Why})
	}
	return out
}

// named is what a finding is of, by its name in the catalogue; "" for a remark.
func named(m *lineup.Model, f *job.Finding) string {
	if c := m.Checks.Check(f.Check); c != nil {
		return c.NameMade()
	}
	if r := m.Causes.Repair(f.Repair); r != nil {
		return r.Name
	}
	for _, sign := range []string{f.Sign, f.Denied, f.NotKnown} {
		if i := m.Checks.SignIndex(sign); i >= 0 {
			return m.Checks.Signs[i].Name
		}
	}
	return ""
}

// Cause is the standing of one cause.
type Cause struct {
	Cause       string  `json:"cause"`
	Name        string  `json:"name"`
	Probability float64 `json:"probability"`
	Percent     string  `json:"percent"` // the same, as it is said
	// Error is the probability's standard error from having simulated so many engines and no
	// more, ErrorBad that of Bad, 0..1.
	Error    float64 `json:"error"`
	ErrorBad float64 `json:"error_bad"`
	// Effective is how many equally weighted engines with this cause would tell as much.
	Effective float64 `json:"effective"`
	// Shown is false where the probability is too small for a figure.
	Shown   bool          `json:"told"`
	Bad     float64       `json:"bad"` // that it is bad on this car, whatever it explains
	Before  float64       `json:"before"`
	Sites   []Site        `json:"sites,omitempty"`
	For     []ReasonFacts `json:"for"`
	Against []ReasonFacts `json:"against"`
}

// Site is the standing of a cause at one of its sites.
type Site struct {
	lineup.SiteOdds
	Percent string `json:"percent"`
}

// ReasonFacts is a finding's weight of evidence with a sentence.
type ReasonFacts struct {
	Finding  int     `json:"finding"`
	What     string  `json:"what"`
	Decibans float64 `json:"decibans"`
	Says     string  `json:"says"`
}

// Pair is two causes present at once.
type Pair struct {
	Causes      [2]string `json:"causes"`
	Probability float64   `json:"probability"`
	Says        string    `json:"says"`
}

// FitFacts is the statement of fit with a sentence.
type FitFacts struct {
	lineup.Fit
	Says string `json:"says"`
}

// pairWorth is the probability below which a pair is not worth a line; judgement.
const pairWorth = 0.02

// ForOdds puts a lineup's odds into words.
func ForOdds(o work.Diagnosis, s Style) OddsFacts {
	a := OddsFacts{Candidates: o.Candidates, Effective: math.Round(o.Effective), Error: o.Error, Rough: o.Rough, Precision: PrecisionOf(o.Error), Overturn: o.Overturn,
		Pairs: []Pair{}, Lines: []Line{}, Warnings: []Line{}}
	for i := range o.Causes {
		c := &o.Causes[i]
		x := Cause{Cause: c.Cause, Name: c.Name, Probability: c.Probability, Percent: a.Precision.Percent(c.Probability),
			Shown: a.Precision.Tells(c.Probability), Bad: c.Present, Before: c.Before,
			Error: c.Error, ErrorBad: c.ErrorBad, Effective: math.Round(c.Effective), For: reasons(c.For, s), Against: reasons(c.Against, s)}
		for _, at := range c.Sites {
			x.Sites = append(x.Sites, Site{at, a.Precision.Percent(at.Probability)})
		}
		a.Causes = append(a.Causes, x)
	}
	for _, p := range o.Pairs {
		if p.Probability >= pairWorth {
			a.Pairs = append(a.Pairs, Pair{p.Causes, p.Probability,
				fmt.Sprintf("%s together with %s: %s", Article(p.Names[0]), Article(p.Names[1]), a.Precision.Percent(p.Probability))})
		}
	}
	a.writeLines(o, s)
	return a
}

// writeLines says the odds in a few lines, and what is to be doubted.
func (a *OddsFacts) writeLines(o work.Diagnosis, s Style) {
	say := func(list *[]Line, k Kind, format string, args ...any) {
		*list = append(*list, Line{k, fmt.Sprintf(format, args...)})
	}
	say(&a.Lines, Engines, "Of %s simulated engines like this one, about %s match what is known.", Thousands(o.Candidates), Thousands(int(math.Round(o.Effective))))
	for _, log := range o.Fit.Logs {
		text := fmt.Sprintf("“%s” does not look like this car. The simulated engines that come closest differ from it by up to %s for minutes. Is it the right file, column and unit?",
			log.What, s.Units.TemperatureDifference(quantity.TemperatureDifference(math.Round(log.ApartK))))
		a.Warnings = append(a.Warnings, Line{StrangeLog, text})
		a.Strange = append(a.Strange, StrangeFacts{Says: text})
	}
	var heads []string
	for _, c := range a.Causes {
		if len(heads) < 3 && c.Shown && (len(heads) == 0 || c.Probability > 0.05) {
			heads = append(heads, fmt.Sprintf("%s (%s)", Article(c.Name), c.Percent))
		}
	}
	switch {
	case len(heads) == 1:
		say(&a.Lines, Leading, "Most likely: %s.", heads[0])
	case len(heads) > 1:
		say(&a.Lines, Leading, "Most likely: %s; then %s.", heads[0], And(heads[1:]))
	}
	for _, c := range a.Causes {
		if c.onlyBad() {
			say(&a.Lines, AlsoBad, "Also bad on this car: %s (%s). It hardly explains the complaint (%s).", Article(c.Name), a.Precision.Percent(c.Bad), c.Percent)
		}
	}
	if v := o.Overturn; v != nil {
		say(&a.Lines, Overturn, "One other result would change this: “%s” with the result “%s”. Then %s would lead.", v.What, o.Instead, a.name(v.Cause))
	}
	if o.Rough {
		say(&a.Warnings, FewEngines, "These figures are rough: they can be off by %.0f percentage points, because few engines match.", math.Ceil(200*o.Error))
	}
	odd := ""
	if len(o.Fit.Odd) > 0 {
		odd = fmt.Sprintf("“%s” does not agree with the other findings. Of the engines that match the others, %s would show it. Repeat it before you rely on it.",
			o.Fit.Odd[0].What, Percent(o.Fit.Odd[0].Chance))
	}
	a.Fit = FitFacts{o.Fit, "The findings agree with one another."}
	switch o.Fit.Verdict {
	case "nothing-fits":
		a.Fit.Says = strings.TrimSpace("No known cause, alone or in pairs, explains all of these findings. " + odd)
		say(&a.Warnings, NothingFits, "%s", a.Fit.Says)
	case "strained":
		if len(o.Fit.Odd) == 0 {
			a.Fit.Says = a.Strange[0].Says
			break
		}
		a.Fit.Says = odd
		say(&a.Warnings, OddFinding, "%s", odd)
	}
}

// surelyBad is the probability from which a part counts as bad on this car, and
// hardlyTheCause the share of it below which it is not what the car came for;
// judgement.
const (
	surelyBad      = 0.5
	hardlyTheCause = 0.4
)

// onlyBad is true of a part that is bad and not what the car came for.
func (c *Cause) onlyBad() bool {
	return c.Bad >= surelyBad && c.Probability < hardlyTheCause*c.Bad
}

func (a *OddsFacts) name(id string) string {
	for _, c := range a.Causes {
		if c.Cause == id {
			return Article(c.Name)
		}
	}
	return id
}

func reasons(list []lineup.Reason, s Style) []ReasonFacts {
	out := []ReasonFacts{}
	for i := range list {
		r := &list[i]
		out = append(out, ReasonFacts{Finding: r.Finding, What: r.What, Decibans: math.Round(r.Decibans*10) / 10, Says: reasonSays(r, s)})
	}
	return out
}

// reasonSays tells what a finding says of a cause.
func reasonSays(r *lineup.Reason, s Style) string {
	strength := Strength(r.Decibans)
	if r.With > 0 || r.Without > 0 {
		return fmt.Sprintf("seen in %s cars with this fault, %s without: %s", OfHundred(r.With), OfHundred(r.Without), strength)
	}
	if len(r.Expected) > 0 {
		e := r.Expected[0]
		for _, x := range r.Expected[1:] {
			if apart(x) > apart(e) {
				e = x
			}
		}
		if !math.IsNaN(e.With[0]) && !math.IsNaN(e.Without[0]) {
			return fmt.Sprintf("%s read %s; expected %s with this fault, %s without: %s", spaced(e.Reading),
				Amount(s.Units, e.Kind, e.Read), Span(s.Units, e.Kind, e.With), Span(s.Units, e.Kind, e.Without), strength)
		}
	}
	return fmt.Sprintf("%s: %s", times(r.Decibans), strength)
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
		return n + " times as likely with this fault as without"
	}
	return n + " times as likely without this fault"
}
