package proof

import (
	"context"
	"fmt"
	"math"
	"slices"
)

// Verdict is what the evidence after a repair says of it.
type Verdict string

// The verdicts.
const (
	Proven       Verdict = "proven"
	NotProven    Verdict = "not-proven" // something is still wrong
	CouldNotTell Verdict = "could-not-tell"
)

// Judgement is the verdict with what it rests on.
type Judgement struct {
	// Verdict is on the whole car as far as the complaint goes: the cause gone,
	// nothing left behind by the repair, no second fault that would bring the
	// complaint back.
	Verdict Verdict `json:"verdict"`
	// Cause is the verdict on the repaired cause alone: proven when it is gone,
	// not-proven when it is still there.
	Cause Verdict `json:"cause"`
	// CauseSeen is the verdict on the repaired cause to any extent that these runs
	// and checks could show, and Rest the probability that less of it is left:
	// half a job, or a new part that is slightly bad. It is only spoken where
	// nearly all ways in which the cause may have stayed could be seen.
	CauseSeen Verdict `json:"cause_seen"`
	Rest      float64 `json:"rest"`
	// Seen is the verdict on what else these runs and checks could have shown: a
	// fault that they would have missed in fewer than 1 of 50 such cars. Proven
	// when none of those is there, else could-not-tell; what they could not have
	// shown is in Unseen.
	Seen Verdict `json:"seen"`
	// Gone is the probability that the cause is gone, 0..1; Clean that nothing
	// else is wrong besides. They start from how often such repairs succeed and
	// from the odds before the repair, not from the sceptic's half.
	Gone  float64 `json:"gone"`
	Clean float64 `json:"clean"`
	// Before is the same as Clean and Gone before anything was seen after the repair.
	GoneBefore  float64 `json:"gone_before"`
	CleanBefore float64 `json:"clean_before"`
	// Comeback is 1 - Clean: the chance that the car comes back with this.
	Comeback float64           `json:"comeback"`
	Classes  map[Class]float64 `json:"classes"`
	// Suspects lists what may still be wrong, likeliest first.
	Suspects []Suspect `json:"unsettled"`
	// Unseen lists what else may be wrong without these runs and checks having
	// been able to show it, likeliest first.
	Unseen []Suspect `json:"unseen"`
	// Beside lists what may be bad too and has nothing to do with the complaint,
	// likeliest first. It does not count against the repair.
	Beside []Suspect `json:"beside"`
	// Asked is how many times likelier something must be to count as proven.
	Asked float64 `json:"asked"`
	// LogOdds is the natural logarithm of how many times likelier the evidence
	// is if all is well than if not, for a sceptic; LogOddsCause the same for
	// the cause alone, and LogOddsSeen against what else could have been seen.
	LogOdds      float64 `json:"log_odds"`
	LogOddsCause float64 `json:"log_odds_cause"`
	LogOddsSeen  float64 `json:"log_odds_seen"`
	// LogOddsCauseSeen is LogOddsCause against what could have been seen of the cause.
	LogOddsCauseSeen float64 `json:"log_odds_cause_seen"`
	// Error and ErrorCause are the standard errors of LogOdds and LogOddsCause from
	// having picked so many engines and no more.
	Error      float64 `json:"error"`
	ErrorCause float64 `json:"error_cause"`
	// Close says that LogOddsCause lies within its error of what is asked, and that the
	// verdict as far as could be seen hangs on it: another seed may give the other one.
	Close bool `json:"close"`
	// Course is how they came about along the logs, and Settled the seconds
	// after which the verdict on the cause stood, -1 if it never did.
	Course  []CoursePoint `json:"course,omitempty"`
	Settled float64       `json:"settled_s"`
	Steps   []Update      `json:"steps"`
}

// CoursePoint is the standing after so many seconds of the logs.
type CoursePoint struct {
	Seconds      float64 `json:"s"`
	LogOdds      float64 `json:"log_odds"`
	LogOddsCause float64 `json:"log_odds_cause"`
}

// Update is the standing after each piece of evidence.
type Update struct {
	What         string  `json:"what"`
	LogOdds      float64 `json:"log_odds"`
	LogOddsCause float64 `json:"log_odds_cause"`
	Gone         float64 `json:"gone"`
	Clean        float64 `json:"clean"`
}

// Judge weighs what was seen after the repair, in the order given, and says
// what it proves. It may be called on the beginning of a log while the run goes
// on: the bounds hold however often one looks.
//
// It picks more engines until chance in the picks hardly decides a verdict (finer.go).
func (p *Proof) Judge(ctx context.Context, evidence ...Evidence) (*Judgement, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for {
		j, w, err := p.judge(ctx, evidence)
		if err != nil {
			return nil, err
		}
		share := p.finer(w, j)
		if share == nil {
			j.Close = j.Seen == Proven && j.CauseSeen != Proven && j.Verdict == CouldNotTell &&
				math.Abs(j.LogOddsCause-math.Log(p.st.PassOdds.Value)) < j.ErrorCause
			return j, nil
		}
		if p, err = p.with(ctx, share); err != nil {
			return nil, fmt.Errorf("proof: %w", err)
		}
	}
}

// judge is Judge with the engines at hand.
func (p *Proof) judge(ctx context.Context, evidence []Evidence) (*Judgement, *logLikelihoods, error) {
	w := p.newLogLikelihoods()
	j := &Judgement{Settled: -1, Asked: p.st.PassOdds.Value, Steps: []Update{}}
	j.GoneBefore, j.CleanBefore = goneClean(p.prior)
	seconds := 0.0
	for i := range evidence {
		e := &evidence[i]
		if err := p.addEvidence(ctx, w, e); err != nil {
			return nil, nil, fmt.Errorf("proof: evidence %d: %w", i+1, err)
		}
		if w.course != nil {
			seconds = p.follow(w, j, seconds)
		}
		class := p.marginals(w.ll, -1)
		s := Update{What: p.label(e)}
		s.LogOdds, s.LogOddsCause = p.bayes(class)
		s.Gone, s.Clean = goneClean(posterior(p.prior, class))
		j.Steps = append(j.Steps, s)
	}
	class := p.marginals(w.ll, -1)
	j.LogOdds, j.LogOddsCause = p.bayes(class)
	post := posterior(p.prior, class)
	j.Gone, j.Clean = goneClean(post)
	j.Comeback = 1 - j.Clean
	j.Classes = make(map[Class]float64)
	for c, v := range post {
		j.Classes[Class(c)] = v
	}
	j.Verdict, j.Cause = p.verdicts(w, j.LogOdds, j.LogOddsCause)
	switch {
	case j.Cause == NotProven:
		j.Verdict = NotProven // a car whose cause is still there is not right as a whole
	case j.Verdict == Proven:
		j.Cause = Proven // and one that is right as a whole is rid of its cause
	}
	j.Suspects = p.suspects(w.ll, post, class, p.st.WorthNaming.Value, func(i int) bool { return p.list[i].class != Beside })
	j.Beside = p.suspects(w.ll, post, class, p.st.BesideNaming.Value, func(i int) bool { return p.list[i].class == Beside })
	j.Beside = slices.DeleteFunc(j.Beside, func(x Suspect) bool { return x.Class != Beside })
	p.seen(j, w, post, class)
	j.setSettled(p.st)
	return j, w, nil
}

func goneClean(post [classes]float64) (gone, clean float64) {
	return 1 - post[Still], post[Good] + post[Beside]
}

func (p *Proof) label(e *Evidence) string {
	if e.Label != "" {
		return e.Label
	}
	if e.Changed != nil {
		return "what the repair is said to have changed"
	}
	if c := p.model.Checks.Check(e.Check); c != nil {
		return c.NameMade()
	}
	return "a logged run"
}

// verdict holds a log likelihood ratio against the bounds. By Ville's inequality
// a ratio exceeds A at any time with probability at most 1/A if the other side
// is right, whenever one stops.
func (st *Criteria) verdict(logOdds float64) Verdict {
	switch {
	case logOdds >= math.Log(st.PassOdds.Value):
		return Proven
	case logOdds <= -math.Log(st.DenyOdds.Value):
		return NotProven
	}
	return CouldNotTell
}

// verdicts are those on the whole and on the cause. None is denied by one look alone: a look that
// errs on a few cars of a hundred, made fifteen times, errs once on most good cars. A denial has to
// stand with any one look left out; a log has many rows and stands by itself.
func (p *Proof) verdicts(w *logLikelihoods, whole, gone float64) (onWhole, onCause Verdict) {
	onWhole, onCause = p.st.verdict(whole), p.st.verdict(gone)
	if onWhole != NotProven && onCause != NotProven {
		return onWhole, onCause
	}
	less := make([]float64, len(w.ll))
	for _, look := range w.looks {
		for i := range less {
			less[i] = w.ll[i] - look[i]
		}
		whole, gone = p.bayes(p.marginals(less, -1))
		if onWhole == NotProven && p.st.verdict(whole) != NotProven {
			onWhole = CouldNotTell
		}
		if onCause == NotProven && p.st.verdict(gone) != NotProven {
			onCause = CouldNotTell
		}
	}
	return onWhole, onCause
}

// follow adds a log's course to the judgement and gives the seconds at its end.
func (p *Proof) follow(w *logLikelihoods, j *Judgement, from float64) float64 {
	for _, c := range w.course {
		m := CoursePoint{Seconds: from + float64(c.stretch+1)*w.step}
		m.LogOdds, m.LogOddsCause = p.bayes(p.marginals(c.ll, -1))
		j.Course = append(j.Course, m)
	}
	return j.Course[len(j.Course)-1].Seconds
}

// setSettled finds since when the verdict on the cause has stood.
func (j *Judgement) setSettled(st *Criteria) {
	if j.Cause == CouldNotTell {
		return
	}
	for i := len(j.Course) - 1; i >= 0; i-- {
		if st.verdict(j.Course[i].LogOddsCause) != j.Cause {
			break
		}
		j.Settled = j.Course[i].Seconds
	}
}

// AsFarAsSeen is the verdict on all that the runs and checks could show: the
// repaired cause to any extent that they could show, and whatever else.
func (j *Judgement) AsFarAsSeen() Verdict {
	if j.Verdict == NotProven || j.Cause == NotProven {
		return NotProven
	}
	if j.Verdict == Proven || (j.Cause == Proven || j.CauseSeen == Proven) && j.Seen == Proven {
		return Proven
	}
	return CouldNotTell
}
