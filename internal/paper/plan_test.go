package paper_test

import (
	"bytes"
	"encoding/xml"
	"io"
	"strings"
	"testing"

	"weephole/internal/answer"
	"weephole/internal/paper"
)

// invented is a plan of two levels with marks that must not break a page.
func invented() *answer.NextFacts {
	repair := &answer.PlanFacts{Do: "r", Kind: "repair", Name: "replace the <thing>", Minutes: 60, Cost: 150, ExpectedCost: 180,
		Cautions: []string{"Hot & sharp."}, Tools: []string{"spanner"}, RestsOn: "shown directly by “the other check”",
		Ways: []answer.WayFacts{
			{OutcomeFacts: answer.OutcomeFacts{Is: "cured", Says: "the run after it shows a healthy engine", Probability: 0.9}},
			{OutcomeFacts: answer.OutcomeFacts{Is: "not-cured", Says: "something is still wrong", Probability: 0.1, ExpectedCost: 300}},
		}}
	tree := &answer.PlanFacts{Do: "c", Kind: "check", Name: "look at a thing whose name is so long that it must be broken over lines", How: "Look.",
		Minutes: 5, Wait: 480, Cost: 9, ExpectedCost: 200, Cautions: []string{"Mind the fan."}, Tools: []string{"torch"},
		Ways: []answer.WayFacts{
			{OutcomeFacts: answer.OutcomeFacts{Is: "yes", Says: "it is there", Probability: 0.8, ExpectedCost: 180, Leads: []answer.Lead{{Name: "a broken thing", Probability: 0.95}}}, Then: repair},
			{OutcomeFacts: answer.OutcomeFacts{Is: "no", Says: "it is not", Probability: 0.2, ExpectedCost: 320, Leads: []answer.Lead{{Name: "another thing", Probability: 0.6}}}},
		}}
	return &answer.NextFacts{Currency: "USD", LeastPossible: 160, Tree: tree, Waiting: []answer.Waiting{{Says: "Not yet: replace the engine."}}}
}

func set(t *testing.T, name string, write func(io.Writer) error) string {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b); err != nil {
		t.Fatal(err)
	}
	golden(t, name, b.String())
	return b.String()
}

func TestThePlanIsDrawn(t *testing.T) {
	text := set(t, "plan.svg", func(w io.Writer) error { return paper.PlanSVG(w, invented()) })
	d := xml.NewDecoder(strings.NewReader(text))
	for {
		if _, err := d.Token(); err == io.EOF {
			break
		} else if err != nil {
			t.Fatalf("the drawing is no XML: %v", err)
		}
	}
}

func TestAPlanWithoutATreeIsDrawnAsItsFirstStep(t *testing.T) {
	var b bytes.Buffer
	if err := paper.PlanSVG(&b, &answer.NextFacts{Steps: []answer.Step{{Kind: "check", Name: "look once"}}}); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), "look once") {
		t.Error("the first step is not drawn")
	}
}

func TestTheSheetWarnsBeforeEachStep(t *testing.T) {
	text := set(t, "sheet.html", func(w io.Writer) error {
		return paper.BenchSheet(w, invented(), paper.Heading{Car: "Osier <Lapwing>, invented"})
	})
	last := -1
	for _, part := range []string{"Mind the fan.", "1. look at a thing", "Hot &amp; sharp.", "2. replace the &lt;thing&gt;"} {
		at := strings.Index(text, part)
		if at <= last {
			t.Errorf("%q comes too early or not at all", part)
		}
		last = at
	}
}

func TestTheSheetStaysOnOnePage(t *testing.T) {
	n := invented()
	long := strings.Repeat("A caution that goes on and on. ", 10)
	for p := n.Tree; p != nil; p = p.Ways[0].Then {
		p.Cautions = []string{long + p.Do, long + long + p.Do}
		p.How = long
	}
	n.Tree.Ways[0].Then.Ways[0].Then = &answer.PlanFacts{Name: "a third step", Cautions: []string{long + long + "x", long + long + "y"}, How: long + long}
	var b bytes.Buffer
	if err := paper.BenchSheet(&b, n, paper.Heading{}); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(b.String(), "3. a third step") || !strings.Contains(b.String(), "2. replace") {
		t.Error("want the steps that fit a page and no more")
	}
}
