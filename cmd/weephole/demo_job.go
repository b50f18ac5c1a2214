package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"

	"weephole/internal/answer"
	"weephole/internal/chart"
	"weephole/internal/demo"
	"weephole/internal/job"
	"weephole/internal/paper"
	"weephole/internal/tally"
	"weephole/internal/work"
	"weephole/lineup"
)

// demoJob is one job of the demonstration, opened.
type demoJob struct {
	*demonstration
	*work.Work
	style answer.Style
	file  string
	// open is how many of the findings before the repair had been made when the
	// repair was chosen; the others were made on the old part.
	open   int
	lineup *lineup.Lineup // as it stood before the repair
	proof  *work.RepairProof
	led    int // index of the cause that led when it was last said
}

func (x *demoJob) opened() (int, error) {
	text, err := demo.Bytes(x.file)
	if err != nil {
		return 0, err
	}
	j, err := job.Read(bytes.NewReader(text), x.file, work.Vocabulary(x.Model))
	if err != nil {
		return 0, err
	}
	n := 0
	for n < len(x.BeforeOf) && x.BeforeOf[n] < len(j.Findings) {
		n++
	}
	return n, nil
}

// diagnose tells the job up to the repair.
func (x *demoJob) diagnose(ctx context.Context) error {
	p := x.page
	p.Head(x.Job.Vehicle.Name)
	p.Para("", "“"+x.Job.Complaint.Words+"”")
	if q := x.Job.Quote; q != nil {
		p.Para("", fmt.Sprintf("Another shop has quoted %s to %s.", q.Price.Text, x.Model.Causes.Repair(q.Repair).Name))
	}
	l, err := x.Rough(ctx, nil)
	if err != nil {
		return err
	}
	p.Line("")
	x.led = -1
	p.Item("-", "the complaint alone: "+x.leading(l))
	for i := range x.Before.Events[:x.open] {
		if l, err = x.extend(ctx, l, &x.Before.Events[i]); err != nil {
			return err
		}
	}
	if l, err = l.Closer(ctx); err != nil {
		return err
	}
	x.lineup = l
	odds := answer.ForOdds(work.OddsOf(l), x.style)
	found, err := work.NextOf(ctx, l, x.Ask())
	if err != nil {
		return err
	}
	next := answer.ForNext(found, x.style)
	p.Line("")
	if x.full {
		p.Odds(&odds, false)
		p.Head("What now?")
		p.Next(next)
		return p.Err()
	}
	said := append(answer.Only(odds.Lines, answer.Engines, answer.Leading), answer.Only(next.Lines, answer.Doing, answer.Cost)...)
	if next.Quote != nil {
		said = append(said, answer.Only(next.Quote.Lines, answer.Verdict)...)
	}
	for _, s := range said {
		p.Para("", s)
	}
	return p.Err()
}

// extend weighs one more finding and says what it did.
func (x *demoJob) extend(ctx context.Context, l *lineup.Lineup, ev *lineup.Event) (*lineup.Lineup, error) {
	l, err := l.Extend(ctx, *ev)
	if err != nil {
		return nil, err
	}
	x.page.Item("-", answer.Event(x.Model, ev)+" → "+x.leading(l))
	return l, nil
}

// leading says how probable the likeliest cause is, with its name where another one
// led before.
func (x *demoJob) leading(l *lineup.Lineup) string {
	p := l.Probabilities()
	first := 0
	for i := range p {
		if p[i] > p[first] {
			first = i
		}
	}
	says := answer.Percent(p[first])
	if first != x.led {
		x.led, says = first, x.Model.Causes.Causes[first].Name+" "+says
	}
	return says
}

// repair tells the repair, which run can prove it, and what was seen after it.
func (x *demoJob) repair(ctx context.Context) error {
	p := x.page
	sheets, err := x.Sheets(nil)
	if err != nil {
		return err
	}
	path, err := x.write(x.Job.Name+"-sheet.html", func(out io.Writer) error {
		return paper.RepairSheet(out, paper.HeadingOf(x.Work), sheets, x.style)
	})
	if err != nil {
		return err
	}
	if x.full {
		for _, s := range sheets {
			paper.WriteSheet(p, s, x.style, true)
		}
		p.Line("")
		p.Para("", "The whole sheet to print, with the order of work and bleeding: "+path)
	}
	p.Head("The repair")
	for _, i := range x.RepairOf {
		p.Item("-", x.done(&x.Job.Findings[i]))
	}
	for i := range x.Before.Events[x.open:] {
		ev := &x.Before.Events[x.open+i]
		if x.lineup, err = x.lineup.Extend(ctx, *ev); err != nil {
			return err
		}
		p.Item("-", "the old part: "+answer.Event(x.Model, ev)+" → "+x.leading(x.lineup))
	}
	x.UseBefore(x.lineup)
	return x.prove(ctx)
}

// prove judges what was seen after the repair.
func (x *demoJob) prove(ctx context.Context) (err error) {
	p := x.page
	if x.full {
		plan, err := x.ProofPlan(ctx)
		if err != nil {
			return err
		}
		p.Line("")
		p.Para("", "Which run can prove it?")
		p.Proof(answer.ForProof(plan, x.style))
		p.Head("Seen after the repair")
		for _, i := range distinct(x.EvidenceOf, x.RepairOf) {
			f := &x.Job.Findings[i]
			what, showed := answer.Finding(x.Model, x.Units, f, nil)
			if f.Note != "" {
				showed += " (" + f.Note + ")"
			}
			p.Item("-", what+": "+showed)
		}
	}
	if x.proof, err = x.Proof(ctx, nil); err != nil {
		return err
	}
	proof := answer.ForProof(x.proof, x.style)
	if !x.full {
		for _, s := range answer.Only(proof.Lines, answer.Verdict, answer.Figures) {
			p.Para("", s)
		}
		return p.Err()
	}
	p.Proof(proof)
	if plot := answer.Picture(x.LogBefore(), proof.Bands, x.Units); plot != nil {
		p.Line("\n%s", plot.Text(chart.Terminal{Width: min(x.env.Width, widestChart), Height: 14, Color: p.Color}))
	}
	return p.Err()
}

// done says a repair with its part, its time, and what it is said to have changed.
func (x *demoJob) done(f *job.Finding) string {
	says := x.Model.Causes.Repair(f.Repair).Name
	if f.Part != "" {
		says += ": " + f.Part
	}
	if f.Minutes.Known() {
		says += ", " + x.Units.Duration(f.Minutes.Value)
	}
	if f.Parts.Known() {
		says += ", parts " + x.Units.Money(f.Parts.Value)
	}
	if f.Changed != "" {
		says += "; the owner says: " + f.Changed
	}
	return says + "."
}

// distinct are the numbers of list in order, each once, without those of skip.
func distinct(list, skip []int) (out []int) {
	seen := make(map[int]bool)
	for _, i := range skip {
		seen[i] = true
	}
	for _, i := range list {
		if !seen[i] {
			seen[i] = true
			out = append(out, i)
		}
	}
	return out
}

// close tells the closing: the letter, and what the job teaches.
func (x *demoJob) close(ctx context.Context) error {
	p := x.page
	if err := x.jobFiles(); err != nil {
		return err
	}
	l, err := paper.Compose(ctx, x.Work, x.proof)
	if err != nil {
		return err
	}
	var paths []string
	for _, form := range []struct {
		end   string
		write func(io.Writer) error
	}{
		{"html", l.HTML},
		{"pdf", func(out io.Writer) error { return l.PDF(out, x.env.Now()) }},
		{"txt", func(out io.Writer) error { _, err := fmt.Fprintln(out, l.Short); return err }},
	} {
		path, err := x.write(x.Job.Name+"-letter."+form.end, form.write)
		if err != nil {
			return err
		}
		paths = append(paths, path)
	}
	p.Head("The owner's letter, as a text message")
	p.Para("", l.Short)
	if x.full {
		p.Line("")
		for _, path := range paths {
			p.Line("%s", path)
		}
	}
	says, err := x.count(ctx)
	if err != nil {
		return err
	}
	c := &x.Job.Closing
	p.Line("")
	p.Para("", fmt.Sprintf("Closed on %s. When it was open: %s. %s", c.When, c.Showed, says))
	return nil
}

// count adds the closed job to the tally, and says what came of it.
func (x *demoJob) count(ctx context.Context) (string, error) {
	entry := tally.Closed{Job: x.Job, Repairs: x.Repairs, Before: x.Before, Judgement: x.proof.Judgement, Lineup: x.lineup}
	e, err := entry.Entry(ctx)
	switch {
	case errors.Is(err, tally.ErrUnproven):
		return "It does not count in the tally, because its repair is not proven.", nil
	case err != nil:
		return "It does not count in the tally: " + err.Error() + ".", nil
	}
	t, err := readTally(x.tally())
	if err != nil {
		return "", err
	}
	if e, err = t.Add(e); err != nil {
		return "The tally has it already: " + err.Error() + ".", nil
	}
	return fmt.Sprintf("Its repair is proven, so it counts in the tally: %s, with %d findings.", e.Causes[0], len(e.Findings)), appendTally(x.tally(), e)
}

// jobFiles writes the job and its logs, so that the other commands can be tried
// on them.
func (x *demoJob) jobFiles() error {
	text, err := demo.Whole(x.file)
	if err != nil {
		return err
	}
	files := map[string][]byte{x.Job.Name + ".yaml": text}
	for _, log := range demo.Logs(x.file) {
		if files[log], err = demo.Bytes(log); err != nil {
			return err
		}
	}
	if files["LOGS.md"], err = demo.Bytes("ATTRIBUTION.md"); err != nil {
		return err
	}
	for name, content := range files {
		if _, err := x.write(name, func(out io.Writer) error { _, err := out.Write(content); return err }); err != nil {
			return err
		}
	}
	return nil
}
