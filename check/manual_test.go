package check_test

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weephole/cause"
	"weephole/check"
)

const manual = "../docs/catalogue.md"

// TestTheExampleInTheManualLoads lays the YAML block of the manual over the
// built-in catalogue and looks at what the text around it says of it.
func TestTheExampleInTheManualLoads(t *testing.T) {
	text, err := os.ReadFile(manual)
	if err != nil {
		t.Fatal(err)
	}
	_, rest, ok := strings.Cut(string(text), "```yaml\n")
	example, _, closed := strings.Cut(rest, "```")
	if !ok || !closed {
		t.Fatal("the manual has no example")
	}
	c := builtin(t)
	over, err := c.Overlay(strings.NewReader(example), "our-shop.yaml")
	if err != nil {
		t.Fatal(err)
	}
	float := over.Causes().Index("float-stuck")
	k := over.Check("float-tap")
	if float < 0 || k == nil {
		t.Fatal("the new cause or check is missing")
	}
	// 0.85 of the table, and a blunder in twenty that is even over two words.
	p := make([]float64, len(k.Words))
	k.Shows(&check.Subject{Causes: []cause.Present{{Cause: float, Site: cause.NoSite}}}, p)
	if got, want := p[k.WordIndex("goes-out")], 0.95*0.85+0.05/2; math.Abs(got-want) > 1e-9 {
		t.Errorf("the lamp goes out with probability %.4f, want %.4f", got, want)
	}
	if got := over.Check("combustion-gas"); got.Blunder.Share != 0.10 || got.Minutes != c.Check("combustion-gas").Minutes {
		t.Errorf("combustion-gas: blunder %g, minutes %v", got.Blunder.Share, got.Minutes)
	}
	if got, want := over.Causes().TotalWeight(), c.Causes().TotalWeight()+0.4+7+9+3; math.Abs(got-want) > 1e-9 {
		t.Errorf("total weight %g, want %g", got, want)
	}
	if got := over.Causes().UsualRepair(cause.Present{Cause: float, Site: cause.NoSite}); over.Causes().Repairs[got].ID != "replace-tank" {
		t.Errorf("a stuck float is cured by %s", over.Causes().Repairs[got].ID)
	}
}

// TestTheManualListsEveryWord keeps the lists at the manual's end equal to the
// catalogue; -update rewrites them.
func TestTheManualListsEveryWord(t *testing.T) {
	const begin, end = "<!-- words: made by the tests of package check with -update -->\n", "<!-- end of words -->"
	text, err := os.ReadFile(manual)
	if err != nil {
		t.Fatal(err)
	}
	head, rest, ok := strings.Cut(string(text), begin)
	_, tail, closed := strings.Cut(rest, end)
	if !ok || !closed {
		t.Fatal("the manual has lost the marks around its words")
	}
	want := head + begin + wordLists(builtin(t)) + end + tail
	if *update {
		if err := os.WriteFile(manual, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if diff := cmp.Diff(want, string(text)); diff != "" {
		t.Errorf("docs/catalogue.md (-want +got):\n%s", diff)
	}
}

func wordLists(c *check.Checklist) string {
	var b strings.Builder
	causes := c.Causes()
	b.WriteString("\nCauses:\n\n| id | in words | weight |\n| --- | --- | --- |\n")
	for i := range causes.Causes {
		k := &causes.Causes[i]
		fmt.Fprintf(&b, "| `%s` | %s | %.2f |\n", k.ID, k.Name, k.Weight.Value)
	}
	b.WriteString("\nRepairs:\n\n| id | in words | minutes |\n| --- | --- | --- |\n")
	for i := range causes.Repairs {
		r := &causes.Repairs[i]
		fmt.Fprintf(&b, "| `%s` | %s | %.0f |\n", r.ID, r.Name, r.Minutes.Typical)
	}
	b.WriteString("\nChecks:\n\n| id | in words | state | results | readings |\n| --- | --- | --- | --- | --- |\n")
	for i := range c.Checks {
		k := &c.Checks[i]
		var words, readings []string
		for _, w := range k.Words {
			words = append(words, "`"+w.Is+"`")
		}
		for _, r := range k.Readings {
			readings = append(readings, "`"+r.ID+"`")
		}
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s | %s |\n", k.ID, k.Name, k.State, strings.Join(words, " "), strings.Join(readings, " "))
	}
	list := func(title string, ids []string) {
		fmt.Fprintf(&b, "\n%s: `%s`.\n", title, strings.Join(ids, "`, `"))
	}
	var signs, conditions, tools, hazards []string
	for i := range c.Signs {
		signs = append(signs, c.Signs[i].ID)
	}
	for i := range c.Conditions {
		conditions = append(conditions, c.Conditions[i].ID)
	}
	for _, tool := range c.Tools {
		tools = append(tools, tool.ID)
	}
	for _, h := range c.Hazards {
		hazards = append(hazards, h.ID)
	}
	list("Signs", signs)
	list("Conditions", conditions)
	list("Tools", tools)
	list("Hazards", hazards)
	list("Places", cause.Places())
	list("Recent work", cause.WorkWords())
	list("States of the engine", check.States())
	b.WriteByte('\n')
	return b.String()
}
