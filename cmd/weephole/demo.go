package main

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"

	"github.com/spf13/cobra"

	"weephole/internal/aftercare"
	"weephole/internal/answer"
	"weephole/internal/casework"
	"weephole/internal/demo"
	"weephole/internal/exit"
	"weephole/internal/job"
	"weephole/lineup"
)

const demoLong = `Works five invented jobs from complaint to closing: after the complaint and
after every finding it says what still fits; then why, what to do next, and what
the other shop's quote is worth; the repair and its sheet; which run can prove
it; what was seen after it and what that proves; the owner's letter; and what
the closed job teaches the shop's tally.

Job files, logs, sheets, letters and the tally are written to a folder (--out),
for reading and for trying the other commands on. All cars, shops and people are
invented; the folder's LOGS.md says which logs are simulated.`

const demoExamples = `  weephole demo
  weephole demo --only gasket --out gasket
  weephole demo --list`

// demoCandidates is fewer than for a real job: a demonstration should not keep
// anybody waiting.
const demoCandidates = 6000

func demoCommand(env environment) *cobra.Command {
	var f workFlags
	var only, out string
	var list bool
	cmd := &cobra.Command{
		Use:     "demo",
		Short:   "work five invented jobs from complaint to closing",
		Long:    demoLong,
		Example: demoExamples,
		Args:    noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			m, err := knowledge(f.overlay)
			if err != nil {
				return err
			}
			d := &demonstration{env: env, model: m, flags: f, page: &answer.Page{W: env.Out, Width: env.Width, Color: env.Color(cmd)}}
			if list {
				return d.list()
			}
			if d.out, err = demoFolder(out); err != nil {
				return err
			}
			for _, file := range demo.Names() {
				if only != "" && demo.Name(file) != only {
					continue
				}
				if err := d.tell(cmd.Context(), file); err != nil {
					return fmt.Errorf("demo %s: %w", file, err)
				}
			}
			if len(d.told) == 0 {
				return exit.Usage(fmt.Errorf("--only %s: no such job; see weephole demo --list", only))
			}
			return d.end()
		},
	}
	f.add(cmd)
	f.candidates = demoCandidates
	cmd.Flags().Lookup("candidates").DefValue = fmt.Sprint(demoCandidates)
	cmd.Flags().StringVar(&only, "only", "", "work one job only")
	cmd.Flags().StringVar(&out, "out", "", "folder for job files, sheets, letters and tally (without it: a new temporary one)")
	cmd.Flags().BoolVar(&list, "list", false, "list the jobs and end")
	return cmd
}

func demoFolder(name string) (string, error) {
	if name == "" {
		return os.MkdirTemp("", "weephole-demo-")
	}
	const open = 0o755
	if err := os.MkdirAll(name, open); err != nil {
		return "", exit.Wrong(err)
	}
	return name, nil
}

// demonstration works the jobs one after the other.
type demonstration struct {
	env   environment
	page  *answer.Page
	model *lineup.Model
	flags workFlags
	out   string   // folder
	told  []string // names of the jobs worked
}

func (d *demonstration) list() error {
	for _, file := range demo.Names() {
		j, err := d.job(file)
		if err != nil {
			return err
		}
		d.page.Line("%-10s %s: %s", j.Name, j.Vehicle.Name, j.Complaint.Words)
	}
	return d.page.Err()
}

// job reads a whole job, from complaint to closing.
func (d *demonstration) job(file string) (*job.Job, error) {
	text, err := demo.Whole(file)
	if err != nil {
		return nil, err
	}
	return job.Read(bytes.NewReader(text), file, casework.Vocabulary(d.model))
}

// tell works one job and says what happens.
func (d *demonstration) tell(ctx context.Context, file string) error {
	j, err := d.job(file)
	if err != nil {
		return err
	}
	b, err := newBench(ctx, d.model, d.flags, j, demo.Open)
	if err != nil {
		return err
	}
	d.told = append(d.told, j.Name)
	w := &demoWork{demonstration: d, file: file, bench: b, parted: aftercare.Part(b.work, j)}
	if err := w.diagnose(ctx); err != nil {
		return err
	}
	if err := w.repair(ctx); err != nil {
		return err
	}
	return w.close(ctx)
}

// diagnose tells the job up to the repair.
func (w *demoWork) diagnose(ctx context.Context) error {
	p, b := w.page, w.bench
	p.Head(b.job.Vehicle.Name)
	p.Para("", "“"+b.job.Complaint.Words+"”")
	if q := b.job.Quote; q != nil {
		p.Para("", fmt.Sprintf("Another shop has quoted %s for: %s.", q.Price.Text, b.model.Causes.Repair(q.Repair).Name))
	}
	start := w.parted.Before
	start.Events = nil
	l, err := b.lineupOf(ctx, w.env, start, true)
	if err != nil {
		return err
	}
	p.Line("")
	p.Para("", "After the complaint: "+leading(b, l)+".")
	open, err := w.open()
	if err != nil {
		return err
	}
	for _, ev := range w.parted.Before.Events[:open] {
		if l, err = l.Extend(ctx, ev); err != nil {
			return err
		}
		p.Para("", "Then "+happened(b.model, ev)+": "+leading(b, l)+".")
	}
	if l, err = l.Closer(ctx); err != nil {
		return err
	}
	w.lineup = l
	p.Line("")
	o := b.odds(l)
	p.Odds(&o)
	n, err := b.next(ctx, l, 0)
	if err != nil {
		return err
	}
	p.Head("What now?")
	p.Next(n)
	return p.Err()
}

// open is how many of the findings before the repair had been made when the
// repair was chosen; the others are the old part's own evidence.
func (w *demoWork) open() (int, error) {
	text, err := demo.Bytes(w.file)
	if err != nil {
		return 0, err
	}
	j, err := job.Read(bytes.NewReader(text), w.file, casework.Vocabulary(w.model))
	if err != nil {
		return 0, err
	}
	n := 0
	for n < len(w.parted.BeforeOf) && w.parted.BeforeOf[n] < len(j.Findings) {
		n++
	}
	return n, nil
}

// leading names the two likeliest causes with their counts.
func leading(b *bench, l *lineup.Lineup) string {
	p := l.Probabilities()
	first, second := 0, 1
	for i := range p {
		switch {
		case p[i] > p[first]:
			first, second = i, first
		case i != first && (second == first || p[i] > p[second]):
			second = i
		}
	}
	causes := b.model.Causes.Causes
	return fmt.Sprintf("%s %d of 100, %s %d of 100", causes[first].Name, int(math.Round(100*p[first])),
		causes[second].Name, int(math.Round(100*p[second])))
}

// happened says an event in a few words.
func happened(m *lineup.Model, ev lineup.Event) string {
	if ev.Repair != "" {
		name := m.Causes.Repair(ev.Repair).Name
		if ev.Unknown {
			return "“" + name + "” was done"
		}
		return fmt.Sprintf("“%s” had been tried and changed: %s", name, ev.Changed)
	}
	c := m.Checks.Check(ev.Check)
	if w := c.WordIndex(ev.Word); w >= 0 {
		return fmt.Sprintf("%s, %s", c.Name, c.Words[w].Says)
	}
	return c.Name
}
