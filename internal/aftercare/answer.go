package aftercare

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"weephole/cause"
	"weephole/lineup"
	"weephole/proof"
	"weephole/quantity"
)

// Answer is what the proof of a job's repair says, for programs and for people.
type Answer struct {
	Repairs []string `json:"repairs"` // ids
	Names   []string `json:"names"`
	Done    bool     `json:"done"` // false: the repair is still to be done
	// Cautions are to be read before the run.
	Cautions  []string         `json:"cautions"`
	Plan      *proof.Design    `json:"plan,omitempty"`
	Judgement *proof.Judgement `json:"judgement,omitempty"`
	Bands     []Band           `json:"bands,omitempty"`
	Says      []string         `json:"says"`
}

// Band is a logged run with where repaired and unrepaired engines would have been.
type Band struct {
	Finding int `json:"finding"` // order in the job, from 1
	*proof.Band
}

// Ask says what is wanted of a proof.
type Ask struct {
	Settings *proof.Criteria
	Units    quantity.Units
	Seed     uint64
	Repairs  []string // to plan for, where none was done yet; empty: what the odds suggest
	// Weigh makes the lineup of a case.
	Weigh func(context.Context, lineup.Case) (*lineup.Lineup, error)
}

// ErrNothingToProve says that the odds suggest no repair.
var ErrNothingToProve = errors.New("nothing to prove: no repair was done, and the odds suggest none yet; go on finding out, or name a repair with --repair")

// For plans or judges the proof of a job.
func For(ctx context.Context, parted *Parted, ask Ask) (*Answer, error) {
	l, err := ask.Weigh(ctx, parted.Before)
	if err != nil {
		return nil, err
	}
	a := &Answer{Repairs: parted.Repairs, Done: len(parted.Repairs) > 0, Cautions: []string{}}
	if !a.Done {
		if a.Repairs = ask.Repairs; len(a.Repairs) == 0 {
			if a.Repairs = Suggested(l); len(a.Repairs) == 0 {
				return nil, ErrNothingToProve
			}
		}
	}
	causes := l.Model().Causes
	p, err := proof.New(ctx, l, ask.Settings, a.Repairs, parted.Before.Shop, ask.Seed)
	if err != nil {
		return nil, err
	}
	for _, id := range a.Repairs {
		a.Names = append(a.Names, causes.Repair(id).Name)
	}
	if len(parted.Evidence) > 0 && a.Done {
		if a.Judgement, err = p.Judge(ctx, parted.Evidence...); err != nil {
			return nil, err
		}
		for i := range parted.Evidence {
			if parted.Evidence[i].Log == nil {
				continue
			}
			b, err := p.Band(ctx, parted.Evidence[i])
			if err != nil {
				return nil, err
			}
			a.Bands = append(a.Bands, Band{parted.EvidenceOf[i] + 1, b})
		}
	}
	if a.Judgement == nil || a.Judgement.Verdict == proof.CouldNotTell {
		if a.Plan, err = p.Design(ctx, parted.Evidence...); err != nil {
			return nil, err
		}
		if len(a.Plan.Runs) > 0 && !a.Plan.Settled {
			a.Cautions = append(a.Cautions, a.Plan.Runs[0].Cautions()...)
		}
	}
	a.says(causes, ask.Units)
	return a, nil
}

// Suggested is the usual repair of the likeliest cause; none when nothing
// is wrong or nothing known fits.
func Suggested(l *lineup.Lineup) []string {
	m := l.Model().Causes
	odds := l.Odds()
	if len(odds.Causes) == 0 {
		return nil
	}
	top := &odds.Causes[0]
	f := cause.Present{Cause: m.Index(top.Cause), Site: cause.NoSite}
	if f.Cause < 0 || f.Cause == m.NoFault() || m.Causes[f.Cause].Anything {
		return nil
	}
	if len(top.Sites) > 0 {
		f.Site = m.Causes[f.Cause].SiteIndex(top.Sites[0].Site)
	}
	if r := m.UsualRepair(f); r >= 0 {
		return []string{m.Repairs[r].ID}
	}
	return nil
}

func (a *Answer) says(causes *cause.Catalogue, u quantity.Units) {
	what := strings.Join(a.Names, ", and ")
	if !a.Done {
		a.Says = append(a.Says, fmt.Sprintf("To be proven: %s.", what))
	}
	if j := a.Judgement; j != nil {
		a.Says = append(a.Says, verdictSays(j, what)...)
	} else if a.Done {
		a.Says = append(a.Says, fmt.Sprintf("Done: %s. Nothing was seen after it yet that could prove it.", what))
	}
	if a.Plan != nil {
		a.Says = append(a.Says, planSays(a.Plan, u)...)
	}
}

func verdictSays(j *proof.Judgement, what string) []string {
	var out []string
	switch {
	case j.Verdict == proof.Proven:
		out = append(out, fmt.Sprintf("Proven: the repair (%s) has put it right, and what was seen after it leaves little room for anything else.", what))
	case j.AsFarAsSeen() == proof.Proven:
		out = append(out, fmt.Sprintf("Proven as far as this could see: the cause is gone (%s), and nothing is wrong that these runs and checks would have shown.", what))
	case j.Verdict == proof.NotProven && j.Cause == proof.NotProven:
		out = append(out, fmt.Sprintf("Not proven: what was seen after it (%s) looks as if the cause were still there.", what))
	case j.Verdict == proof.NotProven && j.Cause == proof.Proven:
		out = append(out, "Not proven: the cause is gone, but something else is wrong.")
	case j.Verdict == proof.NotProven:
		out = append(out, "Not proven: something is still wrong.")
	case j.Cause == proof.Proven || j.CauseSeen == proof.Proven:
		out = append(out, "The cause is gone: that is proven as far as this could show it. Whether nothing else is wrong, this could not tell.")
	case j.Cause == proof.NotProven:
		out = append(out, "The cause looks as if it were still there; it takes more to be sure.")
	case j.Seen == proof.Proven:
		out = append(out, "Not settled yet whether the cause is wholly gone. Nothing else is wrong that these runs and checks would have shown.")
	default:
		out = append(out, "This could not tell: it would have looked much the same either way.")
	}
	if j.Settled >= 0 && j.Cause != proof.CouldNotTell {
		out = append(out, fmt.Sprintf("On the cause the run had settled it after %.0f minutes.", math.Ceil(j.Settled/60)))
	}
	out = append(out, fmt.Sprintf("Odds that the cause is gone: %s (before the run %s). That nothing else is wrong either: %s.",
		outOf(j.Gone), outOf(j.GoneBefore), outOf(j.Clean)))
	list := func(head string, what []proof.Suspect) {
		if len(what) == 0 || j.Verdict == proof.Proven {
			return
		}
		var names []string
		for _, x := range what[:min(3, len(what))] {
			names = append(names, fmt.Sprintf("%s (%s)", x.Name, outOf(x.Probability)))
		}
		out = append(out, head+strings.Join(names, "; ")+".")
	}
	if j.AsFarAsSeen() == proof.Proven {
		if j.Cause != proof.Proven && j.Rest > 0 {
			out = append(out, fmt.Sprintf("A small rest of the cause, less than this could show, may be left in %s.", outOf(j.Rest)))
		}
		list("What these runs and checks could not have shown: ", j.Unseen)
	} else {
		list("What may still be wrong: ", j.Suspects)
	}
	return out
}

// outOf says a probability as a count, never as a certainty.
func outOf(p float64) string {
	switch {
	case p > 0.995:
		return "more than 199 in 200"
	case p >= 0.95 || p <= 0.05 && p >= 0.005:
		return fmt.Sprintf("%.0f in 200", 200*p)
	case p < 0.005:
		return "fewer than 1 in 200"
	}
	return fmt.Sprintf("%.0f in 20", 20*p)
}

// runSays says what the best run can tell.
func runSays(r *proof.RunPower, u quantity.Units) []string {
	trials := func(share float64) string {
		return fmt.Sprintf("%.0f of %d", share*float64(r.Trials), r.Trials)
	}
	apart := u.TemperatureDifference(quantity.TemperatureDifference(math.Abs(r.Apart)))
	switch {
	case r.Tells:
		return []string{
			fmt.Sprintf("A run that can tell: %s, %.0f minutes in all; half of the good repairs are settled after %.0f. %s",
				r.Name, r.Minutes, math.Ceil(r.Enough), r.How),
			fmt.Sprintf("Tried on simulated cars, it showed %s good repairs to be good, and found out %s that left the cause; at %.0f minutes the two lie typically %s apart.",
				trials(r.Passes), trials(r.Finds), r.ApartAt, apart),
		}
	case r.FindsOut:
		return []string{
			fmt.Sprintf("A run that would show a failed repair: %s, %.0f minutes in all; half of those that left the cause are found out after %.0f. %s",
				r.Name, r.Minutes, math.Ceil(r.Enough), r.How),
			fmt.Sprintf("Tried on simulated cars, it found out %s that left the cause; at %.0f minutes they lie typically %s from the good ones. By itself it proved only %s good ones, since a small rest of the cause could hide in it: the checks below belong to it.",
				trials(r.Finds), r.ApartAt, apart, trials(r.Passes)),
		}
	}
	return []string{"No run with a log of the coolant temperature can settle it in this air: the checks have to."}
}

func planSays(p *proof.Design, u quantity.Units) []string {
	var out []string
	if len(p.Runs) > 0 && !p.Settled {
		out = append(out, runSays(&p.Runs[0], u)...)
	}
	var cannot []string
	for i := range p.Runs {
		if !p.Runs[i].Tells && !p.Runs[i].FindsOut {
			cannot = append(cannot, p.Runs[i].Name)
		}
	}
	if len(cannot) > 0 && len(cannot) < len(p.Runs) && !p.Settled {
		out = append(out, "These cannot tell: "+strings.Join(cannot, "; ")+".")
	}
	for _, c := range p.Checks {
		out = append(out, fmt.Sprintf("Check: %s (%.0f min). If all is well: %s. It would give away: %s.", c.Name, c.Minutes, c.Wants, c.Shows))
	}
	if p.AskOwner {
		out = append(out, fmt.Sprintf("After some days: ask the owner whether what was complained of has come back, and write his word down as changed: of the repair. It would give away: %s.", p.OwnerShows))
	}
	if !p.Whole && len(p.Hidden) > 0 {
		var names []string
		for _, h := range p.Hidden[:min(3, len(p.Hidden))] {
			names = append(names, h.Name)
		}
		out = append(out, "Even then not excluded: "+strings.Join(names, "; ")+". Say so, and have the car look in again.")
	}
	return out
}
