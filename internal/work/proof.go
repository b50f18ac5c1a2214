package work

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"weephole/cause"
	"weephole/lineup"
	"weephole/margin"
	"weephole/proof"
	"weephole/quantity"
)

// RepairProof is the proof of a job's repair, planned or judged.
type RepairProof struct {
	Repairs []string `json:"repairs"` // ids
	Names   []string `json:"names"`
	Done    bool     `json:"done"` // false: the repair is still to be done
	// Cautions are to be read before the run.
	Cautions  []string         `json:"cautions"`
	Plan      *proof.Design    `json:"plan,omitempty"`
	Judgement *proof.Judgement `json:"judgement,omitempty"`
	Bands     []ProofBand      `json:"bands,omitempty"`
	// Margin is how much cooling the car had before the repair, and has after it; nil
	// where no engine fits.
	Margin *CarMargin `json:"margin,omitempty"`
}

// ProofBand is a logged run with where repaired and unrepaired engines would have
// been.
type ProofBand struct {
	Finding int `json:"finding"` // order in the job, from 1
	*proof.RunBands
}

// ErrNothingToProve says that no repair was done and the odds suggest none.
var ErrNothingToProve = errors.New("there is nothing to prove yet: no repair was done, and the odds suggest none; make more checks, or name a repair with --repair")

// UnknownRepair is a repair that the catalogue does not have.
type UnknownRepair struct {
	ID    string
	Model *lineup.Model
}

func (e *UnknownRepair) Error() string {
	var ids []string
	for i := range e.Model.Causes.Repairs {
		ids = append(ids, e.Model.Causes.Repairs[i].ID)
	}
	if near := quantity.Nearest(e.ID, ids); near != "" {
		return fmt.Sprintf("no repair is called %q; did you mean %s?", e.ID, near)
	}
	return fmt.Sprintf("no repair is called %q; \"weephole schema\" lists them", e.ID)
}

// Proof judges the repair done last. Where none was done, or its run could not
// tell, it plans the run that can. Repairs are those to plan for where none was
// done yet; none: what the odds suggest.
func (w *Work) Proof(ctx context.Context, repairs []string) (*RepairProof, error) {
	for _, id := range repairs {
		if w.Model.Causes.Repair(id) == nil {
			return nil, &UnknownRepair{id, w.Model}
		}
	}
	a, err := w.proof(ctx, &w.History, repairs)
	if err != nil {
		return nil, err
	}
	ask := MarginAsk{}
	now := w.LineupBefore
	if a.Done {
		now = w.Lineup
	} else {
		ask.Repairs = a.Repairs
	}
	l, err := now(ctx)
	if err != nil {
		return nil, err
	}
	if a.Margin, err = w.MarginOn(ctx, l, w.LineupBefore, ask); err != nil && !errors.Is(err, margin.ErrNoEngines) {
		return nil, err
	}
	return a, nil
}

// ProofPlan plans the proof of the repair done last as if it were still to be done.
func (w *Work) ProofPlan(ctx context.Context) (*RepairProof, error) {
	return w.proof(ctx, &History{}, w.Repairs)
}

func (w *Work) proof(ctx context.Context, h *History, repairs []string) (*RepairProof, error) {
	l, err := w.LineupBefore(ctx)
	if err != nil {
		return nil, err
	}
	a := &RepairProof{Repairs: h.Repairs, Done: len(h.Repairs) > 0, Cautions: []string{}}
	if !a.Done {
		if a.Repairs = repairs; len(a.Repairs) == 0 {
			if a.Repairs = Suggested(l); len(a.Repairs) == 0 {
				return nil, ErrNothingToProve
			}
		}
	}
	for _, id := range a.Repairs {
		a.Names = append(a.Names, w.Model.Causes.Repair(id).Name)
	}
	p, err := w.prover(ctx, l, a.Repairs)
	if err != nil {
		return nil, err
	}
	if len(h.Evidence) > 0 && a.Done {
		if a.Judgement, err = p.Judge(ctx, h.Evidence...); err != nil {
			return nil, err
		}
		for i := range h.Evidence {
			if h.Evidence[i].Log == nil {
				continue
			}
			b, err := p.Band(ctx, h.Evidence[i])
			if err != nil {
				return nil, err
			}
			a.Bands = append(a.Bands, ProofBand{h.EvidenceOf[i] + 1, b})
		}
	}
	if a.Judgement == nil || a.Judgement.Verdict == proof.CouldNotTell {
		if a.Plan, err = p.Design(ctx, h.Evidence...); err != nil {
			return nil, err
		}
		a.Cautions = w.cautionsOf(a.Plan)
	}
	return a, nil
}

// cautionsOf are the cautions of all runs that a plan asks for, each once.
func (w *Work) cautionsOf(d *proof.Design) []string {
	out := []string{}
	add := func(list []string) {
		for _, c := range list {
			if text := w.Units.InText(c); !slices.Contains(out, text) {
				out = append(out, text)
			}
		}
	}
	if len(d.Runs) > 0 && !d.Settled && (d.Runs[0].Tells || d.Runs[0].FindsOut) {
		add(d.Runs[0].Cautions())
	}
	for i := range d.Further {
		add(d.Further[i].Cautions())
	}
	return out
}

func (w *Work) prover(ctx context.Context, l *lineup.Lineup, repairs []string) (*proof.Proof, error) {
	st, err := proof.DefaultCriteria()
	if err != nil {
		return nil, err
	}
	return proof.New(ctx, l, st, repairs, w.Before.Shop, w.options.Lineup.Seed)
}

// Judged is the job as it stood before its repair, with the judgement of what was
// seen after it; both are nil where nothing was.
func (w *Work) Judged(ctx context.Context) (*lineup.Lineup, *proof.Judgement, error) {
	if len(w.Repairs) == 0 || len(w.Evidence) == 0 {
		return nil, nil, nil
	}
	l, err := w.LineupBefore(ctx)
	if err != nil {
		return nil, nil, err
	}
	p, err := w.prover(ctx, l, w.Repairs)
	if err != nil {
		return nil, nil, err
	}
	j, err := p.Judge(ctx, w.Evidence...)
	return l, j, err
}

// Suggested is the usual repair of the likeliest cause; none when nothing is wrong
// or nothing known fits.
func Suggested(l *lineup.Lineup) []string {
	odds := l.Odds()
	if len(odds.Causes) == 0 {
		return nil
	}
	site := ""
	if s := odds.Causes[0].Sites; len(s) > 0 {
		site = s[0].Site
	}
	if id := UsualRepair(l.Model().Causes, odds.Causes[0].Cause, site); id != "" {
		return []string{id}
	}
	return nil
}

// UsualRepair is the id of the usual repair of a cause at a site ("": anywhere);
// "" where nothing is wrong or nothing known fits.
func UsualRepair(m *cause.Catalogue, id, site string) string {
	f := cause.Present{Cause: m.Index(id), Site: cause.NoSite}
	if f.Cause < 0 || f.Cause == m.NoFault() || m.Causes[f.Cause].Anything {
		return ""
	}
	if site != "" {
		f.Site = m.Causes[f.Cause].SiteIndex(site)
	}
	if r := m.UsualRepair(f); r >= 0 {
		return m.Repairs[r].ID
	}
	return ""
}
