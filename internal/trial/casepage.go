package trial

import (
	"fmt"
	"io"
	"strings"
)

// WriteTables writes the report as Markdown tables.
func (r *CaseReport) WriteTables(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%d real cases, seeds %s.\n\n", r.Cases, seedList(r.Seeds))
	b.WriteString(scoreTable("real cases", r.Groups))
	if len(r.Readers) > 0 {
		b.WriteString("\nReaders on the cases with cause not known beforehand, given the job file's fields or the whole story:\n\n")
		b.WriteString(scoreTable("reader", r.Readers))
	}
	if len(r.Groups) > 0 {
		b.WriteString("\nWhat the leaders said, cause not known beforehand:\n\n" + binsTable(r.Groups[0].Score.Bins))
	}
	b.WriteString("\nBy true cause, cause not known beforehand:\n\n" + truthTable(r.Causes))
	b.WriteString("\nMisses with the first seed, the surest first:\n\n" + missTable(r.Misses))
	_, err := io.WriteString(w, b.String())
	return err
}

func seedList(seeds []uint64) string {
	text := make([]string, len(seeds))
	for i, s := range seeds {
		text[i] = fmt.Sprint(s)
	}
	return strings.Join(text, ", ")
}

func (m Mean) percent() string {
	if m.Of == 0 {
		return "-"
	}
	return fmt.Sprintf("%.0f %% (%.0f to %.0f)", 100*m.Value, 100*m.Low, 100*m.High)
}

func scoreTable(of string, list []Scored) string {
	t := newMarkdown(of, "cars", "true cause first", "among first three", "all true causes among first three",
		"probability on it", "log score, nats", "said by leaders", "calibration error", "by chance",
		"leaders at 80 % and more", "of those right", "same leader with every seed")
	for _, s := range list {
		x := &s.Score
		if x.Cars == 0 {
			continue
		}
		t.row(s.Of, fmt.Sprint(x.Cars), x.First.percent(), x.Three.percent(), x.AllThree.percent(),
			fmt.Sprintf("%.2f", x.OnTruth.Value), fmt.Sprintf("%.2f", x.LogScore.Value), fmt.Sprintf("%.2f", x.Said.Value),
			fmt.Sprintf("%.3f", x.ECE.Value), fmt.Sprintf("%.3f", x.Chance),
			fmt.Sprintf("%d, said %.2f", x.Sure.Cars, x.Sure.Said), x.Sure.Right.percent(), x.OneLeader.percent())
	}
	return t.b.String()
}

// ledShown is how many wrong leaders of a cause are worth a reader's time.
const ledShown = 4

func truthTable(list []PerTruth) string {
	t := newMarkdown("true cause", "cars", "first", "first three", "probability on it", "led instead")
	for _, p := range list {
		led := ""
		for i, m := range p.Led {
			if i == ledShown {
				led += ", ..."
				break
			}
			if i > 0 {
				led += ", "
			}
			led += fmt.Sprintf("%s %d", m.Taken, m.Cars)
		}
		t.row(p.Cause, fmt.Sprint(p.Score.Cars), fmt.Sprintf("%.0f %%", 100*p.Score.First.Value),
			fmt.Sprintf("%.0f %%", 100*p.Score.Three.Value), fmt.Sprintf("%.2f", p.Score.OnTruth.Value), led)
	}
	return t.b.String()
}

func missTable(list []Miss) string {
	if len(list) == 0 {
		return "None.\n"
	}
	t := newMarkdown("car", "true", "rank", "probability on it", "led", "said")
	for _, m := range list {
		t.row(m.Car, strings.Join(m.Truths, ", "), fmt.Sprint(m.Rank), fmt.Sprintf("%.3f", m.OnTruth), m.Leader, fmt.Sprintf("%.2f", m.Said))
	}
	return t.b.String()
}
