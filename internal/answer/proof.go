package answer

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"weephole/internal/work"
	"weephole/proof"
	"weephole/quantity"
)

// ProofFacts is what the proof of a job's repair says.
type ProofFacts struct {
	*work.RepairProof
	Lines []Line `json:"lines"`
}

// ForProof puts a proof into words.
func ForProof(w *work.RepairProof, s Style) *ProofFacts {
	a := &ProofFacts{w, []Line{}}
	what := strings.Join(w.Names, ", and ")
	if !w.Done {
		a.say(Verdict, "To be proven: %s.", what)
	}
	if w.Judgement != nil {
		a.judged(w.Judgement, what)
	} else if w.Done {
		a.say(Verdict, "Done: %s. Nothing has been measured after it that could prove it.", what)
	}
	if w.Plan != nil {
		a.planned(w.Plan, s.Units)
	}
	a.margin(s)
	return a
}

func (a *ProofFacts) say(k Kind, format string, args ...any) {
	a.Lines = append(a.Lines, Line{k, fmt.Sprintf(format, args...)})
}

func (a *ProofFacts) judged(j *proof.Judgement, what string) {
	switch {
	case j.Verdict == proof.Proven:
		a.say(Verdict, "Proven: the repair (%s) removed the fault. What was measured afterwards leaves little room for another one that would bring the complaint back.", what)
	case j.AsFarAsSeen() == proof.Proven:
		a.say(Verdict, "Proven as far as these runs and checks can show: the fault is gone (%s), and they show no other.", what)
	case j.Verdict == proof.NotProven && j.Cause == proof.NotProven:
		a.say(Verdict, "Not proven: after the repair (%s) the car still looks as if it had the fault.", what)
	case j.Verdict == proof.NotProven && j.Cause == proof.Proven:
		a.say(Verdict, "Not proven: the repaired fault is gone, but something else is wrong.")
	case j.Verdict == proof.NotProven:
		a.say(Verdict, "Not proven: something is still wrong.")
	case j.Cause == proof.Proven || j.CauseSeen == proof.Proven:
		a.say(Verdict, "The repaired fault is gone, as far as these runs and checks can show. They cannot tell whether something else is wrong.")
	case j.Cause == proof.NotProven:
		a.say(Verdict, "The fault seems to be there still. More checks are needed to be sure.")
	case j.Seen == proof.Proven:
		a.say(Verdict, "Not proven yet that the fault is completely gone.%s No other fault shows.", soFar(j))
	case soFar(j) != "":
		a.say(Verdict, "Not proven yet.%s", soFar(j))
	case SpeaksAgainst(j):
		a.say(Verdict, "Not proven yet: what was seen looks more like a car that still has the fault.")
	case len(a.Bands) == 0:
		a.say(Verdict, "Not proven yet: what was seen would look much the same with and without the fault.")
	default:
		a.say(Verdict, "This could not tell: the car would have looked much the same with and without the fault.")
	}
	if j.Settled >= 0 && j.Cause != proof.CouldNotTell {
		a.say(Run, "The run settled the repaired fault after %.0f minutes.", math.Ceil(j.Settled/60))
	}
	a.say(Figures, "The probability that the fault is gone is %s (before the run: %s). That nothing else is wrong either: %s.",
		Percent(j.Gone), Percent(j.GoneBefore), Percent(j.Clean))
	if j.Close {
		a.say(Figures, "This is close to the line: chance in the simulation may have decided it. One more look makes sure.")
	}
	open, head := j.Suspects, "What may still be wrong"
	if j.AsFarAsSeen() == proof.Proven {
		if j.Cause != proof.Proven && j.Rest > 0 {
			a.say(Open, "A small remainder of the fault, too small to show here, is possible (%s).", Percent(j.Rest))
		}
		open, head = j.Unseen, "What these runs and checks cannot show"
	}
	if j.Verdict != proof.Proven {
		a.open(head, open)
	}
	a.open("What may be bad as well and has nothing to do with the complaint", j.Beside)
}

// speaksFor is how many times likelier what was seen has to be with the fault gone, to be
// said of a repair that is not proven. Judgement.
const speaksFor = 3

// SpeaksFor is true where what was seen after a repair speaks for it, proven or not.
func SpeaksFor(j *proof.Judgement) bool { return math.Exp(j.LogOddsCause) >= speaksFor }

// SpeaksAgainst is true where it speaks as clearly for a fault that is still there.
func SpeaksAgainst(j *proof.Judgement) bool { return math.Exp(-j.LogOddsCause) >= speaksFor }

// soFar says how near an open proof is; nothing where what was seen hardly speaks for it.
func soFar(j *proof.Judgement) string {
	if !SpeaksFor(j) {
		return ""
	}
	times := math.Exp(j.LogOddsCause)
	// Rounded down: 49.6 times is not the 50 that is asked for.
	return fmt.Sprintf(" What was seen is %.0f times as likely if it is gone as if it is not. From %.0f times on that counts as proof.", math.Floor(times), j.Asked)
}

// open names the likeliest of what is left open.
func (a *ProofFacts) open(head string, list []proof.Suspect) {
	if len(list) == 0 {
		return
	}
	var names []string
	list = proof.ByName(list)
	for _, x := range list[:min(3, len(list))] {
		names = append(names, fmt.Sprintf("%s (%s)", x.Name, Percent(x.Probability)))
	}
	a.say(Open, "%s: %s.", head, strings.Join(names, "; "))
}

func (a *ProofFacts) planned(p *proof.Design, u quantity.Units) {
	if len(p.Runs) > 0 && !p.Settled {
		a.run(&p.Runs[0], u)
		var cannot []string
		for i := range p.Runs {
			if !p.Runs[i].Tells && !p.Runs[i].FindsOut {
				cannot = append(cannot, p.Runs[i].Name)
			}
		}
		if len(cannot) > 0 && len(cannot) < len(p.Runs) {
			a.say(Run, "These runs cannot tell: %s.", strings.Join(cannot, "; "))
		}
	}
	for i := range p.Further {
		r := &p.Further[i]
		a.say(Run, "Worth logging as well, for what else may be wrong: %s, %.0f minutes in all. It would reveal: %s. %s", r.Name, r.Minutes, r.Reveals, r.How)
	}
	for _, c := range p.Checks {
		again := ""
		if c.Again {
			again = ", once more, because it did not show what a good car shows"
		}
		a.say(Checks, "%s (%s)%s. If all is well: %s. If not, perhaps: %s.", Sentence(c.Name), Time(c.Minutes), again, c.Wants, c.Shows)
	}
	if p.AskOwner {
		a.say(AskOwner, "After some days, ask the owner whether the complaint has come back. Enter the answer as what the repair changed. It would reveal: %s.", p.OwnerShows)
	}
	if !p.Whole && len(p.Hidden) > 0 {
		var names []string
		for _, h := range p.Hidden {
			if len(names) < 3 && !slices.Contains(names, h.Name) {
				names = append(names, h.Name)
			}
		}
		a.say(Open, "Still possible after all that: %s. Tell the owner, and look at the car again later.", strings.Join(names, "; "))
	}
}

// run says what the best run can tell.
func (a *ProofFacts) run(r *proof.RunPower, u quantity.Units) {
	apart := u.TemperatureDifference(quantity.TemperatureDifference(math.Abs(r.Apart)))
	passes, finds := Percent(r.Passes), Percent(r.Finds)
	switch {
	case r.Tells:
		a.say(Run, "A run that can tell: %s, %.0f minutes in all. Half of the good repairs are proven after %.0f minutes. %s", r.Name, r.Minutes, math.Ceil(r.Enough), r.How)
		a.say(Power, "In %d simulated runs of each kind it confirmed %s of the good repairs and found %s of the failed ones. At %.0f minutes the two are typically %s apart.",
			r.Trials, passes, finds, r.ApartAt, apart)
	case r.FindsOut:
		a.say(Run, "A run that would show a failed repair: %s, %.0f minutes in all. Half of the failed repairs show after %.0f minutes. %s", r.Name, r.Minutes, math.Ceil(r.Enough), r.How)
		a.say(Power, "In %d simulated runs of each kind it found %s of the failed repairs. At %.0f minutes they are typically %s from the good ones.", r.Trials, finds, r.ApartAt, apart)
		a.say(Power, "Alone it confirmed %s of the good ones, because a small remainder of the fault could stay hidden. Make the checks below as well.", passes)
	default:
		a.say(Run, "No logged run settles the repaired fault in today's air. The checks below have to.")
	}
}

// Short is how a proof stands, in a few words.
func (a *ProofFacts) Short() string {
	j := a.Judgement
	switch {
	case !a.Done:
		return "Before the repair: how it will be proven"
	case j == nil:
		return "Done, not yet proven"
	case j.Verdict == proof.Proven:
		return "Proven"
	case j.AsFarAsSeen() == proof.Proven:
		return "Proven, as far as could be seen"
	case j.Verdict == proof.NotProven:
		return "Not proven"
	case len(a.Bands) == 0 || SpeaksFor(j) || SpeaksAgainst(j):
		return "Done, not yet proven"
	}
	return "This run could not tell"
}
