package paper

import (
	"io"

	"weephole/internal/answer"
	"weephole/internal/chart"
	"weephole/internal/job"
	"weephole/internal/work"
	"weephole/lineup"
	"weephole/trace"
)

// Letter is the account, ready to be set.
type Letter struct {
	Title    string    `json:"title"`
	From     string    `json:"from"` // the shop
	Date     string    `json:"date"`
	Car      string    `json:"car"`
	Sections []Section `json:"sections"`
	Short    string    `json:"short"` // for a text message
	Logo     *Logo     `json:"-"`     // the shop's; nil: none. Whoever sets the letter puts it in
}

// Section is one part of the letter; parts that are empty are not set.
type Section struct {
	Head  string      `json:"head"`
	Paras []string    `json:"paras,omitempty"`
	Rows  [][2]string `json:"rows,omitempty"` // what, and what it showed
	Items []string    `json:"items,omitempty"`
	Chart *chart.Plot `json:"-"`
}

// Facts is what a letter is made from.
type Facts struct {
	Job     *job.Job
	Model   *lineup.Model
	Style   answer.Style
	History work.History
	Odds    lineup.Odds       // as they stood before the repair
	Proof   *work.RepairProof // nil or undone when nothing was repaired
	Before  *trace.Trace      // a log from before the repair, or nil
}

// HTML writes the letter as a page of its own, without anything from elsewhere.
func (l *Letter) HTML(w io.Writer) error { return set(w, letterPage, l) }

// shown are bounds of what a letter says; judgement.
const (
	ruledOut  = 0.05 // odds at or under which a cause counts as ruled out
	wasLikely = 0.04 // odds at the start from which it is worth a word
	fell      = 0.5  // share of those to which they must have fallen to have been ruled out here
	mostRuled = 4
	// mostProves is how many runs and checks are named that would prove a repair.
	mostProves = 3
	supported  = 0.5 // odds from which a quote's cause is supported
)

// Write makes the letter.
func Write(f Facts) *Letter {
	w := &writer{Facts: f, step: answer.PrecisionOf(f.Odds.Error)}
	w.found()
	l := &Letter{Title: "About your car and its cooling system", From: f.Job.Shop.Name, Date: f.Job.Closing.When, Car: f.Job.Vehicle.Name}
	if l.Car == "" {
		l.Car = f.Job.Name
	}
	for _, s := range []Section{w.told(), w.measured(), w.was(), w.wasNot(), w.quote(), w.done(), w.proof(), w.margin(), w.cost(), w.watch(), w.cautions()} {
		if len(s.Paras)+len(s.Items)+len(s.Rows) > 0 || s.Chart != nil {
			l.Sections = append(l.Sections, s)
		}
	}
	l.Short = w.short()
	return l
}

type writer struct {
	Facts
	cause string           // what it was, by id; "" if nobody can say
	sure  bool             // the shop has written the cause down
	step  answer.Precision // to which the odds are said
}

// found settles what the letter says it was: what the shop wrote down at the
// closing, else what the odds say by more than half.
func (w *writer) found() {
	if c := w.Job.Closing.Cause; c != "" && c != job.Unknown {
		w.cause, w.sure = c, true
		return
	}
	if len(w.Odds.Causes) > 0 && w.Odds.Causes[0].Probability >= 0.5 && w.Model.Causes.Index(w.Odds.Causes[0].Cause) != w.Model.Causes.Unnamed() {
		w.cause = w.Odds.Causes[0].Cause
	}
}

func (w *writer) odds(id string) *lineup.CauseOdds {
	for i := range w.Odds.Causes {
		if w.Odds.Causes[i].Cause == id {
			return &w.Odds.Causes[i]
		}
	}
	return nil
}

func (w *writer) name(id string) string {
	if c := w.Model.Causes.Cause(id); c != nil {
		return answer.Article(c.Name)
	}
	return id
}
