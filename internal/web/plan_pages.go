package web

import (
	"bytes"
	"context"
	"fmt"
	"html/template"
	"net/http"
	"reflect"
	"regexp"
	"slices"
	"time"

	"weephole/internal/answer"
	"weephole/internal/paper"
	"weephole/internal/store"
	"weephole/internal/web/answers"
	"weephole/internal/work"
)

// whatIfOf reads what a request supposes.
func whatIfOf(r *http.Request) work.WhatIf {
	one := func(part string) string { return clip(r.FormValue(part), 60) }
	list := func(part string) []string {
		if v := one(part); v != "" {
			return []string{v}
		}
		return nil
	}
	return work.WhatIf{
		Findings: list(work.IfFound), With: list(work.IfWith), Without: list(work.IfWithout),
		Quote: one(work.IfQuote), Rate: one(work.IfRate), LeaveIn: one(work.IfLeaves),
	}
}

// First is what a list of one is set to, for a form that lets one be chosen.
func (planPage) First(list []string) string {
	if len(list) == 0 {
		return ""
	}
	return list[0]
}

// whatIfPart calls the parts of a what-if as the form does.
func whatIfPart(part string) string {
	switch part {
	case work.IfFound:
		return "a finding"
	case work.IfWith, work.IfWithout:
		return "a tool"
	case work.IfQuote:
		return "the quote's price"
	case work.IfRate:
		return "the labour rate"
	case work.IfLeaves:
		return "the time left"
	}
	return part
}

var supposes = []param{
	{"query", "if", `a finding supposed, such as "combustion-gas=turned"`, "string"}, {"query", "with", "a tool that is then at hand", "string"},
	{"query", "without", "a tool that is then not", "string"}, {"query", "quote", "the quote's price then", "string"},
	{"query", "rate", "the labour rate then", "string"}, {"query", "leave-in", `the time that the car then has, such as "90 min"`, "string"},
}

// settledAnswer is the settled answer that the job's other pages show; nil where there is none
// yet.
func (dg *diagnosis) settledAnswer(ctx context.Context, s *store.State) *answers.Answer {
	a, err := dg.answer(ctx, s.ID)
	if err != nil || a == nil || a.Seq < evidenceSeq(s) || a.Stage != answers.Fine {
		return nil
	}
	return a
}

// planOf is the plan in a settled answer; nil where it has none, and one has to be worked
// out by itself.
func planOf(a *answers.Answer) *answers.PlanReply {
	if a == nil || a.Next == nil || a.Next.Tree == nil {
		return nil
	}
	return &answers.PlanReply{NextFacts: a.Next}
}

// shares tells that the plan is that of the answer on the job's other pages, once it is
// settled: nothing is supposed, and the bench settles answers.
func (dg *diagnosis) shares(what work.WhatIf) bool {
	return reflect.ValueOf(what).IsZero() && dg.cfg.Answers.FineSize > 0
}

// awaitSettled waits for the settled answer where the plan is that one's, and gives its
// plan. It is nil where a plan has to be worked out by itself.
func (dg *diagnosis) awaitSettled(ctx context.Context, s *store.State, what work.WhatIf) *answers.PlanReply {
	if !dg.shares(what) {
		return nil
	}
	if a := dg.settledAnswer(ctx, s); a != nil {
		return planOf(a)
	}
	if err := dg.evaluate(ctx, s); err != nil {
		return nil
	}
	ctx, cancel := context.WithTimeout(ctx, longestWait)
	defer cancel()
	a, err := dg.warm.Answer(ctx, s.ID, evidenceSeq(s), answers.Fine)
	if err != nil {
		return nil
	}
	return planOf(a)
}

// plannedDeep waits for the plan of the job that a request is about.
func (ap *answersAPI) plannedDeep(r *http.Request) (*answers.PlanReply, *store.State, error) {
	s, sub, err := ap.closingRequest(r)
	if err != nil {
		return nil, nil, err
	}
	if p := ap.awaitSettled(r.Context(), s, whatIfOf(r)); p != nil {
		return p, s, nil
	}
	ctx, cancel := context.WithTimeout(r.Context(), longestWait)
	defer cancel()
	p, err := ap.cache.Plan(ctx, sub, whatIfOf(r))
	return p, s, closingError(err)
}

func (ap *answersAPI) getPlan(_ http.ResponseWriter, r *http.Request) (any, error) {
	p, _, err := ap.plannedDeep(r)
	return p, err
}

// planAs gives the plan as a drawing or as a sheet to print.
func (ap *answersAPI) planAs(kind string) func(http.ResponseWriter, *http.Request) (any, error) {
	return func(w http.ResponseWriter, r *http.Request) (any, error) {
		p, s, err := ap.plannedDeep(r)
		if err != nil {
			return nil, err
		}
		var out bytes.Buffer // whole, so that a failure is an error and not half a page
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
		if kind == "svg" {
			h.Set("Content-Type", "image/svg+xml")
			err = paper.PlanSVG(&out, p.NextFacts)
		} else {
			_, car, _ := store.Headline(s.Head)
			h.Set("Content-Type", "text/html; charset=utf-8")
			var set *ShopInput
			head := paper.Heading{Car: car}
			if set, err = ap.settings(r.Context()); err != nil {
				return nil, err
			}
			if head.Logo, err = ap.logo(r.Context()); err != nil {
				return nil, err
			}
			head.Shop = set.Name
			err = paper.BenchSheet(&out, p.NextFacts, head)
		}
		if err != nil {
			return nil, err
		}
		_, _ = w.Write(out.Bytes()) // the device has gone away
		return nil, nil
	}
}

type planPage struct {
	endTab
	Plan     *answers.PlanReply
	Tree     template.HTML
	What     work.WhatIf
	Supposed []choice // findings that can be supposed
	Tools    []choice
	HasQuote bool
	Query    string // the what-if, for links to the drawing and the sheet
}

func (pg *endPages) planPage(r *http.Request) (any, error) {
	if r.FormValue("wait") != "" { // before the strip is made, so that both are of one answer
		s, _, err := pg.closingRequest(r)
		if err != nil {
			return nil, err
		}
		pg.awaitSettled(r.Context(), s, whatIfOf(r))
	}
	base, s, sub, err := pg.endOf(r, "plan")
	if err != nil {
		return nil, err
	}
	p := planPage{endTab: base, What: whatIfOf(r), Tools: pg.tools()}
	q := r.URL.Query()
	q.Del("wait")
	for key, v := range q {
		if len(v) == 0 || v[0] == "" {
			q.Del(key)
		}
	}
	p.Query = q.Encode()
	if p.Problem != "" {
		return p, nil
	}
	if pg.shares(p.What) {
		a := pg.settledAnswer(r.Context(), s)
		if got := planOf(a); got != nil {
			return p.shows(&pg.diagnosis, got)
		}
		if a == nil && r.FormValue("wait") == "" {
			pg.evaluateAfterPaint(s)
			p.Working, p.Waits = true, pg.leftOf(s.ID)
			return p, nil
		}
	}
	got, there, err := pg.cache.PlanNow(sub, p.What)
	if r.FormValue("wait") != "" && !there {
		ctx, cancel := context.WithTimeout(r.Context(), longestWait)
		defer cancel()
		got, err = pg.cache.Plan(ctx, sub, p.What)
		there = true
	}
	if err := p.showError(err); err != nil {
		return nil, err
	}
	p.Waits = pg.cache.PlanLeft(sub, p.What)
	if p.Working = !there; got == nil || got.NextFacts == nil {
		return p, nil
	}
	return p.shows(&pg.diagnosis, got)
}

// leftOf is how long a job's settled answer is still away.
func (dg *diagnosis) leftOf(id string) answers.Left {
	left, of, ok := dg.warm.Left(id)
	if !ok {
		return answers.Left{}
	}
	return answers.Left{Left: max(time.Second, left), Of: of}
}

// shows is the page with a plan on it.
func (p planPage) shows(dg *diagnosis, got *answers.PlanReply) (any, error) {
	var err error
	p.Plan, p.HasQuote, p.Age = got, got.Quote != nil, dg.aged(got.Made)
	if p.Tree, err = treeOf(got.NextFacts); err != nil {
		return nil, err
	}
	p.suppose(&dg.wording, got)
	return p, nil
}

// ownStyle is the style that a drawing of the plan carries for standing alone; a
// page has its own, and its policy lets no other in.
var ownStyle = regexp.MustCompile(`(?s)<style>.*?</style>`)

func treeOf(n *answer.NextFacts) (template.HTML, error) {
	var out bytes.Buffer
	if err := paper.PlanSVG(&out, n); err != nil {
		return "", err
	}
	return template.HTML(ownStyle.ReplaceAllString(out.String(), "")), nil // our own drawing, its texts escaped there
}

// supposedSteps is of how many of the plan's steps the outcomes can be supposed; judgement.
const supposedSteps = 6

// suppose lists what the next steps may show.
func (p *planPage) suppose(wo *wording, got *answers.PlanReply) {
	n := got.NextFacts
	if got.Before != nil {
		n = got.Before
	}
	for _, s := range n.Steps[:min(supposedSteps, len(n.Steps))] {
		if k := wo.model.Checks.Check(s.Do); k != nil {
			for _, w := range k.Words {
				p.Supposed = append(p.Supposed, choice{k.ID + "=" + w.Is, k.Name + ": " + w.Says})
			}
		}
		if rep := wo.model.Causes.Repair(s.Do); rep != nil {
			p.Supposed = append(p.Supposed, choice{rep.ID + "=nothing", rep.Name + ": changed nothing"})
		}
	}
}

// branchView is a step of the plan in words, with what follows it. On a phone all but the
// first step is folded.
type branchView struct {
	*answer.PlanFacts
	Told []cautionView // its cautions that no step before it on the same way had
	ID   string        // of its fold; it names the way there
	On   []wayView
}

// wayView is an outcome, and the step that follows it.
type wayView struct {
	answer.WayFacts
	Then *branchView // nil where nothing follows
}

// Words is the tree told in words: a caution that stands further up on the same way
// is not said once more.
func (p planPage) Words() *branchView { return p.branchOf(p.Plan.Tree, "then", nil) }

func (p planPage) branchOf(b *answer.PlanFacts, id string, told []string) *branchView {
	if b == nil {
		return nil
	}
	out := &branchView{PlanFacts: b, ID: id}
	fresh := slices.DeleteFunc(slices.Clone(b.Cautions), func(c string) bool { return slices.Contains(told, c) })
	out.Told = p.Signed(fresh)
	told = append(slices.Clone(told), fresh...)
	for i, x := range b.Ways {
		out.On = append(out.On, wayView{x, p.branchOf(x.Then, fmt.Sprintf("%s-%d", id, i), told)})
	}
	return out
}

// Shown tells whether the strip above says the first step's cautions already.
func (p planPage) Shown() bool {
	return p.Strip != nil && p.Strip.Step != nil && p.Plan != nil && len(p.Plan.Steps) > 0 && p.Strip.Step.Do == p.Plan.Steps[0].Do
}

// Cautions and Says part what the plan says: cautions first.
func (p planPage) Cautions() []string {
	if p.Plan == nil || len(p.Plan.Steps) == 0 {
		return nil
	}
	return p.Plan.Steps[0].Cautions
}

// Says is the plan told in sentences, after its cautions.
func (p planPage) Says() []string {
	return append(answer.Texts(p.Plan.Warnings), answer.Texts(p.Plan.Lines, answer.Caution)...)
}

// Money prints an amount of the plan.
func (p planPage) Money(x float64) string { return answer.Money(x, p.Plan.Currency) }

// Was is the step that came first before the what-if, nil without one.
func (p planPage) Was() *answer.Step {
	if p.Plan.Before == nil || len(p.Plan.Before.Steps) == 0 {
		return nil
	}
	return &p.Plan.Before.Steps[0]
}
