package web

import (
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"

	"weephole/internal/answer"
	"weephole/internal/job"
	"weephole/internal/store"
	"weephole/internal/web/answers"
	"weephole/proof"
)

// strip is what stands on top of every page of a job: what it is, what to do now,
// the wait for the cap, who else is here, and the way to the other pages.
type strip struct {
	ID, Car, Words string
	At             string   // which of the tabs is open; "" none
	Facts          []string // of the car, in a line
	Seq            int64
	Archived, Demo bool
	Tabs           []tabView

	State     string // none, problem, rough, settled, repaired, nothing-fits
	Over      string // what the verdict is, in a few words
	Says      string // the verdict itself where no causes are named
	Leads     []leadView
	Currency  string
	More      int    // further causes that are not folded: there is no room for their names
	Others    int    // causes folded into one line
	Fold      string // each of them is less likely than that
	Loose     bool   // the figures are settled and may still be off by more than an answer should be
	Step      *stripStep
	Cap       *capWait
	ProofSays string             // what is known of the proof, in a sentence
	Proven    store.VerdictProof // the same as a fact
	Here      []string           // others who look at this job, by name
	Age       *age               // of the answer that the verdict is from
}

type tabView struct {
	Name, Icon, State, Href string
	Current                 bool
	Done, Failed            bool // there is something to see; it says that a repair failed
}

// leadView is a cause that still leads.
type leadView struct {
	Cause, Name, Percent string
	From, Width          string // of its length on the bar, per cent
}

// stripStep is what to do now.
type stripStep struct {
	answer.Step
	Place  string // where a check is made
	Button string
	Rough  bool // of an answer that is not settled
	Facts  []string
	// Because says in a line why it comes first; it stands where a step has no caution.
	Because string
}

// foldBelow is the probability below which a cause is folded into one line with
// others: judgement.
const foldBelow = 0.05

// pairsCount is the sum of the named causes' odds from which on a sentence says why it is
// more than one: judgement.
const pairsCount = 1.05

// folded is how many causes are possible and folded into one line.
func folded(o *answer.OddsFacts) (n int) {
	for i, c := range o.Causes {
		if i > 0 && c.Probability > 0 && c.Probability < foldBelow {
			n++
		}
	}
	return n
}

// leadsShown is how many causes the strip names: judgement, what a phone has room for.
const leadsShown = 3

// rough tells whether a finer answer is still to come.
func (dg *diagnosis) rough(a *answers.Answer) bool {
	return a.Stage == answers.Coarse && dg.cfg.Answers.FineSize > 0
}

// stripOf makes the strip of a job's page.
func (pg *stripPages) stripOf(r *http.Request, s *currentJob, at string) (*strip, error) {
	a, err := pg.answer(r.Context(), s.ID)
	if err != nil {
		return nil, err
	}
	_, car, words := store.Headline(s.State.Head)
	if car == "" {
		car = "A car"
	}
	st := &strip{ID: s.ID, At: at, Car: car, Words: words, Seq: s.Seq, Archived: s.Archived, Cap: capWaitOf(s.State, pg.cfg.Now()), Facts: carFacts(s)}
	st.Here = slices.DeleteFunc(pg.live.here(s.ID), func(name string) bool { return name == who(r) })
	done := pg.repairsDone(s)
	st.verdict(&pg.diagnosis, s, a, done)
	if st.State == "repaired" && st.Proven != store.ProofOpen {
		v := pg.repaired(s, done, st.Proven)
		v.Judged = evidenceSeq(s.State)
		if st.Age != nil {
			v.Made = st.Age.At
		}
		pg.keepVerdict(r.Context(), s.ID, v)
	}
	st.next(&pg.diagnosis, s, a, len(done) > 0)
	st.tabs(s, at, a, done)
	return st, nil
}

// stripFor is the strip of a page that is none of the tabs.
func (pg *stripPages) stripFor(r *http.Request, s *store.State) (*strip, error) {
	now, err := pg.currentOf(r.Context(), s)
	if err != nil {
		return nil, err
	}
	return pg.stripOf(r, now, "")
}

// carFacts are what a mechanic wants to know of the car at a glance.
func carFacts(s *currentJob) (out []string) {
	v := &s.Head.Vehicle
	if v.Year > 0 {
		out = append(out, fmt.Sprint(v.Year))
	}
	for _, text := range []string{v.Displacement.Text, v.Fuel} {
		if text != "" && text != "unknown" {
			out = append(out, text)
		}
	}
	if v.Cap.Known() {
		out = append(out, "cap "+s.units().Pressure(v.Cap.Value))
	}
	return out
}

// repairsDone are the names of the repairs done last in a row, nothing failed.
func (dg *diagnosis) repairsDone(s *currentJob) []string {
	var v jobView
	v.repairs(&dg.wording, s)
	return v.Done
}

// verdict says where the job stands. After a repair it is the proof's word that
// counts, not the odds: they only say what was wrong before.
func (st *strip) verdict(dg *diagnosis, s *currentJob, a *answers.Answer, done []string) {
	st.Age = dg.ageOf(a, a != nil && a.Seq < evidenceSeq(s.State))
	switch {
	case a == nil:
		st.State, st.Over, st.Says = "none", "Most likely", "Engines like this one are being simulated. The first count comes in some seconds."
		return
	case a.Problem != "":
		st.State, st.Over, st.Says = "problem", "This job cannot be worked out", a.Problem
		return
	case len(done) > 0:
		st.State, st.Over, st.Says = "repaired", "After the repair: "+strings.Join(done, ", "), st.proofWord(dg, s)
		st.ProofSays = st.Says
		if c := s.Head.Closing.Cause; s.Archived && c != "" && c != job.Unknown { // somebody has written down what it was
			st.Over, st.Says = "Closed. "+st.Over, "It was: "+dg.causeName(c)+". "+st.Says
		}
		return
	case a.Odds == nil || len(a.Odds.Causes) == 0:
		st.State, st.Over, st.Says = "none", "Most likely", "Nothing is known yet."
		return
	case a.Odds.Fit.Verdict == "nothing-fits":
		st.State, st.Over, st.Says = "nothing-fits", "Look again", a.Odds.Fit.Says
		return
	}
	st.State, st.Over = "settled", "Most likely"
	if dg.rough(a) || a.Seq < evidenceSeq(s.State) {
		st.State, st.Over = "rough", "First, rough count. "+dg.settlesIn(s.ID)
	}
	if st.Loose = st.State == "settled" && a.Odds.Rough; st.Loose {
		st.Over = "Most likely, roughly"
	}
	st.Fold = answer.Percent(foldBelow)
	st.Others = folded(a.Odds)
	at, whole := 0.0, 0.0
	for i, c := range a.Odds.Causes {
		switch {
		case i > 0 && c.Probability < foldBelow:
		case i < leadsShown:
			whole += c.Probability
		default:
			st.More++
		}
	}
	if whole = max(1, whole); whole > pairsCount && st.State == "settled" {
		st.Over = "Most likely; two may be at fault at once"
	}
	for i, c := range a.Odds.Causes {
		if i > 0 && (c.Probability < foldBelow || i >= leadsShown) {
			continue
		}
		wide := max(0.5, 100*min(1, c.Probability)/whole)
		st.Leads = append(st.Leads, leadView{c.Cause, c.Name, loosely(c.Percent, st.Loose), fmt.Sprintf("%.1f%%", at), fmt.Sprintf("%.1f%%", wide)})
		at += wide
	}
}

// loosely says a percentage that may be off by more than an answer should be. One that is
// a bound already stays as it is.
func loosely(percent string, loose bool) string {
	if loose && percent != "" && percent[0] >= '0' && percent[0] <= '9' {
		return "about " + percent
	}
	return percent
}

// settlesIn says how long the refined answer is still away, as far as that is known.
func (dg *diagnosis) settlesIn(id string) string {
	left, _, known := dg.warm.Left(id)
	if !known {
		return "It settles in some seconds."
	}
	return fmt.Sprintf("Settled in about %.0f s.", max(1, math.Ceil(left.Seconds())))
}

// proofWord is what is known of the proof of the repair done last, in a sentence.
// The proof is worked out behind the scenes where it is not at hand.
func (st *strip) proofWord(dg *diagnosis, s *currentJob) string {
	sub, err := dg.subject(dg.life, s.State)
	if err != nil {
		return ""
	}
	p, there, err := dg.cache.ProofNow(sub)
	st.Age = nil // what is said of a repair is the proof's, not the odds'
	if p != nil {
		st.Age = dg.aged(p.Made)
	}
	if !there && err == nil {
		return "Whether it is proven is being worked out."
	}
	if err != nil {
		return "What would prove it cannot be said: " + failureOf(closingError(err)).Message
	}
	j := p.Judgement
	switch {
	case j == nil:
	case j.Verdict == proof.Proven:
		st.Proven = store.ProofWhole
		return "Proven by what was seen after it."
	case j.AsFarAsSeen() == proof.Proven:
		st.Proven = store.ProofAsSeen
		return "Proven, as far as could be seen."
	case j.Verdict == proof.NotProven:
		st.Proven = store.ProofFailed
		return "Not proven: what was seen after it looks as if the fault were still there."
	}
	return "Not proven yet: a run or a check after it decides."
}

// next says what to do now.
func (st *strip) next(dg *diagnosis, s *currentJob, a *answers.Answer, repaired bool) {
	if s.Archived || a == nil || a.Next == nil || len(a.Next.Steps) == 0 {
		return
	}
	if repaired {
		st.Step = st.afterRepair()
		return
	}
	st.Currency = a.Next.Currency
	n := &stripStep{Step: a.Next.Steps[0], Rough: st.State == "rough"}
	n.Place = dg.placeOf(n.Do)
	switch {
	case n.Kind == "repair" && n.Rough: // a rough count names no part
		st.Step = &stripStep{Step: answer.Step{Kind: "wait", Name: "A repair leads so far"}, Rough: true}
		return
	case n.Kind == "repair":
		n.Button = "Repair sheet"
	case n.Place != "":
		n.Button = "Enter what it shows"
	case n.Kind == "question":
		n.Button = "Enter the answer"
	}
	n.Facts = append(n.Facts, answer.Time(n.Minutes))
	if n.Cost > 0 {
		n.Facts = append(n.Facts, answer.Money(n.Cost, st.Currency))
	}
	if n.Wait > 0 {
		n.Facts = append(n.Facts, "after a wait of "+answer.Time(n.Wait))
	}
	if w := stateWords[n.Engine]; w != "" {
		n.Facts = append(n.Facts, w)
	}
	if why := answer.Only(a.Next.Lines, answer.Reasoning, answer.Cost); len(why) > 0 {
		n.Because = why[0]
	}
	st.Step = n
}

// proofWords are the states of a proof in a word or two.
var proofWords = map[store.VerdictProof]string{store.ProofWhole: "proven", store.ProofAsSeen: "as seen", store.ProofFailed: "failed"}

// The step after a repair, by its proof.
const (
	seeIfItHolds = "See whether the repair holds"
	closeIt      = "Close the job"
	lookAgain    = "Look again: the fault may still be there"
)

// afterRepair is what to do once a repair was done, by what is known of its proof.
func (st *strip) afterRepair() *stripStep {
	step := func(kind, name, button string) *stripStep {
		return &stripStep{Step: answer.Step{Kind: kind, Name: name}, Button: button}
	}
	switch st.Proven {
	case store.ProofWhole:
		return step("closing", closeIt, "To the closing")
	case store.ProofAsSeen:
		s := step("closing", closeIt, "To the closing")
		s.Because = "The proof names what these runs and checks could not show."
		return s
	case store.ProofFailed:
		return step("proof", lookAgain, "To the proof")
	}
	return step("proof", seeIfItHolds, "To the proof")
}

// tabs are the pages of a job, each with how it stands.
func (st *strip) tabs(s *currentJob, at string, a *answers.Answer, done []string) {
	standing := len(s.Standing())
	base := "/jobs/" + s.ID
	tab := func(name, icon, state, address string, there bool) {
		st.Tabs = append(st.Tabs, tabView{Name: name, Icon: icon, State: state, Href: base + address, Current: at == icon || at == "closing" && icon == "close", Done: there})
	}
	word := func(yes bool, is, isNot string) string {
		if yes {
			return is
		}
		return isNot
	}
	planned := a != nil && a.Next != nil && len(a.Next.Steps) > 0
	tab("Job", "job", fmt.Sprintf("%d found", standing), "", standing > 0)
	tab("Plan", "plan", word(planned, "ready", "not yet"), "/plan", planned)
	tab("Repair", "repair", word(len(done) > 0, "done", "not yet"), "/repair", len(done) > 0)
	tab("Proof", "proof", word(st.Proven != store.ProofOpen, proofWords[st.Proven], word(len(done) > 0, "to do", "not yet")), "/proof", st.Proven == store.ProofWhole || st.Proven == store.ProofAsSeen)
	st.Tabs[len(st.Tabs)-1].Failed = st.Proven == store.ProofFailed
	tab("Letter", "letter", word(s.Archived, "written", "draft"), "/letter", s.Archived)
	tab("Close", "close", word(s.Archived, "closed", "open"), "/closing", s.Archived)
}

// stripPage is the strip alone, for a page that keeps it in step.
func (pg *stripPages) stripPage(r *http.Request) (any, error) {
	s, err := pg.current(r.Context(), r.PathValue("id"))
	if err != nil {
		return nil, err
	}
	return pg.stripOf(r, s, r.FormValue("at"))
}
