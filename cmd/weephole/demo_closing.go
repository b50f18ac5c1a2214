package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"

	"weephole/internal/aftercare"
	"weephole/internal/chart"
	"weephole/internal/demo"
	"weephole/internal/job"
	"weephole/internal/letter"
	"weephole/internal/tally"
	"weephole/lineup"
	"weephole/proof"
)

// demoWork is one job of the demonstration on the bench.
type demoWork struct {
	*demonstration
	file   string
	bench  *bench
	parted *aftercare.Parted
	lineup *lineup.Lineup // as it stood before the repair
	proof  *aftercare.Answer
}

// weigh gives the lineup that stands already: everything from here on starts
// from the findings before the repair.
func (w *demoWork) weigh(context.Context, lineup.Case) (*lineup.Lineup, error) { return w.lineup, nil }

func (w *demoWork) name() string { return w.bench.job.Name }

// write writes a file of the job into the folder and gives its path.
func (w *demonstration) write(name string, fill func(io.Writer) error) (string, error) {
	path := filepath.Join(w.out, name)
	return path, writeTo(w.env, path, fill)
}

// repair tells the repair, which run can prove it, and what was seen after it.
func (w *demoWork) repair(ctx context.Context) error {
	p, b := w.page, w.bench
	sheets, err := b.sheets(w.parted.Repairs)
	if err != nil {
		return err
	}
	for _, s := range sheets {
		s.WriteShort(p, b.units, b.currency)
	}
	path, err := w.write(w.name()+"-sheet.html", func(out io.Writer) error { return b.sheetPage(out, sheets) })
	if err != nil {
		return err
	}
	p.Line("")
	p.Para("", "The whole sheet, with the order of work, bleeding and the record of the used coolant, to print: "+path)

	st, err := proof.DefaultCriteria()
	if err != nil {
		return err
	}
	ask := aftercare.Ask{Settings: st, Units: b.units, Seed: b.flags.seed, Repairs: w.parted.Repairs, Weigh: w.weigh}
	plan, err := aftercare.For(ctx, &aftercare.Parted{Before: w.parted.Before}, ask)
	if err != nil {
		return err
	}
	p.Head("Which run can prove it?")
	for _, s := range plan.Says {
		p.Para("", s)
	}
	for _, c := range plan.Cautions {
		p.Item("!", b.units.InText(c))
	}

	if err := w.oldPart(ctx); err != nil {
		return err
	}
	p.Head("Done, and seen after it")
	for _, i := range w.parted.RepairOf {
		p.Item("-", done(b, &b.job.Findings[i]))
	}
	for _, i := range distinct(w.parted.EvidenceOf, w.parted.RepairOf) {
		f := &b.job.Findings[i]
		what, showed := letter.Finding(b.model, b.units, f)
		if f.Note != "" {
			showed += " (" + f.Note + ")"
		}
		p.Item("-", what+": "+showed)
	}
	if w.proof, err = aftercare.For(ctx, w.parted, ask); err != nil {
		return err
	}
	for _, s := range w.proof.Says {
		p.Para("", s)
	}
	if plot := aftercare.Picture(aftercare.LogBefore(b.work, w.parted), w.proof.Bands, b.units); plot != nil {
		p.Line("\n%s", plot.Text(chart.Terminal{Width: min(w.env.Width, widestChart), Height: 14, Color: p.Color}))
	}
	return p.Err()
}

// oldPart weighs what the old part showed when it was out or open.
func (w *demoWork) oldPart(ctx context.Context) error {
	open, err := w.open()
	if err != nil {
		return err
	}
	for i, ev := range w.parted.Before.Events[open:] {
		if i == 0 {
			w.page.Head("The old part's own evidence")
		}
		if w.lineup, err = w.lineup.Extend(ctx, ev); err != nil {
			return err
		}
		w.page.Para("", happened(w.model, ev)+": "+leading(w.bench, w.lineup)+".")
	}
	return nil
}

// done says a repair with its part, its time, and what it is said to have changed.
func done(b *bench, f *job.Finding) string {
	says := b.model.Causes.Repair(f.Repair).Name
	if f.Part != "" {
		says += ": " + f.Part
	}
	if f.Minutes.Known() {
		says += ", " + b.units.Duration(f.Minutes.Value)
	}
	if f.Parts.Known() {
		says += ", parts " + b.units.Money(f.Parts.Value)
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
func (w *demoWork) close(ctx context.Context) error {
	p, b := w.page, w.bench
	if err := w.jobFiles(); err != nil {
		return err
	}
	l, err := letter.Compose(ctx, letter.Order{
		Job: b.job, Work: b.work, Model: b.model, Units: b.units, Currency: b.currency, Seed: b.flags.seed,
		Weigh: w.weigh, Proof: w.proof,
	})
	if err != nil {
		return err
	}
	p.Head("The owner's letter")
	for _, form := range []struct {
		end   string
		write func(io.Writer) error
	}{
		{"html", l.HTML},
		{"pdf", func(out io.Writer) error { return l.PDF(out, w.env.Now()) }},
		{"txt", func(out io.Writer) error { _, err := fmt.Fprintln(out, l.Short); return err }},
	} {
		path, err := w.write(w.name()+"-letter."+form.end, form.write)
		if err != nil {
			return err
		}
		p.Line("%s", path)
	}
	p.Line("")
	p.Para("", "As a text message: "+l.Short)

	p.Head("Closing")
	c := &b.job.Closing
	p.Para("", fmt.Sprintf("Closed on %s: %s. When it was open: %s.", c.When, b.model.Causes.Cause(c.Cause).Name, c.Showed))
	entry := tally.Closed{Job: b.job, Repairs: w.parted.Repairs, Before: w.parted.Before, Judgement: w.proof.Judgement, Lineup: w.lineup}
	e, err := entry.Entry(ctx)
	if err != nil {
		p.Para("", "It teaches the tally nothing: "+err.Error()+".")
		return p.Err()
	}
	t, err := readTally(w.tally())
	if err != nil {
		return err
	}
	if e, err = t.Add(e); err != nil {
		p.Para("", "The tally has it already: "+err.Error()+".")
		return p.Err()
	}
	if err := appendTally(w.tally(), e); err != nil {
		return err
	}
	p.Para("", fmt.Sprintf("Its cause is proven gone, so it counts in the tally: %s, with what %d checks had shown.", e.Causes[0], len(e.Findings)))
	p.Line("")
	return p.Err()
}

func (w *demonstration) tally() string { return filepath.Join(w.out, "tally.jsonl") }

// jobFiles writes the job and its logs, so that the other commands can be tried
// on them.
func (w *demoWork) jobFiles() error {
	text, err := demo.Whole(w.file)
	if err != nil {
		return err
	}
	files := map[string][]byte{w.name() + ".yaml": text}
	for _, log := range demo.Logs(w.file) {
		if files[log], err = demo.Bytes(log); err != nil {
			return err
		}
	}
	if files["LOGS.md"], err = demo.Bytes("ATTRIBUTION.md"); err != nil {
		return err
	}
	for name, content := range files {
		if _, err := w.write(name, func(out io.Writer) error { _, err := out.Write(content); return err }); err != nil {
			return err
		}
	}
	return nil
}

// end sums up what the closed jobs have taught.
func (w *demonstration) end() error {
	t, err := readTally(w.tally())
	if err != nil {
		return err
	}
	p := w.page
	p.Head("What the closed jobs have taught")
	for _, c := range t.Counts() {
		p.Line("%d  %s", c.Closed, c.Cause)
	}
	path, err := w.write("shop.yaml", func(out io.Writer) error { return t.Overlay(out, tally.DefaultSettings()) })
	if err != nil {
		return err
	}
	p.Line("")
	p.Para("", "As a sheet to read, edit and give to the next job with --overlay: "+path)
	p.Para("", "Everything is in "+w.out+". Try:")
	p.Line("  weephole proof %s", filepath.Join(w.out, w.told[0]+".yaml"))
	p.Line("  weephole tally --file %s list", w.tally())
	p.Line("  weephole tally --file %s undo %s --why \"it came back\"", w.tally(), w.told[0])
	return p.Err()
}
