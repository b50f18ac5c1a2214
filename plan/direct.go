package plan

import (
	_ "embed"
	"fmt"
	"slices"

	"weephole/cause"
	"weephole/lineup"
	"weephole/plan/solve"
	"weephole/sheet"
)

//go:embed direct.yaml
var directYAML []byte

// DirectProof names the outcomes of checks that show a cause directly: direct.yaml.
type DirectProof struct {
	Cause   string       `sheet:"cause,required"`
	Site    string       `sheet:"site"` // empty: wherever it is
	Source  string       `sheet:"source,required"`
	ShownBy []DirectSign `sheet:"shown-by,required"`
}

// DirectSign is a check that came out in a word.
type DirectSign struct {
	Check string `sheet:"check,required"`
	Found string `sheet:"found,required"`
}

// DirectSigns reads the embedded list of what shows a cause directly.
func DirectSigns() ([]DirectProof, error) {
	var s struct {
		Direct []DirectProof `sheet:"direct,required"`
	}
	if err := sheet.Embedded("direct.yaml", directYAML, &s); err != nil {
		return nil, fmt.Errorf("direct signs: %w", err)
	}
	return s.Direct, nil
}

// Support says what a repair rests on: whether it is costly, and then by what
// its cause was shown or may still be.
type Support struct {
	Costly bool
	// For lists the kinds of fault that a costly repair is done for.
	For []int
	// ShownBy is the check that showed its cause directly; empty for none.
	ShownBy string
	// Open lists the checks that could still show it with the tools at hand;
	// Silent those that were made and did not; OutOfReach those whose tools lack.
	Open, Silent, OutOfReach []string
}

// Withheld is true while the repair must wait for a direct check.
func (s *Support) Withheld() bool {
	return s.Costly && s.ShownBy == "" && len(s.Open)+len(s.Silent) > 0
}

// made is what a check has shown so far, and after how many repairs.
type made struct {
	word string
	at   int // place in the case
}

// supports works out, for each repair of the problem, which of the kinds it is
// done for must be shown first. It comes after all checks have been added.
func (c *CarProblem) supports(cs lineup.Case) {
	shown := make(map[string][]made)
	last := make(map[string]int) // by repair: when it was done last
	for i, ev := range cs.Events {
		if ev.Repair != "" {
			last[ev.Repair] = i + 1
		} else if ev.Word != "" {
			shown[ev.Check] = append(shown[ev.Check], made{ev.Word, i + 1})
		}
	}
	place := make(map[string]int)
	for i, k := range c.Checks {
		place[k.ID] = i
	}
	c.Support = make([]Support, len(c.Repairs))
	for r, rep := range c.Repairs {
		if rep == nil || !rep.Big && c.Bill(rep) < c.Settings.Costly.Value {
			continue
		}
		s, p := &c.Support[r], &c.Problem.Repairs[r]
		s.Costly = true
		p.For = c.mainly(p.Cures)
		s.For = p.For
		for _, k := range p.For {
			showable := false
			for _, sign := range c.Settings.signs(c.Model.Causes, c.Kinds[k]) {
				showable = c.weighSign(s, p, sign, shown[sign.Check], last[rep.ID], place) || showable
			}
			if showable {
				p.Unconfirmed = append(p.Unconfirmed, k)
			}
		}
		p.Confirmed = s.ShownBy != ""
	}
}

// weighSign files a direct sign under what it does for a repair; true if it can
// be had with the tools at hand, or was.
func (c *CarProblem) weighSign(s *Support, p *solve.RepairAction, sign DirectSign, found []made, since int, place map[string]int) bool {
	k := c.Model.Checks.Check(sign.Check)
	if k == nil {
		return false
	}
	was := false
	for _, f := range found {
		if f.at > since {
			was = true
			if f.word == sign.Found {
				s.ShownBy = sign.Check
			}
		}
	}
	i, open := place[sign.Check]
	if open {
		p.Confirmations = append(p.Confirmations, solve.Confirmation{Check: i, Outcome: k.WordIndex(sign.Found)})
	}
	missing, _ := c.lacks(k.Tools)
	list := &s.Silent
	switch {
	case open && len(missing) > 0:
		list = &s.OutOfReach
	case open:
		list = &s.Open
	case !was:
		return false
	}
	if !slices.Contains(*list, sign.Check) {
		*list = append(*list, sign.Check)
	}
	return !open || len(missing) == 0
}

// signs are the direct signs of a fault.
func (s *Assumptions) signs(cat *cause.Catalogue, f cause.Present) []DirectSign {
	var list []DirectSign
	cs := &cat.Causes[f.Cause]
	for _, d := range s.direct {
		if d.Cause == cs.ID && (d.Site == "" || f.Site >= 0 && int(f.Site) < len(cs.Sites) && cs.Sites[f.Site].ID == d.Site) {
			list = append(list, d.ShownBy...)
		}
	}
	return list
}

// mainly lists the kinds that a repair is done for: those it cures nearly as
// surely as any. What it puts right on the way is no reason for a costly repair.
func (c *CarProblem) mainly(cures []float64) []int {
	var out []int
	for k, q := range cures {
		if q > 0 && q >= c.Settings.MainShare.Value*slices.Max(cures) {
			out = append(out, k)
		}
	}
	return out
}
