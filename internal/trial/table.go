package trial

import (
	_ "embed"
	"fmt"
	"io"
	"strings"
	"text/template"
)

//go:embed page.md
var page string

// Goal is one thing that was asked of the program, and what was measured.
type Goal struct {
	What     string  `json:"what"`
	Asked    string  `json:"asked"`
	Measured float64 `json:"measured"`
	Low      float64 `json:"low"`
	High     float64 `json:"high"`
	Of       int     `json:"of"`
	Met      bool    `json:"met"`
	Share    bool    `json:"share"` // said in per cent
}

// The goals: from the project's own requirement.
const (
	goalFirst       = 0.90
	goalECE         = 0.03
	goalGasketWrong = 1.0 / 200
	goalGasketMiss  = 1.0 / 20
	goalBoth        = 0.60
	goalOne         = 0.95
	goalCost        = 0.70
)

// Goals compares what was measured with what was asked.
func (m *Measured) Goals() []Goal {
	share := func(what, asked string, s Share, met bool) Goal {
		return Goal{what, asked, s.Value, s.Low, s.High, s.Of, met, true}
	}
	one, told, two := m.Groups[0], m.Tellable, m.Groups[1]
	g := []Goal{
		share("one cause: named first when the first repair is named", "at least 90 %", one.Named, one.Named.Value >= goalFirst),
		share("one cause: leads when the plan ends", "at least 90 %", one.Last, one.Last.Value >= goalFirst),
		share("one cause: named by the end of the plan", "at least 90 %", one.All, one.All.Value >= goalFirst),
		share("one cause that some check can show: leads when the plan ends", "at least 90 %", told.Last, told.Last.Value >= goalFirst),
		share("one cause that some check can show: named by the end of the plan", "at least 90 %", told.All, told.All.Value >= goalFirst),
		{"expected calibration error", "at most 0.03", m.ECE.Value, m.ECE.Low, m.ECE.High, m.ECE.Of, m.ECE.Value <= goalECE, false},
		share("head gasket blamed wrongly", "fewer than 0.5 %", m.Gasket.Wrong, m.Gasket.Wrong.Value < goalGasketWrong),
		share("head gasket missed", "fewer than 5 %", m.Gasket.Missed, m.Gasket.Missed.Value < goalGasketMiss),
		share("two causes: both named", "at least 60 %", two.All, two.All.Value >= goalBoth),
		share("two causes: one named", "at least 95 %", two.Any, two.Any.Value >= goalOne),
	}
	for _, w := range m.Ways {
		if w.Way == Book {
			g = append(g, Goal{
				"cost to a proven repair, as a share of the textbook's", "at most 0.70", w.Against.Value,
				w.Against.Low, w.Against.High, w.Against.Of, w.Against.Value <= goalCost, false,
			})
		}
	}
	return g
}

// WritePage writes the report as a Markdown page: the discussion that is kept by
// hand, with the tables of this trial in it. Plots are looked for in the folder
// named, relative to the page; none when it is empty.
func (m *Measured) WritePage(w io.Writer, plots string) error {
	t, err := template.New("page.md").Funcs(template.FuncMap{
		"goals": m.goalsTable, "groups": m.groupsTable, "moments": m.momentsTable, "causes": m.causesTable,
		"ways": m.waysTable, "bins": func() string { return binsTable(m.Bins) },
		"confusion": func() string { return mistakenTable(m.Confusion, "taken for") },
		"sure":      func() string { return mistakenTable(m.Sure, "believed") },
	}).Parse(page)
	if err != nil {
		return fmt.Errorf("trial: page: %w", err)
	}
	return t.Execute(w, struct {
		*Measured
		Plots string
	}{m, plots})
}

// markdown gathers a table.
type markdown struct{ b strings.Builder }

func newMarkdown(head ...string) *markdown {
	m := &markdown{}
	m.row(head...)
	for i := range head {
		if i == 0 {
			m.b.WriteString("| --- ")
			continue
		}
		m.b.WriteString("| ---: ")
	}
	m.b.WriteString("|\n")
	return m
}

func (m *markdown) row(cells ...string) {
	for _, c := range cells {
		m.b.WriteString("| " + c + " ")
	}
	m.b.WriteString("|\n")
}

func percent(x float64) string { return fmt.Sprintf("%.1f %%", 100*x) }

func (s Share) text() string {
	if s.Of == 0 {
		return "no cars"
	}
	return fmt.Sprintf("%s (%.0f to %.0f)", percent(s.Value), 100*s.Low, 100*s.High)
}

func (m Mean) text(format string) string {
	if m.Of == 0 {
		return "no cars"
	}
	return fmt.Sprintf(format+" ("+format+" to "+format+")", m.Value, m.Low, m.High)
}

func (m *Measured) goalsTable() string {
	t := newMarkdown("asked", "", "measured", "95 % interval", "cars", "reached")
	for _, g := range m.Goals() {
		value, interval := fmt.Sprintf("%.3f", g.Measured), fmt.Sprintf("%.3f to %.3f", g.Low, g.High)
		if g.Share {
			value, interval = percent(g.Measured), percent(g.Low)+" to "+percent(g.High)
		}
		reached := "no"
		if g.Met {
			reached = "yes"
		}
		t.row(g.What, g.Asked, value, interval, fmt.Sprint(g.Of), reached)
	}
	return t.b.String()
}

func (m *Measured) groupsTable() string {
	t := newMarkdown("cars with", "cars", "true cause leads at the first repair", "first repair takes something away", "all named by the end", "one named", "proven here")
	for _, g := range append([]Group{m.Groups[0], m.Tellable}, m.Groups[1:]...) {
		t.row(g.Kind, fmt.Sprint(g.Cars), g.Named.text(), g.FirstFix.text(), g.All.text(), g.Any.text(), g.Proven.text())
	}
	return t.b.String()
}

// momentNames say the moments in words.
var momentNames = map[string]string{
	"complaint": "the complaint", "three": "three checks", "six": "six checks",
	"naming": "the first repair is named", "end": "the end",
}

func (m *Measured) momentsTable() string {
	t := newMarkdown("after", "on the true cause", "it leads", "among the first three", "leader's mean probability", "calibration error", "Brier score", "log score, nats")
	for _, x := range m.Moments {
		t.row(momentNames[x.At], x.OnTrue.text("%.2f"), x.First.text(), x.TopThree.text(), fmt.Sprintf("%.2f", x.Sureness),
			x.Calibration.text("%.3f"), x.Brier.text("%.2f"), x.LogScore.text("%.2f"))
	}
	return t.b.String()
}

func (m *Measured) causesTable() string {
	t := newMarkdown("true cause", "cars", "complaint", "three", "six", "naming", "leads at naming", "first three", "proven", "US$", "textbook", "known")
	for _, c := range m.Causes {
		row := []string{c.Cause, fmt.Sprint(c.Cars)}
		for _, at := range []string{"complaint", "three", "six", "naming"} {
			row = append(row, fmt.Sprintf("%.2f", c.OnTrue[at].Value))
		}
		t.row(append(row, c.First["naming"].text(), c.TopThree.text(), c.Proven.text(),
			fmt.Sprintf("%.0f", c.MeanCost), fmt.Sprintf("%.0f", c.BookCost), fmt.Sprintf("%.0f", c.KnownCost))...)
	}
	return t.b.String()
}

func (m *Measured) waysTable() string {
	t := newMarkdown("way of working", "cars", "US$", "minutes", "checks", "repairs", "proven here", "a costly repair that did not help", "weephole's cost, of this way's")
	for _, w := range m.Ways {
		t.row(w.Way, fmt.Sprint(w.Cost.Of), w.Cost.text("%.0f"), w.Minutes.text("%.0f"), fmt.Sprintf("%.1f", w.Checks.Value),
			fmt.Sprintf("%.2f", w.Repairs.Value), w.Proven.text(), w.WrongBig.text(), w.Against.text("%.2f"))
	}
	return t.b.String()
}

func binsTable(bins []Bin) string {
	t := newMarkdown("leader's probability", "statements", "mean said", "right")
	for _, b := range bins {
		if b.Right.Of > 0 {
			t.row(fmt.Sprintf("%.1f to %.1f", b.From, b.To), fmt.Sprint(b.Right.Of), fmt.Sprintf("%.3f", b.Said), b.Right.text())
		}
	}
	return t.b.String()
}

// rowsShown is how many rows of mistakes are worth a reader's time.
const rowsShown = 25

func mistakenTable(list []Mistaken, taken string) string {
	if len(list) == 0 {
		return "None.\n"
	}
	t := newMarkdown("true", taken, "times")
	for i, x := range list {
		if i == rowsShown {
			t.row(fmt.Sprintf("and %d more", len(list)-i), "", "")
			break
		}
		t.row(x.True, x.Taken, fmt.Sprint(x.Cars))
	}
	return t.b.String()
}
